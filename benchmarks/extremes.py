"""Extreme but legal joints: whether the proofs of the solve hold, and what they give converges.

Problem
    Bonds of 0.05 to 5 mm, bores of 20 mm to 2 m in radius, walls of 1 to 300 mm, an adhesive of
    1e-4 to 1e4 of the metal's modulus and 1e-3 to 0.3 short of a Poisson's ratio of one half,
    plies whose moduli along and across the fibre are 1e-4 to 1e4 of each other.
Formulation
    A Latin hypercube in the logarithms of these, over every form and head in turn; what is left of
    a drawing follows in shares of its wall and bond that are drawn too. Each joint is solved on
    two meshes, some on a third, each of half the element size of the one before. Residual, reaction
    and energy are checked by every solve, which refuses what fails. Of what is answered, the mean
    peel and shear of every bond, per MPa, are followed: their movement from the first mesh to the
    second gives the error that the project would state (`post.numerical_error`), that to the third
    shows whether the statement was honest.
Command
    ``python -m benchmarks.extremes --joints 200 > benchmarks/extremes.md``
Source
    M.D. McKay, R.J. Beckman & W.J. Conover, Technometrics 21 (1979) 239-245 (value from memory).
"""

from __future__ import annotations

import argparse
import json
import sys
import time
from collections import Counter
from collections.abc import Iterator
from dataclasses import asdict, dataclass, field
from typing import Any

import numpy as np
from scipy.stats import qmc

from geometry.case import Case, parse_case
from geometry.case_checks import BONDS, LIPS
from geometry.errors import CaseError
from geometry.forms import draw_section
from geometry.mesh import MeshError, mesh_section
from post.bondline import line_mean
from post.numerical_error import MEAN_FLOOR, two_grid_error
from solve.answer import Answer, SolveError, solve

LEVELS = (-1, 0, 1)
TARGET = 0.01  # the largest numerical error that a case asks for unless it says else
HEADS = ("none", "flat", "hemisphere")
SEED = 20
# from, to; each is drawn evenly in its logarithm
RANGES = {
    "gap": (0.05, 5.0),  # mm
    "bore": (20.0, 2000.0),  # mm
    "wall": (1.0, 300.0),  # mm
    "adhesive_over_metal": (1e-4, 1e4),
    "fibre_over_across": (1e-4, 1e4),
    "short_of_half": (1e-3, 0.3),  # of the adhesive's Poisson's ratio
    "overlap_over_wall": (0.5, 5.0),
    "lip_over_wall": (0.2, 1.5),
    "web_over_wall": (0.5, 3.0),
    "head_over_wall": (0.3, 1.0),
}
MIDDLE = 1e4  # MPa: geometric mean of the two moduli of each ratio


@dataclass
class Outcome:
    """What came of a joint.

    Attributes
    ----------
    number : int
    form, head : str
    drawn : dict of str to float
        Of `RANGES`.
    end : str
        ``answered``, ``not drawn``, ``not meshed`` or ``not solved``.
    said : str
        The line of a refusal.
    proofs : dict of str to float
        The largest of each check over its allowance.
    stated, moved : float
        Largest stated error, and largest true movement to the finest mesh, of the means; shares of
        the largest mean of the joint.
    unstated : float
        Largest of true movement less stated error; above zero an error was not told.
    triangles : int
    seconds : float
    meshes : int
        How many it was solved on.
    """

    number: int
    form: str
    head: str
    drawn: dict[str, float]
    end: str = "answered"
    said: str = ""
    proofs: dict[str, float] = field(default_factory=dict)
    stated: float = 0.0
    moved: float = 0.0
    unstated: float = 0.0
    triangles: int = 0
    seconds: float = 0.0
    meshes: int = 0


