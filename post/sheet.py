"""A sheet to draw a section on: equal axes, z right, r up, and room in points around it.

Problem
    Dimensions and words keep their size whatever the size of the hull, so every place on the
    sheet is a place of the section plus an offset in points.
Formulation
    A view maps a window of the section to the sheet at one scale, `mm` millimetres to the point;
    the axes cover the whole sheet, so an offset of n points is n * mm in drawing coordinates.
Units
    Window mm, sheet points (1/72 in).
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from pathlib import Path as FilePath
from typing import Any

import matplotlib
import numpy as np
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from matplotlib.font_manager import FontProperties
from matplotlib.patheffects import withStroke
from matplotlib.text import Text
from matplotlib.textpath import TextPath
from scipy.optimize import isotonic_regression

from post.colours import INK, PAPER, QUIET
from post.outline import Window

WIDTH = 560.0  # points, of every drawing and figure
SMALL, PLAIN, LARGE = 8.0, 8.5, 10.0  # type sizes, points
TITLE = 24.0  # room for a title, points
STYLE: Any = {
    "font.family": "DejaVu Sans",  # comes with the plotting library, the same everywhere
    "font.size": PLAIN,
    "text.color": INK,
    "axes.edgecolor": QUIET,
    "axes.labelcolor": INK,
    "axes.titlesize": LARGE,
    "axes.titleweight": "bold",
    "axes.titlelocation": "left",
    "axes.spines.top": False,
    "axes.spines.right": False,
    "axes.linewidth": 0.7,
    "axes.grid": True,
    "grid.color": "#e3e6e8",
    "grid.linewidth": 0.6,
    "xtick.color": QUIET,
    "ytick.color": QUIET,
    "lines.linewidth": 1.5,
    "hatch.linewidth": 0.35,
    "figure.facecolor": PAPER,
    "svg.fonttype": "path",  # words as outlines: no font of the reader's can cut or shift them
    "svg.hashsalt": "hullring",  # the same picture is the same file
}
HALO = [withStroke(linewidth=2.5, foreground=PAPER)]
PNG_DPI = 150
NO_STAMP: dict[str, Any] = {"Date": None, "Creator": None, "Format": None, "Type": None}


@dataclass(frozen=True)
class View:
    """A window of the section with margins of the sheet around it.

    Attributes
    ----------
    window : (z from, z to, r from, r to)
        mm.
    left, right, bottom, top : float
        Least margins, points.
    tallest, lowest : float
        Bounds of the window's height on the sheet, points.
    """

    window: Window
    left: float
    right: float
    bottom: float
    top: float
    tallest: float = 300.0
    lowest: float = 40.0

    @property
    def mm(self) -> float:
        """Millimetres to the point."""
        z0, z1, r0, r1 = self.window
        return max((z1 - z0) / (WIDTH - self.left - self.right), (r1 - r0) / self.tallest)

    @property
    def height(self) -> float:
        """Height on the sheet with margins, points."""
        r0, r1 = self.window[2:]
        return self.bottom + self.top + max(self.lowest, (r1 - r0) / self.mm)

    def place(self, figure: Figure, above: float) -> Axes:
        """Add the view to a figure with its lower edge `above` points from the bottom."""
        z0, z1, r0, r1 = self.window
        mm, height = self.mm, self.height
        total = figure.get_figheight() * 72
        ax = figure.add_axes((0, above / total, 1, height / total))
        ax.set_axis_off()
        # what the least margins leave over is shared by both sides
        spare_z = WIDTH * mm - (z1 - z0) - (self.left + self.right) * mm
        spare_r = height * mm - (r1 - r0) - (self.bottom + self.top) * mm
        ax.set_xlim(z0 - self.left * mm - spare_z / 2, z1 + self.right * mm + spare_z / 2)
        ax.set_ylim(r0 - self.bottom * mm - spare_r / 2, r1 + self.top * mm + spare_r / 2)
        return ax


@dataclass(frozen=True)
class Shown:
    """A figure of the report: its file, what it is, and what it shows in words."""

    file: str
    group: str
    title: str
    caption: str


def blank(height: float) -> Figure:
    """Make an empty sheet of the common width, height in points."""
    figure = Figure(figsize=(WIDTH / 72, height / 72))
    FigureCanvasAgg(figure)
    return figure


def write(figure: Figure, path: FilePath) -> None:
    """Write a figure as SVG or PNG, by the path's suffix."""
    with matplotlib.rc_context(STYLE):
        if path.suffix == ".svg":
            figure.savefig(path, metadata=NO_STAMP)
        else:
            figure.savefig(path, dpi=PNG_DPI, metadata={"Software": None})


