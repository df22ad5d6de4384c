"""Elastic buckling of a spherical shell under external pressure.

Formulation
    p = knock_down 2 E (t/R)^2 / sqrt(3 (1 - nu^2)). The knock-down stands for what real shells
    lose to their imperfections, boundary and yielding; it must be stated.
Source
    R. Zoelly, Ueber ein Knickungsproblem an der Kugelschale, Dissertation, ETH Zuerich, 1915.
"""

from __future__ import annotations

import math


def sphere_buckling_pressure(
    E: float, nu: float, thickness: float, radius: float, knock_down: float
) -> float:
    """External pressure at which a spherical shell, whole or half, buckles elastically.

    Parameters
    ----------
    E, nu : float
        MPa, 1.
    thickness, radius : float
        mm; the radius is that of the middle surface.
    knock_down : float
        Above 0, at most 1; 1 is the classical value of the perfect sphere.

    Returns
    -------
    float
        MPa.

    Raises
    ------
    ValueError
        When a number is out of range.
    """
    if not (E > 0 and -1 < nu <= 0.5 and thickness > 0 and radius > 0):
        raise ValueError("E, thickness and radius must be above 0, nu above -1 and at most 0.5")
    if not 0 < knock_down <= 1:
        raise ValueError(f"knock_down = {knock_down} must be above 0 and at most 1")
    return knock_down * 2 * E * (thickness / radius) ** 2 / math.sqrt(3 * (1 - nu**2))
