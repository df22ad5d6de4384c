"""The tables of the report: what is shown, and the same as CSV with full digits."""

from __future__ import annotations

import base64
import csv
import io
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from pydantic import BaseModel

from geometry.case import Case
from geometry.constants import Value
from geometry.materials import Card
from post.words import MINUS, bonds_in_order, number, rows_by_key, strongest
from post.written import written_field, written_fields
from solve.answer import Answer
from solve.laminate import engineering_constants

Cell = str | float | int | None

HEADLINES = (
    ("Mean peel", "peel", "mean"),
    ("Mean shear", "shear", "mean"),
    ("Peel, first thickness", "peel", "first_thickness"),
    ("Shear, first thickness", "shear", "first_thickness"),
    ("Largest peel", "peel", "largest"),
    ("Strongest shear", "shear", ""),
)
SHOWN_UNITS = {  # kind of value: (unit shown, factor from the inside unit)
    "Modulus": ("GPa", 1e-3),
    "Strength": ("MPa", 1.0),
    "Expansion": ("10\u207b\u2076/K", 1e6),
    "Toughness": ("kJ/m\u00b2", 1.0),
    "Density": ("kg/m\u00b3", 1e12),
    "Ratio": ("", 1.0),
}


@dataclass(frozen=True)
class Table:
    """A table as it is shown, and its download.

    Attributes
    ----------
    name : str
        File name of the download, without its suffix.
    columns : tuple of str
    rows : tuple of tuple of str
        The first cell of a row is its heading.
    href : str
        The CSV as a data address.
    """

    name: str
    columns: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    href: str


def table(
    name: str,
    columns: Iterable[str],
    rows: Iterable[Iterable[Cell]],
    full: tuple[Iterable[str], Iterable[Iterable[Cell]]] | None = None,
) -> Table:
    """Make a table; `full` is what its CSV holds where that is more than what is shown."""
    columns, listed = tuple(columns), [tuple(row) for row in rows]
    heads, body = full if full is not None else (columns, listed)
    stream = io.StringIO()
    writer = csv.writer(stream, lineterminator="\n")
    writer.writerow(heads)
    writer.writerows(body)
    shown = tuple(tuple("" if cell is None else str(cell) for cell in row) for row in listed)
    return Table(name, columns, shown, csv_address(stream.getvalue()))


def csv_address(text: str) -> str:
    """Turn the text of a CSV file into a data address."""
    return "data:text/csv;charset=utf-8;base64," + base64.b64encode(text.encode()).decode()


def headline_table(summary: dict[str, Any]) -> Table:
    """Headline numbers at duty, a column per bond; the CSV holds every headline."""
    rows = rows_by_key(summary)
    bonds = bonds_in_order(summary)
    shown = [
        [
            words,
            *(
                number(
                    rows[bond, stress, statistic, "duty"] if statistic else strongest(summary, bond)
                )
                for bond in bonds
            ),
        ]
        for words, stress, statistic in HEADLINES
    ]
    if any((bond, "twist_shear", "largest", "duty") in rows for bond in bonds):
        twists = [
            number(strongest(summary, bond, "twist_shear"))
            if (bond, "twist_shear", "largest", "duty") in rows
            else "0"
            for bond in bonds
        ]
        shown.append(["Strongest twist shear", *twists])
    columns = ["MPa, at duty", *(f"{bond} bond" for bond in bonds)]
    return table("headlines", columns, shown, _all_headlines(summary))


def _all_headlines(summary: dict[str, Any]) -> tuple[list[str], list[list[Cell]]]:
    keys = ["bond", "stress", "statistic", "load", "value", "unit", "error", "at_s_mm"]
    return keys, [[row[key] for key in keys] for row in summary["headlines"]]


def parts_table(summary: dict[str, Any]) -> Table:
    """Every headline: one row per bond, stress and statistic, one column per load."""
    rows = rows_by_key(summary)
    shown = []
    for (bond, stress, statistic, load), row in rows.items():
        if load == "duty":
            parts = [rows.get((bond, stress, statistic, k)) for k in ("pressure", "temperature")]
            cells = ["0" if part is None else number(part) for part in parts]  # nothing twists
            what = f"{stress.replace('_', ' ')}, {statistic.replace('_', ' ')}"
            shown.append([f"{bond} bond", what, *cells, number(row)])
    columns = ["Bond", "MPa", "Pressure", "Temperature", "Duty"]
    return table("headlines-by-load", columns, shown, _all_headlines(summary))


def transfer_table(summary: dict[str, Any]) -> Table:
    """Axial force on the wall by the surface it comes through."""
    rows = [
        [
            row["surface"],
            f"{row['axial_kN']:.1f}".replace("-", MINUS),
            f"{100 * row['share']:.1f} %".replace("-", MINUS),
        ]
        for row in summary["transfer"]
    ]
    full = [[row["surface"], row["axial_kN"], row["share"]] for row in summary["transfer"]]
    return table(
        "load-transfer",
        ["Through", "Axial force on the wall, kN", "Share of p\u00b7\u03c0\u00b7R\u00b2"],
        rows,
        (["surface", "axial_kN", "share"], full),
    )


