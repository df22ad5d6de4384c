"""What the page's charts are drawn from, against the summary and the sea."""

from __future__ import annotations

import json
import math

import numpy as np
import pytest

from geometry.seawater import depth_at, pressure_at
from post.bondline_data import bondline_data, ladder_lines, sea_table, slider_end
from post.strengths import strengths
from post.summary import summarise
from tests.post.ladders import rung

DUTY = depth_at(30.0, 45.0)  # the shared joint's duty is a pressure


@pytest.fixture(scope="module")
def told(answers, table):
    return bondline_data(*answers, table, DUTY)


def statistics(parts, stress, pressure):
    """Value and place of every statistic, as the page's script makes them."""
    found = {
        name: (pressure * mean["pressure"] + mean["temperature"], None)
        for name, mean in parts["means"][stress].items()
    }
    line = parts["lines"][stress]
    whole = pressure * np.array(line["pressure"]) + np.array(line["temperature"])
    for name, at in (("largest", whole.argmax()), ("smallest", whole.argmin())):
        found[name] = whole[at], parts["s"][at]
    return found


def test_headlines_follow_from_the_parts_at_the_duty(told, answers):
    # the summary's own numbers, to the last digit or two of a float; the page's table at the duty
    # then is the printed one
    rows = {
        (row["bond"], row["stress"], row["statistic"]): row
        for row in summarise(*answers, "test")["headlines"]
        if row["load"] == "duty"
    }
    rules = told["rules"]
    seen = 0
    for bond in told["bonds"]:
        for stress in ("peel", "shear"):
            fine, coarse = (
                statistics(parts, stress, told["duty"]["pressure"]) for parts in bond["headlines"]
            )
            largest = max(abs(value) for value, _ in fine.values())
            for name, (value, at) in fine.items():
                row = rows[bond["name"], stress, name]
                moved = rules["safety"] * abs(value - coarse[name][0])
                assert value == pytest.approx(row["value"], rel=1e-12, abs=1e-12)
                assert max(moved, rules["floor"] * largest) == pytest.approx(
                    row["error"], rel=1e-9, abs=1e-12
                )
                assert at == row["at_s_mm"]
                seen += 1
    assert seen == 20  # two bonds, two stresses, five statistics


def test_curves_are_the_tables_in_parts(told, table):
    for bond in told["bonds"]:
        curve = bond["curves"]["wall face/wall"]
        own = table[
            (table["bond"] == bond["name"]) & (table["place"] == "wall face")
            & (table["side"] == "wall") & (table["load"] == "duty")
        ].sort_values("s_mm")  # fmt: skip
        for stress in ("peel", "hoop"):
            whole = 30.0 * np.array(curve["pressure"][stress])
            whole = whole + np.array(curve["temperature"][stress])
            assert whole == pytest.approx(own[f"{stress}_MPa"], rel=1e-4, abs=1e-3)
        assert curve["s"] == pytest.approx(own["s_mm"], rel=1e-5, abs=1e-6)
    json.dumps(told, allow_nan=False)


def test_between_the_rows_of_the_sea_a_straight_line_is_close_enough():
    # TEOS-10 through gsw
    table = sea_table(3000.0, pressure_at(3000.0, 45.0), 45.0, 11_000.0)
    assert 3000.0 in table["depth"] and table["depth"][0] == table["pressure"][0] == 0.0
    for depth in np.linspace(1.0, 11_000.0, 997):
        line = np.interp(depth, table["depth"], table["pressure"])
        assert line == pytest.approx(pressure_at(float(depth), 45.0), abs=1e-4)


def test_the_duty_has_its_own_pressure_to_the_last_digit(told):
    sea = told["sea"]
    assert sea["pressure"][sea["depth"].index(DUTY)] == 30.0


def test_slider_reaches_beyond_what_is_required_within_any_sea():
    assert slider_end(3000.0, 1.5) >= 1.5 * 4500.0
    assert slider_end(6000.0, 1.4) == 11_000.0
    assert slider_end(10_999.5, 1.0) >= 10_999.5
    assert 0 < slider_end(1.0, 1.0) < 10


def test_ladder_tells_reached_modes_in_order_with_their_doubts():
    lines = ladder_lines(
        [
            rung(mode="late", depth=4000.0),
            rung(mode="never", depth=math.inf),
            rung(mode="first", depth=0.0),
            rung(mode="unknown", depth=math.nan, verdict="not judged"),
        ]
    )
    assert [mode["words"].rpartition(": ")[2] for mode in lines["modes"]] == ["first", "late"]
    assert [mode["depth"] for mode in lines["modes"]] == [0.0, 4000.0]
    assert lines["unknown"] == 1 and lines["judged"]
    assert not ladder_lines([])["judged"]


def test_lines_of_strength_are_those_of_the_table_of_strengths_used(told, answer):
    # card value times every factor, as the report's table of strengths multiplies them
    used = {one.name: one for one in strengths(answer.case).used if one.part == "bond"}
    for stress, name in (("peel", "tensile"), ("shear", "shear_yield")):
        one = used[name]
        value = one.card_value * math.prod(factor.factor for factor in one.factors)
        assert 0 < value <= one.card_value
        assert told["strengths"][stress] == pytest.approx(value, rel=1e-12)
