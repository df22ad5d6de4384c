"""The field file and the stress pictures. Common practice, no published source, where a test
names none. Rendering runs in a process of its own: without its libraries it ends the process."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import matplotlib.image
import meshio
import numpy as np
import pytest
import pyvista

from post.bondline import duty_factors
from post.colours import signed_map
from post.fields import write_fields
from post.pictures import HELD, fields_of, limit_of, values_of
from post.sampling import lattice, sample
from solve.stress import stress_at

ROOT = Path(__file__).parents[2]


@pytest.fixture(scope="module")
def vtu(answer, tmp_path_factory):
    path = tmp_path_factory.mktemp("fields") / "fields.vtu"
    write_fields(answer, path)
    return path


@pytest.fixture(scope="module")
def mesh(vtu):
    return meshio.read(vtu)


def test_another_reader_sees_quadratic_triangles(mesh, answer):
    (block,) = mesh.cells
    assert block.type == "triangle6"
    assert len(block.data) == len(answer.mesh.triangles)
    # x is z, y is r
    assert mesh.points[:, 0].max() == answer.mesh.points[:, 1].max()
    assert mesh.points[:, 1].max() == answer.mesh.points[:, 0].max()


def test_mid_side_points_lie_amid_their_sides(mesh):
    # VTK file formats: node 3 amid 0-1, 4 amid 1-2, 5 amid 2-0. Straight sides: exactly halfway.
    x = mesh.points[mesh.cells[0].data]
    for middle, i, j in ((3, 0, 1), (4, 1, 2), (5, 2, 0)):
        off = np.linalg.norm(x[:, middle] - (x[:, i] + x[:, j]) / 2, axis=1)
        side = np.linalg.norm(x[:, i] - x[:, j], axis=1)
        assert np.median(off / side) < 1e-12
        assert (off / side).max() < 0.1  # arcs bulge a little


@pytest.mark.parametrize("part", ["wall", "adhesive", "ring", "head"])
def test_stress_of_the_file_is_that_of_the_answer(mesh, answer, part):
    # Evaluated by another route, at the centres of elements: six values of a quadratic fix the
    # centre only if the field is quadratic, so points of the file themselves are compared.
    inside = np.flatnonzero(mesh.cell_data[f"in_{part}"][0])[::53]
    nodes = mesh.cells[0].data[inside]
    points = mesh.points[nodes][..., 1::-1]  # (r, z)
    # step off the corner by 1e-6 of the side, so that one element alone holds the point
    points = points + 1e-6 * (points.mean(axis=1, keepdims=True) - points)
    regions = [n for n, region in answer.section.regions.items() if region.part == part]
    unit = stress_at(answer, points.reshape(-1, 2).T, regions)
    factors = duty_factors(answer)
    wanted = {"stress_per_MPa_MPa": unit["pressure"], "stress_per_K_MPa": unit["temperature"]}
    wanted["stress_duty_MPa"] = sum(factors[k] * unit[k] for k in factors)
    for name, stress in wanted.items():
        found = mesh.point_data[name][nodes].reshape(-1, 6).T
        # a millionth of a side away; stress varies by some hundred times itself over a side
        np.testing.assert_allclose(found, stress, rtol=1e-3, atol=1e-3 * np.abs(stress).max())


def test_duty_is_the_sum_of_the_unit_loads(mesh, answer):
    factors = duty_factors(answer)
    for name, unit in (("displacement", "_mm"), ("strain", ""), ("stress", "_MPa")):
        total = factors["pressure"] * mesh.point_data[f"{name}_per_MPa{unit}"]
        total = total + factors["temperature"] * mesh.point_data[f"{name}_per_K{unit}"]
        duty = mesh.point_data[f"{name}_duty{unit}"]
        np.testing.assert_allclose(duty, total, atol=1e-12 * np.abs(duty).max())


def test_copies_of_a_point_move_together_and_stress_jumps_at_interfaces(mesh):
    points, place = np.unique(np.round(mesh.points, 9), axis=0, return_inverse=True)
    place = place.ravel()
    u = mesh.point_data["displacement_duty_mm"]
    mean = np.stack([np.bincount(place, u[:, i]) for i in range(3)], 1)
    mean /= np.bincount(place)[:, None]
    assert np.abs(u - mean[place]).max() < 1e-12  # bonded: nothing opens or slides
    hoop = mesh.point_data["stress_duty_MPa"][:, 1]
    part = np.repeat(mesh.cell_data["in_wall"][0], 6)
    glue = np.repeat(mesh.cell_data["in_adhesive"][0], 6)
    on_wall = {k: hoop[i] for i, k in enumerate(place) if part[i]}
    jumps = [abs(on_wall[k] - hoop[i]) for i, k in enumerate(place) if glue[i] and k in on_wall]
    assert np.median(jumps) > 20  # MPa: carbon and paste share strain, not hoop stress


def test_every_cell_is_in_one_region_and_one_part(mesh, answer):
    masks = mesh.cell_data
    regions = sum(masks[f"in_{name}"][0].astype(int) for name in answer.mesh.regions)
    assert (regions == 1).all()
    parts = sum(masks[f"in_{part}"][0].astype(int) for part in ("wall", "adhesive", "ring", "head"))
    assert (parts == 1).all()
    assert (masks["region"][0] == answer.mesh.region).all()


def test_components_are_named_in_the_file(vtu):
    stress = pyvista.read(vtu).GetPointData().GetArray("stress_duty_MPa")
    names = [stress.GetComponentName(i) for i in range(6)]
    assert names == ["rr", "tt", "zz", "tz", "rz", "rt"]


def test_strain_per_kelvin_of_a_free_ring_is_its_expansion(mesh, answer):
    # Far from the bond the ring's hoop strain per kelvin lies near its free expansion, 8.6e-6 /K
    # of titanium (the card), for it is far stiffer than the lap that pulls at it.
    hoop = mesh.point_data["strain_per_K"][:, 1][np.repeat(mesh.cell_data["in_head"][0], 6) == 1]
    cte = answer.case.materials["titanium-6al-4v"].cte()[0]
    assert np.median(hoop) == pytest.approx(cte, rel=0.02)  # the crown is free; its foot is not


# --- pictures ----------------------------------------------------------------------------------


def test_map_is_white_at_zero_alone():
    colours = signed_map()(np.linspace(0, 1, 511))[:, :3]
    assert (colours[255] == 1).all()
    assert (np.delete(colours, 255, axis=0).min(axis=1) < 1).all()


def test_map_is_even_to_the_eye():
    # CIE 1976 lightness of sRGB (IEC 61966-2-1): falls evenly and alike on both sides.
    colours = signed_map()(np.linspace(0, 1, 511))[:, :3]
    linear = np.where(colours <= 0.04045, colours / 12.92, ((colours + 0.055) / 1.055) ** 2.4)
    y = linear @ [0.2126, 0.7152, 0.0722]
    lightness = np.where(y > 0.008856, 116 * np.cbrt(y) - 16, 903.3 * y)
    np.testing.assert_allclose(lightness, lightness[::-1], atol=0.3)
    steps = np.diff(lightness[255:])
    # 68 over 255 steps; a step is 0.27, and the primaries' four digits leave 0.03
    np.testing.assert_allclose(steps, steps.mean(), atol=0.03)


def test_map_survives_colour_blindness():
    # G.M. Machado, M.M. Oliveira, L.A.F. Fernandes, IEEE Trans. Vis. Comput. Graph. 15 (2009)
    # 1291-1298, severity 1.0 (values from memory): matrices on linear RGB.
    deuteranopia = [
        [0.367322, 0.860646, -0.227968],
        [0.280085, 0.672501, 0.047413],
        [-0.011820, 0.042940, 0.968881],
    ]
    protanopia = [
        [0.152286, 1.052583, -0.204868],
        [0.114503, 0.786281, 0.099216],
        [-0.003882, -0.048116, 1.051998],
    ]
    ends = signed_map()([0.25, 0.75])[:, :3]
    linear = np.where(ends <= 0.04045, ends / 12.92, ((ends + 0.055) / 1.055) ** 2.4)
    for matrix in (deuteranopia, protanopia):
        cold, warm = np.clip(linear @ np.array(matrix).T, 0, 1) ** (1 / 2.2)
        # blue keeps more blue than red, orange more red than blue
        assert cold[2] - cold[0] > 0.15
        assert warm[0] - warm[2] > 0.15


def test_limits_hold_the_stated_share_of_the_bond(answer):
    samples = sample(answer)
    field = fields_of(answer)[0]
    values = values_of(field, samples.stress)
    limit = limit_of(answer, samples, field, values)
    parts = [answer.section.regions[name].part for name in answer.mesh.regions]
    glue = np.array(parts)[answer.mesh.region] == "adhesive"
    weight = np.repeat(samples.area[glue], values.shape[1])
    held = weight[np.abs(values[glue]).ravel() <= limit].sum() / weight.sum()
    assert HELD <= held < 0.995  # rounded up to two digits, not to the peak


def test_areas_of_samples_add_up_to_the_section(answer):
    # Pappus: exact area of the ring's and the bonds' straight-sided parts needs no arcs.
    samples = sample(answer)
    wall = answer.case.wall
    own = np.array([name.startswith("wall") for name in answer.mesh.regions])[answer.mesh.region]
    # a rectangle, thickness times half length
    assert samples.area[own].sum() == pytest.approx(wall.thickness * wall.half_length, rel=1e-9)


def test_small_triangles_fill_the_large_one():
    xi, small = lattice(4)
    a, b, c = (xi[:, small[:, i]] for i in range(3))
    cross = (b - a)[0] * (c - a)[1] - (b - a)[1] * (c - a)[0]
    assert len(small) == 16
    np.testing.assert_allclose(cross, 1 / 16)  # equal, and all the same way round


@pytest.fixture(scope="module")
def pictures(tmp_path_factory):
    """Pictures of a coarse joint, rendered without a display in a process of its own."""
    folder = tmp_path_factory.mktemp("pictures")
    code = (
        "import pathlib\n"
        "from geometry.forms import draw_section\n"
        "from geometry.mesh import mesh_section\n"
        "from post.pictures import draw_pictures\n"
        "from solve.answer import solve\n"
        "from tests.joints import joint_case\n"
        "case = joint_case('butt')\n"
        "answer = solve(case, mesh_section(draw_section(case), 0), degree=2)\n"
        "import json, dataclasses\n"
        f"shown = draw_pictures(answer, pathlib.Path({str(folder)!r}))\n"
        "print(json.dumps([dataclasses.asdict(each) for each in shown]))\n"
    )
    environment = {k: v for k, v in os.environ.items() if k not in ("DISPLAY", "WAYLAND_DISPLAY")}
    environment.pop("VTK_DEFAULT_OPENGL_WINDOW", None)
    done = subprocess.run(
        [sys.executable, "-c", code], cwd=ROOT, env=environment, capture_output=True, text=True
    )
    assert done.returncode == 0, done.stderr
    return folder, json.loads(done.stdout), done.stderr


def test_rendering_is_silent_without_a_display(pictures):
    assert pictures[2] == ""


def test_pictures_show_peel_shear_hoop_radial_in_words_and_units(pictures):
    _, shown, _ = pictures
    titles = " ".join(each["title"] for each in shown)
    for words in ("Peel stress", "Shear stress", "Hoop stress", "Radial stress"):
        assert words in titles
    for each in shown:
        assert "MPa" in each["caption"] and "movement \u00d7" in each["caption"]
        assert f"{100 * HELD:g} % of the area" in each["caption"]


def test_no_picture_is_blank(pictures):
    folder, shown, _ = pictures
    for each in shown:
        image = matplotlib.image.imread(folder / each["file"])[..., :3]
        assert image.shape[1] > 1000
        # neither one colour nor lines alone: many different blues or reds fill the joint
        coloured = np.ptp(image, axis=2) > 0.1
        assert coloured.mean() > 0.05, each["file"]
        assert len(np.unique((image[coloured] * 255).astype(int), axis=0)) > 100, each["file"]


def test_pressed_end_bond_is_blue(pictures):
    # Sea pressure presses wall and ring together: the joint's picture is compression, blue.
    folder, _, _ = pictures
    image = matplotlib.image.imread(folder / "stress-peel-end.png")[..., :3]
    joint = image[100:400]
    assert (joint[..., 2] - joint[..., 0] > 0.1).mean() > 0.2
    assert (joint[..., 0] - joint[..., 2] > 0.1).mean() < 0.02
