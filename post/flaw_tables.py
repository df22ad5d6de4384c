"""Tables of disbonds and dives: what is shown, and the same as CSV with full digits."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np

from geometry.case import Case
from geometry.section import Section
from post.flaw_place import flaw_words, open_to, place_words
from post.flaw_results import FlawMap
from post.flaw_sentences import MODES, count_words, face_words, first_depth, first_tip, least_of
from post.tables import Cell, Table, table
from post.words import MINUS

Row = Mapping[str, Any]
NAMES = {
    "GIc": "toughness, opening GIc",
    "GIIc": "toughness, shearing GIIc",
    "mode_exponent": "exponent of the mixed-mode limit",
    "growth_rate": "growth per dive at a range of 1 kJ/m\u00b2",
    "growth_exponent": "exponent of growth",
    "growth_threshold": "threshold of growth",
    "life_loss": "share of strength lost per tenfold dives",
}


def flaw_table(case: Case, section: Section, results: Sequence[Row]) -> Table:
    """Tabulate how each disbond fares; the CSV has every end."""
    columns = (
        *("Disbond", "Where", "First grows at", "Ratio to duty", "Then"),
        *("G at duty, kJ/m\u00b2", "Gc", "Opening", "Shearing", "Around"),
    )
    shown: list[list[Cell]] = []
    full: list[list[Cell]] = []
    for row in results:
        flaw = case.flaws[row["number"]]
        name = f"{row['number'] + 1}: {flaw_words(section, flaw)}"
        tip = first_tip(row)
        if tip is None:
            shown.append([name, place_words(flaw), *["\u2013"] * 8])
        else:
            depth, ratio, error = first_depth(case, tip)
            if math.isnan(tip["pressure"]):
                first, told = "not judged", ""
            elif math.isinf(depth):
                first, told = "not reached", ""
            else:
                first = f"{math.floor(depth):,} m"
                told = (
                    f"{ratio:.2f} \u00b1 {max(error, 0.005):.2f}"
                    if math.isfinite(error)
                    else f"{ratio:.2f}"
                )
            shares = [
                f"{100 * tip[mode] / tip['G']:.0f} %" if tip["G"] > 0 else "\u2013"
                for mode, _ in MODES
            ]
            limit = "not judged" if math.isnan(tip["limit"]) else f"{tip['limit']:.3g}"
            then = {True: "stops", False: "runs on", None: ""}[tip["stable"]]
            shown.append(
                [name, place_words(flaw), first, told, then, f"{tip['G']:.3g}", limit, *shares]
            )
        for one in row["tips"]:
            full.append([row["number"] + 1, flaw.bond, flaw.face, flaw.start, flaw.length,
                         open_to(section, flaw) or "buried", row["flooded"],
                         *(_cell(one[key]) for key in _TIP_KEYS), row["closed_share"],
                         row["opening"], row["overlap"]])  # fmt: skip
    heads = ["disbond", "bond", "face", "start_mm", "length_mm", "open_to", "flooded", "tip_s_mm",
             "tip_r_mm", "tip_z_mm", "direction", "G_kJ_m2", "G_I", "G_II", "G_III", "Gc_kJ_m2",
             "closure_length_mm", "first_growth_MPa", "error_MPa", "stable", "why", "closed_share",
             "opening_mm", "overlap_mm"]  # fmt: skip
    return table("flaws", columns, shown, (heads, full))


_TIP_KEYS = (
    *("s", "r", "z", "direction", "G", "G_I", "G_II", "G_III", "limit", "closure_length"),
    *("pressure", "error", "stable", "why"),
)


def dives_table(life: Row, case: Case, section: Section) -> Table:
    """Tabulate the life of each disbond."""
    unit = "Dives" if life["mission"].startswith("one dive") else "Times the dive list"
    columns = (
        *("Disbond", "Range of G on a dive, kJ/m\u00b2", "Tolerable, mm", f"{unit} until then"),
        *("Critical at duty, mm", f"{unit} until then", "After the planned dives, mm", "Why not"),
    )
    rows: list[list[Cell]] = []
    for row in life["flaws"]:
        flaw = case.flaws[row["number"]]
        name = f"{row['number'] + 1}: {flaw_words(section, flaw)}"
        if row["why"]:
            rows.append([name, _short(row["dive_range"]), *["not judged"] * 4, "", row["why"]])
            continue
        after = row["planned_length"]
        rows.append(
            [
                name,
                _short(row["dive_range"]),
                _length(row["tolerable"], row["longest"]),
                _until(row["missions"], row["tolerable"]),
                _length(row["critical"], row["longest"]),
                _until(row["missions_critical"], row["critical"]),
                _after(after, row),
                "",
            ]
        )
    shown = _without_empty_last(columns, rows)
    heads = [key for key in life["flaws"][0]]
    full = [[_cell(row[key]) for key in heads] for row in life["flaws"]]
    return table("flaw-life", *shown, (heads, full))


def rung_table(life: Row) -> Table:
    """Tabulate the life of each mode of the ladder."""
    single = life["mission"].startswith("one dive")
    columns = ["What fails", "Strength used at duty", "Dives to the duty depth"]
    columns += (
        ["Damage of a dive"] if single else ["Damage of the dive list", "Times the dive list"]
    )
    columns += ["Why not"]
    rows: list[list[Cell]] = []
    for row in life["rungs"]:
        name = f"{row['part']}: {row['mode']}"
        if row["why"]:
            rows.append([name, *["not judged"] * (len(columns) - 2), row["why"]])
            continue
        share, error = 100 * row["share"], max(100 * row["share_error"], 0.05)
        used = f"{share:.1f} \u00b1 {error:.1f} %" if share else "nil"
        more = [] if single else [count_words(row["missions"])]
        rows.append(
            [
                name,
                used,
                count_words(row["dives"]),
                f"{row['damage']:.1e}".replace("-", MINUS),
                *more,
                "",
            ]
        )
    shown = _without_empty_last(columns, rows)
    heads = list(life["rungs"][0])
    full = [[_cell(row[key]) for key in heads] for row in life["rungs"]]
    return table("life", *shown, (heads, full))


def constants_table(life: Row) -> Table:
    """Tabulate every constant of growth and life with its source."""
    rows: list[list[Cell]] = [
        [
            NAMES[row["name"]],
            row["card"],
            "not in the card" if row["value"] is None else f"{row['value']:.4g}",
            row["unit"],
            row["basis"],
            row["source"],
        ]
        for row in life["constants"]
    ]
    columns = ("Constant", "Card", "Value", "Unit", "Basis", "Source")
    return table("life-constants", columns, rows)


def map_table(maps: Sequence[FlawMap]) -> Table:
    """Tabulate the least of each map; the CSV has every place."""
    rows: list[list[Cell]] = []
    full: list[list[Cell]] = []
    for one in maps:
        if not len(one.s):
            continue
        least, most = least_of(one), int(np.argmax(one.longest))
        shortest = ["as long as the bond lets it be", ""]
        if least is not None:
            shortest = [_size(one, least), one.limited_by[least].replace("-", MINUS)]
        kind = "buried" if one.kind == "buried" else "from the edge"
        where = f"{one.bond} bond, {face_words(one.face)}"
        rows.append([where, kind, *shortest, _size(one, most)])
        full += [
            [one.bond, one.face, one.kind, float(s), float(longest), by, one.pressure]
            for s, longest, by in zip(one.s, one.longest, one.limited_by, strict=True)
        ]
    heads = ["bond", "face", "kind", "s_mm", "longest_mm", "limited_by", "pressure_MPa"]
    columns = ("Bond", "Disbond", "Shortest that holds", "What ends it", "Longest that holds")
    return table("flaw-map", columns, rows, (heads, full))


def _size(one: FlawMap, at: int) -> str:
    return f"{one.longest[at]:.3g} mm at s = {one.s[at]:.4g} mm"


def _without_empty_last(
    columns: Sequence[str], rows: list[list[Cell]]
) -> tuple[Sequence[str], list[list[Cell]]]:
    """Leave out a last column in which nothing stands."""
    if any(row[-1] for row in rows):
        return columns, rows
    return columns[:-1], [row[:-1] for row in rows]


def _short(value: float) -> str:
    return "" if math.isnan(value) else f"{value:.2g}"


def _length(length: float, longest: float) -> str:
    if length == 0:
        return "too long already"
    return f"all, to {longest:.3g}" if math.isinf(length) else f"{length:.3g}"


def _after(length: float, row: Row) -> str:
    if math.isnan(length):
        return "none planned"
    if math.isfinite(length):
        return f"{length:.4g}"
    return "torn" if math.isfinite(row["critical"]) else f"over {row['longest']:.3g}"


def _until(missions: float, length: float) -> str:
    if length == 0:
        return "0"
    return "no number" if math.isinf(missions) else count_words(missions)


def _cell(value: Any) -> Cell:
    if isinstance(value, bool):
        return "yes" if value else "no"
    return value  # type: ignore[no-any-return]
