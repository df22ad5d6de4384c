"""Pictures of pages, to be looked at: `python -m tests.browser.look FOLDER PAGE.html ...`.

Of every page four: on a desk in light and in dark colours, on a phone, and as paper has it (one
long sheet as wide as A4), with a PDF beside.
"""

from __future__ import annotations

import sys
from pathlib import Path

from tests.browser.chromium import DESK, PHONE, Opened, chromium, opened

PAPER = (794, 1123)  # A4 in CSS pixels
WAYS = {
    "light": (DESK, "light", "screen"),
    "dark": (DESK, "dark", "screen"),
    "phone": (PHONE, "light", "screen"),
    "print": (PAPER, "light", "print"),
}
WAKE = """async () => {
    for (let y = 0; y < document.body.scrollHeight; y += 600) {
        scrollTo(0, y);
        await new Promise(done => setTimeout(done, 60));
    }
    scrollTo(0, 0);
}"""
"""Goes through a page, for what is drawn as the reader comes near."""


def shoot(shown: Opened, folder: Path, name: str) -> None:
    """Write the pictures of a page."""
    for way, (size, scheme, media) in WAYS.items():
        page = shown.look(size, scheme)
        page.evaluate(WAKE)
        page.emulate_media(media=media, color_scheme=scheme)
        page.wait_for_timeout(500)
        page.screenshot(path=folder / f"{name}-{way}.png", full_page=True)
    margin = dict.fromkeys(("top", "right", "bottom", "left"), "10mm")
    shown.page.pdf(path=folder / f"{name}.pdf", format="A4", margin=margin)


def main(folder: Path, files: list[Path]) -> None:
    """Write the pictures of all pages, and tell what they complained of."""
    folder.mkdir(parents=True, exist_ok=True)
    with chromium() as browser:
        for file in files:
            name = f"{file.resolve().parent.name}-{file.stem}"
            with opened(browser, name, file) as shown:
                shoot(shown, folder, name)
                for line in (*shown.said, *shown.asked):
                    print(f"{file}: {line}")


if __name__ == "__main__":
    main(Path(sys.argv[1]), [Path(each) for each in sys.argv[2:]])
