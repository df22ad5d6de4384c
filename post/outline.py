"""Outlines of a section's parts, its wet surface and the window around the joint, for drawing.

All in (r, z), mm; drawings put z to the right and r upwards.
"""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np
from matplotlib.path import Path
from numpy.typing import NDArray

from geometry.section import Face, Section

Floats = NDArray[np.float64]

ARC_POINTS = 33
STRAIGHT = np.array([0.0, 1.0])
ARC = np.linspace(0.0, 1.0, ARC_POINTS)
Window = tuple[float, float, float, float]  # z from, z to, r from, r to


def edge_path(section: Section, edge: int) -> Floats:
    """Points along an edge from its start to its end, (n, 2); an arc as a fine polygon."""
    found = section.edges[edge]
    return section.edge_points(found, STRAIGHT if found.centre is None else ARC)


def loops(section: Section, faces: Iterable[Face]) -> list[Floats]:
    """List the closed outlines of a group of faces, without the edges between them.

    Returns
    -------
    list of (n, 2) arrays
        Each runs counter-clockwise in (r, z) and ends where it began.
    """
    used: dict[int, int] = {}
    for face in faces:
        for signed in face.loop:
            used[abs(signed) - 1] = 0 if abs(signed) - 1 in used else signed
    leaving: dict[int, list[int]] = {}
    for number, signed in used.items():
        if signed:
            edge = section.edges[number]
            leaving.setdefault(edge.start if signed > 0 else edge.end, []).append(signed)
    found = []
    while leaving:
        at = first = next(iter(leaving))
        pieces = []
        while True:
            signed = leaving[at].pop()
            if not leaving[at]:
                del leaving[at]
            edge, path = section.edges[abs(signed) - 1], edge_path(section, abs(signed) - 1)
            pieces.append(path if signed > 0 else path[::-1])
            at = edge.end if signed > 0 else edge.start
            if at == first:
                break
        found.append(np.vstack([pieces[0], *(piece[1:] for piece in pieces[1:])]))
    return found


def part_loops(section: Section, part: str) -> list[Floats]:
    """List the closed outlines of a part: ``wall``, ``adhesive``, ``ring`` or ``head``."""
    return loops(section, (f for f in section.faces if section.regions[f.region].part == part))


def drawn_path(outlines: Iterable[Floats]) -> Path:
    """One path in drawing coordinates (z right, r up) of closed outlines."""
    vertices, codes = [], []
    for outline in outlines:
        vertices.append(outline[:, ::-1])
        codes += [Path.MOVETO, *[Path.LINETO] * (len(outline) - 2), Path.CLOSEPOLY]
    return Path(np.vstack(vertices), codes)


def outward(section: Section, name: str) -> list[tuple[Floats, Floats]]:
    """Points and outward unit normals along the outline edges of a name, edge by edge.

    Returns
    -------
    list of ((n, 2), (n, 2))
        The outline runs counter-clockwise in (r, z), so outwards is to its right: (dz, -dr).
    """
    wanted = set(section.named.get(name, ()))
    found = []
    for face in section.faces:
        for signed in face.loop:
            if abs(signed) - 1 in wanted:
                path = edge_path(section, abs(signed) - 1)
                path = path if signed > 0 else path[::-1]
                slope = np.gradient(path, axis=0)
                normal = np.stack([slope[:, 1], -slope[:, 0]], axis=1)
                found.append((path, normal / np.linalg.norm(normal, axis=1, keepdims=True)))
    return found


def evenly(pieces: list[tuple[Floats, Floats]], spacing: float) -> tuple[Floats, Floats]:
    """Places about `spacing` apart in the middle of equal parts of each piece, with normals."""
    points, normals = [], []
    for path, normal in pieces:
        along = np.concatenate([[0], np.cumsum(np.linalg.norm(np.diff(path, axis=0), axis=1))])
        count = int(along[-1] / spacing + 0.5)
        at = (np.arange(count) + 0.5) / max(count, 1) * along[-1]
        points.append(np.stack([np.interp(at, along, path[:, i]) for i in (0, 1)], axis=1))
        normals.append(np.stack([np.interp(at, along, normal[:, i]) for i in (0, 1)], axis=1))
    return np.vstack(points), np.vstack(normals)


def extent(section: Section) -> Window:
    """Box around the whole section: z from, z to, r from, r to."""
    paths = np.vstack([edge_path(section, edge) for edge in range(len(section.edges))])
    return 0.0, float(paths[:, 1].max()), 0.0, float(paths[:, 0].max())


def joint_window(section: Section, air: float = 0.6) -> Window:
    """Box around ring and bonds with some wall and head beside them.

    Parameters
    ----------
    section : Section
    air : float
        How much room above and below, as a share of that to the right.
    """
    joint = np.vstack([*part_loops(section, "ring"), *part_loops(section, "adhesive")])
    (r0, z0), (r1, z1) = joint.min(axis=0), joint.max(axis=0)
    glue = np.vstack(part_loops(section, "adhesive"))
    # a long web or a wide flange says nothing about the bonds: keep what is near them
    reach = max(np.ptp(glue[:, 0]), np.ptp(glue[:, 1]))
    z1 = min(z1, glue[:, 1].max() + 2.5 * reach)
    r0, r1 = max(r0, glue[:, 0].min() - reach), min(r1, glue[:, 0].max() + reach)
    side = 0.12 * max(z1 - z0, r1 - r0)
    return max(0.0, z0 - 2 * side), z1 + side, max(0.0, r0 - air * side), r1 + air * side
