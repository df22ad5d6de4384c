"""Stiffness, prestress and following sea per harmonic."""

import numpy as np
import pytest
from numpy.typing import NDArray

from geometry.forms import draw_section
from geometry.mesh import mesh_section
from solve.answer import Answer, solve
from solve.buckling_checks import pressed_tube, single, stacked
from solve.cited_materials import isotropic
from solve.collapse import HULL
from solve.elasticity import assemble, held_unknowns, pressure_load, solve_loads
from solve.exact_tube import solve_tube
from solve.follower import sea_pressure
from solve.harmonics import ByWaves, prestress, real_form, stiffness
from solve.motions import ALIKE, EITHER, OPPOSITE, free_motions, positions
from solve.stress import stress_at
from tests.joints import joint_case

Floats = NDArray[np.float64]


@pytest.fixture(scope="module", params=["balanced", "coupled"])
def answer(request: pytest.FixtureRequest) -> Answer:
    """Give a socket with a hemisphere, its wall with and without coupling plies."""
    case = joint_case("socket")
    if request.param == "coupled":
        layup = [{"ply": "carbon-epoxy-im", "thickness": "7 mm", "angles": [90, 30]}]
        case = joint_case("socket", wall__layup=layup)
    return solve(case, mesh_section(draw_section(case), -1, grading=HULL), 3)


def rigid_motion(answer: Answer, waves: int, turn: bool) -> Floats:
    """Translation across (n = 1) or along (n = 0) the axis, or rotation about a diameter."""
    r, z = positions(answer.mesh, answer.space)
    one, zero = np.ones_like(r), np.zeros_like(r)
    if waves == 0:
        motion = (zero, zero, one)
    else:
        motion = (z, -z, -r) if turn else (one, -one, zero)
    return np.stack(motion, axis=1).ravel()


def energy(matrix: ByWaves, waves: int, motion: Floats) -> float:
    """Twice the energy of a real motion."""
    return float(np.real(motion @ (matrix.at(waves) @ motion)))


def scale(matrix: ByWaves, waves: int, motion: Floats) -> float:
    """What the same would be if nothing cancelled."""
    return float(np.abs(motion) @ (abs(matrix.at(waves)) @ np.abs(motion)))


def test_no_waves_are_the_axisymmetric_solve(answer: Answer) -> None:
    # Source: the axisymmetric assembly, itself held against published tubes and spheres. With
    # u_theta = -i v the two agree on forces of any motion to rounding.
    system = assemble(answer.mesh, answer.materials, answer.space.degree, twist=True)
    u = np.random.default_rng(1).standard_normal((answer.space.size, 3))
    axis = np.unique(answer.space.edge_dofs["axis"])
    u[axis, :2] = 0.0  # elsewhere 1/r has no limit there
    phase = np.array([1, 1j, 1])
    ours = stiffness(answer.mesh, answer.space, answer.materials).at(0) @ (u * phase).ravel()
    wanted = system.forces(u.reshape(-1, 1)).reshape(-1, 3) * phase
    np.testing.assert_allclose(
        ours.reshape(-1, 3), wanted, rtol=1e-9, atol=1e-11 * np.abs(wanted).max()
    )


def test_no_waves_give_the_answer_of_the_axisymmetric_solve(answer: Answer) -> None:
    # Source: `solve.answer`, which proves itself by residual, reaction and energy: K_0 times its
    # displacement is the load of the sea wherever nothing is held.
    system = assemble(answer.mesh, answer.materials, answer.space.degree, twist=True)
    load, u = pressure_load(system), answer.displacement["pressure"] * [1, 1j, 1]
    forces = stiffness(answer.mesh, answer.space, answer.materials).at(0) @ u.ravel()
    free = np.setdiff1d(np.arange(len(load)), held_unknowns(system))
    off = np.abs(forces - load)[free].max()
    assert off < 1e-8 * np.abs(load).max()
    assert np.linalg.norm(solve_loads(system, load[:, None], held_unknowns(system))[0]) > 0


def test_rigid_motions_strain_nothing(answer: Answer) -> None:
    # Source: kinematics. Only rounding is left of the terms that cancel.
    elastic = stiffness(answer.mesh, answer.space, answer.materials)
    for waves, turn in ((0, False), (1, False), (1, True)):
        motion = rigid_motion(answer, waves, turn)
        assert abs(energy(elastic, waves, motion)) < 1e-12 * scale(elastic, waves, motion)


def test_prestress_and_sea_resist_no_rigid_motion(answer: Answer) -> None:
    # Source: invariance: a hull that turns with its stress and its sea has no energy to gain.
    # Prestress and the sea's load come from one assembly, so only rounding is left.
    pressed, sea = prestress(answer, "pressure"), sea_pressure(answer.mesh, answer.space)
    whole = pressed.plus(sea)
    for waves in (0, 1):
        motion = rigid_motion(answer, waves, turn=False)
        assert abs(energy(whole, waves, motion)) < 1e-12 * scale(whole, waves, motion)
    turned = rigid_motion(answer, 1, turn=True)
    # under a dead pressure the first of these would be all there is
    assert abs(energy(whole, 1, turned)) < 1e-9 * abs(energy(pressed, 1, turned))


