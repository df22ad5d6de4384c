"""What the process costs. Common practice, no published source, where none is named.

The ladders of one joint are solved once, on coarse meshes and with a wide target: what is tested
is which joint stands in which row, not how exact its depth is.
"""

from __future__ import annotations

import json
import math
from dataclasses import replace
from xml.etree import ElementTree

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import post.process_cost
from geometry.case import Case
from geometry.depends import costed_part, solved_part
from geometry.forms import draw_section
from geometry.mesh import mesh_section
from post.judge import duty_depth, judge
from post.process_cost import CLEAN, TOGETHER, Cost, Hit, Ladders, process_cost
from post.process_facts import clean, facts, offset, tolerance, with_bonds
from post.process_figure import draw_costs
from post.process_table import (
    cost_words,
    costs_from_json,
    costs_table,
    costs_to_json,
    process_part,
    process_words,
    shown_table,
)
from post.strengths import strengths
from post.verdict import governing
from solve.answer import solve_twice
from solve.answer_file import load_kept, save_kept
from tests.joints import joint_case
from tests.post.ladders import DUTY, REQUIRED, rung

COARSE = {"mesh__level": 0, "mesh__target": "50 %"}
STATED = {
    "wall__voids": "1 %",
    "wall__waviness": "3 deg",
    "joint__surface": {"ring": "abraded", "wall": "peel-ply-abraded"},
    "process__adhesive_voids": "3 %",
    "process__ring_offset": "0.3 mm",
}
CASE = joint_case("inner-lap", **COARSE, **STATED)


def by_name(rows: tuple[Cost, ...]) -> dict[str, Cost]:
    return {row.name: row for row in rows}


def put(case: Case, name: str) -> list[Case]:
    """Put one fact of a case on its clean joint."""
    (fact,) = (one for one in facts(case) if one.name == name)
    return [changed for _, changed in fact.put(clean(case))]


@pytest.fixture(scope="module")
def ladders() -> Ladders:
    return Ladders()


@pytest.fixture(scope="module")
def rows(ladders: Ladders) -> tuple[Cost, ...]:
    return process_cost(CASE, ladders)


# --- the joints compared -------------------------------------------------------------------------


def test_the_clean_joint_has_none_of_the_facts() -> None:
    bare = clean(CASE)
    assert bare.process.adhesive_voids is None
    assert bare.process.ring_offset is None
    assert (bare.wall.voids, bare.wall.waviness) == (None, 0.0)
    assert bare.joint.surface is not None
    assert bare.joint.surface.ring == "blasted-primed"
    assert bare.joint.bond_thickness == CASE.joint.bond_thickness
    # waviness that is not stated is no fact: what is assumed of it stays
    assert clean(joint_case("inner-lap")).wall.waviness is None


def test_each_fact_puts_its_own_number_back_and_no_other() -> None:
    bare = clean(CASE)
    (voids,) = put(CASE, "voids in the adhesive")
    assert voids.process.adhesive_voids == 0.03
    assert voids.model_copy(update={"process": bare.process}) == bare
    (wavy,) = put(CASE, "waviness")
    assert wavy.wall.waviness == 3
    assert wavy.model_copy(update={"wall": bare.wall}) == bare
    (dull,) = put(CASE, "surface preparation")
    assert dull.joint.surface == CASE.joint.surface
    assert len(put(CASE, "offset of the ring")) == 2


def test_preparation_is_a_fact_also_where_it_is_not_stated() -> None:
    (fact,) = facts(joint_case("butt"))
    assert (fact.name, fact.stated) == ("surface preparation", "not stated")
    ((_, changed),) = fact.put(clean(joint_case("butt")))
    assert changed.joint.surface is None


