"""Order of the tests."""

import pytest


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Start slow files first: each stays on one worker, and the last one decides the time."""
    items.sort(key=lambda item: item.get_closest_marker("slow") is None)
