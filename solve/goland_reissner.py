"""Single lap with bending adherends: shear and peel in closed form.

Problem
    The two sheets of a single lap do not pull in one line; the lap turns, and the edge moment
    M0 = k P t / 2 and shear V0 = k' P t / c peel the ends of the bond.
Formulation
    u2 = (1/t) sqrt(3 (1 - nu^2) / 2) sqrt(P / (E t)), k' = k sqrt(2) u2 c,
    k = cosh(u2 c) / [cosh(u2 c) + 2 sqrt(2) sinh(u2 c)],
    beta^2 = 8 G t / (E eta), gamma^4 = 6 Ea t / (E eta), L = gamma c / t. With ch, sh, cos, sin
    taken at L, R1 = ch sin + sh cos, R2 = -ch sin + sh cos, D = (sin 2L + sinh 2L) / 2,

        tau(x) = (P / 8c) [(beta c / t)(1 + 3k) cosh(beta x / t) / sinh(beta c / t) + 3 (1 - k)]
        s(x) = (P t / (c^2 D)) [(R2 L^2 k / 2 + L k' ch cos) cosh(L x/c) cos(L x/c)
                                + (R1 L^2 k / 2 + L k' sh sin) sinh(L x/c) sin(L x/c)].

    The sign before L k' is plus: only then does the peel balance the edge shear, Int s dx over
    the lap = V0, and meet the moment, s''(c) = Ea M0 / (eta E t^3 / 12). Secondary sources
    print a minus.
Symbols
    P force per width, N/mm; c half overlap, t sheet, eta bond, mm; E, nu of the sheet; Ea, G of
    the bond; x from mid overlap.
Source
    M. Goland, E. Reissner, J. Appl. Mech. 11 (1944) A17-A27.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]


@dataclass(frozen=True)
class SingleLap:
    """A balanced single lap with a bond that is flexible against its sheets.

    Attributes
    ----------
    force : float
        P per width, N/mm.
    half_overlap, thickness, eta : float
        c, t of each sheet, bond thickness, mm.
    E, nu : float
        Of the sheets, MPa, 1.
    Ea, G : float
        Tensile and shear modulus of the bond, MPa.
    """

    force: float
    half_overlap: float
    thickness: float
    eta: float
    E: float
    nu: float
    Ea: float
    G: float

    @property
    def moment_factor(self) -> float:
        """Edge moment over P t / 2: k."""
        u2c = self.bending_rate
        return float(1 / (1 + 2 * np.sqrt(2) * np.tanh(u2c)))

    @property
    def bending_rate(self) -> float:
        """Bending of the lap as a whole: u2 c."""
        stretch = self.force / (self.E * self.thickness)
        slenderness = self.half_overlap / self.thickness
        return float(slenderness * np.sqrt(1.5 * (1 - self.nu**2) * stretch))

    @property
    def shear_factor(self) -> float:
        """Edge shear over P t / c: k'."""
        return float(self.moment_factor * np.sqrt(2) * self.bending_rate)

    @property
    def edge_moment(self) -> float:
        """M0, N mm/mm."""
        return self.moment_factor * self.force * self.thickness / 2

    @property
    def edge_shear(self) -> float:
        """V0, N/mm."""
        return self.shear_factor * self.force * self.thickness / self.half_overlap

    @property
    def shear_rate(self) -> float:
        """Shear stress over the sheet thickness: beta."""
        return float(np.sqrt(8 * self.G * self.thickness / (self.E * self.eta)))

    @property
    def peel_rate(self) -> float:
        """Peel stress over the half lap: L = gamma c / t."""
        gamma = (6 * self.Ea * self.thickness / (self.E * self.eta)) ** 0.25
        return float(gamma * self.half_overlap / self.thickness)

    def shear(self, x: ArrayLike) -> Array:
        """Shear stress at x, MPa."""
        k, c, x = self.moment_factor, self.half_overlap, np.asarray(x, dtype=float)
        B = self.shear_rate * c / self.thickness
        even = (np.exp(B * (x / c - 1)) + np.exp(-B * (x / c + 1))) / (1 - np.exp(-2 * B))
        return np.asarray(self.force / (8 * c) * (B * (1 + 3 * k) * even + 3 * (1 - k)))

    def peel(self, x: ArrayLike) -> Array:
        """Peel stress at x, MPa."""
        c, L = self.half_overlap, self.peel_rate
        X = L * np.asarray(x, dtype=float) / c
        moment, shear = L**2 * self.moment_factor / 2, L * self.shear_factor
        ch, sh, cos, sin = np.cosh(L), np.sinh(L), np.cos(L), np.sin(L)
        D = (np.sin(2 * L) + np.sinh(2 * L)) / 2
        even = (-ch * sin + sh * cos) * moment + shear * ch * cos
        odd = (ch * sin + sh * cos) * moment + shear * sh * sin
        field = even * np.cosh(X) * np.cos(X) + odd * np.sinh(X) * np.sin(X)
        return np.asarray(self.force * self.thickness / (c**2 * D) * field)
