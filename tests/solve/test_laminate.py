"""The smeared repeat unit: laws that hold for every laminate.

The published numbers are in the verification table, see test_reference_checks.
"""

from __future__ import annotations

import itertools
from random import Random

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from geometry.layup import Layer, Ply
from geometry.materials import library
from solve.cited_materials import CARBON_EPOXY, CitedPly
from solve.exact_tube import TubeLayer, solve_tube
from solve.laminate import engineering_constants, layer_material, ply_material, ply_stresses
from solve.laminate_checks import CARDS, repeat_unit
from solve.plate import plane_stress_stiffness, plate
from tests.solve.plies import angles, cards, strains, units

HULL = [(0, 0), (1, 1), (2, 2), (1, 2), (0, 2), (0, 1)]  # rr, tt, zz, tz, rz, rt
PLY = [(0, 0), (1, 1), (2, 2), (1, 2), (0, 2), (0, 1)]  # 11, 22, 33, 23, 13, 12
IN_SURFACE, OUT_OF_SURFACE = [1, 2, 3], [0, 4, 5]


def axes(angle: float) -> np.ndarray:
    """Ply axes 1, 2, 3 as rows in (r, t, z): 1 turns from z towards theta."""
    a = np.deg2rad(angle)
    return np.array([[0, np.sin(a), np.cos(a)], [0, np.cos(a), -np.sin(a)], [1, 0, 0]])


def tensor(voigt: np.ndarray, shear: float) -> np.ndarray:
    """Make the tensor (3, 3, ...) of six components; a shear entry is `shear` tensor entries."""
    full = np.empty((3, 3, *voigt.shape[1:]))
    for value, (i, j) in zip(voigt, HULL, strict=True):
        full[i, j] = full[j, i] = value if i == j else value / shear
    return full


def hull_tensors(layer: Layer, ply_axes: np.ndarray, shear: float) -> np.ndarray:
    """Tensors (n_ply, 3, 3, ...) in the hull frame of what is given in each ply's axes."""
    return np.stack(
        [
            np.einsum("ai,bj,ab...->ij...", axes(p.angle), axes(p.angle), tensor(values, shear))
            for p, values in zip(layer.plies, ply_axes, strict=True)
        ]
    )


def mean(layer: Layer, values: np.ndarray) -> np.ndarray:
    return np.average(values, axis=0, weights=[ply.thickness for ply in layer.plies])


@given(cards(), angles)
def test_ply_turns_like_a_fourth_order_tensor(card: CitedPly, angle: float) -> None:
    # Source: tensor transformation C_ijkl = a_ai a_bj a_ck a_dl C_abcd.
    C_ply = np.linalg.inv(card.compliance())
    full = np.empty((3, 3, 3, 3))
    for (m, (i, j)), (n, (k, o)) in itertools.product(enumerate(PLY), enumerate(PLY)):
        for a, b in {(i, j), (j, i)}:
            for c, d in {(k, o), (o, k)}:
                full[a, b, c, d] = C_ply[m, n]
    a = axes(angle)
    turned = np.einsum("ai,bj,ck,dl,abcd->ijkl", a, a, a, a, full)
    expected = np.array([[turned[i, j, k, o] for k, o in HULL] for i, j in HULL])
    np.testing.assert_allclose(ply_material(card, angle).C, expected, atol=1e-12 * card.E1)


@given(cards(), angles)
def test_expansion_turns_like_a_second_order_tensor(card: CitedPly, angle: float) -> None:
    # Source: tensor transformation; engineering shear is twice the tensor component.
    turned = np.einsum("ai,bj,ab->ij", axes(angle), axes(angle), np.diag(card.cte()))
    expected = [turned[i, j] * (1 if i == j else 2) for i, j in HULL]
    np.testing.assert_allclose(ply_material(card, angle).cte, expected, atol=1e-18)


