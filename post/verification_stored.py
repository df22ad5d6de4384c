"""The verification table beside the one that was stored: what has moved since.

Formulation
    Rows are known by what they say, and the like by their order. Ours may move by a fifth of what
    it may differ from the published number: the table rounds it to a tenth, and another processor
    adds up in another order. A row that came, went or says something else is named, so that the
    stored table changes by a commit and never in silence.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pandas as pd

from post.manifest_steps import DifferentError

Key = tuple[tuple[str, ...], int]
MAY_MOVE = 0.2  # of the allowed difference
KEY = ["part", "topic", "check", "source", "status"]
SAID = ["unit", "published", "allowed", "difference_of", "passes"]


def compare_verification(stored: Path, new: Path) -> None:
    """Say in a line each what differs from the stored table; fail when anything does."""
    tables = [pd.read_csv(path, dtype=str, keep_default_na=False) for path in (stored, new)]
    lines = list(moved(*tables))
    if lines:
        raise DifferentError("\n".join([*lines, f"{len(lines)} rows are not those of {stored}"]))
    print(
        f"{len(tables[1])} rows as stored in {stored}, ours within {MAY_MOVE:g} of what may differ"
    )


def moved(stored: pd.DataFrame, new: pd.DataFrame) -> Iterator[str]:
    """Give a line for each row that is not as it was stored.

    Parameters
    ----------
    stored, new : DataFrame
        As from `post.verification.tabulate`, read as text.
    """
    before, now = _rows(stored), _rows(new)
    for key in [*before, *(k for k in now if k not in before)]:
        name = ": ".join(key[0][:3])
        if key not in now:
            yield f"{name}: gone"
        elif key not in before:
            yield f"{name}: not stored"
        else:
            yield from (
                f"{name}: {column} was {before[key][column]}, is {now[key][column]}"
                for column in SAID
                if before[key][column] != now[key][column]
            )
            if not _near(before[key], now[key]):
                yield f"{name}: ours was {before[key]['ours']}, is {now[key]['ours']}"


def _rows(table: pd.DataFrame) -> dict[Key, dict[str, str]]:
    """Give the rows of a table by what they say; the second of two like ones has the number 1."""
    rows: dict[Key, dict[str, str]] = {}
    for row in table.to_dict("records"):
        told = tuple(str(row[column]) for column in KEY)
        rows[told, sum(key[0] == told for key in rows)] = {str(k): str(v) for k, v in row.items()}
    return rows


def _near(before: dict[str, str], now: dict[str, str]) -> bool:
    allowed = float(before["allowed"])
    if before["difference_of"] == "published":
        allowed *= abs(float(before["published"]))
    # not a number is never near
    return abs(float(now["ours"]) - float(before["ours"])) <= MAY_MOVE * allowed
