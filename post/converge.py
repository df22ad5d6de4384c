"""Refining until the ladder is as good as was asked.

A ladder with rungs whose numerical error is larger than the target is judged again on a mesh of
half the element size, with the mesh before it as companion, until the target is met or the next
mesh would exceed `BUDGET`. What is still too coarse then stands on the ladder as not converged.
Finer answers are handed back, so that judging the same answer anew, at another depth or with
another strength, solves nothing.
"""

from __future__ import annotations

from collections.abc import Mapping

from geometry.mesh import mesh_section
from post.judge import judge
from post.ladder import Rung
from post.strengths import Strengths
from post.verdict import is_unconverged
from solve.answer import Answer, solve

BUDGET = 600_000  # unknowns of the finest mesh: some ten seconds on two cores
FINEST = 3  # mesh level


def judge_to_target(
    answer: Answer,
    companion: Answer,
    strengths: Strengths,
    target: float,
    known: Mapping[int, Answer] | None = None,
) -> tuple[list[Rung], dict[int, Answer], int]:
    """Build the ladder, refining while a rung is not converged.

    Parameters
    ----------
    answer, companion : Answer
        The case on its own mesh and on one of twice the element size.
    strengths : Strengths
    target : float
        Largest numerical error of a pressure, as a share of it.
    known : mapping of int to Answer, optional
        Finer answers by mesh level that an earlier judgement found.

    Returns
    -------
    rungs : list of Rung
    finer : dict of int to Answer
        The known finer answers and those found now.
    level : int
        Mesh level of the last judgement.
    """
    level = answer.case.mesh.level
    finer = dict(known or {})
    rungs = judge(answer, companion, strengths, target)
    while any(map(is_unconverged, rungs)) and level < FINEST:
        components = 3 if answer.displacement["pressure"][:, 1].any() else 2
        if 4 * components * answer.space.size > BUDGET:
            break
        level += 1
        if level not in finer:
            finer[level] = solve(answer.case, mesh_section(answer.section, level))
        answer, companion = finer[level], answer
        rungs = judge(answer, companion, strengths, target)
    return rungs, finer, level
