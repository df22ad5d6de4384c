"""The deformed section over the undeformed one."""

from __future__ import annotations

from dataclasses import dataclass

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
GAP, TITLE = 12.0, 38.0  # beside and above each picture, points
STEPS = 400  # points around the outline of a part
DEFORMED = (
    "Filled: deformed, movements magnified as stated above each picture; dashed: undeformed. "
    "In the pictures of the joint the axial movement of the joint as a whole is left out. Duty is "
    "the sum of pressure and temperature. Twist about the axis, if any, is not drawn."
)


def plot_deformed(answer: Answer, parts: bool = False) -> Figure:
    """Draw the deformed section.

    Parameters
    ----------
    answer : Answer
    parts : bool
        Draw the joint under the pressure part and under the temperature part, rather than the
        whole and the joint at duty.

    Returns
    -------
    Figure
    """
    moved = _moved(answer)
    whole, joint = extent(answer.section), joint_window(answer.section)
    shown = [("Whole, duty", "duty", whole), ("Joint, duty", "duty", joint)]
    if parts:
        shown = [(f"Joint, {load} part", load, joint) for load in ("pressure", "temperature")]
    frames = [_frame(moved, load, window, window is whole) for _, load, window in shown]
    width = WIDTH - 2 * GAP
    sizes = [min(_height(frame.window, width), 320.0) for frame in frames]
    height = sum(sizes) + len(shown) * (TITLE + 8)
    with matplotlib.rc_context(STYLE):
        figure = blank(height)
        top = height
        for (what, load, window), frame, size in zip(shown, frames, sizes, strict=True):
            bottom = top - TITLE - size
            ax = figure.add_axes((GAP / WIDTH, bottom / height, width / WIDTH, size / height))
            _picture(ax, moved, load, frame)
            words = f"movement \u00d7 {frame.scale:g}"
            if window is not whole:
                words += f"; left out: {frame.shift:+.3f} mm along z".replace("-", "\u2212")
            left = GAP / WIDTH
            figure.text(left, (top - 8) / height, what, va="top", size=LARGE, weight="bold")
            figure.text(left, (top - 22) / height, words, va="top", size=SMALL, color=QUIET)
            top = bottom - 8
    return figure


Moved = dict[str, list[tuple[Floats, dict[str, Floats]]]]


def _moved(answer: Answer) -> Moved:
    """Outlines of each part, finely divided, with their movement (u_r, u_z) by load, mm."""
    factors = duty_factors(answer)
    moved: Moved = {}
    for part in parts_of(answer.section):
        moved[part] = []
        for outline in part_loops(answer.section, part):
            fine = _finely(outline)
            unit = displacement_at(answer, fine.T, part)
            u = {load: factors[load] * unit[load][:, [0, 2]] for load in factors}
            u["duty"] = u["pressure"] + u["temperature"]
            known = np.isfinite(u["duty"]).all(axis=1)
            moved[part].append((fine[known], {load: x[known] for load, x in u.items()}))
    return moved


def _height(window: Window, width: float) -> float:
    z0, z1, r0, r1 = window
    return (r1 - r0) / (z1 - z0) * width


def _finely(outline: Floats) -> Floats:
    """Divide the sides of an outline so that they can bend."""
    lengths = np.linalg.norm(np.diff(outline, axis=0), axis=1)
    steps = np.ceil(lengths / lengths.sum() * STEPS).astype(int)
    pieces = [
        p + np.linspace(0, 1, n, endpoint=False)[:, None] * (q - p)
        for p, q, n in zip(outline[:-1], outline[1:], steps, strict=True)
    ]
    return np.vstack([*pieces, outline[-1:]])


@dataclass(frozen=True)
class _Frame:
    """What a picture shows: magnification, axial movement left out (mm), and its window."""

    scale: float
    shift: float
    window: Window


def _frame(moved: Moved, load: str, window: Window, whole: bool) -> _Frame:
    """Choose a magnification, and a window that holds the section before and after."""
    z0, z1, r0, r1 = window
    places, movements = [], []
    for pieces in moved.values():
        for points, u in pieces:
            seen = (points[:, 1] >= z0) & (points[:, 1] <= z1)
            seen &= (points[:, 0] >= r0) & (points[:, 0] <= r1)
            places.append(points[seen])
            movements.append(u[load][seen])
    place, movement = np.vstack(places), np.vstack(movements)
    shift = 0.0 if whole else float((movement[:, 1].min() + movement[:, 1].max()) / 2)
    movement = movement - np.array([0.0, shift])
    farthest = float(np.linalg.norm(movement, axis=1).max())
    size = max(z1 - z0, r1 - r0)
    scale = nice(SHARE * size / farthest) if farthest > 0 else 1.0
    after = place + scale * movement
    air = 0.02 * size
    low = min(r0, float(after[:, 0].min()) - air)
    high = max(r1, float(after[:, 0].max()) + air)
    if whole:
        z0, z1 = -air, max(z1, float(after[:, 1].max())) + air
        low, high = low - air, high + air
    return _Frame(scale, shift, (z0, z1, low, high))


def _picture(ax: Axes, moved: Moved, load: str, frame: _Frame) -> None:
    """Draw one picture."""
    z0, z1, r0, r1 = frame.window
    ax.set_axis_off()
    ax.set_aspect("equal")
    ax.set_xlim(z0, z1)
    ax.set_ylim(r0, r1)
    edge = Rectangle((0, 0), 1, 1, transform=ax.transAxes)
    for part, pieces in moved.items():
        before = [points for points, _ in pieces]
        after = [points + frame.scale * (u[load] - [0.0, frame.shift]) for points, u in pieces]
        filled = PathPatch(drawn_path(after), fc=FILL[part], ec=INK, lw=0.7, zorder=2)
        outline = PathPatch(
            drawn_path(before), fill=False, ec=QUIET, lw=0.6, ls=(0, (4, 2)), zorder=3
        )
        for patch in (filled, outline):
            ax.add_patch(patch)
            patch.set_clip_path(edge)
