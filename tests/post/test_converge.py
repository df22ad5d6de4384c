"""Refining to a target: it goes on while a rung is too coarse, and stops at its budget."""

from __future__ import annotations

from pathlib import Path

import pytest

import post.converge as converge
from geometry.forms import draw_section
from geometry.mesh import mesh_section
from post.strengths import strengths
from post.verdict import is_unconverged, overall
from solve.answer import Answer, solve_twice
from solve.answer_file import load_finer, save_finer
from tests.joints import joint_case


@pytest.fixture(scope="module")
def pair() -> tuple[Answer, Answer]:
    case = joint_case("butt", mesh__level=0)
    section = draw_section(case)
    return solve_twice(case, mesh_section(section, 0), mesh_section(section, -1))


def test_a_loose_target_needs_no_finer_mesh(pair: tuple[Answer, Answer]) -> None:
    rungs, finer, level = converge.judge_to_target(*pair, strengths(pair[0].case), 0.5)
    assert finer == {}
    assert level == 0
    assert not any(map(is_unconverged, rungs))


def test_a_tight_target_refines_until_the_budget(
    pair: tuple[Answer, Answer], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(converge, "BUDGET", 8 * pair[0].space.size + 1)
    strong = strengths(pair[0].case)
    first = converge.judge(*pair, strong, 1e-9)
    rungs, finer, level = converge.judge_to_target(*pair, strong, 1e-9)
    assert level == 1  # one refinement fits, the next does not
    # a finer mesh leaves smaller errors, and what is still too coarse cannot hold
    errors = {(r.part, r.mode.partition(":")[0]): r.error for r in first}
    smaller = [r.error <= errors[r.part, r.mode.partition(":")[0]] for r in rungs]
    assert sum(smaller) >= 0.8 * len(smaller)
    assert any(map(is_unconverged, rungs))
    assert overall(rungs, 1.0).word != "holds"


def test_judging_again_solves_nothing(
    pair: tuple[Answer, Answer], monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setattr(converge, "BUDGET", 8 * pair[0].space.size + 1)
    strong = strengths(pair[0].case)
    first, finer, _ = converge.judge_to_target(*pair, strong, 1e-9)
    save_finer(pair[0], finer, tmp_path / "finer.npz")

    def refuse(*_: object) -> Answer:
        raise AssertionError("solved anew")

    monkeypatch.setattr(converge, "solve", refuse)
    known = load_finer(pair[0], tmp_path / "finer.npz")
    again, _, level = converge.judge_to_target(*pair, strong, 1e-9, known)
    assert level == 1
    assert [(r.part, r.mode, r.pressure) for r in again] == [
        (r.part, r.mode, r.pressure) for r in first
    ]


def test_finer_answers_of_another_answer_are_not_used(
    pair: tuple[Answer, Answer], tmp_path: Path
) -> None:
    save_finer(pair[0], {1: pair[0]}, tmp_path / "finer.npz")
    assert set(load_finer(pair[0], tmp_path / "finer.npz")) == {1}
    assert load_finer(pair[1], tmp_path / "finer.npz") == {}
    assert load_finer(pair[0], tmp_path / "missing.npz") == {}
    (tmp_path / "finer.npz").write_bytes(b"PK broken")
    assert load_finer(pair[0], tmp_path / "finer.npz") == {}
