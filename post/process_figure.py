"""What the process costs, as bars: one row a joint, its depth of first failure to scale.

Formulation
    A solid bar reaches to the depth of first failure; what is lost against the clean joint follows
    as a hatched stretch, and a whisker shows the numerical error. A joint that no sea breaks has a
    bar to the edge. Colours of Okabe & Ito (values from memory), told apart by hatching too.
Units
    Depth m, sheet pixels.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from html import escape

from post.depth_lines import asked_lines, depth_ticks
from post.process_cost import CLEAN, TOGETHER, Cost
from post.verdict import depth_error, depth_words

WIDTH, LEFT, RIGHT = 860, 190, 700
TOP, ROW, BAR = 40, 30, 16
KEPT, LOST = "#0072b2", "#d55e00"


def draw_costs(rows: Sequence[Cost], duty_depth: float, required_ratio: float) -> str:
    """Draw the bars.

    Parameters
    ----------
    rows : sequence of Cost
        The clean joint first.
    duty_depth : float
        m.
    required_ratio : float

    Returns
    -------
    str
        An SVG element for a page that defines the colours ``--text``, ``--soft`` and ``--line``.
    """
    required = required_ratio * duty_depth
    depths = [row.first.depth for row in rows if row.first is not None and row.first.reached]
    end = 1.04 * max([required, *depths])

    def across(depth: float) -> float:
        return LEFT + (RIGHT - LEFT) * min(max(depth, 0.0), end) / end

    bottom = TOP + ROW * len(rows)
    parts = [_HATCH, depth_ticks(across, LEFT, end, TOP, bottom)]
    whole = rows[0].first.depth if rows[0].first is not None else math.nan
    for i, row in enumerate(rows):
        parts.append(_row(row, whole, TOP + ROW * i, across))
    parts.append(asked_lines(across, duty_depth, required_ratio, TOP, bottom, RIGHT))
    label = "Depth of first failure of the clean joint, with each fact of the process, and with all"
    return (
        f'<svg viewBox="0 0 {WIDTH} {bottom + 42}" role="img" aria-label="{label}" '
        f'style="width:100%;min-width:40rem;max-width:62rem;height:auto;font:12px system-ui,'
        f'sans-serif">\n' + "\n".join(parts) + "\n</svg>"
    )


_HATCH = (
    '<defs><pattern id="process-lost" width="5" height="5" patternUnits="userSpaceOnUse" '
    f'patternTransform="rotate(45)"><line x1="0" y1="0" x2="0" y2="5" stroke="{LOST}" '
    'stroke-width="3"/></pattern></defs>'
)


def _row(row: Cost, whole: float, top: float, across: object) -> str:
    """Draw the bar of a joint with its name before it and its depth behind."""
    assert callable(across)
    y = top + (ROW - BAR) / 2
    middle = top + ROW / 2
    bold = ";font-weight:600" if row.name in (CLEAN, TOGETHER) else ""
    name = (
        f'<text x="{LEFT - 8}" y="{middle + 4:.1f}" text-anchor="end" '
        f'style="fill:var(--text){bold}">{escape(row.name)}</text>'
    )
    first = row.first
    if first is None:
        words = "not judged" if row.why else "not reached in any sea"
        return name + (
            f'<text x="{LEFT + 6}" y="{middle + 4:.1f}" style="fill:var(--soft)">{words}</text>'
        )
    x = across(first.depth)
    parts = [
        name,
        f'<rect x="{LEFT}" y="{y:.1f}" width="{max(x - LEFT, 0.5):.1f}" height="{BAR}" '
        f'fill="{KEPT}"/>',
    ]
    far = x
    if math.isfinite(row.loss) and row.loss > 0 and row.told:
        far = across(whole)
        parts.append(
            f'<rect x="{x:.1f}" y="{y:.1f}" width="{far - x:.1f}" height="{BAR}" '
            f'fill="url(#process-lost)" stroke="{LOST}"/>'
        )
    error = depth_error(first)
    if math.isfinite(error) and error > 0:
        low, high = across(first.depth - error), across(first.depth + error)
        parts.append(
            f'<path d="M{low:.1f} {middle:.1f}H{high:.1f}M{low:.1f} {middle - 4:.1f}v8'
            f'M{high:.1f} {middle - 4:.1f}v8" style="stroke:var(--text);fill:none"/>'
        )
        far = max(far, high)
    lost = (
        f" (\u2212{row.loss:,.0f} m)"
        if row.told and row.loss > 0 and math.isfinite(row.loss)
        else ""
    )
    gained = f" (+{-row.loss:,.0f} m)" if row.told and row.loss < 0 else ""
    parts.append(
        f'<text x="{far + 6:.1f}" y="{middle + 4:.1f}" style="fill:var(--text){bold}">'
        f"{escape(depth_words(first) + lost + gained)}</text>"
    )
    return "".join(parts)
