"""Disbonds and dives in plain words, made from the numbers so that they cannot contradict them."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np

from geometry.case import Case
from geometry.seawater import depth_at
from post.flaw_life import at_pressure
from post.flaw_results import FlawMap, GrowthCurve
from post.ladder import DEEPEST
from post.life import MOST_DIVES

Row = Mapping[str, Any]
WHOLE = "end of the bond"  # what limits a disbond that holds as long as the bond lets it be


def count_words(count: float) -> str:
    """Write a number of dives or missions, rounded down to two digits."""
    if math.isnan(count):
        return "not judged"
    if count > MOST_DIVES:
        return "more than 10 million"
    if count < 1:
        return "less than one"
    step = 10 ** max(int(math.floor(math.log10(count))) - 1, 0)
    return f"{int(count // step) * step:,}"


def growth_words(case: Case, row: Row, curve: GrowthCurve | None = None) -> str:
    """Say when a disbond first grows, and what then; the curve tells how far it runs."""
    tip = first_tip(row)
    if tip is None:
        return "The whole bond is off: there is no end to grow from."
    if math.isnan(tip["pressure"]):
        return f"Not judged: {tip['why']}."
    depth, ratio, error = first_depth(case, tip)
    if math.isinf(depth):
        return f"No sea ({DEEPEST:,.0f} m) makes it grow."
    required = case.duty.required_ratio
    if depth <= 0:
        start = "The temperature change alone makes it grow"
    else:
        told = (
            f"{ratio:.2f} \u00b1 {max(error, 0.005):.2f}"
            if math.isfinite(error)
            else f"{ratio:.2f}"
        )
        stands = "holds" if ratio - error >= required else "short"
        start = (
            f"First grows at {math.floor(depth):,} m, {told} of the duty depth, where {required:g} "
            f"are asked: {stands}"
        )
    return f"{start}. {_stability(tip, curve)}".rstrip()


MODES = (("G_I", "opening"), ("G_II", "shearing"), ("G_III", "shearing around the hull"))


def energy_words(row: Row) -> list[str]:
    """Say what pulls at the end of a disbond at duty, and how its faces lie."""
    tip = first_tip(row)
    said = []
    if tip is not None and tip["G"] > 0:
        limit = "" if math.isnan(tip["limit"]) else f", of {tip['limit']:.2g} that it bears"
        shares = [(tip[name] / tip["G"], word) for name, word in MODES]
        modes = ", ".join(f"{100 * share:.0f} % {word}" for share, word in shares if share >= 0.005)
        said.append(
            f"At duty G is {tip['G']:.2g} kJ/m\u00b2{limit}: {modes}, told apart over "
            f"{tip['closure_length']:.2g} mm."
        )
    elif tip is not None:
        said.append("At duty nothing pulls at its end: G is nil.")
    closed, opening = row["closed_share"], row["opening"]
    if closed > 0.995:
        said.append("Its faces are pressed together all along.")
    elif closed > 0.005:
        said.append(
            f"Its faces touch over {100 * closed:.0f} % of its length and part elsewhere, by up to "
            f"{opening:.2g} mm."
        )
    else:
        said.append(f"Its faces part all along, by up to {opening:.2g} mm.")
    return said


def life_words(life: Row, row: Row | None) -> list[str]:
    """Say how many dives a disbond bears."""
    if row is None:
        return []
    if row["why"]:
        return [f"Its life is not judged: {row['why']}."]
    tolerable, size = row["tolerable"], row["dive_range"]
    if tolerable == 0:
        return ["It is longer already than what is tolerable at the required depth."]
    to = f"It holds at the required depth up to {min(tolerable, row['longest']):.3g} mm"
    if math.isinf(tolerable):
        to += ", as far as it is followed"
    single = life["mission"].startswith("one dive")
    said = [f"{to}. The range of G on a dive to the duty depth is {size:.2g} kJ/m\u00b2 now."]
    if math.isinf(row["missions"]):
        if row["stops"] <= row["length"] * (1 + 1e-9):
            return [*said, "Diving does not grow it: the range is below the threshold."]
        often = _often(row["missions_stops"], single)
        said.append(
            f"Diving grows it to {row['stops']:.3g} mm in {often}; there the range falls below the "
            "threshold and it stops."
        )
    else:
        said.append(f"Until it is so long: {_often(row['missions'], single)}.")
    planned, after = life["planned_missions"], row["planned_length"]
    if planned is not None and not math.isnan(after):
        plan = f"the {planned:,.0f} planned dives" if single else "the dive list once"
        end = f"it is {after:.4g} mm long"
        if math.isinf(after):
            end = "it has torn"
            if math.isinf(row["critical"]):
                end = f"it is longer than {row['longest']:.3g} mm, as far as it is followed"
        said.append(f"After {plan} {end}.")
    return said


def _often(missions: float, single: bool) -> str:
    return f"{count_words(missions)} {'dives' if single else 'times the dive list'}"


def lead_words(life: Row) -> list[str]:
    """Say what the shortest life of the sound joint is, and what the plan uses of it."""
    judged = [row for row in life["rungs"] if not row["why"]]
    if not judged:
        whys = sorted({row["why"] for row in life["rungs"]})
        return [f"No life is judged: {'; '.join(whys)}."]
    first = min(judged, key=lambda row: row["missions"])
    single = life["mission"].startswith("one dive")
    what = f"{first['part']}, {first['mode']}"
    if single:
        count = count_words(first["dives"])
        said = [f"Shortest life without flaws: {count} dives to the duty depth ({what})."]
    else:
        said = [
            f"Shortest life without flaws: {count_words(first['missions'])} times the dive list "
            f"({what}); {count_words(first['dives'])} dives to the duty depth alone."
        ]
    planned = life["planned_missions"]
    if planned is None:
        said.append("The case plans no number of dives.")
    else:
        used = planned * first["damage"]
        plan = f"The {planned:,.0f} planned dives use" if single else "The dive list uses"
        verdict = "the life is not enough" if used > 1 else "the life is enough"
        said.append(f"{plan} {_percent(used)} of it: {verdict}.")
    return said


def assumed_words(life: Row) -> str:
    """Say how many of the constants stand on no test."""
    constants = life["constants"]
    given = [row for row in constants if row["value"] is not None]
    assumed = [row for row in given if row["basis"] == "assumed"]
    missing = [row for row in constants if row["value"] is None]
    said = f"{len(assumed)} of {len(given)} constants are assumed"
    if missing:
        said += f", and {len(missing)} are missing, so that what needs them is not judged"
    if assumed:
        said += (
            ". Growth goes with a high power: a factor of 2 in G is more than one of 10 in dives"
        )
    return f"{said}."


def map_words(life: Row, maps: Sequence[FlawMap]) -> str:
    """Say where along the bonds the least is tolerable."""
    said = []
    for kind, word in (("edge", "from an open edge"), ("buried", "buried")):
        own = [one for one in maps if one.kind == kind and len(one.s)]
        found = [(least_of(one), one) for one in own]
        limited = [(at, one) for at, one in found if at is not None]
        if limited:
            at, one = min(limited, key=lambda pair: float(pair[1].longest[pair[0]]))
            longest, s = float(one.longest[at]), float(one.s[at])
            size = f"{longest:.3g} mm" if longest > 0 else "none that the mesh can tell"
            place = f"{one.bond} bond, {face_words(one.face)}, s = {s:.4g} mm"
            said.append(f"least {word} {size} ({place})")
        elif own:
            said.append(f"one {word} does not grow however long the bond lets it be")
    return (
        f"Longest ring-shaped disbond that does not grow at the required depth, "
        f"{life['required_depth']:,.0f} m, one at a time: {'; '.join(said)}."
    )


def least_of(one: FlawMap) -> int | None:
    """Place of the shortest of a map that its tips limit; None where only the bond's ends do."""
    limited = [i for i, by in enumerate(one.limited_by) if by != WHOLE]
    return min(limited, key=lambda i: float(one.longest[i])) if limited else None


