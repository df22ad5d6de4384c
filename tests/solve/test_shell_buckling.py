"""Shell formulas of buckling: laws that hold for them all. The numbers are verification rows."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.integrate import solve_bvp

from solve.cited_materials import CARBON_EPOXY, isotropic
from solve.exact_tube import TubeLayer
from solve.laminate import ply_material
from solve.shell_buckling import (
    SOFT,
    cautions,
    long_tube_buckling,
    orthotropic_buckling,
    orthotropic_pressures,
    oval_ring_yield,
    von_mises_buckling,
    wall_plate,
    windenburg_trilling,
)
from solve.shell_buckling_checks import laminate, tube


def test_every_unit_scales_out() -> None:
    # Similarity: p / E depends on t / R, L / R and nu alone.
    small, large = tube(1.0, 0.3, 100.0, 2.0), tube(7e4, 0.3, 1700.0, 34.0)
    one, other = orthotropic_buckling(small, 250.0), orthotropic_buckling(large, 17 * 250.0)
    assert (other.along, other.around) == (one.along, one.around)
    assert other.pressure == pytest.approx(7e4 * one.pressure, rel=1e-9)


def test_layers_of_one_material_are_one_layer() -> None:
    whole = tube(70e3, 0.33, 150.0, 6.0)
    faces = np.array([147.0, 147.5, 151.0, 153.0])
    split = [TubeLayer(a, b, isotropic(70e3, 0.33)) for a, b in zip(faces, faces[1:], strict=False)]
    np.testing.assert_allclose(wall_plate(split).D, wall_plate(whole).D, rtol=1e-12)
    assert orthotropic_buckling(split, 400.0).pressure == pytest.approx(
        orthotropic_buckling(whole, 400.0).pressure, rel=1e-9
    )


def test_coupling_is_felt_and_changes_sign_with_the_order_of_plies() -> None:
    # Jones 1999, ch. 4: B of [90/0] is minus that of [0/90], A and D are equal (from memory).
    inside, outside = (laminate(angles, 150.0, 6.0) for angles in ((90, 0), (0, 90)))
    np.testing.assert_allclose(wall_plate(inside).B, -wall_plate(outside).B, rtol=1e-12)
    np.testing.assert_allclose(wall_plate(inside).D, wall_plate(outside).D, rtol=1e-12)
    pressures = [orthotropic_buckling(wall, 450.0).pressure for wall in (inside, outside)]
    assert abs(pressures[0] / pressures[1] - 1) > 0.02


def test_scan_brackets_its_least() -> None:
    wall = laminate((90, 0, 90), 150.0, 9.0)
    found = orthotropic_buckling(wall, 450.0)
    around = np.arange(2, 200)
    pressures = orthotropic_pressures(wall, 450.0, np.arange(1, 60)[:, None], around)
    assert found.pressure == pressures.min()
    assert pressures.shape == (59, 198)


@pytest.mark.parametrize("thickness", [1.0, 3.0])
def test_long_tube_is_the_limit_of_von_mises(thickness: float) -> None:
    # For n = 2 and L without end von Mises's formula goes to the long tube's.
    limit = long_tube_buckling(200e3, 0.3, thickness, 100.0)
    far = von_mises_buckling(200e3, 0.3, thickness, 100.0, 1e6, lateral=True)
    assert far.around == 2
    assert far.pressure == pytest.approx(limit, rel=1e-6)


def test_short_tube_is_refused() -> None:
    with pytest.raises(ValueError, match="too short"):
        windenburg_trilling(200e3, 0.3, 10.0, 100.0, 10.0)


def test_cautions_say_what_is_so() -> None:
    thin = tube(207e3, 0.3, 203.2, 1.27)
    assert cautions(thin, orthotropic_buckling(thin, 406.4)) == ()
    thick = tube(113.8e3, 0.342, 200.0, 30.0)
    few, walled = cautions(thick, orthotropic_buckling(thick, 600.0))
    assert few.startswith("2 waves")
    assert "0.15" in walled
    hoop = [TubeLayer(149.5, 150.5, ply_material(CARBON_EPOXY, 90.0))]
    assert CARBON_EPOXY.G12 / CARBON_EPOXY.E1 < SOFT
    (*_, soft) = cautions(hoop, orthotropic_buckling(hoop, 300.0))
    assert f"{CARBON_EPOXY.G12 / CARBON_EPOXY.E1:.3f}" in soft


def test_oval_ring_follows_its_equation() -> None:
    """Timoshenko & Gere: u'' + u = -12 (1 - nu^2) p R^3 (u + w cos 2a) / (E t^3), solved anew."""
    E, nu, t, R, w, strength = 210e3, 0.3, 2.0, 100.0, 0.5, 276.0
    critical = long_tube_buckling(E, nu, t, R)
    p = oval_ring_yield(strength, critical, t, R, w)
    rate = 12 * (1 - nu**2) * p * R**3 / (E * t**3)

    def bend(a, y):
        return np.stack([y[1], -y[0] - rate * (y[0] + w * np.cos(2 * a))])

    a = np.linspace(0, np.pi / 2, 101)
    found = solve_bvp(bend, lambda s, e: [s[1], e[1]], a, np.zeros((2, 101)), tol=1e-8)
    moment = p * R * (found.sol(0)[0] + w)
    assert p * R / t + 6 * moment / t**2 == pytest.approx(strength, rel=1e-6)


def test_oval_ring_between_its_limits() -> None:
    # Round: the lesser of squash and buckling. Never above either, falling with w.
    critical = long_tube_buckling(210e3, 0.3, 2.0, 100.0)
    assert oval_ring_yield(276.0, critical, 2.0, 100.0, 0.0) == pytest.approx(critical)
    assert oval_ring_yield(10.0, critical, 2.0, 100.0, 0.0) == pytest.approx(0.2)
    pressures = [oval_ring_yield(276.0, critical, 2.0, 100.0, w) for w in (0.01, 0.1, 1, 10)]
    assert pressures == sorted(pressures, reverse=True)
    assert pressures[0] < critical
