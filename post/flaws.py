"""Disbonds judged: what each one of a case does, and how long one may be anywhere.

Problem
    From the joint reduced to its faces (`solve.joint_disbonds`) to the depth at which a disbond
    grows, whether it then stops, and the longest that holds.
Formulation
    A tip grows where G reaches the toughness at its mix of modes (`solve.mixed_mode`). The loads
    are the temperature change and a pressure p. G(p) is no parabola where faces touch, so its
    first passage is bracketed on `STEPS` even steps of p and then found by bisection.
    Growth is stable where G less the toughness falls as that end moves on at that pressure.
    The longest disbond that holds at a place is found by doubling its length until one does not
    hold at either tip, and halving between; in the last element G over toughness goes straight.
    Every shorter one that was tried holds.
    Toughness is the adhesive's, less the knock-downs of its card's basis and of the case, and on a
    face also of its preparation; the exponent is taken as it stands.
Units
    mm, N/mm, MPa, K.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import bisect

from geometry.case import Case
from geometry.seawater import duty_pressure, pressure_at
from post.flaw_life import required_pressure
from post.flaw_results import FlawMap, FlawResult, GrowthCurve, TipResult
from post.judge import Finding, as_rung
from post.knock_downs import basis_factor, stated_factors, surface_factor
from post.ladder import DEEPEST, Rung
from post.numerical_error import two_grid_error
from post.strength_used import Found, Used, as_written, made_of
from solve.disbond import Reduced, Stretch
from solve.energy_release import Disbonded, TipEnergy, faces_apart, moved
from solve.joint_disbonds import Disbonds
from solve.mixed_mode import mixed_toughness

Floats = NDArray[np.float64]

MODE = "disbond growth"
SOURCE = "Benzeggagh & Kenane 1996; energy release rate with faces in contact"
WHOLE = "end of the bond"
STEPS = 24  # of pressure, in which the first passage is sought
EXACT = 1e-6  # of the largest pressure: how well it is found
POSITIONS = 60  # of buried disbonds over all bonds


@dataclass(frozen=True)
class Toughness:
    """What a bond's face resists growth with.

    Attributes
    ----------
    opening, shearing : float
        GIc and GIIc, N/mm.
    exponent : float
    """

    opening: float
    shearing: float
    exponent: float

    def limit(self, tip: TipEnergy) -> float:
        """Critical energy release rate at a tip's mix of modes, N/mm."""
        return float(mixed_toughness(self.opening, self.shearing, self.exponent, tip.shear_share))

    @property
    def least(self) -> float:
        """Least of all mixes, N/mm."""
        return min(self.opening, self.shearing)


def toughness(case: Case, face: str) -> tuple[Toughness | None, str]:
    """Take the toughness of a face off the adhesive's card.

    Returns
    -------
    toughness, words
        None with the reason where a constant is missing.
    """
    card = case.materials[case.joint.adhesive]
    factors = stated_factors(case, "adhesive")
    if face != "middle":
        factors = (surface_factor(case), *factors)
    found: list[Found] = []
    values = {str(name): value for name, value in card.toughness.items()}
    for name in ("GIc", "GIIc"):
        if name not in values:
            found.append(f"card {card.name} has no {name}")
            continue
        one = as_written(card, "bond", name, values[name])
        found.append(replace(one, factors=(basis_factor(one.basis), *factors)))
    exponent = card.failure.mode_exponent
    if exponent is None:
        found.append(f"card {card.name} has no mode_exponent")
    else:
        found.append(as_written(card, "bond", "mode_exponent", exponent))
    return made_of(Toughness, *found)


def toughness_used(case: Case) -> tuple[Used, ...]:
    """Give every number behind the toughness of faces, for the report."""
    card = case.materials[case.joint.adhesive]
    values = {str(name): value for name, value in card.toughness.items()}
    factors = (surface_factor(case), *stated_factors(case, "adhesive"))
    return tuple(
        replace(one, factors=(basis_factor(one.basis), *factors))
        for name in ("GIc", "GIIc")
        if name in values
        for one in (as_written(card, "bond", name, values[name]),)
    )


