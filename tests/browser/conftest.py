"""One browser for a worker, and pages that are written once for all of them."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser

from tests.browser.chromium import EXECUTABLE, Opened, chromium, opened
from tests.browser.pages import BUILT, NAMES, WRITTEN
from tests.once import made_once, shared_folder


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    if EXECUTABLE is None:
        pytest.skip("no chromium")
    with chromium() as one:
        yield one


def pytest_generate_tests(metafunc: pytest.Metafunc) -> None:
    """Open every page in turn: those made here, or all that stand under --results."""
    if "shown" in metafunc.fixturenames:
        results = metafunc.config.getoption("results")
        names = NAMES if results is None else sorted(map(str, Path(results).rglob("*.html")))
        metafunc.parametrize("shown", names, indirect=True, scope="module")


@pytest.fixture(scope="session")
def page_file(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory):
    """Give what finds the file of a page by its name, and writes it if need be."""

    def find(name: str) -> Path:
        if name.endswith(".html"):
            return Path(name)
        if name in BUILT:
            results = request.config.getoption("results")
            folder = Path(results) if results else request.getfixturevalue("built") / "results"
            return folder / "lander" / BUILT[name]
        folder = shared_folder(tmp_path_factory) / name.replace(", ", "-").replace(" ", "-")
        file = folder / f"{folder.name}.html"
        made_once(folder, lambda _: WRITTEN[name](file))
        return file

    return find


@pytest.fixture(scope="module")
def shown(request: pytest.FixtureRequest, browser: Browser, page_file) -> Iterator[Opened]:
    """Open a page, for all tests of it."""
    with opened(browser, request.param, page_file(request.param)) as one:
        yield one
