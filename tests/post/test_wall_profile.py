"""The wall through its thickness, ply by ply, against the exact tube."""

from __future__ import annotations

import json

import numpy as np
import pytest

from geometry.forms import draw_section
from geometry.mesh import mesh_section
from post.plain_wall import tube_layers
from post.wall_profile import ply_profiles, stations, wall_data
from solve.answer import Answer, solve
from solve.as_made import wall_cards
from solve.exact_tube import solve_tube
from solve.laminate import ply_stresses
from tests.joints import joint_case


@pytest.fixture(scope="module")
def long_hull() -> Answer:
    """A hull so long that nothing of its joint is left at mid-length; two plies are meshed."""
    case = joint_case(
        "butt", wall__half_length="500 mm", wall__resolve_plies={"innermost": 1, "outermost": 1}
    )
    return solve(case, mesh_section(draw_section(case), -1))


@pytest.mark.parametrize(
    ("load", "given"),
    [("pressure", {"outer_pressure": 1.0, "closed_ends": True}), ("temperature", {"dT": 1.0})],
)
def test_mid_length_has_the_exact_tubes_stress_in_every_ply(long_hull, load, given):
    # exact solution of the layered tube (Rousseau, Hyer & Tompkins 1987, as solve.exact_tube has
    # it), of the same smeared layers; 500 mm from the joint its trace has died out, and what is
    # left is the elements' own error
    layers, cards = long_hull.section.layers, wall_cards(long_hull.case)
    exact = solve_tube(tube_layers(long_hull.case), **given)
    profiles = ply_profiles(long_hull, 0.0)
    assert len(profiles) == 81  # 27 times [90, 90, 0]
    off, largest = np.zeros(6), np.zeros(6)
    for one in profiles:
        layer = layers[one.layer]
        strain = exact.evaluate(one.r, list(layers).index(one.layer)).strain
        at = layer.plies.index(one.ply)
        wanted = ply_stresses(layer, cards, strain, float(load == "temperature"))[at]
        largest = np.maximum(largest, np.abs(wanted).max(axis=1))
        off = np.maximum(off, np.abs(one.unit[load] - wanted).max(axis=1))
    assert np.all(off < 1e-5 * largest[0])
    assert np.all(largest[:3] > 0)


def test_plies_fill_the_wall_and_stress_jumps_between_them(long_hull):
    wall = long_hull.case.wall
    profiles = ply_profiles(long_hull, 0.0)
    edges = [(one.r[0], one.r[-1]) for one in profiles]
    assert edges[0][0] == wall.bore_radius
    assert edges[-1][1] == pytest.approx(wall.outer_radius, abs=1e-9)
    assert all(
        a[1] == pytest.approx(b[0], abs=1e-9) for a, b in zip(edges[:-1], edges[1:], strict=True)
    )
    assert [one.number for one in profiles] == list(range(1, 82))
    # the fibre stress of a hoop ply and that of the axial ply on it differ: E1 is not E2
    hoop, axial = profiles[1], profiles[2]
    assert (hoop.ply.angle, axial.ply.angle) == (90, 0)
    assert hoop.unit["pressure"][0, -1] < axial.unit["pressure"][0, 0] - 1
    # the radial stress is the sea's outside and none at the bore, MPa per MPa
    assert profiles[-1].unit["pressure"][2, -1] == pytest.approx(-1, abs=1e-4)
    assert profiles[0].unit["pressure"][2, 0] == pytest.approx(0, abs=1e-4)


def test_stations_lie_in_the_wall_and_the_data_are_plain(answer):
    wall = answer.case.wall
    found = stations(answer)
    assert [one.words for one in found][0] == "mid-length"
    assert len(found) == 3  # an inner lap has a bond along the wall
    assert all(0 <= one.z < wall.half_length for one in found)
    told = wall_data(answer)
    json.dumps(told, allow_nan=False)
    for station in told["stations"]:
        assert len(station["plies"]) == 81
        for ply in station["plies"]:
            assert len(ply["pressure"]) == len(ply["temperature"]) == 6
            assert all(len(row) == len(ply["r"]) for row in ply["pressure"])
    # stress of the duty at a ply, from the parts, as the browser adds them
    one, plain = ply_profiles(answer, found[1].z)[40], told["stations"][1]["plies"][40]
    change = answer.case.duty.service_temperature - answer.case.duty.stress_free_temperature
    whole = 30.0 * one.unit["pressure"] + change * one.unit["temperature"]
    summed = 30.0 * np.array(plain["pressure"]) + np.array(plain["temperature"])
    assert summed == pytest.approx(whole, rel=1e-4, abs=1e-3)
