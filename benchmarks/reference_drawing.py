"""The section of a joint composed of solids in words, for the reference from outside.

Formulation
    The wall is a rectangle with its edges cut off, the ring a body with lips, the adhesive what
    lies between them, the head a box or a quarter of a ring. netgen's geometry kernel unites,
    cuts and intersects; nothing of the project's own drawing is used, only the numbers of a case.
Units
    mm.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from netgen.occ import WorkPlane
from numpy.typing import NDArray

from benchmarks.reference_plies import layers
from geometry.case import Case

Floats = NDArray[np.float64]
Point = tuple[float, float]

SMALL = 1e-6  # mm


@dataclass(frozen=True)
class Line:
    """The mid-thickness line of a bond, as the words of the trade place it.

    Attributes
    ----------
    start, along, across : (r, z)
        At s = 0, along growing s, from wall to ring.
    length, thickness : float
    wall, ring : callables
        Distance of the wall's and of the ring's face from the line at s, along `across`.
    """

    start: Point
    along: Point
    across: Point
    length: float
    thickness: float
    wall: Callable[[float], float]
    ring: Callable[[float], float]

    def points(self, s: Floats) -> Floats:
        """Half way between the faces, (2, n)."""
        middle = np.array([(self.wall(x) + self.ring(x)) / 2 for x in s])
        return (
            np.asarray(self.start)[:, None]
            + np.outer(self.along, s)
            + np.outer(self.across, middle)
        )


@dataclass(frozen=True)
class Drawing:
    """Shapes by region, lines of the bonds, and what is needed to name edges.

    Attributes
    ----------
    shapes : dict of str to shape
        Regions: the names of the layers, ``adhesive``, ``ring``, ``head``.
    lines : dict of str to Line
    ring_end : float
        Height of the ring's end face.
    ring_outer, ring_inner : float
        Radii of that face.
    """

    shapes: dict[str, object]
    lines: dict[str, Line]
    ring_end: float
    ring_inner: float
    ring_outer: float


def polygon(*corners: Point) -> object:
    """Face within straight sides, given either way round."""
    r, z = np.array(corners).T
    if np.sum(r * np.roll(z, -1) - np.roll(r, -1) * z) < 0:
        corners = corners[::-1]  # the faces of one plane must all look the same way
    plane = WorkPlane().MoveTo(*corners[0])
    for corner in corners[1:]:
        plane.LineTo(*corner)
    return plane.Close().Face()


def box(r0: float, r1: float, z0: float, z1: float) -> object:
    """Rectangle, in any order of its sides."""
    (r0, r1), (z0, z1) = sorted((r0, r1)), sorted((z0, z1))
    return polygon((r0, z0), (r1, z0), (r1, z1), (r0, z1))


def disc(r: float, z: float, radius: float) -> object:
    """Full disc."""
    return WorkPlane().Circle(r, z, radius).Face()


def draw(case: Case) -> Drawing:
    """Compose the section of a case."""
    drawing = _scarf(case) if case.joint.form == "scarf" else _square(case)
    head, base = case.head, drawing.ring_end
    if head.form == "flat":
        drawing.shapes["head"] = box(0.0, drawing.ring_outer, base, base + head.thickness)
    elif head.form == "hemisphere":
        middle = case.wall.bore_radius + case.wall.thickness / 2
        inner = middle - head.thickness / 2 if head.inner_radius is None else head.inner_radius
        outer = inner + head.thickness
        quarter = box(0.0, 2 * outer, base, base + 2 * outer)
        drawing.shapes["head"] = (disc(0.0, base, outer) - disc(0.0, base, inner)) * quarter
    return drawing


def _square(case: Case) -> Drawing:
    """Wall with a square end: butt, inner-lap, outer-lap, socket."""
    joint, ring, wall = case.joint, case.ring, case.wall
    a, b, end = wall.bore_radius, wall.bore_radius + wall.thickness, wall.half_length
    gap, cut, root = joint.bond_thickness.end, wall.edge_chamfer, ring.root_radius
    floor = end + gap
    top = floor + ring.web
    body = polygon(
        (a, 0.0),
        (b, 0.0),
        *([(b, end - cut), (b - cut, end), (a + cut, end), (a, end - cut)] if cut else []),
        *([] if cut else [(b, end), (a, end)]),
    )
    shapes: dict[str, object] = {
        name: body * box(inner, outer, 0.0, end) for name, inner, outer, _ in layers(case)
    }
    lips = {
        "inner": joint.form in ("inner-lap", "socket"),
        "outer": joint.form in ("outer-lap", "socket"),
    }
    metal, glue, lines, edge = [], [], {}, {}
    for side, way, surface in (("inner", -1.0, a), ("outer", 1.0, b)):
        own = getattr(ring, f"{side}_radius")
        if lips[side]:
            t = getattr(joint.bond_thickness, side)
            tip = end - getattr(joint.overlap, side)
            face = surface + way * t
            thick, thin = getattr(ring.lip, side), getattr(ring.lip_tip, side)
            edge[side] = face + way * thick if own is None else own
            metal.append(
                polygon(
                    (face, tip),
                    (face, floor),
                    (face + way * thick, floor),
                    (face + way * thin, tip),
                )
            )
            metal.append(box(face, edge[side], floor, top))
            glue.append(box(face, surface - way * max(root - t, cut, SMALL * 1e3), tip, floor))
            if root:
                corner = box(face, face - way * root, floor - root, floor)
                metal.append(corner - disc(face - way * root, floor - root, root))
            if joint.squeeze_out:
                glue.append(
                    polygon((surface, tip - joint.squeeze_out), (surface, tip), (face, tip))
                )
            lines[side] = Line(
                (surface + way * t / 2, tip),
                (0.0, 1.0),
                (way, 0.0),
                end - tip,
                t,
                lambda s, t=t, tip=tip: -t / 2 - max(0.0, tip + s - (end - cut)),
                lambda s, t=t, tip=tip: t / 2 - _bulge(tip + s - (floor - root), root),
            )
        else:
            edge[side] = surface if own is None else own
            foot = surface - way * cut
            left = min(joint.squeeze_out, abs(edge[side] - foot))
            if left > SMALL:
                glue.append(polygon((foot, end), (foot, floor), (foot + way * left, floor)))
    # the end bond reaches the grooves, or the feet of the chamfers where it is open
    low = a - joint.bond_thickness.inner if lips["inner"] else a + cut
    high = b + joint.bond_thickness.outer if lips["outer"] else b - cut
    glue.append(box(low, high, end, floor))
    metal.append(box(edge["inner"], edge["outer"], floor, top))

    # measured from the open edge; from the bore's side where both or none are open
    reverse = lips["inner"] and not lips["outer"]
    start, stop = (a if lips["inner"] else a + cut), (b if lips["outer"] else b - cut)
    way = -1.0 if reverse else 1.0

    def wall_face(s: float) -> float:
        r = (stop if reverse else start) + way * s
        depth = max(0.0, a + cut - r) if lips["inner"] else 0.0
        return -gap / 2 - depth - (max(0.0, r - (b - cut)) if lips["outer"] else 0.0)

    def ring_face(s: float) -> float:
        r = (stop if reverse else start) + way * s
        depth = 0.0
        if lips["inner"]:
            depth += _bulge(a - joint.bond_thickness.inner + root - r, root)
        if lips["outer"]:
            depth += _bulge(r - (b + joint.bond_thickness.outer - root), root)
        return gap / 2 - depth

    lines["end"] = Line(
        (stop if reverse else start, end + gap / 2),
        (way, 0.0),
        (0.0, 1.0),
        stop - start,
        gap,
        wall_face,
        ring_face,
    )
    shapes["ring"] = _united(metal)
    shapes["adhesive"] = _united(glue) - body - shapes["ring"]
    return Drawing(shapes, lines, top, edge["inner"], edge["outer"])


def _bulge(depth: float, radius: float) -> float:
    """How far a quarter round of metal fills a groove, at a depth into it."""
    return radius - float(np.sqrt(radius**2 - min(max(depth, 0.0), radius) ** 2))


def _scarf(case: Case) -> Drawing:
    """Wall with a conical end on a ring's tongue."""
    joint, ring, wall = case.joint, case.ring, case.wall
    a, b, end, gap = (
        wall.bore_radius,
        wall.bore_radius + wall.thickness,
        wall.half_length,
        joint.bond_thickness.scarf,
    )
    side = "inner" if joint.overlap.inner is not None else "outer"
    slope = getattr(joint.overlap, side)
    near, far, way = (a, b, 1.0) if side == "inner" else (b, a, -1.0)
    angle = np.arctan2(wall.thickness, slope)
    lift = gap / np.sin(angle)  # axial distance of the two faces
    tip = end - slope
    lip = getattr(ring.lip, side) or 0.0
    top = end + lift + ring.web
    own = getattr(ring, "outer_radius" if side == "inner" else "inner_radius")
    flange = far if own is None else own
    body = polygon((near, 0.0), (far, 0.0), (far, end), (near, tip))
    shapes: dict[str, object] = {
        name: body * box(inner, outer, 0.0, end) for name, inner, outer, _ in layers(case)
    }
    out = near - way * lip
    back = gap / np.cos(angle)  # radial distance of the two faces
    if lip > 0:
        glue = [polygon((near, tip), (far, end), (far, end + lift), (near - way * back, tip))]
        metal = [
            polygon((near - way * back, tip), (far, end + lift), (far, top), (out, top), (out, tip))
        ]
        if joint.squeeze_out:
            glue.append(
                polygon((near, tip - joint.squeeze_out), (near, tip), (near - way * back, tip))
            )
        start = (near - way * back / 2, tip)
    else:
        glue = [polygon((near, tip), (far, end), (far, end + lift), (near, tip + lift))]
        metal = [polygon((near, tip + lift), (far, end + lift), (far, top), (near, top))]
        start = (near, tip + lift / 2)
    if abs(flange - far) > SMALL:
        metal.append(box(far, flange, end + lift, top))
    stop = (far, end + lift / 2)
    along = (way * float(np.sin(angle)), float(np.cos(angle)))
    line = Line(
        start,
        along,
        (-way * along[1], abs(along[0])),
        float(np.hypot(stop[0] - start[0], stop[1] - start[1])),
        gap,
        lambda s: -gap / 2,
        lambda s: gap / 2,
    )
    shapes["ring"] = _united(metal)
    shapes["adhesive"] = _united(glue) - body
    return Drawing(shapes, {"scarf": line}, top, min(out, flange), max(out, flange))


def _united(parts: list[object]) -> object:
    whole = parts[0]
    for part in parts[1:]:
        whole = whole + part
    return whole.UnifySameDomain()
