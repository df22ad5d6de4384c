"""The ladder as verdict, table, JSON, text and picture. Common practice, no published source."""

from __future__ import annotations

import json
import math
from dataclasses import replace
from itertools import combinations

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as some

from post.ladder_figure import draw_ladder, ladder_svg, plot_ladder, standing
from post.ladder_table import (
    COLUMNS,
    NUMBERS,
    ladder_table,
    rungs_from_json,
    rungs_to_json,
    verdict_to_json,
)
from post.ladder_text import ladder_text
from post.sheet import WIDTH, spread, text_boxes
from post.verdict import by_depth, depth_error, governing, overall, ratio_words
from tests.post.ladders import (
    CROWD,
    DUTY,
    HOLDING,
    REQUIRED,
    SETS,
    TYPICAL,
    beyond,
    cooled,
    rung,
    unconverged,
    unjudged,
)

# --- verdict -----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("rungs", "word"),
    [
        ([rung(depth=5000.0)], "holds"),
        ([rung(depth=5000.0), rung(depth=4400.0)], "short"),
        ([rung(depth=5000.0), unjudged()], "holds"),
        ([rung(depth=5000.0), unconverged()], "not converged"),
        ([rung(depth=4400.0), unconverged()], "short"),
        ([unjudged()], "not judged"),
        ([unconverged()], "not converged"),
        ([beyond()], "holds"),
        ([cooled(), rung(depth=5000.0)], "short"),
        ([], "not judged"),
    ],
)
def test_overall_verdict_follows_its_rules(rungs, word):
    verdict = overall(rungs, REQUIRED)
    assert verdict.word == word
    assert verdict.sentence.lower().startswith(word)


def test_a_rung_said_to_hold_against_its_own_numbers_is_short():
    wrong = rung(depth=4510.0, error=30.0, verdict="holds")  # 4480 of 4500 m
    assert overall([wrong], REQUIRED).word == "short"
    assert overall([replace(wrong, ratio_error=0.001)], REQUIRED).word == "holds"


@pytest.mark.parametrize(
    "changes",
    [
        {"ratio_error": math.nan},
        {"error": math.nan},
        {"depth": math.inf, "ratio": math.inf, "pressure": math.inf, "error": math.inf},
    ],
)
def test_an_unknown_error_cannot_hold(changes):
    assert (
        overall([replace(rung(depth=6000.0), **changes), *HOLDING], REQUIRED).word
        == "not converged"
    )


def test_sentence_names_what_goes_first_where_and_the_counts():
    verdict = overall(TYPICAL, REQUIRED)
    assert verdict.governing == TYPICAL[1]
    for words in (
        "Short: first failure at 2,310 m (ratio 0.77 \u00b1 0.01, required 1.5)",
        "end bond, yield of the adhesive, at r = 150.25 mm, z = 301.00 mm",
        "2 of 5 modes judged short",
        "1 mode not converged",
        "2 modes not judged",
    ):
        assert words in verdict.sentence
    assert (verdict.judged, verdict.short, verdict.not_converged, verdict.not_judged) == (
        5,
        2,
        1,
        2,
    )


def test_sentence_says_when_temperature_alone_or_no_sea_does_it():
    assert "temperature change alone" in overall([cooled()], REQUIRED).sentence
    assert "11,000 m" in overall([beyond()], REQUIRED).sentence


@given(some.floats(0.1, 4.0), some.floats(1e-6, 0.3))
def test_ratio_shown_lies_on_its_own_side(ratio, error):
    one = rung(ratio=ratio, ratio_error=error)
    shown, _, plus_minus = ratio_words(one, REQUIRED).partition(" \u00b1 ")
    if abs(ratio - REQUIRED) > 1e-8:
        assert (float(shown) >= REQUIRED) == (ratio >= REQUIRED)
    assert float(plus_minus) >= error - 1e-12


def test_depth_error_is_that_of_the_ratio():
    assert depth_error(rung(depth=4200.0, error=20.0)) == pytest.approx(20.0, rel=1e-12)
    assert depth_error(cooled()) == 0.0
    assert math.isnan(depth_error(beyond()))


# --- table and JSON ----------------------------------------------------------------------------


def test_table_is_the_ladder_in_order_of_depth():
    table = ladder_table(TYPICAL[::-1])
    assert list(table.columns) == list(COLUMNS)
    assert list(table["first_failure_depth_m"][:5]) == [2310.0, 4200.0, 5000.0, 6100.0, 9400.0]
    assert math.isinf(table["first_failure_depth_m"][5])
    assert list(table["verdict"][6:]) == ["not judged", "not judged"]
    for row, one in zip(table.to_dict("records"), by_depth(TYPICAL[::-1]), strict=True):
        for column, name in COLUMNS.items():
            np.testing.assert_equal(row[column], getattr(one, name))


def test_table_reads_back_from_csv(tmp_path):
    table = ladder_table(TYPICAL)
    table.to_csv(tmp_path / "ladder.csv", index=False)
    texts = [column for column, name in COLUMNS.items() if name not in NUMBERS]
    read = pd.read_csv(tmp_path / "ladder.csv", dtype=dict.fromkeys(texts, str))
    read = read.fillna(dict.fromkeys(texts, ""))
    pd.testing.assert_frame_equal(read, table, check_dtype=False)


