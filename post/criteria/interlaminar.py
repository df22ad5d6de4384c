"""Delamination: tension and shear between plies together.

Formulation
    (<s_rr> / ZT)^2 + (s_rz^2 + s_rt^2) / S^2 = 1 over stresses that were averaged along the
    surface, next to an edge or a bond, over a length of some plies' thickness (not done here).
    Only tension counts. The same mathematics as a bond's peel and shear.
Source
    J.C. Brewer & P.A. Lagace, J. Compos. Mater. 22 (1988) 1141-1155.
"""

from __future__ import annotations

from dataclasses import dataclass

from numpy.typing import ArrayLike

from post.criteria import peel_shear
from post.criteria.multiplier import Array, require_positive, stress_array

_BETWEEN_PLIES = [0, 4, 5]  # rr, rz, rt


@dataclass(frozen=True)
class InterlaminarStrength:
    """Strengths between plies, MPa: `tension` through the thickness (ZT), `shear` (S13)."""

    tension: float
    shear: float

    def __post_init__(self) -> None:
        require_positive(self)


def index(stress: ArrayLike, strength: InterlaminarStrength) -> Array:
    """Quadratic interaction, shape (...); quadratic in the stress.

    Parameters
    ----------
    stress : (6, ...) array
        Averaged, MPa, hull frame [rr, tt, zz, tz, rz, rt].
    strength : InterlaminarStrength
    """
    return peel_shear.index(stress_array(stress)[_BETWEEN_PLIES], _bond(strength))


def multiplier(thermal: ArrayLike, unit: ArrayLike, strength: InterlaminarStrength) -> Array:
    """First crossing, shape (...).

    Parameters
    ----------
    thermal, unit : (6, ...) arrays
        Averaged, MPa, hull frame.
    strength : InterlaminarStrength
    """
    T, U = stress_array(thermal), stress_array(unit)
    return peel_shear.multiplier(T[_BETWEEN_PLIES], U[_BETWEEN_PLIES], _bond(strength))


def _bond(strength: InterlaminarStrength) -> peel_shear.BondStrength:
    return peel_shear.BondStrength(strength.tension, strength.shear)
