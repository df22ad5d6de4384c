"""Writing files so that a file is either whole or absent."""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path


@contextmanager
def written_aside(path: Path) -> Iterator[Path]:
    """Give a path to write to; on success the file takes its place, on failure it is removed.

    Parameters
    ----------
    path : Path
        Where the file is to stand. Its folder is made.

    Yields
    ------
    Path
        Beside it, with the same suffix.
    """
    path.parent.mkdir(parents=True, exist_ok=True)
    aside = path.with_name(f".{path.stem}.{os.getpid()}.part{path.suffix}")
    try:
        yield aside
        os.replace(aside, path)
    finally:
        aside.unlink(missing_ok=True)
