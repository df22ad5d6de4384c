"""Flaws and life in the report: legible, and saying what the numbers say. Common practice, no
published source."""

from __future__ import annotations

import base64
import copy
import csv
import io
import json
import math
import re
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from geometry.case import Case
from geometry.forms import draw_section
from geometry.seawater import depth_at
from post.flaw_figures import Mark, growth_lines, plot_growth, plot_map
from post.flaw_life import flaw_life
from post.flaw_place import open_to
from post.flaw_report import flaws_part
from post.flaw_sentences import (
    count_words,
    growth_words,
    least_of,
    life_words,
    map_words,
    stop_of,
)
from post.flaw_tips import stretches_of
from post.life import RungLife
from post.life_summary import life_to_json
from post.plain_data import numbers, plain
from post.report import render_report
from post.sheet import Shown
from post.summary import summarise
from post.tables import Table
from solve.joint_disbonds import reduce_joint
from tests.joints import joint_case
from tests.post.disbonds import curve, curves, flawed_case, maps, results
from tests.post.test_drawing import assert_legible

NAN = math.nan
RUNGS = (
    RungLife("inner bond", "peel and shear", 0.65, 0.002, 3000.0, 1 / 3000, 3000.0, 0.1, "assumed"),
    RungLife("wall", "fibre kinking", 0.4, 0.001, 3e7, 1 / 3e7, 3e7, 0.08, "assumed"),
    RungLife("ring", "yield", NAN, NAN, NAN, NAN, NAN, NAN, "", "adhesive and wall alone"),
)


def summary_of(case: Case) -> dict[str, Any]:
    found = results(case)
    along = curves(case)
    lives = [flaw_life(case, one, way) for one, way in zip(found, along, strict=True)]
    told = life_to_json(case, RUNGS, lives, along)
    told |= {"flaws": plain(found), "flaw_map": plain(maps(case))}
    # as it comes back from its file
    return json.loads(json.dumps(told, allow_nan=False))


@pytest.fixture(scope="module")
def case() -> Case:
    return flawed_case(duty__dives=500)


@pytest.fixture(scope="module")
def part(case: Case) -> dict[str, Any]:
    made = flaws_part(case, draw_section(case), summary_of(case))
    assert made is not None
    return made


def rows_of(table: Table) -> list[dict[str, str]]:
    text = base64.b64decode(table.href.split("base64,")[1]).decode()
    return list(csv.DictReader(io.StringIO(text)))


def test_without_life_there_is_no_section(case):
    assert flaws_part(case, draw_section(case), {}) is None


def test_infinite_and_undefined_numbers_come_back(case):
    value = {"a": [math.inf, -math.inf, 1.5], "b": math.nan, "c": "words", "d": True}
    back = numbers(json.loads(json.dumps(plain(value), allow_nan=False)))
    assert back["a"] == value["a"] and math.isnan(back["b"])
    assert (back["c"], back["d"]) == ("words", True)
    first = plain(results(case)[1])
    assert first["tips"][0]["pressure"] == "infinite"
    assert first["flaw"]["bond"] == "inner"


def test_sentences_say_what_the_numbers_say(case, part):
    runs, rests, stops = (" ".join(flaw["sentences"]) for flaw in part["flaws"])
    depth = math.floor(depth_at(60.93, 45.0))
    ratio = depth_at(60.93, 45.0) / 3000
    assert f"First grows at {depth:,} m, {ratio:.2f} \u00b1 0.01 of the duty depth" in runs
    assert ": holds. Growth then runs away" in runs and "stops by itself" not in runs
    assert "25 % opening, 75 % shearing" in runs and "part all along" in runs
    assert re.search(r"After the 500 planned dives it is \d+\.\d+ mm long", runs)
    assert "No sea (11,000 m) makes it grow." in rests and "runs away" not in rests
    assert "pressed together all along" in rests and "Diving does not grow it" in rests
    # 40 MPa is less than asked
    assert ": short. Growth then stops by itself" in stops
    assert "longer already than what is tolerable" in stops and "touch over 40 %" in stops


