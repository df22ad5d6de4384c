"""Disbonds of a case on the paths of its joint, and when their tips grow.

Formulation
    A tip grows where G reaches the toughness at its mix of modes (`solve.mixed_mode`). The loads
    are the temperature change and a pressure p. G(p) is no parabola where faces touch, so its
    first passage is bracketed on `STEPS` even steps of p and then found by bisection.
Units
    mm, N/mm, MPa, K.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import bisect

from geometry.case import Case
from geometry.seawater import pressure_at
from post.flaw_life import required_pressure
from post.ladder import DEEPEST
from post.toughness import Toughness
from solve.disbond import Reduced, Stretch
from solve.energy_release import Disbonded

Floats = NDArray[np.float64]

STEPS = 24  # of pressure, in which the first passage is sought
EXACT = 1e-6  # of the largest pressure: how well it is found


def loads_at(case: Case, pressure: float) -> dict[str, float]:
    """Add the temperature change of a case to a pressure in MPa."""
    change = case.duty.service_temperature - case.duty.stress_free_temperature
    return {"pressure": pressure, "temperature": change}


def stretches_of(case: Case, reduced: Reduced) -> list[Stretch]:
    """Place the case's flaws on the paths of a reduction.

    A flaw that starts at the open edge takes in what lies under the fillet there. The sea enters
    one that reaches a wet edge, unless the case says that it does not.
    """
    found = []
    for flaw in case.flaws:
        number = reduced.find(flaw.bond, flaw.face)
        path = reduced.paths[number]
        first = 0 if flaw.start == 0 else path.corner(flaw.start)
        last = path.corner(flaw.start + flaw.length)
        wet = (first == 0 and path.open_ends[0] and path.wet_ends[0]) or (
            last == path.elements and path.open_ends[1] and path.wet_ends[1]
        )
        found.append(Stretch(number, first, last, flaw.flooded and wet))
    return found


def directions(reduced: Reduced, stretch: Stretch) -> tuple[int, ...]:
    """Tell which ends of a disbond are tips: -1 its first, +1 its last; open ends are none."""
    path = reduced.paths[stretch.path]
    opens = (
        stretch.first == 0 and path.open_ends[0],
        stretch.last == path.elements and path.open_ends[1],
    )
    return tuple(way for way, is_open in zip((-1, 1), opens, strict=True) if not is_open)


def excess(
    disbonded: Disbonded, stretches: Sequence[Stretch], number: int, way: int, tough: Toughness
) -> float:
    """G less the toughness at a tip, N/mm; the toughness of the weakest mix where G is below it."""
    total = disbonded.total(stretches, number, way)
    if total < tough.least:
        return total - tough.least
    tip = disbonded.tip(stretches, number, way)
    return tip.G - tough.limit(tip)


def first_growth(
    case: Case,
    under: Callable[[float], Disbonded],
    stretches: Sequence[Stretch],
    number: int,
    way: int,
    tough: Toughness,
) -> float:
    """Least pressure at which a tip grows, MPa; infinite where no sea does it.

    `under` gives the joint under a pressure.
    """
    latitude = case.duty.latitude
    deepest = max(pressure_at(DEEPEST, latitude), required_pressure(case))

    def over(pressure: float) -> float:
        return excess(under(pressure), stretches, number, way, tough)

    return first_passage(over, deepest)


def first_passage(over: Callable[[float], float], most: float, steps: int = STEPS) -> float:
    """Least argument up to `most` at which a function becomes positive; infinite where none."""
    before = 0.0
    if over(0.0) >= 0:
        return 0.0
    for pressure in np.linspace(0.0, most, steps + 1)[1:]:
        if over(float(pressure)) >= 0:
            return float(bisect(over, before, float(pressure), xtol=EXACT * most))
        before = float(pressure)
    return math.inf
