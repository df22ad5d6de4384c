"""Searches: fronts are non-dominated, known optima are found, limits hold."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from post.study.ask import Best
from post.study.best import search
from post.study.front import first_front
from post.study.models import FunctionModel
from post.study.spreads import Choices, Uniform, Variable


def designs(best: dict, variables, function, seed: int = 1):
    model = FunctionModel(function, ())
    best = Best.model_validate(best)
    return search(best, variables, seed, lambda points: list(model.rows(points)))


def schaffer(values):
    return {"f1": values["x"] ** 2, "f2": (values["x"] - 2) ** 2}


TWO = {"least": ["f1", "f2"], "population": 24, "generations": 15}
X = (Variable("x", Uniform(-10.0, 10.0)),)


def test_the_front_of_schaffers_problem_is_found():
    # J.D. Schaffer 1985 (value from memory): every x in [0, 2] is best, sqrt f1 + sqrt f2 = 2.
    table = designs(TWO, X, schaffer)
    front = table[table["best"]]
    assert len(front) > 20
    assert front["x"].between(-0.05, 2.05).all()
    np.testing.assert_allclose(np.sqrt(front["f1"]) + np.sqrt(front["f2"]), 2.0, atol=0.02)
    assert front["x"].min() < 0.2
    assert front["x"].max() > 1.8


@settings(max_examples=50, deadline=None)
@given(st.integers(0, 10_000), st.integers(1, 60))
def test_no_design_beats_one_on_the_front(seed, n):
    # The definition, point by point.
    rng = np.random.default_rng(seed)
    aims = rng.integers(0, 6, (n, 2)).astype(float)
    violation = np.where(rng.random(n) < 0.3, 1.0, 0.0)
    front = first_front(aims, violation)
    holds = violation <= 0
    for i in range(n):
        beaten = any(
            holds[j] and (aims[j] <= aims[i]).all() and (aims[j] < aims[i]).any() for j in range(n)
        )
        assert front[i] == (holds[i] and not beaten)


def test_one_aim_under_a_limit_with_choices():
    # Least x + y with x y >= 1, y one of 0.5, 1, 3: x = 1 and y = 1, by hand.
    variables = (Variable("x", Uniform(0.0, 5.0)), Variable("y", Choices((0.5, 1.0, 3.0))))
    table = designs(
        {
            "least": ["sum"],
            "subject_to": {"product": {"at_least": 1.0}},
            "population": 24,
            "generations": 40,
        },
        variables,
        lambda v: {"sum": v["x"] + v["y"], "product": v["x"] * v["y"]},
    )
    found = table[table["best"]].iloc[0]
    assert found["y"] == 1.0
    assert 1.0 <= found["x"] < 1.02
    assert found["product"] >= 1.0


def test_a_search_repeats_bit_for_bit_and_asks_for_no_design_twice():
    one, two = (designs(TWO, X, schaffer, seed=3) for _ in range(2))
    assert one.equals(two)
    assert not one.duplicated("x").any()
    assert not one.equals(designs(TWO, X, schaffer, seed=4))


def test_designs_that_cannot_be_built_are_rows_and_never_best():
    from geometry.errors import CaseError

    def picky(values):
        if 0.5 < values["x"] < 1.5:
            raise CaseError("point", "x", reason="cannot be")
        return schaffer(values)

    table = designs(TWO, X, picky)
    refused = table["status"] == "refused"
    assert refused.any()
    assert not table.loc[refused, "best"].any()
    assert table["best"].any()


def test_a_limit_that_none_can_hold_leaves_no_best_design():
    table = designs({**TWO, "subject_to": {"f1": {"at_most": -1.0}}}, X, schaffer)
    assert not table["best"].any()


@pytest.mark.parametrize("aims", [{"least": ["f1"]}, {"most": ["f1"]}])
def test_one_aim_goes_the_right_way(aims):
    table = designs({**aims, "population": 16, "generations": 15}, X, schaffer)
    x = float(table.loc[table["best"], "x"].iloc[0])
    assert abs(x) < 0.1 if "least" in aims else abs(x) > 9.9
