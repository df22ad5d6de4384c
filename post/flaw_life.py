"""Life of a disbond: how many dives until it is longer than what holds.

Formulation
    Along its growth a disbond has a range of energy release rate on every kind of dive, and a
    toughness. Tolerable is the length up to which G stays below the toughness at the required
    depth; critical the length up to which it does so at the duty depth, where the next dive tears
    the bond. Missions until either follow from `post.growth`.
    A range is the largest less the smallest G at the levels of pressure on the way down, the
    surface with its temperature part among them. Between levels G is drawn straight: it goes as
    the square of a load that grows with pressure, so a chord lies on the safe side.
    A buried disbond is taken to grow at both ends as fast as at the one nearer to its limit.
Units
    mm, N/mm (which is kJ/m^2), MPa.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from geometry.case import Case
from geometry.seawater import duty_pressure, pressure_at
from post.flaw_results import FlawResult, GrowthCurve
from post.growth import grow
from post.life import (
    duty_depth,
    growth_law,
    mission_counts,
    mission_pressures,
    planned_missions,
    pressure_levels,
)

Floats = NDArray[np.float64]

WAY_DOWN = 4  # levels of pressure from the surface to the deepest dive


@dataclass(frozen=True)
class FlawLife:
    """Life of one disbond.

    Attributes
    ----------
    number : int
        Place in the case's list, from 0.
    length : float
        As it is, mm.
    dive_range : float
        Range of G on a dive to the duty depth, as long as the disbond is now; N/mm.
    tolerable, critical : float
        Lengths up to which it holds at the required and at the duty depth, mm; 0 where it does not
        as it is, infinite where it holds all along the growth that is known.
    longest : float
        Length up to which its growth is known, mm.
    stops : float
        Length at which diving no longer grows it, mm; infinite where it goes on.
    missions_stops : float
        Missions until then.
    missions, missions_critical : float
        Missions until the tolerable and the critical length, or until `longest` where they are
        infinite; infinite below the threshold.
    planned_length : float
        Length after the planned missions, mm; infinite when it outgrows the critical or the
        longest length, NaN where none are planned.
    why : str
        Why it is not judged; empty where it is.
    """

    number: int
    length: float
    dive_range: float
    tolerable: float
    critical: float
    longest: float
    stops: float
    missions_stops: float
    missions: float
    missions_critical: float
    planned_length: float
    why: str = ""


def required_pressure(case: Case) -> float:
    """Gauge pressure at the required depth, MPa."""
    return pressure_at(case.duty.required_ratio * duty_depth(case), case.duty.latitude)


def life_pressures(case: Case, result: FlawResult) -> list[float]:
    """Pressures at which the growth of a disbond must be known, ascending, MPa."""
    duty = duty_pressure(case)
    levels = pressure_levels(duty, mission_pressures(case))
    first = [tip.pressure for tip in result.tips if 0 < tip.pressure < math.inf]
    way_down = np.linspace(0.0, levels[-1], WAY_DOWN + 1)
    return sorted({*map(float, way_down), *levels, required_pressure(case), *_least(first)})


def flaw_life(case: Case, result: FlawResult, curve: GrowthCurve) -> FlawLife:
    """Judge the life of one disbond.

    Parameters
    ----------
    case : Case
    result : FlawResult
    curve : GrowthCurve
        At the pressures of `life_pressures`.

    Returns
    -------
    FlawLife
    """
    law = growth_law(case.materials[case.joint.adhesive])
    duty, required = duty_pressure(case), required_pressure(case)
    lengths, length = np.asarray(curve.lengths, float), result.flaw.length
    nan = (math.nan,) * 5
    longest = float(lengths[-1]) if len(lengths) else math.nan
    why = ""
    if not result.tips:
        why = "the whole bond is off"
    elif len(lengths) < 2:
        why = "it has no room to grow"
    elif np.isnan(curve.limit[curve.G > 0]).any():
        why = next((tip.why for tip in result.tips if tip.why), "its toughness is not known")
    if why:
        return FlawLife(result.number, length, *nan[:3], longest, *nan, why)
    now = float(dive_ranges(curve, [duty])[0, 0])
    tolerable, critical = (_holds_to(curve, p) for p in (required, duty))
    if isinstance(law, str):
        return FlawLife(result.number, length, now, tolerable, critical, longest, *nan, why=law)
    ends = len(result.tips)
    counts = [count * ends for count in mission_counts(case)]
    growth = grow(lengths, dive_ranges(curve, mission_pressures(case)), law, counts)
    planned = planned_missions(case)
    after = math.nan if planned is None else growth.after(planned)
    if after > critical:
        after = math.inf
    return FlawLife(
        result.number,
        length,
        now,
        tolerable,
        critical,
        longest,
        growth.stops,
        growth.missions_until_stop,
        growth.until(min(tolerable, longest)),
        growth.until(min(critical, longest)),
        after,
    )


def dive_ranges(curve: GrowthCurve, depths: Sequence[float]) -> Floats:
    """Range of G on dives to some pressures, (dives, n) N/mm, by the length of a curve."""
    pressures, G = np.asarray(curve.pressures), np.asarray(curve.G)
    ranges = []
    for deepest in depths:
        at = at_pressure(curve, G, deepest)
        ranges.append(np.ptp(np.vstack([G[pressures < deepest], at]), axis=0))
    return np.array(ranges)


def at_pressure(curve: GrowthCurve, values: Floats, pressure: float) -> Floats:
    """Values (p, n) of a curve at a pressure, straight between its levels, (n,)."""
    return np.array([np.interp(pressure, curve.pressures, column) for column in values.T])


def _holds_to(curve: GrowthCurve, pressure: float) -> float:
    """Length at which G first reaches the toughness; 0 at once, infinite where it does not."""
    G = at_pressure(curve, curve.G, pressure)
    limit = at_pressure(curve, curve.limit, pressure)
    over = G / limit - 1
    reached = np.flatnonzero(over >= 0)
    if not len(reached):
        return math.inf
    i = int(reached[0])
    if i == 0:
        return 0.0
    x = np.log(curve.lengths[i - 1 : i + 1])
    share = over[i - 1] / (over[i - 1] - over[i])
    return float(np.exp(x[0] + share * (x[1] - x[0])))


def _least(values: Sequence[float]) -> list[float]:
    return [min(values)] if values else []
