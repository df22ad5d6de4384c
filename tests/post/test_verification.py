"""The verification page: complete, self-contained, the same every time, and honest about a miss."""

from __future__ import annotations

import base64
import io
import re
from dataclasses import replace
from html.parser import HTMLParser
from pathlib import Path

import pandas as pd
import pytest

import post.verification as verification
from post.verification import Part, VerificationError, render, tabulate, write_verification
from solve.check import Check
from solve.reference_checks import closed_form_checks
from solve.sea_checks import sea_checks

GOOD = Check("Topic <1>", "a & b", "Someone 1900", "recomputed", "MPa", -34.9794, -34.97943, 5e-5)
SMALL = Check("Topic <1>", "strain", "Someone 1900", "published", "1", -3e-4, -3.01e-4, 0.01, True)
BAD = replace(GOOD, claim="missed", ours=-35.0)
PART = Part("Part", "Note.", (GOOD, SMALL))


class Rows(HTMLParser):
    """Cells of the rows of checks, and every address the page names."""

    def __init__(self) -> None:
        super().__init__()
        self.rows: list[list[str]] = []
        self.links: list[str] = []
        self.in_cell = False

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.links += [v or "" for k, v in attrs if k in ("href", "src")]
        if tag == "tr":
            self.rows.append([])
        if tag == "td":
            self.in_cell = True
            self.rows[-1].append("")

    def handle_endtag(self, tag: str) -> None:
        if tag == "td":
            self.in_cell = False

    def handle_data(self, text: str) -> None:
        if self.in_cell:
            self.rows[-1][-1] += text


def read(page: str) -> Rows:
    rows = Rows()
    rows.feed(page)
    return rows


@pytest.fixture
def one_part(monkeypatch: pytest.MonkeyPatch) -> pytest.MonkeyPatch:
    monkeypatch.setattr(verification, "collect", lambda: (PART,))
    return monkeypatch


def test_page_shows_every_check_with_its_numbers() -> None:
    rows = [row for row in read(render([PART])).rows if len(row) == 8]
    assert [row[:6] for row in rows] == [
        ["a & b", "−34.9794", "−34.979430", "MPa", "−3×10⁻⁵ MPa", "5×10⁻⁵ MPa"],
        ["strain", "−3×10⁻⁴", "−3.010×10⁻⁴", "", "−0.33 %", "1 %"],
    ]
    assert [row[7] for row in rows] == ["✓", "✓"]


def test_page_counts_and_marks_a_miss() -> None:
    page = render([replace(PART, checks=(GOOD, BAD))])
    assert re.search(r"2 checks, .*1 within bounds.*1 off", page, re.S)
    assert [row[7] for row in read(page).rows if len(row) == 8] == ["✓", "off"]


def test_page_needs_nothing_from_elsewhere() -> None:
    page = render([PART])
    assert "<script" not in page
    assert "url(" not in page
    for link in read(page).links:
        assert link.startswith(("#", "data:text/csv"))
        if link.startswith("#"):
            assert f'id="{link[1:]}"' in page


def test_downloads_hold_the_rows() -> None:
    links = [link for link in read(render([PART])).links if link.startswith("data:")]
    tables = [
        pd.read_csv(io.BytesIO(base64.b64decode(link.partition("base64,")[2]))) for link in links
    ]
    assert len(tables) == 2  # everything, and the one topic
    for table in tables:
        assert table["check"].tolist() == ["a & b", "strain"]
        assert table["published"].tolist() == [-34.9794, -3e-4]
        assert table["passes"].tolist() == ["yes", "yes"]


def test_noise_of_rounding_does_not_change_the_page() -> None:
    noisy = tuple(replace(c, ours=c.ours * (1 + 1e-12)) for c in PART.checks)
    assert render([replace(PART, checks=noisy)]) == render([PART])


def test_page_and_table_are_written(one_part: pytest.MonkeyPatch, tmp_path: Path) -> None:
    page, csv = tmp_path / "page.html", tmp_path / "table.csv"
    write_verification(page, csv)
    assert "2 within bounds" in page.read_text(encoding="utf-8")
    assert len(pd.read_csv(csv)) == 2


def test_a_miss_is_raised_after_writing(one_part: pytest.MonkeyPatch, tmp_path: Path) -> None:
    one_part.setattr(verification, "collect", lambda: (replace(PART, checks=(GOOD, BAD)),))
    page, csv = tmp_path / "page.html", tmp_path / "table.csv"
    with pytest.raises(VerificationError, match=r"^1 of 2 checks are off: Topic <1>: missed$"):
        write_verification(page, csv)
    assert "1 off" in page.read_text(encoding="utf-8")
    assert pd.read_csv(csv)["passes"].tolist() == ["yes", "no"]


def test_not_a_number_is_a_miss_and_is_shown() -> None:
    page = render([replace(PART, checks=(replace(GOOD, ours=float("nan")),))])
    row = next(row for row in read(page).rows if len(row) == 8)
    assert row[2] == "nan"
    assert row[7] == "off"


def test_real_rows_are_tabulated_without_loss() -> None:
    checks = (*closed_form_checks(), *sea_checks())
    table = tabulate([Part("All", "", checks)])
    assert len(table) == len(checks)
    for row, check in zip(table.to_dict("records"), checks, strict=True):
        allowed = check.allowed * (abs(check.published) if check.relative else 1.0)
        assert float(row["ours"]) == pytest.approx(check.ours, abs=0.06 * allowed)
        assert float(row["published"]) == pytest.approx(check.published, rel=1e-8)


@pytest.mark.parametrize("check", sea_checks(), ids=lambda check: check.claim)
def test_sea_has_its_published_numbers(check: Check) -> None:
    # Source: named in the row.
    assert check.passes
