"""Nearly incompressible adhesives in a whole joint, against an independent solution.

    python -m benchmarks.incompressible > benchmarks/incompressible.md

Problem
    Elements that lock hold an adhesive of a Poisson's ratio near one half too stiff, the more so
    the nearer, and its hydrostatic stress goes wild. Does the default mesh?
Formulation
    A socket with an adhesive of a rubber's modulus and of an epoxy's, Poisson's ratio up to 0.499,
    against `benchmarks.reference_joint` (ngsolve, order 6, geometric refinement). Differences are
    shares of the largest displacement and of the largest mid-line stress of the bond, peel or
    shear: where one is a thousandth of the other, a share of itself says nothing. Stated is what
    the project would say of its own error from two meshes (`post.numerical_error`).
"""

from __future__ import annotations

import numpy as np

from benchmarks.independent_joint import (
    Profile,
    our_profile,
    reference_profile,
)
from benchmarks.joints import both, joint
from benchmarks.reference_joint import solve_reference
from geometry.forms import draw_section
from geometry.mesh import mesh_section
from post.numerical_error import MEAN_FLOOR, POINT_FLOOR, SAFETY
from solve.answer import solve

ADHESIVES = ((20.0, 0.4), (20.0, 0.49), (20.0, 0.499), (3000.0, 0.4), (3000.0, 0.499))
LOAD = "pressure"
FLOORS = {"mean": MEAN_FLOOR, "line": POINT_FLOOR}


def off(one: Profile, other: Profile, truth: Profile, figure: str) -> dict[str, float]:
    """Largest difference of a figure between two profiles, by bond, of the bond's largest."""
    result = {}
    for bond, load in getattr(truth, figure):
        if load == LOAD:
            a, b, whole = (getattr(p, figure)[bond, load][:2] for p in (one, other, truth))
            result[bond] = float(np.abs(a - b).max() / np.abs(whole).max())
    return result


def row(modulus: float, nu: float) -> str:
    """Compare one adhesive, as a line of the table, in percent."""
    case = joint(
        "socket",
        overlap=both(30.0),
        lip=both(10.0),
        tip=both(4.0),
        squeeze=1.0,
        adhesive=(modulus, nu),
    )
    section = draw_section(case)
    coarse, fine = (solve(case, mesh_section(section, level)) for level in (0, 1))
    reference = solve_reference(case, order=6, levels=7, fineness=1.5)
    truth = reference_profile(fine, reference)
    ours, companion = our_profile(fine), our_profile(coarse)
    u, w = ours.displacement[LOAD], truth.displacement[LOAD]
    cells = [f"{modulus:g}", f"{nu:g}", f"{100 * np.abs(u - w).max() / np.abs(w).max():.3f}"]
    for figure, floor in FLOORS.items():
        true = off(ours, truth, truth, figure)
        moved = off(ours, companion, truth, figure)
        worst = max(true, key=lambda bond: true[bond])
        stated = max(SAFETY * moved[worst], floor)
        cells += [f"{100 * true[worst]:.3f} ({worst})", f"{100 * stated:.2f}"]
    return "| " + " | ".join(cells) + " |"


def main() -> None:
    """Print the page."""
    import ngsolve

    ngsolve.SetNumThreads(2)
    print("# Nearly incompressible adhesives\n")
    print("Made by `python -m benchmarks.incompressible`: a socket under pressure, default mesh,")
    print("against an independent solution of order 6; percent of the largest displacement and of")
    print("the largest mid-line stress of the bond.\n")
    print("| E, MPa | nu | displacement | means, whole and ends | stated | at a point | stated |")
    print("| ---: | ---: | ---: | ---: | ---: | ---: | ---: |")
    for adhesive in ADHESIVES:
        print(row(*adhesive), flush=True)


if __name__ == "__main__":
    main()
