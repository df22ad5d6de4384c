"""The drawing: whole, legible and made without a mesh. Common practice, no published source,
where a test names none."""

from __future__ import annotations

import subprocess
import sys
from itertools import combinations
from pathlib import Path

import numpy as np
import pytest
from matplotlib.colors import to_hex
from matplotlib.figure import Figure
from matplotlib.patches import PathPatch

from geometry.forms import draw_section
from geometry.materials import library
from post.colours import PARTS, SEA
from post.drawing import draw_joint, joint_figure
from post.outline import drawn_path, evenly, extent, loops, outward, part_loops
from post.sheet import text_boxes
from tests.joints import FORMS, joint_case

ROOT = Path(__file__).parents[2]
HEADS = {
    "hemisphere": {},
    "flat": {"form": "flat", "material": "titanium-6al-4v", "thickness": "40 mm"},
    "none": {"form": "none"},
}
LONG_NAME = "carbon-epoxy-of-a-long-name-that-somebody-gave-it"
SHAPES = {
    "slender": {"wall__half_length": "3000 mm"},
    "short": {"wall__half_length": "80 mm"},
    "thin bond": {"joint__bond_thickness": "0.1 mm"},
    "depth": {"duty__pressure": None, "duty__depth": "3000 m"},
    "resolved plies": {"wall__resolve_plies": {"outermost": 3, "innermost": 3}},
}


def drawing(form: str, head: str = "hemisphere", **changes: object) -> Figure:
    if HEADS[head]:
        changes["head"] = HEADS[head]
    case = joint_case(form, **changes)
    return joint_figure(case, draw_section(case))


def assert_legible(figure: Figure) -> None:
    """No word is cut by the sheet's edge and none lies on another."""
    boxes = text_boxes(figure)
    assert len(boxes) > 10
    width, height = figure.get_figwidth() * 72, figure.get_figheight() * 72
    for words, (left, bottom, right, top) in boxes:
        assert 0 <= left < right <= width, words
        assert 0 <= bottom < top <= height, words
    for (one, a), (two, b) in combinations(boxes, 2):
        apart = a[2] <= b[0] or b[2] <= a[0] or a[3] <= b[1] or b[3] <= a[1]
        assert apart, f"{one!r} lies on {two!r}"


@pytest.mark.parametrize("head", HEADS)
@pytest.mark.parametrize("form", FORMS)
def test_no_words_collide_or_are_cut(form, head):
    assert_legible(drawing(form, head))


@pytest.mark.parametrize("shape", SHAPES)
@pytest.mark.parametrize("form", ["socket", "butt"])
def test_no_words_collide_in_unusual_shapes(form, shape):
    changes = dict(SHAPES[shape])
    if form == "butt":
        changes.pop("joint__overlap", None)
    assert_legible(drawing(form, **changes))


@pytest.mark.parametrize("form", FORMS)
def test_axes_are_equal_with_z_right_and_r_up(form):
    figure = drawing(form)
    for ax in figure.axes:
        box = ax.get_position()
        across = (ax.get_xlim()[1] - ax.get_xlim()[0]) / (box.width * figure.get_figwidth())
        up = (ax.get_ylim()[1] - ax.get_ylim()[0]) / (box.height * figure.get_figheight())
        assert across > 0
        assert up == pytest.approx(across, rel=1e-9)  # one scale, rounding of floats apart


def test_names_every_material_and_dimension():
    words = " ".join(text for text, _ in text_boxes(drawing("socket")))
    for text in (
        "carbon-epoxy-im",
        "epoxy-paste",
        "titanium-6al-4v",
        "bore radius\n150 mm",
        "half length 200 mm",
        "wall\n15.39 mm",  # 27 x 3 x 0.19 mm
        "inner overlap 30 mm",
        "outer overlap 25 mm",
        "1 mm thick",
        "axis of revolution",
        "plane of symmetry",
        "sea pressure 30 MPa",
    ):
        assert text in words, text


def test_without_a_head_the_end_cap_load_is_drawn_and_named():
    assert "end-cap load" in " ".join(text for text, _ in text_boxes(drawing("butt", "none")))
    assert "end-cap load" not in " ".join(text for text, _ in text_boxes(drawing("butt")))


