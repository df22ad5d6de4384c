"""Bonded laps whose adherends only stretch (or only twist): shear in closed form.

Problem
    Two adherends joined by an elastic bond of constant thickness; the bond carries shear alone.
Formulation
    With stiffnesses S1, S2 of the adherends (E t, E A or G J) and a bond that passes on
    `grip` = load per length and per unit of relative displacement,

        w^2 = grip (1 / S1 + 1 / S2),    psi = S1 / S2,
        tau(x) = tau_m (w l / 2) [cosh w x / sinh(w l / 2)
                                  + (psi - 1) / (psi + 1) sinh w x / cosh(w l / 2)],

    x from mid overlap; adherend 1 brings the load in at x = -l/2, adherend 2 takes it out at +l/2.
Symbols
    G, eta shear modulus (MPa) and thickness (mm) of the bond; l overlap, mm; a bond radius, mm.
Source
    O. Volkersen, Luftfahrtforschung 15 (1938) 41-47; R.D. Adams, N.A. Peppiatt, J. Adhesion 9
    (1977) 1-18 (torsion of tubes); L.J. Hart-Smith, NASA CR-112235, 1973 (double laps).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]


@dataclass(frozen=True)
class ShearLag:
    """Shear along a lap.

    Attributes
    ----------
    rate : float
        w, 1/mm.
    overlap : float
        l, mm.
    mean : float
        Mean shear stress tau_m, MPa.
    ratio : float
        psi = S1 / S2.
    """

    rate: float
    overlap: float
    mean: float
    ratio: float

    def shear(self, x: ArrayLike) -> Array:
        """Shear stress at x (mm from mid overlap, -l/2 to l/2), MPa."""
        x = np.asarray(x, dtype=float)
        # Written with decaying exponentials, so that long laps do not overflow.
        near_2 = np.exp(self.rate * (x - self.overlap / 2))
        near_1 = np.exp(-self.rate * (x + self.overlap / 2))
        rest = np.exp(-self.rate * self.overlap)
        even, odd = (near_2 + near_1) / (1 - rest), (near_2 - near_1) / (1 + rest)
        uneven = (self.ratio - 1) / (self.ratio + 1)
        return np.asarray(self.mean * self.rate * self.overlap / 2 * (even + uneven * odd))


def volkersen(
    force: float, overlap: float, G: float, eta: float, stiffness_1: float, stiffness_2: float
) -> ShearLag:
    """Single lap of stretching sheets (Volkersen 1938): w^2 = (G/eta)(1/E1t1 + 1/E2t2).

    Parameters
    ----------
    force : float
        Per width, N/mm.
    overlap, eta : float
        mm.
    G : float
        MPa.
    stiffness_1, stiffness_2 : float
        E t of the sheets, N/mm.

    Returns
    -------
    ShearLag
    """
    rate = np.sqrt(G / eta * (1 / stiffness_1 + 1 / stiffness_2))
    return ShearLag(float(rate), overlap, force / overlap, stiffness_1 / stiffness_2)


def volkersen_thermal_end(
    mismatch: float, overlap: float, G: float, eta: float, stiffness_1: float, stiffness_2: float
) -> float:
    """End shear of a free single lap by expansion mismatch: (G/eta)(da dT / w) tanh(w l / 2).

    Parameters
    ----------
    mismatch : float
        Difference of the free strains, da dT.
    overlap, eta : float
        mm.
    G : float
        MPa.
    stiffness_1, stiffness_2 : float
        E t of the sheets, N/mm.

    Returns
    -------
    float
        MPa, with the sign of `mismatch`; the other end has the opposite sign.
    """
    w = np.sqrt(G / eta * (1 / stiffness_1 + 1 / stiffness_2))
    return float(G / eta * mismatch / w * np.tanh(w * overlap / 2))


def double_lap(
    force: float, overlap: float, G: float, eta: float, outer: float, inner: float
) -> ShearLag:
    """Double lap (Hart-Smith 1973): w^2 = (G/eta)(1/Eo to + 2/Ei ti), mean P / (2 l).

    By symmetry a single lap of one outer sheet on half the inner one under half the force.

    Parameters
    ----------
    force : float
        Of the inner sheet per width, N/mm.
    overlap, eta : float
        mm.
    G : float
        MPa.
    outer, inner : float
        E t of one outer sheet and of the inner sheet, N/mm.

    Returns
    -------
    ShearLag
        Adherend 1 is the outer sheet.
    """
    return volkersen(force / 2, overlap, G, eta, outer, inner / 2)


def double_lap_peel_ratio(
    E_peel: float, eta: float, E: float, nu: float, thickness: float
) -> float:
    """Peel over shear at the end of a double lap's outer sheet.

    [3 E' (1 - nu^2) t / (E eta)]^(1/4), the sheet as a beam on the bond under uniform shear
    (Hart-Smith 1973).

    Parameters
    ----------
    E_peel, eta : float
        Peel modulus E' (MPa) and thickness (mm) of the bond.
    E, nu, thickness : float
        Outer sheet: MPa, 1, mm.

    Returns
    -------
    float
    """
    return float((3 * E_peel * (1 - nu**2) * thickness / (E * eta)) ** 0.25)


def tubular_lap_torsion(
    torque: float,
    overlap: float,
    radius: float,
    G: float,
    eta: float,
    stiffness_1: float,
    stiffness_2: float,
) -> ShearLag:
    """Tubular lap in torsion (Adams & Peppiatt 1977): w^2 = (2 pi a^3 G/eta)(1/G1J1 + 1/G2J2).

    Parameters
    ----------
    torque : float
        N mm.
    overlap, radius, eta : float
        mm; radius a of the bond's middle.
    G : float
        MPa.
    stiffness_1, stiffness_2 : float
        G J of the tubes, N mm^2.

    Returns
    -------
    ShearLag
        Mean T / (2 pi a^2 l).
    """
    rate = np.sqrt(2 * np.pi * radius**3 * G / eta * (1 / stiffness_1 + 1 / stiffness_2))
    mean = torque / (2 * np.pi * radius**2 * overlap)
    return ShearLag(float(rate), overlap, mean, stiffness_1 / stiffness_2)


def tubular_lap_axial(
    force: float,
    overlap: float,
    radius: float,
    G: float,
    eta: float,
    stiffness_1: float,
    stiffness_2: float,
) -> ShearLag:
    """Tubular lap under axial force: w^2 = (2 pi a G/eta)(1/E1A1 + 1/E2A2).

    Parameters
    ----------
    force : float
        N.
    overlap, radius, eta : float
        mm; radius a of the bond's middle.
    G : float
        MPa.
    stiffness_1, stiffness_2 : float
        E A of the tubes, N.

    Returns
    -------
    ShearLag
        Mean F / (2 pi a l). The tubes only stretch; `shell_spring_lap` lets them bend.
    """
    around = 2 * np.pi * radius
    return volkersen(force / around, overlap, G, eta, stiffness_1 / around, stiffness_2 / around)
