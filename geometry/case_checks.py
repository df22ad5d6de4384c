"""What the fields of a case must agree on before anything is drawn.

What only the drawn section can show (lips that meet, a head that misses the ring) is checked
where it is drawn.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import TYPE_CHECKING, Any

from geometry import bounds
from geometry.errors import CaseError, nearest_spelling, refuse
from geometry.layup import lay_up
from geometry.materials import library

if TYPE_CHECKING:
    from geometry.case import Case

BONDS = {
    "butt": ("end",),
    "inner-lap": ("inner", "end"),
    "outer-lap": ("outer", "end"),
    "socket": ("inner", "end", "outer"),
    "scarf": ("scarf",),
}
LIPS: dict[str, tuple[str, ...]] = {
    "butt": (),
    "inner-lap": ("inner",),
    "outer-lap": ("outer",),
    "socket": ("inner", "outer"),
}
# which kinds of material suit which place
SUITS = {
    "wall": ("ply", "metal", "plastic"),
    "joint": ("adhesive",),
    "ring": ("metal", "plastic"),
    "head": ("metal", "plastic"),
}
SIDES = ("inner", "outer")


def used_materials(parts: Mapping[str, Any]) -> Iterator[tuple[str, str]]:
    """Fields that name a material, with the name; `parts` maps wall, joint, ring, head."""
    if "wall" in parts:
        for i, block in enumerate(parts["wall"].layup):
            yield f"wall.layup[{i}].ply", block.ply
    if "joint" in parts:
        yield "joint.adhesive", parts["joint"].adhesive
    for name in ("ring", "head"):
        if name in parts and parts[name].material is not None:
            yield f"{name}.material", parts[name].material


def check(case: Case) -> None:
    """Check what the fields of a case must agree on.

    Raises
    ------
    CaseError
        At the first contradiction.
    """
    _check_duty(case)
    _check_materials(case)
    _check_wall(case)
    _check_bonds(case)
    _check_lips(case)
    _check_ring(case)
    _check_head(case)
    _check_knock_downs(case)
    _check_flaws(case)
    _check_process(case)


def _check_duty(case: Case) -> None:
    duty = case.duty
    if duty.depth is None and duty.pressure is None:
        refuse(case, "duty", "", "depth: 3000 m, or pressure: 30.6 MPa", "has no depth or pressure")
    if duty.depth is not None and duty.pressure is not None:
        refuse(case, "duty.pressure", "", "one of the two", "stands beside a depth")
    if duty.dives is not None and duty.dive_list:
        refuse(case, "duty.dive_list", "", "one of the two", "stands beside dives")


def _check_materials(case: Case) -> None:
    for name, card in case.materials.items():
        if name in library() and card != library()[name]:
            refuse(
                case,
                f"materials.{name}",
                "",
                f"a name of its own, such as {name}-2",
                "differs from the library's card of that name",
            )
    known = {**library(), **case.materials}
    for field, name in used_materials({k: getattr(case, k) for k in SUITS}):
        kinds = SUITS[field.split(".")[0]]
        fitting = [n for n, card in known.items() if card.kind in kinds]
        if name not in case.materials:
            raise CaseError(
                case.origin.path,
                field,
                name,
                "is not a material that is known",
                f"{', '.join(fitting)}, or a card under materials",
                nearest_spelling(name, fitting),
                case.origin.line(field),
            )
        kind = case.materials[name].kind
        if kind not in kinds:
            refuse(
                case,
                field,
                name,
                f"{' or '.join(kinds)}: {', '.join(fitting)}",
                f"is of kind {kind}",
            )


def _check_wall(case: Case) -> None:
    wall = case.wall
    if wall.plies > bounds.PLIES:
        allowed = f"up to {bounds.PLIES} plies"
        refuse(case, "wall.layup", f"{wall.plies} plies", allowed, "too many")
    resolved = wall.resolve_plies.innermost + wall.resolve_plies.outermost
    if resolved > min(bounds.RESOLVED_PLIES, wall.plies):
        refuse(
            case,
            "wall.resolve_plies",
            f"{resolved} plies",
            f"up to {min(bounds.RESOLVED_PLIES, wall.plies)} of the wall's {wall.plies} plies",
            "too many to mesh one by one",
        )
    layers = len(lay_up(wall))
    if layers > bounds.WALL_LAYERS:
        allowed = f"up to {bounds.WALL_LAYERS} layers: blocks, and plies that are meshed one by one"
        refuse(case, "wall.layup", f"{layers} layers", allowed, "too many to mesh")
    if 2 * wall.edge_chamfer >= wall.thickness:
        refuse(
            case, "wall.edge_chamfer", "", f"less than half of the wall, {_mm(wall.thickness / 2)}"
        )


def _check_bonds(case: Case) -> None:
    joint = case.joint
    bonds = BONDS[joint.form]
    for name in ("inner", "end", "outer", "scarf"):
        field = f"joint.bond_thickness.{name}"
        given = getattr(joint.bond_thickness, name)
        if given is None and name in bonds:
            refuse(case, field, "", f"{', '.join(bonds)} of form {joint.form}", "is missing")
        if given is not None and name not in bonds:
            refuse(case, field, "", ", ".join(bonds), f"is no bond of form {joint.form}")
    laps = [side for side in SIDES if getattr(joint.overlap, side) is not None]
    if joint.form == "scarf":
        if len(laps) != 1:
            refuse(
                case,
                "joint.overlap",
                "",
                "inner or outer: the side on which the ring's tongue lies",
                "a scarf has one overlap",
            )
    else:
        for side in SIDES:
            _check_side(case, "joint.overlap", side, side in laps)
    for side in laps:
        if getattr(joint.overlap, side) >= case.wall.half_length:
            refuse(
                case,
                f"joint.overlap.{side}",
                "",
                f"less than wall.half_length, {_mm(case.wall.half_length)}",
                "is longer than the wall",
            )
    thinnest = min(getattr(joint.bond_thickness, name) for name in bonds)
    if joint.squeeze_out > thinnest:
        refuse(
            case,
            "joint.squeeze_out",
            "",
            f"up to the bond's thickness, {_mm(thinnest)}",
            "is larger than the bond",
        )


def _check_side(case: Case, field: str, side: str, given: bool) -> None:
    """Refuse a side's field that the form has no lip for, and a lip without its field."""
    form = case.joint.form
    sides = LIPS[form]
    if given and side not in sides:
        allowed = f"{', '.join(sides)} only" if sides else f"no {field.split('.')[1]}"
        refuse(case, f"{field}.{side}", "", allowed, f"form {form} has no lip there")
    if not given and side in sides:
        refuse(case, f"{field}.{side}", "", "a length such as 12 mm", f"is missing: form {form}")