def test_diving_that_stops_is_told_with_its_length(case):
    result = results(case)[2]
    life = flaw_life(case, result, curve(case, result, 0.2, -1.0, 14.0))
    told = numbers(plain(life_to_json(case, RUNGS, [life])["life"]))
    # 0.2 * 4 / a = 0.12 at 6.667 mm; (6.667^5 - 4^5) / (5 * 0.02 * 0.8^4), two ends: 148,000 dives
    assert "Diving grows it to 6.67 mm in 140,000 dives" in " ".join(
        life_words(told, told["flaws"][0])
    )


def test_tables_hold_every_disbond_and_end(case, part):
    assert [row[0] for row in part["flaw_table"].rows] == [
        "1: disbond 8 mm, flooded",
        "2: disbond 6 mm, buried",
        "3: disbond 4 mm, buried",
    ]
    full = rows_of(part["flaw_table"])
    assert [row["disbond"] for row in full] == ["1", "2", "2", "3", "3"]
    assert [float(row["first_growth_MPa"]) for row in full[-2:]] == [40.0, 60.0]
    lives = rows_of(part["dives_table"])
    made = [flaw_life(case, *one) for one in zip(results(case), curves(case), strict=True)]
    assert [float(row["missions"]) for row in lives] == pytest.approx(
        [one.missions for one in made], rel=1e-12
    )
    assert len(rows_of(part["map_table"])) == sum(len(one.s) for one in maps(case))
    for table in ("flaw_table", "dives_table", "rung_table", "constants", "map_table"):
        for row in part[table].rows:
            assert not {"nan", "inf", "infinite", "undefined"} & set(" ".join(row).split())


def test_every_constant_shows_its_source_or_that_it_is_assumed(case, part):
    rows = part["constants"].rows
    assert len(rows) == 8  # seven of the adhesive, one of the ply
    for _, card, value, _, basis, source in rows:
        assert card in case.materials
        assert float(value) > 0
        assert basis and len(source) > 10
    assert part["assumed"].startswith("8 of 8 constants are assumed")


def test_a_missing_constant_is_named_and_not_guessed():
    case = flawed_case()
    paste = case.materials["epoxy-paste"]
    failure = paste.failure.model_copy(update={"growth_rate": None})
    paste = paste.model_copy(update={"failure": failure})
    bare = case.model_copy(update={"materials": {**case.materials, "epoxy-paste": paste}})
    part = flaws_part(bare, draw_section(bare), summary_of(bare))
    assert part is not None
    assert "not in the card" in [row[2] for row in part["constants"].rows]
    assert "1 are missing" in part["assumed"] or "1 is missing" in part["assumed"]
    for flaw in part["flaws"]:
        assert "not judged: card epoxy-paste has no growth_rate" in " ".join(flaw["sentences"])


def test_lead_compares_the_plan_with_the_shortest_life(case, part):
    # 500 dives of 3,000: a sixth
    assert part["lead"] == [
        "Shortest life without flaws: 3,000 dives to the duty depth (inner bond, peel and shear).",
        "The 500 planned dives use 17 % of it: the life is enough.",
    ]
    told = copy.deepcopy(summary_of(case))
    told["life"]["planned_missions"] = 4000
    worse = flaws_part(case, draw_section(case), told)
    assert worse is not None and "use 133 % of it: the life is not enough" in worse["lead"][1]


def test_growth_that_runs_on_is_told_how_far(case):
    # G = 1.2 (a / 8)^k at first growth against a toughness of 1.2: it never falls behind for k > 0
    result = results(case)[0]
    up = curves(case)[0]
    assert "runs away: it does not stop" in growth_words(case, plain(result), up)
    # a hump: over the toughness up to 15 mm, below it beyond
    hump = np.where(up.lengths < 15.0, up.G, 0.1 * up.G)
    bent = type(up)(up.lengths, up.pressures, hump, up.limit)
    rest = up.lengths[up.lengths >= 15.0][0]
    assert stop_of(bent, 60.93) == rest
    assert f"runs on at once to {rest:.3g} mm" in growth_words(case, plain(result), bent)


def test_where_only_the_bond_ends_limit_nothing_is_called_least(case):
    own = [one for one in maps(case) if one.kind == "buried"]
    whole = [replace(one, limited_by=("end of the bond",) * len(one.s)) for one in own]
    assert all(least_of(one) is None for one in whole)
    told = map_words({"required_depth": 4500.0}, whole)
    assert (
        "one buried does not grow however long the bond lets it be" in told and "least" not in told
    )


