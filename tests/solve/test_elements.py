"""The element: partition of unity, strains of known displacement fields."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from geometry.forms import draw_section
from geometry.mesh import JointMesh, mesh_section
from solve.elements import (
    kinematics,
    make_space,
    quadrature,
    reference_basis,
    strain_operator,
)
from solve.stress import strain_from_gradients
from tests.joints import joint_case


@pytest.fixture(scope="module")
def curved() -> JointMesh:
    return mesh_section(draw_section(joint_case("butt")), 0)


@pytest.mark.parametrize("degree", [1, 2, 3, 4])
def test_shape_functions_sum_to_one_and_their_gradients_to_nil(degree: int) -> None:
    xi = np.array([[0.1, 0.3, 0.6], [0.2, 0.5, 0.05]])
    value, gradient = reference_basis(degree, xi)
    assert value.sum(axis=0) == pytest.approx(1.0, abs=1e-12)
    assert gradient.sum(axis=1) == pytest.approx(0.0, abs=1e-10)


@pytest.mark.parametrize("degree", [2, 3, 4])
def test_quadrature_is_exact_for_twice_the_degree(degree: int) -> None:
    # integral of x^i y^j over the unit triangle is i! j! / (i + j + 2)!
    from math import factorial

    xi, weight = quadrature(degree)
    for i in range(2 * degree + 1):
        j = 2 * degree - i
        exact = factorial(i) * factorial(j) / factorial(i + j + 2)
        assert xi[0] ** i * xi[1] ** j @ weight == pytest.approx(exact, rel=1e-11)


@pytest.mark.parametrize("degree", [2, 3, 4])
def test_unknowns_are_shared_along_named_edges(curved: JointMesh, degree: int) -> None:
    # The unknowns that a side lists are those of its triangle on that side.
    space = make_space(curved, degree)
    assert len(np.unique(space.dofs)) == space.size
    for name, dofs in space.edge_dofs.items():
        assert dofs.shape == (len(curved.edges[name]), degree + 1)
        for row, triangle in zip(dofs, space.edge_triangle[name], strict=True):
            assert set(row) <= set(space.dofs[triangle])


@pytest.mark.parametrize("degree", [2, 3, 4])
def test_volume_by_pappus(curved: JointMesh, degree: int) -> None:
    # Hemisphere head, volume 2 pi / 3 (Ro^3 - Ri^3); arcs are parabolas, hence 1e-5.
    space = make_space(curved, degree)
    xi, weight = quadrature(degree)
    members = curved.region == curved.regions.index("head")
    kin = kinematics(curved.points, space.corners[members], degree, xi)
    volume = float(np.sum(2 * np.pi * kin.radius * kin.jacobian * weight))
    middle = 150 + 27 * 3 * 0.19 / 2
    exact = 2 * np.pi / 3 * ((middle + 5) ** 3 - (middle - 5) ** 3)
    assert volume == pytest.approx(exact, rel=1e-5)


def nodal_values(mesh: JointMesh, degree: int, field: np.ndarray) -> np.ndarray:
    """Displacements at the scalar unknowns of u = field @ [1, r, z], (size, 3)."""
    space = make_space(mesh, degree)
    from solve.elements import ELEMENTS

    local = ELEMENTS[degree].doflocs.T
    shape, _ = reference_basis(2, local)
    x = np.einsum("mni,nk->mki", mesh.points[space.corners], shape)
    u = np.zeros((space.size, 3))
    u[space.dofs] = np.concatenate([np.ones((*x.shape[:2], 1)), x], axis=2) @ field.T
    return u


@settings(max_examples=20, deadline=None)
@given(st.lists(st.floats(-1, 1), min_size=9, max_size=9), st.sampled_from([2, 3, 4]))
def test_linear_displacements_give_their_strains_on_straight_triangles(
    numbers: list[float], degree: int
) -> None:
    # By the definition of strain in cylindrical coordinates (Timoshenko & Goodier 1970, ch. 12;
    # value from memory), u_i = a_i + b_i r + c_i z.
    points = np.array([[2.0, 0.0], [5.0, 1.0], [3.0, 4.0]])
    points = np.vstack([points, (points + np.roll(points, -1, axis=0)) / 2])
    mesh = JointMesh(points, np.array([[0, 1, 2, 3, 4, 5]]), np.zeros(1, int), ("a",), {})
    field = np.reshape(numbers, (3, 3))
    u = nodal_values(mesh, degree, field)
    space = make_space(mesh, degree)
    xi = np.array([[0.2, 0.5], [0.3, 0.1]])
    kin = kinematics(points, space.corners, degree, xi)
    strain = strain_from_gradients(kin, u[space.dofs])[:, 0]
    shape, _ = reference_basis(2, xi)
    r, z = points[space.corners[0]].T @ shape
    (a, b, c), (at, bt, ct), (_, bz, cz) = field
    ur, ut = a + b * r + c * z, at + bt * r + ct * z
    expected = [b + 0 * r, ur / r, cz + 0 * r, ct + 0 * r, c + bz + 0 * r, bt - ut / r]
    assert strain == pytest.approx(np.array(expected), abs=1e-10)
    # the matrix and the direct formula are two writings of one operator
    flat = u[space.dofs[0]].ravel()
    assert strain_operator(kin, twist=True)[0] @ flat == pytest.approx(strain.T, abs=1e-10)
    flat = u[space.dofs[0]][:, [0, 2]].ravel()
    plane = strain_operator(kin, twist=False)[0] @ flat
    assert plane == pytest.approx(strain[[0, 1, 2, 4]].T, abs=1e-10)


def test_hoop_strain_on_the_axis_is_its_limit() -> None:
    points = np.array([[0.0, 0.0], [2.0, 0.0], [0.0, 2.0], [1.0, 0.0], [1.0, 1.0], [0.0, 1.0]])
    mesh = JointMesh(points, np.array([[0, 1, 2, 3, 4, 5]]), np.zeros(1, int), ("a",), {})
    field = np.array([[0.0, 0.3, 0.0], [0.0, 0.0, 0.0], [0.0, 0.0, 0.1]])
    u = nodal_values(mesh, 4, field)
    space = make_space(mesh, 4)
    kin = kinematics(points, space.corners, 4, np.array([[0.0], [0.5]]))
    strain = strain_from_gradients(kin, u[space.dofs])[:, 0, 0]
    assert strain == pytest.approx([0.3, 0.3, 0.1, 0, 0, 0], abs=1e-12)
