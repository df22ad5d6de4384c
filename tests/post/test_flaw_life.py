"""Life of a disbond along a known energy release rate."""

from __future__ import annotations

import math

import numpy as np
import pytest

from geometry.case import Case
from geometry.seawater import duty_pressure, pressure_at
from post.flaw_life import dive_ranges, flaw_life, required_pressure
from tests.post.disbonds import curve, curves, flawed_case, results

# constants of the card epoxy-paste, as the library has them
RATE, EXPONENT, THRESHOLD = 0.02, 4.0, 0.12


def without_growth(case: Case) -> Case:
    paste = case.materials["epoxy-paste"]
    failure = paste.failure.model_copy(update={"growth_exponent": None})
    paste = paste.model_copy(update={"failure": failure})
    return case.model_copy(update={"materials": {**case.materials, "epoxy-paste": paste}})


def by_hand(first: float, last: float, slope: float) -> float:
    """Dives from length to length where the range is slope times the length.

    (first^-3 - last^-3) / (3 rate slope^4).
    """
    return (first**-3 - last**-3) / (3 * RATE * slope**EXPONENT)


def test_dives_to_the_tolerable_length_are_those_of_the_closed_form():
    case = flawed_case(duty__dives=500)
    result, growth = results(case)[0], curves(case)[0]
    life = flaw_life(case, result, growth)
    # G = 0.3 a / 8 at duty; at the required depth times the square of the ratio of pressures
    slope, ratio = 0.3 / 8, required_pressure(case) / duty_pressure(case)
    tolerable = 1.2 / (slope * ratio**2)
    # lengths between the given ones are read off a chord of G over toughness
    assert life.tolerable == pytest.approx(tolerable, rel=5e-3)
    assert math.isinf(life.critical)  # 1.2 / slope = 32 mm lies beyond what is known
    assert life.dive_range == pytest.approx(0.3, rel=1e-12)
    assert life.missions == pytest.approx(by_hand(8.0, life.tolerable, slope), rel=1e-9)
    assert life.missions_critical == pytest.approx(by_hand(8.0, 24.0, slope), rel=1e-9)
    # after 500 dives, (8^-3 - 500 * 3 rate slope^4)^(-1/3)
    after = (8.0**-3 - 500 * 3 * RATE * slope**EXPONENT) ** (-1 / 3)
    assert life.planned_length == pytest.approx(after, rel=1e-9)
    assert math.isinf(life.stops)


def test_pressure_of_the_required_depth_is_that_of_the_sea():
    # TEOS-10 through the project's own sea, tested against published values elsewhere
    assert required_pressure(flawed_case()) == pytest.approx(pressure_at(4500, 45.0), rel=1e-12)


def test_what_the_surface_leaves_is_no_part_of_the_range():
    case = flawed_case()
    one = curve(case, results(case)[0], 0.3, 1.0, 24.0, at_surface=0.1)
    assert dive_ranges(one, [duty_pressure(case)])[0, 0] == pytest.approx(0.2, rel=1e-12)
    # a release rate that falls on the way down and rises again: from the least on the way
    dip = one.G.copy()
    dip[1] = 0.05
    bent = type(one)(one.lengths, one.pressures, dip, one.limit)
    assert dive_ranges(bent, [duty_pressure(case)])[0, 0] == pytest.approx(0.25, rel=1e-12)


def test_two_ends_grow_twice_as_fast_as_one():
    case = flawed_case()
    one = results(case)[0]
    two = type(one)(one.number, one.flaw, False, one.tips * 2, 0.0, 0.0, 0.0)
    growth = curves(case)[0]
    fast, slow = flaw_life(case, two, growth), flaw_life(case, one, growth)
    assert slow.missions == pytest.approx(2 * fast.missions, rel=1e-12)


def test_below_the_threshold_no_number_of_dives_grows_it():
    case = flawed_case(duty__dives=500)
    life = flaw_life(case, results(case)[1], curves(case)[1])
    assert 0 < life.dive_range < THRESHOLD
    assert math.isinf(life.missions) and math.isinf(life.tolerable)
    assert life.planned_length == life.stops == life.length == 6.0


def test_growth_stops_where_a_falling_range_meets_the_threshold():
    case = flawed_case()
    result = results(case)[2]
    life = flaw_life(case, result, curve(case, result, 0.2, -1.0, 14.0))
    # 0.2 * 4 / a = 0.12 at a = 6.667 mm
    assert life.stops == pytest.approx(0.8 / THRESHOLD, rel=1e-9)
    assert math.isinf(life.missions) and math.isnan(life.planned_length)


def test_a_disbond_that_does_not_hold_at_the_required_depth_has_no_dives_left():
    case = flawed_case()
    result = results(case)[0]
    life = flaw_life(case, result, curve(case, result, 0.8, 1.0, 24.0))
    # 0.8 * (p_required / p_duty)^2 > 1.2 at once; at duty 0.8 a / 8 = 1.2 at 12 mm
    assert life.tolerable == 0.0 and life.missions == 0.0
    assert life.critical == pytest.approx(12.0, rel=5e-3)
    assert life.missions_critical == pytest.approx(by_hand(8.0, life.critical, 0.1), rel=1e-9)


def test_dive_list_grows_by_the_sum_of_its_dives():
    dives = [{"depth": "2000 m", "count": 300}, {"depth": "3000 m", "count": 200}]
    case = flawed_case(duty__dive_list=dives)
    result, growth = results(case)[0], curves(case)[0]
    life = flaw_life(case, result, growth)
    slope, shallow = 0.3 / 8, (pressure_at(2000, 45.0) / duty_pressure(case)) ** 2
    # both ranges lie above the threshold all along: 300 (shallow slope)^4 + 200 slope^4
    together = (300 * (shallow * slope) ** 4 + 200 * slope**4) ** 0.25
    assert shallow * 0.3 > THRESHOLD
    assert life.missions == pytest.approx(by_hand(8.0, life.tolerable, together), rel=1e-6)


def test_what_is_missing_is_said():
    case = flawed_case()
    result, growth = results(case)[0], curves(case)[0]
    life = flaw_life(without_growth(case), result, growth)
    assert life.why == "card epoxy-paste has no growth_exponent"
    assert math.isnan(life.missions) and life.tolerable > 0
    unknown = type(growth)(growth.lengths, growth.pressures, growth.G, growth.limit * np.nan)
    assert flaw_life(case, result, unknown).why == "its toughness is not known"
    none = type(result)(0, result.flaw, True, (), 0.0, 0.0, 0.0)
    assert flaw_life(case, none, growth).why == "the whole bond is off"
