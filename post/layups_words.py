"""The layup comparison in plain words, made from the ladders by rules.

Two ratios, as they are shown, differ when they lie further apart than both numerical errors
together; a layup is called deepest only when its first failure differs so from that of every
other one.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from post.ladder import DEEPEST, Rung
from post.layups import (
    AS_IN_CASE,
    CROSS_PLY,
    DIGITS,
    Judged,
    differs,
    mode_key,
    same_plies,
    shown_error,
)
from post.verdict import depth_words, is_unconverged

# What shear drives: in the bonds, in the plies and between them.
SHEARED = ("peel and shear", "fibre kinking", "between the fibres (Puck)", "between the plies")
CAUTIONS = (
    "Linear elastic analysis; not a certificate.",
    "Ring, bonds, head, duty, strengths and knock-downs are the case's own for every layup: a ring "
    "drawn anew for another layup would shift every ladder.",
    "The ply thickness is scaled a little to fill the wall, and lengths that are counted in plies "
    "follow it.",
    "The wall is smeared over its repeat unit, so stress between single plies at free edges, which "
    "grows with the angle between neighbours, does not show.",
    "Buckling of the wall, winding and draping of the plies, and fatigue are not judged.",
)


def ratio_text(rung: Rung, required: float) -> str:
    """Write a ratio with its error, on its own side of what is required."""
    if math.isnan(rung.ratio):
        return "not judged"
    if math.isinf(rung.ratio):
        return "not reached"
    digits = DIGITS
    while digits < 9 and (round(rung.ratio, digits) >= required) != (rung.ratio >= required):
        digits += 1
    text = f"{rung.ratio:.{digits}f}"
    error = shown_error(rung, digits)
    if error == 0:
        return text
    return f"{text} \u00b1 {error:.{digits}f}" if math.isfinite(error) else f"{text} \u00b1 unknown"


def mode_words(rung: Rung) -> str:
    """Name a rung: part and mode."""
    return f"{rung.part}, {rung.mode}"


def settled(found: Sequence[Judged]) -> list[Judged]:
    """Give the layups that may be the deepest: no other one differs from them for the better."""
    reached = [one for one in found if one.first is not None]
    if len(reached) < len(found):
        return [one for one in found if one.first is None]
    firsts = {one.name: one.first for one in reached if one.first is not None}
    return [
        one
        for one in reached
        if all(differs(other, firsts[one.name]) <= 0 for other in firsts.values())
    ]


def deepest_words(found: Sequence[Judged]) -> str:
    """Say which layup goes deepest."""
    best = settled(found)
    names = _listed([_called(one) for one in best])
    first = best[0].first
    if first is None:
        verb = "is" if len(best) == 1 else "are"
        return (
            f"{_capital(names)} {verb} not brought to first failure in any sea ({DEEPEST:,.0f} m)."
        )
    if len(best) == 1:
        return (
            f"{_capital(names)} goes deepest: first failure at {depth_words(first)} "
            f"({_ratio(best[0], first)}), {mode_words(first)}."
        )
    if len(best) == len(found):
        return "No layup goes deeper than the others beyond the numerical error."
    depths = [one.first.depth for one in best if one.first is not None]
    span = f"{math.floor(min(depths)):,} to {math.floor(max(depths)):,} m"
    return f"Deepest, with no difference beyond the numerical error, go {names}: {span}."


def governing_words(found: Sequence[Judged]) -> str:
    """Say whether one mode governs all layups."""
    keys = {mode_key(one.first) if one.first is not None else None for one in found}
    if len(keys) > 1:
        return "The layup decides what goes first: the governing mode is not the same for all."
    (key,) = keys
    if key is None:
        return "No layup has a first failure in any sea."
    return f"The same goes first in every layup: {key[0]}, {key[1]}."


def layup_words(one: Judged) -> str:
    """Say what governs a layup, and how it stands."""
    verdict, first = one.verdict, one.first
    if first is None:
        return f"{_capital(one.name)}: {verdict.word}; nothing that has a number is reached."
    doubt = ", not converged" if is_unconverged(first) else ""
    return (
        f"{_capital(one.name)}: {verdict.word}; {mode_words(first)} goes first, at "
        f"{depth_words(first)} ({_ratio(one, first)}{doubt})."
    )


def trade_words(found: Sequence[Judged]) -> list[str]:
    """Say what a cross-ply gains and loses in kinking and the modes that shear drives.

    Returns
    -------
    list of str
        One sentence for each layup of other plies; empty where there is no cross-ply.
    """
    cross = next((one for one in found if one.name == CROSS_PLY), None)
    if cross is None:
        return []
    others: list[Judged] = []
    for one in found:
        if not any(same_plies(one.case, other.case) for other in (cross, *others)):
            others.append(one)
    return [_trade(cross, other) for other in others]


def twin_words(found: Sequence[Judged]) -> list[str]:
    """Name the layups that are the same plies as one before them."""
    sentences = []
    for i, one in enumerate(found):
        twin = next((other for other in found[:i] if same_plies(one.case, other.case)), None)
        if twin is not None:
            sentences.append(f"{_capital(one.name)} has the same plies as {_called(twin)}.")
    return sentences


def _trade(cross: Judged, other: Judged) -> str:
    gained: list[str] = []
    lost: list[str] = []
    even: list[str] = []
    missing: list[str] = []
    for key, rung in cross.by_mode.items():
        if key[1] not in SHEARED:
            continue
        against = other.by_mode.get(key)
        name = f"{key[0]}, {key[1]}"
        if against is None or math.isnan(rung.ratio) or math.isnan(against.ratio):
            missing.append(name)
            continue
        numbers = f"{name} ({_plain(rung, cross)} against {_plain(against, other)})"
        side = differs(rung, against)
        if side:
            (gained if side > 0 else lost).append(numbers)
        else:
            even.append(name)
    pieces = []
    if gained:
        pieces.append(f"gains in {'; '.join(gained)}")
    if lost:
        pieces.append(f"loses in {'; '.join(lost)}")
    text = f"Against {_called(other)}, cross-ply " + (
        " and ".join(pieces) if pieces else "neither gains nor loses beyond the numerical error"
    )
    if even and pieces:
        text += f"; no difference beyond the numerical error: {'; '.join(even)}"
    if missing:
        text += f"; not judged in both: {'; '.join(missing)}"
    return text + "."


def _plain(rung: Rung, one: Judged) -> str:
    return ratio_text(rung, one.case.duty.required_ratio)


def _ratio(one: Judged, rung: Rung) -> str:
    required = one.case.duty.required_ratio
    return f"ratio {ratio_text(rung, required)}, required {required:g}"


def _called(one: Judged) -> str:
    return "the layup of the case" if one.name == AS_IN_CASE else one.name


def _listed(names: Sequence[str]) -> str:
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]