def proof_table(summary: dict[str, Any]) -> Table:
    """Proofs of the solve."""
    meaning = {
        "residual": "force left over at the free nodes, relative",
        "reaction": "axial reaction at mid-length against the axial load, relative",
        "energy": "work of the loads against stored energy, relative",
    }
    rows = [
        [
            f"{row['name']}, {row['load']}",
            meaning.get(row["name"], ""),
            f"{row['value']:.1e}",
            f"{row['allowed']:.0e}",
        ]
        for row in summary["proofs"]
    ]
    full = [[row[k] for k in ("name", "load", "value", "allowed")] for row in summary["proofs"]]
    columns = ["Check", "What is compared", "Off by", "Allowed"]
    return table("checks", columns, rows, (["name", "load", "value", "allowed"], full))


def input_table(case: Case) -> Table:
    """Every field of the case but its title, its note and the material cards."""
    told = ("title", "note", "materials")
    rows = [row for row in _fields("", case) if row[0].partition(".")[0] not in told]
    return table("inputs", ["Input", "Value", "What it is"], rows)


def _fields(path: str, part: BaseModel) -> Iterator[tuple[str, str, str]]:
    for name, field in type(part).model_fields.items():
        entry = getattr(part, name)
        here = f"{path}.{name}".lstrip(".")
        what = (field.description or "").partition(", such as")[0]
        if entry is None:
            continue
        if isinstance(entry, BaseModel):
            yield from _fields(here, entry)
        elif name == "layup":
            for number_, block in enumerate(entry, 1):
                angles = ", ".join(f"{angle:g}" for angle in block.angles)
                text = f"{block.repeats} \u00d7 [{angles}]\u00b0, {block.thickness:g} mm a ply"
                yield f"{here} {number_}", text, f"{block.ply}, bore outwards"
        elif isinstance(entry, tuple) and entry and isinstance(entry[0], BaseModel):
            for number_, one in enumerate(entry, 1):
                yield f"{here} {number_}", written_fields(one), what.rstrip(".")
        elif isinstance(entry, Mapping):
            for key, one in entry.items():
                text = written_fields(one) if isinstance(one, BaseModel) else str(one)
                yield f"{here}.{key}", text, what.rstrip(".")
        elif isinstance(entry, tuple) and not entry:
            continue
        else:
            yield here, written_field(field, entry), what.rstrip(".")


def material_table(case: Case) -> Table:
    """Every value of every card with its unit, source and basis."""
    rows: list[list[Cell]] = []
    for name, card in case.materials.items():
        for what, entry in _values(card):
            unit, factor = SHOWN_UNITS[type(entry).__name__]
            words = what + (f" ({entry.direction})" if entry.direction else "")
            number_ = f"{entry.value * factor:.6g}".replace("-", MINUS)
            rows.append([name, words, number_, unit, entry.basis, entry.source])
    shown = [
        [
            "" if above is not None and above[0] == row[0] else row[0],
            *row[1:5],
            "as above" if above is not None and above[::5] == row[::5] else row[5],
        ]
        for above, row in zip([None, *rows], rows, strict=False)
    ]
    columns = ["Card", "Property", "Value", "Unit", "Basis", "Source"]
    return table("materials", columns, shown, (columns, rows))


def _values(card: Card) -> Iterator[tuple[str, Value]]:
    for name in type(card.elastic).model_fields:
        entry = getattr(card.elastic, name)
        if isinstance(entry, Value):
            yield name, entry
    if card.density is not None:
        yield "density", card.density
    yield from card.strengths.items()
    yield from card.toughness.items()


def wall_table(answer: Answer) -> Table:
    """Effective constants of the wall's layers, with the exact smearing of their plies."""
    layers = answer.section.layers
    columns = ["Constant", *(f"{name}" for name in layers)]
    constants = {name: engineering_constants(answer.materials[name]) for name in layers}
    full: list[list[Cell]] = []
    shown: list[list[Cell]] = []
    for key in next(iter(constants.values())):
        numbers = [constants[name][key] for name in layers]
        full.append([key + ("" if key.startswith("nu") else "_MPa"), *numbers])
        if key.startswith("nu"):
            label = f"\u03bd_{key[3:]}"
            shown.append([_hull(label), *(f"{x:.3f}".replace("-", MINUS) for x in numbers)])
        else:
            shown.append([f"{_hull(key)}, GPa", *(f"{x / 1000:.2f}" for x in numbers)])
    for axis, place in (("z", 2), ("t", 1), ("r", 0)):
        numbers = [float(answer.materials[name].cte[place]) for name in layers]
        full.append([f"cte_{axis}_per_K", *numbers])
        label = _hull(f"\u03b1_{axis}, 10\u207b\u2076/K")
        shown.append([label, *(f"{1e6 * x:.2f}".replace("-", MINUS) for x in numbers)])
    return table("wall-constants", columns, shown, (columns, full))


def _hull(name: str) -> str:
    """Write t as theta in the index of a constant."""
    head, _, tail = name.partition("_")
    index, comma, rest = tail.partition(",")
    return f"{head}_{index.replace('t', chr(0x3B8))}{comma}{rest}"
