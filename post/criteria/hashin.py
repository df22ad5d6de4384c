"""Hashin's four modes in three dimensions.

Formulation
    axial = (s12^2 + s13^2) / S12^2

    fibre tension,      s11 >= 0:      (s11 / XT)^2 + axial
    fibre compression,  s11 < 0:       (s11 / XC)^2
    matrix tension,     s22 + s33 >= 0: ((s22 + s33) / YT)^2 + (s23^2 - s22 s33) / S23^2 + axial
    matrix compression, s22 + s33 < 0:  [(YC / 2 S23)^2 - 1] (s22 + s33) / YC
                                       + ((s22 + s33) / 2 S23)^2
                                       + (s23^2 - s22 s33) / S23^2 + axial

First crossing
    The body is not convex: matrix tension and compression meet in a kink that points inwards, and
    shear counts against the fibre in tension only, so that the fibre's index jumps where s11
    changes sign. But each mode is quadratic on its own stretch of the path. Its first crossing is
    the beginning of that stretch if it is reached there, else the first root within; the least
    over the modes is the first of all.
Source
    Z. Hashin, J. Appl. Mech. 47 (1980) 329-334.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from post.criteria.multiplier import (
    Array,
    first_root_between,
    on_path,
    stress_array,
    where_positive,
)
from post.criteria.strengths import PlyStrength

MODES = ("fibre tension", "fibre compression", "matrix tension", "matrix compression")


def mode_indices(stress: ArrayLike, strength: PlyStrength) -> Array:
    """Index of each mode, 0 where the sign of the stress rules it out.

    Parameters
    ----------
    stress : (6, ...) array
        MPa, ply axes [11, 22, 33, 23, 13, 12].
    strength : PlyStrength
        XT, XC, YT, YC, S12 and S23 are used.

    Returns
    -------
    (4, ...) array
        In the order of `MODES`; quadratic in the stress.
    """
    s = stress_array(stress)
    values = _quadratic(s, s, strength)
    across = s[1] + s[2]
    values[3] += _slope(strength) * across
    counts = np.stack([s[0] >= 0, s[0] < 0, across >= 0, across < 0])
    return np.where(counts, values, 0.0)


def index(stress: ArrayLike, strength: PlyStrength) -> Array:
    """Largest of `mode_indices`, shape (...)."""
    return np.asarray(mode_indices(stress, strength).max(axis=0))


@on_path
def mode_multipliers(thermal: Array, unit: Array, strength: PlyStrength) -> Array:
    """First crossing of each mode, (4, ...) in the order of `MODES`.

    Parameters
    ----------
    thermal, unit : (6, ...) arrays
        MPa, ply axes.
    strength : PlyStrength
    """
    a = _quadratic(unit, unit, strength)
    b = 2 * _quadratic(thermal, unit, strength)
    c = _quadratic(thermal, thermal, strength) - 1
    start, slope = thermal[1] + thermal[2], unit[1] + unit[2]
    b[3] += _slope(strength) * slope
    c[3] += _slope(strength) * start
    low, high = np.empty_like(a), np.empty_like(a)
    low[0], high[0] = where_positive(thermal[0], unit[0])
    low[1], high[1] = where_positive(-thermal[0], -unit[0], zero_counts=False)
    low[2], high[2] = where_positive(start, slope)
    low[3], high[3] = where_positive(-start, -slope, zero_counts=False)
    return first_root_between(a, b, c, low, high)


def multiplier(thermal: ArrayLike, unit: ArrayLike, strength: PlyStrength) -> Array:
    """Least of `mode_multipliers`, shape (...)."""
    return np.asarray(mode_multipliers(thermal, unit, strength).min(axis=0))


def _slope(strength: PlyStrength) -> float:
    """Linear term of matrix compression, 1/MPa."""
    return ((strength.YC / (2 * strength.S23)) ** 2 - 1) / strength.YC


def _quadratic(s: Array, t: Array, strength: PlyStrength) -> Array:
    """Bilinear forms of the modes; with s = t, their quadratic parts.

    (s22 + s33)^2 / 4 - s22 s33 is ((s22 - s33) / 2)^2, which subtracts nothing.
    """
    axial = (s[4] * t[4] + s[5] * t[5]) / strength.S12**2
    fibre = s[0] * t[0]
    total = (s[1] + s[2]) * (t[1] + t[2])
    across = 0.25 * ((s[1] - s[2]) * (t[1] - t[2])) + s[3] * t[3]
    matrix = across / strength.S23**2 + axial
    tension = 1 / strength.YT**2 - 0.25 / strength.S23**2
    return np.stack(
        [fibre / strength.XT**2 + axial, fibre / strength.XC**2, tension * total + matrix, matrix]
    )
