"""Refining to a target: it goes on while a rung is too coarse, and stops at its budget."""

from __future__ import annotations

import pytest

import post.converge as converge
from geometry.forms import draw_section
from geometry.mesh import mesh_section
from post.strengths import strengths
from post.verdict import is_unconverged, overall
from solve.answer import Answer, solve_twice
from tests.joints import joint_case


@pytest.fixture(scope="module")
def pair() -> tuple[Answer, Answer]:
    case = joint_case("butt", mesh__level=0)
    section = draw_section(case)
    return solve_twice(case, mesh_section(section, 0), mesh_section(section, -1))


def test_a_loose_target_needs_no_finer_mesh(pair: tuple[Answer, Answer]) -> None:
    rungs, level = converge.judge_to_target(*pair, strengths(pair[0].case), 0.5)
    assert level == 0
    assert not any(map(is_unconverged, rungs))


def test_a_tight_target_refines_until_the_budget(
    pair: tuple[Answer, Answer], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(converge, "BUDGET", 8 * pair[0].space.size + 1)
    strong = strengths(pair[0].case)
    first = converge.judge(*pair, strong, 1e-9)
    rungs, level = converge.judge_to_target(*pair, strong, 1e-9)
    assert level == 1  # one refinement fits, the next does not
    # a finer mesh leaves smaller errors, and what is still too coarse cannot hold
    errors = {(r.part, r.mode.partition(":")[0]): r.error for r in first}
    smaller = [r.error <= errors[r.part, r.mode.partition(":")[0]] for r in rungs]
    assert sum(smaller) >= 0.8 * len(smaller)
    assert any(map(is_unconverged, rungs))
    assert overall(rungs, 1.0).word != "holds"