def designed(count: int, seed: int = SEED) -> Iterator[tuple[str, str, dict[str, float]]]:
    """Give the form, the head and the numbers of each joint of a design."""
    low, high = np.log(np.array(list(RANGES.values()))).T
    shares = qmc.LatinHypercube(len(RANGES), rng=np.random.default_rng(seed)).random(count)
    values = np.exp(low + shares * (high - low))
    forms = list(BONDS)
    for number, row in enumerate(values):
        yield (
            forms[number % len(forms)],
            HEADS[number // len(forms) % len(HEADS)],
            dict(zip(RANGES, map(float, row), strict=True)),
        )


def extreme_case(form: str, head: str, drawn: dict[str, float]) -> Case:
    """Make a case of the numbers that were drawn.

    Raises
    ------
    CaseError
        Where the ranges meet in what no hull can be.
    """
    gap, bore, wall = (drawn[name] for name in ("gap", "bore", "wall"))
    adhesive, metal = _pair(drawn["adhesive_over_metal"])
    along, across = _pair(drawn["fibre_over_across"])
    overlap = max(drawn["overlap_over_wall"] * wall, 4 * gap, 2.0)
    # inside the bore there is room for a lip only if bond and lip leave a hole
    lip = min(drawn["lip_over_wall"] * wall, 0.6 * (bore - gap))
    half_length = 1.5 * overlap + 2 * np.sqrt((bore + wall / 2) * wall)
    joint: dict[str, Any] = {"form": form, "adhesive": "soft-or-stiff", "bond_thickness": _mm(gap)}
    ring: dict[str, Any] = {"material": "some-metal", "web": _mm(drawn["web_over_wall"] * wall)}
    if form == "scarf":
        joint["overlap"] = {"inner": _mm(overlap)}
    elif form != "butt":
        joint["overlap"] = {side: _mm(overlap) for side in LIPS[form]}
        ring["lip"] = {side: _mm(lip) for side in LIPS[form]}
        ring["lip_tip"] = {side: _mm(0.5 * lip) for side in LIPS[form]}
    top: dict[str, Any] = {"form": head}
    if head != "none":
        # what a head may be at least, and a hemisphere at most
        thickness = float(np.clip(drawn["head_over_wall"] * wall, 0.5, 0.95 * bore))
        top |= {"material": "some-metal", "thickness": _mm(thickness)}
    stated = {"source": "drawn at random", "basis": "assumed"}
    nu = min(0.3, 0.3 * float(np.sqrt(along / across)))
    shear = f"{min(along, across) / 2.5} MPa"
    ply = {"E1": f"{along} MPa", "E2": f"{across} MPa", "G12": shear, "nu12": nu, "nu23": 0.3}
    return parse_case(
        {
            "title": f"Extreme {form}",
            "duty": {
                "pressure": "1 MPa",
                "stress_free_temperature": "60 degC",
                "service_temperature": "2 degC",
            },
            "wall": {
                "bore_radius": _mm(bore),
                "half_length": _mm(half_length),
                "layup": [
                    {"ply": "some-ply", "thickness": _mm(wall / 6), "angles": [90, 0, 0, 0, 0, 90]}
                ],
            },
            "joint": joint,
            "ring": ring,
            "head": top,
            "materials": {
                "soft-or-stiff": {
                    **stated,
                    "kind": "adhesive",
                    "elastic": {
                        "symmetry": "isotropic",
                        "E": f"{adhesive} MPa",
                        "nu": 0.5 - drawn["short_of_half"],
                        "cte": "60e-6 /K",
                    },
                },
                "some-metal": {
                    **stated,
                    "kind": "metal",
                    "elastic": {
                        "symmetry": "isotropic",
                        "E": f"{metal} MPa",
                        "nu": 0.3,
                        "cte": "9e-6 /K",
                    },
                },
                "some-ply": {
                    **stated,
                    "kind": "ply",
                    "elastic": {
                        "symmetry": "transverse",
                        **ply,
                        "cte1": "-0.5e-6 /K",
                        "cte2": "28e-6 /K",
                    },
                },
            },
        }
    )


def _pair(ratio: float) -> tuple[float, float]:
    return MIDDLE * float(np.sqrt(ratio)), MIDDLE / float(np.sqrt(ratio))


def _mm(length: float) -> str:
    return f"{length:.6g} mm"


def try_joint(
    number: int, form: str, head: str, drawn: dict[str, float], levels: tuple[int, ...] = LEVELS
) -> Outcome:
    """Solve a joint on two or three meshes, each finer than the one before."""
    start = time.process_time()
    out = Outcome(number, form, head, drawn)
    try:
        case = extreme_case(form, head, drawn)
        section = draw_section(case)
        answers = [solve(case, mesh_section(section, level), section=section) for level in levels]
        _measure(out, answers)
    except (CaseError, MeshError, SolveError) as error:
        ends = {CaseError: "not drawn", MeshError: "not meshed", SolveError: "not solved"}
        out.end, out.said = ends[type(error)], str(error)
    out.seconds = time.process_time() - start
    return out


def _measure(out: Outcome, answers: list[Answer]) -> None:
    out.triangles, out.meshes = len(answers[1].mesh.triangles), len(answers)
    for answer in answers:
        for proof in answer.proofs:
            share = proof.value / proof.allowed
            out.proofs[proof.name] = max(out.proofs.get(proof.name, 0.0), share)
    found = [means(answer) for answer in answers]
    if not all(np.isfinite(one).all() for one in found):
        raise SolveError("a mean of the bonds is not a finite number")
    scale = float(np.abs(found[1]).max())
    stated = np.array(
        [two_grid_error(f, c, MEAN_FLOOR) for c, f in zip(found[0], found[1], strict=True)]
    )
    out.stated = float(stated.max()) / scale
    if len(found) > 2:
        moved = np.abs(found[2] - found[1])
        out.moved = float(moved.max()) / scale
        out.unstated = float((moved - np.maximum(stated, MEAN_FLOOR * scale)).max()) / scale


def means(answer: Answer) -> np.ndarray:
    """Mean peel and shear along every bond, MPa per MPa of pressure."""
    found = []
    for bond in answer.section.bonds:
        # a scarf's trimmed ends are wedges: its middle nine tenths
        cut = 0.05 * bond.length if bond.name == "scarf" else 0.0
        mean = line_mean(answer, bond, cut, bond.length - cut)["pressure"]
        found += [float(mean[0]), float(mean[1])]
    return np.array(found)


def report(outcomes: list[Outcome]) -> str:
    """Say how many ended how, and how exact what was answered is."""
    answered = [o for o in outcomes if o.end == "answered"]
    ends = Counter(o.end for o in outcomes)
    lines = [
        "# Extreme but legal joints",
        "",
        f"Made by `python -m benchmarks.extremes --joints {len(outcomes)}`: a Latin hypercube, "
        f"seed {SEED}.",
        "",
        "| range | from | to |",
        "| --- | ---: | ---: |",
        *(f"| {name.replace('_', ' ')} | {a:g} | {b:g} |" for name, (a, b) in RANGES.items()),
        "",
        "| end | joints |",
        "| --- | ---: |",
        *(f"| {end} | {n} |" for end, n in sorted(ends.items())),
        "",
    ]
    if answered:
        proofs = {n: max(o.proofs[n] for o in answered) for n in answered[0].proofs}
        told = ", ".join(f"{n} {share:.2g}" for n, share in proofs.items())
        missed = [o for o in answered if o.stated > TARGET]
        third = [o for o in answered if o.meshes > 2]
        lines += [
            f"Largest share of what a check allows, of what was answered: {told}.",
            "",
            f"Means of peel and shear, mesh of level 0, over the largest mean of the joint: the "
            f"stated error is above {100 * TARGET:g} % in {len(missed)} of {len(answered)} joints, "
            "and is told so.",
            "",
            f"Of {len(third)} joints that were solved on level 1 too, the means moved by more than "
            f"{100 * TARGET:g} % in {sum(o.moved > TARGET for o in third)}, and by more than was "
            f"stated in {sum(o.unstated > 0 for o in third)}, at most by "
            f"{100 * max([o.unstated for o in third], default=0.0):.2g} % of the largest mean.",
            "",
        ]
    refused = [o for o in outcomes if o.end != "answered"]
    lines += ["| joint | form | head | end | said |", "| ---: | --- | --- | --- | --- |"] * bool(
        refused
    )
    lines += [f"| {o.number} | {o.form} | {o.head} | {o.end} | {o.said} |" for o in refused]
    return "\n".join(lines)


def main() -> int:
    """Run the command."""
    parser = argparse.ArgumentParser(prog="python -m benchmarks.extremes")
    parser.add_argument("--joints", type=int, default=200)
    parser.add_argument("--third", type=int, default=8, help="a third mesh for every n-th (8)")
    chosen = parser.parse_args()
    outcomes = []
    for number, (form, head, drawn) in enumerate(designed(chosen.joints)):
        levels = LEVELS if number % chosen.third == 0 else LEVELS[:2]
        outcomes.append(try_joint(number, form, head, drawn, levels))
        print(json.dumps(asdict(outcomes[-1])), file=sys.stderr, flush=True)
    print(report(outcomes))
    return 0


if __name__ == "__main__":
    sys.exit(main())
