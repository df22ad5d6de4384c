"""Exponents of corners: published numbers, independent determinants, laws."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from scipy.integrate import solve_ivp
from scipy.linalg import expm
from scipy.optimize import brentq

from solve.cited_materials import CARBON_EPOXY, isotropic
from solve.corner_checks import EPOXY, TITANIUM, exponent_checks
from solve.corners import Exponent, Wedge, corner_exponents, fundamental_matrix, wedge_logarithm
from solve.laminate import ply_material
from solve.strip_roots import RootError, strip_roots

Floats = NDArray[np.float64]

POISSON = st.floats(0.0, 0.49)
STIFFER = st.floats(0.01, 100.0)


def of_kind(found: tuple[Exponent, ...], kind: str) -> list[complex]:
    """Exponents of a kind, each as often as it counts."""
    return [e.value for e in found if e.kind == kind for _ in range(e.multiplicity)]


def row(*wedges: tuple[Floats, float], start: float = 0.0) -> list[Wedge]:
    """Wedges in a row from stiffness and opening."""
    faces = start + np.cumsum([0.0, *(angle for _, angle in wedges)])
    return [Wedge(C, a, b) for (C, _), a, b in zip(wedges, faces[:-1], faces[1:], strict=True)]


def turned(C: Floats, angle: float) -> Floats:
    """Turn a stiffness in the (r, z) plane, from r towards z, degrees."""
    c, s = np.cos(np.radians(angle)), np.sin(np.radians(angle))
    turn = np.array([[c, 0, -s], [0, 1, 0], [s, 0, c]])  # in r, t, z
    pairs = ((0, 0), (1, 1), (2, 2), (1, 2), (0, 2), (0, 1))
    full = np.zeros((3, 3, 3, 3))
    for m, (i, j) in enumerate(pairs):
        for n, (k, q) in enumerate(pairs):
            for a, b in {(i, j), (j, i)}:
                for d, e in {(k, q), (q, k)}:
                    full[a, b, d, e] = C[m, n]
    full = np.einsum("ai,bj,ck,dl,ijkl->abcd", turn, turn, turn, turn, full)
    return np.array([[full[i, j, k, q] for k, q in pairs] for i, j in pairs])


def orthotropic(E: tuple[float, float, float], G: float, nu: float) -> Floats:
    """Stiffness with moduli along r, t, z; one Poisson's ratio (of the stiffest) for all pairs."""
    S = np.diag([1 / E[0], 1 / E[1], 1 / E[2], 1 / G, 1 / G, 1 / G])
    for i, j in ((0, 1), (0, 2), (1, 2)):
        S[i, j] = S[j, i] = -nu / max(E[i], E[j])
    return np.asarray(np.linalg.inv(S))


def test_published_exponents_are_met() -> None:
    # Source: named in the rows.
    checks = exponent_checks()
    assert len(checks) == 58
    assert len({(c.claim, c.source) for c in checks}) == 58
    for c in checks:
        assert c.passes, f"{c.claim}: {c.published}, ours {c.ours}, allowed {c.allowed}"


