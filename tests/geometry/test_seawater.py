"""Sea depth and pressure against published values."""

from __future__ import annotations

import math

import numpy as np
import pytest

from geometry.case import parse_case, read_case
from geometry.seawater import (
    density_at,
    depth_at,
    depths_at,
    duty_pressure,
    pressure_at,
    pressures_at,
)


def unesco_gravity(pressure: float, latitude: float, rise: float) -> float:
    """Gravity, m/s^2, at a pressure in dbar: as it stands in `unesco_depth`, a rise per dbar."""
    x = math.sin(math.radians(latitude)) ** 2
    return 9.780318 * (1 + (5.2788e-3 + 2.36e-5 * x) * x) + rise * pressure


def unesco_depth(pressure: float, latitude: float) -> float:
    """Depth, m, of a pressure in dbar: Fofonoff & Millard 1983, after Saunders & Fofonoff 1976."""
    gravity = unesco_gravity(pressure, latitude, 1.092e-6)  # mean of the water above
    p = pressure
    return (((-1.82e-15 * p + 2.279e-10) * p - 2.2512e-5) * p + 9.72659) * p / gravity


def test_unesco_formula_has_its_published_check_value() -> None:
    # N.P. Fofonoff & R.C. Millard, Unesco Tech. Pap. Mar. Sci. 44 (1983): 9712.653 m
    assert unesco_depth(10_000, 30) == pytest.approx(9712.653, abs=1e-3)


@pytest.mark.parametrize("latitude", [0, 30, 45, 90])
@pytest.mark.parametrize("pressure", [500, 1000, 2000, 4000, 6000, 8000, 10_000])
def test_depth_agrees_with_unesco_44(pressure: float, latitude: float) -> None:
    # The 1983 formula rests on another equation of state and gravity; the published check value
    # 9712.653 m stands against 9713.735 m by TEOS-10, 1.1 parts in 10,000. Allowed: 1.5.
    depth = depth_at(pressure / 100, latitude)
    assert depth == pytest.approx(unesco_depth(pressure, latitude), rel=1.5e-4)


@pytest.mark.parametrize(
    ("pressure", "latitude", "depth"),
    [
        # check values of the TEOS-10 toolbox: gsw_z_from_p
        (10, 4, 9.94458345),
        (50, 4, 49.7180897),
        (125, 4, 124.27262194),
        (250, 4, 248.47005765),
        (600, 4, 595.82534804),
        (1000, 4, 992.09190607),
        (10_000, 30, 9713.735177),
    ],
)
def test_depth_has_the_teos_10_check_values(pressure: float, latitude: float, depth: float) -> None:
    # releases of the toolbox differ in the seventh digit
    assert depth_at(pressure / 100, latitude) == pytest.approx(depth, rel=1e-6)


def test_pressure_has_the_teos_10_check_values() -> None:
    # check values of the TEOS-10 toolbox: gsw_p_from_z
    assert pressure_at(10, 4) == pytest.approx(0.100557267245, rel=1e-6)
    assert pressure_at(11_000, 30) == pytest.approx(113.55000376, rel=1e-6)


@pytest.mark.parametrize(
    ("depth", "pressure"),
    [
        # TEOS-10 at latitude 45, recomputed
        (1000, 10.10637),
        (2000, 20.26129),
        (3000, 30.46392),
        (4000, 40.71345),
        (5000, 51.00902),
        (6000, 61.34981),
        (8000, 82.16373),
        (10_000, 103.14872),
        (10_935, 113.01614),
    ],
)
def test_gauge_pressure_at_45_degrees(depth: float, pressure: float) -> None:
    # five decimals are given
    assert pressure_at(depth, 45) == pytest.approx(pressure, rel=1e-6)


def test_four_kilometres_of_sea_are_about_six_thousand_psi() -> None:
    # common practice, no published source; 'about' is taken as 2 %
    psi = 0.45359237 * 9.80665 / 25.4**2
    assert pressure_at(4000, 45) / psi == pytest.approx(6000, rel=0.02)


@pytest.mark.parametrize("latitude", [0, 45, -60])
@pytest.mark.parametrize("depth", [1, 300, 6000, 11_000])
def test_depth_and_pressure_are_inverse(depth: float, latitude: float) -> None:
    # the toolbox inverts by one Newton-like step: good to about 1e-9 of the depth
    assert depth_at(pressure_at(depth, latitude), latitude) == pytest.approx(depth, rel=1e-8)


@pytest.mark.parametrize("depth", [100.0, 3000.0, 10_000.0])
def test_pressure_grows_by_weight_of_the_water(depth: float) -> None:
    # Hydrostatics, dp/dz = rho g, with gravity by Unesco Tech. Pap. Mar. Sci. 44 (1983): the mean
    # of the water above rises by 1.092e-6 a dbar, gravity itself by twice that.
    pressure = pressure_at(depth, 45)
    slope = (pressure_at(depth + 1, 45) - pressure_at(depth - 1, 45)) / 2  # MPa/m
    gravity = unesco_gravity(100 * pressure, 45, 2 * 1.092e-6)
    assert density_at(pressure) * 1e12 == pytest.approx(1e6 * slope / gravity, rel=2e-4)


def test_many_depths_and_pressures_have_the_teos_10_check_values() -> None:
    # check values of the TEOS-10 toolbox, as above
    pressures, latitudes = np.array([10.0, 1000.0, 10_000.0]) / 100, np.array([4.0, 4.0, 30.0])
    depths = np.array([9.94458345, 992.09190607, 9713.735177])
    assert depths_at(pressures, latitudes) == pytest.approx(depths, rel=1e-6)
    assert pressures_at(depths, latitudes) == pytest.approx(pressures, rel=1e-6)


def test_what_no_sea_reaches_stays_as_it_is_among_many() -> None:
    # by definition: pressures of nought, below, infinite and unknown ones have no depth
    given = np.array([0.0, -0.5, math.inf, math.nan])
    np.testing.assert_array_equal(depths_at(given, np.full(4, 45.0)), given)


def test_duty_pressure_is_the_sea_s_or_the_one_given() -> None:
    assert duty_pressure(read_case("cases/lander/case.yaml")) == pytest.approx(30.46392, rel=1e-6)
    tree = read_case("cases/lander/case.yaml").model_dump(mode="json", exclude_none=True)
    del tree["duty"]["depth"]
    tree["duty"]["pressure"] = "30.6 MPa"
    assert duty_pressure(parse_case(tree)) == pytest.approx(30.6, rel=1e-15)
