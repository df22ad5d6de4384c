"""The parts of a section on a sheet: fills, hatching, the wet surface, pressing arrows, names.

Each part has its own fill and its own hatching, so that a drawing also holds in grey on paper.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from matplotlib.axes import Axes
from matplotlib.patches import PathPatch, Rectangle
from numpy.typing import NDArray

from geometry.seawater import depth_at, duty_pressure
from geometry.section import Section
from post.colours import FILL, HATCH, INK, PARTS, SEA
from post.outline import Window, drawn_path, edge_path, evenly, outward, part_loops
from post.sheet import View, arrow

if TYPE_CHECKING:
    from geometry.case import Case

Floats = NDArray[np.float64]

ARROW, SPACING = 17.0, 24.0  # length of a pressing arrow and room between two, points


def fill_parts(ax: Axes, section: Section, window: Window | None = None) -> None:
    """Fill the parts, line their outlines and mark the wet surface, cut at a window."""
    clip = None
    if window is not None:
        z0, z1, r0, r1 = window
        clip = Rectangle((z0, r0), z1 - z0, r1 - r0, transform=ax.transData)
    for part in parts_of(section):
        outlines = part_loops(section, part)
        patch = PathPatch(
            drawn_path(outlines),
            facecolor=FILL[part],
            edgecolor="#5d6b76",
            hatch=HATCH[part],
            lw=0.0,
            zorder=2,
        )
        line = PathPatch(drawn_path(outlines), fill=False, edgecolor=INK, lw=0.7, zorder=3)
        for artist in (patch, line):
            ax.add_patch(artist)
            if clip is not None:
                artist.set_clip_path(clip)
    for edge in section.named["wet"]:
        points = edge_path(section, edge)
        (line_artist,) = ax.plot(
            points[:, 1], points[:, 0], color=SEA, lw=2.0, solid_capstyle="round", zorder=4
        )
        if clip is not None:
            line_artist.set_clip_path(clip)


def press(
    ax: Axes, section: Section, name: str, view: View, colour: str, window: Window | None = None
) -> None:
    """Arrows that press on the edges of a name."""
    pieces = outward(section, name)
    if window is not None:
        pieces = [p for p in (_inside(piece, window) for piece in pieces) if p is not None]
    if not pieces:
        return
    points, normals = evenly(pieces, SPACING * view.mm)
    if not len(points):
        return
    solid = [drawn_path(part_loops(section, part)) for part in parts_of(section)]
    kept: list[Floats] = []
    for point, normal in zip(points, normals, strict=True):
        foot = (point + (ARROW + 2) * view.mm * normal)[::-1]
        tip = (point + 1.5 * view.mm * normal)[::-1]
        # none through a neighbouring part or over another arrow
        crowded = [np.hypot(*(foot - other)) < 0.6 * SPACING * view.mm for other in kept]
        if any(crowded) or any(path.contains_point(foot) for path in solid):
            continue
        kept.append(foot)
        arrow(ax, (foot[0], foot[1]), (tip[0], tip[1]), colour)


def parts_of(section: Section) -> list[str]:
    """List the parts that a section has."""
    present = {region.part for region in section.regions.values()}
    return [part for part in PARTS if part in present]


def _inside(piece: tuple[Floats, Floats], window: Window) -> tuple[Floats, Floats] | None:
    """Keep what of a finely divided edge lies in a window."""
    path, normal = piece
    along = np.concatenate([[0], np.cumsum(np.linalg.norm(np.diff(path, axis=0), axis=1))])
    fine = np.linspace(0, along[-1], 201)
    path = np.stack([np.interp(fine, along, path[:, i]) for i in (0, 1)], axis=1)
    normal = np.stack([np.interp(fine, along, normal[:, i]) for i in (0, 1)], axis=1)
    z0, z1, r0, r1 = window
    kept = (path[:, 1] >= z0) & (path[:, 1] <= z1) & (path[:, 0] >= r0) & (path[:, 0] <= r1)
    return (path[kept], normal[kept]) if kept.sum() > 1 else None


def load_words(case: Case) -> str:
    """Sea pressure in words, with the depth it belongs to."""
    pressure = duty_pressure(case)
    depth = case.duty.depth
    if depth is None:
        near = depth_at(pressure, case.duty.latitude)
        return f"sea pressure {pressure:.4g} MPa (about {near:.0f} m)"
    return f"sea pressure {pressure:.4g} MPa ({depth:.6g} m)"


def material_words(case: Case, section: Section) -> dict[str, str]:
    """Name of the material card, or cards, of each part."""
    names: dict[str, list[str]] = {}
    for region in section.regions.values():
        cards = (
            [ply.card for ply in section.layers[region.material].plies]
            if region.part == "wall"
            else [region.material]
        )
        own = names.setdefault(region.part, [])
        own += [card for card in dict.fromkeys(cards) if card not in own]
    return {part: " + ".join(names[part]) for part in PARTS if part in names}
