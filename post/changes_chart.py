"""Single changes as bars: how much deeper or shallower each makes first failure.

Formulation
    One row a change, those of one field together, the field that can help most on top. Bars to the
    right are deeper, to the left shallower; within the band around nought no change is told from
    the numerical error. A bar far longer than the largest gain is cut and goes on to its number.
    Colours of Okabe & Ito (values from memory), told apart by direction too.
Units
    m, sheet pixels.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from html import escape

from post.change_trials import Trial, Trials
from post.sheet import nice
from post.study.models import SOLVED
from post.words import MINUS

WIDTH, FIELD, LEFT, RIGHT, THEN = 1000, 172, 308, 640, 780
TOP, ROW, BAR, GAP = 28, 19, 12, 7
DEEPER, SHALLOWER = "#0072b2", "#d55e00"
CUT = 1.5  # a loss is drawn up to so many times the largest gain


def draw_changes(trials: Trials) -> str:
    """Draw the bars as an SVG element for a page with ``--text``, ``--soft`` and ``--line``."""
    base = trials.base.depth
    gains = [gain(row, base) for row in trials.rows]
    known = [g for g in gains if math.isfinite(g)]
    most = max([*known, 2 * trials.error, 1.0])
    least = min([*known, -2 * trials.error, -1.0])
    high, low = 1.06 * most, 1.06 * max(least, -CUT * most)

    def across(value: float) -> float:
        return LEFT + (RIGHT - LEFT) * (min(max(value, low), high) - low) / (high - low)

    y, rows = float(TOP), []
    for field, of_field in by_field(trials.rows, base):
        rows.append(_text(FIELD, y + ROW / 2 + 4, field, "end", "var(--text)"))
        for row in of_field:
            rows.append(_row(row, trials, y, across))
            y += ROW
        y += GAP
    step = nice((high - low) / 5)
    marks = range(math.ceil(low / step), math.floor(high / step) + 1)
    grid = [
        f'<line x1="{across(step * i):.1f}" x2="{across(step * i):.1f}" y1="{TOP - 4}" '
        f'y2="{y:.1f}" style="stroke:var({"--text" if i == 0 else "--line"})"/>'
        + _text(across(step * i), y + 16, signed(step * i), "middle")
        for i in marks
    ]
    if math.isfinite(trials.error):
        a, b = across(-trials.error), across(trials.error)
        grid.insert(
            0,
            f'<rect x="{a:.1f}" y="{TOP - 4}" width="{b - a:.1f}" height="{y - TOP + 4:.1f}" '
            'style="fill:var(--line)"><title>numerical error</title></rect>',
        )
    heads = _text(RIGHT + 8, TOP - 12, "first failure", "start") + _text(
        THEN, TOP - 12, "fails first then, where another", "start"
    )
    words = f"Change in first-failure depth, m; the case as it is fails first at {base:,.0f} m"
    label = "Change in first-failure depth by each single change; the table holds the numbers"
    return (
        f'<svg viewBox="0 0 {WIDTH} {y + 42:.0f}" role="img" aria-label="{label}" '
        'style="display:block;width:100%;min-width:46rem;max-width:64rem;height:auto;'
        'font:12px system-ui,sans-serif">\n'
        + "\n".join([*grid, *rows, heads, _text(LEFT, y + 36, words, "start")])
        + "\n</svg>"
    )


def gain(row: Trial, base: float) -> float:
    """How much deeper a change fails than the case, m; NaN where one of them has no depth."""
    if row.status != SOLVED or not math.isfinite(base):
        return math.nan
    return row.depth - base


def by_field(rows: Sequence[Trial], base: float) -> list[tuple[str, list[Trial]]]:
    """Put the changes of a field together, the field with the largest gain first."""
    fields: dict[str, list[Trial]] = {}
    for row in rows:
        fields.setdefault(row.field, []).append(row)

    def best(of_field: list[Trial]) -> float:
        return max((g for row in of_field if not math.isnan(g := gain(row, base))), default=-1e9)

    return sorted(fields.items(), key=lambda item: -best(item[1]))


def signed(value: float, unit: str = "", digits: int = 0) -> str:
    """Write a change with its sign."""
    text = f"{value:+,.{digits}f}" if round(value, digits) else "0"
    return text.replace("-", MINUS) + unit


def _row(row: Trial, trials: Trials, y: float, across: object) -> str:
    """Draw a change: its step, its bar, its number, and what fails first then."""
    assert callable(across)
    base, middle = trials.base, y + ROW / 2
    step = _text(LEFT - 8, middle + 4, row.step, "end")
    change = gain(row, base.depth)
    if math.isnan(change):
        words = "cannot be built" if row.status != SOLVED else "no depth"
        return step + _text(across(0.0) + 6, middle + 4, words, "start")
    if math.isinf(change):
        words = "no sea reaches a first failure"
        return step + _text(across(0.0) + 6, middle + 4, words, "start", "var(--text)")
    a, b = sorted((across(0.0), across(change)))
    told = abs(change) > trials.error
    colour = (DEEPER if change > 0 else SHALLOWER) if told else "var(--soft)"
    percent = f"{100 * change / base.depth:+.1f} %".replace("-", MINUS)
    number = f"{signed(change, ' m')} ({percent})" if told else "within the error"
    title = f"{row.name}, {row.values}: {number}; first {row.first}"
    cut = ""
    if across(change - 1) == across(change):  # beyond the axis: the bar is cut
        top, end = y + (ROW - BAR) / 2 - 2, y + (ROW + BAR) / 2 + 2
        cut = (
            f'<path d="M{a + 9:.1f} {top:.1f}L{a + 5:.1f} {end:.1f}M{a + 14:.1f} {top:.1f}'
            f'L{a + 10:.1f} {end:.1f}" style="stroke:var(--page);stroke-width:2.5;fill:none"/>'
        )
    return (
        f'{step}<rect x="{a:.1f}" y="{y + (ROW - BAR) / 2:.1f}" width="{max(b - a, 1):.1f}" '
        f'height="{BAR}" style="fill:{colour}"><title>{escape(title)}</title></rect>'
        + cut
        + _text(RIGHT + 8, middle + 4, number, "start", "var(--text)" if told else "var(--soft)")
        + (_text(THEN, middle + 4, row.first, "start") if row.first != base.first else "")
    )


def _text(x: float, y: float, words: str, anchor: str, colour: str = "var(--soft)") -> str:
    return (
        f'<text x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}" style="fill:{colour}">'
        f"{escape(words)}</text>"
    )
