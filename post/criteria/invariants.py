"""Invariants of the stress at a point, the same in every frame.

Components [rr, tt, zz, tz, rz, rt] or [11, 22, 33, 23, 13, 12]: normal stresses first.
"""

from __future__ import annotations

from post.criteria.multiplier import Array


def mises_product(s: Array, t: Array) -> Array:
    """Bilinear form whose value at s = t is the square of von Mises's stress, MPa^2."""
    normal = (
        (s[0] - s[1]) * (t[0] - t[1])
        + (s[1] - s[2]) * (t[1] - t[2])
        + (s[2] - s[0]) * (t[2] - t[0])
    )
    out: Array = 0.5 * normal + 3 * (s[3] * t[3] + s[4] * t[4] + s[5] * t[5])
    return out


def trace(s: Array) -> Array:
    """Sum of the normal stresses, MPa."""
    out: Array = s[0] + s[1] + s[2]
    return out