@given(st.floats(1e3, 4e5), st.floats(0.0, 0.49), angles)
def test_isotropic_card_feels_no_angle(E: float, nu: float, angle: float) -> None:
    card = CitedPly(E, E, nu, E / (2 * (1 + nu)), nu, 1e-5, 1e-5)
    turned, straight = ply_material(card, angle), ply_material(card, 0)
    np.testing.assert_allclose(turned.C, straight.C, atol=1e-12 * straight.C.max())
    np.testing.assert_allclose(turned.cte, straight.cte, atol=1e-20)


@given(cards(), angles, st.integers(0, 1000))
def test_energy_does_not_depend_on_the_frame(card: CitedPly, angle: float, seed: int) -> None:
    hull = strains(seed, ())
    in_ply = np.einsum("ai,bj,ij->ab", axes(angle), axes(angle), tensor(hull, 2.0))
    ply = np.array([in_ply[i, j] * (1 if i == j else 2) for i, j in PLY])
    expected = ply @ np.linalg.inv(card.compliance()) @ ply
    assert hull @ ply_material(card, angle).C @ hull == pytest.approx(expected, rel=1e-11)


@pytest.mark.parametrize("name", sorted(library()))
def test_card_of_the_library_enters_along_its_own_axes(name: str) -> None:
    # Source: nu_ij = -strain_j / strain_i under stress_i, on the card and here.
    card = library()[name]
    given_constants = card.constants()
    for angle, one, two in ((0, "z", "t"), (90, "t", "z")):
        ours = engineering_constants(ply_material(card, angle))
        for card_name, value in {
            "E1": ours[f"E_{one}"],
            "E2": ours[f"E_{two}"],
            "E3": ours["E_r"],
            "G12": ours["G_tz"],
            "G13": ours[f"G_r{one}"],
            "G23": ours[f"G_r{two}"],
            "nu12": ours[f"nu_{one}{two}"],
            "nu13": ours[f"nu_{one}r"],
            "nu23": ours[f"nu_{two}r"],
        }.items():
            assert value == pytest.approx(given_constants[card_name], rel=1e-12), card_name


@given(units())
def test_poisson_ratios_are_reciprocal(unit: tuple[Layer, dict[str, CitedPly]]) -> None:
    # Source: symmetry of the compliance, nu_ij / E_i = nu_ji / E_j.
    e = engineering_constants(layer_material(*unit))
    for i, j in ("zt", "zr", "tr"):
        left, right = e[f"nu_{i}{j}"] / e[f"E_{i}"], e[f"nu_{j}{i}"] / e[f"E_{j}"]
        assert left == pytest.approx(right, rel=1e-9, abs=1e-12 / e["E_r"])


@given(units())
def test_mixed_partition_equals_the_component_formulas(
    unit: tuple[Layer, dict[str, CitedPly]],
) -> None:
    # Source: Chou, Carleone & Hsu 1972; Sun & Li 1988, as written there component by component.
    layer, cards_ = unit
    plies = [ply_material(cards_[ply.card], ply.angle).C for ply in layer.plies]
    v = np.array([ply.thickness for ply in layer.plies]) / layer.thickness
    r = 0
    expected = np.zeros((6, 6))
    for i, j in itertools.product(range(4), repeat=2):
        expected[i, j] = sum(
            f * (C[i, j] - C[i, r] * C[r, j] / C[r, r]) for f, C in zip(v, plies, strict=True)
        ) + sum(f * C[i, r] / C[r, r] for f, C in zip(v, plies, strict=True)) * sum(
            f * C[r, j] / C[r, r] for f, C in zip(v, plies, strict=True)
        ) / sum(f / C[r, r] for f, C in zip(v, plies, strict=True))
    shear = sum(f * np.linalg.inv(C[4:, 4:]) for f, C in zip(v, plies, strict=True))
    expected[4:, 4:] = np.linalg.inv(shear)
    scale = max(C.max() for C in plies)
    np.testing.assert_allclose(layer_material(layer, cards_).C, expected, atol=1e-12 * scale)


