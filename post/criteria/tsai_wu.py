"""Tsai-Wu: one quadratic surface for the whole ply, in three dimensions.

Formulation
    F_i s_i + F_ij s_i s_j = 1 for a ply that is alike in all directions across its fibres, with
    the usual choice of the terms that are seldom measured,

        F12 = F13 = -sqrt(F11 F22) / 2,   F23 = -F22 / 2,   F44 = 2 (F22 - F23) = 3 F22,

    the last so that turning the stress about the fibre changes nothing: S23 is then
    sqrt(YT YC / 3) and no strength of its own. With x_i = s_ii sqrt(F_ii) the quadratic part is a
    sum of squares

        [(x1 - x2)^2 + (x2 - x3)^2 + (x3 - x1)^2] / 2 + F44 s23^2 + F66 (s13^2 + s12^2)

    so the body is convex, and is left once; it has no end towards pressure on all sides. The index
    is quadratic in the stress, its first crossing a root.
Symbols
    F1 = 1/XT - 1/XC, F2 = 1/YT - 1/YC, F11 = 1/(XT XC), F22 = 1/(YT YC), F66 = 1/S12^2.
Source
    S.W. Tsai & E.M. Wu, J. Compos. Mater. 5 (1971) 58-80.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from post.criteria.multiplier import Array, first_root, on_path, stress_array
from post.criteria.strengths import PlyStrength


@dataclass(frozen=True)
class Coefficients:
    """F1, F2 in 1/MPa; F11, F22, F12, F44, F66 in 1/MPa^2."""

    F1: float
    F2: float
    F11: float
    F22: float
    F12: float
    F44: float
    F66: float


def coefficients(strength: PlyStrength) -> Coefficients:
    """Coefficients of the surface from XT, XC, YT, YC and S12."""
    F11, F22 = 1 / (strength.XT * strength.XC), 1 / (strength.YT * strength.YC)
    return Coefficients(
        F1=1 / strength.XT - 1 / strength.XC,
        F2=1 / strength.YT - 1 / strength.YC,
        F11=F11,
        F22=F22,
        F12=-0.5 * float(np.sqrt(F11 * F22)),
        F44=3 * F22,
        F66=1 / strength.S12**2,
    )


def index(stress: ArrayLike, strength: PlyStrength) -> Array:
    """Value of the polynomial; it may be negative, and does not grow in proportion.

    Parameters
    ----------
    stress : (6, ...) array
        MPa, ply axes [11, 22, 33, 23, 13, 12].
    strength : PlyStrength
        XT, XC, YT, YC and S12 are used.

    Returns
    -------
    (...) array
        Failure where it is 1 or above.
    """
    s, F = stress_array(stress), coefficients(strength)
    return _linear(s, F) + _quadratic(s, s, F)


@on_path
def multiplier(thermal: Array, unit: Array, strength: PlyStrength) -> Array:
    """First crossing of the surface, shape (...).

    Parameters
    ----------
    thermal, unit : (6, ...) arrays
        MPa, ply axes.
    strength : PlyStrength
    """
    F = coefficients(strength)
    return first_root(
        _quadratic(unit, unit, F),
        2 * _quadratic(thermal, unit, F) + _linear(unit, F),
        _quadratic(thermal, thermal, F) + _linear(thermal, F) - 1,
    )


def _linear(s: Array, F: Coefficients) -> Array:
    out: Array = F.F1 * s[0] + F.F2 * (s[1] + s[2])
    return out


def _quadratic(s: Array, t: Array, F: Coefficients) -> Array:
    """Bilinear form of the quadratic part."""
    ratio = float(np.sqrt(F.F11 / F.F22))
    s1, t1 = ratio * s[0], ratio * t[0]
    normal = (s1 - s[1]) * (t1 - t[1]) + (s[1] - s[2]) * (t[1] - t[2]) + (s[2] - s1) * (t[2] - t1)
    out: Array = 0.5 * F.F22 * normal + F.F44 * (s[3] * t[3]) + F.F66 * (s[4] * t[4] + s[5] * t[5])
    return out
