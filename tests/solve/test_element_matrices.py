"""Element stiffness against B^T C B, and the forces of large shifts."""

from __future__ import annotations

import numpy as np
import pytest

from geometry.forms import draw_section
from geometry.mesh import mesh_section
from solve.answer import region_materials, solve
from solve.elasticity import System, assemble
from solve.elements import ALL, IN_PLANE, kinematics, quadrature, strain_operator
from tests.joints import joint_case, random_joint


def small_system(degree: int, twist: bool) -> System:
    case = joint_case("butt")
    section = draw_section(case)
    return assemble(mesh_section(section, -1), region_materials(case, section), degree, twist)


@pytest.mark.parametrize("twist", [True, False])
@pytest.mark.parametrize("degree", [1, 2, 4])
def test_stiffness_is_that_of_the_strain_operator(degree: int, twist: bool) -> None:
    # The textbook's writing of the same integrals: sum of B^T C B and of B^T C cte by volume.
    case = joint_case("butt")
    section = draw_section(case)
    materials = region_materials(case, section)
    system = small_system(degree, twist)
    mesh, kept = system.mesh, ALL if twist else IN_PLANE
    xi, weight = quadrature(degree)
    for number, name in enumerate(mesh.regions):
        part = np.flatnonzero(mesh.region == number)[:5]
        kin = kinematics(mesh.points, system.space.corners[part], degree, xi)
        b = strain_operator(kin, twist)
        volume = 2 * np.pi * kin.radius * kin.jacobian * weight
        C = materials[name].C
        cb = np.einsum("st,eqtm,eq->eqsm", C[np.ix_(kept, kept)], b, volume)
        wanted = np.einsum("eqsn,eqsm->enm", b, cb)
        allowed = 1e-12 * np.abs(wanted).max()
        assert system.blocks[part] == pytest.approx(wanted, rel=1e-10, abs=allowed)
        stress = (C @ materials[name].cte)[list(kept)]
        wanted = np.einsum("eqsn,s,eq->en", b, stress, volume)
        allowed = 1e-12 * np.abs(wanted).max()
        assert system.heating[part] == pytest.approx(wanted, rel=1e-10, abs=allowed)


@pytest.mark.parametrize("twist", [True, False])
def test_forces_are_stiffness_times_displacement(twist: bool) -> None:
    system = small_system(3, twist)
    size = system.components * system.space.size
    u = np.random.default_rng(0).standard_normal((size, 2))
    wanted = np.zeros_like(u)
    for own, block in zip(system.rows, system.blocks, strict=True):
        wanted[own] += block @ u[own]
    assert system.forces(u) == pytest.approx(wanted, rel=1e-8, abs=1e-10 * np.abs(wanted).max())


def test_a_shift_along_the_axis_makes_no_force() -> None:
    # Equilibrium: no strain, no force, not even what rounding leaves.
    system = small_system(4, False)
    u = np.zeros((2 * system.space.size, 1))
    u[1::2] = 1e6
    assert np.abs(system.forces(u)).max() == 0


@pytest.mark.parametrize("seed", [6, 8])
def test_large_thin_hulls_prove_themselves(seed: int) -> None:
    # Of 3 m diameter, walls of 15 and 5 mm, and a flat head of 5 mm that deflects by metres per
    # MPa. With forces from the products of stiffness and displacement alone, reaction or energy
    # was off by 1e-7 and 6e-9 on these meshes.
    case = random_joint(seed)
    answer = solve(case, mesh_section(draw_section(case), 0))
    for proof in answer.proofs:
        if proof.name != "residual":
            assert proof.value < 1e-9, proof
