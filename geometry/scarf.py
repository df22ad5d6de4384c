"""The scarf: the wall's end is a cone against a tongue of the ring.

Formulation
    Drawn in (x, z), x the distance from the tongue's side of the wall into the wall, for a tongue
    on either side. Where the bond is trimmed at a slant its end is a wedge of its own; between
    the wedges rows of elements run square across the bond.
Units
    mm.
"""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from geometry.errors import refuse
from geometry.layup import Layer
from geometry.parts import Parts, between, given, in_mm
from geometry.section import TOLERANCE, BondLine, Outline

if TYPE_CHECKING:
    from geometry.case import Case


def scarf_end(case: Case, layers: tuple[Layer, ...]) -> Parts:
    """Faces of a scarf joint.

    Drawn for a tongue on the bore side and mirrored about mid-wall for one on the outside.
    """
    joint, ring, wall = case.joint, case.ring, case.wall
    a, b, end = wall.bore_radius, layers[-1].outer_radius, wall.half_length
    gap = given(joint.bond_thickness.scarf)
    side = "inner" if joint.overlap.inner is not None else "outer"
    slope_length = given(getattr(joint.overlap, side))
    if wall.edge_chamfer or ring.root_radius:
        field = "wall.edge_chamfer" if wall.edge_chamfer else "ring.root_radius"
        value = wall.edge_chamfer or ring.root_radius
        refuse(case, field, in_mm(value), "0 mm: a scarf has neither wall edges nor a groove")

    # x: distance from the tongue's side of the wall into the wall
    thickness = b - a
    run = math.hypot(slope_length, thickness)
    rise, go = thickness / run, slope_length / run  # sin and cos of the slope to the axis
    tip = end - slope_length
    if tip <= gap / rise:
        refuse(
            case,
            f"joint.overlap.{side}",
            in_mm(slope_length),
            f"less than wall.half_length ({in_mm(end)})",
        )
    shift = gap / rise  # axial distance between the two faces
    lip = (getattr(ring.lip, side) if ring.lip is not None else None) or 0.0
    blunt = lip > TOLERANCE
    if blunt and lip <= 1.2 * gap / go:
        refuse(
            case,
            f"ring.lip.{side}",
            in_mm(lip),
            f"0 mm (flush) or more than 1.2 bond thicknesses ({in_mm(1.2 * gap / go)}), "
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
            in_mm(own_near),
            f"left out for a scarf, or {in_mm(near)} as the tongue's lip gives it",
        )
    if near <= 0:
        refuse(case, f"ring.lip.{side}", in_mm(lip), f"less than {in_mm(a)}")
    far_field = "ring.outer_radius" if side == "inner" else "ring.inner_radius"
    far = radius(thickness) if own_far is None else own_far
    if (far - radius(thickness)) * (1 if side == "inner" else -1) < -TOLERANCE:
        refuse(case, far_field, in_mm(far), "as far out as the wall's surface or beyond")

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
        wall_start = between(wall_tip, wall_end, cuts[near_cut] / thickness)
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
        slope = [between(wall_tip, wall_end, x / thickness) for x in (x0, x1)]
        outlines.append(Outline(layer.name, ((x0, 0.0), (x1, 0.0), (x1, low), (x0, low))))
        outlines.append(Outline(layer.name, ((x0, low), (x1, low), slope[1], slope[0])))
        if x0 >= wall_start[0] - TOLERANCE:
            share = [(x - wall_start[0]) / (thickness - wall_start[0]) for x in (x1, x0)]
            across = [between(ring_tip, ring_stop, f) for f in share]
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
    return Parts(tuple(outlines), (bond,), inner, outer, web)