@settings(max_examples=20, deadline=None)  # each example draws two sections
@given(st.floats(-0.5, 0.5), st.floats(-0.5, 0.5), st.floats(-0.5, 0.5))
def test_a_bond_that_changes_leaves_wall_lips_and_web(
    inner: float, end: float, outer: float
) -> None:
    case = joint_case("socket", ring__inner_radius="130 mm", ring__outer_radius="190 mm")
    change = {"inner": inner, "end": end, "outer": outer}
    moved = with_bonds(case, change)
    before, after = draw_section(case), draw_section(moved)
    for old, new in zip(before.bonds, after.bonds, strict=True):
        assert new.thickness == pytest.approx(old.thickness + change[old.name], abs=1e-9)
        assert new.length == pytest.approx(old.length, abs=1e-9)
    assert moved.wall == case.wall
    assert (moved.ring.lip, moved.ring.web) == (case.ring.lip, case.ring.web)
    assert moved.ring.inner_radius == pytest.approx(130 - inner)
    assert moved.ring.outer_radius == pytest.approx(190 + outer)


def test_tolerance_moves_every_bond_one_way() -> None:
    case = joint_case("socket", joint__bond_thickness="2 mm")
    (_, thin), (_, thick) = tolerance(case, 0.5)
    assert set(thin.joint.bond_thickness.model_dump().values()) == {1.5, None}
    assert set(thick.joint.bond_thickness.model_dump().values()) == {2.5, None}


def test_an_offset_takes_from_one_lap_what_it_gives_the_other() -> None:
    case = joint_case("socket", joint__bond_thickness="2 mm")
    found = [one.joint.bond_thickness for _, one in offset(case, 0.5)]
    assert [(one.inner, one.outer) for one in found] == [(1.5, 2.5), (2.5, 1.5)]
    assert all(one.end == 2 for one in found)
    # a single lap still has a side that is thinner and one that is thicker
    single = [one.joint.bond_thickness.inner for _, one in offset(joint_case("inner-lap"), 0.3)]
    assert single == pytest.approx([0.7, 1.3])
    assert offset(joint_case("butt"), 0.3) == ()
    assert offset(joint_case("scarf"), 0.3) == ()


def test_squeeze_out_is_no_more_than_the_thinnest_bond() -> None:
    case = joint_case("inner-lap", joint__squeeze_out="1 mm")
    (_, thin), (_, thick) = tolerance(case, 0.4)
    assert (thin.joint.squeeze_out, thick.joint.squeeze_out) == (0.6, 1.0)


# --- the rows ------------------------------------------------------------------------------------


def test_every_stated_fact_has_a_row_between_clean_and_together(rows) -> None:
    assert [row.name for row in rows] == [
        CLEAN,
        "voids in the adhesive",
        "voids in the wall",
        "waviness",
        "surface preparation",
        "offset of the ring",
        TOGETHER,
    ]
    assert (rows[0].loss, rows[0].loss_error, rows[0].hit) == (0.0, 0.0, None)


def test_only_what_changes_the_solution_is_solved(rows, ladders) -> None:
    # clean, adhesive voids, wall voids, two sides of the offset, together
    assert len(ladders.known) == 6
    bare = clean(CASE)
    for name in ("waviness", "surface preparation"):
        (changed,) = put(CASE, name)
        assert solved_part(changed) == solved_part(bare)


def test_a_row_is_the_ladder_of_its_joint_solved_by_itself(rows) -> None:
    (porous,) = put(CASE, "voids in the adhesive")
    section = draw_section(porous)
    answers = solve_twice(porous, mesh_section(section, 0), mesh_section(section, -1))
    alone = governing(judge(*answers, strengths(porous), porous.mesh.target))
    row = by_name(rows)["voids in the adhesive"]
    assert row.first is not None
    assert alone is not None
    assert (row.first.part, row.first.mode) == (alone.part, alone.mode)
    assert row.first.pressure == pytest.approx(alone.pressure, rel=1e-9)
    whole = rows[0].first
    assert whole is not None
    assert row.loss == pytest.approx(whole.depth - alone.depth, abs=1e-6)
    assert row.loss > row.loss_error > 0


