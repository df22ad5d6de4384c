"""Yield of a polymer that pressure holds together.

Formulation
    3 J2 + (C - T) I1 = C T, C and T the yield stresses in compression and tension. Put as an
    equivalent stress that grows with the stress in proportion, with m = C / T,

        {(m - 1) I1 + sqrt[(m - 1)^2 I1^2 + 12 m J2]} / (2 m T) = 1.

    The body is a paraboloid, convex (a square plus a linear term); the multiplier is a root. With
    C = T it is von Mises's. Pressure on all sides never yields it; tension on all sides does at
    C T / [3 (C - T)].
Source
    R. Raghava, R.M. Caddell & G.S.Y. Yeh, J. Mater. Sci. 8 (1973) 225-232.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from post.criteria.invariants import mises_product, trace
from post.criteria.multiplier import Array, first_root, on_path, require_positive, stress_array


@dataclass(frozen=True)
class PolymerYield:
    """Yield in tension and in compression, MPa; compression no less than tension."""

    tension: float
    compression: float

    def __post_init__(self) -> None:
        require_positive(self)
        if self.compression < self.tension:
            raise ValueError(
                f"PolymerYield.compression = {self.compression} must be no less than "
                f"tension = {self.tension}"
            )


def index(stress: ArrayLike, strength: PolymerYield) -> Array:
    """Equivalent stress over the yield in tension, shape (...).

    Parameters
    ----------
    stress : (6, ...) array
        MPa, hull frame [rr, tt, zz, tz, rz, rt].
    strength : PolymerYield
    """
    s = stress_array(stress)
    m = strength.compression / strength.tension
    pull = (m - 1) * trace(s)
    mises = 4 * m * mises_product(s, s)
    root = np.sqrt(pull**2 + mises)
    # under pressure pull + root subtracts like numbers; mises / (root - pull) does not
    pressed = pull < 0
    total = np.where(pressed, mises / np.where(pressed, root - pull, 1.0), root + pull)
    return np.asarray(total / (2 * m * strength.tension))


@on_path
def multiplier(thermal: Array, unit: Array, strength: PolymerYield) -> Array:
    """First crossing, shape (...).

    Parameters
    ----------
    thermal, unit : (6, ...) arrays
        MPa, hull frame.
    strength : PolymerYield
    """
    difference = strength.compression - strength.tension
    return first_root(
        mises_product(unit, unit),
        2 * mises_product(thermal, unit) + difference * trace(unit),
        mises_product(thermal, thermal)
        + difference * trace(thermal)
        - strength.compression * strength.tension,
    )
