"""Take the pictures of docs/guide.md from the pages that the workflow built.

    python tools/guide_pictures.py results docs/pictures

`snakemake pictures` builds the pages and calls this. It wants a Chromium browser and the test
extra's driver; no picture is written by hand.
"""

from __future__ import annotations

import os
import shutil
import sys
from dataclasses import dataclass
from pathlib import Path

from playwright.sync_api import Browser, sync_playwright

WIDTH, HEIGHT = 1280, 900


@dataclass(frozen=True)
class Picture:
    """A picture of a page.

    Attributes
    ----------
    name : str
        File in the folder of pictures.
    page : str
        File in the folder of results.
    part : str
        The element that is shown (CSS); empty for the first screen.
    """

    name: str
    page: str
    part: str = ""


PICTURES = (
    Picture("report-first.png", "lander/report.html"),
    Picture("bondline.png", "lander/report.html", ".bond >> nth=0"),
    Picture("section-viewer.png", "lander/report.html", "#viewer"),
    Picture("cutaway.png", "lander/report.html", "#cutaway"),
    Picture("changes.png", "lander/report.html", "#changes"),
    Picture("flaw-map.png", "flawed/report.html", "#flaws figure >> nth=-1"),
    Picture("study.png", "studies/joint/study.html", ".charts svg >> nth=0"),
    Picture("bond-sheet.png", "lander/bond_sheet.html"),
)


def take(browser: Browser, picture: Picture, results: Path, folder: Path) -> None:
    """Open the page without a network and save what is asked of it."""
    context = browser.new_context(offline=True, viewport={"width": WIDTH, "height": HEIGHT})
    page = context.new_page()
    page.goto((results / picture.page).resolve().as_uri())
    # it stays in view and would cover what is shown
    page.add_style_tag(content="#depth-bar { display: none }")
    file = folder / picture.name
    if picture.part:
        part = page.locator(picture.part)
        part.scroll_into_view_if_needed()
        # what is drawn as the reader comes near
        page.wait_for_timeout(3000)
        part.screenshot(path=file)
    else:
        page.screenshot(path=file)
    context.close()


def main(results: str, pictures: str) -> None:
    """Take all pictures."""
    browsers = filter(None, map(shutil.which, ("chromium", "chromium-headless-shell")))
    folder = Path(pictures)
    folder.mkdir(parents=True, exist_ok=True)
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(
            executable_path=next(browsers),
            args=["--no-sandbox"] if os.geteuid() == 0 else [],  # root may not use the sandbox
        )
        for picture in PICTURES:
            take(browser, picture, Path(results), folder)
        browser.close()


if __name__ == "__main__":
    main(*sys.argv[1:])
