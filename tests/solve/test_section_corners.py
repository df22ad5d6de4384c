"""Corners of sections: which there are, what meets there, and what finite elements make of them."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from geometry.case import Case
from geometry.forms import draw_section
from geometry.mesh import mesh_section
from geometry.section import Section
from solve import section_corners as module
from solve.answer import Answer, region_materials, solve
from solve.cited_materials import CARBON_EPOXY, isotropic
from solve.corner_decay import TOWARDS_CORNERS, decay_checks, stress_slope
from solve.corners import Wedge, corner_exponents
from solve.laminate import Material, ply_material
from solve.section_corners import SectionCorner, outside_corners, section_corners
from solve.solid import make_section, rectangle
from tests.joints import joint_case

FORMS = ("butt", "inner-lap", "outer-lap", "socket", "scarf")


def corners_of(case: Case) -> list[SectionCorner]:
    section = draw_section(case)
    return section_corners(section, region_materials(case, section))


def meeting(corner: SectionCorner) -> list[tuple[str, float]]:
    """Parts and openings, in order of the angle."""
    return [(w.part, round(w.angle, 3)) for w in corner.wedges]


def test_butt_joint_has_the_corners_that_one_can_count() -> None:
    # Source: the drawing. The ring is wider than the wall, the head narrower than the ring.
    corners = corners_of(joint_case("butt"))
    assert [(c.point[1], meeting(c), c.closed) for c in corners] == [
        (200.0, [("wall", 90.0), ("adhesive", 90.0)], False),
        (200.0, [("adhesive", 90.0), ("wall", 90.0)], False),
        (201.0, [("adhesive", 90.0), ("ring", 180.0)], False),
        (201.0, [("ring", 180.0), ("adhesive", 90.0)], False),
        (221.0, [("ring", 270.0)], False),
        (221.0, [("head", 270.0)], False),  # named after the wedge that comes first
    ]
    assert all(c.singular for c in corners)


def test_exponents_are_those_of_the_wedges() -> None:
    # Source: solve.corners, itself held against published numbers.
    case = joint_case("butt")
    section = draw_section(case)
    materials = region_materials(case, section)
    for corner in section_corners(section, materials):
        wedges = [Wedge(materials[w.regions[0]].C, w.start, w.end) for w in corner.wedges]
        ours = np.array([e.value for e in corner.exponents])
        wanted = np.array([e.value for e in corner_exponents(wedges, closed=corner.closed)])
        assert np.abs(ours - wanted).max() < 1e-9


@pytest.mark.parametrize("form", FORMS)
def test_angles_add_up(form: str) -> None:
    for corner in corners_of(joint_case(form)):
        total = sum(w.angle for w in corner.wedges)
        assert total == pytest.approx(360.0) if corner.closed else 0 < total < 360
        for one, two in zip(corner.wedges[:-1], corner.wedges[1:], strict=True):
            assert one.end == two.start
            assert one.material != two.material


def test_groove_of_a_lap_is_bonded_all_around() -> None:
    # Source: the drawing: adhesive fills the corner of the groove and covers the wall's edge.
    closed = [meeting(c) for c in corners_of(joint_case("inner-lap")) if c.closed]
    assert sorted(sorted(c) for c in closed) == [
        [("adhesive", 90.0), ("ring", 270.0)],
        [("adhesive", 270.0), ("wall", 90.0)],
    ]


def test_root_radius_leaves_no_corner() -> None:
    # Source: the tangents of an arc that rounds a corner are those of its neighbours.
    sharp = corners_of(joint_case("inner-lap"))
    round_ = corners_of(joint_case("inner-lap", ring__root_radius="0.5 mm"))
    assert len(round_) == len(sharp) - 1
    assert not [c for c in round_ if c.closed and "ring" in [w.part for w in c.wedges]]


def test_arcs_meet_at_their_tangents() -> None:
    # Source: the drawing: a hemisphere leaves the ring's end face square to it, at 90 + 180
    # degrees; from the chord of its arc the angle would be 45 degrees off.
    heads = [c for c in corners_of(joint_case("butt")) if c.point[1] == 221.0]
    assert [w.angle for c in heads for w in c.wedges] == pytest.approx([270.0, 270.0], abs=1e-9)


def test_fillet_and_chamfer_turn_the_angles() -> None:
    # Source: the drawing: both at 45 degrees.
    corners = corners_of(
        joint_case("socket", joint__squeeze_out="1 mm", wall__edge_chamfer="0.3 mm")
    )
    angles = [sorted(meeting(c)) for c in corners]
    assert angles.count([("adhesive", 45.0), ("wall", 180.0)]) == 2
    assert angles.count([("adhesive", 135.0), ("ring", 90.0)]) == 2
    assert angles.count([("adhesive", 225.0), ("wall", 135.0)]) == 4


LAYUP: list[dict[str, Any]] = [
    {"ply": "carbon-epoxy-im", "thickness": "0.19 mm", "angles": [90, 90, 0], "repeats": 10},
    {"ply": "carbon-epoxy-im", "thickness": "0.19 mm", "angles": [0, 90, 0], "repeats": 10},
    {"ply": "carbon-epoxy-im", "thickness": "0.19 mm", "angles": [90, 90, 0], "repeats": 10},
]


def test_layers_of_different_stiffness_meet_the_bond_in_corners() -> None:
    # Source: the drawing: three wedges where the layers' interface ends on the bond.
    junctions = [c for c in corners_of(joint_case("butt", wall__layup=LAYUP)) if c.closed]
    assert [sorted(meeting(c)) for c in junctions] == [
        [("adhesive", 180.0), ("wall", 90.0), ("wall", 90.0)]
    ] * 2
    for corner in junctions:
        assert len({w.material for w in corner.wedges}) == 3


def test_layers_of_one_stiffness_are_one_material() -> None:
    layup = [LAYUP[0], LAYUP[0] | {"repeats": 5}]
    assert len(corners_of(joint_case("butt", wall__layup=layup))) == len(
        corners_of(joint_case("butt"))
    )


def test_nothing_on_axis_or_symmetry_plane() -> None:
    for layup in (LAYUP, [LAYUP[1]]):
        corners = corners_of(joint_case("butt", wall__layup=layup, head__form="flat"))
        assert all(c.point[0] > 1.0 and c.point[1] > 1.0 for c in corners)


def two_plies(angles: tuple[float, float]) -> tuple[Section, dict[str, Material]]:
    """Two plies whose edge is free at z = 10."""
    section = make_section(
        [rectangle("in", (50.0, 52.0), (0.0, 10.0)), rectangle("out", (52.0, 54.0), (0.0, 10.0))],
        {"in": "wall", "out": "ring"},
        thickness=4.0,
        closure_z=10.0,
    )
    materials = [ply_material(CARBON_EPOXY, angle) for angle in angles]
    return section, dict(zip(("in", "out"), materials, strict=True))


def test_antiplane_exponents_count_only_where_something_drives_them() -> None:
    # Source: without coupling u_theta stays zero under pressure and temperature.
    calm, twisted = (section_corners(*two_plies(a)) for a in ((0.0, 90.0), (30.0, -30.0)))
    assert [c.twists for c in calm + twisted] == [False, True]
    assert {e.kind for e in twisted[0].unbounded} == {"coupled"}
    soft = (isotropic(3e3, 0.35), ply_material(CARBON_EPOXY, 30.0))
    section, _ = two_plies((0.0, 0.0))
    corner = section_corners(section, dict(zip(("in", "out"), soft, strict=True)))[0]
    assert corner.twists
    case = joint_case("butt")
    steep = next(c for c in corners_of(case) if meeting(c) == [("ring", 270.0)])
    kinds = [e.kind for e in steep.exponents if e.singular]
    assert "antiplane" in kinds
    assert {e.kind for e in steep.unbounded} == {"in-plane"}


def test_words_say_what_meets_and_how_stress_grows() -> None:
    corners = corners_of(joint_case("scarf"))
    bounded = [c for c in corners if not c.singular]
    assert bounded
    assert all(c.words.endswith("stress is bounded") for c in bounded)
    notch = next(c for c in corners if meeting(c) == [("ring", 270.0)])
    # Williams 1952: 0.5444837 and 0.9085292
    assert "titanium-6al-4v 270°" in notch.words
    assert notch.words.endswith("distance to the power −0.4555 and −0.0915")


def test_neighbourhood_follows_bond_and_seat() -> None:
    case = joint_case("inner-lap", joint__bond_thickness={"inner": "0.4 mm", "end": "1 mm"})
    section = draw_section(case)
    materials = region_materials(case, section)
    corners = section_corners(section, materials)
    by_place = {(round(c.point[0], 3), round(c.point[1], 3)): c for c in corners}
    assert by_place[150.0, 170.0].radius == pytest.approx(0.2)  # half of the inner bond
    assert by_place[165.39, 200.0].radius == pytest.approx(0.5)  # half of the end bond
    seat = case.head.thickness
    assert seat is not None
    metal = [c for c in corners if c.wedges[0].material == "titanium-6al-4v" and not c.wedges[1:]]
    assert [c.radius for c in metal] == pytest.approx([0.1 * seat] * 2)
    wide = section_corners(section, materials, bond_share=1.0, seat_share=0.2)
    assert [c.radius for c in wide] == pytest.approx([2 * c.radius for c in corners])


def test_points_near_corners_are_left_out() -> None:
    corners = corners_of(joint_case("scarf"))
    sharp = next(c for c in corners if c.singular)
    bounded = next(c for c in corners if not c.singular)
    points = np.array([sharp.point, sharp.point, bounded.point]).T
    points[1, 1] += 1.01 * sharp.radius
    points[1, 0] += 1e-9
    assert outside_corners(corners, points).tolist() == [False, True, False]


def test_equal_configurations_are_solved_once(monkeypatch: pytest.MonkeyPatch) -> None:
    calls = []

    def counted(wedges: list[Wedge], *, closed: bool) -> tuple[()]:
        calls.append(wedges)
        return ()

    monkeypatch.setattr(module, "corner_exponents", counted)
    module._exponents.cache_clear()
    for length in ("200 mm", "210 mm"):
        corners_of(joint_case("butt", wall__half_length=length))
    module._exponents.cache_clear()
    # two corners of wall and bond, two of bond and ring, the notches inside and outside the head
    assert len(calls) == 6


def test_finite_elements_grow_with_published_exponents() -> None:
    # Source: named in the rows.
    checks = decay_checks()
    assert len(checks) == 4
    for c in checks:
        assert c.passes, f"{c.claim}: {c.published}, ours {c.ours}, allowed {c.allowed}"


CROSS_PLY, OFF_AXIS = [90, 90, 0], [90, 40, 0]


@pytest.fixture(scope="module", params=[("butt", 0), ("butt", 1), ("inner-lap", 0)])
def graded(request: pytest.FixtureRequest) -> tuple[str, Answer]:
    """Joints without a head, their meshes graded far beyond what a case needs."""
    form, wall = request.param
    angles = (CROSS_PLY, OFF_AXIS)[wall]
    case = joint_case(
        form,
        wall__half_length="60 mm",
        wall__layup=[LAYUP[0] | {"angles": angles, "repeats": 27}],
        head__form="none",
        head__material=None,
        head__thickness=None,
    )
    mesh = mesh_section(draw_section(case), grading=TOWARDS_CORNERS)
    return form, solve(case, mesh)


# At the bore: what meets in a corner, and the wedges in whose middle shear is read. The others
# hold more of a uniform stress, which does not grow.
READ = {
    "butt": {
        (("adhesive", 90), ("wall", 90)): ("adhesive", "wall"),
        (("adhesive", 90), ("ring", 180)): ("adhesive",),
    },
    "inner-lap": {
        (("adhesive", 90), ("wall", 180)): ("adhesive", "wall"),
        (("adhesive", 90), ("ring", 90)): ("ring",),
    },
}


def test_stress_of_a_joint_grows_with_the_exponent(graded: tuple[str, Answer]) -> None:
    # Source: solve.corners, a formulation without elements; 0.02 leaves room for what does not
    # grow towards the corner.
    form, answer = graded
    left = dict(READ[form])
    for corner in section_corners(answer.section, answer.materials):
        key = tuple(sorted((w.part, round(w.angle)) for w in corner.wedges))
        for part in left.pop(key, ()):
            wedge = next(w for w in corner.wedges if w.part == part)
            slope = stress_slope(answer, corner, wedge, "pressure", "shear", 1.0)
            assert slope == pytest.approx(corner.unbounded[0].stress, abs=0.02), corner.words
    assert not left
