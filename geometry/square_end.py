"""Butt, laps and socket: the wall ends square, an end bond and the ring's web follow.

Formulation
    The ring may send a lip along the bore, along the outside, or both. The two sides are mirror
    images and one class serves both (`_Side`). Wall rows are cut wherever a bond begins or ends
    on either side, bonds wherever wall rows or layers are, so that rows of elements run through.
Units
    mm.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from geometry.errors import refuse
from geometry.layup import Layer
from geometry.parts import Parts, apart, given, in_mm
from geometry.section import TOLERANCE, BondLine, Outline, Point

if TYPE_CHECKING:
    from geometry.case import Case

# Least adhesive left between a wall corner and the groove's root radius, as a share of the bond.
ROOT_CLEARANCE = 0.2
# Least straight bond beside chamfer and root radius, in bond thicknesses.
LEAST_STRAIGHT = 1.0


def square_end(case: Case, layers: tuple[Layer, ...]) -> Parts:
    """Faces of butt, inner-lap, outer-lap and socket joints."""
    joint, ring, wall = case.joint, case.ring, case.wall
    a, b, end = wall.bore_radius, layers[-1].outer_radius, wall.half_length
    has = {
        "inner": joint.form in ("inner-lap", "socket"),
        "outer": joint.form in ("outer-lap", "socket"),
    }
    gap_end = given(joint.bond_thickness.end)
    floor = end + gap_end
    chamfer, root = wall.edge_chamfer, ring.root_radius
    if 2 * chamfer >= 0.9 * (b - a):
        refuse(
            case,
            "wall.edge_chamfer",
            in_mm(chamfer),
            f"less than 0.45 of the wall's thickness ({in_mm(0.45 * (b - a))})",
        )

    # The two sides are mirror images: `way` is -1 at the bore and +1 outside.
    sides = {
        side: _Side(case, side, way, surface, floor, has[side])
        for side, way, surface in (("inner", -1.0, a), ("outer", 1.0, b))
    }
    inner, outer = sides["inner"], sides["outer"]
    if outer.end_bond - inner.end_bond < gap_end * LEAST_STRAIGHT:
        if max(root, chamfer) == 0:  # nothing is cut off the wall's end: the bond is too thick
            most = (outer.end_bond - inner.end_bond) / LEAST_STRAIGHT
            allowed = f"up to {in_mm(most)}: the end bond reaches across the wall's end"
            refuse(case, "joint.bond_thickness.end", in_mm(gap_end), allowed)
        field = "ring.root_radius" if root > chamfer else "wall.edge_chamfer"
        refuse(
            case,
            field,
            in_mm(max(root, chamfer)),
            "small enough to leave a straight end bond across the wall's end",
        )

    # ring, counter-clockwise from the inside of its end face
    web = floor + ring.web
    corners: list[Point] = [
        (inner.body, web),
        *inner.ring_profile(),
        *reversed(outer.ring_profile()),
        (outer.body, web),
    ]
    arcs: list[tuple[int, Point]] = []
    if root > 0:
        for side in (inner, outer):
            if side.lip:
                start = corners.index(side.arc_start if side is inner else side.arc_end)
                arcs.append((start, side.arc_centre))
    outlines = [Outline("ring", tuple(corners), tuple(arcs))]

    # The wall is cut into rows wherever a bond begins or ends on either side, and bonds are cut
    # where wall rows or layers are, so that rows run through both.
    levels = apart({0.0, end} | inner.wall_breaks() | outer.wall_breaks())
    bonds = []
    for side in (inner, outer):
        outlines += side.adhesive(levels)
        if side.lip:
            bonds.append(side.bondline())
    cuts = apart(
        {inner.end_bond, outer.end_bond}
        | {
            layer.outer_radius
            for layer in layers
            if inner.end_bond < layer.outer_radius < outer.end_bond
        }
    )
    for r0, r1 in zip(cuts[:-1], cuts[1:], strict=True):
        outlines.append(Outline("bond-end", ((r0, end), (r1, end), (r1, floor), (r0, floor))))
    bonds.insert(1 if inner.lip else 0, _end_bondline(end, gap_end, inner, outer))

    # wall
    for layer in layers:
        for low, high in zip(levels[:-1], levels[1:], strict=True):
            box = [
                (layer.inner_radius, low),
                (layer.outer_radius, low),
                (layer.outer_radius, high),
                (layer.inner_radius, high),
            ]
            if chamfer > 0 and high > end - chamfer + TOLERANCE:
                # r - z <= b - (end - chamfer) and -r - z <= -a - (end - chamfer)
                box = _clip(box, (1.0, 1.0), b + end - chamfer)
                box = _clip(box, (-1.0, 1.0), -a + end - chamfer)
            if len(box) > 2:
                outlines.append(Outline(layer.name, tuple(box)))

    return Parts(tuple(outlines), tuple(bonds), inner.body, outer.body, web)


class _Side:
    """One side (bore or outside) of a square-ended joint.

    `way` mirrors it: radial positions grow away from the wall, `self.at(x)` is the radius at the
    distance x from the wall's surface, positive away from the wall.
    """

    def __init__(
        self, case: Case, side: str, way: float, surface: float, floor: float, lip: bool
    ) -> None:
        joint, ring, wall = case.joint, case.ring, case.wall
        self.side, self.way, self.surface, self.lip = side, way, surface, lip
        self.end, self.floor = wall.half_length, floor
        self.chamfer = wall.edge_chamfer
        self.root = ring.root_radius if lip else 0.0
        own = ring.inner_radius if side == "inner" else ring.outer_radius
        own_field = f"ring.{side}_radius"

        if not lip:
            self.body = surface if own is None else own
            if way * (self.body - surface) < -TOLERANCE:
                bound = (
                    "at most the bore radius" if side == "inner" else "at least the outer radius"
                )
                refuse(
                    case,
                    own_field,
                    in_mm(self.body),
                    f"{bound} of the wall ({in_mm(surface)}), so that the ring covers its end",
                )
            self.end_bond = self.at(-self.chamfer)
            self.fillet = min(
                joint.squeeze_out if joint.squeeze_out > 0 else 0.0,
                way * (self.body - self.end_bond),
            )
            return

        self.gap = given(getattr(joint.bond_thickness, side))
        overlap = given(getattr(joint.overlap, side))
        lip_root = given(getattr(ring.lip, side))
        tip = getattr(ring.lip_tip, side) if ring.lip_tip is not None else None
        lip_tip = lip_root if tip is None else tip
        self.tip = self.end - overlap
        self.fillet = joint.squeeze_out
        if self.tip - self.fillet <= TOLERANCE:
            refuse(
                case,
                f"joint.overlap.{side}",
                in_mm(overlap),
                f"less than wall.half_length ({in_mm(self.end)}) less the squeeze-out",
            )
        self.lip_root, self.lip_tip = self.at(self.gap + lip_root), self.at(self.gap + lip_tip)
        if side == "inner" and min(self.lip_root, self.lip_tip) <= 0:
            refuse(
                case,
                "ring.lip.inner",
                in_mm(lip_root),
                f"less than {in_mm(surface - self.gap)}: the lip would meet itself at the axis",
            )
        self.body = self.lip_root if own is None else own
        if way * (self.body - self.lip_root) < -TOLERANCE:
            bound = "at most" if side == "inner" else "at least"
            refuse(
                case,
                own_field,
                in_mm(self.body),
                f"{bound} {in_mm(self.lip_root)}, so that the web carries the root of its lip",
            )

        # where the straight bond ends and the corner begins
        gap_end = floor - self.end
        self.bond_end = min(self.end - self.chamfer, floor - self.root)
        self.end_bond = self.at(-max(self.chamfer, self.root - self.gap))
        if self.bond_end - self.tip < LEAST_STRAIGHT * self.gap:
            refuse(
                case,
                f"joint.overlap.{side}",
                in_mm(overlap),
                "long enough to leave a straight bond of its own thickness beside chamfer and "
                f"root radius (more than {in_mm(self.end - self.bond_end + self.gap)})",
            )
        if self.root > 0:
            self.arc_centre = (self.at(self.gap - self.root), floor - self.root)
            self.arc_start = (self.at(self.gap), floor - self.root)
            self.arc_end = (self.at(self.gap - self.root), floor)
            least = ROOT_CLEARANCE * min(self.gap, gap_end)
            for point in ((0.0, self.end - self.chamfer), (-self.chamfer, self.end)):
                r, z = self.at(point[0]), point[1]
                over_r = way * (r - self.arc_centre[0])
                over_z = z - self.arc_centre[1]
                if over_r > 0 and over_z > 0 and math.hypot(over_r, over_z) > self.root - least:
                    refuse(
                        case,
                        "ring.root_radius",
                        in_mm(self.root),
                        "small enough to clear the wall's edge by "
                        f"{in_mm(least)} (a wall.edge_chamfer makes room)",
                    )

    def at(self, distance: float) -> float:
        """Radius at a distance from the wall's surface, positive away from the wall."""
        return self.surface + self.way * distance

    def ring_profile(self) -> list[Point]:
        """Trace the ring's outline on this side, from its end face down to the groove's floor."""
        if not self.lip:
            return [(self.body, self.floor)]
        profile = [
            (self.body, self.floor),
            (self.lip_root, self.floor),
            (self.lip_tip, self.tip),
            (self.at(self.gap), self.tip),
        ]
        corner = [self.arc_start, self.arc_end] if self.root else [(self.at(self.gap), self.floor)]
        return [
            p for i, p in enumerate(profile + corner) if i == 0 or p != (profile + corner)[i - 1]
        ]

    def adhesive(self, levels: list[float]) -> list[Outline]:
        """Lap bond (cut at the wall's levels), corner and fillet of this side."""
        surface, floor = self.surface, self.floor
        if not self.lip:
            if self.fillet <= TOLERANCE:
                return []
            foot = self.end_bond + self.way * self.fillet
            return [
                Outline(
                    f"fillet-end-{self.side}",
                    ((self.end_bond, self.end), (self.end_bond, floor), (foot, floor)),
                )
            ]
        face = self.at(self.gap)
        parts = []
        rows = [z for z in levels if self.tip - TOLERANCE < z < self.bond_end + TOLERANCE]
        for low, high in zip(rows[:-1], rows[1:], strict=True):
            box = ((face, low), (surface, low), (surface, high), (face, high))
            parts.append(Outline(f"bond-{self.side}", box))
        corner: list[Point] = [
            (face, self.bond_end),
            (surface, self.bond_end),
            (surface, self.end - self.chamfer),
            (self.at(-self.chamfer), self.end),
            (self.end_bond, self.end),
            (self.end_bond, floor),
        ]
        arcs: list[tuple[int, Point]] = []
        if self.root:
            corner += [self.arc_end, self.arc_start]
        else:
            corner += [(face, floor)]
        tidy = [p for i, p in enumerate(corner) if p != corner[i - 1]]
        if self.root:
            arcs = [(tidy.index(self.arc_end), self.arc_centre)]
        parts.append(Outline(f"corner-{self.side}", tuple(tidy), tuple(arcs)))
        if self.fillet > TOLERANCE:
            parts.append(
                Outline(
                    f"fillet-{self.side}",
                    ((surface, self.tip - self.fillet), (surface, self.tip), (face, self.tip)),
                )
            )
        return parts

    def wall_breaks(self) -> set[float]:
        """Heights at which the wall is cut on account of this side."""
        breaks = {self.end - self.chamfer}
        if self.lip:
            breaks |= {self.tip, self.bond_end}
            if self.fillet > TOLERANCE:
                breaks.add(self.tip - self.fillet)
        return breaks

    def bondline(self) -> BondLine:
        """Give the lap's bondline, s from the lip's tip."""
        length = self.end - self.tip
        return BondLine(
            self.side,
            (self.at(self.gap / 2), self.tip),
            (0.0, 1.0),
            (self.way, 0.0),
            length,
            self.gap,
            ((length - self.chamfer, 1.0),) if self.chamfer else (),
            ((self.floor - self.root - self.tip, 1.0, self.root),) if self.root else (),
        )


