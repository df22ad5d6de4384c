"""Toughness of a bond under opening and shearing at once.

Formulation
    Gc = GIc + (GIIc - GIc) (GII / G)^eta, with GII all that shears, in the section and around the
    hull. At no shear Gc = GIc, at shear alone Gc = GIIc; eta is fitted to tests in between.
Units
    N/mm, which is kJ/m^2.
Source
    M.L. Benzeggagh & M. Kenane, Compos. Sci. Technol. 56 (1996) 439-449.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.optimize import least_squares

Floats = NDArray[np.float64]


def mixed_toughness(
    opening: float, shearing: float, exponent: float, shear_share: ArrayLike
) -> Floats:
    """Critical energy release rate by the share that shears.

    Parameters
    ----------
    opening, shearing : float
        GIc and GIIc.
    exponent : float
        eta.
    shear_share : array_like
        (GII + GIII) / G, from 0 to 1.

    Returns
    -------
    array
        Gc, in the unit of `opening`.

    Raises
    ------
    ValueError
        Where a share lies outside 0 to 1.
    """
    share = np.asarray(shear_share, float)
    if np.any((share < 0) | (share > 1)):
        raise ValueError("the share that shears lies between 0 and 1")
    return np.asarray(opening + (shearing - opening) * share**exponent)


def fitted_exponent(opening: float, shearing: float, shares: Floats, tested: Floats) -> float:
    """Exponent that fits tests at mixed modes, by least squares of their toughness."""

    def miss(exponent: Floats) -> Floats:
        return mixed_toughness(opening, shearing, float(exponent[0]), shares) - tested

    return float(least_squares(miss, np.array([2.0]), xtol=1e-12, ftol=1e-14).x[0])
