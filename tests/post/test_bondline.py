"""Bondlines: frame, places, signs, means and headlines."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest

from geometry.forms import draw_section
from geometry.mesh import mesh_section
from post.bondline import STRESSES, bond_stress, bondline, duty_factors, line_mean, stations
from post.headline import headline_table, value_with_error
from post.summary import summarise
from solve.answer import Answer, solve
from solve.stress import stress_at
from solve.transfer import axial_transfer
from tests.joints import joint_case


@pytest.fixture(scope="module")
def pair() -> tuple[Answer, Answer]:
    case = joint_case("socket")
    mesh = mesh_section(draw_section(case), 0)
    return solve(case, mesh, 3), solve(case, mesh, 2)


@pytest.fixture(scope="module")
def table(pair: tuple[Answer, Answer]) -> pd.DataFrame:
    return bondline(pair[0])


def test_duty_is_the_sum_of_its_parts(table: pd.DataFrame) -> None:
    # Superposition.
    keys = ["bond", "place", "side", "s_mm"]
    values = [f"{name}_MPa" for name in STRESSES]
    parts = table[table.load != "duty"].groupby(keys)[values].sum()
    duty = table[table.load == "duty"].set_index(keys)[values].sort_index()
    pd.testing.assert_frame_equal(parts, duty, check_exact=False, rtol=1e-9, atol=1e-9)


def test_frame_of_a_lap_is_radial_and_axial_with_the_sign_of_its_side(
    pair: tuple[Answer, Answer],
) -> None:
    # Inner lap: n points inwards (from wall to ring), s towards the wall's end; outer: outwards.
    answer = pair[0]
    for name, way in (("inner", -1.0), ("outer", 1.0)):
        bond = answer.section.bond(name)
        points = bond.faces(np.linspace(5, 20, 4))[1]
        rr, tt, zz, _, rz, _ = stress_at(answer, points, [bond.region])["pressure"]
        peel, shear, twist, hoop, axial, radial = bond_stress(answer, bond, points, "adhesive")[
            "pressure"
        ]
        assert peel == pytest.approx(rr)
        assert shear == pytest.approx(way * rz)
        assert twist == pytest.approx(0.0, abs=1e-12)
        assert (hoop, axial, radial) == (pytest.approx(tt), pytest.approx(zz), pytest.approx(rr))


def test_traction_of_a_scarf_is_the_rotated_stress() -> None:
    # Cauchy: traction = stress . n, any frame.
    case = joint_case("scarf")
    answer = solve(case, mesh_section(draw_section(case), 0), 2)
    bond = answer.section.bond("scarf")
    points = bond.faces(np.linspace(10, 50, 5))[1]
    rr, _, zz, _, rz, _ = stress_at(answer, points, [bond.region])["pressure"]
    tensor = np.array([[rr, rz], [rz, zz]])
    traction = np.einsum("ijp,j->ip", tensor, bond.across)
    peel, shear, *_ = bond_stress(answer, bond, points, "adhesive")["pressure"]
    assert peel == pytest.approx(np.asarray(bond.across) @ traction)
    assert shear == pytest.approx(np.asarray(bond.along) @ traction)
    assert np.dot(bond.across, bond.along) == pytest.approx(0.0, abs=1e-15)


def test_mid_thickness_stresses_carry_what_the_nodal_forces_say() -> None:
    # Statics: axial force through a lap is the integral of shear over its cylinder, through an
    # end bond that of peel, but for what crosses the small corners and edges between them.
    case = joint_case("socket")
    answer = solve(case, mesh_section(draw_section(case), 1), 4)
    shares = {surface: share for surface, _, share in axial_transfer(answer)}
    cap = np.pi * answer.section.outer_radius**2
    total = 0.0
    for name in ("inner", "end", "outer"):
        bond = answer.section.bond(name)
        s = stations(bond)
        points = bond.faces(s)[1]
        stress = bond_stress(answer, bond, points, "adhesive")["pressure"]
        row = stress[0] if name == "end" else stress[1]
        force = np.trapezoid(row * 2 * np.pi * points[0], s)
        assert force / cap == pytest.approx(shares[f"{name} bond"], abs=0.04)
        total += force / cap
    # corners of 1 mm carry the rest
    assert total == pytest.approx(-1.0, abs=0.05)


def test_mean_is_the_integral_over_the_length(pair: tuple[Answer, Answer]) -> None:
    # Against the trapezoidal rule on a very fine line.
    answer = pair[0]
    bond = answer.section.bond("inner")
    s = np.linspace(1, 20, 4001)
    fine = bond_stress(answer, bond, bond.faces(s)[1], "adhesive")["pressure"]
    mean = line_mean(answer, bond, 1.0, 20.0)["pressure"]
    exact = np.trapezoid(fine, s) / 19
    assert mean == pytest.approx(exact, rel=2e-4, abs=1e-4)


@pytest.mark.parametrize("length", [1.0, 60.0])
def test_rows_begin_close_to_both_edges(length: float) -> None:
    # by definition: a fiftieth of the thickness from an edge, and nowhere beyond it
    s = stations(SimpleNamespace(length=length, thickness=0.5))  # type: ignore[arg-type]
    assert (s[0], s[-1]) == (0.0, length)
    assert (np.diff(s) > 0).all()
    assert np.diff(s)[[0, -1]] == pytest.approx(0.01, abs=1e-8)


def test_first_row_lies_at_the_open_edge(pair: tuple[Answer, Answer], table: pd.DataFrame) -> None:
    answer = pair[0]
    tip = answer.case.wall.half_length - 30
    mid = table[(table.bond == "inner") & (table.place == "mid") & (table.load == "duty")]
    assert mid.s_mm.iloc[0] == 0.0
    assert mid.z_mm.iloc[0] == pytest.approx(tip)
    assert mid.s_mm.iloc[-1] == pytest.approx(30.0)
    assert mid.thickness_mm.unique() == pytest.approx([1.0])


def test_both_sides_of_a_face_share_the_traction(table: pd.DataFrame) -> None:
    rows = table[(table.bond == "outer") & (table.place == "ring face") & (table.load == "duty")]
    rows = rows[(rows.s_mm > 8) & (rows.s_mm < 20)]
    glue, metal = (rows[rows.side == side].reset_index() for side in ("adhesive", "ring"))
    scale = glue.peel_MPa.abs().max()
    assert (glue.peel_MPa - metal.peel_MPa).abs().max() < 0.05 * scale
    assert (glue.hoop_MPa - metal.hoop_MPa).abs().min() > scale


def test_headlines_cover_every_bond_with_an_error(pair: tuple[Answer, Answer]) -> None:
    summary = summarise(*pair, name="test")
    rows = pd.DataFrame(summary["headlines"])
    assert set(rows.bond) == {"inner", "end", "outer"}
    assert set(rows.statistic) == {
        "mean",
        "first_thickness",
        "last_thickness",
        "largest",
        "smallest",
    }
    assert not rows.duplicated(["bond", "stress", "statistic", "load"]).any()
    assert (rows.error >= 0).all()
    assert rows.error.max() > 0
    duty = rows[(rows.bond == "inner") & (rows.stress == "peel") & (rows.load == "duty")]
    duty = duty.set_index("statistic").value
    assert duty["smallest"] <= duty["mean"] <= duty["largest"]
    factors = duty_factors(pair[0])
    assert summary["loads"]["pressure_MPa"] == factors["pressure"] == 30.0
    assert summary["loads"]["temperature_change_K"] == pytest.approx(-58.0)


def test_terminal_table_shows_value_error_and_place(pair: tuple[Answer, Answer]) -> None:
    text = headline_table(summarise(*pair, name="test"))
    assert "Invented housing for tests (socket)" in text
    assert "30.00 MPa, -58 K" in text
    assert "inner bond" in text
    assert "not a certificate" in text


@pytest.mark.parametrize(
    ("value", "error", "place", "text"),
    [
        (-46.264, 0.0004, None, "-46.26 +- 0.01"),
        (-46.264, 0.2, None, "-46.3 +- 0.2"),
        (-46.264, 3.0, 0.5, "-46 +- 3 at 0.50 mm"),
    ],
)
def test_no_more_digits_than_the_error_allows(
    value: float, error: float, place: float | None, text: str
) -> None:
    assert value_with_error({"value": value, "error": error, "at_s_mm": place}) == text
