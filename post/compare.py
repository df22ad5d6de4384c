"""Cases side by side: what differs in their inputs, what fails first, how sure that is.

Formulation
    Everything is read from results that are there: the case as read, its summary and its bondline
    table. Nothing is solved. Two depths are told apart only where they differ by more than their
    numerical errors together.
Units
    Depth m, mass kg, weight in water N.
"""

from __future__ import annotations

import json
import math
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pandas as pd

from geometry.case import Case, read_case
from geometry.files import intact
from geometry.forms import draw_section
from geometry.seawater import depth_at
from post.ladder import Rung
from post.ladder_figure import depth_with_error
from post.ladder_table import rungs_from_json
from post.study.headline_names import WEIGHTS
from post.study.measure import weights
from post.tables import headline_table, input_table, material_table
from post.verdict import (
    Verdict,
    depth_error,
    depth_words,
    governing,
    has_number,
    overall,
    ratio_words,
)
from post.words import MINUS

NONE = "\u2013"
Row = tuple[str, tuple[str, ...]]


@dataclass(frozen=True)
class Compared:
    """One of the cases, with its results.

    Attributes
    ----------
    name : str
        Of its folder.
    case : Case
    summary : dict
        As from `post.summary.summarise`.
    rungs : tuple of Rung
    bondline : DataFrame
        As from `post.bondline.bondline`.
    mass, weight_in_water : float
    """

    name: str
    case: Case
    summary: dict[str, Any]
    rungs: tuple[Rung, ...]
    bondline: pd.DataFrame
    mass: float
    weight_in_water: float

    @property
    def required_ratio(self) -> float:
        """Ratio that the duty asks for."""
        return self.case.duty.required_ratio

    @property
    def duty_depth(self) -> float:
        """Depth of the duty, m."""
        loads = self.summary["loads"]
        if loads["depth_m"] is not None:
            return float(loads["depth_m"])
        return depth_at(loads["pressure_MPa"], self.case.duty.latitude)

    @property
    def first(self) -> Rung | None:
        """What fails first."""
        return governing(self.rungs)

    @property
    def verdict(self) -> Verdict:
        """Of the whole ladder."""
        return overall(self.rungs, self.required_ratio)


def read_compared(folder: Path) -> Compared:
    """Read the results of a case from its folder."""
    case = read_case(intact(folder / "inputs.yaml"))
    summary = json.loads(intact(folder / "summary.json").read_text(encoding="utf-8"))
    known = weights(case, draw_section(case), WEIGHTS)
    return Compared(
        folder.name,
        case,
        summary,
        tuple(rungs_from_json(summary["ladder"])),
        pd.read_parquet(intact(folder / "bondline.parquet")),
        float(known["mass"]),
        float(known["weight_in_water"]),
    )


def input_rows(cases: Sequence[Compared]) -> list[Row]:
    """Every input of any of the cases, with what each case has of it.

    Cards are compared where several cases have one of the same name.
    """
    told = [{row[0]: row[1] for row in input_table(one.case).rows} for one in cases]
    cards = [_card_values(one.case) for one in cases]
    shared = {key: "" for own in cards for key in own if sum(_has(c, key[0]) for c in cards) > 1}
    rows = [(key, tuple(own.get(key, NONE) for own in told)) for key in _in_order(told)]
    for key in shared:
        values = tuple(own.get(key, NONE) for own in cards)
        if len({v for v, own in zip(values, cards, strict=True) if _has(own, key[0])}) > 1:
            rows.append((f"materials.{key[0]}, {key[1]}", values))
    return rows


def _card_values(case: Case) -> dict[tuple[str, str], str]:
    """Value and unit of every property of every card, by card and property."""
    found, card = {}, ""
    for row in material_table(case).rows:
        card = row[0] or card
        found[card, row[1]] = f"{row[2]} {row[3]}".strip()
    return found


def _has(own: dict[tuple[str, str], str], card: str) -> bool:
    return any(key[0] == card for key in own)


def _in_order(told: Sequence[dict[str, str]]) -> list[str]:
    """Join the names of several lists, each in its place behind the one before it."""
    order: list[str] = []
    for own in told:
        at = 0
        for name in own:
            if name in order:
                at = order.index(name) + 1
            else:
                order.insert(at, name)
                at += 1
    return order


def differing(rows: Sequence[Row]) -> list[Row]:
    """Rows in which the cases are not all alike."""
    return [row for row in rows if len(set(row[1])) > 1]


