"""Every page on paper: nothing is cut, nothing is lost. Common practice, no published source.

A browser does not tell how it lays paper out. So two marks of tiny text are put at the corners of
every picture before it prints; where they come out in the file is where the picture stands.
"""

from __future__ import annotations

import io
import re
from pathlib import Path

import pytest
from playwright.sync_api import Browser
from pypdf import PageObject, PdfReader

from tests.browser.chromium import Opened, opened

pytestmark = pytest.mark.slow

MARGIN = "10mm"
MOST_PAGES = 40

MARK = """() => {
    const mark = (text, place) => {
        const one = document.createElement("span");
        one.style = "font: 2px/1 monospace; color: #777; white-space: nowrap; margin: 0; "
            + "padding: 0; visibility: visible; " + place;
        one.textContent = text;
        return one;
    };
    const pictures = [...document.querySelectorAll("img, svg, canvas, .js-plotly-plot")].filter(
        one => !one.parentElement.closest("svg, .js-plotly-plot")
            && one.checkVisibility() && one.getBoundingClientRect().width > 100);
    pictures.forEach((one, i) => {
        const frame = document.createElement("div");
        frame.style = "position: relative; min-width: 0";
        one.replaceWith(frame);
        frame.append(one, mark(`qxa${i}z`, "position: absolute; left: 0; top: 0"),
            mark(`qxb${i}z`, "position: absolute; right: 0; bottom: 0"));
    });
    const tables = [...document.querySelectorAll("table")].filter(one => one.checkVisibility());
    tables.forEach((one, i) => one.rows[0].lastElementChild.append(mark(`qxt${i}z`, "")));
    document.body.style.visibility = "hidden";  // the marks alone are looked for
    return [pictures.length, tables.length];
}"""


def printed(shown: Opened, paper: str = "A4") -> PdfReader:
    """Print the page as it stands."""
    shown.page.emulate_media(media="print", color_scheme="light")
    margin = dict.fromkeys(("top", "right", "bottom", "left"), MARGIN)
    return PdfReader(io.BytesIO(shown.page.pdf(format=paper, margin=margin)))


def marks(page: PageObject) -> dict[str, tuple[float, float]]:
    """Find the marks on a sheet of paper, with their places in points."""
    found = {}

    def visit(text: str, cm: list[float], tm: list[float], *_: object) -> None:
        for mark in re.findall(r"qx[abt]\d+z", text):
            x, y = tm[4], tm[5]
            found[mark] = (cm[0] * x + cm[2] * y + cm[4], cm[1] * x + cm[3] * y + cm[5])

    page.extract_text(visitor_text=visit)
    return found


def test_paper_holds_every_image_and_no_empty_sheet(shown: Opened) -> None:
    shown.look()
    addresses = "[...document.images].filter(one => one.checkVisibility()).map(one => one.src)"
    images = {one for one in shown.page.evaluate(addresses) if "image/png" in one[:30]}
    assert all(
        shown.page.evaluate("[...document.images].map(e => e.complete && e.naturalWidth > 0)")
    )
    paper = printed(shown)
    assert len(paper.pages) <= MOST_PAGES
    drawn = {id_ for sheet in paper.pages for id_ in image_numbers(sheet)}
    assert len(drawn) >= len(images)
    for sheet in paper.pages:
        assert image_numbers(sheet) or sheet.get_contents().get_data().count(b"\n") > 30


def image_numbers(sheet: PageObject) -> set[int]:
    """List the raster pictures that a sheet draws, also within its drawings."""
    found, waiting = set(), [sheet.get("/Resources", {})]
    while waiting:
        objects = waiting.pop().get("/XObject", {})
        for one in objects.values():
            shape = one.get_object()
            if shape["/Subtype"] == "/Image":
                found.add(one.idnum)
            else:
                waiting.append(shape.get("/Resources", {}))
    return found


def cut(shown: Opened) -> list[str]:
    """Name the pictures that do not stand whole on one sheet, and the tables that run off it."""
    pictures, tables = shown.page.evaluate(MARK)
    paper = printed(shown)
    width, height = paper.pages[0].mediabox[2:]
    places = {}
    for number, sheet in enumerate(paper.pages):
        for mark, (x, y) in marks(sheet).items():
            if 0 <= x <= width and 0 <= y <= height:
                places[mark] = number
    faults = [f"table {i}" for i in range(tables) if f"qxt{i}z" not in places]
    for i in range(pictures):
        corners = {places.get(f"qxa{i}z"), places.get(f"qxb{i}z")}
        if None in corners or len(corners) > 1:
            faults.append(f"picture {i}")
    return faults


def test_no_picture_is_cut_and_no_table_runs_off_the_paper(shown: Opened) -> None:
    assert cut(shown) == []


def test_a_cut_picture_and_a_table_too_wide_are_seen(browser: Browser, tmp_path: Path) -> None:
    bad = tmp_path / "bad.html"
    bad.write_text(
        """<!doctype html><title>Bad</title><h1>Bad</h1>
        <svg width="300" height="300"></svg><svg width="300" height="1500"></svg>
        <div style="overflow: hidden"><table style="width: 2000px"><tr><td>a<td>b</table></div>""",
        encoding="utf-8",
    )
    with opened(browser, "bad", bad) as shown:
        assert cut(shown) == ["table 0", "picture 1"]


def test_the_bond_sheet_is_one_sheet_of_paper(browser: Browser, page_file) -> None:
    with opened(browser, "bond sheet", page_file("bond sheet")) as shown:
        for paper in ("A4", "Letter"):
            assert len(printed(shown, paper).pages) <= 2  # its two sides
