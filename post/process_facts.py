"""What a case says of how the joint was made, each fact by itself, put on a clean joint.

Formulation
    The clean joint is the case without voids, filler, tolerance, offset and flaws, with straight
    fibres where the case states waviness, and with faces of the best classes of preparation. A
    fact puts what the case states of it back. Two of them are bounds:

    - tolerance: every bond of the form thinner by it, or every one thicker;
    - offset of the ring: on one side of the hull the inner bond is thinner by it and the outer one
      thicker, on the other side the reverse. Each side is solved as if it went all the way round,
      which bounds the joint from both sides. A form without lap bonds has no such bound here.

    A bond that changes leaves the wall, the overlaps and the thickness of lips, web and head as
    they are: the ring's lips move with the faces of lap bonds, and so do its stated bore and
    outside; web and head move with the end bond. The squeeze-out is no more than the thinnest bond.
Units
    mm; shares as fractions.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass

from geometry.case import Case, Process, Ring, Surface
from geometry.case_checks import BONDS, LIPS
from post.preparations import classes

Bounds = tuple[tuple[str, Case], ...]


@dataclass(frozen=True)
class Fact:
    """A fact of how the joint was made.

    Attributes
    ----------
    name, stated, acts_on : str
        What it is, what the case says, and what it changes, in words.
    put : callable
        Puts the fact on a case; gives the cases that bound it, each with its name, or none where
        the form of joint has no such bound.
    """

    name: str
    stated: str
    acts_on: str
    put: Callable[[Case], Bounds]


def clean(case: Case) -> Case:
    """Take every fact of the process off a case."""
    wall = {"voids": None} | ({} if case.wall.waviness is None else {"waviness": 0.0})
    return case.model_copy(
        update={
            "wall": case.wall.model_copy(update=wall),
            "joint": case.joint.model_copy(update={"surface": _best_surface(case)}),
            "process": Process(),
            "flaws": (),
        }
    )


def facts(case: Case) -> tuple[Fact, ...]:
    """List the facts that a case states, with the preparation also where it states none."""
    return tuple(_facts(case))


def _facts(case: Case) -> Iterable[Fact]:
    process, wall, surface = case.process, case.wall, case.joint.surface
    if process.adhesive_voids:
        voids = {"adhesive_voids": process.adhesive_voids}
        on = "stiffness and strength of the adhesive; its voids may be crushed"
        yield Fact("voids in the adhesive", _share(process.adhesive_voids), on, _process(voids))
    if process.filler is not None:
        stated = f"{_share(process.filler.share)} of {process.filler.modulus / 1000:.3g} GPa"
        on = "stiffness, expansion and strength of the adhesive"
        yield Fact("filler", stated, on, _process({"filler": process.filler}))
    if wall.voids:
        on = "stiffness of the wall, strength between its fibres"
        yield Fact("voids in the wall", _share(wall.voids), on, _wall("voids", wall.voids))
    if wall.waviness is not None:
        stated = f"{wall.waviness:.3g}\u00b0"
        on = "strength of the wall along its fibres, under pressure"
        yield Fact("waviness", stated, on, _wall("waviness", wall.waviness))
    stated = f"ring {surface.ring}, wall {surface.wall}" if surface else "not stated"
    yield Fact("surface preparation", stated, "strength of the bonds", _surface(surface))
    if process.bond_thickness_tolerance:
        by = process.bond_thickness_tolerance
        on = "thickness of every bond, two bounds"
        yield Fact("bond thickness", f"\u00b1 {by:.3g} mm", on, lambda one: tolerance(one, by))
    if process.ring_offset:
        aside = process.ring_offset
        on = "thickness of the lap bonds, two bounds"
        yield Fact("offset of the ring", f"{aside:.3g} mm", on, lambda one: offset(one, aside))


def tolerance(case: Case, by: float) -> Bounds:
    """Make every bond of a case thinner and thicker by a tolerance, mm."""
    bonds = BONDS[case.joint.form]
    return tuple(
        (f"every bond {by:.3g} mm {word}", with_bonds(case, dict.fromkeys(bonds, sign * by)))
        for word, sign in (("thinner", -1), ("thicker", 1))
    )


def offset(case: Case, aside: float) -> Bounds:
    """Put the ring aside by an offset, mm: one lap bond thinner, the other thicker."""
    sides = LIPS.get(case.joint.form, ())
    if not sides:
        return ()
    found = []
    for thinner in ("inner", "outer"):
        change = {side: -aside if side == thinner else aside for side in sides}
        words = " and ".join(
            f"{side} bond {aside:.3g} mm {'thinner' if by < 0 else 'thicker'}"
            for side, by in change.items()
        )
        found.append((words, with_bonds(case, change)))
    return tuple(found)


def with_bonds(case: Case, change: Mapping[str, float]) -> Case:
    """Change the thickness of bonds; see the module for what gives way.

    Parameters
    ----------
    case : Case
    change : mapping of str to float
        By bond: what is added to its thickness, mm.

    Returns
    -------
    Case
        Not checked anew: drawing it refuses what cannot be.
    """
    joint = case.joint
    thickness = joint.bond_thickness.model_copy(
        update={name: getattr(joint.bond_thickness, name) + by for name, by in change.items()}
    )
    thinnest = min(thickness.model_dump(exclude_none=True).values())
    changed = {"bond_thickness": thickness, "squeeze_out": min(joint.squeeze_out, thinnest)}
    return case.model_copy(
        update={
            "joint": joint.model_copy(update=changed),
            "ring": _moved(case.ring, change),
        }
    )


def _moved(ring: Ring, change: Mapping[str, float]) -> Ring:
    """Move the stated bore and outside of a ring with its lips."""
    inner, outer = ring.inner_radius, ring.outer_radius
    radii = {
        "inner_radius": None if inner is None else inner - change.get("inner", 0.0),
        "outer_radius": None if outer is None else outer + change.get("outer", 0.0),
    }
    return ring.model_copy(update=radii)


def _process(fields: Mapping[str, object]) -> Callable[[Case], Bounds]:
    def put(case: Case) -> Bounds:
        process = case.process.model_copy(update=dict(fields))
        return (("", case.model_copy(update={"process": process})),)

    return put


def _wall(field: str, value: float) -> Callable[[Case], Bounds]:
    def put(case: Case) -> Bounds:
        return (
            ("", case.model_copy(update={"wall": case.wall.model_copy(update={field: value})})),
        )

    return put


def _surface(surface: Surface | None) -> Callable[[Case], Bounds]:
    def put(case: Case) -> Bounds:
        joint = case.joint.model_copy(update={"surface": surface})
        return (("", case.model_copy(update={"joint": joint})),)

    return put


def _best_surface(case: Case) -> Surface:
    """Classes of preparation that leave a bond's strength whole."""
    best = {}
    for part, card in (("ring", case.ring.material), ("wall", case.wall.layup[0].ply)):
        known = classes(case.materials[card].kind)
        best[part] = max(known, key=lambda name: known[name].factor)
    return Surface(**best)


def _share(share: float) -> str:
    return f"{100 * share:.3g} %"
