"""Sections of every form: areas, edges, bondlines, refusals."""

from __future__ import annotations

import math

import numpy as np
import pytest

from geometry.errors import CaseError
from geometry.forms import draw_section
from geometry.section import Section
from tests.joints import FORMS, joint_case

DETAILS = {
    "butt": {"joint__squeeze_out": "1 mm", "wall__edge_chamfer": "0.5 mm"},
    "inner-lap": {"joint__squeeze_out": "1 mm", "ring__root_radius": "1.5 mm"},
    "outer-lap": {"wall__edge_chamfer": "1 mm", "ring__root_radius": "2 mm"},
    "socket": {
        "joint__squeeze_out": "1 mm",
        "ring__root_radius": "2 mm",
        "wall__edge_chamfer": "1 mm",
    },
    "scarf": {"joint__squeeze_out": "1 mm", "ring__lip": {"inner": "3 mm"}},
}


def area(section: Section, part: str) -> float:
    """Area of a part by Green's theorem on its faces' outlines."""
    total = 0.0
    t = np.linspace(0, 1, 2001)
    for face in section.faces:
        if section.regions[face.region].part != part:
            continue
        for signed in face.loop:
            p = section.edge_points(section.edges[abs(signed) - 1], t)
            p = p if signed > 0 else p[::-1]
            total += np.sum(p[:-1, 0] * p[1:, 1] - p[1:, 0] * p[:-1, 1]) / 2
    return float(total)


@pytest.mark.parametrize("detailed", [False, True])
@pytest.mark.parametrize("form", FORMS)
def test_every_edge_has_one_or_two_faces_and_a_role(form: str, detailed: bool) -> None:
    # A planar graph: an inner edge is run once each way by its two faces.
    section = draw_section(joint_case(form, **(DETAILS[form] if detailed else {})))
    runs: dict[int, list[int]] = {}
    for face in section.faces:
        for signed in face.loop:
            runs.setdefault(abs(signed) - 1, []).append(signed)
    assert set(runs) == set(range(len(section.edges)))
    outline = {e for e, r in runs.items() if len(r) == 1}
    for signed in runs.values():
        assert len(signed) == 1 or (len(signed) == 2 and sum(signed) == 0)
    roles = [section.named[k] for k in ("wet", "dry", "symmetry", "axis")]
    assert sorted(e for role in roles for e in role) == sorted(outline)


@pytest.mark.parametrize("form", FORMS)
def test_wet_outline_closes_around_the_end_cap(form: str) -> None:
    # One chain from (b, 0) at mid-length to the axis: every point joins two wet edges but its ends.
    section = draw_section(joint_case(form, **DETAILS[form]))
    edges = [section.edges[n] for n in section.named["wet"]]
    points, uses = np.unique([[e.start, e.end] for e in edges], return_counts=True)
    ends = section.points[points[uses == 1]]
    assert sorted(map(tuple, ends.round(9))) == [
        (0.0, pytest.approx(ends[:, 1].max())),
        (pytest.approx(section.outer_radius), 0.0),
    ]


def test_butt_adhesive_area_is_thickness_times_wall() -> None:
    section = draw_section(joint_case("butt"))
    assert area(section, "adhesive") == pytest.approx(27 * 3 * 0.19 * 1.0, rel=1e-12)


def test_socket_adhesive_area_counts_laps_end_corners_and_fillets() -> None:
    section = draw_section(joint_case("socket", joint__squeeze_out="1 mm"))
    wall = 27 * 3 * 0.19
    laps, end, corners, fillets = 30 + 25, wall, 2, 2 * 0.5
    assert area(section, "adhesive") == pytest.approx(laps + end + corners + fillets, rel=1e-12)


def test_root_radius_takes_its_corner_from_the_adhesive() -> None:
    # A quarter round of radius R in a square corner takes (1 - pi / 4) R^2 from it.
    case = {"wall__edge_chamfer": "1 mm"}
    sharp = area(draw_section(joint_case("socket", **case)), "adhesive")
    round_ = area(draw_section(joint_case("socket", ring__root_radius="2 mm", **case)), "adhesive")
    assert sharp - round_ == pytest.approx(2 * (1 - math.pi / 4) * 4, rel=1e-6)


def test_edge_chamfer_moves_its_triangles_from_wall_to_adhesive() -> None:
    flat = draw_section(joint_case("socket"))
    cut = draw_section(joint_case("socket", wall__edge_chamfer="1 mm"))
    assert area(flat, "wall") - area(cut, "wall") == pytest.approx(1.0, rel=1e-9)
    assert area(cut, "adhesive") - area(flat, "adhesive") == pytest.approx(1.0, rel=1e-9)


def test_chamfer_cuts_resolved_plies_one_by_one() -> None:
    case = joint_case(
        "socket", wall__edge_chamfer="1 mm", wall__resolve_plies={"innermost": 3, "outermost": 8}
    )
    section = draw_section(case)
    whole = draw_section(joint_case("socket", wall__edge_chamfer="1 mm"))
    assert len(section.layers) == 13  # 3 + 8 plies, 23 whole units, one broken unit of one ply
    assert area(section, "wall") == pytest.approx(area(whole, "wall"), rel=1e-9)


