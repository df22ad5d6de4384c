"""What one process makes for all: workers wait for each other, and nothing is made twice."""

from __future__ import annotations

import fcntl
import os
from collections.abc import Callable
from pathlib import Path

import pytest


def shared_folder(factory: pytest.TempPathFactory) -> Path:
    """Give the folder of this run of the tests that every worker sees."""
    own = factory.getbasetemp()
    return own.parent if "PYTEST_XDIST_WORKER" in os.environ else own


def made_once(folder: Path, make: Callable[[Path], object]) -> Path:
    """Fill a folder if no other process has, or wait until it has; what fails is tried again."""
    with folder.with_suffix(".lock").open("w") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        done = folder.with_suffix(".done")
        if not done.exists():
            folder.mkdir(exist_ok=True)
            make(folder)
            done.touch()
    return folder
