"""Pictures of disbonds: the longest that each bond bears, and how one fares as it grows.

Formulation
    Map of a bond: over s, the centre of a buried disbond, its longest length that holds at the
    required depth; beside the open edges that of one from there. The disbonds of the case are
    marks at their own place and length: one above its curve does not hold. No disbond can be
    longer than the dotted roof, which the ends of the bond set.
    Growth of a disbond: energy release rate over its length, at the duty depth, at the required
    depth and at first growth, and the toughness. Where a curve rises above the toughness growth
    runs on; where it falls below, growth stops.
Units
    mm, kJ/m^2 (which is N/mm), sheet points.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from io import BytesIO

import matplotlib
import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from post.colours import FLAW, INK, PAPER, QUIET, SEA
from post.flaw_life import at_pressure
from post.flaw_results import FlawMap, GrowthCurve
from post.sheet import LARGE, NO_STAMP, PLAIN, SMALL, STYLE, WIDTH, blank, text_width

LEFT, RIGHT, TOP, BOTTOM, PANEL = 58.0, 16.0, 66.0, 40.0, 150.0
FACES = {  # face: (colour, dashes, words)
    "wall": ("#7c4fa0", "-", "wall face"),
    "middle": (INK, (0, (1, 1)), "in the adhesive"),
    "ring": ("#3c8d5a", (0, (6, 2)), "ring face"),
}


@dataclass(frozen=True)
class Mark:
    """A disbond of the case on the map of its bond."""

    number: int
    bond: str
    face: str
    start: float
    length: float
    edge: bool


def svg(figure: Figure) -> bytes:
    """Write a figure as the bytes of an SVG file."""
    stream = BytesIO()
    with matplotlib.rc_context(STYLE):
        figure.savefig(stream, format="svg", metadata=NO_STAMP)
    return stream.getvalue()


def plot_map(
    bond: str, length: float, maps: Sequence[FlawMap], marks: Sequence[Mark], words: str
) -> Figure:
    """Plot the longest disbond that holds along one bond.

    Parameters
    ----------
    bond : str
    length : float
        Of the bond, mm.
    maps : sequence of FlawMap
        Of this bond.
    marks : sequence of Mark
        Disbonds of this bond.
    words : str
        What is asked for, such as ``at 4,500 m``.

    Returns
    -------
    Figure
    """
    height = TOP + PANEL + 40 + BOTTOM
    with matplotlib.rc_context(STYLE):
        figure = blank(height)
        ax = _axes(figure, height, PANEL + 40)
        buried = [one for one in maps if one.kind == "buried" and len(one.s)]
        edges = [one for one in maps if one.kind == "edge" and len(one.s)]
        s = np.linspace(0, length, 201)
        ax.plot(
            s, 2 * np.minimum(s, length - s), color=QUIET, lw=0.9, ls=(0, (1, 2)), zorder=2,
            label="as long as the bond lets it be",
        )  # fmt: skip
        if buried:
            grid = np.unique(np.concatenate([one.s for one in buried]))
            worst = np.min([np.interp(grid, one.s, one.longest) for one in buried], axis=0)
            ax.fill_between(grid, 0, worst, color="#dbe9f4", lw=0, zorder=1)
        for one in sorted(buried, key=lambda m: list(FACES).index(m.face)):
            colour, dashes, name = FACES[one.face]
            ax.plot(
                one.s, one.longest, color=colour, ls=dashes, lw=1.7, zorder=4,
                label=f"buried, {name}",
            )  # fmt: skip
        tallest = max([*(float(np.max(m.longest)) for m in maps), *(m.length for m in marks), 1e-3])
        for one in edges:
            colour, _, name = FACES[one.face]
            ax.plot(
                one.s, one.longest, ls="", marker="D", ms=6.5, mfc=PAPER, mec=colour, mew=1.5,
                zorder=6, clip_on=False, label=f"from the edge, {name}",
            )  # fmt: skip
        ax.set_xlim(0, length)
        ax.set_ylim(0, 1.16 * tallest)
        _marks(ax, marks, length)
        ax.set_xlabel("s, mm")
        ax.set_ylabel("Longest disbond, mm")
        title = f"{bond.capitalize()} bond: longest disbond that holds {words}"
        _title(figure, height, title)
        if marks:
            ax.plot([], [], "o", ms=8, mfc=FLAW, mec=PAPER, label="disbonds of the case")
        _legend(figure, ax, height)
    return figure


def _marks(ax: Axes, marks: Sequence[Mark], length: float) -> None:
    """Mark the disbonds of the case, each with its number; one off the other to its side."""
    for mark in marks:
        x = mark.start + mark.length / 2
        if mark.edge:
            x = 0.0 if mark.start <= 1e-6 * length else length
        # beside the edge, so that what is tolerable there stays in sight
        off = 0.0 if not mark.edge else 13.0 if x == 0 else -13.0
        ax.annotate(
            f"{mark.number}", (x, mark.length), (off, 0), textcoords="offset points", color=PAPER,
            size=SMALL, weight="bold", ha="center", va="center_baseline", zorder=9,
            annotation_clip=False,
            bbox={"boxstyle": "circle,pad=0.28", "fc": FLAW, "ec": PAPER, "lw": 1.0},
            arrowprops={"arrowstyle": "-", "color": FLAW, "lw": 1.2, "shrinkA": 0, "shrinkB": 0}
            if off
            else None,
        )  # fmt: skip


@dataclass(frozen=True)
class Line:
    """One curve of the growth picture: a pressure, and what it is called."""

    pressure: float
    words: str
    colour: str
    dashes: str | tuple[int, tuple[int, ...]]


def growth_lines(
    duty: float, required: float, first: float, depth_words: dict[float, str]
) -> list[Line]:
    """List the curves: at duty, at the required depth, and at first growth where some sea does it.

    Parameters
    ----------
    duty, required, first : float
        Pressures, MPa; `first` is not finite where there is none.
    depth_words : dict
        Depth in words by pressure.
    """
    lines = [
        Line(duty, f"duty, {depth_words[duty]}", INK, "-"),
        Line(required, f"required, {depth_words[required]}", SEA, (0, (6, 2))),
    ]
    if math.isfinite(first) and first > 0:
        lines.append(
            Line(first, f"first growth, {depth_words[first]}", "#c8641a", (0, (3, 1, 1, 1)))
        )
    return lines


def plot_growth(
    title: str, curve: GrowthCurve, lines: Sequence[Line], threshold: float, tolerable: float
) -> Figure:
    """Plot the energy release rate of a disbond along its growth.

    Parameters
    ----------
    title : str
    curve : GrowthCurve
        At the pressures of the lines, among others.
    lines : sequence of Line
        The first is that of the duty.
    threshold : float
        Of growth per dive, N/mm; NaN where not known.
    tolerable : float
        Length up to which it holds at the required depth, mm; marked where it is on the axis.

    Returns
    -------
    Figure
    """
    height = TOP + PANEL + BOTTOM
    with matplotlib.rc_context(STYLE):
        figure = blank(height)
        ax = _axes(figure, height, PANEL)
        shown = []
        for line in lines:
            G = at_pressure(curve, curve.G, line.pressure)
            shown.append(G)
            ax.plot(
                curve.lengths, G, color=line.colour, ls=line.dashes, lw=1.8, zorder=4,
                label=line.words,
            )  # fmt: skip
        limit = at_pressure(curve, curve.limit, lines[0].pressure)
        if np.isfinite(limit).any():
            ax.plot(
                curve.lengths, limit, color=FLAW, lw=1.6, zorder=3, label="toughness Gc at duty"
            )
            shown.append(limit)
        if math.isfinite(threshold):
            ax.axhline(
                threshold, color=QUIET, lw=1.0, ls=(0, (1, 2)), zorder=2,
                label="threshold (range of a dive)",
            )  # fmt: skip
        start, stop = float(curve.lengths[0]), float(curve.lengths[-1])
        ax.set_xlim(start, stop)
        ax.set_ylim(0, _top(shown, threshold))
        if start < tolerable < stop:
            ax.axvline(tolerable, color=SEA, lw=0.9, zorder=2)
            right = tolerable < (start + stop) / 2
            ax.annotate(
                f"tolerable {tolerable:.3g} mm", (tolerable, 0.95), (4 if right else -4, 0),
                xycoords=("data", "axes fraction"), textcoords="offset points", size=SMALL,
                ha="left" if right else "right", va="top", color=SEA, zorder=7,
                bbox={"fc": PAPER, "ec": "none", "pad": 1.0, "alpha": 0.85},
            )  # fmt: skip
        ax.set_xlabel("length of the disbond, mm")
        ax.set_ylabel("G, kJ/m\u00b2")
        _title(figure, height, title)
        _legend(figure, ax, height)
    return figure


def _top(shown: Sequence[np.ndarray], threshold: float) -> float:
    """Upper end of the axis: all of the toughness and of duty, at most three times beyond."""
    peaks = [float(np.nanmax(values)) for values in shown if np.isfinite(values).any()]
    base = max([peaks[0], *(peaks[-1:]), threshold if math.isfinite(threshold) else 0.0, 1e-9])
    return 1.12 * min(max(peaks), 3 * base)


def _axes(figure: Figure, height: float, panel: float) -> Axes:
    ax = figure.add_axes(
        (LEFT / WIDTH, BOTTOM / height, (WIDTH - LEFT - RIGHT) / WIDTH, panel / height)
    )
    ax.tick_params(labelsize=PLAIN, length=3, width=0.6)
    return ax


def _title(figure: Figure, height: float, words: str) -> None:
    figure.text(8 / WIDTH, 1 - 6 / height, words, va="top", size=LARGE, weight="bold")


def _legend(figure: Figure, ax: Axes, height: float) -> None:
    """Set the legend below the title, in as many columns as the sheet is wide."""
    lines, words = ax.get_legend_handles_labels()
    widest = max(text_width(one, SMALL) for one in words) + 36
    figure.legend(
        lines, words, loc="upper left", bbox_to_anchor=(50 / WIDTH, 1 - 20 / height),
        ncols=max(1, min(len(words), int((WIDTH - 60) / widest))), frameon=False, fontsize=SMALL,
        handlelength=2.4, columnspacing=1.3,
    )  # fmt: skip
