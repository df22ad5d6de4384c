"""Materials of the cited publications, for the verification only.

They stand apart from the project's cards so that a change of a card cannot move a reference.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from solve.laminate import Material, ply_material

Array = NDArray[np.float64]


@dataclass(frozen=True)
class CitedPly:
    """A transversely isotropic ply as publications give it.

    Attributes
    ----------
    E1, E2, G12 : float
        MPa.
    nu12, nu23 : float
        G23 = E2 / (2 (1 + nu23)).
    cte1, cte2 : float
        1/K.
    """

    E1: float
    E2: float
    nu12: float
    G12: float
    nu23: float
    cte1: float = 0.0
    cte2: float = 0.0

    def compliance(self) -> Array:
        """Compliance (6, 6), 1/MPa, [11, 22, 33, 23, 13, 12]."""
        S = np.diag([1 / self.E1, 1 / self.E2, 1 / self.E2, 0.0, 1 / self.G12, 1 / self.G12])
        S[3, 3] = 2 * (1 + self.nu23) / self.E2
        S[0, 1:3] = S[1:3, 0] = -self.nu12 / self.E1
        S[1, 2] = S[2, 1] = -self.nu23 / self.E2
        return S

    def cte(self) -> Array:
        """Thermal expansion (3,), 1/K."""
        return np.array([self.cte1, self.cte2, self.cte2])


CARBON_EPOXY = CitedPly(126e3, 11e3, 0.28, 6.6e3, 0.4, -1e-6, 26e-6)
"""P.D. Soden, M.J. Hinton, A.S. Kaddour, Compos. Sci. Technol. 58 (1998) 1011-1022, first ply."""

CARBON_EPOXY_TEXTBOOK = CitedPly(181e3, 10.3e3, 0.28, 7.17e3, 0.45)
"""S.W. Tsai, H.T. Hahn 1980 and A.K. Kaw 2006: the textbook ply; nu23 is our choice."""


def isotropic(E: float, nu: float, cte: float = 0.0) -> Material:
    """Make an isotropic material from E (MPa), nu and its expansion (1/K)."""
    return ply_material(CitedPly(E, E, nu, E / (2 * (1 + nu)), nu, cte, cte), 0.0)
