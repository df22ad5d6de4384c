"""Depth axis of a chart of bars or marks: ticks, and lines at the duty and the required depth.

Units
    Depth m, sheet pixels.
"""

from __future__ import annotations

from collections.abc import Callable

from post.sheet import nice

WORDS = 190  # no less than the words at the required depth


def depth_ticks(
    across: Callable[[float], float], left: float, end: float, top: float, bottom: float
) -> str:
    """Draw the grid of an axis from 0 to `end` m with its numbers and its name below.

    Parameters
    ----------
    across : callable
        From a depth to its place on the sheet.
    left, top, bottom : float
        Edges of the drawing area.
    end : float
        m.
    """
    step = nice(end / 5)
    parts = [
        f'<text x="{left}" y="{bottom + 34:.1f}" style="fill:var(--soft)">First-failure depth, m'
        "</text>"
    ]
    for i in range(int(end / step) + 1):
        x = across(step * i)
        parts.append(
            f'<line x1="{x:.1f}" x2="{x:.1f}" y1="{top}" y2="{bottom:.1f}" '
            f'style="stroke:var(--line)"/><text x="{x:.1f}" y="{bottom + 16:.1f}" '
            f'text-anchor="middle" style="fill:var(--soft)">{step * i:,.0f}</text>'
        )
    return "\n".join(parts)


def asked_lines(
    across: Callable[[float], float],
    duty_depth: float,
    required_ratio: float,
    top: float,
    bottom: float,
    right: float,
) -> str:
    """Draw the lines of duty and of what is required, each with its words above.

    The duty's words stand before its line, those of what is required behind, or, where `right`
    leaves no room for them, before it and one line higher.
    """
    required = required_ratio * duty_depth
    late = across(required) > right - WORDS
    parts = []
    for depth, words, before, up, dash in (
        (duty_depth, "duty", True, 0, "none"),
        (required, f"required ({required_ratio:g} \u00d7 duty)", late, 16 if late else 0, "6 3"),
    ):
        x = across(depth)
        at = f'x="{x - 4:.1f}" text-anchor="end"' if before else f'x="{x + 4:.1f}"'
        parts.append(
            f'<line x1="{x:.1f}" x2="{x:.1f}" y1="{top - 10 - up}" y2="{bottom:.1f}" '
            f'stroke-dasharray="{dash}" style="stroke:var(--text);stroke-width:1.4"/>'
            f'<text {at} y="{top - 7 - up}" style="fill:var(--text)">{words} {depth:,.0f} m</text>'
        )
    return "\n".join(parts)
