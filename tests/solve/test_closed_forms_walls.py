"""Thick walls and shell junctions: limits and equations behind the closed forms.

The published numbers are in the verification table, see test_reference_checks.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from solve.shell_formulas import Shell, cylinder_hemisphere
from solve.thick_wall_formulas import lame_cylinder, lame_sphere, lekhnitskii_ring

POINTS, WEIGHTS = np.polynomial.legendre.leggauss(40)
pressures = st.floats(0, 100)


@given(st.floats(10, 300), st.floats(0.02, 1.0), pressures, pressures)
def test_lames_walls_carry_their_pressures(
    a: float, relative: float, p_i: float, p_o: float
) -> None:
    # Source: equilibrium of half a cylinder, Int s_t dr = p_i a - p_o b, and of half a sphere,
    # Int 2 s_t r dr = p_i a^2 - p_o b^2.
    b = a * (1 + relative)
    r, weights = a + (b - a) / 2 * (1 + POINTS), WEIGHTS * (b - a) / 2
    load = {"inner_pressure": p_i, "outer_pressure": p_o}
    cylinder = lame_cylinder(r, a, b, 200e3, 0.3, **load)
    sphere = lame_sphere(r, a, b, 200e3, 0.3, **load)
    allowed = 1e-11 * (p_i + p_o + 1)
    assert weights @ cylinder.hoop == pytest.approx(p_i * a - p_o * b, abs=allowed * b / relative)
    assert weights @ (2 * sphere.hoop * r) == pytest.approx(
        p_i * a**2 - p_o * b**2, abs=allowed * b**2 / relative
    )
    for wall in (lame_cylinder, lame_sphere):
        faces = wall([a, b], a, b, 200e3, 0.3, **load).radial
        np.testing.assert_allclose(faces, [-p_i, -p_o], atol=allowed / relative)


@pytest.mark.parametrize("ends", ["closed", "open", "held"])
def test_lames_displacement_follows_from_its_stresses(ends: str) -> None:
    # Source: Hooke; e_z from s_z is uniform, and zero where the ends are held.
    E, nu, r = 113.8e3, 0.342, np.linspace(200, 250, 4001)
    wall = lame_cylinder(r, 200, 250, E, nu, outer_pressure=60, ends=ends)
    radial_strain = (wall.radial - nu * (wall.hoop + wall.axial)) / E
    slope = np.gradient(wall.displacement, r, edge_order=2)
    np.testing.assert_allclose(slope, radial_strain, atol=1e-8)  # differences of O(step^2)
    axial_strain = (wall.axial - nu * (wall.radial + wall.hoop)) / E
    assert np.ptp(axial_strain) < 1e-16
    assert (abs(axial_strain[0]) < 1e-16) == (ends == "held")


def test_isotropic_ring_is_lames_cylinder() -> None:
    # Source: Lekhnitskii 1968 with k = 1.
    r = np.linspace(200, 250, 7)
    radial, hoop = lekhnitskii_ring(r, 200, 250, 1.0, inner_pressure=10, outer_pressure=60)
    exact = lame_cylinder(r, 200, 250, 1.0, 0.3, inner_pressure=10, outer_pressure=60)
    np.testing.assert_allclose(radial, exact.radial, rtol=1e-12)
    np.testing.assert_allclose(hoop, exact.hoop, rtol=1e-12)


@pytest.mark.parametrize(("thickness", "allowed"), [(1.0, 0.011), (0.1, 0.0011)])
def test_thin_sphere_has_the_membrane_stress(thickness: float, allowed: float) -> None:
    # Source: p R / (2 h) with the mid radius; what is left is of the order of h / R.
    sphere = lame_sphere(
        100.0, 100.0 - thickness / 2, 100.0 + thickness / 2, 1.0, 0.3, outer_pressure=2.0
    )
    assert sphere.hoop == pytest.approx(-2.0 * 100.0 / (2 * thickness), rel=allowed)


CYLINDER = Shell(E=113.8e3, nu=0.342, thickness=50.0, radius=225.0)


@pytest.mark.parametrize("head_thickness", [20.0, 30.0, 50.0, 80.0])
def test_junction_obeys_the_beam_equation_of_a_cylinder(head_thickness: float) -> None:
    # Source: Timoshenko & Woinowsky-Krieger 1959: D w'''' + E h / a^2 (w - d_c) = 0, D w'' = M_x,
    # D w''' = Q at the edge; derivatives by a polynomial through 13 points.
    junction = cylinder_hemisphere(CYLINDER, replace(CYLINDER, thickness=head_thickness), -60.0)
    x = (1 - np.cos(np.pi * np.arange(13) / 12)) / 2 / CYLINDER.beta
    w = np.polynomial.Polynomial.fit(x, junction.displacement(x), 12)
    D, middle = CYLINDER.bending, x[6]
    foundation = CYLINDER.E * CYLINDER.thickness / CYLINDER.radius**2
    assert D * w.deriv(4)(middle) == pytest.approx(
        -foundation * (w(middle) - junction.membrane_widening), rel=1e-5
    )
    assert D * w.deriv(2)(middle) == pytest.approx(junction.bending_moment(middle), rel=1e-6)
    assert D * w.deriv(3)(0) == pytest.approx(junction.shear, rel=1e-5)
    assert junction.bending_moment(0) == pytest.approx(junction.moment, abs=1e-9)


@pytest.mark.parametrize("head_thickness", [20.0, 30.0, 50.0, 80.0])
def test_edges_of_cylinder_and_head_meet(head_thickness: float) -> None:
    # Source: the head's edge by Geckeler: d_s - Q / (2 b^3 D) + M / (2 b^2 D), slope
    # -Q / (2 b^2 D) + M / (b D) on the side of the head (outward Q on the cylinder presses it in).
    head = replace(CYLINDER, thickness=head_thickness)
    junction = cylinder_hemisphere(CYLINDER, head, -60.0)
    b, D, Q, M = head.beta, head.bending, junction.shear, junction.moment
    widening = -60.0 * head.radius**2 * (1 - head.nu) / (2 * head.E * head.thickness)
    edge = widening - Q / (2 * b**3 * D) + M / (2 * b**2 * D)
    assert junction.displacement(0) == pytest.approx(edge, rel=1e-12)
    step = 1e-4
    slope = (junction.displacement(step) - junction.displacement(0)) / step
    assert slope == pytest.approx(-Q / (2 * b**2 * D) + M / (b * D), rel=1e-4)


def test_equal_shells_need_no_edge_moment() -> None:
    # Source: Timoshenko & Woinowsky-Krieger 1959: M0 = 0, |Q0| = p / (8 beta).
    junction = cylinder_hemisphere(CYLINDER, CYLINDER, -60.0)
    assert junction.moment == 0
    assert junction.shear == pytest.approx(60.0 / (8 * CYLINDER.beta), rel=1e-12)


def test_cylinder_far_from_the_head_is_undisturbed() -> None:
    junction = cylinder_hemisphere(CYLINDER, replace(CYLINDER, thickness=30.0), -60.0)
    far = 20 / CYLINDER.beta
    for surface in ("outer", "inner"):
        assert junction.axial_stress(far, surface) == pytest.approx(-60 * 225 / 100, rel=1e-7)
        assert junction.hoop_stress(far, surface) == pytest.approx(-60 * 225 / 50, rel=1e-7)


def test_unequal_radii_are_refused() -> None:
    with pytest.raises(ValueError, match="mid radii must be equal, not 225 and 200 mm"):
        cylinder_hemisphere(CYLINDER, replace(CYLINDER, radius=200.0), 1.0)
