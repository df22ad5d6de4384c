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

from typing import TYPE_CHECKING

from geometry.errors import refuse
from geometry.layup import lay_up
from geometry.parts import Parts, given, in_mm
from geometry.planar import conform, name_edges
from geometry.scarf import scarf_end
from geometry.section import TOLERANCE, Outline, Region, Section
from geometry.square_end import square_end

if TYPE_CHECKING:
    from geometry.case import Case


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
    parts = scarf_end(case, layers) if case.joint.form == "scarf" else square_end(case, layers)
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


def _head(case: Case, parts: Parts) -> tuple[Outline, ...]:
    """Faces of the head that stands on the ring's end face."""
    head, base = case.head, parts.ring_end
    if head.form == "none":
        return ()
    thickness = given(head.thickness)
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
        refuse(case, "head.thickness", in_mm(thickness), f"less than twice {in_mm(middle)}")
    if inside < parts.ring_inner - TOLERANCE or outside > parts.ring_outer + TOLERANCE:
        field = "head.thickness" if head.inner_radius is None else "head.inner_radius"
        refuse(
            case,
            field,
            in_mm(thickness if head.inner_radius is None else head.inner_radius),
            "a seat inside the ring's end face: the head stands on radii "
            f"{in_mm(inside)} to {in_mm(outside)}, the ring has {in_mm(parts.ring_inner)} "
            f"to {in_mm(parts.ring_outer)} (ring.inner_radius and ring.outer_radius widen it)",
        )
    centre = (0.0, base)
    return (
        Outline(
            "head",
            ((inside, base), (outside, base), (0.0, base + outside), (0.0, base + inside)),
            ((1, centre), (3, centre)),
        ),
    )