def williams(
    angles: list[float], moduli: list[float], nus: list[float], p: float, closed: bool
) -> float:
    """Determinant of isotropic wedges in a row, free at both ends or bonded all around.

    Airy's function r**(p + 1) F of each wedge, with the four constants of its solution: M.L.
    Williams, J. Appl. Mech. 19 (1952) 526-528; D.B. Bogy, J. Appl. Mech. 38 (1971) 377-386.
    """

    def at(t: float, mu: float, nu: float) -> Floats:
        q, k = p - 1, 4 - 4 * nu
        sp, cp, sm, cm = np.sin((p + 1) * t), np.cos((p + 1) * t), np.sin(q * t), np.cos(q * t)
        F = np.array([sp, cp, sm, cm])
        slope = np.array([(p + 1) * cp, -(p + 1) * sp, q * cm, -q * sm])
        ur = -(p + 1) * F + k * np.array([0, 0, sm, cm])
        ut = -slope - k * np.array([0, 0, cm, -sm])
        return np.array([p * (p + 1) * F, -p * slope, ur / (2 * mu), ut / (2 * mu)])

    count = len(angles)
    A = np.zeros((4 * count, 4 * count))
    face = 0.0
    if not closed:
        A[:2, :4] = at(0.0, moduli[0], nus[0])[:2]
    for i in range(count):
        face += angles[i]
        own = at(face, moduli[i], nus[i])
        if i + 1 == count and closed:
            A[:2, 4 * i :], A[-2:, 4 * i :] = own[:2], own[2:]
            A[:2, :4] -= at(0.0, moduli[0], nus[0])[:2]
            A[-2:, :4] -= at(0.0, moduli[0], nus[0])[2:]
        elif i + 1 == count:
            A[-2:, 4 * i :] = own[:2]
        else:
            A[2 + 4 * i : 6 + 4 * i, 4 * i : 4 * i + 4] = own
            A[2 + 4 * i : 6 + 4 * i, 4 * i + 4 : 4 * i + 8] = -at(face, moduli[i + 1], nus[i + 1])
    A /= np.abs(A).max(axis=1, keepdims=True)
    return float(np.linalg.det(A))


@settings(max_examples=15)
@given(
    angles=st.lists(st.floats(25.0, 115.0), min_size=2, max_size=3),
    ratios=st.lists(STIFFER, min_size=3, max_size=3),
    nus=st.lists(POISSON, min_size=3, max_size=3),
    closed=st.booleans(),
)
def test_isotropic_wedges_have_the_real_roots_of_airys_function(
    angles: list[float], ratios: list[float], nus: list[float], closed: bool
) -> None:
    # Source: the determinant of Williams 1952 and Bogy 1971, written with Airy's function.
    moduli = ratios[: len(angles)]
    if closed:
        angles = [angle * 360 / sum(angles) for angle in angles]
    wedges = row(
        *(
            (isotropic(2 * mu * (1 + nu), nu).C, angle)
            for mu, nu, angle in zip(moduli, nus, angles, strict=False)
        )
    )
    found = of_kind(corner_exponents(wedges, closed=closed), "in-plane")
    real = [p.real for p in found if p.imag == 0 and p.real < 0.999]

    def f(p: float) -> float:
        return williams(list(np.radians(angles)), moduli, nus, p, closed)

    grid = np.arange(0.0203, 0.998, 2e-3)
    values = [f(p) for p in grid]
    wanted = [
        brentq(f, a, b, xtol=1e-13)
        for a, b, fa, fb in zip(grid[:-1], grid[1:], values[:-1], values[1:], strict=True)
        if fa * fb < 0
    ]
    # two roots between neighbours of the grid do not show there
    apart = [p for p in real if all(abs(p - q) > 2e-3 for q in real if q is not p)]
    apart = [p for p in apart if grid[0] < p < grid[-1]]
    assert [p for p in wanted if not any(abs(p - q) < 1e-8 for q in real)] == []
    assert [p for p in apart if not any(abs(p - q) < 1e-8 for q in wanted)] == []


@settings(max_examples=15)
@given(ratio=STIFFER, nu1=POISSON, nu2=POISSON)
def test_square_edges_obey_bogys_polynomial(ratio: float, nu1: float, nu2: float) -> None:
    # Source: D.B. Bogy, J. Appl. Mech. 35 (1968) 460-466, plane strain, both wedges 90 degrees;
    # singular exactly when alpha (alpha - 2 beta) > 0.
    k1, k2 = 3 - 4 * nu1, 3 - 4 * nu2
    total = ratio * (k2 + 1) + k1 + 1
    al = (ratio * (k2 + 1) - (k1 + 1)) / total
    be = (ratio * (k2 - 1) - (k1 - 1)) / total

    def bogy(p: float) -> float:
        s = np.sin(np.pi * p / 2) ** 2
        return float(
            (s - p**2) ** 2 * be**2
            + 2 * p**2 * (s - p**2) * al * be
            + p**2 * (p**2 - 1) * al**2
            + np.sin(np.pi * p) ** 2 / 4
        )

    one, two = isotropic(2 * ratio * (1 + nu1), nu1), isotropic(2 * (1 + nu2), nu2)
    found = corner_exponents(row((one.C, 90), (two.C, 90)), closed=False)
    singular = [e.value.real for e in found if e.kind == "in-plane" and e.singular]
    if abs(al * (al - 2 * be)) > 1e-4:
        assert bool(singular) == (al * (al - 2 * be) > 0)
    for p in singular:
        if p < 0.999:
            assert bogy(p - 1e-8) * bogy(p + 1e-8) < 0


