"""Order and surroundings of the tests."""

import os
from pathlib import Path

import pytest

from tests.built import build_demo, copy_project
from tests.once import made_once, shared_folder

# Workers share the cores: a second level of threads, in small matrix products, costs tenfold.
# Read when numpy is first imported, which is after this.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Start slow files first: each stays on one worker, and the last one decides the time."""
    items.sort(key=lambda item: item.get_closest_marker("slow") is None)


def pytest_addoption(parser: pytest.Parser) -> None:
    """Let the pages of a folder of results be tested in place of those that the tests make."""
    parser.addoption("--results", help="folder of results whose pages the browser opens")


@pytest.fixture(scope="session")
def project(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Give the run's copy of the project."""
    return made_once(shared_folder(tmp_path_factory) / "project", copy_project)


@pytest.fixture(scope="session")
def built(project: Path) -> Path:
    """Give the run's copy of the project with the demo built."""
    made_once(project.with_name("built"), lambda _: build_demo(project))
    return project
