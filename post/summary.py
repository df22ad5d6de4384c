"""The headlines: what each bond carries at duty, each number with its numerical error.

Problem
    A table of stresses along s is not an answer. Which few numbers stand for it, how sure are
    they, and does the joint carry what it must?
Formulation
    Statistics at mid-thickness: mean along the bond, means over the first and last bond
    thickness, largest and smallest value with their place. The error of each comes from its
    movement from a companion on a mesh of twice the element size (`post.numerical_error`), and is
    at least `MEAN_FLOOR` of the largest statistic of that stress in that bond under that load.
    Load transfer: the axial force that ring and adhesive put on the wall, bond by bond, from the
    wall's own nodal forces (exact to the solver's rounding), against p * pi * R^2.
Units
    mm, MPa, kN.
"""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

import numpy as np

from geometry.section import BondLine
from post.bondline import STRESSES, bond_stress, duty_factors, line_mean, stations
from post.ladder import Rung
from post.ladder_table import rungs_to_json, verdict_to_json
from post.numerical_error import MEAN_FLOOR, two_grid_error
from post.plain_data import plain
from post.strengths import Strengths
from post.verdict import overall
from solve.answer import Answer
from solve.as_made import as_made
from solve.section_corners import section_corners
from solve.transfer import axial_transfer

HEADLINE_STRESSES = STRESSES[:3]
LOADS = {
    "pressure": ("pressure",),
    "temperature": ("temperature",),
    "duty": ("pressure", "temperature"),
}
Headline = dict[str, Any]


def headlines(answer: Answer, companion: Answer) -> list[Headline]:
    """Headline numbers of every bond.

    Parameters
    ----------
    answer, companion : Answer
        As from `solve.answer.solve_twice`.

    Returns
    -------
    list of dict
        ``bond, stress, statistic, load, value, unit, error, at_s_mm``; the statistics are
        ``mean``, ``first_thickness``, ``last_thickness``, ``largest`` and ``smallest``;
        ``error`` is absolute; ``at_s_mm`` is the place of an extreme, else None.
    """
    rows: list[Headline] = []
    for bond in answer.section.bonds:
        here, there = _statistics(answer, bond), _statistics(companion, bond)
        largest: dict[tuple[str, str], float] = {}
        for (stress, _, load), (value, _) in here.items():
            largest[stress, load] = max(largest.get((stress, load), 0.0), abs(value))
        for key, (value, place) in here.items():
            stress, statistic, load = key
            error = two_grid_error(value, there[key][0])
            rows.append(
                {
                    "bond": bond.name,
                    "stress": stress,
                    "statistic": statistic,
                    "load": load,
                    "value": value,
                    "unit": "MPa",
                    "error": max(error, MEAN_FLOOR * largest[stress, load]),
                    "at_s_mm": place,
                }
            )
    return rows


def _statistics(
    answer: Answer, bond: BondLine
) -> dict[tuple[str, str, str], tuple[float, float | None]]:
    """Value and place by stress, statistic and load."""
    factors = duty_factors(answer)
    s = stations(bond)
    line = bond_stress(answer, bond, bond.faces(s)[1], "adhesive")
    first = min(bond.thickness, bond.length / 2)
    means = {
        "mean": line_mean(answer, bond, 0.0, bond.length),
        "first_thickness": line_mean(answer, bond, 0.0, first),
        "last_thickness": line_mean(answer, bond, bond.length - first, bond.length),
    }
    result: dict[tuple[str, str, str], tuple[float, float | None]] = {}
    for load, parts in LOADS.items():
        total = np.sum([factors[p] * line[p] for p in parts], axis=0)
        for row, stress in enumerate(HEADLINE_STRESSES):
            if stress == "twist_shear" and not np.any(total[row]):
                continue  # nothing twists
            for statistic, mean in means.items():
                value = sum(factors[p] * mean[p][row] for p in parts)
                result[stress, statistic, load] = float(value), None
            for statistic, pick in (("largest", np.nanargmax), ("smallest", np.nanargmin)):
                at = int(pick(total[row]))
                result[stress, statistic, load] = float(total[row, at]), float(s[at])
    return result


def judgement(answer: Answer, rungs: list[Rung], strengths: Strengths) -> dict[str, Any]:
    """Put ladder, verdict, strengths and corners as plain data.

    Parameters
    ----------
    answer : Answer
    rungs : list of Rung
        As from `post.judge.judge`.
    strengths : Strengths

    Returns
    -------
    dict
        ``ladder, verdict, strengths, corners``, to be joined to a summary.
    """
    corners = section_corners(answer.section, answer.materials)
    return {
        "ladder": rungs_to_json(rungs),
        "verdict": verdict_to_json(overall(rungs, answer.case.duty.required_ratio)),
        "strengths": [asdict(used) for used in strengths.used],
        "corners": [
            {
                "point": list(corner.point),
                "words": corner.words,
                "exponents": [exponent.stress for exponent in corner.driven],
                "radius": corner.radius,
            }
            for corner in corners
        ],
    }


def summarise(answer: Answer, companion: Answer, name: str) -> dict[str, Any]:
    """Everything the report's tables and the terminal show, as plain data.

    Parameters
    ----------
    answer, companion : Answer
    name : str
        The case's name.

    Returns
    -------
    dict
        ``name, title, note, form, loads, headlines, as_made, transfer, proofs, mesh``.
    """
    case = answer.case
    factors = duty_factors(answer)
    cap = np.pi * answer.section.outer_radius**2 * factors["pressure"] / 1000
    return {
        "name": name,
        "title": case.title,
        "note": case.note,
        "form": case.joint.form,
        "loads": {
            "depth_m": case.duty.depth,
            "pressure_MPa": factors["pressure"],
            "temperature_change_K": factors["temperature"],
            "axial_load_kN": cap,
        },
        "headlines": headlines(answer, companion),
        "as_made": plain(as_made(case)),
        "transfer": [
            {"surface": surface, "axial_kN": force * factors["pressure"] / 1000, "share": share}
            for surface, force, share in axial_transfer(answer)
        ],
        "proofs": [
            {"name": p.name, "load": p.load, "value": p.value, "allowed": p.allowed}
            for p in answer.proofs
        ],
        "mesh": {
            "level": case.mesh.level,
            "triangles": len(answer.mesh.triangles),
            "degree": answer.space.degree,
            "unknowns": 2 * answer.space.size
            if not np.any(answer.displacement["pressure"][:, 1])
            else 3 * answer.space.size,
        },
    }
