"""Single changes of a case. Common practice, no published source, where none is named."""

from __future__ import annotations

import json
import math
from dataclasses import replace
from pathlib import Path
from xml.etree import ElementTree

import pandas as pd
import pytest

import post.change_trials
from geometry.depends import exchanged_part
from geometry.errors import CaseError
from geometry.forms import draw_section
from geometry.materials import library
from geometry.mesh import mesh_section
from post.change_trials import AS_IT_IS, Trial, Trials, try_changes
from post.changes import NO_REPEATS, Change, changes, tried_part
from post.changes_chart import draw_changes
from post.changes_table import (
    NOT_THE_LADDERS,
    base_words,
    change_words,
    changes_part,
    trials_from_json,
    trials_table,
    trials_to_json,
)
from post.judge import find
from post.knock_downs import Factor
from post.strengths import strengths
from post.study.finished import finished_studies, study_line
from post.study.models import SOLVED
from post.study.study_file import read_study
from solve.answer import solve
from solve.collapse import Collapse, solve_collapse
from tests.joints import FORMS, joint_case
from tests.post.ladders import rung

LAPPED = joint_case("inner-lap", ring__lip_tip={"inner": "4 mm"}, ring__root_radius="1 mm")
BUTT = joint_case("butt", mesh__level=0)


def named(case, field: str) -> list[Change]:
    found = [change for change in changes(tried_part(case)) if change.field == field]
    assert found
    return found


# --- the changes -------------------------------------------------------------------------------


@pytest.mark.parametrize("form", FORMS)
def test_only_what_a_form_has_is_changed(form):
    fields = {change.field for change in changes(joint_case(form))}
    laps = {"inner-lap": 1, "outer-lap": 1, "socket": 2}.get(form, 0)
    bonds = {"butt": 1, "scarf": 1, "socket": 3}.get(form, 2)
    assert sum("bond's thickness" in field for field in fields) == bonds
    assert ("overlap" in fields) == (form != "butt")
    assert any("lip" in field for field in fields) == (laps > 0)
    assert {"web", "wall thickness", "adhesive's stiffness", "ring material"} <= fields


def test_a_change_is_a_fifth_of_one_thing_and_nothing_else():
    less, more = named(LAPPED, "overlap")
    assert (less.step, more.step) == ("\u221220 %", "+20 %")
    assert more.values == "30 \u2192 36 mm"
    assert more.case.joint.overlap.inner == pytest.approx(1.2 * 30)
    before, after = (c.model_dump(exclude={"joint": {"overlap"}}) for c in (LAPPED, more.case))
    assert after == before


def test_a_thicker_bond_keeps_the_wall_and_a_thicker_wall_the_bore():
    _, bond = named(LAPPED, "inner bond's thickness")
    assert bond.case.joint.bond_thickness.inner == pytest.approx(1.2)
    assert bond.case.wall == LAPPED.wall
    _, wall = named(LAPPED, "wall thickness")
    assert wall.case.wall.bore_radius == LAPPED.wall.bore_radius
    assert wall.case.wall.layup[0].repeats == 32  # the whole number nearest 1.2 x 27
    assert wall.step == "+19 %"


def test_a_wall_without_repeats_near_a_fifth_says_so():
    block = {"ply": "carbon-epoxy-im", "thickness": "7 mm", "angles": [90, 0], "repeats": 1}
    for change in named(joint_case("butt", wall__layup=[block]), "wall thickness"):
        assert change.case is None
        assert change.why == NO_REPEATS


def test_a_stiffer_adhesive_keeps_its_ratios_and_strengths():
    _, stiffer = named(LAPPED, "adhesive's stiffness")
    before = LAPPED.materials["epoxy-paste"]
    after = stiffer.case.materials[stiffer.case.joint.adhesive]
    one, other = before.constants(), after.constants()
    for name, value in one.items():
        assert other[name] == pytest.approx(value * (1.0 if name.startswith("nu") else 1.2))
    assert after.strengths == before.strengths


