"""Plans: the same seed gives the same points, spreads are what they say, groups correlate."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
from scipy import stats

from post.study.ask import Do
from post.study.plans import count_points, plan_points
from post.study.spreads import Choices, Group, Normal, Triangular, Uniform, Variable

VARIABLES = (
    Variable("a", Uniform(-1.0, 3.0)),
    Variable("b", Normal(10.0, 2.0, 4.0, 16.0)),
    Variable("c", Triangular(0.0, 1.0, 4.0)),
    Variable("d", Choices(("x", "y", "z"))),
)


@pytest.mark.parametrize(
    "do",
    [
        {"sample": {"points": 50, "sequence": "latin-hypercube"}},
        {"sample": {"points": 64}},
        {"sensitivity": {"method": "morris", "repeats": 8}},
        {"sensitivity": {"method": "sobol", "repeats": 16}},
        "grid",
    ],
)
def test_a_seed_gives_the_same_points_bit_for_bit(do):
    do = Do.model_validate(do)
    one, two = (plan_points(do, VARIABLES, (), 7) for _ in range(2))
    pd.testing.assert_frame_equal(one, two, check_exact=True)
    assert len(one) == count_points(do, VARIABLES)
    assert list(one["point"]) == list(range(len(one)))
    if not do.grid:
        assert not one.equals(plan_points(do, VARIABLES, (), 8))


def test_samples_follow_their_distributions():
    # Kolmogorov & Smirnov against scipy's own distributions; a Sobol' sequence is far more even
    # than chance, so a p-value below 0.5 would be a wrong distribution.
    do = Do.model_validate({"sample": {"points": 4096}})
    table = plan_points(do, VARIABLES, (), 3)
    laws = {
        "a": stats.uniform(-1, 4),
        "b": stats.truncnorm(-3, 3, loc=10, scale=2),
        "c": stats.triang(0.25, loc=0, scale=4),
    }
    for name, law in laws.items():
        assert stats.kstest(table[name], law.cdf).pvalue > 0.5
    # each dyadic interval holds its exact share: thirds are off by less than one at either end
    assert (abs(table["d"].value_counts() - 4096 / 3) < 2).all()


def test_correlated_groups_have_their_correlation():
    # Gaussian copula: Spearman's rho is (6 / pi) asin(r / 2) (K. Pearson 1907, value from memory).
    do = Do.model_validate({"sample": {"points": 8192}})
    table = plan_points(do, VARIABLES, (Group(("a", "b", "c"), 0.6),), 5)
    wanted = 6 / np.pi * np.arcsin(0.3)
    for pair in (("a", "b"), ("a", "c"), ("b", "c")):
        assert stats.spearmanr(table[pair[0]], table[pair[1]]).statistic == pytest.approx(
            wanted, abs=0.01
        )
    assert stats.kstest(table["c"], stats.triang(0.25, loc=0, scale=4).cdf).pvalue > 0.05
    assert abs(stats.spearmanr(table["a"], table["d"] == "x").statistic) < 0.02


def test_a_grid_takes_every_combination():
    variables = (Variable("a", Uniform(0.0, 1.0, 3)), Variable("d", Choices(("x", "y"))))
    table = plan_points(Do.model_validate("grid"), variables, (), 1)
    rows = list(zip(table["a"], table["d"], strict=True))
    assert rows == [(a, d) for a in (0.0, 0.5, 1.0) for d in ("x", "y")]
