"""Places that are judged: windows, rims of corners, plies, lines between plies."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from geometry.forms import draw_section
from geometry.mesh import mesh_section
from post.bondline import line_mean
from post.places import (
    Places,
    _starts,
    _windows,
    bond_places,
    interlaminar_places,
    ply_places,
    solid_places,
)
from solve.answer import LOADS, Answer, solve
from solve.laminate import ply_stresses
from solve.section_corners import SectionCorner, section_corners
from solve.stress import stress_at
from tests.joints import FORMS, joint_case

LAYUP = [
    {"ply": "carbon-epoxy-im", "thickness": "0.19 mm", "angles": [90, 45, -45, 0], "repeats": 10},
    {"ply": "carbon-epoxy-hs", "thickness": "0.2 mm", "angles": [90, 90, 0], "repeats": 10},
]


def solved(form: str, level: int = -1, degree: int = 2, **changes: object) -> Answer:
    case = joint_case(form, **changes)
    return solve(case, mesh_section(draw_section(case), level), degree)


@pytest.fixture(scope="module")
def lap() -> Answer:
    return solved("inner-lap", wall__layup=LAYUP)


@pytest.fixture(scope="module")
def corners(lap: Answer) -> list[SectionCorner]:
    return section_corners(lap.section, lap.materials)


def finite(places: Places) -> bool:
    return all(np.isfinite(unit).all() and unit.shape[1] == places.count for unit in
               places.unit.values())  # fmt: skip


# windows ------------------------------------------------------------------------------------------

UNEVEN = np.unique(np.concatenate([np.linspace(0, 7, 40), np.geomspace(0.01, 7, 30), [0.0]]))


def test_windows_average_a_line_exactly() -> None:
    # The mean of a linear function is its value at the middle.
    starts = np.array([0.0, 0.123, 3.77, 5.9])
    values = np.stack([np.full_like(UNEVEN, 4.0), 2.0 - 3.0 * UNEVEN])
    means = _windows(UNEVEN, values, starts, 1.1)
    assert means[0] == pytest.approx(4.0, rel=1e-13)
    assert means[1] == pytest.approx(2.0 - 3.0 * (starts + 0.55), rel=1e-12)


@pytest.mark.parametrize("power", [2, 3, 5])
def test_windows_average_a_polynomial_within_the_rule_of_the_trapezoid(power: int) -> None:
    # Exact integral of the polynomial; the trapezoidal rule is off by at most h^2 / 12 max |f''|.
    polynomial = np.polynomial.Polynomial([1.0, -2.0, *[0.0] * (power - 2), 0.7])
    integral, window = polynomial.integ(), 0.9
    starts = _starts(UNEVEN, window)
    exact = (integral(starts + window) - integral(starts)) / window
    means = _windows(UNEVEN, polynomial(UNEVEN)[None], starts, window)[0]
    h = np.diff(UNEVEN).max()
    # a window that ends inside a step holds part of that step: up to h^3 / 12 f'' at each end
    bound = h**2 / 12 * polynomial.deriv(2)(7.0) * (1 + 2 * h / window)
    assert np.abs(means - exact).max() <= bound
    fine = np.linspace(0, 7, 7001)
    means = _windows(fine, polynomial(fine)[None], starts, window)[0]
    assert means == pytest.approx(exact, rel=1e-5, abs=1e-6 * polynomial(7.0))


def test_windows_slide_from_one_end_to_the_other() -> None:
    starts = _starts(UNEVEN, 0.9)
    assert starts[0] == 0.0
    assert starts[-1] + 0.9 == pytest.approx(7.0, abs=1e-12)
    assert (np.diff(starts) > 0).all()
    assert _starts(UNEVEN, 7.0) == pytest.approx([0.0])


# bonds --------------------------------------------------------------------------------------------


@pytest.mark.parametrize("form", list(FORMS))
def test_bond_means_are_those_of_an_independent_rule(form: str) -> None:
    # Gauss's rule over the same window, at both ends and in the middle.
    answer = solved(form, level=0, degree=4)
    off = 0.0
    for bond in answer.section.bonds:
        window = 1.5
        traction, stress = bond_places(answer, bond, window)
        assert finite(traction) and finite(stress)
        assert traction.s[0] == pytest.approx(window / 2, abs=1e-9)
        assert traction.s[-1] == pytest.approx(bond.length - window / 2, abs=1e-8)
        assert np.diff(traction.s).max() <= window / 8 + 1e-9
        assert bond.faces(traction.s)[1] == pytest.approx(np.stack([traction.r, traction.z]))
        for at in (0, traction.count // 2, -1):
            middle = traction.s[at]
            mean = line_mean(answer, bond, middle - window / 2, middle + window / 2)
            for load in LOADS:
                ours = np.array([*traction.unit[load][:, at], *stress.unit[load][[1, 2, 0], at]])
                # stress jumps a little between elements, and each rule meets that elsewhere
                off = max(off, np.abs(ours - mean[load]).max() / np.abs(stress.unit[load]).max())
    assert off < 1e-3


def test_a_window_longer_than_the_bond_takes_all_of_it(lap: Answer) -> None:
    bond = lap.section.bond("inner")
    traction, _ = bond_places(lap, bond, 500.0)
    assert traction.count == 1
    assert traction.s == pytest.approx([bond.length / 2])
    mean = line_mean(lap, bond, 0.0, bond.length)["pressure"][:3]
    assert traction.unit["pressure"][:, 0] == pytest.approx(mean, abs=6e-3 * np.abs(mean).max())


# rims ---------------------------------------------------------------------------------------------


def distances(places: Places, corners: list[SectionCorner]) -> np.ndarray:
    """Distance of every place from every singular corner, in radii of its neighbourhood."""
    return np.stack([
        np.hypot(places.r - c.point[0], places.z - c.point[1]) / c.radius
        for c in corners if c.singular
    ])  # fmt: skip


@pytest.mark.parametrize("part", ["ring", "wall"])
def test_no_place_lies_in_a_neighbourhood_and_rims_are_judged(
    lap: Answer, corners: list[SectionCorner], part: str
) -> None:
    if part == "ring":
        places = solid_places(lap, part, corners)
    else:
        places = next(found for _, found in ply_places(lap, corners))
    assert finite(places)
    away = distances(places, corners)
    assert away.min() > 1 - 1e-6  # a rim is outside
    on_rim = np.abs(away - 1) < 1e-6
    # On one rim and outside all others: away.min() > 1 says it of every place.
    assert on_rim.any(axis=0).sum() > 20
    # every singular corner that lies on the part has its rim judged
    regions = [n for n, region in lap.section.regions.items() if region.part == part]
    touching = [
        i for i, c in enumerate(c for c in corners if c.singular)
        if part == "ring" and any(w.part == part for w in c.wedges)
    ]  # fmt: skip
    assert len(touching) >= (3 if part == "ring" else 0)
    assert on_rim[touching].any(axis=1).all()
    # what stands there is the stress of that part
    here = np.flatnonzero(on_rim.any(axis=0))[:10]
    if part == "ring":
        points = np.stack([places.r[here], places.z[here]])
        for load, stress in stress_at(lap, points, regions).items():
            assert places.unit[load][:, here] == pytest.approx(stress, rel=1e-9, abs=1e-9)


def test_rims_are_the_same_on_every_mesh(lap: Answer, corners: list[SectionCorner]) -> None:
    finer = solved("inner-lap", level=0, wall__layup=LAYUP)

    def rim(answer: Answer) -> np.ndarray:
        places = solid_places(answer, "ring", corners)
        on = (np.abs(distances(places, corners) - 1) < 1e-6).any(axis=0)
        return np.stack([places.r[on], places.z[on]])

    assert rim(lap) == pytest.approx(rim(finer), rel=1e-12)


def test_where_neighbourhoods_overlap_their_rims_end(
    lap: Answer, corners: list[SectionCorner]
) -> None:
    # Neighbourhoods grown until they reach into each other.
    grown = [replace(corner, radius=4 * corner.radius) for corner in corners]
    places = solid_places(lap, "ring", grown)
    away = distances(places, grown)
    inside = (np.abs(away - 1) < 1e-6).any(axis=0)
    assert inside.any()
    assert away.min() > 1 - 1e-6  # a rim is outside
    points = np.array([c.point for c in grown if c.singular])
    gaps = np.hypot(*(points[:, None] - points[None]).transpose(2, 0, 1))
    reach = np.add.outer(*[[c.radius for c in grown if c.singular]] * 2)
    assert (np.triu(gaps < reach, 1)).any()


# plies --------------------------------------------------------------------------------------------


def test_every_angle_of_every_card_is_judged_once(
    lap: Answer, corners: list[SectionCorner]
) -> None:
    found = dict(ply_places(lap, corners))
    assert set(found) == {"carbon-epoxy-im", "carbon-epoxy-hs"}
    for card, angles in (("carbon-epoxy-im", {90, 45, -45, 0}), ("carbon-epoxy-hs", {90, 0})):
        places = found[card]
        assert finite(places)
        assert set(places.angle) == angles
        keys = np.stack([places.r, places.z, places.angle], axis=1).round(9)
        keys = keys[np.lexsort(keys.T)]
        assert len(np.unique(keys, axis=0)) == places.count
        counts = {angle: int((places.angle == angle).sum()) for angle in angles}
        assert len(set(counts.values())) == 1
        for layer in set(places.layer):
            assert {ply.card for ply in lap.section.layers[layer].plies} == {card}


def test_plies_have_the_stress_recovered_from_their_layer(
    lap: Answer, corners: list[SectionCorner]
) -> None:
    for card, places in ply_places(lap, corners):
        for at in range(0, places.count, places.count // 7):
            name, point = str(places.layer[at]), np.array([[places.r[at]], [places.z[at]]])
            layer, material = lap.section.layers[name], lap.materials[name]
            number = next(i for i, p in enumerate(layer.plies) if p.angle == places.angle[at])
            for load, stress in stress_at(lap, point, [name]).items():
                rise = 1.0 if load == "temperature" else 0.0
                strain = np.linalg.solve(material.C, stress) + material.cte[:, None] * rise
                plies = ply_stresses(layer, lap.case.materials, strain, rise)
                ours = places.unit[load][:, at]
                assert ours == pytest.approx(plies[number, :, 0], rel=1e-6, abs=1e-7), card


# between plies ------------------------------------------------------------------------------------


def test_lines_between_plies_lie_in_the_wall_and_reach_its_end(lap: Answer) -> None:
    depth, window = 0.19, 0.4
    places = interlaminar_places(lap, depth, window)
    assert finite(places)
    wall, end = lap.case.wall, lap.case.wall.half_length
    assert places.r.min() == pytest.approx(wall.bore_radius + depth)
    assert places.r.max() == pytest.approx(wall.outer_radius - depth)
    assert places.z.max() == pytest.approx(end - window / 2, abs=1e-9)
    # under the bonded face, along all of the overlap
    under = np.isclose(places.r, wall.bore_radius + depth, rtol=0, atol=1e-6)
    assert places.z[under].min() == pytest.approx(end - 30 + window / 2, abs=1e-6)


def test_means_between_plies_are_those_of_a_finer_line(lap: Answer) -> None:
    depth, window = 0.19, 0.4
    places = interlaminar_places(lap, depth, window)
    walls = [n for n, region in lap.section.regions.items() if region.part == "wall"]
    for at in range(0, places.count, places.count // 9):
        z = places.z[at] + np.linspace(-window / 2, window / 2, 401)
        line = np.stack([np.full_like(z, places.r[at]), z])
        for load, stress in stress_at(lap, line, walls).items():
            mean = np.trapezoid(stress[[0, 4, 5]], z) / window
            scale = np.abs(stress).max()
            assert places.unit[load][[0, 4, 5], at] == pytest.approx(mean, abs=0.01 * scale)


def test_a_bare_wall_end_leaves_out_what_is_chamfered_away() -> None:
    answer = solved("inner-lap", wall__edge_chamfer="0.5 mm")
    places = interlaminar_places(answer, 0.19, 0.4)
    assert finite(places)
    assert places.z.max() < answer.case.wall.half_length


def test_scale_of_the_displacement_is_the_scale_of_every_place(
    lap: Answer, corners: list[SectionCorner]
) -> None:
    # Linearity: pressure parts double with the displacement, whatever is averaged or recovered.
    twice = replace(lap, displacement={**lap.displacement,
                                       "pressure": 2 * lap.displacement["pressure"]})  # fmt: skip
    for of in (
        lambda a: bond_places(a, a.section.bond("inner"), 1.0)[0],
        lambda a: solid_places(a, "ring", corners),
        lambda a: interlaminar_places(a, 0.19, 0.4),
        lambda a: next(p for _, p in ply_places(a, corners)),
    ):
        one, two = of(lap), of(twice)
        assert two.unit["pressure"] == pytest.approx(2 * one.unit["pressure"], rel=1e-9, abs=1e-9)
        assert two.unit["temperature"] == pytest.approx(one.unit["temperature"])
