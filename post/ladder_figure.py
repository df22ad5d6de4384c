"""The depth ladder as a picture: modes as marks on a depth axis that grows downwards.

Formulation
    Every mode that some sea reaches is a mark at its first-failure depth with its numerical error
    as a bar, and a line of words beside the axis. Lines keep the order of the depths; their
    heights are those nearest to the marks, in the mean square, that keep them apart (isotonic
    regression), and a leader joins each to its mark. The duty depth and the required depth are
    lines of the same list, so what stands above them and what below reads off at once.
    The axis ends at four times the required depth; what lies deeper is marked at its end.
Units
    Depth m, sheet points (1/72 in).
"""

from __future__ import annotations

import math
import textwrap
from collections.abc import Sequence
from dataclasses import dataclass, replace
from io import BytesIO
from pathlib import Path

import matplotlib
import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from post.colours import INK, PAPER, QUIET, SEA
from post.ladder import DEEPEST, Rung
from post.sheet import (
    LARGE,
    NO_STAMP,
    PLAIN,
    SMALL,
    STYLE,
    WIDTH,
    blank,
    nice,
    spread,
    text_width,
    write,
)
from post.verdict import (
    by_depth,
    depth_error,
    depth_words,
    governing,
    has_number,
    is_judged,
    is_short,
    is_unconverged,
    ratio_words,
)

MARK = {  # how it stands: (shape, colour, filled, words)
    "short": ("v", "#c8641a", True, "short"),
    "holds": ("o", SEA, True, "holds"),
    "not converged": ("s", QUIET, False, "not converged, so not judged"),
}
BAND = "#f6ead9"  # between duty and required depth
FIRST = "#f1f3f5"  # behind the words of the governing rung
AXIS, LANE, WORDS, DEPTH, RATIO = 52.0, 11.0, 168.0, 452.0, 552.0  # places across the sheet
LANES = 6
ROW, GAP = 11.0, 3.5  # a line of words, and the room between two entries
TOP, KEY = 44.0, 20.0
SHALLOWEST_PICTURE = 300.0  # least height of the axis
FARTHEST = 4.0  # required depths that the axis shows


@dataclass(frozen=True)
class Entry:
    """A line of words beside the axis.

    Attributes
    ----------
    depth : float
        m, as drawn.
    words : str
        What, wrapped.
    depth_words, ratio_words : str
    colour : str
    rung : Rung or None
        None for the duty and the required depth.
    across : float
        Where its mark is.
    """

    depth: float
    words: str
    depth_words: str
    ratio_words: str
    colour: str
    rung: Rung | None
    across: float = AXIS

    @property
    def size(self) -> float:
        """Height, points."""
        return ROW * (self.words.count("\n") + 1) + GAP


def draw_ladder(
    rungs: Sequence[Rung], duty_depth: float, required_ratio: float, path: Path
) -> None:
    """Draw a ladder into a file, SVG or PNG by its suffix; parameters as of `plot_ladder`."""
    write(plot_ladder(rungs, duty_depth, required_ratio), path)


def ladder_svg(rungs: Sequence[Rung], duty_depth: float, required_ratio: float) -> bytes:
    """Draw a ladder as the bytes of an SVG file; parameters as of `plot_ladder`."""
    stream = BytesIO()
    with matplotlib.rc_context(STYLE):
        figure = plot_ladder(rungs, duty_depth, required_ratio)
        figure.savefig(stream, format="svg", metadata=NO_STAMP)
    return stream.getvalue()


def plot_ladder(rungs: Sequence[Rung], duty_depth: float, required_ratio: float) -> Figure:
    """Plot a ladder.

    Parameters
    ----------
    rungs : sequence of Rung
        In any order.
    duty_depth : float
        m.
    required_ratio : float
        Required depth over duty depth.

    Returns
    -------
    Figure
    """
    required = duty_depth * required_ratio
    entries, bottom = _entries(rungs, duty_depth, required_ratio)
    room = sum(entry.size for entry in entries)
    axis = max(SHALLOWEST_PICTURE, room)
    notes = _notes(rungs)
    height = TOP + axis + 16 + sum(ROW * len(lines) + 6 for _, lines in notes) + KEY + 8
    scale = axis / bottom  # points to the metre
    with matplotlib.rc_context(STYLE):
        figure = blank(height)
        ax = figure.add_axes((0, 0, 1, 1))
        ax.set_axis_off()
        ax.set_xlim(0, WIDTH)
        ax.set_ylim(height, 0)
        ax.text(8, 8, "Depth ladder", va="top", size=LARGE, weight="bold")
        _heads(ax)
        _axis(ax, bottom, scale, duty_depth, required)
        entries = _in_lanes(entries, scale)
        heights = spread(
            [TOP + entry.depth * scale for entry in entries],
            [entry.size for entry in entries],
            TOP - 4,
            TOP + axis + 8,
        )
        first = governing(rungs)
        for entry, y in zip(entries, heights, strict=True):
            _draw(ax, entry, y, TOP + entry.depth * scale, scale, entry.rung is first, bottom)
        y = TOP + axis + 22
        for head, lines in notes:
            ax.text(8, y, head, va="top", size=SMALL, weight="bold")
            ax.text(WORDS, y, "\n".join(lines), va="top", size=SMALL, linespacing=1.25)
            y += ROW * len(lines) + 6
        _key(ax, height - KEY / 2 - 4, [entry.rung for entry in entries if entry.rung])
    return figure