@given(units(), st.floats(-200, 200), st.integers(0, 1000))
def test_recovered_plies_share_stress_and_strain_as_bonded_plies_do(
    unit: tuple[Layer, dict[str, CitedPly]], dT: float, seed: int
) -> None:
    # Source: Sun & Li 1988: in-surface strains and out-of-surface stresses are common to all
    # plies, the other stresses and strains average to those of the unit. The four laws together
    # leave no freedom, so they also prove the smeared stiffness and expansion.
    layer, cards_ = unit
    material, strain = layer_material(layer, cards_), strains(seed)
    smeared = np.tensordot(material.C, strain - material.cte[:, None] * dT, axes=1)
    in_ply = ply_stresses(layer, cards_, strain, dT)
    ply_strain = np.stack(
        [
            np.tensordot(card.compliance(), values, axes=1)
            + np.concatenate([card.cte(), np.zeros(3)])[:, None] * dT
            for values, card in zip(in_ply, (cards_[p.card] for p in layer.plies), strict=True)
        ]
    )
    stress, expected_stress = hull_tensors(layer, in_ply, 1.0), tensor(smeared, 1.0)
    elongation, expected_strain = hull_tensors(layer, ply_strain, 2.0), tensor(strain, 2.0)
    allowed = 1e-10 * np.abs(in_ply).max()
    for number, (i, j) in enumerate(HULL):
        np.testing.assert_allclose(
            mean(layer, stress[:, i, j]), expected_stress[i, j], atol=allowed
        )
        np.testing.assert_allclose(
            mean(layer, elongation[:, i, j]), expected_strain[i, j], atol=1e-12
        )
        for ply in range(len(layer.plies)):
            if number in OUT_OF_SURFACE:
                np.testing.assert_allclose(stress[ply, i, j], expected_stress[i, j], atol=allowed)
            else:
                np.testing.assert_allclose(elongation[ply, i, j], expected_strain[i, j], atol=1e-12)


def test_recovery_takes_any_number_of_points_and_temperatures() -> None:
    layer, strain = repeat_unit((0, 55, -55)), strains(1, (3, 2))
    dT = np.linspace(-100, 50, 6).reshape(3, 2)
    together = ply_stresses(layer, CARDS, strain, dT)
    assert together.shape == (3, 6, 3, 2)
    for i, j in np.ndindex(3, 2):
        alone = ply_stresses(layer, CARDS, strain[:, i, j], float(dT[i, j]))
        np.testing.assert_allclose(together[:, :, i, j], alone, rtol=1e-12, atol=1e-12)


@given(units(), st.randoms())
def test_order_of_plies_within_the_unit_has_no_effect(
    unit: tuple[Layer, dict[str, CitedPly]], random: Random
) -> None:
    layer, cards_ = unit
    plies = list(layer.plies)
    random.shuffle(plies)
    shuffled = Layer(layer.name, layer.inner_radius, layer.thickness, tuple(plies), 1)
    one, two = layer_material(layer, cards_), layer_material(shuffled, cards_)
    np.testing.assert_allclose(one.C, two.C, atol=1e-12 * one.C.max())
    np.testing.assert_allclose(one.cte, two.cte, atol=1e-17)


@given(units())
def test_smeared_stiffness_lies_between_uniform_stress_and_uniform_strain(
    unit: tuple[Layer, dict[str, CitedPly]],
) -> None:
    # Source: R. Hill, Proc. Phys. Soc. A 65 (1952) 349-354: Reuss <= effective <= Voigt (as
    # quadratic forms); positive definite with them.
    layer, cards_ = unit
    C = layer_material(layer, cards_).C
    plies = np.stack([ply_material(cards_[p.card], p.angle).C for p in layer.plies])
    voigt, reuss = mean(layer, plies), np.linalg.inv(mean(layer, np.linalg.inv(plies)))
    rounding = 1e-10 * voigt.max()
    np.testing.assert_array_equal(C, C.T)
    assert np.linalg.eigvalsh(reuss).min() > 0
    assert np.linalg.eigvalsh(voigt - C).min() > -rounding
    assert np.linalg.eigvalsh(C - reuss).min() > -rounding


