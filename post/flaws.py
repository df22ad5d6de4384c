"""The disbonds of a case judged: what each does at duty, when it grows and whether it then stops.

Formulation
    Growth is stable where G less the toughness falls as that end moves on at the pressure of first
    growth (`post.flaw_tips`). G is drawn to elements of no length from two degrees of elements
    (`solve.energy_release.Pair`); the numerical error of the pressure is all that drawing moves it
    by.
Units
    mm, N/mm, MPa, K.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np

from geometry.case import Case
from geometry.seawater import duty_pressure
from post.flaw_results import FlawResult, TipResult
from post.flaw_tips import directions, first_growth, loads_at, stretches_of
from post.judge import Finding, as_rung
from post.ladder import Rung
from post.numerical_error import MEAN_FLOOR
from post.toughness import Toughness, toughness
from solve.disbond import Reduced, Stretch
from solve.energy_release import Disbonded, Pair, faces_apart, moved
from solve.joint_disbonds import Disbonds

MODE = "disbond growth"
SOURCE = "Benzeggagh & Kenane 1996; energy release rate with faces in contact"


def flaw_results(case: Case, disbonds: Disbonds) -> list[FlawResult]:
    """Judge every flaw of a case, the others present.

    Parameters
    ----------
    case : Case
    disbonds : Disbonds
        As from `solve.joint_disbonds.solve_disbonds` of that case.

    Returns
    -------
    list of FlawResult
    """
    if disbonds.flaws is None or disbonds.companion is None:
        return []
    reduced, companion = disbonds.flaws, disbonds.companion
    stretches = stretches_of(case, reduced)
    at_duty = Pair(reduced, companion, loads_at(case, duty_pressure(case)))
    _, contact = at_duty.solve(stretches)
    jump = at_duty.jump(stretches)
    results = []
    for number, (flaw, stretch) in enumerate(zip(case.flaws, stretches, strict=True)):
        gap = faces_apart(reduced, jump, stretch)
        normal = np.flatnonzero(reduced.normal(reduced.unknowns(stretch)))
        own = np.isin(at_duty.solve(stretches)[0], reduced.unknowns(stretch)[normal])
        tough, words = toughness(case, flaw.face)
        tips = tuple(
            _tip(case, reduced, companion, stretches, number, way, tough, words, at_duty)
            for way in directions(reduced, stretch)
        )
        results.append(
            FlawResult(
                number=number,
                flaw=flaw,
                flooded=stretch.flooded,
                tips=tips,
                closed_share=float(np.mean(contact.closed[own])) if own.any() else 0.0,
                overlap=float(max(-gap.min(), 0.0)),
                opening=float(max(gap.max(), 0.0)),
            )
        )
    return results


def _tip(
    case: Case,
    reduced: Reduced,
    companion: Reduced,
    stretches: Sequence[Stretch],
    number: int,
    way: int,
    tough: Toughness | None,
    words: str,
    at_duty: Disbonded,
) -> TipResult:
    stretch = stretches[number]
    path = reduced.paths[stretch.path]
    corner = stretch.last if way > 0 else stretch.first
    energy = at_duty.tip(stretches, number, way)
    pressure, error, stable, why = math.nan, math.nan, None, words
    limit = math.nan
    if tough is not None:
        limit = tough.limit(energy)

        def drawn(p: float) -> Disbonded:
            return Pair(reduced, companion, loads_at(case, p))

        def plain(p: float) -> Disbonded:
            return Disbonded(reduced, loads_at(case, p))

        pressure = first_growth(case, drawn, stretches, number, way, tough)
        error = drawing_error(pressure, first_growth(case, plain, stretches, number, way, tough))
        stable, why = _stability(drawn, stretches, number, way, tough, pressure)
    return TipResult(
        s=float(path.s[corner]),
        r=float(path.r[corner]),
        z=float(path.z[corner]),
        direction=way,
        G=energy.G,
        G_I=energy.G_I,
        G_II=energy.G_II,
        G_III=energy.G_III,
        limit=limit,
        closure_length=energy.length,
        pressure=pressure,
        error=error,
        stable=stable,
        why=why,
    )


def drawing_error(drawn: float, plain: float) -> float:
    """Numerical error of a number that was drawn to elements of no length from a plain one.

    All that drawing moved it by: what is left is of a higher order, and was seen to be less (tests
    draw anew from elements of half the length). Infinite where only one of the two is.
    """
    if math.isinf(drawn) and math.isinf(plain):
        return 0.0
    if math.isinf(drawn) or math.isinf(plain):
        return math.inf
    return max(abs(drawn - plain), MEAN_FLOOR * drawn)


def _stability(
    under: Callable[[float], Disbonded],
    stretches: Sequence[Stretch],
    number: int,
    way: int,
    tough: Toughness,
    pressure: float,
) -> tuple[bool | None, str]:
    """Whether growth at a pressure stops by itself, and what is said of it."""
    if math.isinf(pressure):
        return None, "no sea makes it grow"
    disbonded = under(pressure)
    room = disbonded.room(stretches, number, way)
    if room == 0:
        return None, "it ends where the straight part of the bond does"
    ahead = list(stretches)
    ahead[number] = moved(stretches[number], way, 1)
    tips = [disbonded.tip(each, number, way) for each in (stretches, ahead)]
    here, there = (tip.G - tough.limit(tip) for tip in tips)
    if there < here:
        return True, "G falls behind the toughness as it grows"
    return False, "G runs ahead of the toughness as it grows"


def flaw_rungs(case: Case, results: Sequence[FlawResult]) -> list[Rung]:
    """Put each flaw on the depth ladder, at the tip that grows first."""
    rungs = []
    for result in results:
        flaw = result.flaw
        _, words = toughness(case, flaw.face)
        mode = f"{MODE}: flaw {result.number + 1}, {flaw.face}"
        finding = Finding(
            f"{flaw.bond} bond", mode, math.nan, math.nan, math.nan, "", math.nan, words, SOURCE
        )
        error = 0.0
        if not result.tips:
            finding = replace(finding, why="the whole bond is off: nothing is left to grow")
        elif any(math.isnan(tip.pressure) for tip in result.tips):
            finding = replace(finding, why=result.tips[0].why)
        else:
            first = min(result.tips, key=lambda tip: tip.pressure)
            error = first.error
            finding = replace(finding, pressure=first.pressure, r=first.r, z=first.z)
        rungs.append(as_rung(finding, error, case, case.mesh.target))
    return rungs
