"""The enlarged view of the drawing: the joint with its materials, bonds and overlaps."""

from __future__ import annotations

import textwrap
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from matplotlib.axes import Axes
from numpy.typing import NDArray

from geometry.section import BondLine, Section
from post.colours import INK, QUIET, SEA
from post.flaw_drawing import ROW, draw_flaw_lines, list_flaws, list_height, number_flaws
from post.outline import Window, drawn_path, extent, joint_window, part_loops
from post.parts import ARROW, fill_parts, material_words, press
from post.sheet import HALO, LARGE, PLAIN, SMALL, TITLE, View, arrow, dimension, spread, text_width

if TYPE_CHECKING:
    from geometry.case import Case

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class _Label:
    """Words with the place they point to, in drawing coordinates."""

    words: str
    place: tuple[float, float]


def joint_view(case: Case, section: Section) -> View:
    """Give the window of the joint with room for what stands around it."""
    sides = {bond.name for bond in section.bonds}
    bottom = 50.0 if sides & {"inner", "scarf"} else 30.0
    bottom += list_height(case)
    top = TITLE + ARROW + (64.0 if sides & {"outer", "scarf"} else 46.0)
    return View(joint_window(section), 92.0, 104.0, bottom, top, 260.0, 90.0)


def draw_enlarged(ax: Axes, case: Case, section: Section, view: View) -> None:
    """Draw the joint into its view."""
    mm, window = view.mm, view.window
    z0, z1, r0, r1 = window
    left, right = ax.get_xlim()
    bottom, top = ax.get_ylim()
    fill_parts(ax, section, window)
    _layer_lines(ax, case, section, window)
    press(ax, section, "wet", view, SEA, window)
    if z1 > extent(section)[1] - 1e-9:
        press(ax, section, "closure", view, INK, window)
    draw_flaw_lines(ax, case, section)
    for bond in section.bonds:
        _mark_bond(ax, bond, mm)
    number_flaws(ax, case, section, view)

    wall = case.wall
    dimension(
        ax,
        (z0, wall.bore_radius),
        (z0, wall.outer_radius),
        -10,
        f"wall\n{wall.thickness:.4g} mm",
        mm,
    )
    overlap = case.joint.overlap
    for side, offset in (("inner", -10.0), ("outer", ARROW + 6.0)):
        length = getattr(overlap, side)
        if length is not None:
            level = r0 if side == "inner" else r1
            dimension(
                ax,
                (wall.half_length - length, level),
                (wall.half_length, level),
                offset,
                f"{side} overlap {length:.4g} mm",
                mm,
            )

    _name_materials(ax, case, section, view)
    _name_bonds(ax, section, view)
    ax.text(left + 8 * mm, top - 6 * mm, "The joint, enlarged", va="top", size=LARGE, weight="bold")
    dot = (left + 14 * mm, bottom + 10 * mm)
    list_at = (dot[0], bottom + (10 + 4 + ROW * len(case.flaws)) * mm)
    list_flaws(ax, case, section, list_at, mm)
    ax.plot(*dot, "o", color=INK, ms=4, mec="white", mew=0.8, zorder=8)
    ax.text(
        dot[0] + 8 * mm,
        dot[1],
        "where s, the distance along a bond, begins (its open edge where it has one); "
        "arrow: s grows",
        va="center",
        size=SMALL,
    )


def _layer_lines(ax: Axes, case: Case, section: Section, window: Window) -> None:
    """Thin lines where one layer of the wall meets the next."""
    for layer in list(section.layers.values())[:-1]:
        faces = [f for f in section.faces if f.region == layer.name]
        reach = max(section.points[section.edges[abs(e) - 1].end][1] for f in faces for e in f.loop)
        ax.plot(
            [window[0], min(reach, window[1])],
            [layer.outer_radius] * 2,
            color=QUIET,
            lw=0.5,
            zorder=3,
        )


def _mark_bond(ax: Axes, bond: BondLine, mm: float) -> None:
    """Mark where s begins, and the way it grows."""
    _, mid, _ = bond.faces(np.array([0.0, min(0.4 * bond.length, max(28 * mm, 0.2 * bond.length))]))
    (r, z), (q, w) = mid.T
    arrow(ax, (z, r), (w, q), INK)
    ax.plot(z, r, "o", color=INK, ms=4, mec="white", mew=0.8, zorder=8)


