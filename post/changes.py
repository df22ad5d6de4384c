"""Single changes of a case that might help: one thing at a time, within what can be built.

Formulation
    Lengths and the adhesive's stiffness move by a fifth either way, the stress-free temperature by
    10 K, the wall by the whole repeats of its plies that come nearest to a fifth; adhesive and
    ring are also exchanged for the other adhesives and metals of the library. Laps, and lips, move
    together. What gives way to a thicker or thinner bond is said in `post.process_facts`: the
    ring's lips move with the faces. A thicker or thinner wall keeps its bore, and a stated outside
    of the ring moves with that of the wall. A stiffer or softer adhesive keeps its strengths.
    A change that contradicts something else of the case is listed with the reason.
Units
    mm, MPa, K; texts in mm and degC.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from pydantic import BaseModel

from geometry.case import Block, Case, parse_case
from geometry.case_checks import BONDS, SIDES
from geometry.case_file import Origin
from geometry.constants import Modulus
from geometry.errors import CaseError
from geometry.materials import Card, library
from post.process_facts import with_bonds
from post.words import MINUS

KELVIN = 273.15
STEP = 0.2  # share
WARMER = 10.0  # K
LEAST_STEP, MOST_STEP = 0.05, 0.35  # share of the wall that whole repeats may add or take away
NO_REPEATS = "whole repeats of the layup do not come near a fifth of the wall"


@dataclass(frozen=True)
class Change:
    """One change.

    Attributes
    ----------
    field : str
        What is changed, in words.
    step : str
        By how much, in words.
    values : str
        From what to what.
    case : Case or None
        The case with it; None where it contradicts something.
    why : str
        What it contradicts.
    """

    field: str
    step: str
    values: str
    case: Case | None
    why: str = ""


def tried_part(case: Case) -> Case:
    """Take off a case what no change is tried with: flaws, gauges and the proof test."""
    tree = case.model_dump(mode="json", exclude_none=True)
    return parse_case({k: v for k, v in tree.items() if k not in ("flaws", "gauges", "proof")})


def changes(case: Case) -> tuple[Change, ...]:
    """List the changes of a case.

    Parameters
    ----------
    case : Case
        As from `tried_part`.
    """
    return tuple(_changes(case))


def _changes(case: Case) -> Iterator[Change]:
    thickness = case.joint.bond_thickness
    for bond in BONDS[case.joint.form]:
        gap = getattr(thickness, bond)
        for factor in _factors():
            moved = with_bonds(case, {bond: gap * (factor - 1)})
            yield _change(f"{bond} bond's thickness", _percent(factor), _mm((gap,), factor), moved)
    yield from _scaled(case, "overlap", _sides("joint.overlap", case))
    tips = _sides("ring.lip_tip", case)
    if all(_get(case, tip) == _get(case, tip.replace("lip_tip", "lip")) for tip in tips):
        yield from _scaled(case, "lip thickness", (*_sides("ring.lip", case), *tips), tips)
    else:
        yield from _scaled(case, "lip thickness at the root", _sides("ring.lip", case))
        yield from _scaled(case, "lip thickness at the tip", tips)
    yield from _scaled(case, "web", ("ring.web",))
    if case.ring.root_radius:
        yield from _scaled(case, "root radius", ("ring.root_radius",))
    if case.head.form != "none":
        yield from _scaled(case, "head thickness", ("head.thickness",))
    for factor in _factors():
        yield _wall(case, factor)
    yield from _warmer(case)
    for factor in _factors():
        yield _stiffer(case, factor)
    yield from _exchanged(case, "adhesive", "joint.adhesive", "adhesive")
    yield from _exchanged(case, "ring material", "ring.material", "metal")


def _factors() -> tuple[float, float]:
    return 1 - STEP, 1 + STEP


def _sides(path: str, case: Case) -> tuple[str, ...]:
    """Fields of the sides that a lap or lip has, and that are not nought."""
    return tuple(f"{path}.{side}" for side in SIDES if _get(case, f"{path}.{side}"))


def _scaled(
    case: Case, field: str, paths: tuple[str, ...], shown: tuple[str, ...] = ()
) -> Iterator[Change]:
    """Scale lengths together; none are no change."""
    for factor in _factors() if paths else ():
        moved = case
        for path in paths:
            moved = _put(moved, path, _get(case, path) * factor)
        values = tuple(_get(case, path) for path in shown or paths)
        yield _change(field, _percent(factor), _mm(values, factor), moved)


def _wall(case: Case, factor: float) -> Change:
    """Change the wall's thickness by whole repeats, or that of what has no plies."""
    blocks: list[Block] = []
    for block in case.wall.layup:
        if case.materials[block.ply].kind == "ply":
            repeats = max(1, round(block.repeats * factor))
            blocks.append(block.model_copy(update={"repeats": repeats}))
        else:
            blocks.append(block.model_copy(update={"thickness": block.thickness * factor}))
    wall = case.wall.model_copy(update={"layup": tuple(blocks)})
    grown = wall.thickness - case.wall.thickness
    share = wall.thickness / case.wall.thickness
    values = f"{case.wall.thickness:.4g} \u2192 {wall.thickness:.4g} mm"
    if not LEAST_STEP <= abs(share - 1) <= MOST_STEP:
        kept = f"{case.wall.thickness:.4g} mm"
        return Change("wall thickness", _percent(factor), kept, None, NO_REPEATS)
    moved = _put(case, "wall", wall)
    if case.ring.outer_radius is not None:
        moved = _put(moved, "ring.outer_radius", case.ring.outer_radius + grown)
    return _change("wall thickness", _percent(share), values, moved)


