"""How far the numbers of two folders of results lie apart.

Formulation
    Files are read for what they hold: arrays of npz files, columns of tables, numbers of JSON by
    their place. A difference is relative to the largest magnitude in its array or column, as a
    displacement near zero has no digits of its own; a number of JSON stands for itself. What is not
    a number must be equal: names, words, shapes, the places of undefined numbers. The proofs of a
    solve are left out: residuals are made of the last bits, and change with the number of threads.
"""

from __future__ import annotations

import json
import math
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from post.plain_data import numbers
from solve.array_file import read_arrays

SAME = 1e-12
TAKEN = (".npz", ".json", ".csv", ".parquet")
PROOFS = "proofs"
OWN = ("versions.json", "manifest.json")  # what made the numbers, none of them


def differences(first: Path, second: Path) -> dict[str, float]:
    """Largest relative difference by file; infinite where one lacks it or what it holds differs.

    Raises
    ------
    OSError
        When a file cannot be read.
    """
    names = sorted(
        {p.name for f in (first, second) for p in f.iterdir() if p.suffix in TAKEN} - set(OWN)
    )
    if not names:
        raise FileNotFoundError(f"{first}, {second}: no results to compare")
    return {
        name: _apart(_columns(first / name), _columns(second / name))
        if (first / name).is_file() and (second / name).is_file()
        else math.inf
        for name in names
    }


def _columns(path: Path) -> dict[str, NDArray[Any]]:
    """Read a file as named arrays."""
    if path.suffix == ".npz":
        return {n: array for n, array in read_arrays(path).items() if not n.endswith(PROOFS)}
    if path.suffix == ".json":
        told = numbers(json.loads(path.read_text(encoding="utf-8")))
        return {place: np.array([value]) for place, value in _leaves(told, "")}
    table = pd.read_csv(path) if path.suffix == ".csv" else pd.read_parquet(path)
    return {str(name): table[name].to_numpy() for name in table}


def _leaves(value: Any, place: str) -> Iterator[tuple[str, Any]]:
    if isinstance(value, Mapping):
        for key, entry in value.items():
            if key == PROOFS:
                continue
            yield from _leaves(entry, f"{place}/{key}")
    elif isinstance(value, list):
        for i, entry in enumerate(value):
            yield from _leaves(entry, f"{place}/{i}")
    else:
        yield place, value


def _apart(first: dict[str, NDArray[Any]], second: dict[str, NDArray[Any]]) -> float:
    if first.keys() != second.keys():
        return math.inf
    return max((_difference(first[name], second[name]) for name in first), default=0.0)


def _difference(a: NDArray[Any], b: NDArray[Any]) -> float:
    """Largest relative difference of two arrays."""
    if a.shape != b.shape or a.dtype.kind != b.dtype.kind:
        return math.inf
    if a.dtype.kind != "f":
        none = pd.isna(a) & pd.isna(b)  # an empty cell of a table is no text
        return 0.0 if np.array_equal(a[~none], b[~none]) else math.inf
    odd = ~np.isfinite(a) | ~np.isfinite(b)
    if not np.array_equal(a[odd], b[odd], equal_nan=True):
        return math.inf
    if np.array_equal(a[~odd], b[~odd]):
        return 0.0
    size = max(np.abs(a[~odd]).max(), np.abs(b[~odd]).max())
    return float(np.abs(a[~odd] - b[~odd]).max() / size)