def first_tip(row: Row) -> Row | None:
    """Give the end that grows first; the one with more G where none does."""
    tips = row["tips"]
    if not tips:
        return None
    first: Row = min(
        tips,
        key=lambda tip: (math.inf if math.isnan(tip["pressure"]) else tip["pressure"], -tip["G"]),
    )
    return first


def first_depth(case: Case, tip: Row) -> tuple[float, float, float]:
    """Depth, m, of first growth, its ratio to duty, and the error of that."""
    latitude, pressure, error = case.duty.latitude, tip["pressure"], tip["error"]
    duty = case.duty.depth
    if duty is None:
        assert case.duty.pressure is not None
        duty = depth_at(case.duty.pressure, latitude)
    if math.isnan(pressure):
        return (math.nan,) * 3
    deepest = max(DEEPEST, case.duty.required_ratio * duty)
    depth = depth_at(pressure, latitude) if 0 < pressure < math.inf else pressure
    if depth > deepest:
        return math.inf, math.inf, 0.0
    low = depth_at(max(pressure - error, 1e-9), latitude) if math.isfinite(error) else math.nan
    return depth, depth / duty, (depth - low) / duty if depth > 0 else 0.0


def threshold_of(life: Row) -> float:
    """Threshold of growth, N/mm; NaN where the card has none."""
    values = [row["value"] for row in life["constants"] if row["name"] == "growth_threshold"]
    return float(values[0]) if values and values[0] is not None else math.nan


def face_words(face: str) -> str:
    """Name a face of a bond."""
    return "in the adhesive" if face == "middle" else f"{face} face"


def _stability(tip: Row, curve: GrowthCurve | None) -> str:
    if tip["stable"] is None:
        return ""
    if tip["stable"]:
        return "Growth then stops by itself, as that depth is held: stable."
    if curve is None or not curve.pressures[0] <= tip["pressure"] <= curve.pressures[-1]:
        return "Growth then runs away: it does not stop as that depth is held."
    rest = stop_of(curve, tip["pressure"])
    if math.isfinite(rest):
        return f"Growth then runs on at once to {rest:.3g} mm, where G falls below Gc."
    return (
        f"Growth then runs away: it does not stop, as that depth is held, up to "
        f"{curve.lengths[-1]:.3g} mm, as far as it is followed."
    )


def stop_of(curve: GrowthCurve, pressure: float) -> float:
    """Length at which growth that runs at a pressure falls behind the toughness; else infinite."""
    over = at_pressure(curve, curve.G, pressure) - at_pressure(curve, curve.limit, pressure)
    runs = np.flatnonzero(over > 0)
    behind = np.flatnonzero(over < 0)
    after = behind[behind > runs[0]] if len(runs) else behind[behind > 0]
    return float(curve.lengths[after[0]]) if len(after) else math.inf


def _percent(share: float) -> str:
    if not math.isfinite(share):
        return "all"
    return f"{100 * share:.2g} %" if share < 1 else f"{100 * share:,.0f} %"
