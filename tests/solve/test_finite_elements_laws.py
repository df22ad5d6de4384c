"""Laws that every solution obeys: patch test, balance, superposition, reciprocity, mirror image."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from geometry.sizes import Grading
from solve.cited_materials import CARBON_EPOXY, isotropic
from solve.elasticity import pressure_load
from solve.elements import ELEMENTS, reference_basis
from solve.exact_tube import TubeLayer
from solve.laminate import ply_material
from solve.solid import Held, build, solve_solid
from solve.solid_tubes import Slice, long_tube, slice_tube, tube_section
from solve.solid_walls import tapered_section

ANGLES = st.floats(-90, 90)
OUTLINE = ("wet", "dry", "closure", "symmetry")


def one_layer(angle: float) -> Slice:
    return slice_tube([TubeLayer(200.0, 250.0, ply_material(CARBON_EPOXY, angle))], elements=4)


@pytest.mark.parametrize("degree", [2, 3, 4])
def test_patch_of_even_strain_is_reproduced(degree: int) -> None:
    # B.M. Irons' patch test (Irons & Razzaque 1972, value from memory): a strain that balances
    # itself, given on the outline, holds inside to rounding, on irregular curved triangles.
    # u_r = e r and u_z = f z lie in the space of any degree, as r and z are quadratics of the
    # element; u_theta = g r z is of degree 4.
    even, axial, turn = 1e-3, -2e-3, 3e-7 * (degree == 4)
    steel = isotropic(200e3, 0.3)
    system = build(
        tapered_section(), {"solid": steel}, grading=Grading(), level=0, degree=degree, twist=True
    )
    corners = system.mesh.points[system.space.corners]
    bow = corners[:, 3] - (corners[:, 0] + corners[:, 1]) / 2
    assert np.abs(bow).max() > 1.0  # mm: some sides are arcs
    held = [
        Held(edge, component, {"patch": motion})
        for edge in OUTLINE
        for component, motion in (
            ("r", lambda r, z: even * r),
            ("t", lambda r, z: turn * r * z),
            ("z", lambda r, z: axial * z),
        )
    ]
    solid = solve_solid(system, {"solid": steel}, {"patch": None}, held)

    places = corners[:, :3].mean(axis=1).T
    r, z = places
    zero = np.zeros_like(r)
    motion = np.stack([even * r, turn * r * z, axial * z])
    assert_allclose(solid.motion({"patch": 1.0}, places), motion, atol=1e-11 * np.abs(motion).max())
    strain = np.stack([zero + even, zero + even, zero + axial, turn * r, zero, zero])
    stress = steel.C @ strain
    ours = solid.stress({"patch": 1.0}, places, "solid")
    assert_allclose(ours, stress, atol=1e-9 * np.abs(stress).max())


def test_heat_that_grows_evenly_along_the_axis_stresses_nothing() -> None:
    # B.A. Boley & J.H. Weiner, Theory of Thermal Stresses, 1960, ch. 3 (value from memory): a
    # temperature linear in x, y, z strains a free body without stress. With dT = z the motion is
    # u_r = cte r z, u_z = cte (z^2 - r^2) / 2, of degree 4 in an element: the forces it needs are
    # those of the temperature to rounding.
    cte = 1e-5
    steel = isotropic(200e3, 0.3, cte)
    system = build(
        tapered_section(), {"solid": steel}, grading=Grading(), level=0, rise=lambda r, z: z
    )
    space, nodes = system.space, ELEMENTS[4]().doflocs.T
    shape, _ = reference_basis(2, nodes)
    r, z = np.einsum("mni,nk->imk", system.mesh.points[space.corners], shape)
    motion = np.zeros((space.size, 2))
    motion[space.dofs] = np.stack([cte * r * z, cte * (z**2 - r**2) / 2], axis=-1)
    needed = system.forces(motion.reshape(-1, 1))[:, 0]
    assert_allclose(needed, system.temperature, atol=1e-9 * np.abs(system.temperature).max())


@settings(max_examples=8)
@given(ANGLES)
def test_end_face_balances_its_load(angle: float) -> None:
    # Balance of forces and torques: what the stress carries through the plane of mid-length is
    # what was put on the end face (Newton's third law; no published number needed).
    tube = long_tube([TubeLayer(200.0, 250.0, ply_material(CARBON_EPOXY, angle))], 100.0)
    cap = np.pi * 250.0**2
    for load, force, torque in (
        ("force", 1.0, 0.0),
        ("torque", 0.0, 1.0),
        ("pressure", -cap, 0.0),
        ("temperature", 0.0, 0.0),
    ):
        ours = tube.resultant({load: 1.0}, "symmetry")
        # reaction of the held plane: rounding grows with the largest force, and one kelvin's
        # expansion, held back, is some tenths of a MPa on the end face
        scale = 0.1 * cap if load in ("pressure", "temperature") else 1.0
        assert ours[0] == pytest.approx(-force, abs=1e-8 * scale)
        assert ours[1] == pytest.approx(-torque, abs=1e-8 * scale * 250.0)


def test_loads_add_up() -> None:
    # Linearity: two loads solved as one are the sum of the two solved apart.
    material = ply_material(CARBON_EPOXY, 35.0)
    materials = {"layer-1": material}
    section = tube_section([TubeLayer(200.0, 250.0, material)], 100.0)
    system = build(section, materials, grading=Grading(wall=0.5))
    pressure, temperature = pressure_load(system), system.temperature
    loads = {
        "pressure": pressure,
        "temperature": temperature,
        "both": 60 * pressure - 100 * temperature,
    }
    solid = solve_solid(system, materials, loads)
    places = np.array([[205.0, 230.0], [10.0, 90.0]])
    together = solid.motion({"both": 1.0}, places)
    apart = solid.motion({"pressure": 60.0, "temperature": -100.0}, places)
    assert_allclose(apart, together, rtol=1e-9)


@settings(max_examples=8)
@given(ANGLES)
def test_force_turns_a_tube_as_torque_stretches_it(angle: float) -> None:
    # E. Betti's reciprocity, 1872: the twist by a unit force is the axial strain by a unit torque.
    tube = one_layer(angle)
    pulled, turned = tube.state(force=1.0), tube.state(torque=1.0)
    scale = np.sqrt(pulled["stretch"] * turned["turn"])
    assert pulled["turn"] == pytest.approx(turned["stretch"], abs=1e-10 * scale)


@settings(max_examples=8)
@given(ANGLES)
def test_mirrored_plies_twist_the_other_way(angle: float) -> None:
    # Mirror image in a plane through the axis: u_theta, twist and the shears with theta turn
    # their sign, all else stays.
    one, other = one_layer(angle), one_layer(-angle)
    for loads in ({"pressure": 60.0, "closed_ends": True}, {"dT": -150.0}):
        ours, mirror = one.state(**loads), other.state(**loads)
        assert ours["stretch"] == pytest.approx(mirror["stretch"], rel=1e-9)
        assert ours["turn"] == pytest.approx(-mirror["turn"], abs=1e-9 * abs(ours["stretch"]) / 250)
        stress, image = one.stress(ours, 210.0, 0), other.stress(mirror, 210.0, 0)
        sign = np.array([1, 1, 1, -1, 1, -1])
        assert_allclose(stress, sign * image, atol=1e-8 * np.abs(stress).max())


def test_twist_of_an_angle_ply_has_the_sign_of_its_angle() -> None:
    # Fibres that run from z towards theta give way to a pull by lying down along z, so the far
    # end turns towards -theta (sign of a_16; Herakovich 1998, ch. 10, value from memory).
    assert one_layer(30.0).state(force=1e6)["turn"] < 0


def test_a_point_outside_the_mesh_is_refused() -> None:
    tube = one_layer(90.0)
    with pytest.raises(ValueError, match="outside the mesh"):
        tube.displacement(tube.state(dT=1.0), 260.0)
