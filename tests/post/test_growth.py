"""Growth of a disbond over dives."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad

from post.growth import GrowthLaw, grow

LAW = GrowthLaw(rate=0.01, exponent=4.0, threshold=0.1)


@given(
    power=st.floats(-1.5, 1.5),
    exponent=st.floats(1.1, 8.0),
    first=st.floats(0.5, 50.0),
    ratio=st.floats(1.5, 50.0),
    nodes=st.integers(2, 9),
)
def test_power_laws_of_length_are_integrated_exactly(power, exponent, first, ratio, nodes):
    # integral of da / (C g^m (a / a0)^(k m)), by hand; ten digits whatever the spacing
    law = GrowthLaw(0.01, exponent, 0.0)
    last = first * ratio
    lengths = np.geomspace(first, last, nodes) if nodes % 2 else np.linspace(first, last, nodes)
    growth = grow(lengths, 0.5 * (lengths / first) ** power, law)
    k = 1 - power * exponent
    exact = first / (0.01 * 0.5**exponent)
    exact *= math.log(ratio) if abs(k) < 1e-9 else math.expm1(k * math.log(ratio)) / k
    assert growth.until(last) == pytest.approx(exact, rel=1e-9)


def test_between_its_lengths_a_growth_reads_both_ways():
    # G constant 0.3: 0.01 * 0.3^4 = 8.1e-5 mm a dive, by hand
    growth = grow([10.0, 40.0], [0.3, 0.3], LAW)
    assert growth.until(10.0) == growth.until(5.0) == 0.0
    assert growth.until(17.5) == pytest.approx(7.5 / 8.1e-5, rel=1e-12)
    assert growth.after(1e5) == pytest.approx(18.1, rel=1e-12)
    assert math.isnan(growth.until(41.0))
    assert math.isinf(growth.after(1e9))


def test_threshold_is_met_exactly():
    # The law's own words: nothing grows below the threshold; at it, it grows.
    at, below = np.full(2, 0.1), np.full(2, np.nextafter(0.1, 0.0))
    # 0.01 * 0.1^4 = 1e-6 mm a dive, by hand
    assert grow([10.0, 20.0], at, LAW).until(20.0) == pytest.approx(1e7, rel=1e-9)
    assert math.isinf(grow([10.0, 20.0], below, LAW).until(20.0))


@pytest.mark.parametrize("nodes", [2, 3, 30])
def test_a_falling_range_stops_where_it_passes_the_threshold(nodes):
    # G = 0.1 * 25 / a falls to the threshold at 25 mm
    lengths = np.geomspace(10.0, 40.0, nodes)
    growth = grow(lengths, 2.5 / lengths, LAW)
    assert growth.after(1e15) == pytest.approx(25.0, rel=1e-9)
    assert math.isinf(growth.until(25.1))
    # (25^5 - 10^5) / (5 * 0.01 * 2.5^4), by hand
    assert growth.until(25.0 - 1e-11) == pytest.approx(
        (25.0**5 - 10.0**5) / (0.05 * 2.5**4), rel=1e-9
    )


def test_a_flaw_without_any_energy_release_never_grows():
    growth = grow([10.0, 20.0], [0.0, 1.0], LAW)
    assert math.isinf(growth.until(20.0))
    assert growth.after(1e9) == 10.0


def test_dives_to_two_depths_add_their_growth():
    # da / (300 C g1^4 + 200 C g2^4) by adaptive quadrature of another library
    lengths = np.geomspace(10.0, 40.0, 9)
    growth = grow(lengths, [0.02 * lengths, np.full(9, 0.3)], LAW, dives=(300, 200))

    def slowness(a):
        return 1 / (300 * LAW.rate * (0.02 * a) ** 4 + 200 * LAW.rate * 0.3**4)

    exact = quad(slowness, 10.0, 33.0, epsabs=0, epsrel=1e-11)[0]
    # trapezia in logarithms over 64 pieces a length: a few millionths
    assert growth.until(33.0) == pytest.approx(exact, rel=1e-5)


def test_dives_below_the_threshold_add_nothing():
    lengths = np.array([10.0, 20.0])
    deep = grow(lengths, [np.full(2, 0.5)], LAW)
    both = grow(lengths, [np.full(2, 0.5), np.full(2, 0.09)], LAW, dives=(1, 1000))
    assert both.until(20.0) == pytest.approx(deep.until(20.0), rel=1e-12)


def test_lengths_that_do_not_ascend_are_refused():
    for lengths in ([10.0, 10.0], [0.0, 1.0], [5.0]):
        with pytest.raises(ValueError, match="ascend"):
            grow(lengths, np.ones(len(lengths)), LAW)
    with pytest.raises(ValueError, match="every length"):
        grow([1.0, 2.0], [[1.0, 1.0], [1.0, 1.0]], LAW)


def test_growth_says_where_it_stops():
    # G = 0.1 * 25 / a passes the threshold at 25 mm; constant above it, it never stops
    assert grow([10.0, 40.0], [0.25, 0.0625], LAW).stops == pytest.approx(25.0, rel=1e-9)
    assert grow([10.0, 40.0], [0.09, 1.0], LAW).stops == 10.0
    assert math.isinf(grow([10.0, 40.0], [0.2, 0.2], LAW).stops)
