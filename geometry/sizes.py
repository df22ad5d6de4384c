"""Element sizes: where the elastic field needs small elements, and how edges are divided.

Problem
    Stress is unbounded at bond ends and re-entrant corners of an elastic joint and varies fast
    across a bond that may be a hundred times thinner than the wall. Element size must follow the
    distance from such points, or a single bond eats the whole mesh.
Formulation
    One size function h(x) = min over hot points of (h0 + growth * distance), capped by region.
    An edge is divided into equal shares of the integral of 1/h along it. Opposite sides of
    row-by-row faces form classes that share one division, made for the smallest h in the class,
    so that rows run through wall and bonds without a break. Sizes go as 2**(1 - level).
Units
    mm.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from geometry.even_rows import even_divisions
from geometry.section import Edge, Face, Section

Floats = NDArray[np.float64]

SAMPLES = 400  # points at which the size is integrated along an edge
OPEN_POINTS = 5000  # on an open edge: one that is longer makes a mesh that is refused


@dataclass(frozen=True)
class Grading:
    """Sizes at level 1 as shares of a local thickness; the defaults are measured choices.

    Attributes
    ----------
    bond_corner : float
        Size at the corners of a bond, of its thickness.
    metal_corner : float
        Size at re-entrant corners of metal, of the head's seat.
    open_edge : float
        Size along the free surface of a bond and where wall layers meet it, of its thickness.
    growth : float
        Growth of size per distance from such a point.
    through_bond : int
        Least number of elements through a bond, at any level.
    along_bond : int
        Least number of elements along a bond.
    arc : float
        Largest turn of an arc within one element, degrees, at any level.
    wall : float
        Largest element in the wall, of its thickness.
    free : float
        Largest element in a free face, of its mean width.
    bond_step : float
        Where above 0: elements of one length along bonds and fillets, of the bond's thickness.
    bond_most : int
        Where above 0: no more elements along a bond at level 1, however thin it is.
    bond_rows : int
        Where above 0: that many rows of one height through a bond.
    marks : tuple of (str, str, float, float)
        Places that become corners of elements where `bond_step` is used: bond, face (``wall``,
        ``ring`` or ``middle``), s, and the length of the elements there, both mm.
    """

    bond_corner: float = 0.02
    metal_corner: float = 0.002
    growth: float = 0.4
    open_edge: float = 0.3
    through_bond: int = 4
    along_bond: int = 8
    arc: float = 15.0
    wall: float = 0.6
    free: float = 0.8
    bond_step: float = 0.0
    bond_most: int = 0
    bond_rows: int = 0
    marks: tuple[tuple[str, str, float, float], ...] = ()


def divide_edges(section: Section, level: int, grading: Grading) -> list[Floats]:
    """Divide every edge of a section.

    Parameters
    ----------
    section : Section
    level : int
        Sizes go as 2**(1 - level).
    grading : Grading

    Returns
    -------
    list of (k,) arrays
        For each edge the fractions of its length, from 0 to 1, at which element corners lie.
    """
    points, sizes = hot_points(section, grading)
    caps, least = _edge_limits(section, grading)
    leader, flipped = _classes(section)
    t = np.linspace(0.0, 1.0, SAMPLES + 1)
    t = t - np.sin(2 * np.pi * t) / (2 * np.pi)  # dense at the ends, where the sizes are small

    density: dict[int, Floats] = {}
    for number, edge in enumerate(section.edges):
        x = section.edge_points(edge, t)
        some = _that_count(x, points, sizes, grading.growth, caps[number])
        distance = np.hypot(x[:, None, 0] - points[some, 0], x[:, None, 1] - points[some, 1])
        near = (sizes[some] + grading.growth * distance).min(axis=1, initial=np.inf)
        size = np.minimum(near, caps[number])
        share = section.edge_length(edge) / size
        if flipped[number]:
            share = share[::-1]
        top = leader[number]
        density[top] = np.maximum(density[top], share) if top in density else share

    needed: dict[int, int] = {}
    for number, count in enumerate(least):
        needed[leader[number]] = max(needed.get(leader[number], 1), count)

    divisions: dict[int, Floats] = {}
    for top, share in density.items():
        # t is symmetric about 1/2, so a reversed edge has the reversed samples
        total = np.concatenate([[0.0], np.cumsum((share[1:] + share[:-1]) / 2 * np.diff(t))])
        count = max(needed[top], int(np.ceil(2.0 ** (level - 1) * total[-1] - 1e-6)))
        divisions[top] = np.interp(np.linspace(0, total[-1], count + 1), total, t)
        divisions[top][[0, -1]] = 0.0, 1.0
    divisions |= even_divisions(section, level, grading, leader, flipped)
    return [
        1 - divisions[leader[n]][::-1] if flipped[n] else divisions[leader[n]]
        for n in range(len(section.edges))
    ]


def _that_count(
    x: Floats, points: Floats, sizes: Floats, growth: float, cap: float
) -> NDArray[np.bool_]:
    """Which hot points can set the size somewhere on an edge; the others are left out.

    With m the middle of the samples x and c their reach from it, the size that a point at
    distance d of m asks for lies between h0 + growth (d - c) and h0 + growth (d + c).
    """
    if not len(points):
        return np.zeros(0, bool)
    middle = (x.min(axis=0) + x.max(axis=0)) / 2
    reach = float(np.hypot(*(x - middle).T).max())
    size = sizes + growth * np.hypot(*(points - middle).T)
    room = growth * reach * (1 + 1e-9)
    return np.asarray(size - room <= min(float(size.min()) + room, cap))


def hot_points(section: Section, grading: Grading) -> tuple[Floats, Floats]:
    """Points where the elastic field has no bounded stress, and the size wanted there.

    A point is calm when it is inside one part, on a smooth stretch of interface or outline, or
    at a convex corner of one part; the wall's layers count as one part, and so do ring and head.
    Where layers of the wall meet at a bond the stress is weakly singular: it gets the size of a
    bond's free surface.

    Parameters
    ----------
    section : Section
    grading : Grading

    Returns
    -------
    points : (k, 2) array of (r, z)
    sizes : (k,) array
        Element size at level 1, mm.
    """
    wedges: dict[int, dict[str, float]] = {}
    layers: dict[int, set[str]] = {}
    for face in section.faces:
        part = section.regions[face.region].part
        part = "ring" if part == "head" else part
        for one, two in zip(face.loop, [*face.loop[1:], face.loop[0]], strict=True):
            at, into = _leaving(section, two)
            _, back = _leaving(section, -one)
            around = wedges.setdefault(at, {})
            around[part] = around.get(part, 0.0) + float((back - into) % (2 * np.pi))
            if part == "wall":
                layers.setdefault(at, set()).add(face.region)

    lines = [(b.faces(np.linspace(0, b.length, 200))[1], b.thickness) for b in section.bonds]
    seat = _least_seat(section)
    points, sizes = _open_edges(section, lines, grading)
    for edge in section.edges:
        if edge.centre is not None:  # what lies beside a small arc must not dwarf its elements
            size, count = _arc_size(section, edge, grading)
            points += list(section.edge_points(edge, np.linspace(0, 1, count + 1)))
            sizes += [size] * (count + 1)
    for at, around in wedges.items():
        here = section.points[at]
        if here[0] < 1e-6 or here[1] < 1e-6:
            continue  # on the axis or the symmetry plane
        angles = list(around.values())
        if len(angles) == 1:
            calm = angles[0] < np.pi + 1e-3 or angles[0] > 2 * np.pi - 1e-3
        else:
            calm = len(angles) == 2 and all(abs(a - np.pi) < 1e-3 for a in angles)
        if calm and not ("adhesive" in around and len(layers.get(at, ())) > 1):
            continue
        if calm:  # layers that meet at a bond's face
            size = grading.open_edge * _gap_near(lines, here)
        elif "adhesive" in around:
            size = grading.bond_corner * _gap_near(lines, here)
        else:
            size = grading.metal_corner * seat
        points.append(here)
        sizes.append(size)
    return np.array(points).reshape(-1, 2), np.array(sizes)


def _gap_near(lines: list[tuple[Floats, float]], here: Floats) -> float:
    """Thickness of the bond nearest to a point, mm."""
    distance = [float(np.min(np.hypot(*(line - here[:, None])))) for line, _ in lines]
    return lines[int(np.argmin(distance))][1]


def _open_edges(
    section: Section, lines: list[tuple[Floats, float]], grading: Grading
) -> tuple[list[Floats], list[float]]:
    """Points along the free surface of the adhesive, which may run at a slant for long."""
    points, sizes = [], []
    surface = {e for name in ("wet", "dry") for e in section.named.get(name, ())}
    for face in section.faces:
        if section.regions[face.region].part != "adhesive":
            continue
        for number in {abs(signed) - 1 for signed in face.loop} & surface:
            edge = section.edges[number]
            gap = _gap_near(lines, section.edge_points(edge, np.array([0.5]))[0])
            count = min(int(np.ceil(section.edge_length(edge) / gap)), OPEN_POINTS)
            points += list(section.edge_points(edge, (np.arange(count) + 0.5) / count))
            sizes += [grading.open_edge * gap] * count
    return points, sizes


def _arc_size(section: Section, edge: Edge, grading: Grading) -> tuple[float, int]:
    """Largest element on an arc, mm, and the number of elements that makes."""
    radius = np.hypot(*(section.points[edge.start] - np.asarray(edge.centre)))
    length = section.edge_length(edge)
    count = int(np.ceil(np.degrees(length / radius) / grading.arc - 1e-6))
    return length / count, count


def _leaving(section: Section, signed: int) -> tuple[int, float]:
    """Start of a signed edge and the angle at which the edge leaves it."""
    edge = section.edges[abs(signed) - 1]
    start, step = (edge.start, 1e-6) if signed > 0 else (edge.end, 1 - 1e-6)
    r, z = section.edge_points(edge, np.array([step]))[0] - section.points[start]
    return start, float(np.arctan2(z, r))


def _least_seat(section: Section) -> float:
    """Measure the shorter of head's seat and ring's end face, a scale for metal corners.

    Infinite in a section that has neither.
    """
    lengths = [
        sum(section.edge_length(section.edges[e]) for e in section.named.get(name, ()))
        for name in ("ring|head", "closure")
    ]
    return min((length for length in lengths if length > 0), default=np.inf)


def _edge_limits(section: Section, grading: Grading) -> tuple[list[float], list[int]]:
    """Largest size (level 1) and least number of elements on each edge."""
    caps = [np.inf] * len(section.edges)
    least = [1] * len(section.edges)
    interfaces = {e for name, edges in section.named.items() if "|" in name for e in edges}
    wall = sum(layer.thickness for layer in section.layers.values())
    length = {bond.region: bond.length for bond in section.bonds}
    for number, edge in enumerate(section.edges):
        if edge.centre is not None:
            least[number] = _arc_size(section, edge, grading)[1]
    for face in section.faces:
        numbers = [abs(signed) - 1 for signed in face.loop]
        if face.region in length:
            cap = length[face.region] / grading.along_bond
            for side in face.sides:
                for signed in side:
                    if abs(signed) - 1 not in interfaces:
                        least[abs(signed) - 1] = grading.through_bond
        elif section.regions[face.region].part == "wall":
            cap = grading.wall * wall
        else:
            cap = grading.free * _mean_width(section, face)
        for number in numbers:
            caps[number] = min(caps[number], cap)
    return caps, least


def _mean_width(section: Section, face: Face) -> float:
    """Twice the area over the perimeter: the width of a long face."""
    t = np.linspace(0, 1, 17)
    path, perimeter = [], 0.0
    for signed in face.loop:
        edge = section.edges[abs(signed) - 1]
        x = section.edge_points(edge, t)
        path.append((x if signed > 0 else x[::-1])[:-1])
        perimeter += section.edge_length(edge)
    r, z = np.vstack(path).T
    return float(abs(np.sum(r * np.roll(z, -1) - np.roll(r, -1) * z)) / perimeter)


def _classes(section: Section) -> tuple[list[int], list[bool]]:
    """Edges that must be divided alike: opposite sides of row-by-row faces.

    Returns
    -------
    leader : list of int
        The edge that stands for each edge's class.
    flipped : list of bool
        Whether the edge runs against its leader.
    """
    leader = list(range(len(section.edges)))
    flipped = [False] * len(section.edges)
    members = {n: [n] for n in leader}
    for face in section.faces:
        if not face.sides or any(len(side) != 1 for side in face.sides):
            continue
        for one, two in ((0, 2), (1, 3)):
            p, q = face.sides[one][0], face.sides[two][0]
            e, f = abs(p) - 1, abs(q) - 1
            # around the loop opposite sides run against each other
            against = flipped[e] ^ flipped[f] ^ (p < 0) ^ (q < 0) ^ True
            keep, drop = sorted((leader[e], leader[f]))
            if keep == drop:
                continue
            for n in members.pop(drop):
                leader[n] = keep
                flipped[n] ^= against
                members[keep].append(n)
    return leader, flipped
