"""The bondlines for the browser: unit parts, so that any depth is a sum made there.

Formulation
    At a depth d a stress is p(d) * (pressure part per MPa) + (temperature part), p(d) from a table
    of the sea's own relation. The headline numbers follow from the same parts by the rules of
    `post.summary`: means are sums of means, extremes are those of the summed line, and the error
    of each is its movement from the companion, at that depth. Their parts are given in full
    precision, so that at the duty depth they are the summary's; curves are rounded for size.
Units
    m, mm, MPa.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

import numpy as np
import pandas as pd

from geometry.seawater import duty_pressure, pressure_at
from geometry.section import BondLine
from post.bondline import PLACES, STRESSES, bond_stress, duty_factors, line_mean, stations
from post.curves import SENSE, WORDS, curve_sets, ends_in_words
from post.interactive import rounded
from post.ladder import DEEPEST, Rung
from post.ladder_report import name_words
from post.numerical_error import MEAN_FLOOR, SAFETY
from post.sheet import nice
from post.strengths import strengths
from post.summary import HEADLINE_STRESSES
from post.tables import HEADLINES
from post.verdict import by_depth, has_number, is_unconverged
from solve.answer import Answer

BEYOND = 1.5  # the slider's end, over the required depth
KNOTS = 160  # of the table of depth and pressure
SIDES = {  # place and side in words, by how the table has them
    ("mid", "adhesive"): "adhesive, mid-thickness",
    ("wall face", "adhesive"): "adhesive, at the wall's face",
    ("wall face", "wall"): "wall, at its face",
    ("ring face", "adhesive"): "adhesive, at the ring's face",
    ("ring face", "ring"): "ring, at its face",
}


def sea_table(duty_depth: float, pressure: float, latitude: float, deepest: float) -> Any:
    """Tabulate pressure over depth, with the duty as one of its rows.

    Parameters
    ----------
    duty_depth : float
        m.
    pressure : float
        At the duty, MPa.
    latitude : float
        Degrees.
    deepest : float
        Last depth, m.

    Returns
    -------
    dict
        ``depth`` m and ``pressure`` MPa, lists. Between rows a straight line is off by less than
        1e-4 MPa, as the relation bends by less than 5e-8 MPa/m^2.
    """
    depths = np.unique([*np.linspace(0.0, deepest, KNOTS + 1), duty_depth])
    pressures = [pressure if d == duty_depth else pressure_at(d, latitude) for d in depths]
    return {"depth": depths.tolist(), "pressure": pressures}


def slider_end(duty_depth: float, required_ratio: float) -> float:
    """Give the deepest depth of the slider, m: beyond what is required, within any sea."""
    wanted = BEYOND * required_ratio * duty_depth
    step = 10.0 ** math.floor(math.log10(wanted)) / 10
    return max(min(math.ceil(wanted / step) * step, DEEPEST), math.ceil(duty_depth))


def bondline_data(
    answer: Answer,
    companion: Answer,
    table: pd.DataFrame,
    duty_depth: float,
    rungs: Sequence[Rung] = (),
) -> dict[str, Any]:
    """Make what the page's script needs of the bondlines.

    Parameters
    ----------
    answer, companion : Answer
        As from `solve.answer.solve_twice`.
    table : DataFrame
        As from `post.bondline.bondline`.
    duty_depth : float
        m.
    rungs : sequence of Rung
        The depth ladder.

    Returns
    -------
    dict
        Plain data of strict JSON.
    """
    case, factors = answer.case, duty_factors(answer)
    deepest = slider_end(duty_depth, case.duty.required_ratio)
    pressure = duty_pressure(case)
    return {
        "duty": {"depth": duty_depth, "pressure": pressure},
        "required": {
            "ratio": case.duty.required_ratio,
            "depth": case.duty.required_ratio * duty_depth,
        },
        "deepest": deepest,
        "step": nice(deepest / 400),
        "sets": [
            {"keys": list(keys), "words": " and ".join(WORDS[key].lower() for key in keys)}
            for keys in curve_sets(table)
        ],
        "sea": sea_table(duty_depth, pressure, case.duty.latitude, deepest),
        "temperature_change": factors["temperature"],
        "stresses": [
            {
                "key": key,
                "words": WORDS[key],
                "sense": list(SENSE.get(key, ("tension", "compression"))),
            }
            for key in STRESSES
            if key != "twist_shear" or table["twist_shear_MPa"].abs().max() > 0
        ],
        "places": [
            {"key": f"{place}/{side}", "words": SIDES[place, side]} for place, side, *_ in PLACES
        ],
        "rules": {"safety": SAFETY, "floor": MEAN_FLOOR, "shown": [list(row) for row in HEADLINES]},
        "strengths": strength_lines(answer),
        "twists": {
            name: bool(own["twist_shear_MPa"].abs().max() > 0)
            for name, own in table.groupby("bond")
        },
        "ladder": ladder_lines(rungs),
        "bonds": [_bond(answer, companion, table, bond) for bond in answer.section.bonds],
    }


def ladder_lines(rungs: Sequence[Rung]) -> dict[str, Any]:
    """Give the modes that some sea reaches, shallowest first, and how many have no number.

    Returns
    -------
    dict
        ``modes`` with ``words``, ``depth`` m and ``doubt`` (why one does not count, or empty),
        ``unknown``, and ``judged``, False without any ladder.
    """
    return {
        "modes": [
            {
                "words": name_words(rung),
                "depth": max(rung.depth, 0.0),
                "doubt": "not converged" if is_unconverged(rung) else "",
            }
            for rung in by_depth(rungs)
            if rung.reached
        ],
        "unknown": sum(not has_number(rung) for rung in rungs),
        "judged": bool(rungs),
    }


def strength_lines(answer: Answer) -> dict[str, Any]:
    """Give the strengths that a bond's peel and shear are judged by, where they are known.

    Returns
    -------
    dict
        ``peel`` and ``shear`` MPa, both None where not judged, and ``length``, the window over
        which stresses are averaged before they are judged, mm.
    """
    used = strengths(answer.case)
    return {
        "peel": used.bond.tension if used.bond else None,
        "shear": used.bond.shear if used.bond else None,
        "length": used.characteristic_length,
    }


def _bond(answer: Answer, companion: Answer, table: pd.DataFrame, bond: BondLine) -> dict[str, Any]:
    """Curves of a bond by place and side, and the parts of its headlines."""
    own = table[table["bond"] == bond.name]
    pressure = duty_pressure(answer.case)
    curves = {}
    for place, side, *_ in PLACES:
        line = own[(own["place"] == place) & (own["side"] == side)]
        loads = {
            load: line[line["load"] == load].sort_values("s_mm")
            for load in ("pressure", "temperature")
        }
        curves[f"{place}/{side}"] = {
            "s": rounded(loads["pressure"]["s_mm"]),
            "r": rounded(loads["pressure"]["r_mm"]),
            "z": rounded(loads["pressure"]["z_mm"]),
            "pressure": {
                key: rounded(loads["pressure"][f"{key}_MPa"] / pressure) for key in STRESSES
            },
            "temperature": {key: rounded(loads["temperature"][f"{key}_MPa"]) for key in STRESSES},
        }
    start, end = ends_in_words(table, bond.name)
    return {
        "name": bond.name,
        "thickness": bond.thickness,
        "length": bond.length,
        "ends": [start, end],
        "curves": curves,
        "headlines": [_parts(one, bond.name) for one in (answer, companion)],
    }


def _parts(answer: Answer, name: str) -> dict[str, Any]:
    """Lines and means of the stresses of the headlines: per MPa, and as temperature leaves them."""
    bond = answer.section.bond(name)
    factors = {"pressure": 1.0, "temperature": duty_factors(answer)["temperature"]}
    s = stations(bond)
    line = bond_stress(answer, bond, bond.faces(s)[1], "adhesive")
    inside = np.isfinite(line["pressure"]).all(axis=0)
    first = min(bond.thickness, bond.length / 2)
    means = {
        "mean": line_mean(answer, bond, 0.0, bond.length),
        "first_thickness": line_mean(answer, bond, 0.0, first),
        "last_thickness": line_mean(answer, bond, bond.length - first, bond.length),
    }
    return {
        "s": s[inside].tolist(),
        "lines": {
            stress: {load: (factors[load] * line[load][row, inside]).tolist() for load in factors}
            for row, stress in enumerate(HEADLINE_STRESSES)
        },
        "means": {
            stress: {
                statistic: {load: float(factors[load] * mean[load][row]) for load in factors}
                for statistic, mean in means.items()
            }
            for row, stress in enumerate(HEADLINE_STRESSES)
        },
    }