@pytest.mark.parametrize("angle", [190.0, 225.0, 270.0, 315.0, 350.0])
def test_orthotropic_notch_obeys_lekhnitskii(angle: float) -> None:
    # Source: stress functions of x + mu y, S.G. Lekhnitskii, Theory of Elasticity of an
    # Anisotropic Body, 1963 (from memory): mu from the reduced compliances of plane strain, free
    # faces when the sums of phi_k and mu_k phi_k vanish on both.
    C = orthotropic((10.0, 70.0, 130.0), 5.0, 0.3)
    S = np.linalg.inv(C)
    kept = np.array([0, 2, 4])
    b = S[np.ix_(kept, kept)] - np.outer(S[kept, 1], S[kept, 1]) / S[1, 1]
    mus = np.roots([b[0, 0], 0.0, 2 * b[0, 1] + b[2, 2], 0.0, b[1, 1]])
    t = np.radians(angle)
    turns = np.unwrap(
        np.angle(np.cos(np.linspace(0, t, 2000)) + np.outer(mus, np.sin(np.linspace(0, t, 2000))))
    )[:, -1]
    end = np.log(np.abs(np.cos(t) + mus * np.sin(t))) + 1j * turns

    def f(p: float) -> float:
        power = np.exp(p * end)
        determinant = np.linalg.det(np.array([np.ones(4), mus, power, mus * power]))
        # equals its own conjugate, or minus it
        return float(determinant.real + determinant.imag)

    found = of_kind(corner_exponents(row((C, angle)), closed=False), "in-plane")
    grid = np.linspace(0.3, 0.9995, 700)
    values = np.array([f(p) for p in grid])
    wanted = [brentq(f, grid[i], grid[i + 1], xtol=1e-14) for i in _changes(values)]
    assert wanted
    assert [p.real for p in found if p.real < 0.999] == pytest.approx(wanted, abs=1e-9)


def _changes(values: Floats) -> list[int]:
    return [int(i) for i in np.flatnonzero(values[:-1] * values[1:] < 0)]


@pytest.mark.parametrize(("one", "two"), [(90.0, 90.0), (90.0, 180.0), (60.0, 200.0)])
@pytest.mark.parametrize("ratio", [0.02, 0.5, 30.0])
def test_antiplane_wedges_have_their_closed_form(one: float, two: float, ratio: float) -> None:
    # Source: u = rho**p cos(p angle) from either free face and equal u and shear stress between:
    # mu1 tan(p a) + mu2 tan(p b) = 0.
    a, b = np.radians(one), np.radians(two)
    C1, C2 = isotropic(2.6 * ratio, 0.3).C, isotropic(2.6, 0.3).C
    found = of_kind(corner_exponents(row((C1, one), (C2, two)), closed=False), "antiplane")

    def f(p: float) -> float:
        return float(ratio * np.sin(p * a) * np.cos(p * b) + np.sin(p * b) * np.cos(p * a))

    grid = np.linspace(0.01, 1.2, 1191) - 1e-4
    wanted = [
        brentq(f, grid[i], grid[i + 1], xtol=1e-14)
        for i in _changes(np.array([f(p) for p in grid]))
    ]
    assert [p.real for p in found] == pytest.approx(wanted, abs=1e-10)


