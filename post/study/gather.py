"""From batches to the study's table, with the mesh error of each number.

Formulation
    A point that was solved twice tells how far each of its headlines moves when the elements are
    halved. The largest such movement among n checked points, as a share, is taken as the mesh
    error of every point: of a further point, drawn like them, it is exceeded with a chance of
    1 in n + 1. The finer solution is itself within a few parts in ten thousand (degree 4), so the
    movement is the error of the light one. The estimate of a reduced model comes on top.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pandas as pd

from post.study.models import FINER_COLUMN as FINER
from post.study.models import REDUCTION

ERROR = ".error"


def gather(batches: Sequence[pd.DataFrame], headlines: Sequence[str]) -> pd.DataFrame:
    """Join batches into one table.

    Parameters
    ----------
    batches : sequence of DataFrame
        As from `post.study.batches.evaluate_batch`.
    headlines : sequence of str

    Returns
    -------
    DataFrame
        By point: variables, ``status``, ``reason``, headlines, their ``.error`` in the same unit,
        and ``checked``, where a point was solved twice.
    """
    table = pd.concat(batches, ignore_index=True).sort_values("point", ignore_index=True)
    finer = [name for name in headlines if f"{FINER}{name}" in table]
    if finer:
        table["checked"] = table[[f"{FINER}{name}" for name in finer]].notna().any(axis=1)
        errors = {
            f"{name}{ERROR}": table[name].abs() * largest_share(table, name)
            + (table[f"{REDUCTION}{name}"] if f"{REDUCTION}{name}" in table else 0.0)
            for name in finer
        }
        table = pd.concat([table, pd.DataFrame(errors)], axis=1)
    columns = [name for name in table.columns if str(name).startswith((FINER, REDUCTION))]
    return table.drop(columns=columns)


def largest_share(table: pd.DataFrame, name: str) -> float:
    """Largest movement of a headline among the checked points, as a share; NaN without any."""
    light = table[name].to_numpy(float)
    finer = table[f"{FINER}{name}"].to_numpy(float)
    known = np.isfinite(light) & np.isfinite(finer) & (finer != 0)
    if not known.any():
        return float("nan")
    return float(np.max(np.abs(light[known] / finer[known] - 1)))


def relative_errors(table: pd.DataFrame, headlines: Sequence[str]) -> dict[str, float]:
    """Largest error of each headline as a share of its value."""
    found = {}
    for name in headlines:
        if f"{name}{ERROR}" not in table:
            continue
        value, error = (table[n].to_numpy(float) for n in (name, f"{name}{ERROR}"))
        known = np.isfinite(value) & (value != 0)
        share = error[known] / np.abs(value[known])
        share = share[np.isfinite(share)]
        if share.size:
            found[name] = float(share.max())
    return found