def _name_materials(ax: Axes, case: Case, section: Section, view: View) -> None:
    """Names of parts and materials in a row above the view, with leaders."""
    z0, z1, _, r1 = view.window
    mm = view.mm
    labels = []
    for part, name in material_words(case, section).items():
        place = _inner_place(section, part, view.window)
        if place is not None:
            wrapped = textwrap.wrap(name.replace("-", "- "), 20) or [name]
            lines = [line.replace("- ", "-").rstrip() for line in wrapped][:3]
            labels.append(_Label("\n".join([part.capitalize(), *lines]), place))
    labels.sort(key=lambda label: label.place[0])
    left, right = ax.get_xlim()
    sizes = [(text_width(label.words) + 10) * mm for label in labels]
    centres = spread([label.place[0] for label in labels], sizes, left + 6 * mm, right - 6 * mm)
    level = r1 + (view.top - TITLE - 38) * mm
    for label, centre in zip(labels, centres, strict=True):
        ax.text(centre, level, label.words, ha="center", va="bottom", size=PLAIN, linespacing=1.15)
        _leader(ax, (centre, level - 2 * mm), label.place)


def _leader(ax: Axes, start: tuple[float, float], place: tuple[float, float]) -> None:
    ax.plot(*zip(start, place, strict=True), color=INK, lw=0.6, zorder=7, path_effects=HALO)
    ax.plot(*place, ".", color=INK, ms=3.5, zorder=8)


def _inner_place(section: Section, part: str, window: Window) -> tuple[float, float] | None:
    """Find a place well inside the visible piece of a part; in the adhesive, amid a bond."""
    z0, z1, r0, r1 = window
    if part == "adhesive":
        bond = max(section.bonds, key=lambda b: (b.name == "outer", b.length))
        _, mid, _ = bond.faces(np.array([0.62 * bond.length]))
        return float(mid[1, 0]), float(mid[0, 0])
    outlines = part_loops(section, part)
    path = drawn_path(outlines)
    z, r = np.meshgrid(np.linspace(z0, z1, 82)[1:-1], np.linspace(r0, r1, 62)[1:-1])
    grid = np.stack([z.ravel(), r.ravel()], axis=1)
    grid = grid[path.contains_points(grid)]
    if not len(grid):
        return None
    away = np.min([_distance(grid, outline[:, ::-1]) for outline in outlines], axis=0)
    away = np.minimum(away, np.minimum(grid[:, 0] - z0, z1 - grid[:, 0]))
    best = grid[int(np.argmax(away))]
    return float(best[0]), float(best[1])


def _distance(points: Floats, path: Floats) -> Floats:
    """Distance of points from the nearest side of a polygon."""
    start, side = path[:-1], np.diff(path, axis=0)
    offset = points[:, None] - start
    share = np.clip((offset * side).sum(axis=2) / (side**2).sum(axis=1), 0, 1)
    return np.asarray(np.linalg.norm(offset - share[..., None] * side, axis=2).min(axis=1))


def _name_bonds(ax: Axes, section: Section, view: View) -> None:
    """Names and thicknesses of the bonds in a column right of the view, with leaders."""
    _, z1, _, _ = view.window
    mm = view.mm
    labels = []
    for bond in section.bonds:
        _, mid, _ = bond.faces(
            np.array([0.8 * bond.length if bond.name != "end" else bond.length / 2])
        )
        words = f"{bond.name} bond\n{bond.thickness:.4g} mm thick"
        labels.append(_Label(words, (float(mid[1, 0]), float(mid[0, 0]))))
    labels.sort(key=lambda label: label.place[1])
    bottom, _ = ax.get_ylim()
    centres = spread(
        [label.place[1] for label in labels],
        [27 * mm] * len(labels),
        bottom + 20 * mm,
        view.window[3] + 4 * mm,
    )
    at = z1 + 12 * mm
    for label, centre in zip(labels, centres, strict=True):
        ax.text(at, centre, label.words, ha="left", va="center", size=PLAIN, linespacing=1.15)
        _leader(ax, (at - 3 * mm, centre), label.place)
