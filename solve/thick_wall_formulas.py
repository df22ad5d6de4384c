"""Thick cylinders and spheres under pressure in closed form.

Problem
    Stress and displacement in a thick isotropic cylinder or sphere, and in a cylindrically
    orthotropic tube that does not stretch, under inner and outer pressure.
Symbols
    a inner radius, b outer radius, mm; p_i, p_o pressures, MPa, positive pushing on the wall;
    stresses in MPa, tension positive.
Source
    G. Lame 1852; S. Timoshenko, J.N. Goodier, Theory of Elasticity, 3rd ed., 1970 (cylinder and
    sphere); S.G. Lekhnitskii, Anisotropic Plates, 1968 (orthotropic ring).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class ThickWall:
    """Fields in a thick wall, each with the shape of the radii asked for.

    Attributes
    ----------
    radial, hoop, axial : array
        Stresses, MPa; in a sphere `axial` is the meridional stress and equals `hoop`.
    displacement : array
        Radial, mm.
    """

    radial: Array
    hoop: Array
    axial: Array
    displacement: Array

    @property
    def mises(self) -> Array:
        """Von Mises stress, MPa."""
        r, t, z = self.radial, self.hoop, self.axial
        return np.sqrt(((r - t) ** 2 + (t - z) ** 2 + (z - r) ** 2) / 2)


def lame_cylinder(
    radius: ArrayLike,
    inner: float,
    outer: float,
    E: float,
    nu: float,
    *,
    inner_pressure: float = 0.0,
    outer_pressure: float = 0.0,
    ends: Literal["closed", "open", "held"] = "closed",
) -> ThickWall:
    """Lame's cylinder: s_r = A - B / r^2, s_t = A + B / r^2.

    With A = (p_i a^2 - p_o b^2) / (b^2 - a^2) and B = (p_i - p_o) a^2 b^2 / (b^2 - a^2).

    Parameters
    ----------
    radius : array
        mm.
    inner, outer : float
        mm.
    E, nu : float
        MPa, 1.
    inner_pressure, outer_pressure : float
        MPa.
    ends : {"closed", "open", "held"}
        s_z = A; s_z = 0; or no axial strain.

    Returns
    -------
    ThickWall
    """
    r = np.asarray(radius, dtype=float)
    A = (inner_pressure * inner**2 - outer_pressure * outer**2) / (outer**2 - inner**2)
    B = (inner_pressure - outer_pressure) * (inner * outer) ** 2 / (outer**2 - inner**2)
    radial, hoop = A - B / r**2, A + B / r**2
    axial = np.full_like(r, {"closed": A, "open": 0.0, "held": 2 * nu * A}[ends])
    return ThickWall(radial, hoop, axial, r / E * (hoop - nu * (radial + axial)))


def lame_sphere(
    radius: ArrayLike,
    inner: float,
    outer: float,
    E: float,
    nu: float,
    *,
    inner_pressure: float = 0.0,
    outer_pressure: float = 0.0,
) -> ThickWall:
    """Lame's sphere: s_r = A - 2 B / r^3, s_t = A + B / r^3.

    With A = (p_i a^3 - p_o b^3) / (b^3 - a^3) and B = (p_i - p_o) a^3 b^3 / (2 (b^3 - a^3)).

    Parameters
    ----------
    radius : array
        mm.
    inner, outer : float
        mm.
    E, nu : float
        MPa, 1.
    inner_pressure, outer_pressure : float
        MPa.

    Returns
    -------
    ThickWall
    """
    r = np.asarray(radius, dtype=float)
    A = (inner_pressure * inner**3 - outer_pressure * outer**3) / (outer**3 - inner**3)
    B = (inner_pressure - outer_pressure) * (inner * outer) ** 3 / (outer**3 - inner**3) / 2
    radial, hoop = A - 2 * B / r**3, A + B / r**3
    return ThickWall(radial, hoop, hoop.copy(), r / E * (hoop - nu * (radial + hoop)))


def lekhnitskii_exponent(C: Array) -> float:
    """Exponent k = sqrt(Ctt / Crr) of a cylindrically orthotropic tube with uniform axial strain.

    Parameters
    ----------
    C : (6, 6) array
        Stiffness, MPa, [rr, tt, zz, tz, rz, rt].

    Returns
    -------
    float
        Where the axial stress vanishes instead, k = sqrt(Et / Er): the two do not mix.
    """
    return float(np.sqrt(C[1, 1] / C[0, 0]))


def lekhnitskii_ring(
    radius: ArrayLike,
    inner: float,
    outer: float,
    exponent: float,
    *,
    inner_pressure: float = 0.0,
    outer_pressure: float = 0.0,
) -> tuple[Array, Array]:
    """Stresses in a cylindrically orthotropic ring without axial strain (or axial stress).

    With c = a / b, P = (p c^(k+1) - q) / (1 - c^2k), Q = (q c^(k-1) - p) c^(k+1) / (1 - c^2k),
    s_r = P (r/b)^(k-1) + Q (b/r)^(k+1) and s_t = k [P (r/b)^(k-1) - Q (b/r)^(k+1)].

    Parameters
    ----------
    radius : array
        mm.
    inner, outer : float
        mm.
    exponent : float
        k, see `lekhnitskii_exponent`.
    inner_pressure, outer_pressure : float
        p and q, MPa.

    Returns
    -------
    radial, hoop : array
        MPa.
    """
    r, k, c = np.asarray(radius, dtype=float), exponent, inner / outer
    P = (inner_pressure * c ** (k + 1) - outer_pressure) / (1 - c ** (2 * k))
    Q = (outer_pressure * c ** (k - 1) - inner_pressure) / (1 - c ** (2 * k)) * c ** (k + 1)
    growing, falling = P * (r / outer) ** (k - 1), Q * (outer / r) ** (k + 1)
    return growing + falling, k * (growing - falling)