def test_closed_antiplane_corner_has_its_closed_form() -> None:
    # Source: symmetry about the bisector of two bonded wedges: free on it, mu1 tan(p a / 2) +
    # mu2 tan(p b / 2) = 0, or held on it, the same with mu1 and mu2 exchanged.
    a, b, ratio = np.pi / 2, 3 * np.pi / 2, 40.0
    C1, C2 = isotropic(2.6 * ratio, 0.3).C, isotropic(2.6, 0.3).C
    found = of_kind(corner_exponents(row((C1, 90), (C2, 270)), closed=True), "antiplane")
    wanted = []
    for m1, m2 in ((ratio, 1.0), (1.0, ratio)):

        def f(p: float, m1: float = m1, m2: float = m2) -> float:
            return float(
                m1 * np.sin(p * a / 2) * np.cos(p * b / 2)
                + m2 * np.sin(p * b / 2) * np.cos(p * a / 2)
            )

        grid = np.linspace(0.01, 1.2, 1191) - 1e-4
        wanted += [
            brentq(f, grid[i], grid[i + 1], xtol=1e-14)
            for i in _changes(np.array([f(p) for p in grid]))
        ]
    assert [p.real for p in found] == pytest.approx(sorted(wanted), abs=1e-10)


def test_checkerboard_of_four_wedges_has_its_closed_form() -> None:
    # Source: four quarters of shear moduli 1 and k in turn, antiplane: tan(p pi / 4) = k**(-1/2)
    # or k**(1/2) (R.B. Kellogg, Appl. Anal. 4 (1974) 101-129, value from memory; by symmetry about
    # the diagonals).
    k = 25.0
    hard, soft = isotropic(2.6 * k, 0.3).C, isotropic(2.6, 0.3).C
    quarters = row((hard, 90), (soft, 90), (hard, 90), (soft, 90))
    found = of_kind(corner_exponents(quarters, closed=True), "antiplane")
    assert found[0].real == pytest.approx(4 / np.pi * np.arctan(1 / 5), abs=1e-10)


def test_rigid_notch_around_a_soft_wedge_is_the_notch_alone() -> None:
    # Source: M.L. Williams, J. Appl. Mech. 19 (1952) 526-528: 270 degrees, sin(1.5 pi p) = -+ p.
    soft, rigid = isotropic(1.0, 0.3).C, isotropic(1e9, 0.3).C
    found = of_kind(corner_exponents(row((soft, 90), (rigid, 270)), closed=True), "in-plane")
    wanted = [
        brentq(lambda p: np.sin(1.5 * np.pi * p) - p, 0.4, 0.6),
        brentq(lambda p: np.sin(1.5 * np.pi * p) + p, 0.8, 0.95),
    ]
    assert [p.real for p in found[:2]] == pytest.approx(wanted, abs=1e-8)


def random_stiffness(seed: int) -> Floats:
    """Any positive definite stiffness."""
    B = np.random.default_rng(seed).normal(size=(6, 6))
    return np.asarray(B @ B.T + 0.2 * np.eye(6))


@settings(max_examples=10)
@given(seed=st.integers(0, 10**6), start=st.floats(-180.0, 180.0))
def test_half_plane_and_crack_have_their_exponents_in_any_material(seed: int, start: float) -> None:
    # Source: T.C.T. Ting, Anisotropic Elasticity, 1996 (from memory): free half-plane n, crack
    # n / 2 for all three displacements in any material.
    C = random_stiffness(seed)
    half = corner_exponents([Wedge(C, start, start + 180)], closed=False)
    assert [(e.kind, e.multiplicity) for e in half] == [("coupled", 2)]  # and the rotation
    assert half[0].value == 1
    crack = corner_exponents([Wedge(C, start, start + 360)], closed=False)
    assert [e.multiplicity for e in crack] == [3, 2]
    assert abs(crack[0].value - 0.5) < 1e-9


@settings(max_examples=10)
@given(seed=st.integers(0, 10**6), turn=st.floats(-180.0, 180.0), closed=st.booleans())
def test_turning_the_corner_changes_nothing(seed: int, turn: float, closed: bool) -> None:
    # Source: invariance; angles and materials turn together.
    C1, C2 = random_stiffness(seed), ply_material(CARBON_EPOXY, 37.0).C / 1e4
    angles = (140.0, 220.0) if closed else (100.0, 150.0)
    still = row((C1, angles[0]), (C2, angles[1]))
    moved = row((turned(C1, turn), angles[0]), (turned(C2, turn), angles[1]), start=turn)
    one, two = (of_kind(corner_exponents(w, closed=closed), "coupled") for w in (still, moved))
    assert len(one) == len(two)
    assert np.abs(np.array(one) - np.array(two)).max(initial=0.0) < 1e-9


