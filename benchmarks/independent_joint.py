"""Whole joints against an independent solution by a general-purpose finite element library.

Problem
    Are drawing, mesh, solve and bondline right together, for every form of joint, at the default
    mesh level?
Formulation
    `benchmarks.reference_joint` composes, meshes and solves the same case by its own means
    (ngsolve, high order, geometric refinement). Compared are, for pressure alone, temperature
    alone and their sum at duty:
    - displacements at all corners of the section and along both faces and the mid-line of every
      bond, relative to the largest displacement;
    - peel and shear at mid-thickness, away from the last half bond thickness at the ends,
      relative to the local value or 10 % of that bond's largest, whichever is more;
    - their means along the bond, and over the first and last bond thickness, relative to the
      mean or 10 % of the bond's largest, whichever is more.
    The reference is solved twice (order and refinement changed), the difference of the two
    measured in the same way.
Use
    python -m benchmarks.independent_joint [name ...] prints the page of results.
Units
    mm, N, MPa, K.
"""

from __future__ import annotations

import sys
import time
from collections.abc import Callable
from dataclasses import dataclass
from importlib import metadata

import numpy as np
from numpy.typing import NDArray

from benchmarks.joints import JOINTS
from benchmarks.reference_joint import Reference, solve_reference
from geometry.case import Case
from geometry.forms import draw_section
from geometry.mesh import mesh_section
from post.bondline import bond_stress, duty_factors, line_mean, stations
from solve.answer import Answer, solve
from solve.elements import reference_basis
from solve.stress import locate

Floats = NDArray[np.float64]

LOADS = ("pressure", "temperature", "duty")
FLOOR = 0.1  # of a bond's largest value: below it a difference is taken relative to this floor
NAMES = ("peel", "shear", "twist shear")
FIGURES = ("displacement", "local", "mean", "edge_mean")
TARGETS = {"displacement": 1e-3, "mean": 3e-3, "local": 1e-2}


@dataclass(frozen=True)
class Profile:
    """What is compared of one solution, at duty and for its two parts.

    Attributes
    ----------
    displacement : dict of load to (3, n) array
        At the places of comparison, mm.
    line : dict of (bond, load) to (3, k) array
        Peel, shear and twist shear at mid-thickness, MPa.
    mean : dict of (bond, load) to (3, 3) array
        The same, averaged along the bond and over its first and last thickness (columns).
    s : dict of bond to (k,) array
        Places of `line`, mm from the open edge.
    """

    displacement: dict[str, Floats]
    line: dict[tuple[str, str], Floats]
    mean: dict[tuple[str, str], Floats]
    s: dict[str, Floats]


def places(answer: Answer) -> Floats:
    """Corners of the section and points on the faces and the mid-line of its bonds, (2, n)."""
    section, share = answer.section, np.linspace(0.02, 0.98, 33)
    points = [section.points.T]
    for bond in section.bonds:
        wall, middle, ring = bond.faces(share * bond.length)
        # the faces of a scarf are trimmed at a slant, short of the ends of its mid-line
        faced = (share > 0.1) & (share < 0.9)
        points += [wall[:, faced], middle, ring[:, faced]]
    return np.hstack(points)


def displacement_at(answer: Answer, load: str, points: Floats) -> Floats:
    """(u_r, u_theta, u_z) of an answer at points (2, n): (3, n), per unit load."""
    space = answer.space
    point, element, xi = locate(answer.mesh, space.corners, np.arange(len(space.corners)), points)
    value, _ = reference_basis(space.degree, xi)
    u = np.einsum("kn,nki->in", value, answer.displacement[load][space.dofs[element]])
    result = np.full((3, points.shape[1]), np.nan)
    result[:, point] = u  # the field is continuous: any of the elements will do
    return result


def inner_stations(answer: Answer, name: str) -> Floats:
    """Stations of a bond away from its last half thickness at either end."""
    bond = answer.section.bond(name)
    s = stations(bond)
    return s[(s >= bond.thickness / 2) & (s <= bond.length - bond.thickness / 2)]


