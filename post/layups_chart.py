"""The ladders of several layups side by side: layups as rows, modes as lettered marks.

Formulation
    A mark stands at its depth, exactly; those of one row that would overlap are stacked, each in
    the first lane that is free there, so no letter covers another. Shape and colour tell the
    part (colours of Okabe & Ito, values from memory), a broken outline a mode that is not
    converged. What no sea reaches stands in a column of its own.
Units
    Depth m, sheet pixels.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from html import escape

from post.depth_lines import asked_lines, depth_ticks
from post.ladder import Rung
from post.layups import Judged, mode_key
from post.layups_words import ratio_text
from post.verdict import depth_words, is_unconverged

WIDTH, LEFT, RIGHT, BEYOND = 960, 150, 760, 782  # places across
TOP, LANE, GAP = 46, 22, 16
SIZE = 9  # half a mark
ALONE = 2 * SIZE + 4  # least distance of marks in one lane
LOOKS = {
    "bond": ("circle", "#0072b2"),
    "wall": ("square", "#a84a00"),
    "metal": ("lozenge", "#00785a"),
}
PER_LINE = (WIDTH - BEYOND) // ALONE  # marks beside each other in the column beyond
Key = tuple[str, str]


def kind(part: str) -> str:
    """Tell bonds, wall and metal apart."""
    return "bond" if part.endswith("bond") else "wall" if part == "wall" else "metal"


def letters(found: Sequence[Judged]) -> dict[Key, str]:
    """Letter the modes of all layups, A, B, C, in the order in which they come first."""
    keys = dict.fromkeys(mode_key(rung) for one in found for rung in one.rungs)
    return {key: _letter(i) for i, key in enumerate(keys)}


def _letter(i: int) -> str:
    return chr(65 + i) if i < 26 else chr(64 + i // 26) + chr(65 + i % 26)


def lanes(across: Sequence[float]) -> list[int]:
    """Give places in rising order each the first lane that is free there."""
    ends: list[float] = []
    chosen = []
    for x in across:
        lane = next((i for i, end in enumerate(ends) if x - end >= ALONE), len(ends))
        ends[lane : lane + 1] = [x]
        chosen.append(lane)
    return chosen


def draw_layups(found: Sequence[Judged], duty_depth: float, required_ratio: float) -> str:
    """Draw the chart.

    Parameters
    ----------
    found : sequence of Judged
    duty_depth : float
        m.
    required_ratio : float

    Returns
    -------
    str
        An SVG element for a page that defines the colours ``--text``, ``--soft``, ``--line``
        and ``--page``.
    """
    named = letters(found)
    required = duty_depth * required_ratio
    depths = [rung.depth for one in found for rung in one.rungs if rung.reached]
    end = 1.04 * max([required, *depths])

    def across(depth: float) -> float:
        return LEFT + (RIGHT - LEFT) * depth / end

    rows: list[str] = []
    y = float(TOP)
    for one in found:
        text, height = _row(one, named, across, y, required_ratio)
        rows.append(text)
        y += height
    lines = [
        depth_ticks(across, LEFT, end, TOP, y),
        asked_lines(across, duty_depth, required_ratio, TOP, y, RIGHT),
    ]
    lines.append(f'<text x="{BEYOND}" y="{TOP - 8}" class="axis">not reached in any sea</text>')
    label = escape("First-failure depths of every mode, one row for each layup")
    return (
        f'<svg class="chart" viewBox="0 0 {WIDTH} {y + 42:.0f}" role="img" aria-label="{label}">\n'
        + "\n".join(lines + rows)
        + "\n</svg>"
    )


def _row(
    one: Judged,
    named: Mapping[Key, str],
    across: Callable[[float], float],
    top: float,
    required: float,
) -> tuple[str, float]:
    """Draw the row of a layup; its SVG and its height."""
    reached = sorted((r for r in one.rungs if r.reached), key=lambda r: r.depth)
    beyond = [r for r in one.rungs if math.isinf(r.depth)]
    chosen = lanes([across(rung.depth) for rung in reached])
    count = max([1, *(lane + 1 for lane in chosen), math.ceil(len(beyond) / PER_LINE)])
    height = count * LANE + GAP
    parts = [
        f'<line x1="0" x2="{WIDTH}" y1="{top:.1f}" y2="{top:.1f}" class="rule"/>'
        f'<text x="0" y="{top + GAP / 2 + 16:.1f}" class="layup">{escape(one.name)}</text>'
    ]

    def middle(lane: int) -> float:
        return top + GAP / 2 + LANE * (lane + 0.5)

    for rung, lane in zip(reached, chosen, strict=True):
        parts.append(
            _mark(rung, named, across(rung.depth), middle(lane), required, rung is one.first)
        )
    for i, rung in enumerate(beyond):
        x = BEYOND + SIZE + ALONE * (i % PER_LINE)
        parts.append(_mark(rung, named, x, middle(i // PER_LINE), required, False))
    return "\n".join(parts), height


def _mark(
    rung: Rung, named: Mapping[Key, str], x: float, y: float, required: float, first: bool
) -> str:
    """Draw a mark with its letter, and its words for the pointer."""
    shape, colour = LOOKS[kind(rung.part)]
    hollow = is_unconverged(rung)
    style = f'fill="{colour}" stroke="{colour}"'
    if hollow:
        style = f'class="hollow {kind(rung.part)}"'
    words = f"{rung.part}, {rung.mode}: {depth_words(rung)}"
    if rung.reached:
        words += f", ratio {ratio_text(rung, required)}"
    halo = f'<circle cx="{x:.1f}" cy="{y:.1f}" r="{SIZE + 2.5}" class="first"/>' if first else ""
    ink = "var(--text)" if hollow else "#fff"
    return (
        f"<g><title>{escape(words)}</title>{halo}{_shape(shape, x, y, style)}"
        f'<text x="{x:.1f}" y="{y + 3.8:.1f}" class="letter" fill="{ink}">{named[mode_key(rung)]}'
        "</text></g>"
    )


def _shape(shape: str, x: float, y: float, style: str) -> str:
    if shape == "circle":
        return f'<circle cx="{x:.1f}" cy="{y:.1f}" r="{SIZE}" {style}/>'
    if shape == "square":
        side = SIZE - 1
        return (
            f'<rect x="{x - side:.1f}" y="{y - side:.1f}" width="{2 * side}" '
            f'height="{2 * side}" {style}/>'
        )
    reach = SIZE + 1.5
    corners = ((0, -reach), (reach, 0), (0, reach), (-reach, 0))
    points = " ".join(f"{x + a:.1f},{y + b:.1f}" for a, b in corners)
    return f'<polygon points="{points}" {style}/>'


def key_mark(part: str, letter: str) -> str:
    """Draw a mark by itself, for the first column of a table."""
    shape, colour = LOOKS[kind(part)]
    body = _shape(shape, 11, 11, f'fill="{colour}" stroke="{colour}"')
    return (
        f'<svg width="22" height="22" viewBox="0 0 22 22" aria-hidden="true">{body}'
        f'<text x="11" y="14.8" class="letter" fill="#fff">{letter}</text></svg>'
    )