@pytest.mark.parametrize("form", FORMS)
def test_filled_parts_cover_the_section(form):
    # Area by the shoelace formula: of the parts' outlines, and of the faces one by one.
    section = draw_section(joint_case(form))

    def area(loop):
        r, z = np.asarray(loop)[:-1].T
        return np.sum(r * np.roll(z, -1) - np.roll(r, -1) * z) / 2

    parts = [area(p) for part in PARTS for p in part_loops(section, part)]
    faces = [area(loops(section, [face])[0]) for face in section.faces]
    assert min(faces) > 0
    assert sum(parts) == pytest.approx(sum(faces), rel=1e-9)
    assert len(part_loops(section, "ring")) == len(part_loops(section, "wall")) == 1


@pytest.mark.parametrize("form", FORMS)
def test_arrows_press_from_outside(form):
    # A step along the outward normal leaves every part, a step against it enters one.
    section = draw_section(joint_case(form))
    solid = drawn_path([loop for part in PARTS for loop in part_loops(section, part)])
    points, normals = evenly(outward(section, "wet"), 15.0)
    assert len(points) > 20
    step = 0.05  # mm, less than any part is thick
    assert not solid.contains_points((points + step * normals)[:, ::-1]).any()
    assert solid.contains_points((points - step * normals)[:, ::-1]).all()


def test_sea_touches_what_is_drawn_as_wet():
    # the wet line is the blue one: as long as the section's wet edges
    case = joint_case("socket")
    section = draw_section(case)
    whole = joint_figure(case, section, "whole").axes[0]
    drawn = [line for line in whole.lines if to_hex(line.get_color()) == SEA]
    length = sum(np.linalg.norm(np.diff(line.get_xydata(), axis=0), axis=1).sum() for line in drawn)
    wanted = sum(section.edge_length(section.edges[edge]) for edge in section.named["wet"])
    # arcs are drawn as 32 chords a quarter turn: short by 1 - sin(x)/x at x = pi/128, 1e-4
    assert length == pytest.approx(wanted, rel=1e-4)


def test_parts_differ_in_hatching_for_print():
    figure = drawing("socket")
    hatches = {p.get_hatch() for p in figure.axes[0].patches if isinstance(p, PathPatch)}
    assert len({h for h in hatches if h}) >= 3


def test_drawing_takes_no_mesh(tmp_path):
    # In a process of its own: what draws must not even load the mesher.
    target = tmp_path / "section.svg"
    code = (
        "import sys, pathlib\n"
        "from geometry.case import read_case\n"
        "from geometry.forms import draw_section\n"
        "from post.drawing import draw_joint\n"
        "case = read_case('cases/minimal/case.yaml')\n"
        f"draw_joint(case, draw_section(case), pathlib.Path({str(target)!r}))\n"
        "assert 'gmsh' not in sys.modules and 'geometry.mesh' not in sys.modules\n"
    )
    done = subprocess.run([sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True)
    assert done.returncode == 0, done.stderr
    assert done.stderr == ""
    assert target.read_text().rstrip().endswith("</svg>")


def test_same_case_gives_the_same_file(tmp_path):
    case = joint_case("scarf")
    for name in ("one.svg", "two.svg"):
        draw_joint(case, draw_section(case), tmp_path / name)
    assert (tmp_path / "one.svg").read_bytes() == (tmp_path / "two.svg").read_bytes()


def test_long_names_of_materials_stay_on_the_sheet():
    card = library()["carbon-epoxy-im"].model_dump(mode="json", exclude_none=True)
    layup = [{"ply": LONG_NAME, "thickness": "0.19 mm", "angles": [90, 0], "repeats": 40}]
    case = joint_case("socket", wall__layup=layup, materials={LONG_NAME: card})
    assert_legible(joint_figure(case, draw_section(case)))


def test_whole_section_lies_inside_its_view():
    section = draw_section(joint_case("outer-lap"))
    z0, z1, r0, r1 = extent(section)
    assert (z0, r0) == (0, 0)
    assert section.points[:, 1].max() <= z1 and section.points[:, 0].max() <= r1
