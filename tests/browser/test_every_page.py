"""Every page in a headless browser: it loads, asks nobody, and reads well on screens and by keys.

What is a fault of accessibility, and how serious, is told by axe-core, which checks the rules of
the Web Content Accessibility Guidelines (W3C, WCAG 2.2). The rest is common practice, no published
source.
"""

from __future__ import annotations

import csv
import io
from pathlib import Path
from urllib.request import urlopen
from xml.etree import ElementTree

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, Page

from tests.browser.chromium import DESK, PHONE, Opened, opened

pytestmark = pytest.mark.slow

CONTROLS = "a[href], button, input, select, textarea, summary, [tabindex]"
"""What a keyboard has to reach, where it is to be seen and not taken out by a tab index."""


def faults(page: Page, *rules: str) -> list[str]:
    """List what axe-core calls serious or critical, with where it is: of some rules, or of all.

    Of some rules, the first rows of a table stand for the others: all are dressed alike.
    """
    options: dict[str, object] = {"resultTypes": ["violations"]}
    context = None
    if rules:
        options["runOnly"] = list(rules)
        context = {"exclude": [["tbody tr:nth-child(n + 6)"]]}
    found = Axe().run(page, context, options).response["violations"]
    return [
        f"{one['id']}: {node['target']} {node['html'][:120]} {node['failureSummary']}"
        for one in found
        if one["impact"] in ("serious", "critical")
        for node in one["nodes"]
    ]


def test_it_loads_without_a_word_of_complaint(shown: Opened) -> None:
    assert shown.said == []
    assert shown.page.title()
    assert shown.page.inner_text("h1")


def test_it_asks_no_network(shown: Opened) -> None:
    assert shown.asked == []


@pytest.mark.parametrize("size", [PHONE, DESK], ids=["phone", "desk"])
def test_nothing_sticks_out_of_the_screen(shown: Opened, size: tuple[int, int]) -> None:
    page = shown.look(size)
    shown.open_all()
    assert page.evaluate("document.scrollingElement.scrollWidth") <= size[0]
    # what is hidden does not stick out either, but is lost
    hidden = "[document.documentElement, document.body].map(e => getComputedStyle(e).overflowX)"
    assert page.evaluate(hidden) == ["visible", "visible"]


def test_charts_keep_their_place_as_the_screen_changes(shown: Opened) -> None:
    shown.look(DESK, "dark")
    page = shown.look(PHONE)
    page.wait_for_timeout(500)
    sizes = page.evaluate(
        """[...document.querySelectorAll(".js-plotly-plot")].map(one => {
            const drawn = one.querySelector(".main-svg").getBoundingClientRect();
            return [one.clientWidth, one.clientHeight, drawn.width, drawn.height];
        })"""
    )
    for width, height, drawn_width, drawn_height in sizes:
        assert drawn_width == pytest.approx(width, abs=1)
        assert drawn_height == pytest.approx(height, abs=1)


def test_axe_finds_no_serious_fault(shown: Opened) -> None:
    page = shown.look()
    shown.open_all()
    assert faults(page) == []


def test_its_dark_colours_have_contrast(shown: Opened) -> None:
    page = shown.look(scheme="dark")
    shown.open_all()
    assert faults(page, "color-contrast", "link-in-text-block") == []


def test_the_keyboard_reaches_every_control_and_shows_where_it_is(shown: Opened) -> None:
    page = shown.look(PHONE)
    shown.open_all()
    page.evaluate(
        "window.reached = new Set(); document.body.tabIndex = -1; document.body.focus();"
        "scrollTo(0, 0)"
    )
    blind, fresh = [], True
    while fresh:  # what is drawn as the reader comes near may bring controls of its own
        page.keyboard.press("Tab")
        fresh, seen, words = page.evaluate(
            """() => {
                const one = document.activeElement, style = getComputedStyle(one);
                const seen = style.outlineStyle !== "none" && parseFloat(style.outlineWidth) > 0;
                const fresh = one !== document.body && !reached.has(one);
                reached.add(one);
                return [fresh, seen, one.outerHTML.slice(0, 120)];
            }"""
        )
        if fresh and not seen:
            blind.append(words)
    missed = page.evaluate(
        """selector => [...document.querySelectorAll(selector)].filter(one =>
            one.tabIndex >= 0 && !one.disabled && one.checkVisibility() && !reached.has(one))
            .map(one => one.outerHTML.slice(0, 120))""",
        CONTROLS,
    )
    assert missed == []
    assert blind == []


def test_what_scrolls_aside_can_be_scrolled_by_keyboard(shown: Opened) -> None:
    page = shown.look(PHONE)
    shown.open_all()
    stuck = page.evaluate(
        """() => [...document.querySelectorAll("body *")].filter(one =>
            one.scrollWidth > one.clientWidth + 1
            && ["auto", "scroll"].includes(getComputedStyle(one).overflowX)
            && one.tabIndex < 0 && !one.querySelector("a[href], button, input, select, summary"))
            .map(one => one.outerHTML.slice(0, 120))"""
    )
    assert stuck == []


def test_its_downloads_are_whole(shown: Opened, tmp_path: Path) -> None:
    page = shown.look()
    shown.open_all()
    for link in page.locator("a[download]").all():
        name = link.get_attribute("download")
        assert name
        address = link.get_attribute("href") or ""
        if address.startswith("data:"):  # what the browser saves stands in the link
            with urlopen(address) as held:
                (tmp_path / name).write_bytes(held.read())
        else:
            with page.expect_download() as waiting:
                link.press("Enter")
            assert waiting.value.suggested_filename == name
            waiting.value.save_as(tmp_path / name)
        if name.endswith(".png"):
            assert (tmp_path / name).read_bytes().startswith(b"\x89PNG")
            continue
        text = (tmp_path / name).read_text("utf-8")
        if name.endswith(".svg"):
            assert ElementTree.fromstring(text).tag.endswith("svg")
            continue
        assert name.endswith(".csv")
        rows = list(csv.reader(io.StringIO(text)))
        assert len(rows) > 1
        assert {len(row) for row in rows} == {len(rows[0])}
        beside = shown.path.with_name(name)
        if beside.exists():
            assert len(rows) == len(beside.read_text("utf-8").splitlines())


def test_the_checks_see_what_they_look_for(browser: Browser, tmp_path: Path) -> None:
    bad = tmp_path / "bad.html"
    bad.write_text(
        """<!doctype html><title>Bad</title><h1 style="color: #ccc; width: 2000px">Bad</h1>
        <img src="https://hull.invalid/picture.png"><script>throw Error("lost")</script>""",
        encoding="utf-8",
    )
    with opened(browser, "bad", bad) as one:
        assert one.asked == ["https://hull.invalid/picture.png"]
        assert any("lost" in line for line in one.said)
        found = faults(one.page)
        assert any(line.startswith("color-contrast") for line in found)
        assert any(line.startswith("image-alt") for line in found)
        assert one.page.evaluate("document.scrollingElement.scrollWidth") > DESK[0]
