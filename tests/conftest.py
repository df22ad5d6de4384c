"""Order and surroundings of the tests."""

import os

import pytest

# Workers share the cores: a second level of threads, in small matrix products, costs tenfold.
# Read when numpy is first imported, which is after this.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Start slow files first: each stays on one worker, and the last one decides the time."""
    items.sort(key=lambda item: item.get_closest_marker("slow") is None)
