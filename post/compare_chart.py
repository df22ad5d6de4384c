"""Pictures of a comparison: all ladders on one axis, and the bondlines laid over each other.

Formulation
    A case has one colour, one mark and one dash in every picture, so that neither print nor an eye
    without colours loses it. Colours are those of the page, for light and dark.
Units
    Depth m, s mm, stress MPa; sheet pixels.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from html import escape

import numpy as np
import pandas as pd

from post.compare import Compared
from post.curves import WORDS
from post.ladder_figure import depth_with_error
from post.sheet import nice
from post.study.svg import LEFT, RIGHT, Chart, around
from post.verdict import by_depth, depth_error

COLOURS = (
    "--load-pressure",
    "--load-temperature",
    "--third",
    "--fourth",
    "--fifth",
    "--sixth",
)
DASHES = ("none", "7 3", "2 3", "9 3 2 3", "12 4", "4 2 1 2")
MOST_ROWS = 40
STATIC = ("peel", "shear")


def mark(i: int, x: float, y: float, size: float = 5.0) -> str:
    """Draw the mark of a case: ring, square, diamond, triangle, cross, bar."""
    a = size
    shapes = (
        f"M{x - a:.1f} {y:.1f}a{a} {a} 0 1 0 {2 * a} 0a{a} {a} 0 1 0 {-2 * a} 0z",
        f"M{x - a:.1f} {y - a:.1f}h{2 * a}v{2 * a}h{-2 * a}z",
        f"M{x:.1f} {y - 1.3 * a:.1f}l{1.3 * a} {1.3 * a}l{-1.3 * a} {1.3 * a}l{-1.3 * a} "
        f"{-1.3 * a}z",
        f"M{x:.1f} {y - 1.2 * a:.1f}l{1.2 * a} {2.1 * a}h{-2.4 * a}z",
        f"M{x - a:.1f} {y - a:.1f}l{2 * a} {2 * a}m0 {-2 * a}l{-2 * a} {2 * a}",
        f"M{x:.1f} {y - 1.3 * a:.1f}v{2.6 * a}m{-0.7 * a} 0h{1.4 * a}",
    )
    colour = f"var({COLOURS[i]})"
    fill = colour if i in (1, 2, 3) else "none"
    return f'<path d="{shapes[i]}" style="stroke:{colour};stroke-width:2;fill:{fill}"/>'


def legend(i: int) -> str:
    """Draw a case's mark and dash, to stand before its name."""
    line = (
        f'<line x1="0" x2="26" y1="7" y2="7" stroke-dasharray="{DASHES[i]}" '
        f'style="stroke:var({COLOURS[i]});stroke-width:2"/>'
    )
    return (
        '<svg class="key" viewBox="0 0 42 14" width="42" height="14" aria-hidden="true">'
        f"{line}{mark(i, 35, 7, 4.5)}</svg>"
    )


