"""Sums over constants and the reduced model against full solutions."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.linalg import eigh

from geometry.forms import draw_section
from geometry.mesh import mesh_section
from post.reduced_points import Place, Points, points_of_cases, points_of_fields, set_at
from solve.affine import Affine, affine, is_isotropic
from solve.answer import region_materials
from solve.cited_materials import isotropic
from solve.elasticity import assemble, solve_loads
from solve.laminate import Material
from solve.reduced import (
    Basis,
    energy_share,
    evaluate,
    extend,
    full_solution,
    least_ratio,
    start,
    train,
)
from solve.sketch import norms, sketch
from tests.joints import joint_case

CASE = joint_case(
    "butt",
    wall__layup=[
        {"ply": "carbon-epoxy-im", "thickness": "0.19 mm", "angles": [90, 0], "repeats": 40}
    ],
)
PASTE: Place = ("materials", "epoxy-paste", "elastic", "E", "value")
PLY: Place = ("materials", "carbon-epoxy-im", "elastic", "E2", "value")
ANGLE: Place = ("wall", "layup", 0, "angles", 1)
BOUNDS = {PASTE: (2000.0, 3600.0), PLY: (6000.0, 11000.0), ANGLE: (0.0, 15.0)}


def drawn(count: int, seed: int) -> Points:
    draw = np.random.default_rng(seed)
    return points_of_fields(CASE, {p: draw.uniform(*ends, count) for p, ends in BOUNDS.items()})


@pytest.fixture(scope="module")
def model() -> Affine:
    section = draw_section(CASE)
    mesh = mesh_section(section, 0)
    return affine(section, mesh, region_materials(CASE, section), 2, twist=True)


@pytest.fixture(scope="module")
def empty(model: Affine) -> Basis:
    return start(model, region_materials(CASE, model.section), seed=3)


@pytest.fixture(scope="module")
def trained(empty: Basis) -> Basis:
    return train(empty, drawn(60, 0).materials, 2e-3)


def energy_norm(model: Affine, reference: dict[str, Material], u: NDArray[np.float64]) -> float:
    system = assemble(model.mesh, reference, model.space.degree, model.twist)
    return float(np.sqrt(u @ system.forces(u[:, None])[:, 0]))


def test_the_sum_over_constants_is_the_assembled_stiffness(model: Affine) -> None:
    # The same integral assembled element by element, by another code: equal to rounding.
    points = drawn(2, 5)
    theta = model.stiffness_coefficients(points.materials)
    expansion = model.expansion_coefficients(points.materials)
    u = np.random.default_rng(0).standard_normal(model.size)
    for row in range(2):
        system = assemble(model.mesh, model.by_region(points.materials, row), 2, True)
        forces = system.forces(u[:, None])[:, 0]
        assert np.abs(model.forces(u) @ theta[row] - forces).max() < 1e-12 * np.abs(forces).max()
        heat = model.heating_forces() @ expansion[row]
        assert np.abs(heat - system.temperature).max() < 1e-12 * np.abs(heat).max()


def test_columns_give_the_constants_that_cases_give() -> None:
    # Card formulas, turning and smearing of each case by itself (geometry.constants,
    # solve.laminate), also with voids.
    case = set_at(CASE, ("wall", "voids"), 0.02)
    draw = np.random.default_rng(2)
    fields = {place: draw.uniform(*ends, 5) for place, ends in BOUNDS.items()}
    cases = []
    for row in range(5):
        one = case
        for place, values in fields.items():
            one = set_at(one, place, float(values[row]))
        cases.append(one)
    columns, single = points_of_fields(case, fields), points_of_cases(cases)
    assert columns.materials.keys() == single.materials.keys()
    for name, material in single.materials.items():
        np.testing.assert_allclose(columns.materials[name].C, material.C, rtol=1e-12, atol=1e-9)
        np.testing.assert_allclose(
            columns.materials[name].cte, material.cte, rtol=1e-12, atol=1e-18
        )


def test_a_sketch_bounds_the_energy_of_the_solution_it_stands_for(model: Affine) -> None:
    # |f| in the dual norm is the energy norm of K^-1 f, from a solve; chi-squared with 128 degrees
    # of freedom puts the bound between it and about 1.8 times it.
    reference = region_materials(CASE, model.section)
    system = assemble(model.mesh, reference, 2, True)
    loads = np.stack([model.pressure, system.temperature], axis=1)
    u, _ = solve_loads(system, loads, model.held)
    exact = np.sqrt(np.einsum("nk,nk->k", u, loads))
    ratio = norms(sketch(model, reference, seed=1).T @ loads) / exact
    assert (ratio > 1).all() and (ratio < 1.8).all()


def test_the_reduced_solution_is_the_full_one_at_a_snapshot(empty: Basis) -> None:
    # Galerkin reproduces what lies in its space, to the rounding of both solutions.
    materials = drawn(3, 1).materials
    u = full_solution(empty.model, empty.model.by_region(materials, 1))
    basis = extend(empty, u)
    found = basis.vectors @ evaluate(basis, materials).coefficients[1].T
    assert np.abs(found - u).max() < 1e-7 * np.abs(u).max()


@pytest.mark.parametrize("size", [1e-12, 1e12])
def test_what_lies_in_the_space_adds_nothing_whatever_its_size(empty: Basis, size: float) -> None:
    # By definition of a basis: it spans directions, and a solution in other units is the same one.
    u = size * full_solution(empty.model, empty.reference)
    basis = extend(empty, u)
    assert basis.vectors.shape[1] == 2
    assert extend(basis, u @ np.array([[1.0, 2.0], [3.0, -1.0]])).vectors.shape[1] == 2


def test_isotropic_stiffness_is_told_from_others() -> None:
    # By definition: Lame's two constants make all of it.
    steel = isotropic(200e3, 0.3).C
    assert is_isotropic(steel)
    for place in ((0, 0), (4, 4)):
        other = steel.copy()
        other[place] *= 1 + 1e-6
        assert not is_isotropic(other)


def test_the_least_ratio_is_the_least_eigenvalue(empty: Basis) -> None:
    # scipy's general eigenvalues of the paste's stiffness and the reference's, where it is softer
    # in volume, softer in shape, and in both alike; all else is ten times stiffer than there.
    pastes = [isotropic(3000.0, nu).C for nu in (0.2, 0.35, 0.45)]
    group_of, reference = empty.model.region_group, empty.reference
    stiff = {group: reference[region] for region, group in group_of.items()}
    materials = {
        group: Material(np.array([10 * one.C] * 3), np.array([one.cte] * 3))
        for group, one in stiff.items()
    }
    materials["adhesive"] = Material(np.array(pastes), materials["adhesive"].cte)
    wanted = [eigh(C, stiff["adhesive"].C, eigvals_only=True)[0] for C in pastes]
    assert max(wanted) < 10
    assert least_ratio(empty, materials) == pytest.approx(wanted, rel=1e-9)


def test_the_bound_covers_the_error_at_random_points_and_is_not_far_off(trained: Basis) -> None:
    # Full solutions at points that training never saw.
    points = drawn(8, 11)
    reduced = evaluate(trained, points.materials)
    for row in range(8):
        full = full_solution(trained.model, trained.model.by_region(points.materials, row))
        error = full - trained.vectors @ reduced.coefficients[row].T
        for load in range(2):
            true = energy_norm(trained.model, trained.reference, error[:, load])
            assert true <= reduced.error[row, load] < 10 * true


def test_the_error_falls_as_the_basis_grows(empty: Basis, trained: Basis) -> None:
    points = drawn(60, 0).materials
    first = extend(empty, full_solution(empty.model, empty.reference))
    assert energy_share(first, points).max() > 20 * energy_share(trained, points).max()
    assert energy_share(trained, points).max() <= 2e-3


def test_a_coupling_that_the_model_has_not_is_refused() -> None:
    section = draw_section(CASE)
    model = affine(section, mesh_section(section, 0), region_materials(CASE, section), 1)
    points = points_of_fields(CASE, {ANGLE: np.array([0.0, 10.0])})
    assert not model.twist
    with pytest.raises(ValueError, match="has not"):
        model.stiffness_coefficients(points.materials)
