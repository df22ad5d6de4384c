"""Extreme but legal joints: every proof of the solve holds, or one line says why there is none.

The first twelve of the design of `benchmarks.extremes`, on two meshes; all are recorded in
benchmarks/extremes.md. Source of the proofs: equilibrium, p pi R^2, and work = strain energy.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from benchmarks.extremes import (
    LEVELS,
    RANGES,
    Outcome,
    designed,
    extreme_case,
    report,
    try_joint,
)
from geometry.forms import draw_section
from geometry.mesh import mesh_section
from post.numerical_error import MEAN_FLOOR
from solve.answer import solve

TWELVE = list(enumerate(designed(200)))[:12]


@pytest.fixture(scope="module")
def outcomes() -> list[Outcome]:
    return [try_joint(number, *drawn, LEVELS[:2]) for number, drawn in TWELVE]


def test_the_design_spans_its_ranges() -> None:
    drawn = [numbers for _, (_, _, numbers) in enumerate(designed(200))]
    for name, (low, high) in RANGES.items():
        values = np.array([one[name] for one in drawn])
        assert low <= values.min() < low * (high / low) ** 0.01  # a cell of a hypercube of 200
        assert high * (low / high) ** 0.01 < values.max() <= high


def test_every_joint_is_answered_or_refused_in_one_line(outcomes: list[Outcome]) -> None:
    for one in outcomes:
        if one.end == "answered":
            assert max(one.proofs.values()) <= 1 and not one.said
        else:
            assert one.said.isprintable() and len(one.said) > 20
    # how many of the design are answered is recorded; these twelve all are
    assert [one.end for one in outcomes] == ["answered"] * 12


def test_what_misses_the_target_says_so(outcomes: list[Outcome]) -> None:
    # joint 6, a lap of a nearly incompressible adhesive on plies that are softest along the
    # fibre, moves by more than it may: a third mesh shows that what it states covers that
    stated = {one.number: one.stated for one in outcomes}
    assert [number for number, error in stated.items() if error > 0.01] == [6]
    told = try_joint(6, *TWELVE[6][1])
    assert told.moved < told.stated and told.unstated <= 0
    assert all(one.stated >= MEAN_FLOOR * (1 - 1e-9) for one in outcomes)


def test_a_broken_proof_is_no_answer(monkeypatch: pytest.MonkeyPatch) -> None:
    from solve import answer

    monkeypatch.setattr(answer, "REACTION", 1e-30)
    refused = try_joint(0, *TWELVE[0][1], LEVELS[:1] * 2)
    assert refused.end == "not solved" and "reaction" in refused.said
    assert "| 0 | butt |" in report([refused, replace(refused, number=1)])


def test_a_solution_scales_with_all_moduli() -> None:
    # linear elasticity: moduli by the factor, strains by its inverse, stresses stay
    form, head, drawn = TWELVE[3][1]
    case = extreme_case(form, head, drawn)
    section = draw_section(case)
    mesh = mesh_section(section, -1)
    stiffer = case.model_dump(mode="json", exclude_none=True)
    for card in stiffer["materials"].values():
        for name, constant in card["elastic"].items():
            if name[0] in "EG":
                value, unit = constant["value"].split()
                constant["value"] = f"{float(value) / 7!r} {unit}"
    from geometry.case import parse_case

    one, other = solve(case, mesh), solve(parse_case(stiffer), mesh)
    u, v = one.displacement["pressure"], other.displacement["pressure"]
    assert np.abs(v / 7 - u).max() < 1e-7 * np.abs(u).max()
