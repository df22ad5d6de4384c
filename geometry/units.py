"""Quantities with units at the border, plain numbers inside.

Problem
    People write ``1.2 mm``, ``1/16 in``, ``4400 psi``, ``60 degF``; the mechanics wants numbers in
    one consistent system.
Formulation
    mm, N, MPa, tonne, K, min inside, angles in degrees, shares as fractions of 1; sea depth in m.
    Numbers are taken as exact fractions and converted by exact factors, and become a float at the
    end: what is written out in inside units is read back as the same float.
Source
    Factors and offsets of the units: the `pint` library.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from functools import cache, cached_property
from typing import Any

import pint
from pydantic import GetCoreSchemaHandler, GetJsonSchemaHandler, ValidationInfo
from pydantic_core import CoreSchema, core_schema

from geometry.errors import nearest_spelling, refusal

NUMBER = r"[+-]?(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[eE][+-]?[0-9]{1,3})?"
COMMON_FRACTION = r"[+-]?[0-9]+/[0-9]+"
_SHAPE = re.compile(rf"({COMMON_FRACTION}(?=[^\d.])|{NUMBER})\s*(.*)", re.DOTALL)
_LONGEST = 60


@dataclass(frozen=True)
class Kind:
    """A kind of quantity.

    Attributes
    ----------
    name : str
        With its article, as a message says it.
    unit : str
        The unit inside; empty for a plain share.
    example : str
        As people write it.
    units : tuple of str
        Units that are read, the usual ones first.
    """

    name: str
    unit: str
    example: str
    units: tuple[str, ...]


def _metric(stem: str) -> tuple[str, ...]:
    """Spell the metric lengths out, in both spellings and numbers."""
    return tuple(f"{stem}{end}" for end in ("metre", "metres", "meter", "meters"))


_LENGTHS = (
    *("mm", "cm", "m", "um", "in", "ft", "dm", "km", "micron", "inch", "inches", "foot", "feet"),
    *("yd", "thou", *_metric("milli"), *_metric("centi"), *_metric("")),
)
_STRESSES = (
    *("MPa", "GPa", "kPa", "bar", "psi", "ksi", "Msi", "Pa", "hPa", "mbar", "dbar", "atm"),
    *("N/mm^2", "kN/mm^2", "MN/m^2", "N/m^2"),
)
KINDS = {
    kind.name.split(" ", 1)[1]: kind
    for kind in (
        Kind("a length", "mm", "1.2 mm", _LENGTHS),
        Kind(
            "a sea depth",
            "m",
            "3000 m",
            ("m", "km", "ft", *(unit for unit in _LENGTHS if unit not in ("m", "km", "ft"))),
        ),
        Kind("a pressure", "MPa", "30 MPa", _STRESSES),
        Kind("a stress", "MPa", "60 MPa", _STRESSES),
        Kind("a modulus", "MPa", "3 GPa", _STRESSES),
        Kind(
            "a temperature",
            "K",
            "45 degC",
            ("degC", "K", "degF", "°C", "°F", "celsius", "kelvin", "fahrenheit"),
        ),
        Kind("an angle", "deg", "1 deg", ("deg", "degree", "degrees", "°", "rad", "mrad")),
        Kind("a share", "", "1 %", ("%", "percent", "ppm")),
        Kind(
            "a time",
            "min",
            "60 min",
            ("min", "h", "s", "day", "minutes", "hours", "hour", "days", "seconds"),
        ),
        Kind(
            "a thermal expansion",
            "1/K",
            "8.6e-6 /K",
            (
                *("/K", "1/K", "/degC", "1/degC", "/°C", "1/°C", "ppm/K", "ppm/degC", "ppm/°C"),
                *("um/m/K", "um/m/degC", "um/m/°C", "/degF", "1/degF", "ppm/degF"),
            ),
        ),
        Kind(
            "an energy release rate",
            "N/mm",
            "0.5 kJ/m^2",
            ("kJ/m^2", "J/m^2", "mJ/mm^2", "N/mm", "N/m", "kN/m", "lbf/in"),
        ),
        Kind(
            "a density",
            "tonne/mm^3",
            "1600 kg/m^3",
            (
                *("kg/m^3", "g/cm^3", "kg/dm^3", "tonne/m^3", "tonne/mm^3", "kg/mm^3"),
                *("lb/in^3", "lb/ft^3"),
            ),
        ),
    )
}
# what is often written, and is another unit or none
_MEANT = {"c": "degC", "f": "degF", "mil": "thou", "mils": "thou", '"': "in", "''": "in", "'": "ft"}


@cache
def _registry() -> pint.UnitRegistry[Any]:
    registry: pint.UnitRegistry[Any] = pint.UnitRegistry(non_int_type=Fraction, cache_folder=None)
    registry.define("Msi = 1000 * ksi")
    return registry


@cache
def _factor(unit: str, inside: str) -> tuple[Fraction, Fraction]:
    """Factor and offset from a unit to the inside unit, exact."""
    registry = _registry()
    source = registry.parse_units(f"1{unit}" if unit.startswith("/") else unit)
    # a temperature is affine in its unit, everything else linear: two points fix both
    zero, one = (
        Fraction(registry.Quantity(Fraction(n), source).to(inside or "dimensionless").magnitude)
        for n in (0, 1)
    )
    return one - zero, zero


def _is_unit(text: str) -> bool:
    """Whether a text is a unit of any kind, so that a message can tell a slip from a misfit."""
    if not re.fullmatch(r"[A-Za-z°%/*^1-9]{1,20}", text):
        return False
    try:
        _registry().parse_units(text)
    except Exception:  # the library's parser raises what it meets
        return False
    return True


def _plain(unit: str) -> str:
    """Bring the ways of writing a unit to one: no blanks, ``^`` for powers, ``u`` for micro."""
    for old, new in (("**", "^"), ("²", "^2"), ("³", "^3"), ("µ", "u"), ("μ", "u")):
        unit = unit.replace(old, new)
    return re.sub(r"(?<=[A-Za-z])(?=\d)", "^", re.sub(r"\s+", "", unit))


def parse(text: str, kind: Kind) -> float:
    """Read a quantity.

    Parameters
    ----------
    text : str
        Number and unit, such as ``1.2 mm`` or ``1/16 in``.
    kind : Kind
        What it must be.

    Returns
    -------
    float
        In the inside unit of the kind.

    Raises
    ------
    PydanticCustomError
        When it is no number with a unit of that kind.
    """
    wanted = f"{kind.name} such as {kind.example}"
    text = text.strip()
    if len(text) > _LONGEST:
        raise refusal("is too long for a quantity", wanted)
    shape = _SHAPE.fullmatch(text)
    if shape is None:
        raise refusal("is not a number with a unit", wanted)
    number, written = shape[1], shape[2]
    if re.match(r"[,.\d](?!/[a-zA-Z°])", written):
        # three digits after a comma may be thousands: do not guess
        decimal = re.fullmatch(r"(\d+),(\d{1,2}|\d{4,})(?=\D|$)(.*)", text)
        hint = f"{decimal[1]}.{decimal[2]}{decimal[3]}" if decimal else ""
        comma = ": a decimal point, no commas" if "," in text else ""
        raise refusal(f"is not a number with a unit{comma}", wanted, hint)
    if not written:
        raise refusal("has no unit", wanted)
    unit = _plain(written)
    if unit not in map(_plain, kind.units):
        near = _MEANT.get(unit.casefold(), "") or nearest_spelling(unit, kind.units)
        near = near if near in kind.units else ""
        reason = (
            "is not " if _is_unit(unit) else f"has a unit '{unit[:20]}' that is not known, not "
        )
        reason += kind.name
        raise refusal(reason, f"{wanted}, in {', '.join(kind.units[:6])} and the like", near)
    if re.fullmatch(COMMON_FRACTION, number) and int(number.split("/")[1]) == 0:
        raise refusal("divides by zero", wanted)
    factor, offset = _factor(unit, kind.unit)
    try:
        return float(Fraction(number) * factor + offset)
    except OverflowError:
        raise refusal("is too large for a number", wanted) from None


def write(value: float, kind: Kind) -> str:
    """Write a quantity in its inside unit so that `parse` gives the same float back."""
    if not kind.unit:
        return f"{Decimal(repr(value)).scaleb(2)} %"
    return f"{value!r} {kind.unit}"


@dataclass(frozen=True)
class Quantity:
    """What a quantity field holds; stands in the `Annotated` type of the field.

    A text is read with its unit. A bare number is refused in a file (zero apart, which is the
    same in every unit that has no offset); in Python it is taken to be in the inside unit.

    Attributes
    ----------
    kind : str
        Key of `KINDS`.
    low, high : str
        Bounds with units, both allowed.
    example : str
        For this very field; the kind's own where empty.
    """

    kind: str
    low: str = ""
    high: str = ""
    example: str = ""

    @cached_property
    def bounds(self) -> tuple[float, float]:
        """Bounds in the inside unit."""
        kind = KINDS[self.kind]
        return (
            parse(self.low, kind) if self.low else -float("inf"),
            parse(self.high, kind) if self.high else float("inf"),
        )

    @property
    def allowed(self) -> str:
        """What is allowed, in words."""
        kind = KINDS[self.kind]
        words = kind.name
        if self.low:
            words += f" from {self.low}"
        if self.high:
            words += f" {'to' if self.low else 'up to'} {self.high}"
        return f"{words}, such as {self.example or kind.example}"

    def validate(self, value: object, info: ValidationInfo) -> float:
        """Read and bound a value; see the class."""
        kind = KINDS[self.kind]
        if isinstance(value, str):
            number = parse(value, kind)
        elif isinstance(value, bool) or not isinstance(value, int | float):
            raise refusal(f"is not {kind.name}", self.allowed)
        elif in_file(info.context) and not (value == 0 and kind.name != "a temperature"):
            raise refusal("is a bare number", f"{self.allowed}: a number with its unit")
        else:
            number = float(value)
        low, high = self.bounds
        if not low <= number <= high:
            raise refusal("is out of range", self.allowed)
        return number

    def __get_pydantic_core_schema__(
        self, source: object, handler: GetCoreSchemaHandler
    ) -> CoreSchema:
        return core_schema.with_info_plain_validator_function(
            self.validate,
            serialization=core_schema.plain_serializer_function_ser_schema(
                lambda value: write(value, KINDS[self.kind]), when_used="json"
            ),
        )

    def __get_pydantic_json_schema__(
        self, schema: CoreSchema, handler: GetJsonSchemaHandler
    ) -> dict[str, Any]:
        kind = KINDS[self.kind]
        example = self.example or kind.example
        text = {"type": "string", "pattern": pattern(kind), "examples": [example]}
        if kind.name == "a temperature" or self.bounds[0] > 0:
            return text
        return {"anyOf": [text, {"const": 0}], "examples": [example]}


def in_file(context: Mapping[str, Any] | None) -> bool:
    """Whether a validation reads a file (bare numbers refused) rather than Python values."""
    return bool(context and context.get("file"))


def pattern(kind: Kind) -> str:
    """Give the regular expression of the quantities that `parse` takes, for the JSON Schema."""
    spellings = []
    for unit in sorted(set(kind.units), key=lambda u: (-len(u), u)):
        text = re.escape(unit).replace("/", r"\s*/\s*")
        text = re.sub(r"\\\^(\d)", r"\\s*(\\^|\\*\\*)?\\s*\1", text)
        text = re.sub(r"^um", "[uµμ]m", text)
        spellings.append(text.replace("2", "[2²]").replace("3", "[3³]"))
    return rf"^\s*({COMMON_FRACTION}|{NUMBER})\s*({'|'.join(spellings)})\s*$"