def test_a_tip_thicker_than_its_root_is_refused_with_the_reason():
    case = joint_case("inner-lap", ring__lip_tip={"inner": "11 mm"})
    _, thicker = named(case, "lip thickness at the tip")
    assert thicker.case is None
    assert "is thicker than the root" in thicker.why


def test_every_metal_and_adhesive_of_the_library_is_tried_but_the_cases_own():
    metals = {change.step for change in named(LAPPED, "ring material")}
    assert "titanium-6al-4v" not in metals
    assert {"steel-316l", "aluminium-7075-t6"} <= metals
    assert {c.case.ring.material for c in named(LAPPED, "ring material")} == metals


def test_a_library_card_that_may_take_anothers_place_counts(monkeypatch):
    before = exchanged_part(LAPPED)
    cards = dict(library())
    steel = cards["steel-316l"]
    cards["steel-316l"] = steel.model_copy(update={"description": "another"})
    monkeypatch.setattr("geometry.depends.library", lambda: cards)
    assert exchanged_part(LAPPED) != before


# --- trials ------------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def collapse() -> Collapse:
    return solve_collapse(tried_part(BUTT))


@pytest.fixture(scope="module")
def trials(collapse: Collapse) -> Trials:
    """Two changes that differ in kind, and one that cannot be built."""
    chosen = [c for c in changes(tried_part(BUTT)) if c.field in ("web", "stress-free temperature")]
    broken = Change("web", "+9 %", "", None, "does not fit")
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(post.change_trials, "changes", lambda case: (*chosen, broken))
        return try_changes(BUTT, collapse)


def first_pressure(case, level: int) -> float:
    section = draw_section(case)
    answer = solve(case, mesh_section(section, level), 4, section)
    return min(one.pressure for one in find(answer, strengths(case)) if not one.why)


def test_a_trial_is_the_least_of_the_ladders_modes(trials):
    """The same criteria without the short cut that ends dear searches early."""
    assert trials.base.pressure == pytest.approx(first_pressure(tried_part(BUTT), -1), rel=1e-9)


def test_a_difference_holds_on_a_finer_mesh_within_its_error(trials):
    base = trials.base
    best = max((row for row in trials.rows if row.status == SOLVED), key=lambda row: row.depth)
    change = next(c for c in named(BUTT, best.field) if c.step == best.step)
    finer = first_pressure(change.case, 1) - first_pressure(tried_part(BUTT), 1)
    per_pressure = base.depth / base.pressure
    assert (best.depth - base.depth) == pytest.approx(finer * per_pressure, abs=trials.error)
    assert trials.error < 0.02 * base.depth


def test_what_cannot_be_built_is_a_row_with_its_reason(trials):
    assert [row.why for row in trials.rows if row.status != SOLVED] == ["does not fit"]
    assert trials_table(trials)["why"].tolist()[-1] == "does not fit"


def test_trials_come_back_from_their_file_as_they_were(trials):
    told = json.loads(json.dumps(trials_to_json(trials), allow_nan=False))
    assert repr(trials_from_json(told)) == repr(trials)


def test_a_hull_that_buckles_first_is_seen(collapse, monkeypatch):
    """A knock-down that leaves next to nothing makes the hull go first."""
    little = Factor(1e-3, "for this test", "assumed")
    monkeypatch.setattr(post.change_trials, "knock_down", lambda case, part: little)
    monkeypatch.setattr(post.change_trials, "changes", lambda case: ())
    base = try_changes(BUTT, collapse).base
    assert base.first.startswith("hull: collapse")
    assert base.pressure == pytest.approx(1e-3 * collapse.at_duty.critical.pressure)


# --- words and picture -------------------------------------------------------------------------


def row(field: str, depth: float, step: str = "+20 %", first: str = "ring: yield") -> Trial:
    return Trial(field, step, "10 \u2192 12 mm", SOLVED, "", depth, depth / 99, depth / 3000, first)


BASE = replace(row(AS_IT_IS, 4000.0), step="", values="")


def test_the_change_that_helps_most_is_named_with_its_depth():
    told = Trials(BASE, (row("overlap", 4120.0), row("web", 3900.0)), 4.0, 2)
    (words,) = change_words(told, 1.2)
    assert words.startswith(
        "Of 2 single changes, +20 % overlap (10 \u2192 12 mm) deepens first failure most: "
        "+3.0 % to 4,120 m (ring: yield still first)."
    )
    assert words.endswith("None of them falls below the required ratio, 1.2.")