@given(cards(), angles, st.integers(1, 4))
def test_unit_of_one_kind_of_ply_is_that_ply(card: CitedPly, angle: float, count: int) -> None:
    unit = Layer("unit", 100.0, 0.2 * count, (Ply("one", 0.2, angle),) * count, 1)
    np.testing.assert_array_equal(
        layer_material(unit, {"one": card}).C, ply_material(card, angle).C
    )


@given(cards(), st.lists(st.floats(0, 90), min_size=1, max_size=3))
def test_balanced_unit_has_no_coupling(card: CitedPly, half: list[float]) -> None:
    # Source: symmetry; +a and -a in equal parts look the same in the mirror.
    plies = tuple(Ply("one", 0.2, sign * a) for a in half for sign in (1, -1))
    material = layer_material(Layer("unit", 100.0, 0.4 * len(half), plies, 1), {"one": card})
    allowed = 1e-14 * material.C.max()
    np.testing.assert_allclose(material.C[3, :3], 0, atol=allowed)
    np.testing.assert_allclose(material.C[4, 5], 0, atol=allowed)
    assert material.cte[3] == pytest.approx(0, abs=1e-18)


def test_cross_ply_wall_feels_no_twist_under_pressure() -> None:
    # Common practice, no published source.
    wall = layer_material(repeat_unit((0, 90)), CARDS)
    assert np.all(wall.C[3, :3] == 0)
    tube = solve_tube([TubeLayer(100.0, 120.0, wall)], outer_pressure=60.0, closed_ends=True)
    assert tube.twist == 0
    off_axis = [TubeLayer(100.0, 120.0, ply_material(CARBON_EPOXY, 30))]
    assert abs(solve_tube(off_axis, outer_pressure=60.0, closed_ends=True).twist) > 1e-6


@given(units())
def test_plane_stress_of_the_unit_is_the_stretching_stiffness_of_the_plate(
    unit: tuple[Layer, dict[str, CitedPly]],
) -> None:
    # Source: Kaw 2006, ch. 4: A = sum of Q t. The 3-D unit and the thin plate must agree on it.
    layer, cards_ = unit
    A = plate(layer.plies, cards_).A
    ours = plane_stress_stiffness(layer_material(layer, cards_)) * layer.thickness
    np.testing.assert_allclose(ours, A, atol=1e-10 * A.max())


def test_isotropic_plate_has_the_textbook_stiffness() -> None:
    # Source: Timoshenko & Woinowsky-Krieger 1959: E h / (1 - nu^2) and E h^3 / (12 (1 - nu^2)).
    E, nu, h = 70e3, 0.33, 6.0
    card = CitedPly(E, E, nu, E / (2 * (1 + nu)), nu)
    ours = plate([Ply("metal", h / 3, angle) for angle in (0, 20, 70)], {"metal": card})
    assert ours.A[0, 0] == pytest.approx(E * h / (1 - nu**2), rel=1e-13)
    assert ours.D[1, 1] == pytest.approx(E * h**3 / 12 / (1 - nu**2), rel=1e-13)
    np.testing.assert_allclose(ours.B, 0, atol=1e-12 * ours.A.max())
    # pulled by 7 N/mm, bent by 5 N: Hooke's law of the surface, curvature 12 M / (E h^3)
    strain, curvature = ours.deform((7.0, 0.0, 0.0), (5.0, 0.0, 0.0))
    assert strain == pytest.approx([7 / (E * h), -nu * 7 / (E * h), 0], abs=1e-15)
    bent = 12 * 5 / (E * h**3)
    assert curvature == pytest.approx([bent, -nu * bent, 0], abs=1e-15)
