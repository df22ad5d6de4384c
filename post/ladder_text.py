"""The depth ladder for the terminal."""

from __future__ import annotations

import math
import textwrap
from collections.abc import Sequence

from post.ladder import DEEPEST, Rung
from post.verdict import (
    by_depth,
    depth_error,
    depth_words,
    has_number,
    is_unconverged,
    modes,
    overall,
    place_words,
    ratio_words,
)

WIDE = 100  # characters


def ladder_text(rungs: Sequence[Rung], required_ratio: float, shown: int = 8) -> str:
    """Lay out a ladder as text: verdict on top, then the shallowest rungs.

    Parameters
    ----------
    rungs : sequence of Rung
        In any order.
    required_ratio : float
    shown : int
        How many rungs at most.

    Returns
    -------
    str
        Empty without rungs.
    """
    if not rungs:
        return ""
    numbered = [rung for rung in by_depth(rungs) if has_number(rung)]
    rows = [("depth", "ratio", "verdict", "what, where")]
    rows += [_row(rung, required_ratio) for rung in numbered[:shown]]
    widths = [max(len(row[i]) for row in rows) for i in range(3)]
    sentence = overall(rungs, required_ratio).sentence
    for shown_so, plain in (("\u00b1", "+-"), ("\u2212", "-"), (" = ", "\0=\0"), (" mm", "\0mm")):
        sentence = sentence.replace(shown_so, plain)  # a quantity stays on one line
    lines = [line.replace("\0", " ") for line in textwrap.wrap(sentence, WIDE)]
    if numbered:
        lines.append("")
    for row in rows if numbered else []:
        cells = [row[0].rjust(widths[0]), row[1].ljust(widths[1]), row[2].ljust(widths[2]), row[3]]
        lines.append("  ".join(cells).rstrip())
    if len(numbered) > shown:
        lines.append(f"... and {modes(len(numbered) - shown)} further down the ladder")
    for rung in by_depth(rungs):
        if not has_number(rung):
            lines += textwrap.wrap(
                f"not judged: {rung.part}, {rung.mode}: {rung.why}", WIDE, subsequent_indent="  "
            )
    return "\n".join(lines)


def _row(rung: Rung, required: float) -> tuple[str, str, str, str]:
    error = depth_error(rung)
    depth = depth_words(rung) if rung.reached else f"below {DEEPEST:,.0f} m"
    if rung.depth <= 0:
        depth = "0 m, temperature alone"
    elif math.isfinite(error) and error > 0:
        depth += f" +- {max(math.ceil(error - 1e-9), 1):,} m"
    verdict = "not converged" if is_unconverged(rung) else rung.verdict
    place = place_words(rung).replace("\u2212", "-")
    what = f"{rung.part}: {rung.mode}" + (f" ({place})" if place else "")
    return depth, ratio_words(rung, required, "+-"), verdict, what
