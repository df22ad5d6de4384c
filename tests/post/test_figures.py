"""Bondline curves and deformed sections show what was computed. Common practice, no published
source, where a test names none."""

from __future__ import annotations

from itertools import combinations

import numpy as np
import pytest
from matplotlib.patches import PathPatch

from geometry.forms import draw_section
from geometry.mesh import mesh_section
from post.bondline import bondline, duty_factors
from post.curves import CURVES, curve_sets, ends_in_words, plot_bondline
from post.deformed import plot_deformed
from post.sampling import displacement_at
from post.sheet import nice, spread, text_boxes
from solve.answer import solve
from tests.joints import joint_case


def lines_of(figure, panel):
    return {line.get_label(): line.get_xydata() for line in figure.axes[panel].lines}


@pytest.mark.parametrize("stresses", CURVES)
@pytest.mark.parametrize("bond", ["inner", "end"])
def test_curves_are_the_table(answer, table, bond, stresses):
    figure = plot_bondline(table, bond, answer.section.bond(bond).thickness, stresses)
    for panel, stress in enumerate(stresses):
        lines = lines_of(figure, panel)
        for label, load in (
            ("duty", "duty"),
            ("pressure part", "pressure"),
            ("temperature part", "temperature"),
        ):
            own = table[
                (table.bond == bond) & (table.load == load) & (table.place == "mid")
            ].sort_values("s_mm")
            np.testing.assert_array_equal(lines[label], own[["s_mm", f"{stress}_MPa"]])
        assert figure.axes[panel].get_ylabel() == f"{stress.capitalize()} stress, MPa"
        assert {"duty, wall face", "duty, ring face"} <= set(lines)


def test_twist_shear_is_plotted_only_where_a_layup_twists(table):
    assert curve_sets(table) == list(CURVES)
    twisted = table.assign(twist_shear_MPa=1.0)
    assert curve_sets(twisted) == [*CURVES, ("twist_shear",)]
    figure = plot_bondline(twisted, "inner", 1.0, ("twist_shear",))
    assert figure.axes[0].get_ylabel() == "Twist shear stress, MPa"


def test_first_bond_thickness_is_shaded(answer, table):
    thickness = answer.section.bond("inner").thickness
    figure = plot_bondline(table, "inner", thickness)
    shaded = [(p.get_x(), p.get_x() + p.get_width()) for p in figure.axes[0].patches]
    length = answer.section.bond("inner").length
    assert shaded == [(0.0, thickness), (length - thickness, length)]


def test_mid_thickness_lies_inside_the_axes(answer, table):
    figure = plot_bondline(table, "inner", answer.section.bond("inner").thickness)
    for panel in (0, 1):
        low, high = figure.axes[panel].get_ylim()
        duty = lines_of(figure, panel)["duty"][:, 1]
        assert low < duty.min() and duty.max() < high and low < 0 < high


@pytest.mark.parametrize("bond", ["inner", "end"])
def test_no_words_of_the_curves_collide(answer, table, bond):
    boxes = text_boxes(plot_bondline(table, bond, answer.section.bond(bond).thickness))
    for (one, a), (two, b) in combinations(boxes, 2):
        apart = a[2] <= b[0] or b[2] <= a[0] or a[3] <= b[1] or b[3] <= a[1]
        assert apart, f"{one!r} lies on {two!r}"


@pytest.mark.parametrize(
    ("form", "bond", "start", "end"),
    [
        ("socket", "inner", "tip of the lip (open edge)", "bottom of the groove"),
        ("socket", "end", "corner at the bore", "corner outside"),
        ("butt", "end", "bore side (open edge)", "outside (open edge)"),
        ("inner-lap", "end", "outside (open edge)", "corner at the bore"),
        ("outer-lap", "end", "bore side (open edge)", "corner outside"),
        ("scarf", "scarf", "tip of the tongue (open edge)", "tip of the wall (open edge)"),
    ],
)
def test_ends_of_a_bond_are_named_as_they_lie(form, bond, start, end):
    # From the conventions of s in geometry.section.BondLine.
    case = joint_case(form)
    table = bondline(solve(case, mesh_section(draw_section(case), 0), degree=2))
    assert ends_in_words(table, bond) == (start, end)


def test_displacement_at_the_nodes_is_the_solution(answer):
    # The six corners and mid-side points of an element lie on its own polynomials.
    dofs = answer.space.dofs[:, 0]  # first corner of every triangle
    corner = answer.mesh.points[answer.space.corners[:, 0]]
    for part in ("ring", "adhesive"):
        chosen = [
            i
            for i in range(0, len(corner), 37)
            if answer.section.regions[answer.mesh.regions[answer.mesh.region[i]]].part == part
        ]
        found = displacement_at(answer, corner[chosen].T, part)
        for load, u in answer.displacement.items():
            # 1e-6 of the largest: where a point is found in reference coordinates ends at 1e-7
            np.testing.assert_allclose(
                found[load], u[dofs[chosen]], atol=1e-6 * np.abs(u).max(), rtol=0
            )


@pytest.mark.parametrize("parts", [False, True])
def test_deformed_section_is_the_outline_plus_the_stated_movement(answer, parts):
    figure = plot_deformed(answer, parts)
    load = "pressure" if parts else "duty"
    words = next(text for text, _ in text_boxes(figure) if text.startswith("movement"))
    scale = float(words.removeprefix("movement \u00d7 ").split(";")[0])
    shift = float(words.split(": ")[1].split()[0].replace("\u2212", "-")) if parts else 0.0
    patches = [p for p in figure.axes[0].patches if isinstance(p, PathPatch)]
    after, before = (patches[i].get_path().vertices for i in (0, 1))  # the wall comes first
    unit = displacement_at(answer, before[:, ::-1].T, "wall")
    factors = duty_factors(answer)
    u = sum(factors[k] * unit[k] for k in ([load] if parts else factors))
    expected = before + scale * (u[:, [2, 0]] - [shift, 0.0])
    # the words give the shift to 0.0005 mm
    np.testing.assert_allclose(after, expected, atol=scale * 0.0006 if parts else 1e-6)


def test_deformed_outline_stays_in_the_picture(answer):
    for ax in plot_deformed(answer).axes:
        low, high = ax.get_ylim()
        z0, z1 = ax.get_xlim()
        for patch in ax.patches:
            vertices = patch.get_path().vertices
            seen = vertices[(vertices[:, 0] > z0) & (vertices[:, 0] < z1)]
            near = seen[seen[:, 1] > low - 5]  # a head runs on to the axis
            assert near[:, 1].max() <= high


def test_nice_numbers_are_one_two_or_five():
    assert [nice(x) for x in (0.99, 1.0, 19.9, 20, 64, 700)] == [0.5, 1, 10, 20, 50, 500]


def test_spread_keeps_order_and_room():
    # Three things of width 4 that all want to be at 5: side by side, the last inside 0 to 20.
    assert spread([5, 5, 5], [4, 4, 4], 0, 20) == [2, 6, 10]
    assert spread([19, 19], [4, 4], 0, 20) == [14, 18]
