"""Bonded laps: equations behind the closed forms, and which model is the limit of which.

The published numbers are in the verification table, see test_reference_checks.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import simpson, solve_bvp

from solve.goland_reissner import SingleLap
from solve.joint_checks import SINGLE_LAP, tubular_lap
from solve.shear_lag_formulas import (
    double_lap,
    double_lap_peel_ratio,
    tubular_lap_axial,
    tubular_lap_torsion,
    volkersen,
    volkersen_thermal_end,
)
from solve.shell_spring import Tube, shell_spring_lap

POINTS, WEIGHTS = np.polynomial.legendre.leggauss(80)
stiffnesses = st.floats(1e4, 1e6)


def collocated_shear(
    S1: float, S2: float, force: float, mismatch: float, x: np.ndarray
) -> np.ndarray:
    """Volkersen's problem by collocation: G = 1 GPa, eta = 0.25 mm, overlap 25.4 mm.

    N1' = -tau, N1 + N2 = P, tau = (G / eta) d, d' = N2 / S2 - N1 / S1 + mismatch, d = u2 - u1.
    """
    spring, half = 1e3 / 0.25, 12.7
    answer = solve_bvp(
        lambda _, y: np.stack([(force - y[1]) / S2 - y[1] / S1 + mismatch, -spring * y[0]]),
        lambda left, right: np.array([left[1] - force, right[1]]),
        np.linspace(-half, half, 60),
        np.zeros((2, 60)),
        tol=1e-9,
        max_nodes=20000,
    )
    return spring * np.asarray(answer.sol(x)[0])


@given(st.floats(-500, 500), st.floats(2, 60), stiffnesses, stiffnesses)
def test_shear_carries_the_force(force: float, overlap: float, one: float, two: float) -> None:
    # Source: equilibrium, Int tau dx = P.
    lap = volkersen(force, overlap, 1e3, 0.25, one, two)
    carried = lap.shear(overlap / 2 * POINTS) @ WEIGHTS * overlap / 2
    assert carried == pytest.approx(force, rel=1e-9, abs=1e-9)


@pytest.mark.parametrize("S2", [113.4e3, 378e3, 30e3])
def test_volkersen_solves_its_boundary_value_problem(S2: float) -> None:
    # Source: Volkersen 1938, the equations by collocation.
    x = np.linspace(-12.7, 12.7, 21)
    ours = volkersen(200.0, 25.4, 1e3, 0.25, 113.4e3, S2).shear(x)
    np.testing.assert_allclose(collocated_shear(113.4e3, S2, 200.0, 0.0, x), ours, rtol=1e-6)


def test_thermal_shear_solves_its_boundary_value_problem() -> None:
    # Source: Volkersen 1938 with free strains, the equations by collocation.
    ends = collocated_shear(113.4e3, 378e3, 0.0, -2.3e-3, np.array([-12.7, 12.7]))
    ours = volkersen_thermal_end(-2.3e-3, 25.4, 1e3, 0.25, 113.4e3, 378e3)
    np.testing.assert_allclose(ends, [-ours, ours], rtol=1e-6)


def test_stiff_adherends_share_the_shear_evenly() -> None:
    # Source: limit w l -> 0 of Volkersen 1938.
    lap = volkersen(200.0, 25.4, 1e3, 0.25, 1e12, 1e12)
    np.testing.assert_allclose(lap.shear([-12.7, 0, 12.7]), lap.mean, rtol=1e-6)


def test_long_lap_neither_overflows_nor_moves_its_ends() -> None:
    # Source: limit w l -> infinity of Volkersen 1938: tau = w P S / S1 at the end of adherend 1,
    # 1 / S = 1 / S1 + 1 / S2.
    S1, S2 = 113.4e3, 378e3
    lap = volkersen(200.0, 1e4, 1e3, 0.25, S1, S2)
    assert lap.shear(-5e3) == pytest.approx(lap.rate * 200.0 * S2 / (S1 + S2), rel=1e-12)
    assert lap.shear(0) == 0


def test_peak_is_where_the_softer_adherend_ends() -> None:
    # Source: Volkersen 1938: the end where the softer adherend brings its load in.
    lap = volkersen(200.0, 25.4, 1e3, 0.25, 113.4e3, 378e3)
    turned = volkersen(200.0, 25.4, 1e3, 0.25, 378e3, 113.4e3)
    x = np.linspace(-12.7, 12.7, 9)
    assert lap.shear(-12.7) > 2 * lap.shear(12.7)
    np.testing.assert_allclose(turned.shear(x), lap.shear(-x), rtol=1e-12)


def test_balanced_double_lap_has_the_published_peak() -> None:
    # Source: Hart-Smith 1973: tau_max = tau_av (lam l / 2) coth(lam l / 2), tau_av = P / (2 l).
    lap = double_lap(400.0, 25.0, 800.0, 0.2, 140e3, 280e3)
    half = lap.rate * 12.5
    np.testing.assert_allclose(lap.shear([-12.5, 12.5]), 8 * half / np.tanh(half), rtol=1e-12)


def test_double_lap_peel_is_a_beam_on_the_bond() -> None:
    # Source: Hart-Smith 1973. The outer sheet lies on the bond (k = E'/eta) and the shear tau on
    # its face is a couple tau t / 2 per length: an edge force V = tau t / 2 on a beam on an
    # elastic foundation, w(0) = 2 V b / k with b^4 = k / (4 D) (Hetenyi 1946), peel = k w(0).
    E, nu, t, Ea, eta = 70e3, 0.33, 2.0, 2.2e3, 0.2
    k, D = Ea / eta, E * t**3 / 12 / (1 - nu**2)
    peel = 2 * (1.0 * t / 2) * (k / (4 * D)) ** 0.25
    assert double_lap_peel_ratio(Ea, eta, E, nu, t) == pytest.approx(peel, rel=1e-12)


@pytest.mark.parametrize("radius", [1e3, 1e4])
def test_wide_tube_in_torsion_is_a_sheared_sheet(radius: float) -> None:
    # Source: limit of Adams & Peppiatt 1977: J = 2 pi a^3 t, sheets of stiffness G t; what is
    # left is of the order of t / a.
    G, t, eta = 27e3, 2.0, 0.2
    J = [np.pi / 2 * ((radius + s * t) ** 4 - (radius + (s - 1) * t) ** 4) for s in (0, 1)]
    torque = 100.0 * 2 * np.pi * radius**2
    tube = tubular_lap_torsion(torque, 30.0, radius, 1e3, eta, G * J[0], G * J[1])
    sheet = volkersen(100.0, 30.0, 1e3, eta, G * t, G * t)
    x = np.linspace(-15, 15, 7)
    np.testing.assert_allclose(tube.shear(x), sheet.shear(x), rtol=4 * t / radius)


@pytest.mark.parametrize(
    "lap",
    [SINGLE_LAP, replace(SINGLE_LAP, half_overlap=4.0), replace(SINGLE_LAP, force=20.0, eta=1.0)],
)
def test_peel_balances_the_edge_shear_and_the_edge_moment(lap: SingleLap) -> None:
    # Source: equilibrium of one sheet, Int s dx = V0 over the lap; bending at the edge,
    # s''(c) = Ea M0 / (eta E t^3 / 12). With -L k' in place of +L k' the first one fails.
    c = lap.half_overlap
    carried = lap.peel(c * POINTS) @ WEIGHTS * c
    assert carried == pytest.approx(lap.edge_shear, rel=1e-10)
    step = 1e-3 * c / lap.peel_rate
    near = lap.peel(c + step * np.array([-2.0, -1.0, 0.0, 1.0, 2.0]))
    curvature = near @ np.array([-1, 16, -30, 16, -1]) / (12 * step**2)
    expected = lap.Ea * lap.edge_moment / (lap.eta * lap.E * lap.thickness**3 / 12)
    assert curvature == pytest.approx(expected, rel=1e-6)


def test_peak_of_the_peel_is_the_published_formula() -> None:
    # Source: Goland & Reissner 1944, the closed peak with +L k'.
    lap = SINGLE_LAP
    L, k, k1, c = lap.peel_rate, lap.moment_factor, lap.shear_factor, lap.half_overlap
    bottom = np.sinh(2 * L) + np.sin(2 * L)
    peak = (
        lap.force
        * lap.thickness
        / c**2
        * (
            L**2 * k / 2 * (np.sinh(2 * L) - np.sin(2 * L)) / bottom
            + L * k1 * (np.cosh(2 * L) + np.cos(2 * L)) / bottom
        )
    )
    np.testing.assert_allclose(lap.peel([-c, c]), peak, rtol=1e-12)


def test_single_lap_shear_carries_the_force() -> None:
    # Source: equilibrium, Int tau dx over the whole lap = P.
    c = SINGLE_LAP.half_overlap
    assert SINGLE_LAP.shear(c * POINTS) @ WEIGHTS * c == pytest.approx(200.0, rel=1e-10)


def test_edge_moment_falls_from_one_to_a_quarter() -> None:
    # Source: Goland & Reissner 1944: k = 1 under small loads, 1 / (1 + 2 sqrt 2) = 0.26 for a
    # long flexible lap.
    assert replace(SINGLE_LAP, force=1e-9).moment_factor == pytest.approx(1, abs=1e-5)
    long = replace(SINGLE_LAP, half_overlap=1e3)
    assert long.moment_factor == pytest.approx(1 / (1 + 2 * np.sqrt(2)), rel=1e-6)


def test_bending_brings_more_shear_than_volkersen() -> None:
    # Source: Goland & Reissner 1944 against Volkersen 1938, same sheets: where k = 1
    # bending makes the bonded faces four times as flexible, so that the peak of a long lap doubles.
    lap = replace(SINGLE_LAP, force=1e-6, half_overlap=60.0)
    stiffness = lap.E * lap.thickness
    stretched = volkersen(1e-6, 120.0, lap.G, lap.eta, stiffness, stiffness)
    assert lap.shear(60.0) / stretched.shear(60.0) == pytest.approx(2.0, rel=1e-3)


def test_shell_spring_lap_carries_the_force() -> None:
    # Source: equilibrium, 2 pi R Int tau dx = F.
    lap = tubular_lap()
    assert 2 * np.pi * 22.1 * simpson(lap.shear, x=lap.x) == pytest.approx(20e3, rel=1e-5)


def test_shell_spring_answer_is_exact_at_its_points() -> None:
    tube = Tube(70e3, 0.33, 2.0)
    few, many = (
        shell_spring_lap(20e3, 30.0, 22.1, tube, tube, G=1e3, Ea=2.8e3, eta=0.2, intervals=n)
        for n in (15, 240)
    )
    np.testing.assert_allclose(few.shear, many.shear[::16], rtol=1e-8)
    np.testing.assert_allclose(few.peel, many.peel[::16], rtol=1e-8, atol=1e-8)


def test_shell_spring_one_millimetre_from_the_ends() -> None:
    # Source: model of Lubkin & Reissner 1956, "recomputed" by collocation, whose fourth digits
    # differ from the exact answer of the same equations by up to 1.0e-3.
    lap = tubular_lap()
    mean = 20e3 / (2 * np.pi * 22.1 * 30)
    inside = np.searchsorted(lap.x, [1.0, 29.0])
    np.testing.assert_array_equal(lap.x[inside], [1.0, 29.0])
    np.testing.assert_allclose(lap.shear[inside] / mean, [2.4281, 2.1511], rtol=1e-4)
    np.testing.assert_allclose(lap.peel[inside], [4.235, 1.073], rtol=1.1e-3)


@pytest.mark.parametrize(("radius", "allowed"), [(0.1, 1e-2), (0.01, 1e-3)])
def test_shear_lag_is_the_limit_of_tubes_that_cannot_widen(radius: float, allowed: float) -> None:
    # Source: Volkersen 1938 is the limit of the shell-spring model for a hoop stiffness
    # E t / R^2 that forbids bending (R -> 0, as mathematics only), nu = 0.
    one, two = Tube(70e3, 0.0, 2.0), Tube(110e3, 0.0, 1.5)
    shells = shell_spring_lap(100.0, 30.0, radius, one, two, G=1e3, Ea=2.8e3, eta=0.2)
    around = 2 * np.pi * radius
    lag = tubular_lap_axial(
        100.0, 30.0, radius, 1e3, 0.2, 70e3 * 2.0 * around, 110e3 * 1.5 * around
    )
    np.testing.assert_allclose(shells.shear, lag.shear(shells.x - 15.0), rtol=allowed)
