"""A joint as a reduced model, set up once for all points between the bounds of what varies.

Problem
    Which full solutions are the snapshots, and how do errors of the numbers that are shown relate
    to the bound of the displacements' error?

Formulation
    A sample of points between the bounds of what varies (Sobol's sequence; its middle is the
    reference) is drawn, some of it put aside as checks and solved in full. Snapshots are added
    where the bound of the displacements' error is largest until the estimate of every number
    (`post.reduced_evaluation`) is below `MARGIN` of the target all over the sample. The ratio is
    measured anew as the basis grows; checks never enter it.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray
from scipy.stats import qmc

from geometry.case import Case
from geometry.forms import draw_section
from geometry.mesh import JointMesh, mesh_section
from post.reduced_bonds import Bonds, Numbers, bond_numbers, bond_strains, start_bonds
from post.reduced_evaluation import (
    BEYOND,
    SAFETY,
    TARGET,
    ReducedJoint,
    Studied,
    bound_share,
    scale,
    study,
)
from post.reduced_points import Place, Points, points_of_fields
from post.strengths import strengths
from solve.affine import Materials, affine, group_of
from solve.answer import DEGREE, solve
from solve.elasticity import couples_twist
from solve.laminate import Material
from solve.reduced import Reduced, evaluate, extend, full_solution, least_ratio, start

__all__ = ["ReducedJoint", "Studied", "set_up", "study"]

Floats = NDArray[np.float64]

MARGIN = 0.7  # of the target: what training leaves in the sample
SAMPLE = 512  # points that training chooses from
CHECKS = 16
FIRST_GUESS = 5.0  # of a ratio, until the checks tell
MOST = 150  # snapshots


def set_up(
    case: Case,
    bounds: Mapping[Place, tuple[float, float]],
    mesh: JointMesh | None = None,
    degree: int = DEGREE,
    target: float = TARGET,
    seed: int = 0,
    told: Callable[[int, float], None] | None = None,
) -> ReducedJoint:
    """Build the reduced model of a joint.

    Parameters
    ----------
    case : Case
    bounds : mapping of Place to (float, float)
        Least and largest value of every field that varies (`post.reduced_points`).
    mesh : JointMesh, optional
        Of the case's section; made at the case's level by default.
    degree : int
        Of the displacements.
    target : float
        Largest error estimate that a point may have.
    seed : int
        Of sample and sketch: the same seed, the same model.
    told : callable, optional
        Called with the size of the basis and the largest estimate after each snapshot.

    Raises
    ------
    ValueError
        When a field does not enter linearly, or too few points of the sample are materials.
    """
    section = draw_section(case)
    mesh = mesh if mesh is not None else mesh_section(section, case.mesh.level)
    sample = _sample(case, bounds, seed)
    middle = {name: Material(m.C[0], m.cte[0]) for name, m in sample.materials.items()}
    by_region = {region: middle[group_of(section, region)] for region in mesh.regions}
    twist = any(couples_twist(_point(sample.materials, i)) for i in range(sample.count))
    model = affine(section, mesh, by_region, degree, twist)
    basis = start(model, by_region, seed)
    basis = extend(basis, full_solution(model, by_region))
    # solved in the lowest degree: only its places count
    answer = replace(solve(case, mesh, 1), space=model.space)
    window = strengths(case).characteristic_length
    bonds = start_bonds(answer, basis, window)
    joint = ReducedJoint(case, answer, basis, bonds, window, target, 0.0)

    sound = np.flatnonzero(least_ratio(basis, sample.materials) > 0)[1:]
    if len(sound) < 2 * CHECKS:
        raise ValueError("too few points between the bounds have a positive definite stiffness")
    checks, rest = sample.pick(sound[:CHECKS]), sample.pick(sound[CHECKS:])
    return _trained(joint, rest, checks, _in_full(joint, checks), told)


def _trained(
    joint: ReducedJoint,
    sample: Points,
    checks: Points,
    exact: Numbers,
    told: Callable[[int, float], None] | None,
) -> ReducedJoint:
    """Add snapshots until the estimate is small all over a sample."""
    ratio = FIRST_GUESS
    for _ in range(MOST):
        bound = bound_share(evaluate(joint.basis, sample.materials))
        worst = int(bound.argmax())
        if SAFETY * ratio * bound[worst] <= MARGIN * joint.target:
            ratio = measured_ratio(joint, checks, exact)
            joint = replace(joint, ratio=ratio)
        if told is not None:
            told(joint.basis.size, SAFETY * ratio * float(bound[worst]))
        if joint.ratio and SAFETY * ratio * bound[worst] <= MARGIN * joint.target:
            return joint
        size = joint.basis.size
        joint = joint.enriched(joint.basis.model.by_region(sample.materials, worst))
        if joint.basis.size == size:
            break
    return replace(joint, ratio=measured_ratio(joint, checks, exact))


def measured_ratio(joint: ReducedJoint, checks: Points, exact: Numbers) -> float:
    """Largest ratio of a number's relative error to the bound over the checks."""
    numbers, bound = joint.numbers(checks)
    largest = 0.0
    for name, value in exact.values.items():
        found = numbers.values[name]
        if name.endswith(".pressure"):
            value, found = np.minimum(value, BEYOND), np.minimum(found, BEYOND)
        share = np.abs(found - value) / scale(name, value, exact, checks.pressure)
        largest = max(largest, float((share / bound).max()))
    return largest


def _in_full(joint: ReducedJoint, points: Points) -> Numbers:
    """Numbers of points from full solutions."""
    model = joint.basis.model
    found = []
    for row in range(points.count):
        u = full_solution(model, model.by_region(points.materials, row))
        own = Bonds(bond_strains(joint.answer, joint.basis, u, joint.window), joint.bonds.kept)
        reduced = Reduced(np.eye(2)[None], np.zeros((1, 2)), np.ones(1))
        found.append(bond_numbers(own, reduced, points.pick(np.array([row]))))
    return Numbers(
        {name: np.concatenate([one.values[name] for one in found]) for name in found[0].values},
        {name: np.concatenate([one.largest[name] for one in found]) for name in found[0].largest},
    )


def _sample(case: Case, bounds: Mapping[Place, tuple[float, float]], seed: int) -> Points:
    """Points between bounds, the middle first."""
    drawn = qmc.Sobol(len(bounds), seed=np.random.default_rng(seed)).random(SAMPLE)
    drawn = np.vstack([np.full(len(bounds), 0.5), drawn])
    low, high = (np.array([ends[i] for ends in bounds.values()]) for i in (0, 1))
    columns = (low + drawn * (high - low)).T
    return points_of_fields(case, dict(zip(bounds, columns, strict=True)))


def _point(materials: Materials, row: int) -> dict[str, Material]:
    return {name: Material(m.C[row], m.cte[row]) for name, m in materials.items()}
