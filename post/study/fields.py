"""Fields of a case by dotted path: where they stand, what they hold, how they are set.

Formulation
    A path follows the case file: ``joint.bond_thickness.inner``, ``wall.layup[0].angles[1]``,
    ``materials.epoxy-paste.elastic.E``. A ``*`` in place of a name or a number stands for every
    entry that the case has, so ``ring.lip_tip.*`` moves both tips together; a bare
    ``joint.bond_thickness`` is every bond of the form.
    The case is walked as it was read, every default in place; values are set in its plain data,
    as a case file would hold them, and the whole is read anew: a point is checked like a case.
"""

from __future__ import annotations

import copy
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Annotated, Any, get_args, get_origin

from pydantic import BaseModel, TypeAdapter, ValidationError

from geometry.case import BondThickness, Case, parse_case
from geometry.case_file import Origin, Tree
from geometry.constants import Value
from geometry.errors import CaseError, case_error, nearest_spelling
from geometry.materials import library
from geometry.units import KINDS, Kind, Quantity, write
from post.study import spreads

Key = str | int
FIXED = ("title", "note", "mesh")  # say nothing of the joint
VARIED = "varied by a study"


@dataclass(frozen=True)
class Field:
    """One or several places of a case that take one value.

    Attributes
    ----------
    path : str
    places : tuple of tuple of str or int
        Keys into the case's plain data.
    hint : Any
        Annotated type of the value.
    """

    path: str
    places: tuple[tuple[Key, ...], ...]
    hint: Any

    @property
    def kind(self) -> Kind | None:
        """Kind of quantity; None for a plain number or a name."""
        quantity = find_quantity(self.hint)
        return KINDS[quantity.kind] if quantity else None

    def read(self, written: object, origin: Origin, name: str) -> spreads.Value:
        """Check a value as the case would and give it in inside units.

        Raises
        ------
        CaseError
            With the name of the study's field.
        """
        try:
            value = TypeAdapter(self.hint).validate_python(written, context={"file": True})
        except ValidationError as error:
            raise case_error(error, origin, name) from None
        if not isinstance(value, bool | int | float | str):
            raise CaseError(
                origin.path,
                name,
                reason="is not a single value",
                allowed="a number, a quantity or a name",
                line=origin.line(name),
            )
        return value

    def text(self, value: spreads.Value) -> spreads.Value:
        """Write a value as the case file holds it."""
        if self.kind is not None and not isinstance(value, str):
            return write(float(value), self.kind)
        return value


def find_quantity(hint: Any) -> Quantity | None:
    """Find the quantity in an annotated type, or None."""
    if isinstance(hint, Quantity):
        return hint
    found = (find_quantity(part) for part in get_args(hint))
    return next((quantity for quantity in found if quantity), None)


def find_field(case: Case, path: str, origin: Origin, name: str) -> Field:
    """Find the places that a dotted path means.

    Parameters
    ----------
    case : Case
    path : str
    origin : Origin
        Of the study file.
    name : str
        Field of the study file that holds the path, for messages.

    Raises
    ------
    CaseError
        When the case has no such field.
    """

    def refuse(reason: str, allowed: str, nearest: str = "") -> CaseError:
        return CaseError(origin.path, name, "", reason, allowed, nearest, origin.line(name))

    def walk(value: Any, hint: Any, rest: str, keys: tuple[Key, ...]) -> Iterator[Any]:
        if not rest:
            if isinstance(value, BondThickness):
                yield from walk(value, hint, "*", keys)
            elif isinstance(value, Value):
                yield (*keys, "value"), _hint(type(value), "value")
            elif isinstance(value, BaseModel | dict | tuple):
                entries = list(_entries(value))
                joint = "" if isinstance(value, tuple) else "."
                shown = ", ".join(f"{path}{joint}{_shown(key)}" for key in entries[:8])
                raise refuse("holds several values", shown)
            else:
                yield keys, hint
            return
        if value is None or not isinstance(value, BaseModel | dict | tuple):
            raise refuse("goes on below a single value", "a path that ends there")
        entries = list(_entries(value))
        key, rest = _next(rest, entries)
        if key == "*":
            for each in entries:
                if _entry(value, each) is not None:
                    yield from walk(
                        _entry(value, each), _below(value, hint, each), rest, (*keys, each)
                    )
            return
        if key not in entries:
            near = nearest_spelling(str(key), map(str, entries))
            shown = ", ".join(map(_shown, entries)) or "nothing: the case leaves it out"
            raise refuse(f"names '{_shown(key)}', which the case has not", shown, near)
        yield from walk(_entry(value, key), _below(value, hint, key), rest, (*keys, key))

    if re.split(r"[.\[]", path)[0] in FIXED:
        raise refuse("cannot vary", "a field of duty, wall, joint, ring, head, materials, ...")
    found = list(walk(case, Case, path, ()))
    hints = {repr(find_quantity(hint) or hint) for _, hint in found}
    if not found or len(hints) > 1:
        raise refuse("means no field, or fields of several kinds", "fields of one kind")
    return Field(path, tuple(keys for keys, _ in found), found[0][1])


