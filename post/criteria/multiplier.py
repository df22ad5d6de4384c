"""The load at which a criterion is first reached, on a straight path of stress.

Problem
    A joint cools, then dives. Its stress is known as two parts: the thermal one, and that of a
    unit of pressure. At which pressure does a criterion first say "failed"?
Formulation
    stress(x) = thermal + x unit, x >= 0. A criterion has an `index`, failure where index >= 1, and
    a `multiplier`, the least x with index(stress(x)) >= 1: 0 where the thermal part alone has
    failed, infinity where no x has. Where the index is linear or quadratic in the stress, perhaps
    on one side of a sign change only, the first crossing is a root in closed form; the rest goes
    through `post.criteria.crossing`.
First crossing
    Stresses that pass keep to a body in stress space. Where that body is convex, a path from
    inside leaves it once. Each criterion says whether its body is, and if not, how it makes sure
    that nothing was passed over.
Frame
    Components come first, [rr, tt, zz, tz, rz, rt] in the hull frame or [11, 22, 33, 23, 13, 12]
    in ply axes; any axes may follow. Stress in MPa; a multiplier is in the unit of pressure that
    the unit part stands for.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import wraps
from typing import TypeVar

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]
Strength = TypeVar("Strength")

HUGE = 1e100  # MPa; stands for any stress beyond it, so that squares stay finite
NEVER = 1e12  # MPa along a path; a crossing beyond it comes from rounding, not from a strength


def stress_array(stress: ArrayLike) -> Array:
    """Take a stress as finite floats.

    Raises
    ------
    ValueError
        When a stress is not a number: that is neither safe nor failed.
    """
    array = np.asarray(stress, dtype=float)
    if array.size == 0:
        return array
    low, high = array.min(), array.max()
    if np.isnan(low):
        raise ValueError("a stress is not a number (NaN); leave such points out before judging")
    return array if -HUGE <= low and high <= HUGE else np.clip(array, -HUGE, HUGE)


def on_path(
    solve: Callable[[Array, Array, Strength], Array],
) -> Callable[[ArrayLike, ArrayLike, Strength], Array]:
    """Wrap a solution for unit parts whose largest component is 1 MPa into a multiplier.

    The wrapped function takes thermal and unit stresses that broadcast against each other, and
    refuses what is not a number. A crossing beyond `NEVER` is none.
    """

    @wraps(solve)
    def multiplier(thermal: ArrayLike, unit: ArrayLike, strength: Strength) -> Array:
        start, towards = np.broadcast_arrays(stress_array(thermal), stress_array(unit))
        size = np.maximum(towards.max(axis=0), -towards.min(axis=0))
        size = np.where(size > 0, size, 1.0)
        with np.errstate(over="ignore", under="ignore"):
            reached = solve(start, towards / size, strength)
            return np.asarray(np.where(reached > NEVER, np.inf, reached / size))

    return multiplier


def first_root(a: Array, b: Array, c: Array) -> Array:
    """Least x >= 0 with a x^2 + b x + c >= 0; infinity where there is none.

    Parameters
    ----------
    a, b, c : arrays of one shape

    Returns
    -------
    array
        0 where c >= 0. Neither form of the root subtracts like numbers.
    """
    discriminant = b * b - 4 * a * c
    root = np.sqrt(np.maximum(discriminant, 0))
    falling = b < 0
    numerator = np.where(falling, root - b, -2 * c)
    denominator = np.where(falling, 2 * a, b + root)
    possible = (discriminant >= 0) & (denominator > 0)
    x = np.full(possible.shape, np.inf)
    with np.errstate(over="ignore"):
        np.divide(numerator, denominator, out=x, where=possible)
    x[c >= 0] = 0
    return x


def first_root_between(a: Array, b: Array, c: Array, low: Array, high: Array) -> Array:
    """Least x in [low, high] with a x^2 + b x + c >= 0; infinity where there is none.

    Parameters
    ----------
    a, b, c : arrays of one shape
    low, high : arrays of that shape
        low is finite; none is found where low > high.
    """
    x = low + first_root(a, 2 * a * low + b, (a * low + b) * low + c)
    x[~(x <= high)] = np.inf
    return x


def where_positive(start: Array, slope: Array, *, zero_counts: bool = True) -> tuple[Array, Array]:
    """Find the stretch of x >= 0 with start + slope x >= 0: its ends, (1, 0) if there is none.

    Whether a path that stays at zero counts is up to `zero_counts`; a single zero always does.
    """
    sloping = slope != 0
    change = np.zeros(start.shape)
    with np.errstate(over="ignore"):
        np.divide(-start, slope, out=change, where=sloping)
    change = np.clip(change, -HUGE, HUGE)
    low = np.where(slope > 0, np.maximum(change, 0), 0.0)
    high = np.where(slope < 0, change, np.inf)
    never = np.where(sloping, high < 0, start < 0 if zero_counts else start <= 0)
    return np.where(never, 1.0, low), np.where(never, 0.0, high)


def first_reach(start: Array, slope: Array, limit: float) -> Array:
    """Least x >= 0 with start + slope x >= limit; infinity where there is none."""
    x = np.full(start.shape, np.inf)
    with np.errstate(over="ignore"):
        np.divide(limit - start, slope, out=x, where=slope > 0)
    x[start >= limit] = 0
    return x


def require_positive(strength: object, *, zero: tuple[str, ...] = ()) -> None:
    """Refuse a dataclass of strengths that holds a number which is not finite and positive.

    Parameters
    ----------
    strength : dataclass instance
    zero : tuple of str
        Fields that may also be zero.

    Raises
    ------
    ValueError
    """
    for name, value in vars(strength).items():
        if not np.isfinite(value) or value < 0 or (value == 0 and name not in zero):
            least = "zero or above" if name in zero else "above zero"
            raise ValueError(f"{type(strength).__name__}.{name} = {value} must be {least}, finite")
