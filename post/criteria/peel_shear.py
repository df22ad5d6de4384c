"""Peel and shear of a bond together, at its mid-thickness.

Formulation
    (<peel> / T)^2 + (shear^2 + twist^2) / S^2 = 1, <peel> the tensile part only: pressing the bond
    shut does no harm. The index is a convex function of the stress, so a path leaves the body
    once: at the root without peel if the bond is shut there, else at the root with it.
Source
    The quadratic interaction is common practice, no published source.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from post.criteria.multiplier import Array, first_root, on_path, require_positive, stress_array


@dataclass(frozen=True)
class BondStrength:
    """Strengths of a bond, MPa: `tension` against peel, `shear` against both shears."""

    tension: float
    shear: float

    def __post_init__(self) -> None:
        require_positive(self)


def index(stress: ArrayLike, strength: BondStrength) -> Array:
    """Quadratic interaction, shape (...); quadratic in the stress.

    Parameters
    ----------
    stress : (3, ...) array
        peel, shear, twist, MPa.
    strength : BondStrength
    """
    peel, shear, twist = stress_array(stress)
    return np.asarray(
        (np.maximum(peel, 0) / strength.tension) ** 2 + (shear**2 + twist**2) / strength.shear**2
    )


@on_path
def multiplier(thermal: Array, unit: Array, strength: BondStrength) -> Array:
    """First crossing, shape (...).

    Parameters
    ----------
    thermal, unit : (3, ...) arrays
        peel, shear, twist, MPa.
    strength : BondStrength
    """
    T, S = strength.tension**2, strength.shear**2
    a = (unit[1] ** 2 + unit[2] ** 2) / S
    b = 2 * (thermal[1] * unit[1] + thermal[2] * unit[2]) / S
    c = (thermal[1] ** 2 + thermal[2] ** 2) / S - 1
    shut = first_root(a, b, c)
    # c < 0 here wherever it counts; of the full quadratic the last root is where the path leaves
    a, b, c = (
        a + unit[0] ** 2 / T,
        b + 2 * thermal[0] * unit[0] / T,
        c + thermal[0] ** 2 / T,
    )
    opened = _last_root(a, b, c)
    reached = np.where(np.isinf(shut), 1.0, shut)
    peel = np.where(np.isinf(shut), unit[0], thermal[0] + reached * unit[0])
    x = np.where(peel > 0, opened, shut)
    failed = index(thermal, strength) >= 1
    return np.where(failed, 0.0, x)


def _last_root(a: Array, b: Array, c: Array) -> Array:
    """Last x with a x^2 + b x + c = 0 for a >= 0; infinity where a = 0 or there is none."""
    root = np.sqrt(np.maximum(b * b - 4 * a * c, 0))
    rising = b > 0
    numerator = np.where(rising, -2 * c, root - b)
    denominator = np.where(rising, b + root, 2 * a)
    x = np.full(denominator.shape, np.inf)
    with np.errstate(over="ignore"):
        np.divide(numerator, denominator, out=x, where=denominator > 0)
    return x