def _entries(value: Any) -> Iterator[Key]:
    if isinstance(value, BaseModel):
        fields = type(value).model_fields
        yield from (key for key in fields if not fields[key].exclude)
    elif isinstance(value, dict):
        yield from value
    else:
        yield from range(len(value))


def _entry(value: Any, key: Key) -> Any:
    return getattr(value, str(key)) if isinstance(value, BaseModel) else value[key]


def _shown(key: Key) -> str:
    return f"[{key}]" if isinstance(key, int) else key


def _next(rest: str, entries: list[Key]) -> tuple[Key, str]:
    """Take the next key off a path; names of cards may themselves hold points."""
    index = re.match(r"\[(\d+|\*)\]", rest)
    if index:
        key: Key = "*" if index[1] == "*" else int(index[1])
        return key, rest[index.end() :].removeprefix(".")
    names = [
        e for e in entries if isinstance(e, str) and re.match(re.escape(e) + r"(?=[.\[]|$)", rest)
    ]
    token = max(names, key=len, default=re.match(r"[^.\[]*", rest)[0])  # type: ignore[index]
    return token, rest[len(token) :].removeprefix(".")


def _hint(model: type[BaseModel], name: str) -> Any:
    field = model.model_fields[name]
    hint: Any = field.annotation
    for mark in field.metadata:
        hint = Annotated[hint, mark]
    return hint


def _below(value: Any, hint: Any, key: Key) -> Any:
    """Annotated type of an entry."""
    if isinstance(value, BaseModel):
        return _hint(type(value), str(key))
    return _item(hint)


def _item(hint: Any) -> Any:
    """Annotated type of the entries of a tuple or dict."""
    if get_origin(hint) is tuple:
        return get_args(hint)[0]
    if get_origin(hint) is dict:
        return get_args(hint)[1]
    return next((_item(part) for part in get_args(hint) if get_args(part)), Any)


@dataclass(frozen=True)
class Base:
    """A case ready to be varied.

    Attributes
    ----------
    tree : dict
        Plain data; library cards whose values vary stand under names of their own.
    fields : tuple of Field
    """

    tree: Tree
    fields: tuple[Field, ...]

    def point_tree(self, values: Mapping[str, spreads.Value]) -> Tree:
        """Plain data of the case at a point."""
        tree = copy.deepcopy(self.tree)
        for field in self.fields:
            text = field.text(values[field.path])
            for *way, last in field.places:
                place = tree
                for key in way:
                    place = place[key]
                place[last] = text
        return tree

    def point_case(self, values: Mapping[str, spreads.Value]) -> Case:
        """Give the case at a point.

        Raises
        ------
        CaseError
            When the values contradict each other.
        """
        return parse_case(self.point_tree(values), Origin("point"))


def make_base(case: Case, fields: tuple[Field, ...]) -> Base:
    """Make the plain data that points are set in."""
    tree = case.model_dump(mode="json", exclude_none=True)
    renamed: dict[str, str] = {}
    for field in fields:
        for place in field.places:
            if place[0] == "materials" and case.materials[str(place[1])] == library().get(
                str(place[1])
            ):
                renamed[str(place[1])] = f"{place[1]}-varied"
    tree["materials"] = {renamed.get(name, name): card for name, card in tree["materials"].items()}
    for block in tree["wall"]["layup"]:
        block["ply"] = renamed.get(block["ply"], block["ply"])
    for part, name in (("joint", "adhesive"), ("ring", "material"), ("head", "material")):
        if name in tree[part]:
            tree[part][name] = renamed.get(tree[part][name], tree[part][name])
    moved = []
    for field in fields:
        places = tuple(
            (p[0], renamed.get(str(p[1]), str(p[1])), *p[2:]) if p[0] == "materials" else p
            for p in field.places
        )
        for *way, last in places:
            if last == "value":
                card: Any = tree
                for key in way:
                    card = card[key]
                card["source"] = VARIED
        moved.append(Field(field.path, places, field.hint))
    return Base(tree, tuple(moved))
