"""Maximum stress in ply axes: each component against its own strength.

Formulation
    s11 / XT or -s11 / XC, s22 / YT or -s22 / YC, s33 / ZT or -s33 / ZC, |s23| / S23, |s13| / S13,
    |s12| / S12; failure where the largest is 1. The body is a box, hence convex; every side is
    linear, so the multiplier is in closed form.
Source
    Common practice, no published source.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from post.criteria.multiplier import Array, first_reach, on_path, stress_array
from post.criteria.strengths import PlyStrength

MODES = (
    "fibre tension",
    "fibre compression",
    "transverse tension",
    "transverse compression",
    "through-thickness tension",
    "through-thickness compression",
    "shear 23",
    "shear 13",
    "shear 12",
)


def mode_indices(stress: ArrayLike, strength: PlyStrength) -> Array:
    """Share of its strength that each component takes up, never below zero.

    Parameters
    ----------
    stress : (6, ...) array
        MPa, ply axes [11, 22, 33, 23, 13, 12].
    strength : PlyStrength

    Returns
    -------
    (9, ...) array
        In the order of `MODES`; grows with the stress in proportion.
    """
    s = stress_array(stress)
    tension, compression, shear = _limits(strength)
    shares = [
        share
        for i in range(3)
        for share in (np.maximum(s[i], 0) / tension[i], np.maximum(-s[i], 0) / compression[i])
    ]
    return np.stack([*shares, *(np.abs(s[3 + i]) / shear[i] for i in range(3))])


def index(stress: ArrayLike, strength: PlyStrength) -> Array:
    """Largest of `mode_indices`, shape (...)."""
    return np.asarray(mode_indices(stress, strength).max(axis=0))


@on_path
def mode_multipliers(thermal: Array, unit: Array, strength: PlyStrength) -> Array:
    """First reach of each component's strength, (9, ...) in the order of `MODES`.

    Parameters
    ----------
    thermal, unit : (6, ...) arrays
        MPa, ply axes.
    strength : PlyStrength
    """
    tension, compression, shear = _limits(strength)
    reached = [
        first_reach(sign * thermal[i], sign * unit[i], limit[i])
        for i in range(3)
        for sign, limit in ((1, tension), (-1, compression))
    ]
    for i in range(3):
        sign = np.where(unit[3 + i] < 0, -1.0, 1.0)
        ahead = first_reach(sign * thermal[3 + i], sign * unit[3 + i], shear[i])
        reached.append(np.where(np.abs(thermal[3 + i]) >= shear[i], 0.0, ahead))
    return np.stack(reached)


def multiplier(thermal: ArrayLike, unit: ArrayLike, strength: PlyStrength) -> Array:
    """Least of `mode_multipliers`, shape (...)."""
    return np.asarray(mode_multipliers(thermal, unit, strength).min(axis=0))


def _limits(
    strength: PlyStrength,
) -> tuple[tuple[float, ...], tuple[float, ...], tuple[float, ...]]:
    """Tension and compression along 1, 2, 3, and shear 23, 13, 12."""
    return (
        (strength.XT, strength.YT, strength.ZT),
        (strength.XC, strength.YC, strength.ZC),
        (strength.S23, strength.S13, strength.S12),
    )