def standing(rung: Rung, required_ratio: float) -> str:
    """Say how a rung that has a number stands: ``short``, ``holds`` or ``not converged``."""
    if is_unconverged(rung):
        return "not converged"
    return "short" if is_short(rung, required_ratio) else "holds"


def _entries(
    rungs: Sequence[Rung], duty: float, required_ratio: float
) -> tuple[list[Entry], float]:
    """Lines of words by depth, and the depth at which the axis ends."""
    required = duty * required_ratio
    reached = [rung for rung in by_depth(rungs) if rung.reached]
    deepest = max([rung.depth + _bar(rung) for rung in reached], default=0.0)
    bottom = min(max(1.12 * required, 1.04 * deepest), FARTHEST * required)
    entries = [
        Entry(
            min(rung.depth, bottom),
            _wrapped(f"{rung.part}: {rung.mode}", DEPTH - WORDS - 88, PLAIN),
            depth_with_error(rung),
            ratio_words(rung, required_ratio),
            MARK[standing(rung, required_ratio)][1],
            rung,
        )
        for rung in reached
    ]
    entries += [
        Entry(duty, "duty depth", f"{duty:,.0f} m", "1", INK, None),
        Entry(required, "required depth", f"{required:,.0f} m", f"{required_ratio:g}", INK, None),
    ]
    return sorted(entries, key=lambda entry: entry.depth), bottom


def depth_with_error(rung: Rung) -> str:
    """Write a rung's depth with its numerical error; empty where it has none."""
    if not rung.reached:
        return depth_words(rung)
    if rung.depth <= 0:
        return "0 m, temperature alone"
    if depth_error(rung) == 0:  # a formula's
        return depth_words(rung)
    return f"{depth_words(rung)} \u00b1 {_error_words(rung)}"


def _error_words(rung: Rung) -> str:
    error = depth_error(rung)
    return f"{max(math.ceil(error - 1e-9), 1):,} m" if math.isfinite(error) else "unknown"


def _bar(rung: Rung) -> float:
    """Half the length of the error bar, m; none where the error is not known."""
    error = depth_error(rung)
    return error if math.isfinite(error) else 0.0


def _wrapped(words: str, width: float, size: float) -> str:
    """Break words into lines of at most a width."""
    longest = width / (text_width("e" * 50, size) / 50)
    lines = [words]
    while max(text_width(line, size) for line in lines) > width and longest > 8:
        lines = textwrap.wrap(words, int(longest))
        longest -= 1
    return "\n".join(lines)


def _in_lanes(entries: list[Entry], scale: float) -> list[Entry]:
    """Set marks that would lie on each other side by side."""
    ends = [-math.inf] * LANES
    placed = []
    for entry in entries:
        if entry.rung is not None:
            y, bar = entry.depth * scale, max(_bar(entry.rung) * scale, 5.0)
            free = [lane for lane in range(LANES) if ends[lane] + 1 <= y - bar]
            lane = free[0] if free else int(np.argmin(ends))
            ends[lane] = y + bar
            entry = replace(entry, across=AXIS + LANE * (lane + 1))
        placed.append(entry)
    return placed


def _heads(ax: Axes) -> None:
    for x, side, words in (
        (AXIS, "right", "depth, m"),
        (WORDS, "left", "what fails"),
        (DEPTH, "right", "first reached at"),
        (RATIO, "right", "ratio to duty"),
    ):
        ax.text(x, TOP - 12, words, ha=side, va="bottom", size=SMALL, color=QUIET)


def _axis(ax: Axes, bottom: float, scale: float, duty: float, required: float) -> None:
    """Draw the axis, the surface of the sea, and the zone between duty and required depth."""
    edge = AXIS + LANE * (LANES + 1) - 2
    ax.fill_between([AXIS, edge], TOP + duty * scale, TOP + required * scale, color=BAND, lw=0)
    for depth in (duty, required):
        ax.plot([AXIS, edge], [TOP + depth * scale] * 2, color=INK, lw=1.1, ls="-", zorder=3)
    ax.plot([AXIS, edge], [TOP, TOP], color=SEA, lw=2.0, zorder=3)
    ax.plot([AXIS, AXIS], [TOP, TOP + bottom * scale], color=QUIET, lw=0.9, zorder=3)
    ax.text(edge, TOP - 4, "surface", ha="right", va="bottom", size=SMALL, color=SEA)
    step = nice(bottom / 4)
    for depth in np.arange(0, bottom * (1 + 1e-9), step):
        y = TOP + depth * scale
        ax.plot([AXIS - 4, AXIS], [y, y], color=QUIET, lw=0.7)
        ax.text(AXIS - 7, y, f"{depth:,.0f}", ha="right", va="center", size=SMALL, color=QUIET)


