"""Predicted gauge strains as a table of depths, and back from it."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd

from geometry.case import Case
from geometry.errors import CaseError
from geometry.seawater import depth_at, duty_pressure
from post.gauge_strains import SOFTENED, Prediction

STEPS = 10  # of the depth, from the surface to the test's full pressure
MICRO = 1e6
UNITS = {  # columns that are the same for every depth of a gauge
    "slope_microstrain_per_MPa": "per_MPa",
    "thermal_microstrain_per_K": "per_K",
    "numerical_error_microstrain_per_MPa": "error",
    "tolerance_low_microstrain_per_MPa": "low",
    "tolerance_high_microstrain_per_MPa": "high",
}
SOFTER = [f"adhesive_at_{share:g}_microstrain_per_MPa" for share in SOFTENED]
WORDS = ("part", "face", "direction")


def full_pressure(case: Case) -> float:
    """Highest pressure of the proof test: as stated, or that of the duty, MPa."""
    stated = case.proof.pressure
    return duty_pressure(case) if stated is None else stated


def gauge_table(case: Case, predictions: Sequence[Prediction]) -> pd.DataFrame:
    """Tabulate strains against depth: one row for each gauge and depth."""
    rows = []
    for one in predictions:
        same = {word: getattr(one, word) for word in WORDS}
        same |= {"r_mm": one.r, "z_mm": one.z}
        units = {column: MICRO * getattr(one, name) for column, name in UNITS.items()}
        units |= dict(zip(SOFTER, (MICRO * value for value in one.softer), strict=True))
        for pressure in np.linspace(0, full_pressure(case), STEPS + 1):
            low, high = one.band(float(pressure))
            at = {
                "depth_m": depth_at(float(pressure), case.duty.latitude) if pressure else 0.0,
                "pressure_MPa": float(pressure),
                "strain_microstrain": MICRO * one.per_MPa * pressure,
                "low_microstrain": MICRO * low,
                "high_microstrain": MICRO * high,
            }
            rows.append({"gauge": one.name, **same, **at, **units})
    first = ["gauge", *WORDS, "r_mm", "z_mm", "depth_m", "pressure_MPa", "strain_microstrain"]
    columns = [*first, "low_microstrain", "high_microstrain", *UNITS, *SOFTER]
    return pd.DataFrame(rows, columns=columns)


def read_gauge_table(path: Path) -> tuple[Prediction, ...]:
    """Read predictions back from what `gauge_table` made.

    Raises
    ------
    CaseError
        When the file is no such table.
    """
    try:
        table = pd.read_csv(path)
        firsts = table.drop_duplicates("gauge")
        found = []
        for row in firsts.to_dict("records"):
            fields: dict[str, Any] = {word: str(row[word]) for word in WORDS}
            fields |= {name: float(row[column]) / MICRO for column, name in UNITS.items()}
            fields |= {"name": str(row["gauge"]), "r": float(row["r_mm"]), "z": float(row["z_mm"])}
            fields["softer"] = tuple(float(row[column]) / MICRO for column in SOFTER)
            found.append(Prediction(**fields))
        return tuple(found)
    except (KeyError, ValueError):
        raise CaseError(
            str(path), reason="is no table of predicted strains", allowed="gauges.csv"
        ) from None
