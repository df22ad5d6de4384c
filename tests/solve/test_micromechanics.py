"""Voids and particles: bounds, limits and equations behind the closed forms.

The published numbers are in the verification table, see test_reference_checks.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from solve.micromechanics import (
    VOID,
    PlyConstants,
    Solid,
    crushing_pressure,
    first_yield_at_a_pore,
    net_section,
    with_pores_along,
    with_spheres,
)
from solve.porous_ply import porous_compliance
from solve.thick_wall_formulas import lame_sphere

EPOXY = Solid(3000.0, 0.35, 60e-6, 1.2e-9)
GLASS = Solid(73000.0, 0.22, 5e-6, 2.5e-9)
PLY = PlyConstants(140e3, 9e3, 5e3, 0.3, 0.42)

shares = st.floats(0.001, 0.4)
matrices = st.builds(Solid, st.floats(500, 8000), st.floats(0.1, 0.45), st.floats(1e-5, 1e-4))
particles = st.builds(Solid, st.floats(9000, 4e5), st.floats(0.1, 0.4), st.floats(0, 2e-5))
plies = st.builds(
    PlyConstants,
    st.floats(3e4, 3e5),
    st.floats(3e3, 2e4),
    st.floats(2e3, 1e4),
    st.floats(0.15, 0.35),
    st.floats(0.2, 0.5),
)


def hashin_shtrikman(matrix: Solid, sphere: Solid, f: float) -> tuple[float, float]:
    """Bound with the matrix as the reference, of bulk and shear modulus.

    Z. Hashin, S. Shtrikman, J. Mech. Phys. Solids 11 (1963) 127-140.
    """
    K, G, Ki, Gi = matrix.bulk, matrix.shear, sphere.bulk, sphere.shear
    bulk = K + f / (1 / (Ki - K) + 3 * (1 - f) / (3 * K + 4 * G))
    shear = G + f / (1 / (Gi - G) + 6 * (1 - f) * (K + 2 * G) / (5 * G * (3 * K + 4 * G)))
    return bulk, shear


@given(matrices, particles, shares)
def test_one_kind_of_sphere_meets_the_hashin_shtrikman_bound(
    matrix: Solid, particle: Solid, f: float
) -> None:
    for kind in (particle, VOID):
        made = with_spheres(matrix, [(f, kind)])
        bound = hashin_shtrikman(matrix, kind, f)
        assert (made.bulk, made.shear) == pytest.approx(bound, rel=1e-9)


@given(matrices, particles, shares)
def test_a_few_spheres_act_each_alone(matrix: Solid, particle: Solid, f: float) -> None:
    # J.D. Eshelby, Proc. R. Soc. A 241 (1957) 376-396: dilute strain concentration of a sphere
    few = 1e-6 * f
    made = with_spheres(matrix, [(few, particle)])
    K, G = matrix.bulk, matrix.shear
    alone_K = (3 * K + 4 * G) / (3 * particle.bulk + 4 * G)
    alone_G = 5 * G * (3 * K + 4 * G)
    alone_G /= G * (9 * K + 8 * G) + 6 * particle.shear * (K + 2 * G)
    assert made.bulk == pytest.approx(K + few * (particle.bulk - K) * alone_K, rel=1e-9)
    assert made.shear == pytest.approx(G + few * (particle.shear - G) * alone_G, rel=1e-9)


@given(matrices, st.floats(0.01, 0.4))
def test_voids_leave_the_bulk_modulus_of_a_hollow_sphere(matrix: Solid, f: float) -> None:
    # Lame's hollow sphere under outer pressure: its own volume change
    sphere = lame_sphere(1.0, f ** (1 / 3), 1.0, matrix.E, matrix.nu, outer_pressure=1.0)
    assert with_spheres(matrix, [(f, VOID)]).bulk == pytest.approx(
        -1 / (3 * float(sphere.displacement)), rel=1e-9
    )


@given(matrices, particles, shares)
def test_expansion_follows_levin(matrix: Solid, particle: Solid, f: float) -> None:
    # V.M. Levin 1967, exact for two solids, from the bulk modulus alone
    made = with_spheres(matrix, [(f, particle)])
    along = (1 / made.bulk - 1 / matrix.bulk) / (1 / particle.bulk - 1 / matrix.bulk)
    levin = matrix.cte + (particle.cte - matrix.cte) * along
    assert made.cte == pytest.approx(levin, rel=1e-7)


@given(matrices, particles, shares, st.floats(0.001, 0.3))
def test_voids_beside_a_filler_leave_its_expansion(
    matrix: Solid, particle: Solid, f: float, v: float
) -> None:
    # a body with empty holes expands as the solid around them does
    solid = with_spheres(matrix, [(f, particle)])
    holed = with_spheres(matrix, [(f * (1 - v), particle), (v, VOID)])
    assert holed.cte == pytest.approx(solid.cte, rel=1e-9)
    assert with_spheres(matrix, [(v, VOID)]).cte == pytest.approx(matrix.cte, rel=1e-12)


@given(matrices, particles, shares)
def test_voids_soften_and_particles_stiffen_the_more_the_more_there_are(
    matrix: Solid, particle: Solid, f: float
) -> None:
    assume(particle.bulk > 1.01 * matrix.bulk and particle.shear > 1.01 * matrix.shear)
    for way, kind in ((-1, VOID), (1, particle)):
        steps = [with_spheres(matrix, [(x * f, kind)]) for x in (0, 0.5, 1.0)]
        for modulus in ("E", "bulk", "shear"):
            values = [way * getattr(one, modulus) for one in steps]
            assert values == sorted(values)
            assert values[0] < values[-1]


def test_no_voids_and_no_particles_give_the_matrix_back() -> None:
    for spheres in ([], [(0.0, VOID)], [(0.0, GLASS), (0.0, VOID)]):
        made = with_spheres(EPOXY, spheres)
        assert vars(made) == pytest.approx(vars(EPOXY), rel=1e-14)
    assert vars(with_pores_along(PLY, 0.0)) == pytest.approx(vars(PLY), rel=1e-14)


def test_two_kinds_lie_between_each_alone_and_keep_the_mass() -> None:
    both = with_spheres(EPOXY, [(0.02, VOID), (0.1, GLASS)])
    voids, glass = with_spheres(EPOXY, [(0.02, VOID)]), with_spheres(EPOXY, [(0.1, GLASS)])
    assert voids.E < both.E < glass.E
    assert both.density == pytest.approx(0.88 * 1.2e-9 + 0.1 * 2.5e-9, rel=1e-14)
    # half of the voids named twice are the same voids
    split = with_spheres(EPOXY, [(0.01, VOID), (0.1, GLASS), (0.01, VOID)])
    assert vars(split) == pytest.approx(vars(both), rel=1e-14)


@pytest.mark.parametrize("spheres", [[(-0.1, VOID)], [(0.5, VOID), (0.5, GLASS)]])
def test_impossible_shares_are_refused(spheres: list[tuple[float, Solid]]) -> None:
    with pytest.raises(ValueError, match="no matrix"):
        with_spheres(EPOXY, spheres)
    with pytest.raises(ValueError, match="not in 0 to 1"):
        with_pores_along(PLY, 1.0)
    with pytest.raises(ValueError, match="not in 0 to 1"):
        porous_compliance(np.eye(6), -0.1)


# --- plies ---------------------------------------------------------------------------------------


@given(plies, st.floats(0.001, 0.3))
def test_along_the_fibre_a_porous_ply_has_its_solid_share(ply: PlyConstants, f: float) -> None:
    # R. Hill, J. Mech. Phys. Solids 12 (1964) 199-212: the axial modulus of aligned cylinders is
    # the mean over the phases where one of them is empty, and nu12 that of the solid
    made = with_pores_along(ply, f)
    assert made.E1 == pytest.approx((1 - f) * ply.E1, rel=1e-12)
    assert made.nu12 == ply.nu12
    assert made.G12 < (1 - f) * ply.G12
    assert made.E2 < (1 - f) * ply.E2
    assert made.G23 < (1 - f) * ply.G23


@given(plies, st.floats(0.01, 0.3))
def test_a_porous_ply_lies_below_the_mean_and_stays_stable(ply: PlyConstants, f: float) -> None:
    S = np.zeros((3, 3))
    made = with_pores_along(ply, f)
    S[:] = np.diag([1 / made.E1, 1 / made.E2, 1 / made.E2])
    S[0, 1:] = S[1:, 0] = -made.nu12 / made.E1
    S[1, 2] = S[2, 1] = -made.nu23 / made.E2
    scale = np.sqrt(np.outer(np.diag(S), np.diag(S)))
    assert np.linalg.eigvalsh(S / scale).min() > 0
    # Voigt: no more than the solid's share, in every state of strain
    solid = np.diag([1 / ply.E1, 1 / ply.E2, 1 / ply.E2])
    solid[0, 1:] = solid[1:, 0] = -ply.nu12 / ply.E1
    solid[1, 2] = solid[2, 1] = -ply.nu23 / ply.E2
    spare = (1 - f) * np.linalg.inv(solid) - np.linalg.inv(S)
    assert np.linalg.eigvalsh(spare).min() > -1e-9 * np.abs(spare).max()


@given(plies, st.floats(0.0, 0.3))
def test_the_general_ply_meets_the_closed_forms(ply: PlyConstants, f: float) -> None:
    # T. Chen, G.J. Dvorak, Y. Benveniste 1992, against Hill's tensor summed over a circle
    def compliance(one: PlyConstants) -> np.ndarray:
        S = np.diag([1 / one.E1, 1 / one.E2, 1 / one.E2, 1 / one.G23, 1 / one.G12, 1 / one.G12])
        S[0, 1:3] = S[1:3, 0] = -one.nu12 / one.E1
        S[1, 2] = S[2, 1] = -one.nu23 / one.E2
        return S

    made = porous_compliance(compliance(ply), f)
    exact = compliance(with_pores_along(ply, f))
    np.testing.assert_allclose(made, exact, atol=1e-10 * np.abs(exact).max(), rtol=1e-9)


def test_pores_act_as_spheres_do_within_a_few_percent() -> None:
    # for an isotropic solid, E across round pores falls by 3 to 3.3 of their share, E with spheres
    # by 2 of it (nu = 0.35): same sense, same order
    plain = PlyConstants(3000.0, 3000.0, 3000 / 2.7, 0.35, 0.35)
    pores = (1 - with_pores_along(plain, 0.01).E2 / 3000) / 0.01
    spheres = (1 - with_spheres(EPOXY, [(0.01, VOID)]).E / 3000) / 0.01
    assert 1.9 < spheres < 2.1
    # Kirsch's hole, plane strain along the pore given by its rule of mixtures: 3 - 2 nu^2
    assert pores == pytest.approx((3 - 2 * 0.35**2), rel=0.04)


# --- pores under pressure ------------------------------------------------------------------------


@given(st.floats(0.001, 0.3))
def test_a_hollow_sphere_yields_first_inside_and_is_crushed_later(f: float) -> None:
    inner = f ** (1 / 3)
    at = first_yield_at_a_pore(50.0, f)
    wall = lame_sphere(inner, inner, 1.0, 3000.0, 0.35, outer_pressure=at)
    assert float(wall.mises) == pytest.approx(50.0, rel=1e-12)
    assert crushing_pressure(50.0, f) > at


def test_a_small_pore_carries_one_and_a_half_times_the_pressure() -> None:
    # S.P. Timoshenko, J.N. Goodier, Theory of Elasticity, 1970: small hole in a large sphere
    wall = lame_sphere(1.0, 1.0, 1e4, 3000.0, 0.35, outer_pressure=1.0)
    assert float(wall.hoop) == pytest.approx(-1.5, rel=1e-9)
    assert first_yield_at_a_pore(60.0) == pytest.approx(40.0, rel=1e-14)


def test_gursons_yield_has_the_crushing_pressure_of_the_hollow_sphere() -> None:
    # A.L. Gurson, J. Eng. Mater. Technol. 99 (1977) 2-15: 2 f cosh(3 s_m / (2 Y)) = 1 + f^2
    for f in (0.005, 0.02, 0.1):
        p = crushing_pressure(1.0, f)
        assert 2 * f * math.cosh(1.5 * p) == pytest.approx(1 + f**2, rel=1e-12)


def test_the_net_section_is_that_of_a_cubic_array() -> None:
    # geometry: a sphere of the share f in a unit cube, cut through its middle; touching at pi/6
    assert net_section(math.pi / 6) == pytest.approx(1 - math.pi / 4, rel=1e-12)
    # Nicolais & Narkis 1971: 1 - 1.21 f^(2/3)
    assert net_section(0.05) == pytest.approx(1 - 1.21 * 0.05 ** (2 / 3), abs=2e-4)
    assert net_section(0.0) == 1.0
