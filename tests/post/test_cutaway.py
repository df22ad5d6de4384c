"""The cut-away: its surfaces are those of the section revolved. Rendering runs in a process of its
own: without its libraries it ends the process."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import matplotlib.image
import numpy as np
import pytest

from post.colours import FILL
from post.cutaway import cut_face, cutaway_words, surfaces

ROOT = Path(__file__).parents[2]


def test_head_has_three_quarters_of_its_spheres(answer):
    # a hemisphere's surface is 2 pi R^2 (Archimedes, On the Sphere and Cylinder), inside and out
    head = answer.case.head
    outline = np.vstack([surface.points for surface in surfaces(answer.section, "head")])
    away = np.linalg.norm(outline - [outline[:, 0].min(), 0, 0], axis=1)
    outer, inner = away.max(), away.max() - head.thickness
    area = sum(surface.area for surface in surfaces(answer.section, "head"))
    # a sphere's inscribed polygon of sides of 90 / 32 degrees has the cosine of half of that
    # (Archimedes); the facets of a turn in steps of 3 degrees take off as little again
    wanted = 0.75 * 2 * np.pi * (outer**2 + inner**2) * np.cos(np.radians(90 / 64))
    assert area == pytest.approx(wanted, rel=3e-4)
    assert area < wanted


def test_a_cut_has_the_area_of_the_section(answer):
    wall = answer.case.wall
    for angle in (90.0, 180.0):
        cut = cut_face(answer, "wall", angle)
        # a rectangle, thickness times half length
        assert cut.area == pytest.approx(wall.thickness * wall.half_length, rel=1e-6)
    cuts = [cut_face(answer, "ring", angle) for angle in (90.0, 180.0)]
    upright, level = (cut.points[np.unique(cut.regular_faces)] for cut in cuts)
    assert np.abs(upright[:, 1]).max() < 1e-9 and upright[:, 2].min() > 0
    assert np.abs(level[:, 2]).max() < 1e-9 and level[:, 1].max() < 0  # towards the reader


def test_surfaces_leave_the_quarter_towards_the_reader_out(answer):
    points = np.vstack(
        [s.points for part in ("wall", "ring") for s in surfaces(answer.section, part)]
    )
    y, z = points[:, 1], points[:, 2]
    assert not ((y < -1) & (z > 1)).any()
    for quarter in ((y > 1) & (z > 1), (y > 1) & (z < -1), (y < -1) & (z < -1)):
        assert quarter.any()


def test_words_say_what_is_shown(answer):
    words = cutaway_words(answer.case, answer.section)
    wall = answer.case.wall
    for number in (2 * wall.bore_radius, wall.half_length, wall.thickness):
        assert f"{number:.4g} mm" in words or f"{number:.3g} mm" in words
    for bond in answer.section.bonds:
        assert f"{bond.name} bond {bond.thickness:.3g} mm" in words
    assert "hemisphere" in words


def test_the_picture_shows_every_part_in_its_colour(tmp_path):
    code = (
        "import pathlib\n"
        "from geometry.forms import draw_section\n"
        "from geometry.mesh import mesh_section\n"
        "from post.cutaway import draw_cutaway\n"
        "from solve.answer import solve\n"
        "from tests.joints import joint_case\n"
        "case = joint_case('socket', joint__bond_thickness='3 mm')\n"
        "answer = solve(case, mesh_section(draw_section(case), -1), degree=1)\n"
        f"draw_cutaway(answer, pathlib.Path({str(tmp_path)!r}))\n"
    )
    environment = {k: v for k, v in os.environ.items() if k not in ("DISPLAY", "WAYLAND_DISPLAY")}
    done = subprocess.run(
        [sys.executable, "-c", code], cwd=ROOT, env=environment, capture_output=True, text=True
    )
    assert done.returncode == 0, done.stderr
    image = matplotlib.image.imread(tmp_path / "cutaway.png")[..., :3] * 255
    picture = image[: int(0.9 * len(image))]  # above the key, which has every colour too
    for part, colour in FILL.items():
        wanted = [int(colour[i : i + 2], 16) for i in (1, 3, 5)]
        near = np.abs(picture - wanted).max(axis=2) <= 2
        assert near.sum() > 100, part
