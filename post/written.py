"""Quantities of a case as people write them: in the unit of the field's own example.

Inside, every quantity is in one system (mm, MPa, K, tonne); a page that shows 1.2e-09 tonne/mm^3
or 298.15 K is not read. The unit comes from the example that each field states; hours stand in
for minutes where they come out whole.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Annotated, Any, get_args, get_origin

from pydantic import BaseModel
from pydantic.fields import FieldInfo

from geometry.units import KINDS, Quantity, parse

SHOWN = {
    "degC": "\u00b0C",
    "kg/m^3": "kg/m\u00b3",
    "kJ/m^2": "kJ/m\u00b2",
}
HOURS = 120  # minutes from which a time is told in hours


def quantity_of(field: FieldInfo) -> Quantity | None:
    """Give what a field's quantity is; None where it holds no quantity."""
    for one in (*field.metadata, *_metadata(field.annotation)):
        if isinstance(one, Quantity):
            return one
    return None


def _metadata(annotation: Any) -> Iterator[Any]:
    """List what annotations inside a type hold, as of one that may be None."""
    if get_origin(annotation) is Annotated:
        yield from annotation.__metadata__
    for inner in get_args(annotation):
        yield from _metadata(inner)


def written(value: float, quantity: Quantity) -> str:
    """Write a quantity in the unit that people use for it.

    Parameters
    ----------
    value : float
        In the inside unit.
    quantity : Quantity

    Returns
    -------
    str
    """
    kind = KINDS[quantity.kind]
    unit = re.sub(r"^[-+\d.e]+\s*", "", quantity.example or kind.example)
    if quantity.kind == "time" and unit == "min" and value >= HOURS and value % 60 == 0:
        unit = "h"
    if unit == "/K":
        return f"{1e6 * value:.6g} \u00d7 10\u207b\u2076/K"
    zero, one = (parse(f"{n} {unit}", kind) for n in (0, 1))
    number = f"{(value - zero) / (one - zero):.10g}"
    return f"{number}\u00b0" if unit == "deg" else f"{number} {SHOWN.get(unit, unit)}"


def written_fields(part: BaseModel) -> str:
    """Write the fields of a small part in one line: names, quantities, units."""
    pieces = []
    for name, field in type(part).model_fields.items():
        entry = getattr(part, name)
        if entry is None:
            continue
        words = name.replace("_", " ")
        pieces.append(f"{words} {written_field(field, entry)}")
    return ", ".join(pieces)


def written_field(field: FieldInfo, entry: Any) -> str:
    """Write what a field holds."""
    quantity = quantity_of(field)
    if quantity is not None and isinstance(entry, int | float):
        return written(float(entry), quantity)
    if isinstance(entry, BaseModel):
        return written_fields(entry)
    if isinstance(entry, bool):
        return "yes" if entry else "no"
    if isinstance(entry, float):
        return f"{entry:.10g}"
    return str(entry)