@pytest.mark.parametrize("side", ["inner", "outer"])
@pytest.mark.parametrize("lip", ["0 mm", "3 mm"])
def test_scarf_faces_are_parallel_at_the_bond_thickness(side: str, lip: str) -> None:
    case = joint_case(
        "scarf", joint__overlap={side: "60 mm"}, ring__lip={side: lip}, joint__bond_thickness="2 mm"
    )
    section = draw_section(case)
    bond = section.bond("scarf")
    s = np.linspace(0.2, 0.8, 5) * bond.length
    wall, mid, ring = bond.faces(s)
    assert np.hypot(*(wall - ring)) == pytest.approx(2.0)
    # both faces lie on their interfaces
    for name, points in (("bond-scarf|wall", wall), ("bond-scarf|ring", ring)):
        lines = [section.edges[e] for e in section.named[name]]
        for p in points.T:
            off = []
            for line in lines:
                a, b = section.points[line.start], section.points[line.end]
                d = (b - a) / np.hypot(*(b - a))
                off.append(
                    abs(d[0] * (p - a)[1] - d[1] * (p - a)[0]) + max(0, -(p - a) @ d, (p - b) @ d)
                )
            assert min(off) < 1e-9
    assert area(section, "adhesive") > 0


def test_bondline_follows_chamfer_and_root_radius() -> None:
    case = joint_case("socket", wall__edge_chamfer="1 mm", ring__root_radius="2 mm")
    bond = draw_section(case).bond("inner")
    # at the wall's end plane the chamfer has taken 1 mm; the arc's centre lies 1 mm below the
    # end plane and 2 mm off the groove's wall, so the ring stands in by 2 - sqrt(4 - 1)
    wall, mid, ring = bond.faces(np.array([0.0, bond.length]))
    assert wall[0] == pytest.approx([150.0, 151.0])
    assert ring[0] == pytest.approx([149.0, 149.0 + 2 - math.sqrt(3)])
    assert mid == pytest.approx((wall + ring) / 2)


def test_end_bond_of_an_outer_lap_starts_at_its_open_edge_at_the_bore() -> None:
    bond = draw_section(joint_case("outer-lap")).bond("end")
    assert bond.start[0] == pytest.approx(150.0)
    assert bond.along == (1.0, 0.0)
    bond = draw_section(joint_case("inner-lap")).bond("end")
    assert bond.start[0] == pytest.approx(150.0 + 27 * 3 * 0.19)
    assert bond.along == (-1.0, 0.0)


def test_without_a_head_the_end_face_closes_the_outline() -> None:
    section = draw_section(joint_case("butt", head={"form": "none"}))
    z = {float(section.points[section.edges[e].start][1]) for e in section.named["closure"]}
    assert z == {200.0 + 1.0 + 20.0}
    assert "axis" not in section.named


def test_a_section_knows_its_sea_without_a_mesh() -> None:
    section = draw_section(joint_case("socket"))
    radii = [section.points[section.edges[e].start][0] for e in section.named["dry"]]
    assert min(section.points[section.edges[e].start][1] for e in section.named["wet"]) == 0.0
    assert max(radii) < section.outer_radius


@pytest.mark.parametrize(
    ("form", "changes", "field"),
    [
        (
            "socket",
            {"joint__overlap": {"inner": "250 mm", "outer": "25 mm"}},
            "joint.overlap.inner",
        ),
        ("socket", {"ring__lip": {"inner": "149.5 mm", "outer": "12 mm"}}, "ring.lip.inner"),
        ("socket", {"ring__root_radius": "4 mm"}, "ring.root_radius"),
        (
            "socket",
            {"joint__overlap": {"inner": "1.2 mm", "outer": "25 mm"}, "wall__edge_chamfer": "1 mm"},
            "joint.overlap.inner",
        ),
        ("butt", {"ring__inner_radius": "152 mm"}, "ring.inner_radius"),
        ("butt", {"ring__outer_radius": "160 mm"}, "ring.outer_radius"),
        ("socket", {"ring__inner_radius": "140 mm"}, "ring.inner_radius"),
        ("butt", {"head__thickness": "60 mm"}, "head.thickness"),
        ("butt", {"head__inner_radius": "120 mm"}, "head.inner_radius"),
        ("scarf", {"joint__overlap": {"inner": "199 mm"}}, "joint.overlap.inner"),
        ("scarf", {"ring__lip": {"inner": "0.5 mm"}}, "ring.lip.inner"),
        ("scarf", {"ring__root_radius": "1 mm"}, "ring.root_radius"),
    ],
)
def test_impossible_geometry_is_refused_by_name(
    form: str, changes: dict[str, object], field: str
) -> None:
    with pytest.raises(CaseError) as refused:
        draw_section(joint_case(form, **changes))
    assert f"{field}:" in str(refused.value)
    assert "allowed:" in str(refused.value)
    assert "\n" not in str(refused.value)
