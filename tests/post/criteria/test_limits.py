"""Single states, limits and signs of each criterion."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.optimize import brentq, minimize_scalar

from post.criteria import (
    hashin,
    interlaminar,
    kinking,
    maximum_stress,
    peel_shear,
    principal_stress,
    puck,
    raghava,
    tsai_wu,
    von_mises,
)
from post.criteria.interlaminar import InterlaminarStrength
from post.criteria.kinking import KinkStrength
from post.criteria.multiplier import Array
from post.criteria.peel_shear import BondStrength
from post.criteria.principal_stress import TensileStrength
from post.criteria.puck import CFRP_SLOPES, GFRP_SLOPES, PuckStrength
from post.criteria.raghava import PolymerYield
from post.criteria.shells import sphere_buckling_pressure
from post.criteria.strengths import PlyStrength
from post.criteria.von_mises import YieldStrength

PLY = PlyStrength.transverse(1950, 1480, 48, 200, 79, 60)
PUCK = PuckStrength(48, 200, 79, *CFRP_SLOPES)
KINK = KinkStrength(5000, 60, 5, 2)


def state(place: int, value: float = 1.0) -> Array:
    s = np.zeros(6)
    s[place] = value
    return s


def reach(criterion: object, direction: Array, strength: object) -> float:
    multiplier = criterion.multiplier  # type: ignore[attr-defined]
    return float(multiplier(np.zeros_like(direction), direction, strength))


@pytest.mark.parametrize("criterion", [maximum_stress, tsai_wu, hashin])
@pytest.mark.parametrize(
    ("place", "sign", "limit"),
    [(0, 1, 1950), (0, -1, 1480), (1, 1, 48), (1, -1, 200), (2, 1, 48), (2, -1, 200), (5, 1, 79)],
)
def test_ply_criteria_return_the_strengths_they_were_given(
    criterion: object, place: int, sign: int, limit: float
) -> None:
    # what each strength means
    assert reach(criterion, state(place, sign), PLY) == pytest.approx(limit, rel=1e-12)


def test_tsai_wu_shear_across_the_fibres_follows_from_transverse_isotropy() -> None:
    # F44 = 2 (F22 - F23), F23 = -F22 / 2
    assert reach(tsai_wu, state(3), PLY) == pytest.approx(np.sqrt(48 * 200 / 3), rel=1e-12)


def test_pressure_on_all_sides_never_breaks_a_tsai_wu_ply() -> None:
    # s_ii sqrt(F_ii) alike: the sum of squares is zero, the linear terms negative
    F = tsai_wu.coefficients(PLY)
    pressed = np.array([-1 / np.sqrt(F.F11), *2 * [-1 / np.sqrt(F.F22)], 0, 0, 0])
    assert F.F1 * pressed[0] + 2 * F.F2 * pressed[1] < 0
    assert reach(tsai_wu, pressed, PLY) > 1e4  # a million times the strengths; rounding only
    assert reach(tsai_wu, -pressed, PLY) < 1


def test_hashin_reports_the_mode() -> None:
    # Hashin 1980: sign of s11 and of s22 + s33 choose the mode
    for place, sign, mode in ((0, 1, 0), (0, -1, 1), (1, 1, 2), (2, -1, 3)):
        factors = hashin.mode_multipliers(np.zeros(6), state(place, sign), PLY)
        assert np.flatnonzero(np.isfinite(factors)).tolist() == [mode]


def test_hashin_fibre_mode_starts_where_the_fibre_goes_into_tension() -> None:
    # shear of 100 > S12 = 79 counts for the fibre from s11 = 0 on, reached at 25 MPa
    thermal = np.array([-50.0, 0, 0, 0, 0, 100])
    factors = hashin.mode_multipliers(thermal, state(0, 2), PLY)
    assert factors[0] == pytest.approx(25, rel=1e-12)
    assert np.isinf(factors[1])


@pytest.mark.parametrize("slopes", [CFRP_SLOPES, GFRP_SLOPES])
@pytest.mark.parametrize("ply", [(35, 114, 72), (30, 220, 40)])
def test_puck_returns_its_strengths_and_planes(
    ply: tuple[float, float, float], slopes: tuple[float, float]
) -> None:
    # Puck & Schuermann 1998: tension and shear break across the ply; transverse compression on
    # the plane with cos^2 = 1 / (2 (1 + p_across))
    YT, YC, S12 = ply
    strength = PuckStrength(*ply, *slopes)
    for place, sign, limit, mode, angle in (
        (1, 1, YT, "A", 0.0),
        (5, 1, S12, "A", 0.0),
        (5, -1, S12, "A", 0.0),
        (
            1,
            -1,
            YC,
            "C",
            np.degrees(np.arccos(np.sqrt(0.5 / (1 + strength.slope_across)))),
        ),
    ):
        s = state(place, sign * limit)
        exposure, plane = puck.fracture_plane(s, strength)
        assert exposure == pytest.approx(1, rel=1e-11)
        assert abs(plane) == pytest.approx(angle, abs=1e-4)
        assert str(puck.mode(s, strength)) == mode
        assert reach(puck, s, strength) == pytest.approx(1, rel=1e-11)


def test_puck_mode_b_meets_mode_c_at_the_corner() -> None:
    # Puck & Schuermann 1998: at s22 = -RA, s12 = t21c both modes are reached
    RA, shear = PUCK.RA, PUCK.shear_at_corner
    corner = np.array([0, -RA, 0, 0, 0, shear])
    assert puck.index(corner, PUCK) == pytest.approx(1, rel=1e-10)
    more_shear = np.array([0, -0.7 * RA, 0, 0, 0, shear])
    more_pressure = np.array([0, -1.3 * RA, 0, 0, 0, shear])
    assert str(puck.mode(more_shear, PUCK)) == "B"
    assert str(puck.mode(more_pressure, PUCK)) == "C"
    # mode B in plane stress: [sqrt(s12^2 + (p s22)^2) + p s22] / S12
    p, s22, s12 = PUCK.slope_compression, more_shear[1], more_shear[5]
    by_hand = (np.hypot(s12, p * s22) + p * s22) / PUCK.S12
    assert puck.index(more_shear, PUCK) == pytest.approx(by_hand, rel=1e-11)


def test_puck_search_finds_the_plane_of_a_much_finer_scan() -> None:
    # the exposure is a largest value: 7201 planes may lack little and never exceed it; components
    # of very different sizes give two peaks close together, or one narrow one
    g = np.random.default_rng(8)
    s = g.normal(size=(6, 3000)) * np.array([0, 60, 60, 40, 40, 40])[:, None]
    s *= 10 ** g.uniform(-1.5, 0, s.shape)
    found = puck.index(s, PUCK)
    angle = np.deg2rad(np.linspace(-90, 90, 7201))[:, None]
    c, n = np.cos(angle), np.sin(angle)
    normal = s[1] * c**2 + s[2] * n**2 + 2 * s[3] * n * c
    tn = (s[2] - s[1]) * n * c + s[3] * (c**2 - n**2)
    t1 = s[4] * n + s[5] * c
    k, q_along = PUCK.slope_compression / PUCK.S12, PUCK.slope_tension / PUCK.S12
    q = (k * tn**2 + q_along * t1**2) / (tn**2 + t1**2)
    shear = (tn / PUCK.RA) ** 2 + (t1 / PUCK.S12) ** 2
    pulled = np.sqrt(((1 / PUCK.YT - q) * normal) ** 2 + shear) + q * normal
    pressed = np.sqrt(shear + (k * normal) ** 2) + k * normal
    scanned = np.where(normal >= 0, pulled, pressed).max(axis=0)
    assert (found >= scanned - 1e-12).all()
    np.testing.assert_allclose(found, scanned, rtol=2e-6)  # (0.0125 deg)^2 times the curvature


@pytest.mark.parametrize("waviness", [0.0, 0.5, 2.0])
@pytest.mark.parametrize("exponent", [1.5, 3, 10, 40])
def test_kinking_in_pure_compression_is_the_closed_form(waviness: float, exponent: float) -> None:
    # Budiansky & Fleck 1993
    strength = KinkStrength(5000, 60, exponent, waviness)
    limit = kinking.compressive_strength(strength)
    assert reach(kinking, state(0, -1), strength) == pytest.approx(limit, rel=1e-10)
    assert np.isinf(reach(kinking, state(0, 1), strength))


@pytest.mark.parametrize("shear", [0.0, 15.0, 45.0, 90.0])
def test_kinking_with_shear_is_the_largest_load_of_the_band(shear: float) -> None:
    # balance of the band, t(g) = shear + c (phi + g): direct maximisation over the shear strain
    t = np.linspace(1e-6, 20, 2_000_001) * KINK.shear_yield
    strain = (t + 3 / 7 * KINK.shear_yield * (t / KINK.shear_yield) ** KINK.exponent) / KINK.G12
    largest = np.max((t - shear) / (np.deg2rad(KINK.waviness) + strain))
    thermal, unit = state(5, shear), state(0, -1.0)
    assert kinking.multiplier(thermal, unit, KINK) == pytest.approx(largest, rel=1e-9)
    assert kinking.multiplier(-thermal, unit, KINK) == pytest.approx(largest, rel=1e-9)


@pytest.mark.parametrize("excess", [1e-7, -1e-7])
def test_kinking_that_would_pass_again_is_not_passed_over(excess: float) -> None:
    # shear fades while compression grows: the index rises to 1 + excess near a third of the way,
    # falls to two thirds at 1, and reaches 1 again only far beyond
    share = np.linspace(0, 1, 4001)

    def path(shear: float) -> tuple[Array, Array]:
        return state(5, shear), np.array([-900.0, 0, 0, 0, 0, -shear])

    def peak(shear: float) -> tuple[float, float]:
        thermal, unit = path(shear)
        around = minimize_scalar(
            lambda x: -float(kinking.index(thermal + x * unit, KINK)),
            bounds=(0.1, 0.6),
            method="bounded",
            options={"xatol": 1e-12},
        )
        return float(around.x), -float(around.fun)

    shear = float(brentq(lambda q: peak(q)[1] - 1 - excess, 40, 400, xtol=1e-13, rtol=1e-15))
    thermal, unit = path(shear)
    scan = kinking.index(thermal[:, None] + share * unit[:, None], KINK)
    assert scan[-1] < 0.7
    factor = float(kinking.multiplier(thermal, unit, KINK))
    if excess > 0:
        assert factor == pytest.approx(peak(shear)[0], abs=1e-3)
        assert factor < peak(shear)[0]
    else:
        assert factor > 1
    assert kinking.index(thermal + factor * unit, KINK) == pytest.approx(1, abs=1e-9)


def test_tension_across_the_fibre_helps_kinking_and_waviness_does() -> None:
    # c = s_across - s11; equal stress on all sides cannot turn a fibre
    limit = kinking.compressive_strength(KINK)
    assert kinking.multiplier(state(1, 30), state(0, -1), KINK) == pytest.approx(limit - 30)
    everywhere = np.array([-1.0, -1, -1, 0, 0, 0])
    assert np.isinf(reach(kinking, everywhere, KINK))
    waves = [kinking.compressive_strength(KinkStrength(5000, 60, 5, w)) for w in (0, 1, 2, 3)]
    assert waves[0] == 5000
    assert (np.diff(waves) < 0).all()


def test_shear_yield_puts_the_curve_through_the_point() -> None:
    # Ramberg-Osgood at stress 79, strain 0.02
    t = kinking.shear_yield_through(6600, 5, 79, 0.02)
    assert (79 + 3 / 7 * t * (79 / t) ** 5) / 6600 == pytest.approx(0.02, rel=1e-12)
    with pytest.raises(ValueError, match="above the elastic 0.01197"):  # 79 / 6600
        kinking.shear_yield_through(6600, 5, 79, 0.01)


def test_pressing_a_bond_shut_does_no_harm() -> None:
    # the claim of the criterion
    strength = BondStrength(40, 30)
    assert np.isinf(reach(peel_shear, np.array([-1.0, 0, 0]), strength))
    for peel in (0.0, -1.0, -1e6):
        assert reach(peel_shear, np.array([peel, 3, 4]), strength) == pytest.approx(6)
    assert reach(peel_shear, np.array([1.0, 0, 0]), strength) == pytest.approx(40)
    # 3-4-5: peel / T = 0.6, shear / S = 0.8
    assert reach(peel_shear, np.array([24.0, 24, 0]), strength) == pytest.approx(1)
    # cooled open, pressed shut before shear is reached: shear alone decides
    assert peel_shear.multiplier(
        np.array([20.0, 0, 0]), np.array([-1.0, 1, 0]), strength
    ) == pytest.approx(30)
    # pressed shut by cooling, opened by pressure at 100: peel reaches T at 140
    assert peel_shear.multiplier(
        np.array([-100.0, 0, 0]), np.array([1.0, 0, 0]), strength
    ) == pytest.approx(140)


def test_interlaminar_counts_radial_tension_and_both_shears() -> None:
    # Brewer & Lagace 1988; stresses in the surface do not count
    strength = InterlaminarStrength(40, 50)
    s = np.array([24.0, 900, -900, 300, 24, 32])
    assert interlaminar.index(s, strength) == pytest.approx(0.36 + 0.64)
    s[0] = -1000
    assert interlaminar.index(s, strength) == pytest.approx(0.64)
    assert reach(interlaminar, s, strength) == pytest.approx(1.25)


def test_raghava_is_von_mises_when_both_yields_are_equal() -> None:
    # Raghava, Caddell & Yeh 1973, C = T
    g = np.random.default_rng(6)
    thermal, unit = g.normal(size=(2, 6, 200)) * np.array([10, 40])[:, None, None]
    equal, mises = PolymerYield(50, 50), YieldStrength(50)
    np.testing.assert_allclose(raghava.index(unit, equal), von_mises.index(unit, mises))
    np.testing.assert_allclose(
        raghava.multiplier(thermal, unit, equal), von_mises.multiplier(thermal, unit, mises)
    )


def test_raghava_under_equal_stress_on_all_sides() -> None:
    # C T / [3 (C - T)] in tension, never in compression; uniaxial T and C; shear sqrt(C T / 3)
    strength = PolymerYield(40, 52)
    on_all_sides = np.array([1.0, 1, 1, 0, 0, 0])
    assert reach(raghava, on_all_sides, strength) == pytest.approx(40 * 52 / (3 * 12))
    assert np.isinf(reach(raghava, -on_all_sides, strength))
    assert raghava.index(-1e6 * on_all_sides, strength) == 0
    assert reach(raghava, state(1), strength) == pytest.approx(40)
    assert reach(raghava, state(2, -1), strength) == pytest.approx(52)
    assert reach(raghava, state(4), strength) == pytest.approx(np.sqrt(40 * 52 / 3))


def test_largest_principal_stress_of_known_states() -> None:
    # shear t has principal stresses +-t; a 2x2 block by Mohr's circle
    strength = TensileStrength(30)
    for place in (3, 4, 5):
        assert reach(principal_stress, state(place, -1), strength) == pytest.approx(30)
    s = np.array([10.0, -4, 2, 0, 0, 24])
    assert principal_stress.index(s, strength) == pytest.approx((3 + 25) / 30)
    assert np.isinf(reach(principal_stress, np.array([-1.0, -1, 0, 0, 0, 0]), strength))


def test_von_mises_of_known_states() -> None:
    # sqrt(3) times shear; nothing under pressure on all sides
    strength = YieldStrength(300)
    assert reach(von_mises, state(3), strength) == pytest.approx(300 / np.sqrt(3))
    assert np.isinf(reach(von_mises, np.array([-1.0, -1, -1, 0, 0, 0]), strength))
    # cooled to +100, pressed by 2 per unit: yields in compression at 200
    assert von_mises.multiplier(state(0, 100), state(0, -2), strength) == pytest.approx(200)


def test_knock_down_and_range_of_the_sphere() -> None:
    # Zoelly 1915 scales with the knock-down and (t/R)^2
    perfect = sphere_buckling_pressure(110e3, 0.31, 6, 200, 1.0)
    assert sphere_buckling_pressure(110e3, 0.31, 12, 200, 0.5) == pytest.approx(2 * perfect)
    for bad in ((110e3, 0.31, 6, 200, 0.0), (110e3, 0.31, 6, 200, 1.1), (0, 0.31, 6, 200, 1)):
        with pytest.raises(ValueError, match="must be"):
            sphere_buckling_pressure(*bad)


@pytest.mark.parametrize("bad", [0.0, -1.0, np.inf, np.nan])
def test_strengths_must_be_positive_numbers(bad: float) -> None:
    with pytest.raises(ValueError, match="YT"):
        PuckStrength(bad, 200, 79, *CFRP_SLOPES)
    with pytest.raises(ValueError, match="no more than S12"):
        PuckStrength(80, 200, 79, *CFRP_SLOPES)
    with pytest.raises(ValueError, match="slope_tension"):
        PuckStrength(48, 200, 79, 0.25, 0.30)
    with pytest.raises(ValueError, match="XC"):
        PlyStrength.transverse(1950, bad, 48, 200, 79)
    with pytest.raises(ValueError, match="waviness" if bad else "exponent"):
        KinkStrength(5000, 60, 5 if bad else 1, bad)
    with pytest.raises(ValueError, match="compression"):
        PolymerYield(50, 40)