@pytest.mark.parametrize("bond", ["inner", "outer"])
def test_the_sea_stands_where_the_words_say(bond):
    # Two ways to the same water: the drawing's outline, and the mesh's wet edges.
    flaw = {"bond": bond, "face": "wall", "start": "0 mm", "length": "5 mm"}
    case = joint_case(f"{bond}-lap", flaws=[flaw])
    reduced = reduce_joint(case, 0, only=[(bond, "wall")])
    stretch = stretches_of(case, reduced)[0]
    assert stretch.flooded == (open_to(draw_section(case), case.flaws[0]) == "sea")
    assert stretch.flooded == (bond == "outer")


def test_map_words_name_the_least(part):
    assert "from an open edge 3 mm (inner bond, wall face, s = 0 mm)" in part["map_words"]
    # the shortest that a tip limits, not the bond's end
    assert "buried 6 mm (inner bond, wall face" in part["map_words"]


@pytest.mark.parametrize(
    ("count", "words"),
    [
        (0.4, "less than one"),
        (7.9, "7"),
        (99.0, "99"),
        (1289.0, "1,200"),
        (2e7, "more than 10 million"),
    ],
)
def test_counts_are_rounded_down_to_two_digits(count, words):
    assert count_words(count) == words


@pytest.mark.parametrize("bond", ["inner", "outer"])
def test_map_is_legible(case, bond):
    own = [one for one in maps(case) if one.bond == bond]
    marks = [
        Mark(i + 1, f.bond, f.face, f.start, f.length, f.start == 0)
        for i, f in enumerate(case.flaws)
        if f.bond == bond
    ]
    length = {"inner": 30.0, "outer": 25.0}[bond]
    assert_legible(plot_map(bond, length, own, marks, "at 4,500 m"))


@pytest.mark.parametrize("number", [0, 1, 2])
def test_growth_is_legible_and_shows_the_curve(case, number):
    along = curves(case)[number]
    life = flaw_life(case, results(case)[number], along)
    duty = float(numbers(summary_of(case))["life"]["duty_pressure"])
    required = float(numbers(summary_of(case))["life"]["required_pressure"])
    first = min(tip.pressure for tip in results(case)[number].tips)
    words = dict.fromkeys((duty, required, first), "3,000 m")
    lines = growth_lines(duty, required, first, words)
    figure = plot_growth("1: a disbond", along, lines, 0.12, life.tolerable)
    assert_legible(figure)
    drawn = figure.axes[0].lines[0].get_xydata()
    assert drawn[:, 0] == pytest.approx(along.lengths)
    at_duty = along.G[list(along.pressures).index(duty)]
    assert drawn[:, 1] == pytest.approx(at_duty)


def test_report_holds_the_section_with_its_link(answer, table, answers, tmp_path):
    shown = [
        Shown("a.png", group, "Picture", "Words.")
        for group in ("section", "bondline", "deformed", "fields")
    ]
    (tmp_path / "a.png").write_bytes(b"picture")
    (tmp_path / "figures.json").write_text(json.dumps([one.__dict__ for one in shown]))
    inner = [one for one in maps(flawed_case()) if one.bond == "inner"]
    bare = summarise(*answers, "test")
    without = render_report(answer, table, bare, tmp_path)
    told = bare | life_to_json(answer.case, RUNGS)
    page = render_report(answer, table, told | {"flaw_map": plain(inner)}, tmp_path)
    assert 'id="flaws"' not in without and 'href="#flaws"' not in without
    assert page.count('id="flaws"') == page.count('href="#flaws"') == 1
    section = page[page.index('id="flaws"') : page.index('id="verification"')]
    assert "Shortest life without flaws: 3,000 dives" in section
    assert section.count("<img") == 1  # the map of the inner bond; none of the end bond
    for name in ("flaw-map", "life", "life-constants"):
        assert f'download="{name}.csv"' in section
    assert "http" not in section and "<script" not in section
    assert "does not find a bond that touches but does not hold" in section
