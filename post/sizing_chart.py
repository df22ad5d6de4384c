"""Net buoyancy per metre of hull, one bar for each material.

Formulation
    A bar goes from zero to the net buoyancy: to the right what floats, to the left, hollow, what
    sinks. What sinks by more than the best one lifts is cut there with a mark, so that
    one heavy material does not squeeze the others; the number is beside it. Colour tells the kind.
Units
    kg per metre, sheet pixels.
"""

from __future__ import annotations

from collections.abc import Sequence
from html import escape

from post.sheet import nice
from post.sized import Sized

WIDTH, LEFT, RIGHT = 960, 230, 660  # places across
TOP, ROW, BAR = 14, 28, 16
COLOURS = {"ply": "var(--ply)", "metal": "var(--metal)", "plastic": "var(--plastic)"}
CUT = 1.0  # of the best: a bar to the left goes no further


def draw_sizing(found: Sequence[Sized]) -> str:
    """Draw the chart.

    Parameters
    ----------
    found : sequence of Sized
        Of known weight, best first, at least one.

    Returns
    -------
    str
        An SVG element for a page that defines the colours ``--text``, ``--soft``, ``--line``,
        ``--page``, ``--ply``, ``--metal`` and ``--plastic``.
    """
    nets = [one.net for one in found]
    most = max(max(nets), 0.0) or max(-net for net in nets)
    low = max(min(0.0, *nets), -CUT * most)
    step = nice((most - low) / 6)

    def across(net: float) -> float:
        return LEFT + (RIGHT - LEFT) * (max(net, low) - low) / (most - low)

    bottom = TOP + ROW * len(found)
    ticks = [step * i for i in range(int(low / step) - 1, int(most / step) + 1) if step * i >= low]
    lines = [
        f'<line x1="{across(v):.1f}" x2="{across(v):.1f}" y1="{TOP}" y2="{bottom}" class="grid"/>'
        f'<text x="{across(v):.1f}" y="{bottom + 16}" class="tick">{_number(v)}</text>'
        for v in ticks
    ]
    rows = [_bar(one, across, low, TOP + ROW * i) for i, one in enumerate(found)]
    zero = across(0.0)
    axis = (
        f'<line x1="{zero:.1f}" x2="{zero:.1f}" y1="{TOP}" y2="{bottom}" class="zero"/>'
        f'<text x="{LEFT}" y="{bottom + 34}" class="axis">Net buoyancy, kg per metre of hull</text>'
    )
    label = escape("Net buoyancy per metre of hull, one bar for each material")
    return (
        f'<svg class="chart" viewBox="0 0 {WIDTH} {bottom + 42}" role="img" aria-label="{label}">\n'
        + "\n".join([*lines, *rows, axis])
        + "\n</svg>"
    )


def _bar(one: Sized, across, low: float, top: float) -> str:  # type: ignore[no-untyped-def]
    colour, net = COLOURS[one.option.card.kind], one.net
    start, end = sorted((across(0.0), across(net)))
    y, middle = top + (ROW - BAR) / 2, top + ROW / 2
    fill = f'fill="{colour}"' if net >= 0 else 'fill="none"'
    cut = (
        f'<path d="M {start + 8:.1f} {y - 3:.1f} l -5 {BAR + 6} m 7 0 l 5 -{BAR + 6}" class="cut"/>'
        if net < low
        else ""
    )
    words = f"{_number(net)} kg, wall {one.thickness:.1f} mm, {one.governs}"
    return (
        f"<g><title>{escape(f'{one.option.name}: {words}')}</title>"
        f'<text x="{LEFT - 10}" y="{middle + 4:.1f}" class="name">{escape(one.option.name)}</text>'
        f'<rect x="{start:.1f}" y="{y:.1f}" width="{max(end - start, 1):.1f}" height="{BAR}" '
        f'{fill} stroke="{colour}" stroke-width="1.5"/>{cut}'
        f'<text x="{RIGHT + 10}" y="{middle + 4:.1f}" class="words">{escape(words)}</text></g>'
    )


def _number(value: float) -> str:
    text = f"{value:,.0f}" if abs(value) >= 100 or value == 0 else f"{value:.3g}"
    return text.replace("-", "\N{MINUS SIGN}")
