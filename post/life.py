"""Stress-life: how many dives the adhesive and the wall bear, and how the dives add up.

Problem
    A joint that holds one dive need not hold a thousand: polymers lose strength with every load.
Formulation
    S / S0 = 1 - loss * log10 N: of the strength S0 that bears one dive, the share S is left after
    N dives. A dive that uses the share u of the strength thus may be made N = 10^((1 - u) / loss)
    times. u is taken of the whole stress at depth, temperature part and all: the stress times 1 / u
    would reach the criterion. The strengths are those of the depth ladder, with every factor that
    is taken off them.
    Dives to several depths add up by Miner: damage = sum of n_i / N_i, and at 1 the life is used.
    Neither the order of the dives nor what a long hold at depth adds by creep is in it.
    The law is fitted to thousands or millions of loads. What is longer than `MOST_DIVES` is not
    told as a number, only that it is more.
Source
    M.A. Miner, J. Appl. Mech. 12 (1945) A159-A164: the sum. The straight line over log N is common
    practice, no published source.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from geometry.case import Case
from geometry.constants import Value
from geometry.materials import Card
from geometry.seawater import depth_at, duty_pressure, pressure_at
from post.growth import GrowthLaw
from post.judge import Finding, find
from post.numerical_error import two_grid_error
from post.strengths import Strengths
from solve.answer import Answer

Floats = NDArray[np.float64]

MOST_DIVES = 1e7
MOST_LEVELS = 8  # pressures at which the whole joint is judged
GROWTH = ("growth_rate", "growth_exponent", "growth_threshold")


@dataclass(frozen=True)
class RungLife:
    """Life of one mode of the ladder.

    Attributes
    ----------
    part, mode : str
        As the ladder has them.
    share : float
        Of the strength, used by a dive to the duty depth; NaN where not judged.
    share_error : float
        Its numerical error, which is added to it before the life is read off.
    dives : float
        Dives to the duty depth alone; less than one where the first does not hold.
    damage : float
        Of one mission.
    missions : float
        Missions until the damage is 1.
    loss : float
        Share of the strength lost for each tenfold number of dives; NaN where not judged.
    source : str
        Of the loss, with its basis.
    why : str
        Why it is not judged; empty where it is.
    """

    part: str
    mode: str
    share: float
    share_error: float
    dives: float
    damage: float
    missions: float
    loss: float
    source: str
    why: str = ""


def dives_to_failure(share: ArrayLike, loss: float) -> Floats:
    """Dives that use up a strength.

    Parameters
    ----------
    share : array_like
        Of the strength, used by one dive.
    loss : float
        Share of the strength lost for each tenfold number of dives.

    Returns
    -------
    array
        1 where a dive uses all of the strength, less beyond; infinite where nothing is lost and
        a dive uses less than all.
    """
    share = np.asarray(share, float)
    if loss == 0:
        return np.asarray(np.where(share < 1, np.inf, np.where(share > 1, 0.0, 1.0)))
    with np.errstate(over="ignore"):
        return np.asarray(10.0 ** ((1 - share) / loss))


def miner_damage(counts: ArrayLike, lives: ArrayLike) -> float:
    """Sum n_i / N_i.

    Parameters
    ----------
    counts : array_like
        Loads of each kind.
    lives : array_like
        How many of that kind alone use up the life.
    """
    counts, lives = np.asarray(counts, float), np.asarray(lives, float)
    with np.errstate(divide="ignore"):
        return float(np.sum(counts / lives))


def duty_depth(case: Case) -> float:
    """Depth of the duty, m: as given, or that of its pressure."""
    depth = case.duty.depth
    return depth if depth is not None else depth_at(duty_pressure(case), case.duty.latitude)


def mission_counts(case: Case) -> list[int]:
    """Dives of each kind in a mission: those of the dive list, or one to the duty depth."""
    return [dive.count for dive in case.duty.dive_list] or [1]


def mission_words(case: Case) -> str:
    """Say what a mission is."""
    if not case.duty.dive_list:
        return "one dive to the duty depth"
    dives = ", ".join(f"{d.count:,} to {d.depth:,.0f} m" for d in case.duty.dive_list)
    return f"the whole dive list ({dives})"


def planned_missions(case: Case) -> float | None:
    """Missions that the case plans: its dives, or its dive list once; None where it says none."""
    if case.duty.dive_list:
        return 1.0
    return None if case.duty.dives is None else float(case.duty.dives)


def mission_pressures(case: Case) -> list[float]:
    """Gauge pressure of each kind of dive in a mission, MPa."""
    if not case.duty.dive_list:
        return [duty_pressure(case)]
    return [pressure_at(dive.depth, case.duty.latitude) for dive in case.duty.dive_list]


def growth_law(card: Card) -> GrowthLaw | str:
    """Growth law of an adhesive, or what its card lacks, in words."""
    values = [getattr(card.failure, name) for name in GROWTH]
    missing = [name for name, value in zip(GROWTH, values, strict=True) if value is None]
    if missing:
        return f"card {card.name} has no {', '.join(missing)}"
    rate, exponent, threshold = (value.value for value in values)
    return GrowthLaw(rate, exponent, threshold)


def stress_life(answer: Answer, companion: Answer, strengths: Strengths) -> list[RungLife]:
    """Judge the life of every mode of the ladder.

    Parameters
    ----------
    answer, companion : Answer
        The same case on a mesh and on one of twice the element size.
    strengths : Strengths

    Returns
    -------
    list of RungLife
        Shortest first, those not judged last.
    """
    case = answer.case
    duty, pressures = duty_pressure(case), mission_pressures(case)
    counts = mission_counts(case)
    levels = pressure_levels(duty, pressures)
    fine = {p: find(answer, strengths, whole_at=p) for p in levels}
    coarse = {p: find(companion, strengths, whole_at=p) for p in levels}
    lives = []
    for i, finding in enumerate(fine[duty]):
        loss = life_loss(case, finding.part)
        why = finding.why or (loss if isinstance(loss, str) else "")
        if why or isinstance(loss, str):
            nan = (math.nan,) * 6
            lives.append(RungLife(finding.part, finding.mode, *nan, "", why))
            continue
        shares = [_share(fine[p][i]) for p in levels]
        errors = [
            two_grid_error(share, _share(coarse[p][i]), fine[p][i].floor)
            for p, share in zip(levels, shares, strict=True)
        ]
        worst = np.add(shares, errors)
        lasts = dives_to_failure(np.interp([duty, *pressures], levels, worst), loss.value)
        damage = miner_damage(counts, lasts[1:])
        lives.append(
            RungLife(
                finding.part,
                finding.mode,
                shares[levels.index(duty)],
                errors[levels.index(duty)],
                float(lasts[0]),
                damage,
                1 / damage if damage > 0 else math.inf,
                loss.value,
                f"{loss.basis}: {loss.source}" if loss.basis != "assumed" else loss.source,
            )
        )
    return sorted(lives, key=lambda life: (bool(life.why), life.missions))


def life_loss(case: Case, part: str) -> Value | str:
    """Loss of strength with dives in a part, or why there is none; of several plies the largest."""
    if part.endswith("bond"):
        names: Sequence[str] = [case.joint.adhesive]
    elif part == "wall":
        names = list(dict.fromkeys(block.ply for block in case.wall.layup))
    else:
        return "life is judged of adhesive and wall alone"
    found = []
    for name in names:
        value = case.materials[name].failure.life_loss
        if value is None:
            return f"card {name} has no life_loss"
        found.append(value)
    return max(found, key=lambda value: value.value)


def pressure_levels(duty: float, pressures: Sequence[float]) -> list[float]:
    """Pressures at which the stress is judged: all, or so many that what lies between is safe.

    The share used is convex in the pressure, as yield surfaces are convex: a straight line between
    two levels lies on the safe side.
    """
    levels = sorted({duty, *pressures})
    if len(levels) > MOST_LEVELS:
        between = np.linspace(levels[0], levels[-1], MOST_LEVELS)
        levels = sorted({duty, *map(float, between)})
    return levels


def _share(finding: Finding) -> float:
    """Share of the strength that the whole stress uses: one over what multiplies it to failure."""
    return 0.0 if math.isinf(finding.pressure) else 1 / max(finding.pressure, 1e-12)
