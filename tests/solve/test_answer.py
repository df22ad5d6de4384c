"""Whole joints: proofs, laws that hold for every answer, and what is refused."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from geometry.forms import draw_section
from geometry.mesh import JointMesh, mesh_section
from solve.answer import (
    Answer,
    SolveError,
    region_materials,
    solve,
    solve_twice,
)
from solve.answer_file import load_answers, save_answers
from solve.elasticity import (
    assemble,
    couples_twist,
    edge_traction,
    held_unknowns,
    pressure_load,
    solve_loads,
)
from solve.stress import locate, stress_at
from solve.transfer import axial_forces, axial_transfer
from tests.geometry.test_forms import DETAILS
from tests.joints import FORMS, joint_case

BALANCED = {"angles": [90, 30, -30]}


def coarse(form: str, **changes: object) -> Answer:
    case = joint_case(form, **changes)
    return solve(case, mesh_section(draw_section(case), 0), 2)


@pytest.fixture(scope="module")
def socket() -> Answer:
    return coarse("socket", **DETAILS["socket"])


@pytest.mark.parametrize("form", FORMS)
def test_sea_pressure_pushes_with_p_pi_r_squared(form: str) -> None:
    # Statics: the axial sum of the pressure on the wet surface is p times its projected area.
    for head in ({}, {"head": {"form": "none"}}):
        case = joint_case(form, **DETAILS[form], **head)
        section = draw_section(case)
        mesh = mesh_section(section, 0)
        system = assemble(mesh, region_materials(case, section), 2)
        load = pressure_load(system)
        axial = load[system.unknowns(np.arange(system.space.size), "z")].sum()
        assert axial == pytest.approx(-np.pi * section.outer_radius**2, rel=1e-11)


@pytest.mark.parametrize("form", FORMS)
def test_bonds_bring_the_whole_axial_load(form: str) -> None:
    # Statics of the wall: bonds, sea and reaction at mid-length balance.
    answer = coarse(form, **DETAILS[form])
    rows = {surface: share for surface, _, share in axial_transfer(answer)}
    assert rows["mid-length"] == pytest.approx(1.0, abs=1e-8)
    assert sum(rows.values()) == pytest.approx(0.0, abs=1e-8)
    # the chamfered edge of a wall's end without a lip is wet
    b = answer.section.outer_radius
    chamfer = answer.case.wall.edge_chamfer if form in ("butt", "inner-lap") else 0.0
    wet = (b**2 - (b - chamfer) ** 2) / b**2
    assert rows["sea on the wall's own faces"] == pytest.approx(-wet, abs=1e-12)


def test_forces_of_all_parts_add_up_to_the_load(socket: Answer) -> None:
    # Equilibrium of every free node.
    parts = ("wall", "adhesive", "ring", "head")
    total = sum(axial_forces(socket, "temperature", part) for part in parts)
    held = np.unique(socket.space.edge_dofs["symmetry"])
    free = np.setdiff1d(np.arange(socket.space.size), held)
    scale = np.abs(axial_forces(socket, "temperature", "wall")).max()
    assert np.abs(total[free]).max() < 1e-8 * scale


def test_traction_is_continuous_across_a_bond_face_and_the_rest_jumps(socket: Answer) -> None:
    case = socket.case
    answer = solve(case, mesh_section(draw_section(case), 1), 4)
    bond = answer.section.bond("inner")
    _, _, face = bond.faces(np.linspace(8, 20, 7))
    glue = stress_at(answer, face, ["bond-inner"])["pressure"]
    metal = stress_at(answer, face, ["ring"])["pressure"]
    assert glue[[0, 4]] == pytest.approx(metal[[0, 4]], abs=2e-3 * np.abs(metal).max())
    assert np.abs(glue[1] - metal[1]).min() > 0.2


def test_points_on_a_side_are_found_in_both_triangles() -> None:
    points = np.array(
        [[1, 0], [3, 0], [3, 2], [1, 2], [2, 0], [3, 1], [2, 1], [2, 2], [1, 1]], float
    )
    triangles = np.array([[0, 1, 2, 4, 5, 6], [0, 2, 3, 6, 7, 8]])
    mesh = JointMesh(points, triangles, np.zeros(2, int), ("a",), {})
    where = np.array([[2.0, 2.5, 9.0], [1.0, 0.2, 9.0]])
    point, element, xi = locate(mesh, triangles, np.arange(2), where)
    assert sorted(zip(point.tolist(), element.tolist(), strict=True)) == [(0, 0), (0, 1), (1, 0)]
    assert np.all(xi > -1e-9)


def test_points_on_an_arc_just_off_its_parabola_are_found_and_others_are_not() -> None:
    # Triangle of side 2; barycentric coordinates of points above its upper side are -h / 2 there.
    points = np.array([[1, 0], [3, 2], [1, 2], [2, 1], [2, 2], [1, 1]], float)
    mesh = JointMesh(points, np.arange(6)[None], np.zeros(1, int), ("a",), {})
    where = np.array([[1.5, 1.5, 1.5], [2.001, 2.003, 2.1]])
    point, element, xi = locate(mesh, mesh.triangles, np.arange(1), where)
    assert (point.tolist(), element.tolist()) == ([0, 1], [0, 0])
    assert xi.T == pytest.approx(np.array([[0.25, 0.7505], [0.25, 0.7515]]), abs=1e-12)


def test_no_twist_without_coupling_and_the_same_answer_with_it_forced_in() -> None:
    # "A cross-ply wall feels no twist under pressure": common practice, no published source.
    case = joint_case("butt", head={"form": "none"})
    section = draw_section(case)
    mesh = mesh_section(section, 0)
    materials = region_materials(case, section)
    assert not couples_twist(materials)
    results = []
    for twist in (False, True):
        system = assemble(mesh, materials, 2, twist)
        load = pressure_load(system)[:, None]
        u = solve_loads(system, load, held_unknowns(system))[0][:, 0]
        nodes = np.arange(system.space.size)
        results.append(np.stack([u[system.unknowns(nodes, c)] for c in "rz"]))
        if twist:
            scale = np.abs(u).max()
            assert np.abs(u[system.unknowns(nodes, "t")]).max() < 1e-9 * scale
    assert results[1] == pytest.approx(results[0], abs=1e-9 * np.abs(results[0]).max())


def test_mirrored_layup_twists_the_other_way_and_nothing_else_changes() -> None:
    # Mirror symmetry about a plane through the axis maps +angle to -angle and u_theta to -u_theta.
    block = {"ply": "carbon-epoxy-im", "thickness": "0.19 mm", "repeats": 40}
    answers = [
        coarse("butt", wall__layup=[{**block, "angles": [a, 90]}], head={"form": "none"})
        for a in (25, -25)
    ]
    for load in ("pressure", "temperature"):
        one, two = (a.displacement[load] for a in answers)
        scale = np.abs(one).max()
        assert np.abs(one[:, 1]).max() > 1e-3 * scale
        assert one[:, 1] == pytest.approx(-two[:, 1], abs=1e-8 * scale)
        assert one[:, [0, 2]] == pytest.approx(two[:, [0, 2]], abs=1e-8 * scale)


def test_free_expansion_is_free_of_stress() -> None:
    # One material everywhere: a uniform temperature strains the body alike and stresses nothing.
    case = joint_case("socket", head={"form": "none"})
    section = draw_section(case)
    mesh = mesh_section(section, 0)
    metal = region_materials(case, section)["ring"]
    system = assemble(mesh, dict.fromkeys(section.regions, metal), 2)
    u = solve_loads(system, system.temperature[:, None], held_unknowns(system))[0][:, 0]
    nodes = system.space.edge_dofs["closure"]
    z = section.named["closure"]
    height = section.points[section.edges[z[0]].start, 1]
    assert u[system.unknowns(nodes, "z")] == pytest.approx(metal.cte[2] * height, rel=1e-8)


def test_traction_on_an_edge_adds_up() -> None:
    case = joint_case("butt", head={"form": "none"})
    section = draw_section(case)
    system = assemble(mesh_section(section, 0), region_materials(case, section), 3)
    load = edge_traction(system, "closure", lambda x, n: n * x[0])
    axial = load[system.unknowns(np.arange(system.space.size), "z")].sum()
    # integral of r 2 pi r dr
    assert axial == pytest.approx(2 * np.pi * (170**3 - 146**3) / 3, rel=1e-12)


def test_answers_are_kept_and_read_back(tmp_path: Path) -> None:
    case = joint_case("butt")
    mesh = mesh_section(draw_section(case), 0)
    section = draw_section(case)
    answers = solve_twice(case, mesh, mesh_section(section, -1))
    save_answers(answers, tmp_path / "answer.npz")
    back = load_answers(case, mesh, tmp_path / "answer.npz")
    for one, two in zip(answers, back, strict=True):
        assert one.space.degree == two.space.degree
        assert one.proofs == two.proofs
        assert np.array_equal(one.mesh.triangles, two.mesh.triangles)
        assert one.mesh.regions == two.mesh.regions
        assert set(one.mesh.edges) == set(two.mesh.edges)
        for load, u in one.displacement.items():
            assert np.array_equal(u, two.displacement[load])
    assert [p.name for p in tmp_path.iterdir() if p.is_file()] == ["answer.npz"]
    other = mesh_section(draw_section(case), 1)
    with pytest.raises(SolveError, match="does not belong"):
        load_answers(case, other, tmp_path / "answer.npz")


def test_a_solution_that_does_not_prove_itself_is_refused(
    socket: Answer, monkeypatch: pytest.MonkeyPatch
) -> None:
    import solve.answer as module

    right = module.solve_loads

    def wrong(*args: object, **kwargs: object) -> tuple[np.ndarray, np.ndarray]:
        u, forces = right(*args, **kwargs)  # type: ignore[arg-type]
        return u * (1 + 1e-4), forces * (1 + 1e-4)

    monkeypatch.setattr(module, "solve_loads", wrong)
    with pytest.raises(SolveError, match="residual under pressure"):
        solve(socket.case, socket.mesh, 2)


@pytest.mark.parametrize("wrong", ["one node", "whole hull"])
def test_a_solution_out_of_balance_is_refined(
    socket: Answer, monkeypatch: pytest.MonkeyPatch, wrong: str
) -> None:
    # Equilibrium: a node that is off leaves forces that add up to none along the axis, a hull
    # that is shifted leaves next to no forces but at its plane of symmetry. Each calls for a step.
    from solve import elasticity as module

    system = assemble(socket.mesh, socket.materials, 2)
    loads, held = pressure_load(system)[:, None], held_unknowns(system)
    axial = system.unknowns(np.arange(system.space.size), "z")
    shifted = np.zeros(len(loads))
    amid = np.argmax(np.bincount(system.rows.ravel()))  # a node of many triangles
    shifted[axial if wrong == "whole hull" else [amid | 1]] = 1.0
    shifted[held] = 0
    exact = module._condensed(system, held)
    # so far that one node is off by more than a residual may be, the hull by less
    far = np.linalg.norm(loads) / np.linalg.norm(np.delete(system.forces(shifted[:, None]), held))
    shifted *= far * module.RESIDUAL * (10 if wrong == "one node" else 0.5)
    calls = []

    def off_at_first(loads: np.ndarray) -> np.ndarray:
        calls.append(1)
        return exact(loads) + (len(calls) == 1) * shifted[:, None]

    monkeypatch.setattr(module, "_condensed", lambda *_: off_at_first)
    u, forces = solve_loads(system, loads, held)
    rest = np.delete(loads - forces, held)
    assert len(calls) > 1 and np.linalg.norm(rest) < 1e-10 * np.linalg.norm(loads)
    assert u == pytest.approx(exact(loads), abs=1e-9 * np.abs(u).max())


def test_lost_pressure_fails_the_reaction(socket: Answer, monkeypatch: pytest.MonkeyPatch) -> None:
    import solve.answer as module

    right = module.pressure_load
    monkeypatch.setattr(module, "pressure_load", lambda system: 0.999 * right(system))
    with pytest.raises(SolveError, match="reaction under pressure"):
        solve(socket.case, socket.mesh, 2)


def test_order_of_triangles_does_not_matter(socket: Answer) -> None:
    mesh = socket.mesh
    shuffle = np.random.default_rng(1).permutation(len(mesh.triangles))
    other = replace(mesh, triangles=mesh.triangles[shuffle], region=mesh.region[shuffle])
    again = solve(socket.case, other, 2)
    bond = socket.section.bond("inner")
    points = bond.faces(np.linspace(1, 20, 5))[1]
    regions = ["bond-inner"]
    one = stress_at(socket, points, regions)["pressure"]
    two = stress_at(again, points, regions)["pressure"]
    assert one == pytest.approx(two, abs=1e-7 * np.abs(one).max())
