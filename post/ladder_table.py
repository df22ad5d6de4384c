"""The depth ladder as a table, and as plain data of strict JSON.

JSON has no infinite and no undefined numbers. Such a field is null, and ``without_number`` says
by its name which of the two it was, so that a ladder reads back as it was written.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import asdict, fields
from typing import Any

import pandas as pd

from post.ladder import Rung
from post.verdict import Verdict, by_depth

COLUMNS = {  # column: attribute of a rung
    "mode": "mode",
    "part": "part",
    "first_failure_pressure_MPa": "pressure",
    "error_MPa": "error",
    "first_failure_depth_m": "depth",
    "ratio": "ratio",
    "ratio_error": "ratio_error",
    "r_mm": "r",
    "z_mm": "z",
    "layer": "layer",
    "ply_angle_deg": "angle",
    "strength": "strength",
    "source": "source",
    "verdict": "verdict",
    "why": "why",
    "runner_up": "runner_up",
}
NUMBERS = tuple(field.name for field in fields(Rung) if field.type == "float")
INFINITE, UNDEFINED = "infinite", "undefined"
MEANING = {INFINITE: math.inf, UNDEFINED: math.nan}


def ladder_table(rungs: Iterable[Rung]) -> pd.DataFrame:
    """Put a ladder into a table, shallowest rung first.

    Parameters
    ----------
    rungs : iterable of Rung

    Returns
    -------
    DataFrame
        With the columns of `COLUMNS`; infinite where no sea reaches a mode.
    """
    ordered = by_depth(rungs)
    return pd.DataFrame(
        {column: [getattr(rung, name) for rung in ordered] for column, name in COLUMNS.items()}
    )


def rungs_to_json(rungs: Iterable[Rung]) -> list[dict[str, Any]]:
    """Turn a ladder into plain data of strict JSON, in the order given."""
    rows = []
    for rung in rungs:
        row = asdict(rung)
        without = {
            name: UNDEFINED if math.isnan(row[name]) else INFINITE
            for name in NUMBERS
            if not math.isfinite(row[name])
        }
        row |= {name: float(row[name]) for name in NUMBERS} | dict.fromkeys(without, None)
        rows.append(row | ({"without_number": without} if without else {}))
    return rows


def rungs_from_json(rows: Sequence[Mapping[str, Any]]) -> list[Rung]:
    """Read a ladder back from what `rungs_to_json` made.

    Raises
    ------
    KeyError
        When a null does not say what it stands for.
    """
    rungs = []
    for row in rows:
        plain = {name: value for name, value in row.items() if name != "without_number"}
        for name in NUMBERS:
            if plain[name] is None:
                plain[name] = MEANING[row["without_number"][name]]
        rungs.append(Rung(**plain))
    return rungs


def verdict_to_json(verdict: Verdict) -> dict[str, Any]:
    """Turn a verdict into plain data; its governing rung is named by part and mode."""
    row = {
        name: getattr(verdict, name)
        for name in (
            "word",
            "sentence",
            "judged",
            "short",
            "not_converged",
            "not_judged",
            "required_ratio",
        )
    }
    first = verdict.governing
    return row | {"governing": None if first is None else {"part": first.part, "mode": first.mode}}
