"""First crossings that have no closed form, found for many paths at once.

Formulation
    `first_crossing` walks. It asks for a bound on the index over a whole step and takes the step
    only if the bound stays below 1; otherwise it halves the step. It cannot pass over a failure,
    however the index moves, because every step taken is proven free of one. Steps that were twice
    taken in a row double.
    `bracketed_root` is for paths that are known to cross once between two ends.
Source
    T.R. Chandrupatla, Adv. Eng. Softw. 28 (1997) 145-149 (inverse quadratic interpolation where it
    is safe, else halving), written for arrays.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from post.criteria.multiplier import NEVER, Array

Where = NDArray[np.intp]
PASSES = 20000
CLOSE = 2e-15


def first_crossing(bound: Callable[[Array, Array, Where], Array], count: int) -> Array:
    """Walk each path from 0 to its first failure.

    Parameters
    ----------
    bound : callable
        bound(low, high, where), for the paths numbered by `where`: below 1 only if the index is
        everywhere between low and high, and the index itself where low == high.
    count : int
        Number of paths.

    Returns
    -------
    (count,) array
        The largest x proven safe, at most about 1e-14 of itself below the crossing. 0 where the
        path starts failed, infinity where it has run to `NEVER`. A path that only grazes failure
        may stop on the safe side, at a point from which no step could be proven.
    """
    x = np.zeros(count)
    where = np.flatnonzero(bound(x, x, np.arange(count)) < 1)
    step = np.full(len(where), 16.0)
    grows = np.ones(len(where), dtype=bool)
    for _ in range(PASSES):
        if not where.size:
            break
        low = x[where]
        free = bound(low, low + step, where) < 1
        x[where] = np.where(free, low + step, low)
        step = np.where(free, np.where(grows, 2 * step, step / 2), step / 2)
        grows = free
        escaped = x[where] > NEVER
        x[where[escaped]] = np.inf
        going = ~escaped & (step > CLOSE * np.maximum(x[where], 1e-280))
        where, step, grows = where[going], step[going], grows[going]
    return x


def bracketed_root(excess: Callable[[Array, Where], Array], low: Array, high: Array) -> Array:
    """Find where an excess over 1 changes from negative to not negative.

    Parameters
    ----------
    excess : callable
        excess(x, where), the index less 1, for the paths numbered by `where`.
    low, high : (n,) arrays
        excess(low) < 0 <= excess(high).

    Returns
    -------
    (n,) array
        Within rounding of the crossing.
    """
    where = np.arange(len(low))
    a, b = high.copy(), low.copy()  # newest point, and the one across the root
    fa, fb = excess(a, where), excess(b, where)
    share = np.full(len(low), 0.5)
    out = high.copy()
    for _ in range(200):
        x = a + share * (b - a)
        fx = excess(x, where)
        same = (fx < 0) == (fa < 0)
        c, fc = np.where(same, a, b), np.where(same, fa, fb)
        b, fb = np.where(same, b, a), np.where(same, fb, fa)
        a, fa = x, fx
        best = np.where(np.abs(fa) < np.abs(fb), a, b)
        out[where] = best
        with np.errstate(all="ignore"):
            limit = CLOSE * np.abs(best) / np.abs(b - a)
            xi, phi = (a - b) / (c - b), (fa - fb) / (fc - fb)
            inverse = (phi * phi < xi) & ((1 - phi) ** 2 < 1 - xi)
            quadratic = fa / (fb - fa) * fc / (fb - fc)
            quadratic += (c - a) / (b - a) * fa / (fc - fa) * fb / (fc - fb)
        share = np.where(inverse & np.isfinite(quadratic), quadratic, 0.5)
        going = (fa != 0) & (limit < 0.5)
        limit, where = limit[going], where[going]
        if not where.size:
            break
        share = np.clip(share[going], limit, 1 - limit)
        a, b, fa, fb = a[going], b[going], fa[going], fb[going]
    return out