def _end_bondline(end: float, gap: float, inner: _Side, outer: _Side) -> BondLine:
    """Give the end bond's line: from the open edge, the bore's first."""
    first, last = (outer, inner) if inner.lip and not outer.lip else (inner, outer)
    # an open edge begins at the chamfer's foot, a closed one at the wall's surface
    start = first.surface if first.lip else first.end_bond
    stop = last.surface if last.lip else last.end_bond
    way = math.copysign(1.0, stop - start)
    length = abs(stop - start)
    chamfer, root = [], []
    if first.lip:
        if first.chamfer:
            chamfer.append((first.chamfer, -1.0))
        if first.root:
            root.append((first.root - first.gap, -1.0, first.root))
    if last.lip:
        if last.chamfer:
            chamfer.append((length - last.chamfer, 1.0))
        if last.root:
            root.append((length - last.root + last.gap, 1.0, last.root))
    return BondLine(
        "end",
        (start, end + gap / 2),
        (way, 0.0),
        (0.0, 1.0),
        length,
        gap,
        tuple(chamfer),
        tuple(root),
    )


def _clip(polygon: list[Point], normal: Point, limit: float) -> list[Point]:
    """Part of a convex polygon where normal . point <= limit (Sutherland & Hodgman 1974)."""
    kept: list[Point] = []
    for i, p in enumerate(polygon):
        q = polygon[(i + 1) % len(polygon)]
        over_p = normal[0] * p[0] + normal[1] * p[1] - limit
        over_q = normal[0] * q[0] + normal[1] * q[1] - limit
        if over_p <= TOLERANCE:
            kept.append(p)
        if (over_p < -TOLERANCE and over_q > TOLERANCE) or (
            over_p > TOLERANCE and over_q < -TOLERANCE
        ):
            t = over_p / (over_p - over_q)
            kept.append((p[0] + t * (q[0] - p[0]), p[1] + t * (q[1] - p[1])))
    return kept
