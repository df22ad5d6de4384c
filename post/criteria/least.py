"""The weakest point of many, without solving for all of them.

Formulation
    A criterion with closed forms is solved everywhere, in blocks that fit a processor's cache.
    One that needs a search brings a test `safe(thermal, end, strength)`, which tells cheaply that
    no failure lies on a stretch of path. With x the least multiplier found so far, only points not
    safe up to x can hold a lesser one, and only they are solved, the most loaded first. What is
    left out is proven not to lie below, so the least is that of solving everywhere, but for a
    share of 1e-12 by which multipliers count as the same: many points may be alike.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from post.criteria.criterion import Criterion
from post.criteria.multiplier import Array, stress_array

BLOCK = 16384
SAMPLE = 512  # points solved first, evenly spread
BATCH = 64
SAME = 1e-12  # multipliers closer than this share count as one


@dataclass(frozen=True)
class Least:
    """Where a mode is reached first.

    Attributes
    ----------
    mode : str
    multiplier : float
        Infinity where it is never reached.
    place : tuple of int
        Index into the axes that follow the components.
    """

    mode: str
    multiplier: float
    place: tuple[int, ...]


def least_multiplier(
    criterion: Criterion[Any],
    thermal: ArrayLike,
    unit: ArrayLike,
    strength: Any,
    up_to: float = np.inf,
) -> tuple[Least, ...]:
    """Least multiplier of each mode of a criterion over all points.

    Parameters
    ----------
    criterion : Criterion
    thermal, unit : (components, ...) arrays
        MPa; of one shape, in the frame that the criterion asks for, with at least one point.
    strength : the criterion's own
    up_to : float
        Of a criterion that needs a search, a multiplier not below this one counts as infinite.

    Returns
    -------
    tuple of Least
        One per mode of the criterion, in its order. Equal to the least over
        ``criterion.multipliers`` of all points.
    """
    start, towards = np.broadcast_arrays(stress_array(thermal), stress_array(unit))
    shape = start.shape[1:]
    T, U = start.reshape(len(start), -1), towards.reshape(len(towards), -1)
    if criterion.safe is None:
        values, points = _everywhere(criterion, T, U, strength)
    else:
        values, points = _where_needed(criterion, T, U, strength, up_to)
    return tuple(
        Least(mode, float(value), tuple(int(i) for i in np.unravel_index(int(point), shape)))
        for mode, value, point in zip(criterion.modes, values, points, strict=True)
    )


def _everywhere(
    criterion: Criterion[Any], T: Array, U: Array, strength: Any
) -> tuple[list[float], list[int]]:
    values, points = [np.inf] * len(criterion.modes), [0] * len(criterion.modes)
    for first in range(0, T.shape[1], BLOCK):
        part = slice(first, first + BLOCK)
        found = criterion.multipliers(T[:, part], U[:, part], strength)
        for mode, at in enumerate(found.argmin(axis=1)):
            if found[mode, at] < values[mode]:
                values[mode], points[mode] = float(found[mode, at]), first + int(at)
    return values, points


def _where_needed(
    criterion: Criterion[Any], T: Array, U: Array, strength: Any, up_to: float
) -> tuple[list[float], list[int]]:
    assert criterion.safe is not None
    best, point = up_to, -1

    def settle(at: Array) -> None:
        nonlocal best, point
        found = criterion.multipliers(T[:, at], U[:, at], strength)[0]
        least = int(found.argmin())
        if found[least] < best:
            best, point = float(found[least]), int(at[least])

    count = T.shape[1]
    if np.isinf(best):
        settle(np.arange(0, count, max(1, count // SAMPLE)))
    for first in range(0, count, BLOCK):
        left = np.arange(first, min(first + BLOCK, count))
        while left.size and best > 0:
            if np.isinf(best):
                settle(left)
                break
            start = T[:, left]
            end = start + best * (1 - SAME) * U[:, left]
            unsafe = ~criterion.safe(start, end, strength)
            left = left[unsafe]
            if left.size:
                loaded = criterion.indices(end[:, unsafe], strength)[0]
                order = np.argsort(-loaded, kind="stable")
                settle(left[order[:BATCH]])
                left = left[order[BATCH:]]
    return ([best], [point]) if point >= 0 else ([np.inf], [0])
