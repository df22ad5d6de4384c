"""Small charts in SVG that take the page's colours: axes, points, lines, bars.

Formulation
    A chart is a rectangle of data coordinates on a sheet of `WIDTH` by `HEIGHT` pixels. Colours are
    classes that the page defines for light and dark; every mark is said in words to the pointer.
Units
    Sheet pixels.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from html import escape

import numpy as np

from post.sheet import nice

WIDTH, HEIGHT = 440.0, 300.0
LEFT, RIGHT, TOP, BOTTOM = 62.0, 428.0, 14.0, 250.0


def ticks(low: float, high: float, count: int = 5) -> list[float]:
    """Round numbers between two ends."""
    step = nice((high - low) / count)
    first = math.ceil(low / step - 1e-9)
    return [step * i for i in range(first, math.floor(high / step + 1e-9) + 1)]


def number(value: float) -> str:
    """Write a number for a tick."""
    if value == 0 or abs(value) < 1e-12:
        return "0"
    return f"{value:,.10g}" if 1e-4 < abs(value) < 1e7 else f"{value:.3g}"


@dataclass
class Chart:
    """One chart.

    Attributes
    ----------
    x, y : (float, float)
        Ends of the axes.
    across, up : str
        What the axes show.
    x_ticks : sequence of (float, str), optional
        In place of round numbers.
    """

    x: tuple[float, float]
    y: tuple[float, float]
    across: str
    up: str
    x_ticks: Sequence[tuple[float, str]] | None = None
    parts: list[str] = field(default_factory=list)

    def at(self, x: float, y: float) -> tuple[float, float]:
        """Place on the sheet."""
        return (
            LEFT + (RIGHT - LEFT) * (x - self.x[0]) / (self.x[1] - self.x[0]),
            BOTTOM - (BOTTOM - TOP) * (y - self.y[0]) / (self.y[1] - self.y[0]),
        )

    def dot(self, x: float, y: float, words: str = "", look: str = "dot", size: float = 3) -> None:
        """Draw a point."""
        a, b = self.at(x, y)
        title = f"<title>{escape(words)}</title>" if words else ""
        self.parts.append(
            f'<circle cx="{a:.1f}" cy="{b:.1f}" r="{size:g}" class="{look}">{title}</circle>'
        )

    def line(self, points: Iterable[tuple[float, float]], look: str = "curve") -> None:
        """Draw a line through points; one that is not finite breaks it."""
        run: list[str] = []
        for x, y in [*points, (math.nan, math.nan)]:
            if math.isfinite(x) and math.isfinite(y):
                a, b = self.at(x, y)
                run.append(f"{a:.1f},{b:.1f}")
            elif run:
                self.parts.append(f'<polyline points="{" ".join(run)}" class="{look}"/>')
                run = []

    def bar(self, x: float, width: float, y: float, words: str, look: str = "bar") -> None:
        """Draw a bar from zero, or from the axis' lower end."""
        a, b = self.at(x - width / 2, y)
        c, d = self.at(x + width / 2, max(0.0, self.y[0]))
        self.parts.append(
            f'<rect x="{a:.1f}" y="{min(b, d):.1f}" width="{c - a:.1f}" height="{abs(d - b):.1f}" '
            f'class="{look}"><title>{escape(words)}</title></rect>'
        )

    def level(self, y: float, words: str) -> None:
        """Draw a limit across the chart, with its words."""
        if self.y[0] <= y <= self.y[1]:
            self.line([(self.x[0], y), (self.x[1], y)], "limit")
            b = self.at(self.x[0], y)[1]
            self.parts.append(
                f'<text x="{RIGHT}" y="{b - 4:.1f}" class="limit-words">{escape(words)}</text>'
            )

    def upright(self, x: float, words: str) -> None:
        """Draw a limit up the chart, with its words."""
        if self.x[0] <= x <= self.x[1]:
            self.line([(x, self.y[0]), (x, self.y[1])], "limit")
            a = self.at(x, self.y[0])[0]
            near = a > (LEFT + RIGHT) / 2
            self.parts.append(
                f'<text x="{a + (-4 if near else 4):.1f}" y="{TOP + 8}" class="limit-words" '
                f'style="text-anchor:{"end" if near else "start"}">{escape(words)}</text>'
            )

    def svg(self, label: str) -> str:
        """Give the SVG element."""
        lines = []
        own = self.x_ticks is not None
        for x, words in self.x_ticks or [(t, number(t)) for t in ticks(*self.x, 4)]:
            a = self.at(x, self.y[0])[0]
            grid = "" if own else f'<line x1="{a:.1f}" x2="{a:.1f}" y1="{TOP}" y2="{BOTTOM}"/>'
            lines.append(
                f'{grid}<text x="{a:.1f}" y="{BOTTOM + 16}" class="tick">{escape(words)}</text>'
            )
        for y in ticks(*self.y):
            b = self.at(self.x[0], y)[1]
            lines.append(
                f'<line x1="{LEFT}" x2="{RIGHT}" y1="{b:.1f}" y2="{b:.1f}"/>'
                f'<text x="{LEFT - 6}" y="{b + 4:.1f}" class="rung">{number(y)}</text>'
            )
        middle = (TOP + BOTTOM) / 2
        return (
            f'<svg class="chart" viewBox="0 0 {WIDTH:g} {HEIGHT:g}" role="img" '
            f'aria-label="{escape(label)}"><g class="grid">{"".join(lines)}</g>'
            + "".join(self.parts)
            + f'<text x="{(LEFT + RIGHT) / 2}" y="{HEIGHT - 14}" class="axis">'
            f"{escape(self.across)}</text>"
            f'<text transform="translate(12 {middle}) rotate(-90)" class="axis">'
            f"{escape(self.up)}</text></svg>"
        )