def _warmer(case: Case) -> Iterator[Change]:
    """Cure warmer or cooler: the temperature without stress moves with it."""
    path = "duty.stress_free_temperature"
    now = _get(case, path)
    for sign in (-1, 1):
        values = f"{now - KELVIN:.4g} \u2192 {now + sign * WARMER - KELVIN:.4g} \u00b0C"
        step = f"{'+' if sign > 0 else MINUS}{WARMER:g} K"
        moved = _put(case, path, now + sign * WARMER)
        yield _change("stress-free temperature", step, values.replace("-", MINUS), moved)


def _stiffer(case: Case, factor: float) -> Change:
    """Scale every modulus of the adhesive; its ratios and strengths stay."""
    name = case.joint.adhesive
    card = case.materials[name]
    moduli = {
        key: value.model_copy(update={"value": value.value * factor, "source": "changed"})
        for key in type(card.elastic).model_fields
        if isinstance(value := getattr(card.elastic, key), Modulus)
    }
    elastic = card.elastic.model_copy(update=moduli)
    mark = "stiffer" if factor > 1 else "softer"
    changed = card.model_copy(update={"elastic": elastic, "name": f"{name[:48]}-{mark}"})
    first = next(iter(moduli))
    before = _get(card, f"elastic.{first}.value") / 1000
    values = f"{before:.3g} \u2192 {before * factor:.3g} GPa"
    moved = _with_card(case, "joint.adhesive", changed)
    return _change("adhesive's stiffness", _percent(factor), values, moved)


def _exchanged(case: Case, field: str, path: str, kind: str) -> Iterator[Change]:
    """Exchange a material for each other one of the library."""
    now = _get(case, path)
    for name, card in library().items():
        if card.kind == kind and name != now:
            moved = _with_card(case, path, card)
            yield _change(field, name, f"{now} \u2192 {name}", moved)


def _with_card(case: Case, path: str, card: Card) -> Case:
    moved: Case = _put(
        _put(case, path, card.name), "materials", {**case.materials, card.name: card}
    )
    return moved


def _change(field: str, step: str, values: str, moved: Case) -> Change:
    """Make a change, checked as a case file is."""
    tree = moved.model_dump(mode="json", exclude_none=True)
    try:
        return Change(field, step, values, parse_case(tree, Origin("")))
    except CaseError as error:
        return Change(field, step, values, None, reason_of(error))


def reason_of(error: Exception) -> str:
    """Say what a refusal says, without the file that it did not come from."""
    if isinstance(error, CaseError):
        return str(CaseError("", error.field, "", error.reason, error.allowed))
    return (str(error).strip() or type(error).__name__).splitlines()[-1]


def _get(part: BaseModel, path: str) -> Any:
    for name in path.split("."):
        part = getattr(part, name)
    return part


def _put(part: Any, path: str, value: object) -> Any:
    """Copy a model with one value, not checked, in another one's place."""
    name, _, rest = path.partition(".")
    new = _put(getattr(part, name), rest, value) if rest else value
    return part.model_copy(update={name: new})


def _mm(values: tuple[float, ...], factor: float) -> str:
    before, after = (", ".join(f"{v * f:.4g}" for v in values) for f in (1.0, factor))
    return f"{before} \u2192 {after} mm"


def _percent(factor: float) -> str:
    return f"{100 * (factor - 1):+.0f} %".replace("-", MINUS)
