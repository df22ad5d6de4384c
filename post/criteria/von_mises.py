"""Von Mises's stress against yield.

Formulation
    sqrt(3 J2) / yield = 1. The body is a cylinder about the axis of pressure on all sides, convex;
    the square is quadratic in the stress, so the multiplier is a root.
Source
    R. von Mises, Nachr. Ges. Wiss. Goettingen, Math.-Phys. Kl. (1913) 582-592.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from post.criteria.invariants import mises_product
from post.criteria.multiplier import Array, first_root, on_path, require_positive, stress_array


@dataclass(frozen=True)
class YieldStrength:
    """Yield of a metal in tension, MPa."""

    tension: float

    def __post_init__(self) -> None:
        require_positive(self)


def index(stress: ArrayLike, strength: YieldStrength) -> Array:
    """Von Mises's stress over yield, shape (...); grows with the stress in proportion.

    Parameters
    ----------
    stress : (6, ...) array
        MPa, hull frame [rr, tt, zz, tz, rz, rt].
    strength : YieldStrength
    """
    s = stress_array(stress)
    return np.asarray(np.sqrt(mises_product(s, s)) / strength.tension)


@on_path
def multiplier(thermal: Array, unit: Array, strength: YieldStrength) -> Array:
    """First crossing, shape (...).

    Parameters
    ----------
    thermal, unit : (6, ...) arrays
        MPa, hull frame.
    strength : YieldStrength
    """
    return first_root(
        mises_product(unit, unit),
        2 * mises_product(thermal, unit),
        mises_product(thermal, thermal) - strength.tension**2,
    )