def around(values: Iterable[float], room: float = 0.06) -> tuple[float, float]:
    """Give the ends of an axis that holds all finite values, with some room."""
    known = np.array([v for v in values if math.isfinite(v)])
    if not known.size:
        return 0.0, 1.0
    low, high = float(known.min()), float(known.max())
    if low == high:
        pad = abs(low) * 0.05 or 1.0
        return low - pad, high + pad
    return low - room * (high - low), high + room * (high - low)


def rows_chart(
    rows: Sequence[tuple[str, Sequence[tuple[float, float, float, str]]]],
    across: str,
    label: str,
    ends: tuple[float, float],
) -> str:
    """Draw bars that lie, under each name its own, with their intervals.

    Parameters
    ----------
    rows : sequence of (name, bars)
        Bars are (value, low, high, look); low and high may be NaN.
    across, label : str
    ends : (float, float)
        Of the axis; zero lies between them or at one.
    """
    left, lane, gap, line = 14.0, 15.0, 7.0, 16.0

    def place(value: float) -> float:
        return left + (WIDTH - 2 * left) * (value - ends[0]) / (ends[1] - ends[0])

    y, parts = 4.0, []
    for name, bars in rows:
        parts.append(f'<text x="{left}" y="{y + line - 4:.1f}" class="name">{escape(name)}</text>')
        y += line
        for value, low, high, look in bars:
            if math.isfinite(value):
                a, b = sorted((place(0.0), place(min(max(value, ends[0]), ends[1]))))
                words = f"{name}: {value:.3g}"
                words += f", {low:.3g} to {high:.3g}" if math.isfinite(low) else ""
                parts.append(
                    f'<rect x="{a:.1f}" y="{y + 1:.1f}" width="{b - a:.1f}" height="{lane - 3}" '
                    f'class="{look}"><title>{escape(words)}</title></rect>'
                )
                if math.isfinite(low):
                    one, two = (place(min(max(v, ends[0]), ends[1])) for v in (low, high))
                    middle = y + (lane - 1) / 2
                    parts.append(
                        f'<line x1="{one:.1f}" x2="{two:.1f}" y1="{middle:.1f}" y2="{middle:.1f}" '
                        'class="interval"/>'
                    )
            y += lane
        y += gap
    grid = [
        f'<line x1="{place(t):.1f}" x2="{place(t):.1f}" y1="4" y2="{y:.1f}"/>'
        f'<text x="{place(t):.1f}" y="{y + 16:.1f}" class="tick">{number(t)}</text>'
        for t in ticks(*ends)
    ]
    return (
        f'<svg class="chart rows" viewBox="0 0 {WIDTH:g} {y + 40:.0f}" role="img" '
        f'aria-label="{escape(label)}"><g class="grid">{"".join(grid)}</g>{"".join(parts)}'
        f'<text x="{WIDTH / 2}" y="{y + 34:.1f}" class="axis">{escape(across)}</text></svg>'
    )
