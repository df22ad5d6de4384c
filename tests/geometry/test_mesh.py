"""Meshes of every form: names, fill, structure, sizes, sameness."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from geometry.errors import CaseError
from geometry.forms import draw_section
from geometry.mesh import JointMesh, MeshError, check_quality, jacobians, mesh_section, read_mesh
from geometry.planar import conform, name_edges
from geometry.section import Outline, Region, Section
from geometry.sizes import Grading, divide_edges, hot_points
from tests.geometry.test_forms import DETAILS, area
from tests.joints import FORMS, joint_case, random_joint


@pytest.fixture(scope="module")
def detailed() -> dict[str, tuple[Section, JointMesh]]:
    sections = {form: draw_section(joint_case(form, **DETAILS[form])) for form in FORMS}
    return {form: (section, mesh_section(section, 0)) for form, section in sections.items()}


@pytest.mark.parametrize("form", FORMS)
def test_names_follow_from_section_to_mesh(
    detailed: dict[str, tuple[Section, JointMesh]], form: str
) -> None:
    section, mesh = detailed[form]
    assert set(mesh.regions) == set(section.regions)
    assert set(mesh.edges) == set(section.named)
    assert len(mesh.region) == len(mesh.triangles)
    for name, sides in mesh.edges.items():
        first, last, middle = mesh.points[sides].transpose(1, 2, 0)
        length = (np.hypot(*(middle - first)) + np.hypot(*(last - middle))).sum()
        drawn = sum(section.edge_length(section.edges[e]) for e in section.named[name])
        assert length == pytest.approx(drawn, rel=5e-3)  # chords of arcs


@pytest.mark.parametrize("form", FORMS)
def test_mesh_conforms_and_outline_is_the_sections(
    detailed: dict[str, tuple[Section, JointMesh]], form: str
) -> None:
    # In a conforming mesh a side has two triangles, or one on the outline.
    _, mesh = detailed[form]
    sides = np.sort(mesh.triangles[:, [[0, 1], [1, 2], [2, 0]]].reshape(-1, 2), axis=1)
    _, count = np.unique(sides, axis=0, return_counts=True)
    assert count.max() == 2
    outline = sum(len(mesh.edges[n]) for n in ("wet", "dry", "symmetry", "axis"))
    assert np.sum(count == 1) == outline


@pytest.mark.parametrize("form", FORMS)
def test_at_least_four_elements_through_each_bond_at_the_coarsest_level(
    detailed: dict[str, tuple[Section, JointMesh]], form: str
) -> None:
    section, mesh = detailed[form]
    for bond in section.bonds:
        wall, _, ring = bond.faces(np.array([0.47 * bond.length]))
        members = np.flatnonzero(mesh.region == mesh.regions.index(bond.region))
        # walk from face to face and count the triangles of the bond that are entered
        t = np.linspace(0.001, 0.999, 2000)
        line = wall + (ring - wall) * t
        corners = mesh.points[mesh.triangles[members, :3]]
        a, b, c = corners.transpose(1, 2, 0)[:, :, :, None]
        d = (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])
        x, z = line
        u = ((x - a[0]) * (c[1] - a[1]) - (z - a[1]) * (c[0] - a[0])) / d
        v = ((b[0] - a[0]) * (z - a[1]) - (b[1] - a[1]) * (x - a[0])) / d
        inside = (u > 0) & (v > 0) & (u + v < 1)
        # a row of two triangles per cell is crossed in at most two
        assert np.any(inside, axis=1).sum() >= 4


def test_arcs_are_curved() -> None:
    mesh = mesh_section(draw_section(joint_case("butt")), 0)
    section = draw_section(joint_case("butt"))
    base = max(z for r, z in section.points if r == 170.0)
    head = mesh.edges["wet"]
    on_head = head[mesh.points[head[:, 2], 1] > base + 1e-6]
    radius = np.hypot(mesh.points[on_head, 0], mesh.points[on_head, 1] - base)
    outside = np.isclose(radius[:, 0], radius[:, 0].max())
    assert outside.sum() > 4
    assert np.ptp(radius[outside]) < 1e-9  # corners and mid-side nodes alike


def test_sizes_halve_with_the_level() -> None:
    section = draw_section(joint_case("socket"))
    grading = Grading()
    coarse = [len(t) - 1 for t in divide_edges(section, 1, grading)]
    fine = [len(t) - 1 for t in divide_edges(section, 2, grading)]
    ratio = np.array(fine) / np.array(coarse)
    assert np.all(ratio[np.array(coarse) > 10] == pytest.approx(2.0, abs=0.11))


def test_sizes_are_graded_to_bond_ends() -> None:
    section = draw_section(joint_case("socket"))
    grading = Grading()
    divisions = divide_edges(section, 1, grading)
    for number in section.named["bond-inner|wall"]:
        length = section.edge_length(section.edges[number])
        steps = np.diff(divisions[number]) * length
        assert steps[[0, -1]].max() < 1.5 * grading.bond_corner  # bond 1 mm thick
        assert steps.max() > 20 * steps.min()


def test_rows_of_wall_and_bond_have_equal_numbers_on_opposite_sides() -> None:
    section = draw_section(joint_case("socket", ring__root_radius="2 mm"))
    divisions = divide_edges(section, 1, Grading())
    for face in section.faces:
        if face.sides and all(len(side) == 1 for side in face.sides):
            n = [len(divisions[abs(side[0]) - 1]) for side in face.sides]
            assert n[0] == n[2]
            assert n[1] == n[3]


def test_hot_points_are_bond_corners_and_reentrant_corners_only() -> None:
    section = draw_section(joint_case("butt", ring__inner_radius="150 mm", head={"form": "none"}))
    points, sizes = hot_points(section, Grading())
    corners = {(r, z) for r in (150.0, round(150 + 27 * 3 * 0.19, 9)) for z in (200.0, 201.0)}
    smallest = {tuple(p.round(9)) for p in points[sizes == sizes.min()]}
    assert smallest == corners


def test_the_same_section_gives_the_same_mesh(tmp_path: Path) -> None:
    section = draw_section(joint_case("socket", **DETAILS["socket"]))
    one, two = mesh_section(section, 0), mesh_section(section, 0)
    assert np.array_equal(one.points, two.points)
    assert np.array_equal(one.triangles, two.triangles)


def test_a_written_mesh_reads_back(tmp_path: Path) -> None:
    section = draw_section(joint_case("scarf"))
    mesh = mesh_section(section, 0, tmp_path / "mesh.msh")
    back = read_mesh(tmp_path / "mesh.msh")
    assert back.regions == mesh.regions
    assert np.array_equal(back.triangles, mesh.triangles)
    assert back.points == pytest.approx(mesh.points, abs=1e-12)
    assert {k: v.tolist() for k, v in back.edges.items()} == {
        k: v.tolist() for k, v in mesh.edges.items()
    }
    assert [p.name for p in tmp_path.iterdir() if p.is_file()] == ["mesh.msh"]


def test_an_unreadable_mesh_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "broken.msh"
    path.write_text("no mesh")
    with pytest.raises(MeshError, match="broken.msh"):
        read_mesh(path)


def test_jacobians_of_a_straight_triangle_are_twice_its_area() -> None:
    corners = np.array([[1.0, 0.0], [4.0, 1.0], [2.0, 5.0]])
    points = np.vstack([corners, (corners + np.roll(corners, -1, axis=0)) / 2])
    assert jacobians(points, np.array([[0, 1, 2, 3, 4, 5]])) == pytest.approx(14.0)


def test_a_folded_triangle_is_an_error() -> None:
    section = draw_section(joint_case("butt"))
    mesh = mesh_section(section, 0)
    points = mesh.points.copy()
    worst = mesh.triangles[100]
    points[worst[3]] += 2.0 * (points[worst[2]] - points[worst[3]])
    with pytest.raises(MeshError, match="folded"):
        check_quality(replace(mesh, points=points), section)


def test_a_missing_piece_is_an_error() -> None:
    section = draw_section(joint_case("butt"))
    mesh = mesh_section(section, 0)
    big = np.argsort(-np.abs(jacobians(mesh.points, mesh.triangles)[:, 0]))[:5]
    kept = np.setdiff1d(np.arange(len(mesh.triangles)), big)
    with pytest.raises(MeshError, match="fills"):
        check_quality(
            replace(mesh, triangles=mesh.triangles[kept], region=mesh.region[kept]), section
        )


def test_a_hole_in_the_section_is_refused() -> None:
    # Four bars around a square hole.
    regions = {"ring": Region("ring", "ring", "metal")}
    bars = [((1, 0), (4, 1)), ((1, 3), (4, 4)), ((1, 1), (2, 3)), ((3, 1), (4, 3))]
    outlines = [
        Outline("ring", ((a, c), (b, c), (b, d), (a, d)))
        for (a, c), (b, d) in (
            ((float(p[0]), float(p[1])), (float(q[0]), float(q[1]))) for p, q in bars
        )
    ]
    points, edges, faces = conform(outlines, regions)
    with pytest.raises(ValueError, match="hole"):
        name_edges(points, edges, faces, regions, None)


@pytest.mark.parametrize("block", range(5))
def test_odd_proportions_are_meshed_or_refused_by_name(block: int) -> None:
    # A mesh is checked for folds, slivers and fill as it is made.
    meshed = 0
    for seed in range(8 * block, 8 * block + 8):
        try:
            section = draw_section(random_joint(seed))
        except CaseError as refused:
            assert "allowed:" in str(refused)
            continue
        meshed += len(mesh_section(section, seed % 2).triangles) > 0
    assert meshed >= 6


def test_a_face_bounded_by_a_long_arc_is_run_counter_clockwise() -> None:
    # The chord polygon of this corner runs clockwise though its outline does not.
    case = joint_case("outer-lap", ring__root_radius="5 mm", wall__edge_chamfer="2.5 mm")
    section = draw_section(case)
    assert len(mesh_section(section, 0).triangles) > 0
    assert area(section, "adhesive") > 0
