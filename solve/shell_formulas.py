"""The bending that a hemispherical head brings into a thin cylinder, in closed form.

Problem
    Pressure widens a cylinder more than a hemisphere of the same radius. An edge shear Q and an
    edge moment M bring the two edges together.
Formulation
    Membrane widening d_c = p a^2 (1 - nu/2) / (E h), d_s = p a^2 (1 - nu) / (2 E h). With
    beta^4 = 3 (1 - nu^2) / (a^2 h^2) and D = E h^3 / (12 (1 - nu^2)) for each side, equal
    displacement and slope read

        [1/(2 b_c^3 D_c) + 1/(2 b_s^3 D_s)] Q + [1/(2 b_c^2 D_c) - 1/(2 b_s^2 D_s)] M = d_s - d_c
        [1/(2 b_c^2 D_c) - 1/(2 b_s^2 D_s)] Q + [1/(b_c D_c) + 1/(b_s D_s)] M = 0

    (the sphere's edge by Geckeler's approximation). Equal sides give M = 0, |Q| = p / (8 beta).
Symbols
    Q in N/mm acts outwards on the cylinder's edge, M in N (per mm of edge) bends it outwards;
    x, mm, from the junction into the cylinder; pressure positive inside.
Source
    S. Timoshenko, S. Woinowsky-Krieger, Theory of Plates and Shells, 2nd ed., 1959.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Shell:
    """A thin isotropic shell.

    Attributes
    ----------
    E, nu : float
        MPa, 1.
    thickness, radius : float
        mm; radius of the mid surface.
    """

    E: float
    nu: float
    thickness: float
    radius: float

    @property
    def bending(self) -> float:
        """D = E h^3 / (12 (1 - nu^2)), N mm."""
        return self.E * self.thickness**3 / 12 / (1 - self.nu**2)

    @property
    def beta(self) -> float:
        """Inverse length over which an edge disturbance decays, 1/mm."""
        return float((3 * (1 - self.nu**2)) ** 0.25 / np.sqrt(self.radius * self.thickness))


@dataclass(frozen=True)
class Junction:
    """Solution of the cylinder with a hemispherical head.

    Attributes
    ----------
    cylinder : Shell
    pressure : float
        MPa, positive inside.
    shear, moment : float
        Q, N/mm, and M, N mm/mm, at the junction.
    membrane_widening : float
        d_c of the cylinder far away, mm.
    """

    cylinder: Shell
    pressure: float
    shear: float
    moment: float
    membrane_widening: float

    def displacement(self, x: ArrayLike) -> Array:
        """Radial displacement of the cylinder at x, mm."""
        s, b = self.cylinder, self.cylinder.beta
        bx = b * np.asarray(x, dtype=float)
        wave = (self.shear + b * self.moment) * np.cos(bx) - b * self.moment * np.sin(bx)
        return self.membrane_widening + np.exp(-bx) * wave / (2 * b**3 * s.bending)

    def bending_moment(self, x: ArrayLike) -> Array:
        """M_x = D w'' of the cylinder at x, N mm/mm: positive presses the outer surface."""
        b = self.cylinder.beta
        bx = b * np.asarray(x, dtype=float)
        wave = (self.shear / b + self.moment) * np.sin(bx) + self.moment * np.cos(bx)
        return np.exp(-bx) * wave

    def axial_stress(self, x: ArrayLike, surface: Literal["outer", "inner"] = "outer") -> Array:
        """Axial stress of the cylinder's surface at x, MPa."""
        s = self.cylinder
        side = {"outer": -1, "inner": 1}[surface]
        membrane = self.pressure * s.radius / (2 * s.thickness)
        return membrane + side * 6 * self.bending_moment(x) / s.thickness**2

    def hoop_stress(self, x: ArrayLike, surface: Literal["outer", "inner"] = "outer") -> Array:
        """Hoop stress of the cylinder's surface at x, MPa."""
        s = self.cylinder
        return s.E * self.displacement(x) / s.radius + s.nu * self.axial_stress(x, surface)


def cylinder_hemisphere(cylinder: Shell, hemisphere: Shell, pressure: float) -> Junction:
    """Join a long thin cylinder to a thin hemisphere of the same mid radius.

    Parameters
    ----------
    cylinder, hemisphere : Shell
    pressure : float
        MPa, positive inside.

    Returns
    -------
    Junction

    Raises
    ------
    ValueError
        If the mid radii differ: the formula has no eccentricity.
    """
    c, s = cylinder, hemisphere
    if c.radius != s.radius:
        raise ValueError(f"the mid radii must be equal, not {c.radius:g} and {s.radius:g} mm")
    d_c = pressure * c.radius**2 / (c.E * c.thickness) * (1 - c.nu / 2)
    d_s = pressure * s.radius**2 / (s.E * s.thickness) * (1 - s.nu) / 2
    coupling = 1 / (2 * c.beta**2 * c.bending) - 1 / (2 * s.beta**2 * s.bending)
    flexibility = np.array(
        [
            [1 / (2 * c.beta**3 * c.bending) + 1 / (2 * s.beta**3 * s.bending), coupling],
            [coupling, 1 / (c.beta * c.bending) + 1 / (s.beta * s.bending)],
        ]
    )
    shear, moment = np.linalg.solve(flexibility, [d_s - d_c, 0.0])
    return Junction(c, pressure, float(shear), float(moment), d_c)
