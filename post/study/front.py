"""Non-dominated sets, and a search that spreads along one.

Problem
    Two aims seldom have one best design. Which designs does none beat in both?
Formulation
    All aims are made small. x dominates y when it is nowhere worse and somewhere better; what
    breaks a limit is dominated by all that break it less. The search is Deb's: sorting into fronts,
    crowding distance within a front, tournaments, simulated binary crossover and polynomial
    mutation in the unit cube; listed values are shares of it like any other.
Source
    K. Deb, A. Pratap, S. Agarwal & T. Meyarivan, IEEE Trans. Evol. Comput. 6 (2002) 182-197;
    K. Deb & R.B. Agrawal, Complex Systems 9 (1995) 115-148 (values from memory).
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Evaluate = Callable[[Floats], tuple[Floats, Floats]]
"""From (n, k) shares to (n, m) aims, to be made small, and (n,) violations."""

CROSSOVER = 15.0  # spread of children about their parents: larger is nearer
MUTATION = 20.0
CROSSED = 0.9  # share of pairs that are crossed


def dominates(aims: Floats, violation: Floats) -> NDArray[np.bool_]:
    """Whether point i dominates point j, (n, n)."""
    worse = (aims[:, None] > aims[None]).any(axis=2)
    better = (aims[:, None] < aims[None]).any(axis=2)
    holds = violation <= 0
    both = holds[:, None] & holds[None]
    less = violation[:, None] < violation[None]
    return np.asarray(np.where(both, ~worse & better, less))


def ranks(aims: Floats, violation: Floats) -> Ints:
    """Front of each point, 0 for those that none dominates."""
    over = dominates(aims, violation)
    rank = np.full(len(aims), -1, dtype=np.int64)
    left = np.ones(len(aims), bool)
    front = 0
    while left.any():
        free = left & ~(over & left[:, None]).any(axis=0)
        rank[free] = front
        left &= ~free
        front += 1
    return rank


def first_front(aims: Floats, violation: Floats) -> NDArray[np.bool_]:
    """Points that hold every limit and that none dominates."""
    known = np.isfinite(aims).all(axis=1) & (violation <= 0)
    front = np.zeros(len(aims), bool)
    at = np.flatnonzero(known)
    if len(at):
        front[at] = ranks(aims[at], violation[at]) == 0
    return front


def crowding(aims: Floats, rank: Ints) -> Floats:
    """Distance to the neighbours within a front; infinite at its ends."""
    distance = np.zeros(len(aims))
    for front in range(int(rank.max()) + 1):
        at = np.flatnonzero(rank == front)
        for aim in aims[at].T:
            order = at[np.argsort(aim, kind="stable")]
            values = aims[order][:, 0] if aims.shape[1] == 1 else np.sort(aim, kind="stable")
            span = values[-1] - values[0]
            distance[order[[0, -1]]] = np.inf
            if span > 0 and np.isfinite(span):
                distance[order[1:-1]] += (values[2:] - values[:-2]) / span
    return distance


def search_front(
    evaluate: Evaluate, k: int, population: int, generations: int, rng: np.random.Generator
) -> None:
    """Search; what was evaluated, and hence the front, is kept by `evaluate`.

    Parameters
    ----------
    evaluate : callable
    k : int
        Variables.
    population, generations : int
    rng : Generator
    """
    u = _latin(population, k, rng)
    aims, violation = evaluate(u)
    for _ in range(generations):
        rank, far = _order(aims, violation)
        children = _children(u, rank, far, rng)
        more, broken = evaluate(children)
        u, aims = np.vstack([u, children]), np.vstack([aims, more])
        violation = np.concatenate([violation, broken])
        rank, far = _order(aims, violation)
        keep = np.lexsort((-far, rank))[:population]
        u, aims, violation = u[keep], aims[keep], violation[keep]


def _order(aims: Floats, violation: Floats) -> tuple[Ints, Floats]:
    rank = ranks(aims, violation)
    return rank, crowding(aims, rank)


def _latin(population: int, k: int, rng: np.random.Generator) -> Floats:
    cells = np.stack([rng.permutation(population) for _ in range(k)], axis=1)
    return np.asarray((cells + rng.random((population, k))) / population)


def _children(u: Floats, rank: Ints, far: Floats, rng: np.random.Generator) -> Floats:
    count, k = u.shape
    pairs = rng.integers(count, size=(2, count + count % 2, 1))
    pairs = np.concatenate([pairs, rng.integers(count, size=pairs.shape)], axis=2)
    one, two = pairs[..., 0], pairs[..., 1]
    first = (rank[one] < rank[two]) | ((rank[one] == rank[two]) & (far[one] >= far[two]))
    parents = u[np.where(first, one, two)]  # (2, count, k)
    share = rng.random(parents.shape[1:])
    beta = np.where(
        share <= 0.5,
        (2 * share) ** (1 / (CROSSOVER + 1)),
        (1 / (2 * (1 - share))) ** (1 / (CROSSOVER + 1)),
    )
    crossed = (rng.random((parents.shape[1], 1)) < CROSSED) & (rng.random(share.shape) < 0.5)
    beta = np.where(crossed, beta, 1.0)
    a, b = parents
    children = np.vstack([(a + b + beta * (a - b)) / 2, (a + b - beta * (a - b)) / 2])
    children = children[rng.permutation(len(children))[:count]]
    share = rng.random(children.shape)
    step = np.where(
        share < 0.5,
        (2 * share) ** (1 / (MUTATION + 1)) - 1,
        1 - (2 * (1 - share)) ** (1 / (MUTATION + 1)),
    )
    moved = rng.random(children.shape) < 1 / k
    return np.asarray(np.clip(children + moved * step, 0.0, 1.0))
