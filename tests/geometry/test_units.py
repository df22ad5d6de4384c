"""Quantities: read with their unit, bounded, written back to the same float."""

from __future__ import annotations

import math
import re

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic_core import PydanticCustomError

from geometry.units import KINDS, parse, pattern, write

# Inch, foot, pound-force: exact by the international yard and pound agreement of 1959 and
# standard gravity; Fahrenheit by its definition, T_K = (T_F + 459.67) / 1.8.
INCH, FOOT, POUND, GRAVITY = 25.4, 304.8, 0.45359237, 9.80665
PSI = POUND * GRAVITY / INCH**2


@pytest.mark.parametrize(
    ("text", "kind", "expected"),
    [
        ("1.2 mm", "length", 1.2),
        ("0.047 in", "length", 0.047 * INCH),
        ("1/16 in", "length", INCH / 16),
        ("2ft", "length", 2 * FOOT),
        (" 5 um ", "length", 0.005),
        ("5 µm", "length", 0.005),
        ("5 thou", "length", 0.005 * INCH),
        ("3000 m", "sea depth", 3000.0),
        ("10000 ft", "sea depth", 10 * FOOT),
        ("4400 psi", "pressure", 4400 * PSI),
        ("10 ksi", "pressure", 10_000 * PSI),
        ("16 Msi", "modulus", 16e6 * PSI),
        ("30 N/mm2", "stress", 30.0),
        ("3 GPa", "modulus", 3000.0),
        ("300 bar", "pressure", 30.0),
        ("45 degC", "temperature", 318.15),
        ("45 °C", "temperature", 318.15),
        ("60 degF", "temperature", (60 + 459.67) / 1.8),
        ("-40 degF", "temperature", 233.15),
        ("1 deg", "angle", 1.0),
        ("0.1 rad", "angle", math.degrees(0.1)),
        ("1 %", "share", 0.01),
        ("8.6e-6 /K", "thermal expansion", 8.6e-6),
        ("8.6 ppm/degC", "thermal expansion", 8.6e-6),
        ("-5e-7 1/K", "thermal expansion", -5e-7),
        ("1.8e-5 /degF", "thermal expansion", 3.24e-5),
        ("0.5 kJ/m^2", "energy release rate", 0.5),
        ("220 J/m²", "energy release rate", 0.22),
        ("1600 kg/m3", "density", 1.6e-9),
        ("0.160 lb/in^3", "density", 0.160 * POUND / 1000 / INCH**3),
    ],
)
def test_quantities_as_people_write_them(text: str, kind: str, expected: float) -> None:
    assert parse(text, KINDS[kind]) == pytest.approx(expected, rel=1e-14)


@pytest.mark.parametrize(
    ("text", "kind", "said"),
    [
        ("1.2", "length", "has no unit"),
        ("1.0 mmm", "length", "did you mean 'mm'"),
        ("1,2 mm", "length", "did you mean '1.2 mm'"),
        ("1,200 mm", "length", "no commas"),
        ("1.2.3 mm", "length", "is not a number"),
        ("mm", "length", "is not a number"),
        ("", "length", "is not a number"),
        ("nan mm", "length", "is not a number"),
        ("inf mm", "length", "is not a number"),
        ("1e999 mm", "length", "is too large"),
        ("1e9999 mm", "length", "is not a number"),
        ("1/0 in", "length", "divides by zero"),
        ("10**9 mm", "length", "not known"),
        ("1 mm^2", "length", "a length such as"),
        ("1 kg", "length", "a length such as"),
        ("1 MPa", "length", "is not a length"),
        ("30 MPA", "pressure", "did you mean 'MPa'"),
        ("4400 lbs", "pressure", "a pressure such as"),
        ("45 C", "temperature", "did you mean 'degC'"),
        ("45 delta_degC", "temperature", "a temperature such as"),
        ("1 mm; import os", "length", "not known"),
        ("1" * 100 + " mm", "length", "too long"),
        ("٣ mm", "length", "is not a number"),
    ],
)
def test_what_is_no_quantity_is_refused(text: str, kind: str, said: str) -> None:
    with pytest.raises(PydanticCustomError, match=re.escape(said)) as refused:
        parse(text, KINDS[kind])
    assert KINDS[kind].example in str(refused.value)


finite = st.floats(allow_nan=False, allow_infinity=False, min_value=-1e300, max_value=1e300)


@given(finite, st.sampled_from(sorted(KINDS)))
def test_a_written_quantity_is_read_back_as_the_same_float(value: float, name: str) -> None:
    # numbers are exact fractions on the way, so equality is exact
    assert parse(write(value, KINDS[name]), KINDS[name]) == value


@given(st.floats(min_value=1e-6, max_value=1e6))
def test_inches_feet_and_psi_are_lengths_and_pressures(value: float) -> None:
    # two roundings of 1.1e-16 each in the expected product
    length, pressure = KINDS["length"], KINDS["pressure"]
    assert parse(f"{value!r} in", length) == pytest.approx(value * INCH, rel=4e-16)
    assert parse(f"{value!r} ft", length) == pytest.approx(value * FOOT, rel=4e-16)
    assert parse(f"{value!r} psi", pressure) == pytest.approx(value * PSI, rel=1e-15)


def test_every_unit_that_is_offered_is_read_and_matches_the_schema() -> None:
    for kind in KINDS.values():
        for unit in kind.units:
            assert math.isfinite(parse(f"1.5 {unit}", kind)), (kind.name, unit)
            assert re.search(pattern(kind), f"1.5 {unit}"), (kind.name, unit)
        assert not re.search(pattern(kind), "1.5 mmm")
        assert not re.search(pattern(kind), "1.5")
