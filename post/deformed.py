"""The deformed section over the undeformed one."""

from __future__ import annotations

import matplotlib
import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import PathPatch, Rectangle
from numpy.typing import NDArray

from post.bondline import duty_factors
from post.colours import FILL, INK, QUIET
from post.outline import Window, drawn_path, extent, joint_window, part_loops
from post.parts import parts_of
from post.sampling import displacement_at
from post.sheet import LARGE, SMALL, STYLE, WIDTH, blank, nice
from solve.answer import Answer

Floats = NDArray[np.float64]

SHARE = 0.07  # of the picture's size: how far the farthest point is drawn to move
STEPS = 24  # points along a side of the outline
DEFORMED = (
    "Filled: deformed, movements magnified as stated above each picture; dashed: undeformed. "
    "In the pictures of the joint the axial movement of the joint as a whole is left out. Duty is "
    "the sum of pressure and temperature."
)


def plot_deformed(answer: Answer) -> Figure:
    """Draw the deformed section under duty, whole and at the joint, and its two parts.

    Parameters
    ----------
    answer : Answer

    Returns
    -------
    Figure
    """
    factors = duty_factors(answer)
    moved: dict[str, list[tuple[Floats, dict[str, Floats]]]] = {}
    for part in parts_of(answer.section):
        moved[part] = []
        for outline in part_loops(answer.section, part):
            fine = _finely(outline)
            unit = displacement_at(answer, fine.T, part)
            u = {load: factors[load] * unit[load][:, [0, 2]] for load in factors}
            u["duty"] = u["pressure"] + u["temperature"]
            known = np.isfinite(u["duty"]).all(axis=1)
            moved[part].append((fine[known], {load: x[known] for load, x in u.items()}))

    whole, joint = extent(answer.section), joint_window(answer.section)
    gap, title = 12.0, 34.0
    half = (WIDTH - 3 * gap) / 2
    sizes = {
        "whole": min(_height(whole, WIDTH - 2 * gap), 250.0),
        "joint": min(_height(joint, WIDTH - 2 * gap), 320.0),
        "parts": min(_height(joint, half), 220.0),
    }
    height = sum(sizes.values()) + 3 * (title + 8)
    with matplotlib.rc_context(STYLE):
        figure = blank(height)
        top = height
        rows = (
            (("whole", "duty", whole, gap, WIDTH - 2 * gap),),
            (("joint", "duty", joint, gap, WIDTH - 2 * gap),),
            (
                ("parts", "pressure", joint, gap, half),
                ("parts", "temperature", joint, 2 * gap + half, half),
            ),
        )
        for row in rows:
            size = sizes[row[0][0]]
            bottom = top - title - size
            for name, load, window, left, width in row:
                ax = figure.add_axes((left / WIDTH, bottom / height, width / WIDTH, size / height))
                scale, shift = _picture(ax, moved, load, window, name == "whole")
                what = {"whole": "Whole, duty", "joint": "Joint, duty"}.get(
                    name, f"Joint, {load} part"
                )
                words = f"movement \u00d7 {scale:g}"
                if name != "whole":
                    words += f"; left out: {shift:+.3f} mm along z".replace("-", "\u2212")
                y = (bottom + size + 4) / height
                figure.text(
                    left / WIDTH, y + 12 / height, what, size=LARGE, weight="bold", va="bottom"
                )
                figure.text(left / WIDTH, y, words, size=SMALL, color=QUIET, va="bottom")
            top = bottom - 8
    return figure


def _height(window: Window, width: float) -> float:
    z0, z1, r0, r1 = window
    return 1.12 * (r1 - r0) / (z1 - z0) * width


def _finely(outline: Floats) -> Floats:
    share = np.linspace(0, 1, STEPS, endpoint=False)[:, None]
    pieces = [p + share * (q - p) for p, q in zip(outline[:-1], outline[1:], strict=True)]
    return np.vstack([*pieces, outline[-1:]])


def _picture(
    ax: Axes,
    moved: dict[str, list[tuple[Floats, dict[str, Floats]]]],
    load: str,
    window: Window,
    whole: bool,
) -> tuple[float, float]:
    """Draw one picture; return its magnification and the axial movement that it leaves out."""
    z0, z1, r0, r1 = window
    near = []
    for pieces in moved.values():
        for points, u in pieces:
            inside = (points[:, 1] >= z0) & (points[:, 1] <= z1)
            inside &= (points[:, 0] >= r0) & (points[:, 0] <= r1)
            near.append(u[load][inside])
    seen = np.vstack(near)
    shift = 0.0 if whole else float((seen[:, 1].min() + seen[:, 1].max()) / 2)
    farthest = float(np.max(np.hypot(seen[:, 0], seen[:, 1] - shift)))
    size = max(z1 - z0, r1 - r0)
    scale = nice(SHARE * size / farthest) if farthest > 0 else 1.0

    ax.set_axis_off()
    ax.set_aspect("equal")
    room = SHARE * size if whole else 0.0
    ax.set_xlim(z0 - room / 2, z1 + room / 2)
    ax.set_ylim(r0 - room / 4, r1 + room / 2)
    frame = Rectangle((0, 0), 1, 1, transform=ax.transAxes)
    for part, pieces in moved.items():
        before = [points for points, _ in pieces]
        after = [points + scale * (u[load] - np.array([0.0, shift])) for points, u in pieces]
        filled = PathPatch(drawn_path(after), fc=FILL[part], ec=INK, lw=0.7, zorder=2)
        outline = PathPatch(
            drawn_path(before), fill=False, ec=QUIET, lw=0.6, ls=(0, (4, 2)), zorder=3
        )
        for patch in (filled, outline):
            ax.add_patch(patch)
            patch.set_clip_path(frame)
    return scale, shift
