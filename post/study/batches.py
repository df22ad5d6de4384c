"""Points in batches: one process each, nothing lost when it is stopped, the same rows after all.

Formulation
    A batch evaluates its points in order and keeps what it has in a file beside the result: lines
    of JSON, written aside and renamed every few seconds, so that the file is whole at any moment.
    The first line is a digest of the study, the batch's points and the project's sources; a file
    that another study or another version left is not taken up. Numbers are written so that they
    are read back bit for bit: a batch that was stopped ten times gives the table of one that never
    was.
"""

from __future__ import annotations

import json
import sys
import time
from collections.abc import Callable
from functools import cache
from hashlib import sha256
from pathlib import Path

import pandas as pd

from geometry.files import intact, written_aside
from post.study.models import Model, Row

KEEP_EVERY = 3.0  # seconds
TELL_EVERY = 10.0
PACKAGES = ("geometry", "solve", "post")


@cache
def source_digest() -> str:
    """Digest of the project's modules and material cards."""
    digest = sha256()
    root = Path(__file__).parents[2]
    for package in PACKAGES:
        for path in sorted((root / package).rglob("*")):
            if path.suffix in (".py", ".yaml"):
                digest.update(path.name.encode() + path.read_bytes())
    return digest.hexdigest()


def points_digest(text: str, points: pd.DataFrame) -> str:
    """Digest of a study's text, some of its points and the project's sources."""
    told = points.to_json(orient="split", double_precision=15)
    exact = repr([points[name].tolist() for name in points.columns])
    return sha256((text + str(told) + exact + source_digest()).encode()).hexdigest()


class Kept:
    """Rows that are kept beside a result while it is made."""

    def __init__(self, path: Path, digest: str) -> None:
        self.path, self.digest = path, digest
        self.rows: list[Row] = []
        self._last = time.monotonic()
        try:
            first, *lines = intact(path).read_text(encoding="utf-8").splitlines()
            if json.loads(first) == digest:
                self.rows = [json.loads(line) for line in lines]
        except (OSError, ValueError):  # none, or none that is whole: begin anew
            self.rows = []

    def add(self, row: Row) -> None:
        """Take a row, and keep all of them when it is time."""
        self.rows.append(row)
        if time.monotonic() - self._last > KEEP_EVERY:
            self.keep()

    def keep(self) -> None:
        """Write every row."""
        with written_aside(self.path) as aside:
            lines = [json.dumps(self.digest), *(json.dumps(row) for row in self.rows)]
            aside.write_text("\n".join(lines) + "\n", encoding="utf-8")
        self._last = time.monotonic()


def tell_on_stderr(text: str) -> None:
    """Print a line of progress."""
    print(text, file=sys.stderr, flush=True)


class Progress:
    """Points per second and time left, told every few seconds."""

    def __init__(self, name: str, total: int, done: int, tell: Callable[[str], None]) -> None:
        self.name, self.total, self.tell = name, total, tell
        self.first, self.done = done, done
        self.start = self.last = time.monotonic()

    def step(self) -> None:
        """Count a point."""
        self.done += 1
        now = time.monotonic()
        if now - self.last > TELL_EVERY or self.done == self.total:
            self.last = now
            rate = (self.done - self.first) / max(now - self.start, 1e-9)
            left = (self.total - self.done) / rate
            self.tell(
                f"{self.name}: {self.done:,} of {self.total:,} points, "
                f"{rate:.3g} points/s, {left:.0f} s left"
            )


def evaluate_batch(
    model: Model,
    points: pd.DataFrame,
    kept: Kept,
    name: str,
    tell: Callable[[str], None] = tell_on_stderr,
) -> pd.DataFrame:
    """Evaluate the points that are not kept yet, and give the table of all.

    Parameters
    ----------
    model : Model
    points : DataFrame
        ``point`` and the variables.
    kept : Kept
    name : str
        For the line of progress.
    tell : callable
        Takes lines of progress.

    Returns
    -------
    DataFrame
        The points' columns, ``status``, ``reason``, the headlines, and what the model adds.
    """
    done = len(kept.rows)
    progress = Progress(name, len(points), done, tell)
    if done:
        tell(f"{name}: {done:,} points kept from before")
    try:
        for row in model.rows(points, done):
            kept.add(row)
            progress.step()
    finally:
        kept.keep()
    found = pd.DataFrame(kept.rows)
    return pd.concat([points.reset_index(drop=True), found], axis=1)
