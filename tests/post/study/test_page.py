"""The page of a study: self-contained, honest about what was left out, its table complete.

Our own rules; no published source.
"""

from __future__ import annotations

import base64
import io
import re
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from post.study.choose import CHECKS
from post.study.gather import gather
from post.study.page import render
from post.study.plans import plan_points
from post.study.study_file import Study, read_study

CASE = Path(__file__).parents[3] / "cases" / "lander" / "case.yaml"
VARY = """
  joint.bond_thickness.inner: {from: 1 mm, to: 2 mm, steps: 4}
  joint.overlap.inner: {from: 80 mm, to: 90 mm, steps: 3}
"""
ALL = {
    "grid": "do: grid",
    "sample": "do: {sample: {points: 40}}",
    "morris": "do: {sensitivity: {method: morris, repeats: 12}}",
    "sobol": "do: {sensitivity: {method: sobol, repeats: 16}}",
    "best": "do: {best: {least: [mass], most: [first_failure.depth]}}",
    "one": "do: {best: {most: [first_failure.depth]}}",
}


def made(folder: Path, do: str) -> tuple[Study, pd.DataFrame, str]:
    """Make a study, an invented table for it, and its page."""
    path = folder / "invented.yaml"
    path.write_text(f"title: Depth & <overlap>\ncase: {CASE}\nvary:{VARY}{do}\n")
    study = read_study(path)
    points = (
        pd.DataFrame({"point": range(30), study.names[0]: 1.5, study.names[1]: 85.0})
        if study.ask.do.best
        else plan_points(study.ask.do, study.variables, (), 1)
    )
    rng = np.random.default_rng(2)
    found = points.assign(status="solved", reason="")
    for name in study.headlines:
        found[name] = (
            "inner bond: yield" if name.endswith(".mode") else 4000 + rng.random(len(points))
        )
    found["first_failure.ratio"] = np.where(found["point"] % 4 == 0, 1.2, 1.7)
    found["finer:mass"] = np.where(found["point"] % 8 == 0, found["mass"] * 1.002, np.nan)
    lost = found["point"] == 5
    numbers = [name for name in study.headlines if not name.endswith(".mode")]
    found.loc[lost, numbers] = np.nan
    found.loc[lost, ["status", "reason"]] = "refused", "point: joint: <b>bad</b>; allowed: good"
    if study.ask.do.best:
        found["best"] = found["point"] < 3
    table = gather([found.iloc[20:], found.iloc[:20]], study.headlines)
    return study, table, render(study, path, table)


@pytest.mark.parametrize("do", ALL)
def test_the_page_stands_alone_and_holds_the_whole_table(tmp_path, do):
    _, table, html = made(tmp_path, ALL[do])
    assert not re.findall(r'(?:src|href)="(?!data:|#)[^"]*"', html)
    assert not re.findall(r"https?://|<script|@import|url\(", html)
    assert "<svg" in html
    assert "nan" not in re.sub(r"data:[^\"]*", "", html).lower().replace("governance", "")
    assert "Depth &amp; &lt;overlap&gt;" in html
    text = re.search(r"data:text/csv;charset=utf-8;base64,([^\"]*)", html)
    assert text is not None
    read = pd.read_csv(io.BytesIO(base64.b64decode(text[1])))
    assert list(read["point"]) == list(range(len(table)))
    assert list(read.columns) == list(table.columns)


def test_refused_points_are_told_with_their_reason(tmp_path):
    _, _, html = made(tmp_path, ALL["sample"])
    assert "1 × point: joint: &lt;b&gt;bad&lt;/b&gt;" in html
    assert re.search(r"39 points were solved, 1\s+refused", html)


def test_the_probability_of_falling_short_has_its_interval(tmp_path):
    # 10 of the 39 solved points have ratio 1.2, below the 1.5 of the duty; Clopper and Pearson's
    # interval of 10 of 39 from scipy, which has its own test against closed forms.
    _, _, html = made(tmp_path, ALL["sample"])
    assert "25.6 %" in html
    assert "10 of 39 points fall short" in html
    assert "1 points without a number are left out" in html


def test_the_mesh_error_is_the_largest_movement_of_checked_points(tmp_path):
    _, table, html = made(tmp_path, ALL["sample"])
    assert table["checked"].sum() == 5
    solved = table[table["status"] == "solved"]
    np.testing.assert_allclose(solved["mass.error"] / solved["mass"], 1 - 1 / 1.002, rtol=1e-9)
    assert "1 in 6" in html
    assert "0.2 %" in html
    assert CHECKS >= 20  # of a large study: the chance that a point is off by more is small


def test_every_kind_of_study_shows_what_it_is_for(tmp_path):
    wanted = {
        "grid": "Response: first failure, depth",
        "sample": "What moves first failure, depth",
        "morris": "Morris",
        "sobol": "Sobol",
        "best": "Trade-off",
        "one": "Search",
    }
    for do, words in wanted.items():
        assert words in made(tmp_path, ALL[do])[2]
