"""Largest principal stress against the strength in tension.

Formulation
    The largest eigenvalue of the stress is a convex function of it, so a path leaves the body
    once. It does where T - thermal - x unit, positive definite at x = 0, first becomes singular:
    with M = (T - thermal)^(-1/2), at x = 1 / (largest eigenvalue of M^T unit M) if that is
    positive.
Source
    W.J.M. Rankine's criterion, as in any book on strength of materials.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from post.criteria.multiplier import Array, on_path, require_positive, stress_array


@dataclass(frozen=True)
class TensileStrength:
    """Strength in tension, MPa."""

    tension: float

    def __post_init__(self) -> None:
        require_positive(self)


def index(stress: ArrayLike, strength: TensileStrength) -> Array:
    """Largest principal stress over the strength, shape (...); negative under pressure.

    Parameters
    ----------
    stress : (6, ...) array
        MPa, hull frame [rr, tt, zz, tz, rz, rt].
    strength : TensileStrength
    """
    tensor = _tensor(stress_array(stress))
    return np.asarray(np.linalg.eigvalsh(tensor)[..., -1] / strength.tension)


@on_path
def multiplier(thermal: Array, unit: Array, strength: TensileStrength) -> Array:
    """First crossing, shape (...).

    Parameters
    ----------
    thermal, unit : (6, ...) arrays
        MPa, hull frame.
    strength : TensileStrength
    """
    room, axes = np.linalg.eigh(strength.tension * np.eye(3) - _tensor(thermal))
    failed = room[..., 0] <= 0
    scaled = axes / np.sqrt(np.where(failed[..., None], 1.0, room))[..., None, :]
    relative = np.swapaxes(scaled, -1, -2) @ _tensor(unit) @ scaled
    rate = np.linalg.eigvalsh(0.5 * (relative + np.swapaxes(relative, -1, -2)))[..., -1]
    x = np.full(rate.shape, np.inf)
    with np.errstate(over="ignore"):
        np.divide(1.0, rate, out=x, where=rate > 0)
    return np.where(failed, 0.0, x)


def _tensor(s: Array) -> Array:
    """Symmetric tensor, (..., 3, 3), axes r, t, z."""
    places = np.array([[0, 5, 4], [5, 1, 3], [4, 3, 2]])
    return np.ascontiguousarray(np.moveaxis(s[places], (0, 1), (-2, -1)))
