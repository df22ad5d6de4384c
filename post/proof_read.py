"""Measurements of a proof test: reading its tables, and telling its dives apart.

Formulation
    A table is comma-separated, one header with the unit of each column in brackets, such as

        pressure [MPa], hull-hoop [microstrain], lip-tip [microstrain]

    rows in the order of time; a strain that is missing is an empty field. Lines that begin with
    ``#`` are notes. A column ``time`` is passed over.
    A dive is where the pressure rises above `RISEN` of the test's highest and until it falls below
    `FALLEN` of it; it begins and ends at the least pressure between dives. Loading goes to its
    highest pressure, unloading from there.
Units
    Pressure MPa, strain as a fraction.
"""

from __future__ import annotations

import csv
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from pydantic_core import PydanticCustomError

from geometry import bounds
from geometry.errors import CaseError, nearest_spelling
from geometry.units import KINDS, parse

Floats = NDArray[np.float64]

STRAINS = {
    "microstrain": 1e-6,
    "um/m": 1e-6,
    "\u00b5m/m": 1e-6,
    "mm/m": 1e-3,
    "%": 1e-2,
    "m/m": 1.0,
}
RISEN, FALLEN = 0.2, 0.05  # of the highest pressure of the test
PASSED_OVER = ("time",)


@dataclass(frozen=True)
class Table:
    """A table of measurements.

    Attributes
    ----------
    notes : tuple of str
        What its lines of notes say.
    columns : dict of str to (n,) array
        By name; NaN where a field is empty.
    units : dict of str to str
        As written.
    lines : tuple of int
        Line of the file of each row.
    """

    notes: tuple[str, ...]
    columns: dict[str, Floats]
    units: dict[str, str]
    lines: tuple[int, ...]


@dataclass(frozen=True)
class Dive:
    """Rows of one dive: the first, the one of its highest pressure, and the last, from 0."""

    first: int
    peak: int
    last: int

    @property
    def loading(self) -> slice:
        """Rows of the way down."""
        return slice(self.first, self.peak + 1)

    @property
    def unloading(self) -> slice:
        """Rows of the way up."""
        return slice(self.peak, self.last + 1)


@dataclass(frozen=True)
class Measured:
    """Strains of a proof test.

    Attributes
    ----------
    pressure : (n,) array
        MPa.
    strains : dict of str to (n,) array
        By gauge, fractions; NaN where missing.
    dives : tuple of Dive
    notes : tuple of str
    """

    pressure: Floats
    strains: dict[str, Floats]
    dives: tuple[Dive, ...]
    notes: tuple[str, ...]


def read_strains(path: Path, gauges: Sequence[str]) -> Measured:
    """Read strains over pressure.

    Parameters
    ----------
    path : Path
    gauges : sequence of str
        Names of the case's gauges; not all need be in the table.

    Returns
    -------
    Measured

    Raises
    ------
    CaseError
        One line: file, line, column, what is wrong, what is allowed.
    """
    table = read_table(path)
    pressure = pressures(path, table)
    strains = {}
    for name in table.columns:
        if name in ("pressure", *PASSED_OVER):
            continue
        if name not in gauges:
            allowed = f"pressure, {', '.join(gauges)}"
            near = nearest_spelling(name, gauges)
            raise CaseError(str(path), name, "", "is no gauge of the case", allowed, near)
        strains[name] = table.columns[name] * _strain_unit(path, name, table.units[name])
        _bound(path, table, name, 1e6 * strains[name], bounds.READING, "microstrain")
    if not strains:
        raise CaseError(str(path), reason="has no gauge", allowed=", ".join(gauges))
    dives = split_dives(pressure)
    if not dives:
        raise CaseError(str(path), "pressure", reason="has no dive", allowed="pressures that rise")
    return Measured(pressure, strains, dives, table.notes)


def pressures(path: Path, table: Table) -> Floats:
    """Give the pressures of a table, MPa; none may be missing."""
    if "pressure" not in table.columns:
        raise CaseError(str(path), "pressure", "", "is missing", "a column such as pressure [MPa]")
    unit, found = table.units["pressure"], table.columns["pressure"]
    try:
        factor = parse(f"1 {unit}", KINDS["pressure"])
    except PydanticCustomError as error:
        raise CaseError(str(path), "pressure", unit, error.message()) from None
    gone = np.flatnonzero(np.isnan(found))
    if len(gone):
        line = table.lines[int(gone[0])]
        raise CaseError(str(path), "pressure", "", "is empty", "a number", line=line)
    _bound(path, table, "pressure", found * factor, bounds.TEST_PRESSURE, "MPa")
    return found * factor


