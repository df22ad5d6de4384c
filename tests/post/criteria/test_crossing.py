"""Roots and walks on functions whose first crossing is known."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from post.criteria.crossing import Where, bracketed_root, first_crossing
from post.criteria.multiplier import (
    Array,
    first_reach,
    first_root,
    first_root_between,
    where_positive,
)

number = st.one_of(st.just(0.0), st.floats(1e-9, 1e6), st.floats(-1e6, -1e-9))


@given(a=number, b=number, c=number)
def test_first_root_is_a_root_with_nothing_before(a: float, b: float, c: float) -> None:
    # the definition, by signs on a scan; the value at the root against the sizes of its terms
    x = float(first_root(*(np.array([v]) for v in (a, b, c)))[0])
    assert x >= 0
    if c >= 0:
        assert x == 0
        return
    scan = np.geomspace(1e-15, 1e18, 3000) if np.isinf(x) else np.linspace(0, x, 500)[:-1]
    terms = np.abs(a) * scan**2 + np.abs(b) * scan + np.abs(c)
    assert (a * scan**2 + b * scan + c < 1e-12 * terms).all()
    if np.isfinite(x):
        terms = abs(a) * x * x + abs(b) * x + abs(c)
        assert abs(a * x * x + b * x + c) <= 1e-12 * terms


def test_first_root_between_begins_where_the_stretch_does() -> None:
    # x^2 - 1 on four stretches
    one, low, high = np.ones(4), np.array([0.0, 2, 0, 5]), np.array([9.0, 9, 0.5, 4])
    x = first_root_between(one, 0 * one, -one, low, high)
    np.testing.assert_array_equal(x, [1, 2, np.inf, np.inf])


def test_where_positive_gives_the_stretch() -> None:
    start, slope = np.array([-2.0, 2, 2, -2, 0, 0]), np.array([1.0, -1, 1, -1, 0, -1])
    low, high = where_positive(start, slope)
    np.testing.assert_array_equal(low, [2, 0, 0, 1, 0, 0])
    np.testing.assert_array_equal(high, [np.inf, 2, np.inf, 0, np.inf, 0])
    low, high = where_positive(start, slope, zero_counts=False)
    assert low[4] > high[4]


def test_first_reach_of_a_line() -> None:
    start, slope = np.array([0.0, 0, 0, 12, 10]), np.array([2.0, -2, 0, -1, 1])
    np.testing.assert_array_equal(first_reach(start, slope, 10), [5, np.inf, np.inf, 0, 0])


def test_bracketed_root_of_many_functions_at_once() -> None:
    # x^p = 1000 from the same bracket
    power = np.array([0.2, 1, 3, 9, 40])
    exact = 1000 ** (1 / power)

    def excess(x: Array, where: Where) -> Array:
        return np.asarray(x ** power[where] / 1000 - 1)

    found = bracketed_root(excess, np.full(5, 1e-3), exact * np.array([1, 1.1, 7, 50, 3]))
    np.testing.assert_allclose(found, exact, rtol=1e-14)


@pytest.mark.parametrize("height", [0.999, 1.001])
def test_walk_stops_at_a_narrow_peak_and_passes_below_one(height: float) -> None:
    # a peak of width 1e-3 at x = 50, long before a crossing at x = 1000 that is easy to find
    def index(x: Array) -> Array:
        return np.asarray(height / (1 + ((x - 50) / 1e-3) ** 2) + (x / 1000) ** 8)

    def bound(low: Array, high: Array, where: Where) -> Array:
        nearest = np.clip(50.0, low, high)
        return np.asarray(height / (1 + ((nearest - 50) / 1e-3) ** 2) + (high / 1000) ** 8)

    (x,) = first_crossing(bound, 1)
    assert index(np.array([x]))[0] == pytest.approx(1, abs=1e-9)
    assert x == pytest.approx(50 if height > 1 else 1000, abs=1e-3)


def test_walk_reports_failed_starts_and_endless_paths() -> None:
    slope, start = np.array([0.0, 1, -1, 0]), np.array([0.5, 0.5, 0.5, 1])

    def bound(low: Array, high: Array, where: Where) -> Array:
        ends = start[where] + slope[where] * np.stack([low, high])
        return np.asarray(ends.max(axis=0))

    np.testing.assert_allclose(first_crossing(bound, 4), [np.inf, 0.5, np.inf, 0], rtol=1e-14)
