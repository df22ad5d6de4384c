"""The verdict over a whole ladder, in one word and one sentence.

Rules, in this order
    Short, when any judged rung is short. Not converged, when a rung that has a depth could not be
    judged because its numerical error is too large: such a ladder never holds. Not judged, when
    no rung is judged. Holds otherwise, with the count of modes that are not judged.
Rounding
    A number that decides is shown with as many digits as it takes to lie on its own side of what
    is required; depths are rounded down.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from post.ladder import DEEPEST, Rung

HOLDS, SHORT, NOT_CONVERGED, NOT_JUDGED = "holds", "short", "not converged", "not judged"


@dataclass(frozen=True)
class Verdict:
    """What the ladder says as a whole.

    Attributes
    ----------
    word : str
        ``holds``, ``short``, ``not converged`` or ``not judged``.
    sentence : str
        The same with what goes first, where, and how many modes stand behind it.
    governing : Rung or None
        The shallowest rung that has a depth; None where no sea reaches any.
    judged, short, not_converged, not_judged : int
        How many rungs are so; `short` is part of `judged`.
    required_ratio : float
    """

    word: str
    sentence: str
    governing: Rung | None
    judged: int
    short: int
    not_converged: int
    not_judged: int
    required_ratio: float


def has_number(rung: Rung) -> bool:
    """Whether a rung has a depth at all, be it infinite."""
    return not math.isnan(rung.depth)


def is_judged(rung: Rung) -> bool:
    """Whether a rung is judged."""
    return rung.verdict != NOT_JUDGED


def is_unconverged(rung: Rung) -> bool:
    """Whether a rung has a depth but too large a numerical error to be judged.

    An infinite pressure with an infinite error is one that another mesh does reach.
    """
    known = math.isfinite(rung.ratio_error) and not math.isnan(rung.error)
    jumps = math.isinf(rung.pressure) and math.isinf(rung.error)
    return has_number(rung) and (not is_judged(rung) or not known or jumps)


def is_short(rung: Rung, required_ratio: float) -> bool:
    """Whether a judged rung falls short, by its own word or by its numbers."""
    return is_judged(rung) and (
        rung.verdict == SHORT or rung.ratio - rung.ratio_error < required_ratio
    )


def by_depth(rungs: Iterable[Rung]) -> list[Rung]:
    """Order rungs: by depth and pressure, those without a number last."""
    return sorted(
        rungs,
        key=lambda rung: (
            not has_number(rung),
            rung.depth if has_number(rung) else 0.0,
            rung.pressure if not math.isnan(rung.pressure) else math.inf,
        ),
    )


def governing(rungs: Iterable[Rung]) -> Rung | None:
    """Give the shallowest rung that some sea reaches."""
    reached = [rung for rung in by_depth(rungs) if rung.reached]
    return reached[0] if reached else None


def overall(rungs: Sequence[Rung], required_ratio: float) -> Verdict:
    """Judge a whole ladder.

    Parameters
    ----------
    rungs : sequence of Rung
        In any order.
    required_ratio : float
        Least ratio of first-failure depth to duty depth.

    Returns
    -------
    Verdict
    """
    judged = [rung for rung in rungs if is_judged(rung)]
    short = [rung for rung in judged if is_short(rung, required_ratio)]
    unconverged = [rung for rung in rungs if is_unconverged(rung)]
    unjudged = [rung for rung in rungs if not has_number(rung)]
    first = governing(rungs)
    word = (
        SHORT
        if short
        else NOT_CONVERGED
        if unconverged
        else NOT_JUDGED
        if not [rung for rung in judged if has_number(rung)]
        else HOLDS
    )
    sentence = " ".join(
        [
            _opening(word, first, required_ratio),
            *_counts(word, len(judged), len(short), unconverged, len(unjudged)),
        ]
    )
    return Verdict(
        word,
        sentence,
        first,
        len(judged),
        len(short),
        len(unconverged),
        len(unjudged),
        required_ratio,
    )


def _opening(word: str, first: Rung | None, required: float) -> str:
    """Say the word and what goes first."""
    start = word.capitalize()
    if word == NOT_JUDGED:
        return f"{start}: no failure mode could be judged."
    if first is None:
        return f"{start}: no mode that has a number is reached in any sea ({DEEPEST:,.0f} m)."
    what = f"{first.part}, {first.mode}{place_words(first, ', at ')}"
    if first.depth <= 0:
        return f"{start}: the temperature change alone brings on the first failure: {what}."
    doubt = ", not converged" if is_unconverged(first) else ""
    return (
        f"{start}: first failure at {depth_words(first)} (ratio {ratio_words(first, required)}, "
        f"required {required:g}{doubt}): {what}."
    )


def _counts(
    word: str, judged: int, short: int, unconverged: Sequence[Rung], unjudged: int
) -> list[str]:
    """Say how many modes stand behind the word."""
    pieces = []
    if word == SHORT:
        pieces.append(f"{short} of {modes(judged)} judged short.")
    elif word == HOLDS:
        pieces.append(f"{modes(judged)} judged.")
    if unconverged:
        why = "the numerical error is too large to judge by"
        pieces.append(f"{modes(len(unconverged))} not converged: {why}.")
    if unjudged and word != NOT_JUDGED:
        pieces.append(f"{modes(unjudged)} not judged.")
    return pieces


def modes(count: int) -> str:
    """Count modes in words."""
    return f"{count} mode" + ("" if count == 1 else "s")


def place_words(rung: Rung, before: str = "") -> str:
    """Say where a rung's first place is; empty for a mode of a whole part."""
    pieces = []
    if math.isfinite(rung.r) and math.isfinite(rung.z):
        pieces.append(f"r = {rung.r:.2f} mm, z = {rung.z:.2f} mm")
    if rung.layer:
        pieces.append(rung.layer)
    if math.isfinite(rung.angle):
        pieces.append(f"{rung.angle:g}\u00b0 ply".replace("-", "\u2212"))
    return before + ", ".join(pieces) if pieces else ""


def depth_words(rung: Rung) -> str:
    """Write a rung's depth, rounded down to the metre."""
    if not has_number(rung):
        return ""
    return f"{math.floor(rung.depth):,} m" if rung.reached else "not reached"


def depth_error(rung: Rung) -> float:
    """Numerical error of a rung's depth, m; NaN where it has none."""
    if rung.depth == 0:
        return 0.0
    if not rung.reached or not rung.ratio > 0:
        return math.nan
    return rung.ratio_error * rung.depth / rung.ratio


def ratio_words(rung: Rung, required: float, plus_minus: str = "\u00b1") -> str:
    """Write a rung's ratio with its error, on its own side of what is required."""
    if not has_number(rung) or not math.isfinite(rung.ratio):
        return ""
    digits = 2
    while digits < 9 and rung.ratio != required and _crosses(rung.ratio, required, digits):
        digits += 1
    text = f"{rung.ratio:.{digits}f}" if rung.ratio else "0"
    if rung.ratio == 0 or rung.ratio_error == 0:  # nothing to add to nought or to a formula
        return text
    if not math.isfinite(rung.ratio_error):
        return f"{text} {plus_minus} unknown"
    step = 10.0**-digits  # no less than the digits shown, rounded up
    error = max(math.ceil(rung.ratio_error / step - 1e-9), 1) * step
    return f"{text} {plus_minus} {error:.{digits}f}"


def _crosses(ratio: float, required: float, digits: int) -> bool:
    shown = float(f"{ratio:.{digits}f}")
    return (shown >= required) != (ratio >= required)