def test_a_fact_of_strength_alone_costs_no_depth_where_its_mode_is_not_first(rows) -> None:
    found = by_name(rows)
    wavy = found["waviness"]
    assert wavy.loss == 0
    assert wavy.hit is not None
    assert (wavy.hit.part, wavy.hit.mode) == ("wall", "fibre kinking")
    dull = found["surface preparation"]
    assert dull.hit is not None
    assert dull.hit.mode == "peel and shear"
    assert dull.loss >= 0


def test_of_two_bounds_the_worse_is_shown(rows, ladders) -> None:
    row = by_name(rows)["offset of the ring"]
    depths = {}
    for bound, changed in offset(clean(CASE), 0.3):
        first = governing(ladders.of(changed))
        assert first is not None
        depths[bound] = first.depth
    assert row.first is not None
    assert row.first.depth == min(depths.values())
    assert depths[row.bound] == row.first.depth


def test_all_together_takes_every_fact_at_its_worse_bound(rows, ladders) -> None:
    found = by_name(rows)
    joint = with_bonds(
        CASE.model_copy(
            update={"process": CASE.process.model_copy(update={"ring_offset": None}), "flaws": ()}
        ),
        {"inner": -0.3 if "thinner" in found["offset of the ring"].bound else 0.3},
    )
    first = governing(ladders.of(joint))
    assert first is not None
    together = found[TOGETHER].first
    assert together is not None
    assert together.pressure == pytest.approx(first.pressure, rel=1e-12)
    assert len(ladders.known) == 6  # it was there already


def test_what_closes_a_bond_is_told_and_not_solved() -> None:
    stated = {"process__bond_thickness_tolerance": "0.6 mm", "process__ring_offset": "0.6 mm"}
    case = joint_case("inner-lap", **COARSE, **stated)

    class Counting(Ladders):
        """Judges nothing, refuses what cannot be."""

        def of(self, case):
            if min(case.joint.bond_thickness.model_dump(exclude_none=True).values()) < 0.02:
                return super().of(case)
            inner = case.joint.bond_thickness.inner
            return (rung(depth=3000 + 1000 * inner),)

    together = by_name(process_cost(case, Counting()))[TOGETHER]
    assert together.verdict == "not judged"
    assert "joint.bond_thickness.inner" in together.why


def test_costing_again_solves_nothing(rows, ladders, monkeypatch, tmp_path) -> None:
    base = next(iter(ladders.known.values()))[0]
    save_kept(base, ladders.solved(), tmp_path / "process.npz")

    def refuse(*_: object) -> None:
        raise AssertionError("solved anew")

    monkeypatch.setattr(post.process_cost, "solve_twice", refuse)
    deeper = CASE.model_copy(update={"duty": CASE.duty.model_copy(update={"required_ratio": 2.0})})
    for case in (CASE, deeper):
        again = process_cost(case, Ladders(kept=load_kept(base, tmp_path / "process.npz")))
        assert [row.first.pressure for row in again] == [row.first.pressure for row in rows]


def test_other_changes_may_stand_as_rows_of_their_own(rows, ladders) -> None:
    more = process_cost(CASE, ladders, more=(("as stated, no flaws", CASE),))
    assert more[:-1] == rows
    assert more[-1].name == "as stated, no flaws"


def test_words_flaws_and_lives_leave_the_costs_as_they_are() -> None:
    for same in (
        {"title": "another"},
        {"note": "another"},
        {"duty__dives": 7},
        {"flaws": [{"bond": "end", "face": "wall", "start": "2 mm", "length": "1 mm"}]},
    ):
        assert costed_part(joint_case("butt", **same)) == costed_part(joint_case("butt"))
    for other in ({"duty__pressure": "31 MPa"}, {"wall__waviness": "2 deg"}):
        assert costed_part(joint_case("butt", **other)) != costed_part(joint_case("butt"))


# --- what is shown -------------------------------------------------------------------------------


def cost(name: str, depth: float, loss: float, error: float = 20.0, **others: object) -> Cost:
    first = rung(depth=depth)
    row = Cost(name, "2 %", "stiffness", "", "holds", "", first, loss, error)
    return replace(row, **others)  # type: ignore[arg-type]


