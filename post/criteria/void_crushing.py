"""Crushing of the voids in an adhesive by the pressure around them.

Formulation
    -(s_rr + s_tt + s_zz) / 3 = p_c: the mean pressure in the adhesive reaches the plastic limit of
    a hollow sphere, 2/3 Y ln(1/f) with the share f of voids. Shear and pull add nothing here; what
    they do is judged by yield and by the largest tension. Linear in the stress, on one side.
Source
    R. Hill, The Mathematical Theory of Plasticity, 1950, ch. V (value from memory): the limit,
    `solve.micromechanics.crushing_pressure`.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from post.criteria.multiplier import Array, on_path, require_positive, stress_array


@dataclass(frozen=True)
class VoidStrength:
    """Pressure around the voids that crushes them, MPa."""

    crushing: float

    def __post_init__(self) -> None:
        require_positive(self)


def index(stress: ArrayLike, strength: VoidStrength) -> Array:
    """Mean pressure over the crushing one, shape (...); negative where the mean stress pulls.

    Parameters
    ----------
    stress : (6, ...) array
        MPa, hull frame [rr, tt, zz, tz, rz, rt].
    strength : VoidStrength
    """
    return _pressure(stress_array(stress)) / strength.crushing


@on_path
def multiplier(thermal: Array, unit: Array, strength: VoidStrength) -> Array:
    """First crossing, shape (...).

    Parameters
    ----------
    thermal, unit : (6, ...) arrays
        MPa, hull frame.
    strength : VoidStrength
    """
    room, rate = strength.crushing - _pressure(thermal), _pressure(unit)
    x = np.full(rate.shape, np.inf)
    with np.errstate(over="ignore"):
        np.divide(room, rate, out=x, where=rate > 0)
    return np.where(room <= 0, 0.0, x)


def _pressure(stress: Array) -> Array:
    return np.asarray(-stress[:3].sum(axis=0) / 3)