def text_boxes(figure: Figure) -> list[tuple[str, tuple[float, float, float, float]]]:
    """Words of a figure with their boxes (left, bottom, right, top) in points."""
    figure.draw_without_rendering()
    renderer = figure.canvas.get_renderer()  # type: ignore[attr-defined]
    scale = 72 / figure.dpi
    unseen = set()  # labels of ticks beyond the axes are made but not drawn
    for ax in figure.axes:
        for axis in (ax.xaxis, ax.yaxis):
            low, high = sorted(axis.get_view_interval())
            for tick in axis.get_major_ticks():
                if not low <= tick.get_loc() <= high or not axis.get_visible() or not ax.axison:
                    unseen |= {tick.label1, tick.label2}
    boxes = []
    for artist in figure.findobj(Text):
        if not isinstance(artist, Text) or artist in unseen:
            continue
        if artist.get_text().strip() and artist.get_visible():
            box = artist.get_window_extent(renderer)
            boxes.append((artist.get_text(), tuple(float(x) * scale for x in box.extents)))
    return boxes  # type: ignore[return-value]


@cache
def text_width(words: str, size: float = PLAIN) -> float:
    """Width of the longest line of words, points."""
    face = FontProperties(family=STYLE["font.family"])
    lines = [line for line in words.split("\n") if line.strip()]
    return max(float(TextPath((0, 0), line, size, prop=face).get_extents().width) for line in lines)


def spread(wanted: list[float], sizes: list[float], low: float, high: float) -> list[float]:
    """Centres nearest to the wanted ones, in the mean square, that keep things apart in order.

    Isotonic regression of what is left of each centre once those before it are packed.

    Parameters
    ----------
    wanted : list of float
        Ascending.
    sizes : list of float
        Along the line, gaps included.
    low, high : float
        Where the first may begin and the last must end.
    """
    if not wanted:
        return []
    before = np.cumsum(sizes) - np.array(sizes) / 2  # centres when packed from nought
    moved = isotonic_regression(np.array(wanted) - before).x
    return [float(x) for x in np.clip(moved, low, max(high - sum(sizes), low)) + before]


def arrow(
    ax: Axes,
    foot: tuple[float, float],
    tip: tuple[float, float],
    colour: str,
    both: bool | None = False,
) -> None:
    """Draw a thin arrow; with a head at both ends, or at neither when `both` is None."""
    heads = "-" if both is None else "<|-|>" if both else "-|>"
    size = "" if both is None else ",head_width=1.9,head_length=5.5"
    ax.annotate(
        "",
        tip,
        foot,
        arrowprops={
            "arrowstyle": heads + size,
            "mutation_scale": 1.0,
            "color": colour,
            "lw": 0.75,
            "shrinkA": 0,
            "shrinkB": 0,
        },
        zorder=7,
    )


def dimension(
    ax: Axes,
    start: tuple[float, float],
    end: tuple[float, float],
    offset: float,
    words: str,
    mm: float,
) -> None:
    """Draw a dimension parallel to an axis, `offset` points off the two places it measures.

    A horizontal dimension lies above the places for positive offsets, a vertical one to their
    right; its words stand clear of the line on the far side.
    """
    flat = abs(start[1] - end[1]) < abs(start[0] - end[0]) or start[1] == end[1]
    way = np.sign(offset)
    axis = 1 if flat else 0
    level = (max if offset > 0 else min)(start[axis], end[axis]) + offset * mm
    ends = []
    for place in (start, end):
        foot, head, tip = list(place), list(place), list(place)
        foot[axis] += 3 * way * mm
        head[axis] = level + 3 * way * mm
        tip[axis] = level
        ax.plot(*zip(foot, head, strict=True), color=QUIET, lw=0.5, zorder=6)
        ends.append(tip)
    length = abs(ends[1][1 - axis] - ends[0][1 - axis]) / mm
    inside = length > 16
    arrow(
        ax, (ends[0][0], ends[0][1]), (ends[1][0], ends[1][1]), INK, both=True if inside else None
    )
    middle = [(ends[0][i] + ends[1][i]) / 2 for i in (0, 1)]
    middle[axis] = level + 4 * way * mm
    ax.text(
        middle[0],
        middle[1],
        words,
        ha="center" if flat else "left" if way > 0 else "right",
        va="center" if not flat else "bottom" if way > 0 else "top",
        size=PLAIN,
        zorder=9,
        bbox={"fc": PAPER, "ec": "none", "pad": 1.0},  # a leader may run behind the words
    )


def nice(value: float, steps: tuple[float, ...] = (1.0, 2.0, 5.0, 10.0)) -> float:
    """Round a positive number down to 1, 2 or 5 times a power of ten."""
    power = 10.0 ** np.floor(np.log10(value))
    return float(max(step for step in steps if step * power <= value * (1 + 1e-12)) * power)
