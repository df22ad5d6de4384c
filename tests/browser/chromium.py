"""A headless Chromium that sees no network, and a page in it with all that it said and asked for.

The browser is the system's; nothing is downloaded. Its home is a folder that is thrown away.
"""

from __future__ import annotations

import os
import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from urllib.parse import urlsplit

from playwright.sync_api import Browser, Page, Route, sync_playwright

EXECUTABLE = shutil.which("chromium") or shutil.which("chromium-headless-shell")
PHONE, DESK = (390, 844), (1440, 900)
OWN = {"file", "data", "blob", "about"}
"""Schemes that need no network."""


@contextmanager
def chromium() -> Iterator[Browser]:
    """Start the browser, and end it."""
    assert EXECUTABLE is not None
    with tempfile.TemporaryDirectory() as home, sync_playwright() as playwright:
        browser = playwright.chromium.launch(
            executable_path=EXECUTABLE,
            # root may not use the sandbox
            args=["--no-sandbox"] if os.geteuid() == 0 else [],
            env={**os.environ, "HOME": home, "XDG_CONFIG_HOME": home, "XDG_CACHE_HOME": home},
        )
        try:
            yield browser
        finally:
            browser.close()


@dataclass
class Opened:
    """A page in the browser.

    Attributes
    ----------
    name : str
    path : Path
    page : Page
    said : list of str
        Errors and warnings on its console, and what it did not catch.
    asked : list of str
        Addresses that it asked a network for; none is let through.
    """

    name: str
    path: Path
    page: Page
    said: list[str] = field(default_factory=list)
    asked: list[str] = field(default_factory=list)

    def look(self, size: tuple[int, int] = DESK, scheme: str = "light") -> Page:
        """Give the page at a size of screen and in a colour scheme."""
        width, height = size
        self.page.emulate_media(media="screen", color_scheme=scheme)
        self.page.set_viewport_size({"width": width, "height": height})
        return self.page

    def open_all(self) -> None:
        """Unfold all that is folded, and have ready what waits until the reader comes near."""
        self.page.evaluate("document.querySelectorAll('details').forEach(each => each.open = true)")
        self.page.evaluate(
            "Promise.all([window.hullringViewer, window.hullringCutaway].map(one => one?.ready()))"
        )


@contextmanager
def opened(browser: Browser, name: str, path: Path) -> Iterator[Opened]:
    """Open a page from disk, without a network."""
    context = browser.new_context(accept_downloads=True)
    context.set_default_timeout(90_000)  # the tests share the cores
    page = context.new_page()
    one = Opened(name, path, page)

    def answer(route: Route) -> None:
        if urlsplit(route.request.url).scheme in OWN:
            route.continue_()
        else:
            one.asked.append(route.request.url)
            route.abort()

    context.route("**/*", answer)
    page.on("pageerror", lambda error: one.said.append(str(error)))
    page.on(
        "console",
        lambda line: one.said.append(line.text) if line.type in ("error", "warning") else None,
    )
    one.look()
    page.goto(path.resolve().as_uri())
    try:
        yield one
    finally:
        context.close()