def _draw(
    ax: Axes, entry: Entry, y: float, at: float, scale: float, first: bool, bottom: float
) -> None:
    """Draw one line of words with its leader and its mark."""
    edge = AXIS + LANE * (LANES + 1) - 2
    colour = entry.colour
    weight = "bold" if first or entry.rung is None else "normal"
    start = edge if entry.rung is None else entry.across + 5
    width = 0.9 if weight == "bold" else 0.5
    leader = [start, edge, WORDS - 12, WORDS - 4]
    ax.plot(leader, [at, at, y, y], color=colour, lw=width, zorder=2)
    if first:
        ax.fill_between(
            [WORDS - 3, RATIO + 4], y - entry.size / 2 + 0.5, y + entry.size / 2 - 0.5, color=FIRST,
            lw=0, zorder=0,
        )  # fmt: skip
    if entry.rung is None:
        ax.plot([WORDS - 3, RATIO + 4], [y + ROW / 2 + 1] * 2, color=INK, lw=0.6, zorder=1)
    for x, side, words in (
        (WORDS, "left", entry.words),
        (DEPTH, "right", entry.depth_words),
        (RATIO, "right", entry.ratio_words),
    ):
        ax.text(
            x, y, words, ha=side, va="center_baseline", size=PLAIN, weight=weight, linespacing=1.1,
            zorder=5,
        )  # fmt: skip
    if entry.rung is not None:
        _mark(
            ax, entry.across, at, _bar(entry.rung) * scale, colour, first, entry.rung.depth > bottom
        )


def _mark(ax: Axes, x: float, y: float, bar: float, colour: str, first: bool, beyond: bool) -> None:
    """Draw a mark with its error bar; an arrow on where it lies deeper than the axis shows."""
    shape, _, filled, _ = next(mark for mark in MARK.values() if mark[1] == colour)
    if beyond:
        ax.annotate(
            "", (x, y + 11), (x, y),
            arrowprops={"arrowstyle": "-|>", "color": colour, "lw": 0.8, "mutation_scale": 6},
        )  # fmt: skip
    elif bar > 0:
        for line in ([y - bar, y + bar], [y - bar] * 2, [y + bar] * 2):
            across = [x, x] if line[0] != line[1] else [x - 2.5, x + 2.5]
            ax.plot(across, line, color=colour, lw=0.9, zorder=5)
    ax.plot(
        x, y, marker=shape, ms=8.5 if first else 6, color=colour, ls="", zorder=6,
        mfc=colour if filled else PAPER, mec=INK if first else colour, mew=1.3 if first else 0.9,
    )  # fmt: skip


def _notes(rungs: Sequence[Rung]) -> list[tuple[str, list[str]]]:
    """List below the axis what no sea reaches, and what is not judged, with why."""
    beyond = [
        f"{rung.part}: {rung.mode}"
        + (" (not converged)" if is_unconverged(rung) else "")
        + ("" if is_judged(rung) or is_unconverged(rung) else f": {rung.why}")
        for rung in by_depth(rungs)
        if has_number(rung) and not rung.reached
    ]
    unjudged = [f"{r.part}: {r.mode}: {r.why}" for r in by_depth(rungs) if not has_number(r)]
    width = WIDTH - WORDS - 10
    notes = []
    if beyond:
        lines = _wrapped("; ".join(beyond), width, SMALL).split("\n")
        notes.append(
            (f"Not reached in any sea\n({DEEPEST:,.0f} m)", [*lines, *[""] * (2 - len(lines))])
        )
    if unjudged:
        lines = [line for words in unjudged for line in _wrapped(words, width, SMALL).split("\n")]
        notes.append(("Not judged", lines))
    return notes


def _key(ax: Axes, y: float, rungs: Sequence[Rung]) -> None:
    """Say what the marks mean."""
    x = 12.0
    for shape, colour, filled, words in MARK.values():
        ax.plot(x, y, marker=shape, ms=6, color=colour, mfc=colour if filled else PAPER, ls="")
        ax.text(x + 7, y, words, va="center", size=SMALL, color=QUIET)
        x += 7 + text_width(words, SMALL) + 16
    if rungs:
        words = "bars and \u00b1: numerical error; shaded: from duty to required"
        ax.text(WIDTH - 8, y, words, ha="right", va="center", size=SMALL, color=QUIET)