@pytest.mark.parametrize("rungs", SETS.values(), ids=SETS)
def test_json_is_strict_and_reads_back(rungs):
    text = json.dumps(rungs_to_json(rungs), allow_nan=False)
    for one, other in zip(rungs_from_json(json.loads(text)), rungs, strict=True):
        np.testing.assert_equal(one.__dict__, other.__dict__)
    json.dumps(verdict_to_json(overall(rungs, REQUIRED)), allow_nan=False)


def test_a_null_without_its_meaning_is_refused():
    (row,) = rungs_to_json([beyond()])
    with pytest.raises(KeyError):
        rungs_from_json([row | {"without_number": {}}])


# --- text --------------------------------------------------------------------------------------


def test_text_opens_with_the_verdict_and_shows_the_shallowest():
    lines = ladder_text(CROWD, REQUIRED).splitlines()
    assert lines[0].startswith("Short: first failure at ")
    start = next(i for i, line in enumerate(lines) if line.lstrip().startswith("depth"))
    shown = lines[start + 1 : start + 9]
    for line, one in zip(shown, by_depth(CROWD)[:8], strict=True):
        assert f"{math.floor(one.depth):,} m" in line and one.mode in line and one.part in line
    assert lines[start + 9] == "... and 31 modes further down the ladder"
    assert lines[start + 10].startswith("not judged: wall, fibre kinking: the card")


def test_text_keeps_to_characters_that_every_terminal_has():
    for rungs in SETS.values():
        ladder_text(rungs, REQUIRED).encode("cp1252")


def test_text_of_no_rungs_is_nothing():
    assert ladder_text([], REQUIRED) == ""


# --- picture -----------------------------------------------------------------------------------


@pytest.mark.parametrize("name", SETS)
def test_no_words_of_the_ladder_collide_or_leave_the_sheet(name):
    figure = plot_ladder(SETS[name], DUTY, REQUIRED)
    boxes = text_boxes(figure)
    for (one, a), (two, b) in combinations(boxes, 2):
        apart = a[2] <= b[0] or b[2] <= a[0] or a[3] <= b[1] + 0.5 or b[3] <= a[1] + 0.5
        assert apart, f"{one!r} lies on {two!r}"
    for words, (left, bottom, right, top) in boxes:
        assert left >= 0 and right <= WIDTH, words
        assert bottom >= 0 and top <= figure.get_figheight() * 72, words


@pytest.mark.parametrize("name", SETS)
def test_every_rung_is_named_in_the_picture(name):
    words = " ".join(text for text, _ in text_boxes(plot_ladder(SETS[name], DUTY, REQUIRED)))
    words = " ".join(words.split())
    for one in SETS[name]:
        assert one.mode in words
        if not one.verdict.startswith("not") and one.reached and one.depth > 0:
            assert f"{math.floor(one.depth):,} m" in words
        if math.isnan(one.depth):
            assert one.why in words


@pytest.mark.parametrize("rungs", [TYPICAL, CROWD, HOLDING])
def test_marks_lie_at_their_depths_with_the_shape_of_their_verdict(rungs):
    ax = plot_ladder(rungs, DUTY, REQUIRED).axes[0]
    shape = {"short": "v", "holds": "o", "not converged": "s"}
    reached = [one for one in by_depth(rungs) if one.reached]
    key = 3  # marks of the key come last
    marks = [line for line in ax.lines if line.get_marker() in "vos"][:-key]
    y = {text.get_text(): text.get_position()[1] for text in ax.texts if text.get_color() != ""}
    # two ticks of the axis give its scale
    ticks = {w: v for w, v in y.items() if w.replace(",", "").isdigit() and len(w) > 1}
    low, high = "2,000", "6,000"
    scale = (ticks[high] - ticks[low]) / 4000.0
    for mark, one in zip(marks, reached, strict=True):
        depth = 2000.0 + (mark.get_ydata()[0] - ticks[low]) / scale
        assert depth == pytest.approx(one.depth, abs=1e-6)
        assert mark.get_marker() == shape[standing(one, REQUIRED)]
    sizes = [mark.get_markersize() for mark in marks]
    assert sizes[0] > max(sizes[1:]) and reached[0] is governing(rungs)


def test_settled_lines_keep_order_and_room_and_stay_near():
    # Three of width 4 that want 5, 5 and 5: least squares sets the middle one there.
    assert spread([5, 5, 5], [4, 4, 4], -10, 20) == [1, 5, 9]
    assert spread([1, 15], [4, 4], 0, 20) == [2, 15]
    assert spread([], [], 0, 1) == []


def test_the_same_ladder_is_the_same_file(tmp_path):
    draw_ladder(TYPICAL, DUTY, REQUIRED, tmp_path / "ladder.svg")
    assert (tmp_path / "ladder.svg").read_bytes() == ladder_svg(TYPICAL, DUTY, REQUIRED)
