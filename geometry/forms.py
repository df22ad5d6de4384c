"""The forms of joint: butt, inner lap, outer lap, socket and scarf, with their heads.

Problem
    From the numbers of a case to the outlines of all faces of its section.
Formulation
    Butt, laps and socket are one family: the wall ends square at z = half_length, an end bond and
    the ring's web follow, and the ring may send a lip along the bore, along the outside, or both.
    A scarf tapers the wall's end to a cone against a tongue of the ring.
    The wall and the straight parts of the bonds are cut into four-cornered faces by lines of
    constant z (or along the scarf), so that they can be meshed row by row; corners, fillets,
    ring and a flat head are free faces.
Conventions
    - A lip's thickness at the root is measured at the groove's floor, at the tip at the open
      edge; the taper is straight and on the side away from the bond.
    - A squeeze-out fillet is a straight-sided triangle: it covers the bond's whole open edge and
      reaches `squeeze_out` along the adherend that goes on beyond it. Where neither adherend
      goes on (flush), nothing can be left and there is none.
    - An edge chamfer is at 45 degrees on both edges of the wall's end.
    - The head is joined to the ring without sliding.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from geometry.errors import refuse
from geometry.layup import Layer, lay_up
from geometry.section import (
    TOLERANCE,
    BondLine,
    Outline,
    Point,
    Region,
    Section,
    conform,
    name_edges,
)

if TYPE_CHECKING:
    from geometry.case import Case

# Least adhesive left between a wall corner and the groove's root radius, as a share of the bond.
ROOT_CLEARANCE = 0.2
# Least share of a lip or tongue, or of straight bond, that must be left for a sensible section.
LEAST_STRAIGHT = 1.0  # bond thicknesses


@dataclass(frozen=True)
class _Parts:
    """What a form lists before the head is put on."""

    outlines: tuple[Outline, ...]
    bonds: tuple[BondLine, ...]
    ring_inner: float
    ring_outer: float
    ring_end: float  # z of the ring's end face


def draw_section(case: Case) -> Section:
    """Draw the section of a case.

    Parameters
    ----------
    case : Case
        As from `geometry.case.read_case`.

    Returns
    -------
    Section

    Raises
    ------
    CaseError
        When the numbers contradict each other: the line names the field and what is allowed.
    """
    layers = lay_up(case.wall)
    parts = _scarf(case, layers) if case.joint.form == "scarf" else _square_end(case, layers)
    outlines = parts.outlines + _head(case, parts)

    regions = {layer.name: Region(layer.name, "wall", layer.name) for layer in layers}
    for outline in outlines:
        if outline.region == "ring":
            regions["ring"] = Region("ring", "ring", case.ring.material)
        elif outline.region == "head":
            assert case.head.material is not None  # checked when the case was read
            regions["head"] = Region("head", "head", case.head.material)
        elif outline.region not in regions:
            regions[outline.region] = Region(outline.region, "adhesive", case.joint.adhesive)

    points, edges, faces = conform(outlines, regions)
    named = name_edges(
        points, edges, faces, regions, parts.ring_end if case.head.form == "none" else None
    )
    return Section(
        points=points,
        edges=edges,
        faces=faces,
        regions=regions,
        layers={layer.name: layer for layer in layers},
        bonds=parts.bonds,
        named=named,
        outer_radius=layers[-1].outer_radius,
    )


def _length(value: float) -> str:
    return f"{value:.6g} mm"


def _square_end(case: Case, layers: tuple[Layer, ...]) -> _Parts:
    """Faces of butt, inner-lap, outer-lap and socket joints."""
    joint, ring, wall = case.joint, case.ring, case.wall
    a, b, end = wall.bore_radius, layers[-1].outer_radius, wall.half_length
    has = {
        "inner": joint.form in ("inner-lap", "socket"),
        "outer": joint.form in ("outer-lap", "socket"),
    }
    gap_end = _given(joint.bond_thickness.end)
    floor = end + gap_end
    chamfer, root = wall.edge_chamfer, ring.root_radius
    if 2 * chamfer >= 0.9 * (b - a):
        refuse(
            case,
            "wall.edge_chamfer",
            _length(chamfer),
            f"less than 0.45 of the wall's thickness ({_length(0.45 * (b - a))})",
        )

    # The two sides are mirror images: `way` is -1 at the bore and +1 outside.
    sides = {
        side: _Side(case, side, way, surface, floor, has[side])
        for side, way, surface in (("inner", -1.0, a), ("outer", 1.0, b))
    }
    inner, outer = sides["inner"], sides["outer"]
    if outer.end_bond - inner.end_bond < gap_end * LEAST_STRAIGHT:
        field = "ring.root_radius" if root > chamfer else "wall.edge_chamfer"
        refuse(
            case,
            field,
            _length(max(root, chamfer)),
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

    # bonds, corners and fillets
    bonds = []
    for side in (inner, outer):
        outlines += side.adhesive()
        if side.lip:
            bonds.append(side.bondline())
    outlines.append(
        Outline(
            "bond-end",
            (
                (inner.end_bond, end),
                (outer.end_bond, end),
                (outer.end_bond, floor),
                (inner.end_bond, floor),
            ),
        )
    )
    bonds.insert(1 if inner.lip else 0, _end_bondline(end, gap_end, inner, outer))

    # wall
    breaks = {0.0, end}
    for side in (inner, outer):
        breaks |= side.wall_breaks()
    levels = sorted(breaks)
    levels = [z for i, z in enumerate(levels) if i == 0 or z - levels[i - 1] > TOLERANCE]
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

    return _Parts(tuple(outlines), tuple(bonds), inner.body, outer.body, web)


def _given(value: float | None) -> float:
    """Take a number that the reading of the case has made sure of."""
    assert value is not None
    return value


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
                    _length(self.body),
                    f"{bound} of the wall ({_length(surface)}), so that the ring covers its end",
                )
            self.end_bond = self.at(-self.chamfer)
            self.fillet = min(
                joint.squeeze_out if joint.squeeze_out > 0 else 0.0,
                way * (self.body - self.end_bond),
            )
            return

        self.gap = _given(getattr(joint.bond_thickness, side))
        overlap = _given(getattr(joint.overlap, side))
        lip_root = _given(getattr(ring.lip, side))
        tip = getattr(ring.lip_tip, side) if ring.lip_tip is not None else None
        lip_tip = lip_root if tip is None else tip
        self.tip = self.end - overlap
        self.fillet = joint.squeeze_out
        if self.tip - self.fillet <= TOLERANCE:
            refuse(
                case,
                f"joint.overlap.{side}",
                _length(overlap),
                f"less than wall.half_length ({_length(self.end)}) less the squeeze-out",
            )
        self.lip_root, self.lip_tip = self.at(self.gap + lip_root), self.at(self.gap + lip_tip)
        if side == "inner" and min(self.lip_root, self.lip_tip) <= 0:
            refuse(
                case,
                "ring.lip.inner",
                _length(lip_root),
                f"less than {_length(surface - self.gap)}: the lip would meet itself at the axis",
            )
        self.body = self.lip_root if own is None else own
        if way * (self.body - self.lip_root) < -TOLERANCE:
            bound = "at most" if side == "inner" else "at least"
            refuse(
                case,
                own_field,
                _length(self.body),
                f"{bound} {_length(self.lip_root)}, so that the web carries the root of its lip",
            )

        # where the straight bond ends and the corner begins
        gap_end = floor - self.end
        self.bond_end = min(self.end - self.chamfer, floor - self.root)
        self.end_bond = self.at(-max(self.chamfer, self.root - self.gap))
        if self.bond_end - self.tip < LEAST_STRAIGHT * self.gap:
            refuse(
                case,
                f"joint.overlap.{side}",
                _length(overlap),
                "long enough to leave a straight bond of its own thickness beside chamfer and "
                f"root radius (more than {_length(self.end - self.bond_end + self.gap)})",
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
                        _length(self.root),
                        "small enough to clear the wall's edge by "
                        f"{_length(least)} (a wall.edge_chamfer makes room)",
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

    def adhesive(self) -> list[Outline]:
        """Lap bond, corner and fillet of this side."""
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
        parts = [
            Outline(
                f"bond-{self.side}",
                (
                    (face, self.tip),
                    (surface, self.tip),
                    (surface, self.bond_end),
                    (face, self.bond_end),
                ),
            )
        ]
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


def _scarf(case: Case, layers: tuple[Layer, ...]) -> _Parts:
    """Faces of a scarf joint.

    Drawn for a tongue on the bore side and mirrored about mid-wall for one on the outside.
    """
    joint, ring, wall = case.joint, case.ring, case.wall
    a, b, end = wall.bore_radius, layers[-1].outer_radius, wall.half_length
    gap = _given(joint.bond_thickness.scarf)
    side = "inner" if joint.overlap.inner is not None else "outer"
    slope_length = _given(getattr(joint.overlap, side))
    if wall.edge_chamfer or ring.root_radius:
        field = "wall.edge_chamfer" if wall.edge_chamfer else "ring.root_radius"
        value = wall.edge_chamfer or ring.root_radius
        refuse(case, field, _length(value), "0 mm: a scarf has neither wall edges nor a groove")

    # x: distance from the tongue's side of the wall into the wall
    thickness = b - a
    run = math.hypot(slope_length, thickness)
    rise, go = thickness / run, slope_length / run  # sin and cos of the slope to the axis
    tip = end - slope_length
    if tip <= gap / rise:
        refuse(
            case,
            f"joint.overlap.{side}",
            _length(slope_length),
            f"less than wall.half_length ({_length(end)})",
        )
    shift = gap / rise  # axial distance between the two faces
    lip = (getattr(ring.lip, side) if ring.lip is not None else None) or 0.0
    blunt = lip > TOLERANCE
    if blunt and lip <= 1.2 * gap / go:
        refuse(
            case,
            f"ring.lip.{side}",
            _length(lip),
            f"0 mm (flush) or more than 1.2 bond thicknesses ({_length(1.2 * gap / go)}), "
            "so that the tongue has a tip",
        )

    def radius(x: float) -> float:
        return a + x if side == "inner" else b - x

    own_near = ring.inner_radius if side == "inner" else ring.outer_radius
    own_far = ring.outer_radius if side == "inner" else ring.inner_radius
    near = radius(-lip)
    if own_near is not None and abs(own_near - near) > TOLERANCE:
        refuse(
            case,
            f"ring.{side}_radius",
            _length(own_near),
            f"left out for a scarf, or {_length(near)} as the tongue's lip gives it",
        )
    if near <= 0:
        refuse(case, f"ring.lip.{side}", _length(lip), f"less than {_length(a)}")
    far_field = "ring.outer_radius" if side == "inner" else "ring.inner_radius"
    far = radius(thickness) if own_far is None else own_far
    if (far - radius(thickness)) * (1 if side == "inner" else -1) < -TOLERANCE:
        refuse(case, far_field, _length(far), "as far out as the wall's surface or beyond")

    # Faces as points (x, z). Where the bond is trimmed at a slant, its end is a wedge of its own:
    # between the wedges the rows run square across the bond.
    wall_tip, wall_end = (0.0, tip), (thickness, end)
    ring_tip = (-gap / go, tip) if blunt else (0.0, tip + shift)
    ring_end = (thickness, end + shift)
    wall_start = wall_tip if blunt else (gap * go, tip + shift - gap * rise)
    ring_stop = (thickness - gap * go, end + gap * rise)

    ordered = layers if side == "inner" else tuple(reversed(layers))
    cuts = list(np.concatenate([[0.0], np.cumsum([layer.thickness for layer in ordered])]))
    cuts[-1] = thickness
    near_cut = int(np.argmin([abs(x - wall_start[0]) for x in cuts]))
    if abs(cuts[near_cut] - wall_start[0]) < 0.1 * gap:
        wall_start = _on(wall_tip, wall_end, cuts[near_cut] / thickness)
    else:
        cuts = sorted([*cuts, wall_start[0]])
    tops = np.cumsum([layer.thickness for layer in ordered])

    # Radial row lines of the wall begin at `low`; above it they fan out to the slope. A blunt
    # tongue leaves room for a fillet beside its tip.
    fillet = joint.squeeze_out if blunt else 0.0
    low = tip - (fillet if fillet > TOLERANCE else min(0.5 * tip, thickness))
    outlines = [Outline("bond-scarf", (wall_end, ring_end, ring_stop))]
    if fillet > TOLERANCE:
        outlines.append(Outline("fillet-scarf", ((0.0, low), (0.0, tip), ring_tip)))
    if not blunt:
        outlines.append(Outline("bond-scarf", (wall_tip, wall_start, ring_tip)))
    for x0, x1 in zip(cuts[:-1], cuts[1:], strict=True):
        layer = ordered[int(np.searchsorted(tops, (x0 + x1) / 2))]
        slope = [_on(wall_tip, wall_end, x / thickness) for x in (x0, x1)]
        outlines.append(Outline(layer.name, ((x0, 0.0), (x1, 0.0), (x1, low), (x0, low))))
        outlines.append(Outline(layer.name, ((x0, low), (x1, low), slope[1], slope[0])))
        if x0 >= wall_start[0] - TOLERANCE:
            share = [(x - wall_start[0]) / (thickness - wall_start[0]) for x in (x1, x0)]
            across = [_on(ring_tip, ring_stop, f) for f in share]
            outlines.append(Outline("bond-scarf", (*slope, *across)))
    web = end + shift + ring.web
    body = [ring_tip, ring_end]
    far_x = abs(far - radius(0.0))
    if far_x - thickness > TOLERANCE:
        body.append((far_x, end + shift))
    body += [(far_x, web), (-lip, web)]
    if blunt:
        body.append((-lip, tip))
    outlines.append(Outline("ring", tuple(body)))
    outlines = [replace(o, corners=tuple((radius(x), z) for x, z in o.corners)) for o in outlines]

    # the mid-thickness line, between the trimmed ends
    first = (-gap / (2 * go), tip) if blunt else (0.0, tip + shift / 2)
    last = (thickness, end + shift / 2)
    turn = 1.0 if side == "inner" else -1.0
    bond = BondLine(
        "scarf",
        (radius(first[0]), first[1]),
        (turn * rise, go),
        (-turn * go, rise),
        math.hypot(last[0] - first[0], last[1] - first[1]),
        gap,
    )
    inner, outer = (near, far) if side == "inner" else (far, near)
    return _Parts(tuple(outlines), (bond,), inner, outer, web)


def _on(start: Point, stop: Point, share: float) -> Point:
    """Interpolate between two points."""
    return start[0] + share * (stop[0] - start[0]), start[1] + share * (stop[1] - start[1])


def _head(case: Case, parts: _Parts) -> tuple[Outline, ...]:
    """Faces of the head that stands on the ring's end face."""
    head, base = case.head, parts.ring_end
    if head.form == "none":
        return ()
    thickness = _given(head.thickness)
    if head.form == "flat":
        inner, outer = parts.ring_inner, parts.ring_outer
        top = base + thickness
        return (
            Outline("head", ((0.0, base), (inner, base), (inner, top), (0.0, top))),
            Outline("head", ((inner, base), (outer, base), (outer, top), (inner, top))),
        )
    middle = (case.wall.bore_radius + case.wall.outer_radius) / 2
    inside = middle - thickness / 2 if head.inner_radius is None else head.inner_radius
    outside = inside + thickness
    if inside <= 0:
        refuse(case, "head.thickness", _length(thickness), f"less than twice {_length(middle)}")
    if inside < parts.ring_inner - TOLERANCE or outside > parts.ring_outer + TOLERANCE:
        field = "head.thickness" if head.inner_radius is None else "head.inner_radius"
        refuse(
            case,
            field,
            _length(thickness if head.inner_radius is None else head.inner_radius),
            "a seat inside the ring's end face: the head stands on radii "
            f"{_length(inside)} to {_length(outside)}, the ring has {_length(parts.ring_inner)} "
            f"to {_length(parts.ring_outer)} (ring.inner_radius and ring.outer_radius widen it)",
        )
    centre = (0.0, base)
    return (
        Outline(
            "head",
            ((inside, base), (outside, base), (0.0, base + outside), (0.0, base + inside)),
            ((1, centre), (3, centre)),
        ),
    )