def _profile(
    answer: Answer,
    displacement: Callable[[str, Floats], Floats],
    line: Callable[[str, str, Floats], Floats],
    mean: Callable[[str, str, float, float], Floats],
) -> Profile:
    """Gather what is compared, by functions of unit loads."""
    factors = duty_factors(answer)
    points = places(answer)
    u = {load: factors[load] * displacement(load, points) for load in factors}
    u["duty"] = u["pressure"] + u["temperature"]
    lines, means, at = {}, {}, {}
    for bond in answer.section.bonds:
        s, length = inner_stations(answer, bond.name), bond.length
        at[bond.name] = s
        t = min(bond.thickness, length)
        spans = ((0.0, length), (0.0, t), (length - t, length))
        for load, factor in factors.items():
            lines[bond.name, load] = factor * line(load, bond.name, s)
            means[bond.name, load] = factor * np.stack(
                [mean(load, bond.name, *span) for span in spans], axis=1
            )
        for table in (lines, means):
            table[bond.name, "duty"] = (
                table[bond.name, "pressure"] + table[bond.name, "temperature"]
            )
    return Profile(u, lines, means, at)


def our_profile(answer: Answer) -> Profile:
    """Profile of the project's answer."""

    def line(load: str, name: str, s: Floats) -> Floats:
        bond = answer.section.bond(name)
        return bond_stress(answer, bond, bond.faces(s)[1], "adhesive")[load][:3]

    def mean(load: str, name: str, start: float, stop: float) -> Floats:
        return line_mean(answer, answer.section.bond(name), start, stop)[load][:3]

    return _profile(answer, lambda load, x: displacement_at(answer, load, x), line, mean)


def reference_profile(answer: Answer, reference: Reference) -> Profile:
    """Profile of the reference, at the places where the answer is looked at."""
    return _profile(answer, reference.displacement_at, reference.line_stress, reference.line_mean)


def differences(ours: Profile, other: Profile) -> dict[str, dict[str, tuple[float, str]]]:
    """Largest relative differences by load and figure, with the place of each.

    Returns
    -------
    dict of load to dict of figure to (value, place)
        Figures as `FIGURES`.
    """
    result: dict[str, dict[str, tuple[float, str]]] = {}
    for load in LOADS:
        u, w = ours.displacement[load], other.displacement[load]
        largest = np.nanmax(np.hypot(np.hypot(w[0], w[1]), w[2]))
        found = {"displacement": [(float(np.max(np.abs(u - w)) / largest), "")]}
        for name, kind in other.line:
            if kind != load:
                continue
            for row, stress in enumerate(NAMES):
                theirs = other.line[name, load][row]
                whole = np.abs(other.line[name, load][:2]).max()
                floor = FLOOR * (np.abs(theirs).max() if row < 2 else whole)
                for figure, a, b in (
                    ("local", ours.line[name, load][row], theirs),
                    ("mean", ours.mean[name, load][row, :1], other.mean[name, load][row, :1]),
                    ("edge_mean", ours.mean[name, load][row, 1:], other.mean[name, load][row, 1:]),
                ):
                    error = np.abs(a - b) / np.maximum(np.abs(b), floor)
                    at = int(np.argmax(error))  # a value that is not there comes first
                    where = f", s = {other.s[name][at]:.3g}" if figure == "local" else ""
                    found.setdefault(figure, []).append(
                        (float(error[at]), f"{name} {stress}{where}")
                    )
        # a value that is not there counts as the worst
        result[load] = {
            figure: max(values, key=lambda x: np.inf if np.isnan(x[0]) else x[0])
            for figure, values in found.items()
        }
    return result


def line_offset(answer: Answer, reference: Reference) -> float:
    """Largest distance between the two descriptions of the bonds' mid-lines, mm."""
    return max(
        float(np.abs(bond.faces(s)[1] - reference.drawing.lines[bond.name].points(s)).max())
        for bond in answer.section.bonds
        for s in [np.linspace(0, bond.length, 301)]
    )


def area_error(answer: Answer, reference: Reference) -> float:
    """Relative difference of the areas of the wall, the adhesive, the ring and the head."""
    theirs: dict[str, float] = {}
    for name, shape in reference.drawing.shapes.items():
        part = "wall" if name.startswith("layer") else name
        theirs[part] = theirs.get(part, 0.0) + sum(face.mass for face in shape.faces)
    ours: dict[str, float] = {}
    t = np.linspace(0, 1, 400)
    for face in answer.section.faces:
        path = []
        for signed in face.loop:
            x = answer.section.edge_points(answer.section.edges[abs(signed) - 1], t)
            path.append((x if signed > 0 else x[::-1])[:-1])
        r, z = np.vstack(path).T
        part = answer.section.regions[face.region].part
        ours[part] = ours.get(part, 0.0) + float(r @ np.roll(z, -1) - np.roll(r, -1) @ z) / 2
    return max(abs(ours[part] / theirs[part] - 1) for part in theirs)


