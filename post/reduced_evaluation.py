"""Points of a reduced joint: bond ladders and bond statistics by the thousand, with their errors.

Problem
    A study varies moduli, ply angles, temperatures, depth and strengths of one joint whose shape
    stays as it is. Each point wants its bond ladder, its bond statistics, and to know how wrong
    the short way may have made them.
Formulation
    `post.reduced_joint.set_up` chooses the snapshots; here points are evaluated. One whose
    estimate is above the target is solved in full, and its solution enriches the basis for the
    rest.
Error
    `solve.reduced` bounds the error of a point's displacements, b as a share of them in the energy
    norm. A bound of each stress from b is far too large: it reckons with an error that gathers at
    one place. So the relation is measured: `CHECKS` points that are in no basis are solved in
    full, and the largest ratio of any number's relative error to b there, times `SAFETY`, times a
    point's own b is its estimate. (With a ratio for each bond one number in two thousand just
    reached its estimate; one for all leaves a factor of two to three.) It is an estimate, not a
    bound, of the error against a full solution on the same mesh; that of the mesh is the case's
    own. A pressure's error is a share of the pressure, or of the duty pressure where that is more;
    a stress's a share of the largest peel or shear in that bond at duty.
"""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from geometry.case import Case
from geometry.seawater import depths_at
from post.ladder import DEEPEST
from post.reduced_bonds import Bonds, Numbers, bond_numbers, extend_bonds
from post.reduced_points import Points
from solve.answer import Answer
from solve.laminate import Material
from solve.reduced import Basis, Reduced, evaluate, extend, full_solution

Floats = NDArray[np.float64]

TARGET = 1e-3
SAFETY = 2.0
BEYOND = 150.0  # MPa, beyond any sea: pressures above it count as one
CHUNK = 1024  # points a thread takes at a time


@dataclass(frozen=True, eq=False)
class ReducedJoint:
    """A reduced model with the numbers that it gives.

    Attributes
    ----------
    case : Case
        The fields that do not vary.
    answer : Answer
        Of that case: section, mesh and space.
    basis : Basis
    bonds : Bonds
    window : float
        Characteristic length, mm.
    target : float
        Largest error estimate that is accepted.
    ratio : float
        Largest relative error of a number over the bound of the displacements' error, as measured.
    """

    case: Case
    answer: Answer
    basis: Basis
    bonds: Bonds
    window: float
    target: float
    ratio: float

    def numbers(self, points: Points) -> tuple[Numbers, Floats]:
        """Evaluate points in the basis as it stands: their numbers and the bound b (n,)."""
        reduced = evaluate(self.basis, points.materials)
        return bond_numbers(self.bonds, reduced, points), bound_share(reduced)

    def enriched(self, materials: dict[str, Material]) -> ReducedJoint:
        """Solve in full, by region, and add the solution to the basis."""
        basis = extend(self.basis, full_solution(self.basis.model, materials))
        bonds = extend_bonds(self.bonds, self.answer, basis, self.window)
        return replace(self, basis=basis, bonds=bonds)


@dataclass(frozen=True, eq=False)
class Estimated:
    """Numbers of n points with their error estimates.

    Attributes
    ----------
    values, errors : dict of str to (n,) array
        As `post.reduced_bonds.Numbers.values`, and BOND.MODE.depth in m, infinite where no sea is
        deep enough; errors are absolute. NaN where a point has no positive definite stiffness.
    estimate : (n,) array
        Largest relative error; infinite where a point has no positive definite stiffness.
    """

    values: dict[str, Floats]
    errors: dict[str, Floats]
    estimate: Floats


@dataclass(frozen=True, eq=False)
class Studied:
    """What became of n points.

    Attributes
    ----------
    numbers : Estimated
    full : (n,) array of bool
        Solved in full.
    joint : ReducedJoint
        With what the full solutions added.
    """

    numbers: Estimated
    full: NDArray[np.bool_]
    joint: ReducedJoint


def study(joint: ReducedJoint, points: Points, threads: int = 1, enrich: bool = True) -> Studied:
    """Evaluate points, in full those that the basis does not reach.

    Parameters
    ----------
    joint : ReducedJoint
    points : Points
    threads : int
        Threads that share the points.
    enrich : bool
        Whether points above the target are solved in full; otherwise they stay as they are.
    """
    numbers, bound = _shared(joint, points, threads)
    ratio = SAFETY * joint.ratio
    full = np.zeros(points.count, bool)
    while enrich:
        above = np.isfinite(bound) & (ratio * bound > joint.target) & ~full
        if not above.any():
            break
        worst = int(np.where(above, bound, -1.0).argmax())
        full[worst] = True
        joint = joint.enriched(joint.basis.model.by_region(points.materials, worst))
        rows = np.flatnonzero(above)
        anew, bound[rows] = _shared(joint, points.pick(rows), threads)
        for old, new in ((numbers.values, anew.values), (numbers.largest, anew.largest)):
            for name, column in old.items():
                column[rows] = new[name]
    errors = {}
    for name, value in numbers.values.items():
        errors[name] = ratio * bound * scale(name, value, numbers, points.pressure)
    values = dict(numbers.values)
    _add_depths(values, errors, points.latitude)
    return Studied(Estimated(values, errors, ratio * bound), full, joint)


def bound_share(reduced: Reduced) -> Floats:
    """Bound of the error of the displacements as a share of them, the larger of both loads."""
    size = np.linalg.norm(reduced.coefficients, axis=2)
    share = reduced.error / np.where(size > 0, size, np.finfo(float).tiny)
    return np.asarray(share.max(axis=1))


def scale(name: str, value: Floats, numbers: Numbers, duty: Floats) -> Floats:
    """Give what the relative error of a number is a share of."""
    if name.endswith(".pressure"):
        return np.maximum(np.minimum(value, BEYOND), duty)
    return numbers.largest[name.partition(".")[0]]


def _shared(joint: ReducedJoint, points: Points, threads: int) -> tuple[Numbers, Floats]:
    starts = range(0, points.count, CHUNK)
    chunks = [np.arange(first, min(first + CHUNK, points.count)) for first in starts]
    with ThreadPoolExecutor(threads) as pool:
        found = list(pool.map(lambda rows: joint.numbers(points.pick(rows)), chunks))

    def joined(tables: list[dict[str, Floats]]) -> dict[str, Floats]:
        return {name: np.concatenate([one[name] for one in tables]) for name in tables[0]}

    numbers = Numbers(
        joined([one.values for one, _ in found]), joined([one.largest for one, _ in found])
    )
    return numbers, np.concatenate([bound for _, bound in found])


def _add_depths(values: dict[str, Floats], errors: dict[str, Floats], latitude: Floats) -> None:
    """Add the depth of every pressure; what no sea reaches is infinitely deep."""
    for name in [name for name in values if name.endswith(".pressure")]:
        depth = depths_at(values[name], latitude)
        less = depths_at(np.maximum(values[name] - errors[name], 0.0), latitude)
        reached = np.isfinite(depth) & (depth <= DEEPEST)
        at = name.removesuffix("pressure") + "depth"
        errors[at] = np.where(reached, depth - np.where(reached, less, 0.0), 0.0)
        values[at] = np.where(reached | np.isnan(depth), depth, np.inf)