def read_table(path: Path) -> Table:
    """Read a table with units in its header.

    Raises
    ------
    CaseError
        When the file cannot be read as one.
    """
    if path.stat().st_size > bounds.TABLE_BYTES:
        allowed = f"up to {bounds.TABLE_BYTES:,} bytes"
        raise CaseError(str(path), reason="is too large", allowed=allowed)
    try:
        text = path.read_text(encoding="utf-8-sig")
    except UnicodeDecodeError:
        allowed = "a table saved as UTF-8"
        raise CaseError(str(path), reason="is not text in UTF-8", allowed=allowed) from None
    notes, header = [], None
    rows: list[list[float]] = []
    lines: list[int] = []
    for number, line in enumerate(text.splitlines(), 1):
        if line.startswith("#"):
            notes.append(line.lstrip("# ").strip())
        elif line.strip():
            fields = _fields(path, number, line)
            if len(rows) == bounds.TABLE_ROWS:
                allowed = f"up to {bounds.TABLE_ROWS:,}"
                raise CaseError(str(path), reason="has too many rows", allowed=allowed)
            if header is None:
                header = _header(path, number, fields)
            else:
                rows.append(_row(path, number, fields, list(header)))
                lines.append(number)
    if header is None or not rows:
        raise CaseError(str(path), reason="has no rows", allowed="a header and rows of numbers")
    columns = np.array(rows).T
    return Table(tuple(notes), dict(zip(header, columns, strict=True)), header, tuple(lines))


def _fields(path: Path, number: int, line: str) -> list[str]:
    try:
        return [field.strip() for field in next(csv.reader([line]))]
    except csv.Error:  # a field without end
        allowed = "fields with commas between them"
        raise CaseError(str(path), reason="is no row", allowed=allowed, line=number) from None


def _header(path: Path, number: int, fields: Sequence[str]) -> dict[str, str]:
    units: dict[str, str] = {}
    if len(fields) > bounds.TABLE_COLUMNS:
        reason, allowed = f"has {len(fields)} columns", f"up to {bounds.TABLE_COLUMNS}"
        raise CaseError(str(path), reason=reason, allowed=allowed, line=number)
    for field in fields:
        shape = re.fullmatch(r"([^\[\]]+?)\s*(?:\[([^\[\]]*)\])?", field)
        if shape is None:
            allowed = "a name and a unit such as pressure [MPa]"
            raise CaseError(str(path), "", field, "is no column", allowed, line=number)
        if shape[1] in units:
            raise CaseError(str(path), shape[1], "", "stands there twice", "once", line=number)
        units[shape[1]] = (shape[2] or "").strip()
    return units


def _row(path: Path, number: int, fields: Sequence[str], names: Sequence[str]) -> list[float]:
    if len(fields) != len(names):
        reason, allowed = f"has {len(fields)} fields", f"{len(names)}, as the header"
        raise CaseError(str(path), reason=reason, allowed=allowed, line=number)
    row = []
    for field, name in zip(fields, names, strict=True):
        try:
            row.append(float(field) if field else np.nan)
        except ValueError:
            raise CaseError(
                str(path), name, field, "is no number", "a number such as -512.5", line=number
            ) from None
        if np.isinf(row[-1]):
            raise CaseError(str(path), name, field, "is no number", "a finite one", line=number)
    return row


def _bound(path: Path, table: Table, name: str, values: Floats, most: float, unit: str) -> None:
    """Refuse what no gauge can read: an overflow, or a number in the wrong unit."""
    wild = np.flatnonzero(np.abs(values) > most)
    if len(wild):
        row = int(wild[0])
        value, allowed = f"{values[row]:.6g} {unit}", f"{-most:,.0f} to {most:,.0f} {unit}"
        raise CaseError(str(path), name, value, "is out of range", allowed, line=table.lines[row])


def _strain_unit(path: Path, name: str, unit: str) -> float:
    if unit not in STRAINS:
        near = nearest_spelling(unit, STRAINS)
        reason = "is no unit of strain" if unit else "has no unit"
        raise CaseError(str(path), name, unit, reason, f"[{'], ['.join(STRAINS)}]", near)
    return STRAINS[unit]


def split_dives(pressure: Floats) -> tuple[Dive, ...]:
    """Tell dives apart; see the module.

    Parameters
    ----------
    pressure : (n,) array
        In the order of time.
    """
    highest = float(np.max(pressure))
    if highest <= 0:
        return ()
    spans: list[tuple[int, int]] = []
    risen = None
    for i, p in enumerate(pressure):
        if risen is None and p > RISEN * highest:
            risen = i
        elif risen is not None and p < FALLEN * highest:
            spans.append((risen, i))
            risen = None
    if risen is not None:
        spans.append((risen, len(pressure) - 1))
    dives = []
    for k, (risen, fallen) in enumerate(spans):
        before = spans[k - 1][1] if k else 0
        after = spans[k + 1][0] if k + 1 < len(spans) else len(pressure) - 1
        first = before + int(np.argmin(pressure[before : risen + 1]))
        last = fallen + int(np.argmin(pressure[fallen : after + 1]))
        peak = risen + int(np.argmax(pressure[risen : fallen + 1]))
        dives.append(Dive(first, peak, last))
    return tuple(dives)


def missing(measured: Measured, gauges: Mapping[str, object]) -> list[str]:
    """Names of gauges that were not measured."""
    return [name for name in gauges if name not in measured.strains]