def headline_rows(cases: Sequence[Compared]) -> list[Row]:
    """Say what stands for each case: duty, verdict, first failure, weights, errors."""
    rows: list[tuple[str, list[str]]] = [
        ("Joint", [one.case.joint.form for one in cases]),
        ("Duty", [f"{one.duty_depth:,.0f} m" for one in cases]),
        ("Sea pressure", [f"{one.summary['loads']['pressure_MPa']:.2f} MPa" for one in cases]),
        ("Verdict", [one.verdict.word for one in cases]),
        ("First failure at", [_first(one, depth_with_error) for one in cases]),
        ("Ratio to duty", [_first(one, _ratio_of(one)) for one in cases]),
        ("Required ratio", [f"{one.required_ratio:g}" for one in cases]),
        ("What fails first", [_first(one, lambda r: f"{r.part}: {r.mode}") for one in cases]),
        ("Next", [_second(one) for one in cases]),
        ("Mass", [_amount(one.mass, "kg", "{:,.1f}") for one in cases]),
        ("Weight in water", [_amount(one.weight_in_water, "N", "{:+,.0f}") for one in cases]),
    ]
    tables = [headline_table(one.summary) for one in cases]
    for bond in dict.fromkeys(name for made in tables for name in made.columns[1:]):
        for i, row in enumerate(tables[0].rows):
            values = [
                made.rows[i][made.columns.index(bond)]
                if bond in made.columns and i < len(made.rows)
                else NONE
                for made in tables
            ]
            rows.append((f"{bond}, {_small(row[0])}, MPa", values))
    return [(name, tuple(values)) for name, values in rows]


def _small(words: str) -> str:
    return words[:1].lower() + words[1:]


def _ratio_of(one: Compared) -> Any:
    return lambda rung: ratio_words(rung, one.required_ratio)


def _first(one: Compared, words: Any) -> str:
    return str(words(one.first)) if one.first is not None else "no sea reaches any"


def _second(one: Compared) -> str:
    numbered = [rung for rung in one.rungs if has_number(rung) and rung.reached]
    if len(numbered) < 2:
        return NONE
    second = sorted(numbered, key=lambda rung: rung.depth)[1]
    return f"{second.part}: {second.mode}, {depth_words(second)}"


def _amount(value: float, unit: str, form: str) -> str:
    return f"{form.format(value)} {unit}".replace("-", MINUS) if math.isfinite(value) else NONE


def compare_words(cases: Sequence[Compared]) -> list[str]:
    """Say which holds deepest, which has most in hand, and what limits each."""
    failing = [one for one in cases if one.first is not None]
    never = [one.name for one in cases if one.first is None]
    words = []
    if never:
        words.append(f"No sea brings {_list(never)} to a first failure.")
    if failing:
        words.append(_deepest(failing))
        if len({one.duty_depth for one in failing}) > 1 and len(failing) > 1:
            words.append(_most_in_hand(failing))
    return [" ".join(words)]


def limit_words(one: Compared) -> str:
    """Say what limits a case."""
    return one.verdict.sentence


def _depth(one: Compared) -> float:
    return one.first.depth if one.first is not None else math.inf


def _error(one: Compared) -> float:
    error = depth_error(one.first) if one.first is not None else 0.0
    return error if math.isfinite(error) else math.inf


def _deepest(cases: Sequence[Compared]) -> str:
    order = sorted(cases, key=_depth, reverse=True)
    best = order[0]
    assert best.first is not None
    alike = [
        one.name for one in order[1:] if _depth(best) - _depth(one) <= _error(best) + _error(one)
    ]
    limit = f"{best.first.part}, {best.first.mode}"
    if alike:
        return (
            f"{_list([best.name, *alike])} fail first at about {depth_words(best.first)}: no more "
            "apart than their numerical errors."
        )
    start = f"{best.name} fails first deepest, at {depth_words(best.first)} ({limit})"
    rest = [f"{one.name} at {depth_words(one.first)}" for one in order[1:] if one.first]
    return f"{start}; {_list(rest)}." if rest else f"{start}."


def _most_in_hand(cases: Sequence[Compared]) -> str:
    def ratio(one: Compared) -> float:
        return one.first.ratio / one.required_ratio if one.first is not None else math.inf

    best, worst = max(cases, key=ratio), min(cases, key=ratio)
    assert best.first is not None
    assert worst.first is not None
    return (
        f"Of what its own duty asks, {best.name} has {_share(ratio(best))}, the most, and "
        f"{worst.name} {_share(ratio(worst))}, the least."
    )


def _share(share: float) -> str:
    return f"{math.floor(100 * share)} %"


def _list(names: Sequence[str]) -> str:
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}"