@settings(max_examples=10)
@given(seed=st.integers(0, 10**6), cut=st.floats(0.1, 0.9), scale=st.floats(1e-3, 1e3))
def test_cuts_mirrors_and_units_change_nothing(seed: int, cut: float, scale: float) -> None:
    # Source: invariance; a wedge of two pieces of one material is one wedge, the picture in a
    # mirror has the same exponents, and so have other units of stress.
    C1, C2 = random_stiffness(seed), isotropic(2.0, 0.4).C
    whole = row((C1, 120.0), (C2, 150.0))
    pieces = row((C1 * scale, 120.0 * cut), (C1 * scale, 120.0 * (1 - cut)), (C2 * scale, 150.0))
    sign = np.array([1, 1, 1, -1, -1, 1.0])  # z to -z
    mirror = row((C2, 150.0), (C1 * np.outer(sign, sign), 120.0), start=-270.0)
    one = of_kind(corner_exponents(whole, closed=False), "coupled")
    for other in (pieces, mirror):
        two = of_kind(corner_exponents(other, closed=False), "coupled")
        assert len(one) == len(two)
        assert np.abs(np.array(one) - np.array(two)).max(initial=0.0) < 1e-9


def test_wedge_of_one_material_all_around_has_no_singular_exponent() -> None:
    found = corner_exponents(row((random_stiffness(3), 360.0)), closed=True)
    assert not [e for e in found if e.singular]
    # nine gradients of u_r, u_z, u_t in two directions less three: six, one of them the rotation
    assert [(e.value, e.multiplicity) for e in found] == [(1, 5)]


@pytest.mark.parametrize("angle", [35.0, 180.0, 290.0])
def test_solution_across_a_wedge_obeys_its_differential_equation(angle: float) -> None:
    # Source: the equation d(f, g) = p N (f, g) itself, integrated step by step.
    C, p = random_stiffness(11), 0.7
    start = np.arange(1.0, 7.0)
    solved = solve_ivp(
        lambda t, y: p * fundamental_matrix(C, np.degrees(t)) @ y,
        (0.0, np.radians(angle)),
        start,
        rtol=1e-11,
        atol=1e-12,
        method="DOP853",
    )
    ours = expm(p * wedge_logarithm(Wedge(C, 0.0, angle))) @ start
    assert ours == pytest.approx(solved.y[:, -1], rel=1e-8, abs=1e-8)


def test_fundamental_matrix_gives_the_stress_of_a_known_field() -> None:
    # Source: Hooke's law. u = rho (a, b, c) with a fixed vector on the ray, at an angle, with a
    # gradient across: the traction is C : strain on the ray's normal.
    C, angle = random_stiffness(5), 25.0
    gradient = np.array([[0.3, -0.2], [0.1, 0.7], [0.5, -0.4]])  # of u_r, u_z, u_t along r, z
    n = np.array([np.cos(np.radians(angle)), np.sin(np.radians(angle))])
    m = np.array([-n[1], n[0]])
    rr, zz, rz = gradient[0, 0], gradient[1, 1], gradient[0, 1] + gradient[1, 0]
    stress = C @ np.array([rr, 0.0, zz, gradient[2, 1], rz, gradient[2, 0]])
    tensor = np.array([[stress[0], stress[4]], [stress[4], stress[2]], [stress[5], stress[3]]])
    f, traction = gradient @ n, tensor @ m
    slope = fundamental_matrix(C, angle) @ np.concatenate([f, traction])
    assert slope[:3] == pytest.approx(gradient @ m, abs=1e-12)
    assert slope[3:] == pytest.approx(-tensor @ n, abs=1e-12)