def _loads(case: Case, pressure: float) -> dict[str, float]:
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
    at_duty = Disbonded(reduced, _loads(case, duty_pressure(case)))
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
        pressure = first_growth(case, reduced, stretches, number, way, tough)
        other = first_growth(case, companion, stretches, number, way, tough)
        error = two_grid_error(pressure, other)
        stable, why = _stability(case, reduced, stretches, number, way, tough, pressure)
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
    reduced: Reduced,
    stretches: Sequence[Stretch],
    number: int,
    way: int,
    tough: Toughness,
) -> float:
    """Least pressure at which a tip grows, MPa; infinite where no sea does it."""
    duty = case.duty
    deepest = max(pressure_at(DEEPEST, duty.latitude), required_pressure(case))

    def over(pressure: float) -> float:
        return excess(Disbonded(reduced, _loads(case, pressure)), stretches, number, way, tough)

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


def _stability(
    case: Case,
    reduced: Reduced,
    stretches: Sequence[Stretch],
    number: int,
    way: int,
    tough: Toughness,
    pressure: float,
) -> tuple[bool | None, str]:
    """Whether growth at a pressure stops by itself, and what is said of it."""
    if math.isinf(pressure):
        return None, "no sea makes it grow"
    disbonded = Disbonded(reduced, _loads(case, pressure))
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


def growth_curve(
    case: Case,
    disbonds: Disbonds,
    number: int,
    pressures: Sequence[float],
    lengths: Sequence[float] | None = None,
) -> GrowthCurve:
    """Follow a flaw's energy release rate as it grows, the others as they are.

    A flaw with two tips grows at both, element by element, until one of them has no way on.

    Parameters
    ----------
    case : Case
    disbonds : Disbonds
    number : int
        Place in the case's list.
    pressures : sequence of float
        MPa.
    lengths : sequence of float, optional
        Longest lengths wanted, mm; all that the bond has room for by default. The lengths given
        back are those at the corners of elements, up to the largest.

    Returns
    -------
    GrowthCurve
    """
    reduced = disbonds.flaws
    if reduced is None:
        raise ValueError("the case has no flaws")
    stretches = stretches_of(case, reduced)
    flaw = case.flaws[number]
    tough, _ = toughness(case, flaw.face)
    ways = directions(reduced, stretches[number])
    path = reduced.paths[stretches[number].path]
    most = max(lengths) if lengths is not None and len(lengths) else math.inf
    states = [list(stretches)]
    while ways:
        state = list(states[-1])
        room = Disbonded(reduced, {}).room
        if min(room(state, number, way) for way in ways) == 0:
            break
        for way in ways:
            state[number] = moved(state[number], way, 1)
        if _length(path.s, state[number]) > most * (1 + 1e-9):
            break
        states.append(state)
    G = np.zeros((len(pressures), len(states)))
    limit = np.full_like(G, math.nan)
    for i, pressure in enumerate(pressures):
        disbonded = Disbonded(reduced, _loads(case, float(pressure)))
        for j, state in enumerate(states):
            tips = [disbonded.tip(state, number, way) for way in ways]
            if not tips:
                continue
            limits = [tough.limit(tip) if tough else math.nan for tip in tips]
            nearer = max(
                range(len(tips)), key=lambda k: tips[k].G / limits[k] if tough else tips[k].G
            )
            G[i, j], limit[i, j] = tips[nearer].G, limits[nearer]
    found = np.array([_length(path.s, state[number]) for state in states])
    return GrowthCurve(found, np.asarray(pressures, float), G, limit)


def _length(s: Floats, stretch: Stretch) -> float:
    """Length of a disbond, mm; what lies under a fillet does not count."""
    return float(s[stretch.last] - max(s[stretch.first], 0.0))


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


