"""Stress-life and Miner's sum."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from geometry.case import Case
from geometry.seawater import pressure_at
from post.growth import GrowthLaw
from post.judge import find
from post.life import (
    dives_to_failure,
    growth_law,
    miner_damage,
    mission_counts,
    mission_words,
    planned_missions,
    stress_life,
)
from post.life_checks import life_checks
from post.strengths import strengths
from solve.answer import Answer
from solve.check import Check
from tests.joints import joint_case

# the case of the shared answers, with what a life needs
DEEP = {"duty__pressure": None, "duty__depth": "3000 m"}


def with_duty(answers: tuple[Answer, Answer], **changes: Any) -> tuple[Answer, Answer]:
    """The shared answers with another duty; unit solutions do not know it."""
    case = joint_case("inner-lap", **changes)
    return replace(answers[0], case=case), replace(answers[1], case=case)


def lives(pair: tuple[Answer, Answer], case: Case | None = None) -> dict[tuple[str, str], Any]:
    if case is not None:
        pair = replace(pair[0], case=case), replace(pair[1], case=case)
    found = stress_life(*pair, strengths(pair[0].case))
    return {(life.part, life.mode.partition(":")[0]): life for life in found}


@pytest.fixture(scope="module")
def deep(answers):
    """Give the lives of a duty of 3,000 m."""
    return lives(with_duty(answers, **DEEP))


@pytest.mark.parametrize("check", life_checks(), ids=lambda check: check.claim)
def test_growth_and_sum_meet_closed_forms(check: Check) -> None:
    # Source: named in the row.
    assert check.passes


def test_a_strength_is_used_up_as_the_straight_line_says():
    # S/S0 = 1 - 0.08 log10 N by hand: 0.84 after 100, 0.6 after 100,000; nothing lost, no end
    assert dives_to_failure([1.0, 0.84, 0.6], 0.08) == pytest.approx([1, 1e2, 1e5], rel=1e-9)
    assert dives_to_failure(1.08, 0.08) == pytest.approx(0.1, rel=1e-9)
    assert dives_to_failure([0.99, 1.0, 1.01], 0.0).tolist() == [math.inf, 1.0, 0.0]


def test_damage_of_two_blocks_is_the_sum_by_hand():
    # Miner 1945: 300/2000 + 200/800 = 0.15 + 0.25; dives that never end add nothing
    assert miner_damage([300, 200], [2000, 800]) == pytest.approx(0.4, rel=1e-14)
    assert miner_damage([300, 200], [2000, math.inf]) == pytest.approx(0.15, rel=1e-14)
    assert math.isinf(miner_damage([1], [0.0]))


def test_at_the_first_failure_pressure_the_whole_strength_is_used(answer):
    # A criterion is reached where the whole stress times one reaches it: two ways to one place.
    strong = strengths(answer.case)
    ladder = find(answer, strong)
    judged = [
        i for i, finding in enumerate(ladder) if 0 < finding.pressure < math.inf and finding.r > 0
    ]
    assert len(judged) > 6
    for i in judged:
        whole = find(answer, strong, whole_at=ladder[i].pressure)[i]
        assert whole.part == ladder[i].part
        # searches for the multiplier end at 1e-9 or better
        assert whole.pressure == pytest.approx(1.0, rel=1e-7)


def test_one_dive_a_mission_without_a_list(deep):
    life = deep["inner bond", "peel and shear"]
    assert life.missions == life.dives
    assert life.damage == pytest.approx(1 / life.dives, rel=1e-12)
    worst = life.share + life.share_error
    assert life.dives == pytest.approx(10 ** ((1 - worst) / life.loss), rel=1e-9)


def test_dive_list_adds_up_by_miner(answers, deep):
    shallow = lives(with_duty(answers, duty__pressure=None, duty__depth="2000 m"))
    dives = [{"depth": "2000 m", "count": 300}, {"depth": "3000 m", "count": 200}]
    both = lives(with_duty(answers, **DEEP, duty__dive_list=dives))
    for key in (("inner bond", "peel and shear"), ("wall", "fibre kinking")):
        by_hand = 300 / shallow[key].dives + 200 / deep[key].dives
        assert both[key].damage == pytest.approx(by_hand, rel=1e-9)
        assert both[key].missions == pytest.approx(1 / by_hand, rel=1e-9)


def test_many_depths_are_read_between_levels_on_the_safe_side(answers, monkeypatch):
    # Yield surfaces are convex, so a chord lies above the share used; by how much is bounded here.
    monkeypatch.setattr("post.life.MOST_LEVELS", 3)
    depths = [1000, 1400, 1800, 2200, 2600]
    dives = [{"depth": f"{d} m", "count": 10} for d in depths]
    pair = with_duty(answers, **DEEP, duty__dive_list=dives)
    key = ("inner bond", "peel and shear")
    life = lives(pair)[key]
    strong = strengths(pair[0].case)
    loss, exact = life.loss, 0.0
    for depth in depths:
        at = pressure_at(depth, 45.0)
        share = [
            1 / next(f for f in find(a, strong, whole_at=at) if (f.part, f.mode) == key).pressure
            for a in pair
        ]
        error = max(3 * abs(share[0] - share[1]), 1e-3 * share[0])
        exact += 10 / float(dives_to_failure(share[0] + error, loss))
    assert exact <= life.damage * (1 + 1e-9)
    assert life.damage < 1.3 * exact


def test_a_card_without_constants_gives_no_life_but_says_why(answers):
    case = joint_case("inner-lap", **DEEP)
    cards = dict(case.materials)
    paste = cards["epoxy-paste"]
    cards["epoxy-paste"] = paste.model_copy(
        update={"failure": paste.failure.model_copy(update={"life_loss": None})}
    )
    found = lives(answers, case.model_copy(update={"materials": cards}))
    bond = found["inner bond", "peel and shear"]
    assert math.isnan(bond.dives) and math.isnan(bond.loss)
    assert bond.why == "card epoxy-paste has no life_loss"
    assert found["wall", "fibre kinking"].dives > 0
    assert found["ring", "yield"].why


def test_growth_law_is_that_of_the_card_or_says_what_is_missing():
    card = joint_case("inner-lap").materials["epoxy-paste"]
    law = growth_law(card)
    assert isinstance(law, GrowthLaw)
    values = (card.failure.growth_rate, card.failure.growth_exponent, card.failure.growth_threshold)
    assert (law.rate, law.exponent, law.threshold) == tuple(v.value for v in values if v)
    bare = card.model_copy(
        update={"failure": card.failure.model_copy(update={"growth_rate": None})}
    )
    assert growth_law(bare) == "card epoxy-paste has no growth_rate"


def test_mission_is_said_in_words():
    one = joint_case("inner-lap", **DEEP, duty__dives=500)
    assert mission_words(one) == "one dive to the duty depth"
    assert planned_missions(one) == 500
    dives = [{"depth": "2000 m", "count": 300}, {"depth": "3000 m", "count": 200}]
    many = joint_case("inner-lap", **DEEP, duty__dive_list=dives)
    assert mission_words(many) == "the whole dive list (300 to 2,000 m, 200 to 3,000 m)"
    assert planned_missions(many) == 1
    assert planned_missions(joint_case("inner-lap", **DEEP)) is None


def test_a_duty_in_pressure_alone_is_a_mission_of_its_own(answers):
    # however deep or shallow: no sea depth is asked of it
    for pressure in ("150 MPa", "0.002 MPa"):
        pair = with_duty(answers, duty__pressure=pressure)
        assert mission_counts(pair[0].case) == [1]
        life = lives(pair)["inner bond", "peel and shear"]
        assert life.missions == life.dives > 0


def test_lives_are_in_order_and_none_is_longer_than_its_strength_allows(deep):
    found = list(deep.values())
    judged = [life for life in found if not life.why]
    assert [life.missions for life in judged] == sorted(life.missions for life in judged)
    assert all(life.why for life in found[len(judged) :])
    for life in judged:
        # log-linear law by hand: 10^(1/loss) dives even of no stress at all
        assert 0 <= life.dives <= 10 ** (1 / life.loss)
    assert np.all([life.share_error >= 0 for life in judged])