def ladders_chart(cases: Sequence[Compared]) -> str:
    """Draw every mode that some sea reaches in some case: a row a mode, a mark a case.

    Returns
    -------
    str
        An SVG element; empty where no case has any.
    """
    rows: dict[str, list[tuple[int, float, float, str]]] = {}
    for i, one in enumerate(cases):
        for rung in by_depth(one.rungs):
            if rung.reached:
                name = f"{rung.part}: {rung.mode.partition(':')[0]}"
                error = depth_error(rung)
                words = f"{one.name}, {rung.part}: {rung.mode}, {depth_with_error(rung)}"
                rows.setdefault(name, []).append((i, rung.depth, error, words))
    if not rows:
        return ""
    order = sorted(rows, key=lambda name: min(depth for _, depth, *_ in rows[name]))
    left, right, top, row = 250.0, 960.0, 30.0 + 17.0 * len(cases), 22.0
    shown = order[:MOST_ROWS]
    most = max(
        [depth for name in shown for _, depth, *_ in rows[name]]
        + [one.required_ratio * one.duty_depth for one in cases]
    )
    end = 1.03 * most
    bottom = top + row * len(shown)

    def across(depth: float) -> float:
        return left + (right - left) * min(max(depth, 0.0), end) / end

    step = nice(end / 6)
    parts = []
    for k in range(int(end / step) + 1):
        x = across(step * k)
        parts.append(
            f'<line x1="{x:.1f}" x2="{x:.1f}" y1="{top}" y2="{bottom}" style="stroke:var(--line)"/>'
            + _words(x, bottom + 16, f"{step * k:,.0f}", "middle")
        )
    more = len(order) - len(shown)
    left_out = f"; {more} more modes lie deeper, in the reports" if more else ""
    parts.append(_words(left, bottom + 36, f"Depth, m{left_out}", "start"))
    for i, one in enumerate(cases):
        y, colour = 18.0 + 17.0 * i, f"var({COLOURS[i]})"
        a, b = across(one.duty_depth), across(one.required_ratio * one.duty_depth)
        parts.append(
            f'<path d="M{a:.1f} {y}H{b:.1f}M{a:.1f} {y - 5}v10M{b:.1f} {y - 5}v10" '
            f'stroke-dasharray="{DASHES[i]}" style="stroke:{colour};stroke-width:2;fill:none"/>'
            + _words(left - 10, y + 4, f"{one.name}, duty to required", "end", "var(--text)")
        )
    for k, name in enumerate(shown):
        y = top + row * (k + 0.5)
        parts.append(
            f'<line x1="{left}" x2="{right}" y1="{y:.1f}" y2="{y:.1f}" '
            'style="stroke:var(--line);stroke-dasharray:1 3"/>'
            + _words(left - 10, y + 4, name, "end", "var(--text)")
        )
        for i, depth, error, words in rows[name]:
            shift = 0.0 if len(cases) == 1 else 6.0 * (i / (len(cases) - 1) - 0.5)
            parts.append(f"<g><title>{escape(words)}</title>")
            if math.isfinite(error) and error > 0:
                low, high = across(depth - error), across(depth + error)
                parts.append(
                    f'<line x1="{low:.1f}" x2="{high:.1f}" y1="{y + shift:.1f}" '
                    f'y2="{y + shift:.1f}" style="stroke:var({COLOURS[i]});stroke-width:2"/>'
                )
            parts.append(mark(i, across(depth), y + shift) + "</g>")
    label = f"Depth ladders of {', '.join(one.name for one in cases)} on one axis of depth"
    return (
        f'<svg viewBox="0 0 980 {bottom + 44:.0f}" role="img" aria-label="{escape(label)}" '
        'style="display:block;width:100%;min-width:44rem;max-width:66rem;height:auto;'
        'font:12px system-ui,sans-serif">\n' + "\n".join(parts) + "\n</svg>"
    )


def bondline_charts(cases: Sequence[Compared], bond: str) -> list[str]:
    """Draw peel and shear along a bond at mid-thickness and duty, the cases over each other."""
    lines = [(i, line_of(one, bond)) for i, one in enumerate(cases)]
    known = [(i, line) for i, line in lines if not line.empty]
    made = []
    for stress in STATIC:
        values = np.concatenate([line[f"{stress}_MPa"].to_numpy() for _, line in known])
        longest = max(float(line["s_mm"].max()) for _, line in known)
        chart = Chart(
            (0.0, longest),
            around([*values, 0.0]),
            "s from the open edge, mm",
            f"{WORDS[stress]}, MPa",
        )
        zero = chart.at(0.0, 0.0)[1]
        chart.parts.append(
            f'<line x1="{LEFT}" x2="{RIGHT}" y1="{zero:.1f}" y2="{zero:.1f}" '
            'style="stroke:var(--soft)"/>'
        )
        for i, line in known:
            run = [
                "{:.1f},{:.1f}".format(*chart.at(s, v))
                for s, v in zip(line["s_mm"], line[f"{stress}_MPa"], strict=True)
            ]
            chart.parts.append(
                f'<polyline points="{" ".join(run)}" stroke-dasharray="{DASHES[i]}" '
                f'style="stroke:var({COLOURS[i]});stroke-width:1.8;fill:none"/>'
            )
        made.append(chart.svg(f"{WORDS[stress]} along the {bond} bond at duty"))
    return made


def line_of(one: Compared, bond: str) -> pd.DataFrame:
    """Stress at mid-thickness along a bond at duty; empty where the case has no such bond."""
    table = one.bondline
    keep = (
        (table["bond"] == bond)
        & (table["load"] == "duty")
        & (table["place"] == "mid")
        & (table["side"] == "adhesive")
    )
    return table[keep].sort_values("s_mm")


def _words(x: float, y: float, words: str, anchor: str, colour: str = "var(--soft)") -> str:
    return (
        f'<text x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}" style="fill:{colour}">'
        f"{escape(words)}</text>"
    )
