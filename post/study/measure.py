"""Headlines of one solved point.

Formulation
    Depths by the criteria of the ladder (`post.judge`), statistics along the bonds at
    mid-thickness and at duty as the report has them, masses by `post.study.weights`. What has no
    number (a mode that is not judged, a bond that the form has not) is NaN; what no sea reaches is
    infinitely deep.
"""

from __future__ import annotations

import math
from collections.abc import Collection

import numpy as np

from geometry.case import Case
from geometry.seawater import depth_at, duty_pressure
from geometry.section import BondLine, Section
from post.bondline import bond_stress, duty_factors, line_mean, stations
from post.judge import Finding, find
from post.ladder import DEEPEST
from post.strengths import strengths
from post.study.headline_names import STRESSES, WEIGHTS, slug
from post.study.weights import mass, weight_in_water
from solve.answer import Answer

Number = float | str


def measure(answer: Answer, headlines: Collection[str], modes: str) -> dict[str, Number]:
    """Find the headlines of a solved case.

    Parameters
    ----------
    answer : Answer
    headlines : collection of str
    modes : str
        ``bonds`` or ``all``.

    Returns
    -------
    dict
        In the order of `headlines`.
    """
    known: dict[str, Number] = {}
    if any(name.endswith((".depth", ".pressure", ".ratio", ".mode")) for name in headlines):
        found = find(answer, strengths(answer.case), bonds_only=modes == "bonds", next_too=False)
        known |= rungs(answer.case, found)
    for bond in answer.section.bonds:
        if any(name.startswith(f"{bond.name}.{s}.") for name in headlines for s in STRESSES):
            known |= bond_statistics(answer, bond)
    known |= weights(answer.case, answer.section, headlines)
    return {name: known.get(name, math.nan) for name in headlines}


def rungs(case: Case, found: Collection[Finding]) -> dict[str, Number]:
    """Depths and pressures of modes, and of the first of them."""
    return depths(case, [(f.part, f.mode, f.pressure) for f in found if not f.why])


def depths(case: Case, found: Collection[tuple[str, str, float]]) -> dict[str, Number]:
    """Depths of modes given as part, mode and pressure, and of the first of them."""
    duty = case.duty
    whole = duty.depth if duty.depth is not None else depth_at(duty_pressure(case), duty.latitude)
    deepest = max(DEEPEST, duty.required_ratio * whole)

    def depth(p: float) -> float:
        at = depth_at(p, duty.latitude) if 0 < p < math.inf else p
        return at if at <= deepest else math.inf

    known: dict[str, Number] = {}
    for part, mode, pressure in found:
        name = f"{part.removesuffix(' bond')}.{slug(mode)}"
        known[f"{name}.pressure"], known[f"{name}.depth"] = pressure, depth(pressure)
    reached = [one for one in found if not math.isnan(one[2])]
    if reached:
        part, mode, pressure = min(reached, key=lambda one: one[2])
        known |= {
            "first_failure.pressure": pressure,
            "first_failure.depth": depth(pressure),
            "first_failure.ratio": depth(pressure) / whole,
            "first_failure.mode": f"{part}: {mode}" if math.isfinite(pressure) else "none",
        }
    return known


def bond_statistics(answer: Answer, bond: BondLine) -> dict[str, Number]:
    """Means and extremes of peel and shear along a bond at duty, MPa."""
    factors = duty_factors(answer)
    line = bond_stress(answer, bond, bond.faces(stations(bond))[1], "adhesive")
    total = np.sum([factors[load] * line[load] for load in factors], axis=0)
    first = min(bond.thickness, bond.length / 2)
    spans = {
        "mean": (0.0, bond.length),
        "first_thickness": (0.0, first),
        "last_thickness": (bond.length - first, bond.length),
    }
    known: dict[str, Number] = {}
    for name, (start, stop) in spans.items():
        mean = line_mean(answer, bond, start, stop)
        for row, stress in enumerate(STRESSES):
            value = sum(factors[load] * mean[load][row] for load in factors)
            known[f"{bond.name}.{stress}.{name}"] = float(value)
    for row, stress in enumerate(STRESSES):
        known[f"{bond.name}.{stress}.largest"] = float(np.nanmax(total[row]))
        known[f"{bond.name}.{stress}.smallest"] = float(np.nanmin(total[row]))
    return known


def weights(case: Case, section: Section, headlines: Collection[str]) -> dict[str, Number]:
    """Mass and weight in water, where they are asked for."""
    if not set(WEIGHTS) & set(headlines):
        return {}
    own = mass(case, section)
    known: dict[str, Number] = {"mass": own}
    if "weight_in_water" in headlines:
        known["weight_in_water"] = weight_in_water(case, section, own)
    return known