def test_prestress_of_temperature_resists_no_rigid_motion(answer: Answer) -> None:
    # Source: invariance; the stress of a temperature change balances itself.
    warm = prestress(answer, "temperature")
    for turn in (False, True):
        motion = rigid_motion(answer, 1, turn)
        assert abs(energy(warm, 1, motion)) < 1e-9 * scale(warm, 1, motion)


def test_matrices_are_symmetric_on_free_motions(answer: Answer) -> None:
    # Source: a fluid's pressure has a potential on a surface that closes. Symmetry is made by
    # halves in the assembly; here the halves, taken one by one, must agree with the whole.
    couples = stiffness(answer.mesh, answer.space, answer.materials).at(2).dtype.kind == "c"
    for part in (
        stiffness(answer.mesh, answer.space, answer.materials),
        prestress(answer, "pressure"),
    ):
        matrix = part.at(2)
        apart = abs(matrix - matrix.conj().T).max()
        assert apart < 1e-10 * abs(matrix).max()
    kinds = (EITHER,) if couples else (ALIKE, OPPOSITE)
    for kind in kinds:
        basis = free_motions(answer.mesh, answer.space, 2, kind, couples=couples)
        matrix = stiffness(answer.mesh, answer.space, answer.materials).at(2)
        free = basis.T @ (real_form(matrix) if couples else matrix) @ basis
        assert np.linalg.eigvalsh(free.toarray())[0] > 0


def test_sea_on_a_cylinder_is_the_known_form() -> None:
    # Source: the second variation on a cylinder of radius b (derived; references of the module):
    # integral of u^2 + 2 n u v + v^2 + b (u w,z - w u,z), here with u = z^2, v = z, w = 1 + z.
    length, b, n = 10.0, 52.0, 3
    tube = pressed_tube(single(50.0, 4.0, isotropic(1e5, 0.3)), 2 * length)
    _, z = positions(tube.mesh, tube.space)
    motion = np.stack([z**2, z, 1 + z], axis=1).ravel()
    powers = {k: length ** (k + 1) / (k + 1) for k in range(5)}  # integrals of z^k
    bracket = (
        powers[4] + 2 * n * powers[3] + powers[2] + b * (powers[2] - 2 * (powers[1] + powers[2]))
    )
    ours = motion @ (sea_pressure(tube.mesh, tube.space).at(n) @ motion)
    assert ours == pytest.approx(2 * np.pi * bracket, rel=1e-10)


def test_sea_on_any_closed_surface_is_the_volume_to_second_order(answer: Answer) -> None:
    # Source: geometry: magnified by 1 + e, a volume V grows by V (3 e + 3 e^2 + ...), so the form,
    # twice the second-order part, is 6 V. V by pi times the integral of r^2 dz on the outline.
    r, z = positions(answer.mesh, answer.space)
    motion = np.stack([r, np.zeros_like(r), z], axis=1).ravel()
    nodes = answer.mesh.points[answer.mesh.edges["wet"]]
    start, end, middle = (nodes[:, i] for i in range(3))
    t, w = np.polynomial.legendre.leggauss(6)
    t, w = (t + 1) / 2, w / 2
    shape = np.array([(1 - t) * (1 - 2 * t), t * (2 * t - 1), 4 * t * (1 - t)])
    slope = np.array([4 * t - 3, 4 * t - 1, 4 - 8 * t])
    path = np.stack([start, end, middle], axis=1)
    x, dx = np.einsum("eai,aq->ieq", path, shape), np.einsum("eai,aq->ieq", path, slope)
    # every side the way round in which z grows outside: outward normal has dz/ds of n_r's sign
    inside = answer.mesh.points[answer.space.corners[answer.space.edge_triangle["wet"], :3]].mean(
        axis=1
    )
    out = dx[1] * (x[0] - inside[:, :1]) - dx[0] * (x[1] - inside[:, 1:])
    volume = float(np.pi * np.sum(np.sign(out) * x[0] ** 2 * dx[1] * w))
    ours = motion @ (sea_pressure(answer.mesh, answer.space).at(0) @ motion)
    assert ours == pytest.approx(6 * volume, rel=1e-9)


def test_prestress_of_a_tube_is_that_of_the_exact_tube() -> None:
    # Source: Lekhnitskii's layered tube (`solve.exact_tube`, held against recomputed numbers).
    layers = stacked((90, 0, 90), 150.0, 9.0)
    tube = pressed_tube(layers, 450.0)
    exact = solve_tube(layers, outer_pressure=1.0, closed_ends=True)
    for number, radius in enumerate((147.0, 150.0, 153.0), 1):
        place = np.array([[radius], [100.0]])
        ours = stress_at(tube, place, (f"layer-{number}",))["pressure"][:, 0]
        wanted = exact.evaluate(radius, layer=number - 1).stress[:, 0]
        np.testing.assert_allclose(ours, wanted, atol=1e-4 * np.abs(wanted).max())


def test_real_form_has_each_eigenvalue_twice() -> None:
    # Source: linear algebra (numpy's Hermitian eigenvalues).
    from scipy import sparse

    rng = np.random.default_rng(2)
    a = rng.standard_normal((6, 6)) + 1j * rng.standard_normal((6, 6))
    a = a + a.conj().T
    ours = np.linalg.eigvalsh(real_form(sparse.csr_array(a)).toarray())
    np.testing.assert_allclose(ours, np.repeat(np.linalg.eigvalsh(a), 2), atol=1e-12)