def _check_lips(case: Case) -> None:
    ring, form = case.ring, case.joint.form
    for side in SIDES:
        root, tip = getattr(ring.lip, side), getattr(ring.lip_tip, side)
        if form == "scarf":
            tongue = getattr(case.joint.overlap, side) is not None
            if not tongue and (root is not None or tip is not None):
                other = SIDES[1 - SIDES.index(side)]
                refuse(
                    case,
                    f"ring.lip.{side}",
                    "",
                    f"{other} only",
                    "the tongue lies on the other side",
                )
        else:
            _check_side(case, "ring.lip", side, root is not None)
            if root is None and tip is not None:
                refuse(case, f"ring.lip_tip.{side}", "", "no tip", f"form {form} has no lip there")
        if root is None:
            continue
        if tip > root:
            allowed = f"up to ring.lip.{side}, {_mm(root)}"
            refuse(case, f"ring.lip_tip.{side}", "", allowed, "is thicker than the root")
        if form != "scarf" and root <= 0:
            refuse(case, f"ring.lip.{side}", "", "above 0 mm, such as 12 mm")
        if form != "scarf" and tip <= 0:
            refuse(case, f"ring.lip_tip.{side}", "", "above 0 mm, such as 4 mm")


def _check_ring(case: Case) -> None:
    ring = case.ring
    inner, outer = ring.inner_radius, ring.outer_radius
    if inner is not None and outer is not None and inner >= outer:
        refuse(case, "ring.inner_radius", "", f"less than ring.outer_radius, {_mm(outer)}")