def test_uncoupled_materials_are_told_apart() -> None:
    kinds = {e.kind for e in corner_exponents(row((EPOXY.C, 90), (TITANIUM.C, 180)), closed=False)}
    assert kinds == {"in-plane", "antiplane"}
    ply = ply_material(CARBON_EPOXY, 30.0).C
    kinds = {e.kind for e in corner_exponents(row((EPOXY.C, 90), (ply, 90)), closed=False)}
    assert kinds == {"coupled"}


def test_stress_around_couples_nothing_in_a_plane_corner() -> None:
    # Definition of plane strain: the hoop strain is nought, so what multiplies it is not seen; the
    # axial strain is not.
    C = orthotropic((10.0, 70.0, 130.0), 5.0, 0.3)
    around, along = C.copy(), C.copy()
    around[1, 3] = around[3, 1] = along[2, 3] = along[3, 2] = 0.2 * C[3, 3]
    plain, seen, coupled = (
        corner_exponents(row((one, 270)), closed=False) for one in (C, around, along)
    )
    assert seen == plain
    assert {e.kind for e in coupled} == {"coupled"}


def test_a_notch_has_the_rotation_alone_at_one() -> None:
    # Source: M.L. Williams, J. Appl. Mech. 19 (1952) 526-528: no stress of even size fits a notch
    # of 270 degrees, so that nothing but the rotation has the exponent one, and is not counted
    found = corner_exponents(row((isotropic(1.0, 0.3).C, 270)), closed=False)
    assert found and all(abs(e.value - 1) > 0.05 and e.multiplicity >= 1 for e in found)


def test_small_coupling_splits_no_exponents() -> None:
    # Source: continuity; a ply a hundredth of a degree off its axis has the exponents of one on
    # it, to the square of the angle.
    on, off = (
        corner_exponents(row((EPOXY.C, 90), (ply_material(CARBON_EPOXY, a).C, 180)), closed=False)
        for a in (0.0, 0.01)
    )
    one = np.array(sorted(e.value.real for e in on if e.singular))
    two = np.array(sorted(e.value.real for e in off if e.singular))
    assert two == pytest.approx(one, abs=1e-6)
    assert {e.kind for e in off} == {"coupled"}


@pytest.mark.parametrize(
    ("wedges", "closed", "words"),
    [
        ([], False, "needs wedges"),
        ([Wedge(EPOXY.C, 90.0, 0.0)], False, "its end beyond its start"),
        ([Wedge(EPOXY.C, 0.0, 90.0), Wedge(EPOXY.C, 91.0, 180.0)], False, "starts at 91.0"),
        ([Wedge(EPOXY.C, 0.0, 361.0)], False, "fill 361.0 degrees"),
        ([Wedge(EPOXY.C, 0.0, 180.0)], True, "fill 180.0 degrees"),
    ],
)
def test_wedges_that_do_not_fit_are_refused(wedges: list[Wedge], closed: bool, words: str) -> None:
    with pytest.raises(ValueError, match=words):
        corner_exponents(wedges, closed=closed)


def test_search_finds_what_it_counts() -> None:
    # An even polynomial with known roots: a close pair, a triple, a conjugate pair far out.
    known = [0.3, 0.3 + 2e-6, 0.62, 0.62, 0.62, 0.8 + 2.5j, 0.8 - 2.5j, 1.15, 2.0]

    def log(x: NDArray[np.complex128]) -> NDArray[np.complex128]:
        return np.asarray(sum(np.log(x**2 - root**2 + 0j) for root in known))

    found = sorted(strip_roots(log, 1.2, 3.0), key=lambda item: item[0].real)
    roots = [root for root, _ in found]
    assert roots == pytest.approx([0.3, 0.3 + 2e-6, 0.62, 0.8 + 2.5j, 1.15], abs=1e-8)
    assert [n for _, n in found] == [1, 1, 3, 1, 1]


def test_search_refuses_what_it_cannot_count() -> None:
    # A function that is not even has no whole number of half turns along a quarter.
    with pytest.raises(RootError):
        strip_roots(lambda x: np.log(x - 0.4 - 0.3j) + x * 0.3j, 1.2, 3.0)
