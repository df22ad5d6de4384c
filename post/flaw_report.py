"""Flaws and life in the report: pictures, tables and sentences, all made from the summary."""

from __future__ import annotations

import base64
import math
from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np

from geometry.case import Case
from geometry.seawater import depth_at
from geometry.section import Section
from post.flaw_figures import Mark, growth_lines, plot_growth, plot_map, svg
from post.flaw_place import flaw_words, open_to, place_words
from post.flaw_results import FlawMap, GrowthCurve
from post.flaw_sentences import (
    assumed_words,
    energy_words,
    first_tip,
    growth_words,
    lead_words,
    life_words,
    map_words,
    threshold_of,
)
from post.flaw_tables import constants_table, dives_table, flaw_table, map_table, rung_table
from post.plain_data import numbers

Row = Mapping[str, Any]


def flaws_part(case: Case, section: Section, summary: Mapping[str, Any]) -> dict[str, Any] | None:
    """Make what the report shows of flaws and life.

    Parameters
    ----------
    case : Case
    section : Section
    summary : mapping
        With ``life``; ``flaws`` and ``flaw_map`` may be absent.

    Returns
    -------
    dict or None
        None where the summary has no life.
    """
    if "life" not in summary:
        return None
    life = numbers(summary["life"])
    results = numbers(summary.get("flaws") or [])
    maps = [_map(row) for row in numbers(summary.get("flaw_map") or [])]
    lives = {row["number"]: row for row in life["flaws"]}
    curves = {
        row["number"]: _curve(found)
        for row, found in zip(life["flaws"], life["curves"], strict=True)
    }
    flaws = [
        {
            "name": f"{row['number'] + 1}: {flaw_words(section, case.flaws[row['number']])}",
            "place": place_words(case.flaws[row["number"]]),
            "note": case.flaws[row["number"]].note,
            "sentences": [
                growth_words(case, row, curves.get(row["number"])),
                *energy_words(row),
                *life_words(life, lives.get(row["number"])),
            ],
            "picture": _growth_picture(case, section, life, row, curves, lives),
        }
        for row in results
    ]
    return {
        "flaws": flaws,
        "maps": [
            _map_picture(case, section, life, bond.name, maps)
            for bond in section.bonds
            if any(one.bond == bond.name and len(one.s) for one in maps)
        ],
        "map_table": map_table(maps) if maps else None,
        "map_words": map_words(life, maps) if maps else "",
        "flaw_table": flaw_table(case, section, results) if results else None,
        "dives_table": dives_table(life, case, section) if life["flaws"] else None,
        "mission": life["mission"],
        "lead": lead_words(life),
        "rung_table": rung_table(life),
        "constants": constants_table(life),
        "assumed": assumed_words(life),
        "toughness": life["toughness"],
    }


def _map_picture(
    case: Case, section: Section, life: Row, bond: str, maps: Sequence[FlawMap]
) -> dict[str, str]:
    own = [one for one in maps if one.bond == bond]
    marks = [
        Mark(i + 1, flaw.bond, flaw.face, flaw.start, flaw.length, bool(open_to(section, flaw)))
        for i, flaw in enumerate(case.flaws)
        if flaw.bond == bond
    ]
    words = f"at {life['required_depth']:,.0f} m"
    picture = plot_map(bond, section.bond(bond).length, own, marks, words)
    return {"source": _address(svg(picture)), "title": f"{bond.capitalize()} bond: flaw map"}


def _growth_picture(
    case: Case, section: Section, life: Row, row: Row, curves: Mapping[int, GrowthCurve], lives: Row
) -> dict[str, str] | None:
    number = row["number"]
    curve = curves.get(number)
    if curve is None or len(curve.lengths) < 2:
        return None
    tip = first_tip(row)
    first = math.inf if tip is None or math.isnan(tip["pressure"]) else tip["pressure"]
    if not curve.pressures[0] <= first <= curve.pressures[-1]:
        first = math.inf
    duty, required = life["duty_pressure"], life["required_pressure"]
    latitude = case.duty.latitude
    depths = {
        p: f"{depth_at(p, latitude):,.0f} m" for p in (duty, required, first) if 0 < p < math.inf
    }
    flaw = case.flaws[number]
    title = f"{number + 1}: {flaw_words(section, flaw)}, {flaw.bond} bond: growth"
    figure = plot_growth(
        title,
        curve,
        growth_lines(duty, required, first, depths),
        threshold_of(life),
        lives[number]["tolerable"],
    )
    return {"source": _address(svg(figure)), "title": title}


def _curve(row: Row) -> GrowthCurve:
    return GrowthCurve(*(np.array(row[k], float) for k in ("lengths", "pressures", "G", "limit")))


def _map(row: Row) -> FlawMap:
    arrays = {name: np.array(row[name], float) for name in ("s", "longest")}
    return FlawMap(**{**row, **arrays, "limited_by": tuple(row["limited_by"])})


def _address(picture: bytes) -> str:
    return f"data:image/svg+xml;base64,{base64.b64encode(picture).decode()}"