def _check_head(case: Case) -> None:
    head = case.head
    if head.form == "none":
        for name in ("material", "thickness", "inner_radius"):
            if getattr(head, name) is not None:
                refuse(case, f"head.{name}", "", "no such field", "there is no head to give it to")
        return
    if case.ring.inner_radius == 0:
        refuse(case, "head.form", "", "none", "closes a ring that has no bore")
    for name, such in (("material", "titanium-6al-4v"), ("thickness", "10 mm")):
        if getattr(head, name) is None:
            refuse(case, f"head.{name}", "", f"such as {such}", "is missing")
    if head.form == "flat" and head.inner_radius is not None:
        refuse(case, "head.inner_radius", "", "a hemisphere's alone", "a flat head has none")
    radius = head.inner_radius or case.ring.inner_radius or case.wall.bore_radius
    if head.form == "hemisphere" and head.thickness is not None and head.thickness >= radius:
        refuse(
            case,
            "head.thickness",
            "",
            f"less than the head's inner radius, {_mm(radius)}",
            "is thicker than its radius",
        )


def _check_knock_downs(case: Case) -> None:
    for i, knock_down in enumerate(case.knock_downs):
        if knock_down.on == "head" and case.head.form == "none":
            refuse(case, f"knock_downs[{i}].on", "head", "adhesive, wall, ring", "there is no head")


def _check_flaws(case: Case) -> None:
    bonds = BONDS[case.joint.form]
    for i, flaw in enumerate(case.flaws):
        field = f"flaws[{i}]"
        if flaw.bond not in bonds:
            form = case.joint.form
            refuse(case, f"{field}.bond", flaw.bond, ", ".join(bonds), f"is no bond of form {form}")
        for j, other in enumerate(case.flaws[:i]):
            apart = (
                flaw.start > other.start + other.length or other.start > flaw.start + flaw.length
            )
            if flaw.bond == other.bond and not apart:
                refuse(case, field, "", "flaws of a bond that lie apart", f"meets flaws[{j}]")


def _check_process(case: Case) -> None:
    process, joint = case.process, case.joint
    if case.materials[joint.adhesive].symmetry != "isotropic":
        for name in ("adhesive_voids", "filler"):
            if getattr(process, name):
                allowed = "an isotropic card, as voids and filler need it"
                reason = f"has {name} and directions of its own"
                refuse(case, "joint.adhesive", joint.adhesive, allowed, reason)
    thinnest = min(getattr(joint.bond_thickness, name) for name in BONDS[joint.form])
    laps = [joint.bond_thickness.inner, joint.bond_thickness.outer]
    for name, gaps in (("bond_thickness_tolerance", [thinnest]), ("ring_offset", laps)):
        given, gap = getattr(process, name), min((g for g in gaps if g is not None), default=None)
        if given and gap is not None and given > 0.9 * gap:
            refuse(case, f"process.{name}", "", f"up to {_mm(0.9 * gap)}", "closes a bond")
    if process.filler is not None:
        shares = [one.share for one in process.filler.tested]
        if any(b <= a for a, b in zip(shares[:-1], shares[1:], strict=True)):
            refuse(case, "process.filler.tested", "", "by rising share", "is out of order")
        if not shares[0] <= process.filler.share <= shares[-1]:
            tested = f"between {100 * shares[0]:g} % and {100 * shares[-1]:g} %, as tested"
            refuse(case, "process.filler.share", "", tested, "was not tested")


def _mm(length: float) -> str:
    return f"{length:.6g} mm"