def flaw_maps(case: Case, disbonds: Disbonds) -> list[FlawMap]:
    """Find the longest disbond that holds at the required depth, everywhere.

    Parameters
    ----------
    case : Case
    disbonds : Disbonds

    Returns
    -------
    list of FlawMap
        Edge and buried ones of every face; none where a toughness is missing.
    """
    pressure = required_pressure(case)
    total = sum(float(np.ptp(one.paths[0].s)) for one in disbonds.faces)
    maps = []
    for reduced in disbonds.faces:
        path = reduced.paths[0]
        tough, _ = toughness(case, path.face)
        if tough is None:
            continue
        disbonded = Disbonded(reduced, _loads(case, pressure))
        # three faces share the positions of a bond
        count = max(2, round(3 * POSITIONS * float(np.ptp(path.s)) / total))
        for places, kind in ((_edges(path.open_ends), "edge"), (None, "buried")):
            longest, limited, s = [], [], []
            for place in _centres(path.s, count) if places is None else places:
                size, by = _longest(disbonded, place, kind, tough)
                s.append(
                    float(path.s[place])
                    if kind == "buried"
                    else (max(float(path.s[0]), 0.0) if place == 0 else float(path.s[-1]))
                )
                longest.append(size)
                limited.append(by)
            if s:
                maps.append(
                    FlawMap(
                        path.bond,
                        path.face,
                        kind,
                        np.array(s),
                        np.array(longest),
                        tuple(limited),
                        pressure,
                    )
                )
    return maps


def _edges(opens: tuple[bool, bool]) -> list[int]:
    return [place for place, is_open in zip((0, -1), opens, strict=True) if is_open]


def _centres(s: Floats, count: int) -> list[int]:
    """Corners at which buried disbonds are centred, evenly along the bond."""
    inside = np.flatnonzero(s >= 0)[2:-2]
    wanted = np.linspace(0, len(inside) - 1, min(count, len(inside)))
    return [int(i) for i in np.unique(inside[np.round(wanted).astype(int)])]


def _longest(disbonded: Disbonded, place: int, kind: str, tough: Toughness) -> tuple[float, str]:
    """Find the longest disbond that holds at a place, mm, and what limits it."""
    reduced = disbonded.reduced
    path = reduced.paths[0]
    n = path.elements

    def stretch(half: int) -> Stretch:
        if kind == "edge" and place == 0:
            return Stretch(0, 0, under + half, path.wet_ends[0])
        if kind == "edge":
            return Stretch(0, n - half, n, path.wet_ends[1])
        return Stretch(0, place - half, place + half)

    under = int(np.sum(path.s < -1e-9)) if kind == "edge" and place == 0 else 0
    most = (
        n - under
        if kind == "edge"
        else min(place - path.open_ends[0], n - path.open_ends[1] - place)
    )
    used: dict[int, tuple[float, str]] = {0: (0.0, "")}

    def use(half: int) -> float:
        """G over toughness at the worse tip."""
        if half not in used:
            one = stretch(half)
            found = []
            for way in directions(reduced, one):
                total = disbonded.total([one], 0, way)
                share = total / tough.least
                if share >= 1:
                    tip = disbonded.tip([one], 0, way)
                    share = tip.G / tough.limit(tip)
                at = path.s[one.last if way > 0 else one.first]
                found.append((float(share), f"tip at s = {at:.1f} mm"))
            used[half] = max(found, default=(0.0, ""))
        return used[half][0]

    good, bad = 0, 0
    step = 1
    while not bad:
        tried = min(step, most)
        if tried <= good:
            return _length(path.s, stretch(good)), WHOLE
        if use(tried) >= 1:
            bad = tried
        else:
            good, step = tried, 2 * step
    while bad - good > 1:
        middle = (good + bad) // 2
        if use(middle) >= 1:
            bad = middle
        else:
            good = middle
    low, high = use(good), use(bad)
    share = (1 - low) / (high - low) if good else 0.0
    sizes = [_length(path.s, stretch(half)) if half else 0.0 for half in (good, bad)]
    return sizes[0] + share * (sizes[1] - sizes[0]), used[bad][1]