def test_another_first_failure_and_the_required_ratio_are_told():
    told = Trials(BASE, (row("overlap", 4600.0, first="wall: Tsai-Wu"),), 4.0, 1)
    (words,) = change_words(told, 1.5)
    assert "(wall: Tsai-Wu then first)" in words
    assert words.endswith(
        "Only +20 % overlap (10 \u2192 12 mm) reaches the required ratio, 1.5, by itself."
    )


def test_a_gain_within_the_error_is_no_help():
    told = Trials(BASE, (row("overlap", 4003.0),), 4.0, 1)
    (words,) = change_words(told, 1.2)
    assert words.startswith("None of 1 single changes deepens first failure by more than")


def test_the_base_is_held_against_the_ladder():
    told = Trials(BASE, (), 4.0, 0)
    same = base_words(told, [rung("yield", "ring", depth=4010.0), rung(depth=5000.0)])
    assert "the depth ladder, on a finer one, has it at 4,010 m (\u22120.2 %" in same
    flaw = base_words(told, [rung("disbond 1", "inner bond", depth=2500.0), rung("yield", "ring")])
    assert flaw.endswith(NOT_THE_LADDERS)
    assert "inner bond, disbond 1, at 2,500 m" in flaw


def test_a_case_that_no_sea_breaks_has_nothing_to_gain():
    never = replace(BASE, depth=math.inf, ratio=math.inf, first="none")
    told = trials_to_json(Trials(never, (row("overlap", math.inf),), math.nan, 0))
    part = changes_part(told, [], 1.5)
    assert part["words"][0].startswith("No sea reaches a first failure")
    assert not part["picture"]


def test_the_bars_are_to_scale_and_a_long_loss_is_cut():
    rows = (row("overlap", 4100.0), row("web", 3950.0), row("lip", 1000.0))
    svg = ElementTree.fromstring(draw_changes(Trials(BASE, rows, 4.0, 2)))
    titled = [r for r in svg.iter("rect") if "first" in (r.findtext("title") or "")]
    wide = [float(r.get("width")) for r in titled]
    assert wide[0] == pytest.approx(2 * wide[1], rel=0.01)
    assert wide[2] < 2 * wide[0]
    assert len(list(svg.iter("path"))) == 1  # the cut


# --- finished studies --------------------------------------------------------------------------


def test_finished_studies_of_the_case_are_named_and_no_others(tmp_path, monkeypatch):
    root = Path(__file__).parents[2]
    monkeypatch.chdir(tmp_path)
    study, lander = root / "studies" / "joint.yaml", root / "cases" / "lander" / "case.yaml"
    assert finished_studies(lander, [study]) == []
    folder = Path("results", "studies", "joint")
    folder.mkdir(parents=True)
    (folder / "study.html").touch()
    assert finished_studies(lander, [study]) == [study]
    assert finished_studies(root / "cases" / "tube" / "case.yaml", [study]) == []
    assert study_line(study) is None  # no table
    pd.DataFrame(
        {
            **dict.fromkeys(read_study(study).headlines, [math.nan, math.nan]),
            "status": [SOLVED, SOLVED],
            "first_failure.depth": [4100.0, 4900.0],
            "first_failure.ratio": [4100 / 3000, 4900 / 3000],
        }
    ).to_parquet(folder / "table.parquet")
    line = study_line(study)
    assert line is not None
    assert line["href"] == "../studies/joint/study.html"
    assert line["headline"].endswith("from 4,100 to 4,900 m; 1 of 2 points fall short.")


def test_a_study_that_does_not_read_is_left_out(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    broken = tmp_path / "broken.yaml"
    broken.write_text("title: [")
    folder = Path("results", "studies", "broken")
    folder.mkdir(parents=True)
    (folder / "study.html").touch()
    assert finished_studies(tmp_path / "case.yaml", [broken]) == []
    with pytest.raises(CaseError):
        read_study(broken)
