"""From outlines of faces to one planar graph with named edges.

Problem
    Faces are listed one by one and touch along parts of their sides. The mesh wants a graph in
    which every edge is shared whole by its two faces, and edges want names.
Formulation
    Points nearer than a tolerance are one; every side is cut at the points that lie on it; the
    outline, run counter-clockwise from the plane of symmetry, is wet until the axis or the
    closing face and dry after it.
Units
    mm.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np
from numpy.typing import NDArray

from geometry.section import TOLERANCE, Edge, Face, Outline, Point, Region


def conform(
    outlines: Sequence[Outline], regions: dict[str, Region]
) -> tuple[NDArray[np.float64], tuple[Edge, ...], tuple[Face, ...]]:
    """Join the outlines of faces into one planar graph without hanging points.

    Parameters
    ----------
    outlines : sequence of Outline
        Faces that touch but do not overlap.
    regions : dict of str to Region
        The regions that the outlines name.

    Returns
    -------
    points, edges, faces
        As in `Section`. A straight four-cornered face of wall or adhesive gets its `sides`.

    Raises
    ------
    KeyError
        When an outline names no region.
    """
    points: list[Point] = []
    lookup: dict[tuple[int, int], int] = {}

    def index(point: Point) -> int:
        cell = tuple(int(round(x / (10 * TOLERANCE))) for x in point)
        for dr in (-1, 0, 1):
            for dz in (-1, 0, 1):
                found = lookup.get((cell[0] + dr, cell[1] + dz))
                if found is not None and np.hypot(*np.subtract(points[found], point)) < TOLERANCE:
                    return found
        points.append(point)
        lookup[cell[0], cell[1]] = len(points) - 1
        return len(points) - 1

    rings = []
    for outline in outlines:
        corners = [index(p) for p in outline.corners]
        arcs = dict(outline.arcs)
        ring = [(corners[i], arcs.get(i)) for i in range(len(corners))]
        # sides of no length are left out (a taper that does not taper, say)
        keep = [i for i in range(len(ring)) if ring[i][0] != ring[(i + 1) % len(ring)][0]]
        ring = [ring[i] for i in keep]
        if _area([points[i] for i, _ in ring], [c for _, c in ring]) < 0:
            # reversed: the arc that left corner i now leaves corner i + 1
            n = len(ring)
            ring = [(ring[i][0], ring[i - 1][1]) for i in range(n - 1, -1, -1)]
        rings.append((outline.region, ring))

    xy = np.array(points)
    edges: list[Edge] = []
    number: dict[tuple[int, int], int] = {}
    faces = []
    for region, ring in rings:
        if region not in regions:
            raise KeyError(region)
        sides = []
        for i, (start, centre) in enumerate(ring):
            end = ring[(i + 1) % len(ring)][0]
            chain = [start, *_points_between(xy, start, end, centre), end]
            side = []
            for p, q in zip(chain[:-1], chain[1:], strict=True):
                if (q, p) in number:
                    side.append(-(number[q, p] + 1))
                    continue
                if (p, q) not in number:
                    number[p, q] = len(edges)
                    edges.append(Edge(p, q, centre))
                side.append(number[p, q] + 1)
            sides.append(tuple(side))
        loop = tuple(e for side in sides for e in side)
        straight = all(centre is None for _, centre in ring)
        by_rows = len(sides) == 4 and straight and regions[region].part in ("wall", "adhesive")
        faces.append(Face(region, loop, tuple(sides) if by_rows else ()))
    return xy, tuple(edges), tuple(faces)


def _area(corners: Sequence[Point], centres: Sequence[Point | None]) -> float:
    """Area inside a ring of corners, positive counter-clockwise; arcs about their centres."""
    r, z = np.array(corners).T
    total = float(np.sum(r * np.roll(z, -1) - np.roll(r, -1) * z) / 2)
    for i, centre in enumerate(centres):
        if centre is not None:
            # the segment between arc and chord
            start, end = np.array(corners[i]) - centre, np.array(corners[(i + 1) % len(r)]) - centre
            turn = np.arctan2(start[0] * end[1] - start[1] * end[0], start @ end)
            total += float(start @ start * (turn - np.sin(turn)) / 2)
    return total


def _points_between(
    points: NDArray[np.float64], start: int, end: int, centre: Point | None
) -> list[int]:
    """Points of the graph that lie on a side between its ends, in order along it."""
    a, b = points[start], points[end]
    if centre is None:
        length = np.hypot(*(b - a))
        direction = (b - a) / length
        offset = points - a
        position = offset @ direction / length
        distance = np.abs(offset[:, 0] * direction[1] - offset[:, 1] * direction[0])
    else:
        offset = points - np.asarray(centre)
        first = np.arctan2(*(a - np.asarray(centre))[::-1])
        turn = (np.arctan2(*(b - np.asarray(centre))[::-1]) - first + np.pi) % (2 * np.pi) - np.pi
        angle = (np.arctan2(offset[:, 1], offset[:, 0]) - first + np.pi) % (2 * np.pi) - np.pi
        position = angle / turn
        distance = np.abs(np.hypot(*offset.T) - np.hypot(*(a - np.asarray(centre))))
    on = (distance < TOLERANCE) & (position > 1e-9) & (position < 1 - 1e-9)
    return [int(i) for i in np.flatnonzero(on)[np.argsort(position[on])] if i not in (start, end)]


def name_edges(
    points: NDArray[np.float64],
    edges: Sequence[Edge],
    faces: Sequence[Face],
    regions: dict[str, Region],
    closure_z: float | None,
) -> dict[str, tuple[int, ...]]:
    """Name the edges of a conforming section.

    The outline is cut at the symmetry plane, at the axis and, without a head, at the ring's end
    face. Of the chains that are left, the sea touches the one that reaches the largest radius
    at z = 0; the other is the dry bore.

    Parameters
    ----------
    points, edges, faces, regions
        As from `conform`.
    closure_z : float or None
        Height of the ring's end face where there is no head.

    Returns
    -------
    dict of str to tuple of int
        See `Section.named`.

    Raises
    ------
    ValueError
        When the outline is not one closed loop (a hole in the section).
    """
    users: dict[int, list[str]] = {}
    forward: dict[int, int] = {}
    for face in faces:
        for signed in face.loop:
            users.setdefault(abs(signed) - 1, []).append(face.region)
            forward[abs(signed) - 1] = signed

    named: dict[str, list[int]] = {k: [] for k in ("wet", "dry", "symmetry", "axis", "closure")}
    for edge, names in users.items():
        if len(names) == 2:
            one, two = sorted((regions[n] for n in names), key=lambda r: _RANK[r.part])
            if one.part != two.part:
                far = two.part
                key = f"{one.name if one.part == 'adhesive' else one.part}|{far}"
                named.setdefault(key, []).append(edge)

    outline = {edge: forward[edge] for edge, names in users.items() if len(names) == 1}
    for chain in _chains(points, edges, outline):
        kinds: list[str] = []
        for edge in chain:
            ends = points[[edges[edge].start, edges[edge].end]]
            if np.all(np.abs(ends[:, 1]) < TOLERANCE):
                kinds.append("symmetry")
            elif np.all(np.abs(ends[:, 0]) < TOLERANCE):
                kinds.append("axis")
            elif closure_z is not None and np.all(np.abs(ends[:, 1] - closure_z) < TOLERANCE):
                kinds.append("closure")
            else:
                kinds.append("")
        # the loop runs counter-clockwise in (r, z): from the symmetry plane it leaves at the
        # largest radius, so what comes after the symmetry edges is wet until axis or closure
        if "symmetry" not in kinds:
            raise ValueError("the section has a hole: its outline is not one closed loop")
        start = kinds.index("symmetry")
        order = [(start + i) % len(chain) for i in range(len(chain))]
        water = "wet"
        for i in order:
            if kinds[i] in ("axis", "closure"):
                water = "dry"
            named[kinds[i] or water].append(chain[i])
    return {key: tuple(value) for key, value in named.items() if value}


_RANK = {"adhesive": 0, "ring": 1, "wall": 2, "head": 3}


def _chains(
    points: NDArray[np.float64], edges: Sequence[Edge], outline: dict[int, int]
) -> Iterator[list[int]]:
    """Yield closed loops of the outline's edges, each in its counter-clockwise order."""
    leaving = {(edges[e].start if signed > 0 else edges[e].end): e for e, signed in outline.items()}
    if len(leaving) != len(outline):
        raise ValueError("the section has a hole: its outline is not one closed loop")
    left = set(outline)
    while left:
        edge = min(left)
        chain = []
        while edge in left:
            left.discard(edge)
            chain.append(edge)
            edge = leaving[edges[edge].end if outline[edge] > 0 else edges[edge].start]
        yield chain