def solve_ours(case: Case) -> Answer:
    """Solve a case as the pipeline does, at the level it asks for."""
    return solve(case, mesh_section(draw_section(case), case.mesh.level))


def compare(case: Case, order: int = 7, levels: int = 8) -> dict[str, object]:
    """Solve a case both ways, the reference twice, and measure.

    Returns
    -------
    dict
        ``ours`` and ``reference``: `differences` against the finer reference; ``offset``,
        ``area``: of the drawings; ``unknowns`` and ``seconds`` of the three solutions.
    """
    clock = [time.perf_counter()]
    answer = solve_ours(case)
    clock.append(time.perf_counter())
    coarse = solve_reference(case, order - 1, levels - 2, fineness=1.5)
    clock.append(time.perf_counter())
    fine = solve_reference(case, order, levels, fineness=2.0)
    clock.append(time.perf_counter())
    truth = reference_profile(answer, fine)
    return {
        "ours": differences(our_profile(answer), truth),
        "reference": differences(reference_profile(answer, coarse), truth),
        "offset": line_offset(answer, fine),
        "area": area_error(answer, fine),
        "unknowns": (answer.space.size, coarse.unknowns, fine.unknowns),
        "seconds": tuple(float(x) for x in np.diff(clock)),
    }


def rows(name: str, result: dict[str, object]) -> list[str]:
    """Lines of the table of one joint, in percent."""
    lines = []
    for load in LOADS:
        cells = []
        for who in ("ours", "reference"):
            found = result[who][load]  # type: ignore[index]
            for figure in FIGURES:
                value, place = found[figure]
                where = f" ({place})" if place and who == "ours" else ""
                cells.append(f"{100 * value:.3g}{where}")
        lines.append(f"| {name} | {load} | " + " | ".join(cells) + " |")
    return lines


HEADER = (
    "| joint | load | displacement, % | local, % | mean, % | first/last thickness, % "
    "| reference: displacement | local | mean | first/last |\n" + "|---" * 10 + "|"
)


def record(names: list[str]) -> str:
    """Compare the named joints, or all, and put the results on a page."""
    table, notes = [HEADER], []
    for name in names or JOINTS:
        result = compare(JOINTS[name]())
        table += rows(name, result)
        missed = sorted(
            {
                f"{figure} under {load}"
                for load in LOADS
                for figure, most in TARGETS.items()
                if not result["ours"][load][figure][0] <= most  # type: ignore[index]
            }
        )
        ours, coarse, fine = result["unknowns"]  # type: ignore[misc]
        notes.append(
            f"- {name}: {'all targets hold' if not missed else 'MISSED ' + ', '.join(missed)}. "
            f"Mid-lines agree to {result['offset']:.0e} mm, areas to {result['area']:.0e}; "
            f"scalar unknowns {ours}, of the reference {coarse} and {fine} in all."
        )
        print("\n".join(table[-3:]), notes[-1], sep="\n", file=sys.stderr, flush=True)
    used = ", ".join(
        f"{package} {metadata.version(package)}"
        for package in ("ngsolve", "netgen-mesher", "gmsh", "scikit-fem", "numpy", "scipy")
    )
    targets = ", ".join(f"{figure} {100 * most:g} %" for figure, most in TARGETS.items())
    return PAGE.format(used=used, targets=targets, table="\n".join(table), notes="\n".join(notes))


PAGE = """# Whole joints against an independent solution

Made by `python -m benchmarks.independent_joint > benchmarks/independent_joint.md` with {used}.
The joints are in `benchmarks/joints.py`, what is compared and how in
`benchmarks/independent_joint.py`, the reference in `benchmarks/reference_joint.py`: order 7, 8
geometric refinements, elements of half a bond thickness in the adhesive. All differences in
percent, the pipeline at its default mesh level. Targets: {targets}.

- displacement: at corners and along the bonds, of the largest displacement;
- local: peel, shear and twist shear at mid-thickness away from the last half thickness, of the
  value or a tenth of the bond's largest, whichever is more (s in mm from the open edge);
- mean, first/last thickness: means along the bond and over its first and last thickness, the same;
- reference: by how much the reference itself moved in its last step, from order 6 with 6
  refinements and elements a third larger. The error left in the finer one is smaller, by a factor
  that was not measured joint by joint.

{table}

{notes}"""


def main(names: list[str]) -> None:
    """Print the page of the named joints, or of all."""
    import ngsolve

    ngsolve.SetNumThreads(2)
    print(record(names))


if __name__ == "__main__":
    main(sys.argv[1:])