def made_up() -> tuple[Cost, ...]:
    hit = Hit("wall", "fibre kinking", 3.1, 2.5)
    return (
        cost(CLEAN, 4600, 0.0, 0.0),
        cost("voids in the adhesive", 4300, 300.0, hit=hit),
        cost("filler", 4650, -50.0),
        cost("waviness", 4590, 10.0),
        Cost("offset of the ring", "1 mm", "", "", "not judged", "no <bound> & none", None),
        cost(TOGETHER, 4200, 400.0, bound="thinner"),
    )


def test_rows_read_back_as_they_were_written() -> None:
    rows = (*made_up(), cost("beyond", math.inf, math.nan, math.nan))
    told = json.loads(json.dumps(costs_to_json(CASE, DUTY, rows), allow_nan=False))
    back = costs_from_json(told["rows"])
    assert repr(back) == repr(rows)  # NaN is no equal of itself
    assert costs_table(back)["cost_m"].isna().sum() == 2


def test_costs_are_told_with_their_error_or_not_at_all() -> None:
    found = {row.name: cost_words(row) for row in made_up()}
    assert found[CLEAN] == ""
    assert found["voids in the adhesive"] == "300 \u00b1 20 m"
    assert found["filler"] == "gains 50 \u00b1 20 m"
    assert found["waviness"] == "within \u00b1 20 m"
    assert found["offset of the ring"] == ""
    words = process_words(made_up())
    assert "costs 400 \u00b1 20 m, down to 4,200 m" in words
    assert "The dearest by itself: voids in the adhesive, 300 \u00b1 20 m." in words


def test_the_bars_are_to_scale_and_show_what_is_lost() -> None:
    svg = ElementTree.fromstring(draw_costs(made_up(), DUTY, REQUIRED))
    bars = [one for one in svg.iter("rect") if one.get("fill") == "#0072b2"]
    lost = [one for one in svg.iter("rect") if "process-lost" in (one.get("fill") or "")]
    widths = [float(bar.get("width", 0)) for bar in bars]
    assert widths[1] / widths[0] == pytest.approx(4300 / 4600, rel=1e-3)
    assert len(bars) == 5
    assert [float(one.get("width", 0)) / widths[0] for one in lost] == pytest.approx(
        [300 / 4600, 400 / 4600], rel=2e-2
    )
    said = " ".join(svg.itertext())
    assert "4,300 m (\u2212300 m)" in said
    assert "not judged" in said


def test_the_report_s_part_holds_rows_and_cards_as_made() -> None:
    told = json.loads(json.dumps(costs_to_json(CASE, DUTY, made_up()), allow_nan=False))
    made = {"part": "adhesive", "card": "paste", "constant": "E", "unit": "MPa"}
    made |= {"on_card": 2800.0, "as_made": 2690.0, "how": "2 % voids, Mori-Tanaka"}
    part = process_part(told, [made])
    assert part["costs"].rows == shown_table(made_up(), REQUIRED).rows
    assert part["made"].rows == (("paste", "E", "2.8", "2.69", "GPa", "2 % voids, Mori-Tanaka"),)
    assert process_part(told, [])["made"] is None
    # flaws add the report's own ladder as a row, compared with the clean joint
    # a row more than process.csv has: saved under a name of its own
    assert part["costs"].name == "process"
    costs = process_part(told, [], [rung(depth=4000.0)], flaws=3)["costs"]
    assert costs.name == "process-and-flaws"
    flawed = costs.rows[-1]
    assert flawed[:2] == ("as stated, with flaws", "3 flaws")
    assert flawed[4] == "600 \u00b1 40 m"
    assert len(process_part(told, [], [rung(depth=4000.0)])["costs"].rows) == len(made_up())
    assert process_part(None, []) is None


def test_the_depth_of_a_duty_given_as_pressure_is_that_of_the_sea(answer) -> None:
    # TEOS-10, see test_seawater: 30 MPa lie a little below 2950 m at 45 degrees
    assert duty_depth(answer) == pytest.approx(2955, abs=10)
