"""The report with a ladder: verdict first, the tables, and nothing that contradicts them.
Common practice, no published source."""

from __future__ import annotations

import base64
import csv
import io
import re

import pandas as pd
import pytest

from post.ladder_report import corners_table, ladder_part, strengths_table
from post.ladder_table import ladder_table, rungs_to_json
from post.report import render_report
from post.verdict import overall
from tests.post.ladders import HOLDING, REQUIRED, TYPICAL, rung
from tests.post.test_report import NASTY, Page, folder, summary  # noqa: F401

STRENGTHS = [
    {
        "part": "bond", "card": "paste", "name": "tensile", "card_value": 42.0, "unit": "MPa",
        "basis": "typical", "source": "from memory",
        "factors": [
            {"factor": 0.8, "reason": "typical basis", "evidence": "assumed"},
            {"factor": 1.0, "reason": "dry", "evidence": "stated"},
        ],
    },
    {
        "part": "wall", "card": "", "name": "waviness", "card_value": 1.5, "unit": "deg",
        "basis": "assumed", "source": "assumed", "factors": [],
    },
]  # fmt: skip
CORNERS = [
    {
        "point": (150.0, 290.0), "exponents": [-0.3217, -0.1], "radius": 0.25,
        "words": "r = 150 mm, z = 290 mm: paste 90\u00b0, layer 1 180\u00b0; stress goes as "
        "distance to the power \u22120.3217 and \u22120.1000",
    }
]  # fmt: skip


def read(table):
    text = base64.b64decode(table.href.split("base64,")[1]).decode()
    return list(csv.DictReader(io.StringIO(text)))


@pytest.fixture(scope="module")
def judged(summary):  # noqa: F811
    extra = {"ladder": rungs_to_json(TYPICAL), "strengths": STRENGTHS, "corners": CORNERS}
    return summary | extra


@pytest.fixture(scope="module")
def page(answer, table, judged, folder):  # noqa: F811
    return Page(render_report(answer, table, judged, folder))


def test_report_opens_with_verdict_ladder_and_top_rows(page):
    verdict = overall(TYPICAL, REQUIRED).sentence
    order = [
        page.text.index(words)
        for words in (
            "Does it hold?",
            verdict,
            "First reached at",
            "Bond by bond Inner bond",
        )
    ]
    assert order == sorted(order)
    pictures = [a for tag, a in page.tags if tag == "img"]
    assert pictures[0]["alt"] == "Depth ladder"
    assert pictures[0]["src"].startswith("data:image/svg+xml;base64,")


def test_says_that_strength_is_not_judged_only_without_rungs(page, answer, table, summary, folder):  # noqa: F811
    assert "Strength is not judged" not in page.text
    assert "do not change the numbers of this version" not in page.text
    bare = Page(render_report(answer, table, summary | {"ladder": []}, folder))
    assert "Strength is not judged" in bare.text and "Does it hold?" not in bare.text
    assert not {"ladder", "strengths", "corners"} & {a.get("id") for _, a in bare.tags}


def test_page_with_a_ladder_is_whole_and_self_contained(page):
    ids = [a["id"] for _, a in page.tags if "id" in a]
    assert {"ladder", "strengths", "corners"} <= set(ids) and len(ids) == len(set(ids))
    assert not [tag for tag, _ in page.tags if tag in ("script", "link", "iframe", "object")]
    for _, attributes in page.tags:
        for name in ("src", "href"):
            if name in attributes:
                assert attributes[name].startswith(("data:", "#"))
                assert attributes[name][0] != "#" or attributes[name][1:] in ids
    tables = [tag for tag, _ in page.tags if tag == "table"]
    downloads = [a["download"] for tag, a in page.tags if "download" in a]
    # the top rows are part of ladder.csv; bondline.csv is too long to show
    assert len(downloads) == len(set(downloads)) == len(tables)


def test_ladder_download_is_the_table(page):
    links = {a["download"]: a["href"] for tag, a in page.tags if "download" in a}
    text = base64.b64decode(links["ladder.csv"].split("base64,")[1]).decode()
    found = pd.read_csv(io.StringIO(text)).drop(columns=["layer"])
    wanted = ladder_table(TYPICAL).drop(columns=["layer"])
    numbers = wanted.select_dtypes("number").columns
    pd.testing.assert_frame_equal(found[numbers], wanted[numbers])
    assert list(found["mode"]) == list(wanted["mode"])


def test_rows_show_depth_ratio_and_verdict_of_their_rung():
    part = ladder_part({"ladder": rungs_to_json(TYPICAL)}, 3000.0, REQUIRED)
    rows = {row[0]: row for row in part["all"].rows}
    assert rows["end bond: yield of the adhesive"][1:5] == (
        "2,310 m \u00b1 30 m",
        "23.3 \u00b1 0.4",
        "0.77 \u00b1 0.01",
        "\u25bc short",
    )
    assert rows["wall: Tsai-Wu"][4] == "\u25a1 not converged"
    assert rows["ring: yield"][1] == "not reached" and rows["ring: yield"][4] == "\u25cf holds"
    assert rows["wall: fibre kinking"][1:5] == ("", "", "", "not judged")
    assert "states no shear curve" in rows["wall: fibre kinking"][5]
    assert [row[0] for row in part["first"].rows][:2] == [
        "end bond: yield of the adhesive",
        "inner bond: peel and shear",
    ]
    assert part["more"] == "2 modes more in the whole table."


def test_verdict_class_follows_the_word(answer, table, summary, folder):  # noqa: F811
    for rungs, word in ((HOLDING, "holds"), (TYPICAL, "short")):
        html = render_report(answer, table, summary | {"ladder": rungs_to_json(rungs)}, folder)
        assert re.search(rf'class="verdict {word}"', html)


def test_strengths_are_the_card_value_times_the_factors():
    table = strengths_table(STRENGTHS)
    assert table.rows[0][3:7] == ("42", "33.6", "MPa", "\u00d7 0.8 (typical basis, assumed)")
    assert table.rows[1][1] == "the case" and table.rows[1][6] == "nothing"
    first, _ = read(table)
    assert float(first["Used"]) == pytest.approx(33.6, rel=1e-12)
    assert "dry" in first["What is taken off"]  # the CSV keeps factors of one
    assert strengths_table([]) is None


def test_corners_have_powers_and_radius():
    table = corners_table(CORNERS)
    assert table.rows == (
        ("150.00", "290.00", "paste 90\u00b0, layer 1 180\u00b0", "\u22120.3217, \u22120.1000",
         "0.25"),
    )  # fmt: skip
    assert corners_table([]) is None


def test_hostile_words_of_a_rung_stay_words(answer, table, summary, folder):  # noqa: F811
    nasty = [rung(mode=NASTY, why=NASTY, strength=NASTY, layer=NASTY)]
    html = render_report(answer, table, summary | {"ladder": rungs_to_json(nasty)}, folder)
    assert "<script" not in html
