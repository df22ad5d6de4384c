"""A laminate as a thin plate: the A, B, D matrices.

Problem
    Thin-plate stiffness of a stack of plies, for comparison with textbook laminates and for the
    shell formulas that want it.
Formulation
    Plane stress in every ply, straight normals: strain(h) = e0 + h kappa, h from mid thickness,

        (N, M) = [[A, B], [B, D]] (e0, kappa),    A, B, D = Int Q (1, h, h^2) dh.
Symbols
    Q plane-stress stiffness, MPa; components [zz, tt, tz], engineering shear; h outwards, mm.
Source
    A.K. Kaw, Mechanics of Composite Materials, 2nd ed., CRC 2006, ch. 4.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from geometry.layup import Ply
from solve.laminate import Elastic, Material, ply_material

Array = NDArray[np.float64]

_IN_SURFACE = np.array([2, 1, 3])


@dataclass(frozen=True, eq=False)
class Plate:
    """A laminate as a thin plate.

    Attributes
    ----------
    faces : (n + 1,) array
        Distance of the ply faces from mid thickness, outwards, mm.
    Q : (n, 3, 3) array
        Plane-stress stiffness of the plies, MPa.
    """

    faces: Array
    Q: Array

    @property
    def A(self) -> Array:
        """Stretching stiffness (3, 3), N/mm."""
        return self._moment(0)

    @property
    def B(self) -> Array:
        """Coupling of stretching and bending (3, 3), N."""
        return self._moment(1)

    @property
    def D(self) -> Array:
        """Bending stiffness (3, 3), N mm."""
        return self._moment(2)

    def _moment(self, power: int) -> Array:
        weights = np.diff(self.faces ** (power + 1)) / (power + 1)
        return np.asarray(np.einsum("n,nij->ij", weights, self.Q))

    def deform(self, force: ArrayLike, moment: ArrayLike) -> tuple[Array, Array]:
        """Mid-thickness strain (3,) and curvature (3,), 1/mm, under N (N/mm) and M (N)."""
        stiffness = np.block([[self.A, self.B], [self.B, self.D]])
        load = np.concatenate([np.asarray(force, dtype=float), np.asarray(moment, dtype=float)])
        answer = np.linalg.solve(stiffness, load)
        return answer[:3], answer[3:]


def plate(plies: Sequence[Ply], cards: Mapping[str, Elastic]) -> Plate:
    """Stack plies, inside first, into a thin plate.

    Parameters
    ----------
    plies : sequence of Ply
    cards : mapping of str to Elastic

    Returns
    -------
    Plate
    """
    thickness = np.array([ply.thickness for ply in plies])
    faces = np.concatenate([[0.0], np.cumsum(thickness)]) - thickness.sum() / 2
    materials = [ply_material(cards[ply.card], ply.angle) for ply in plies]
    return Plate(faces, np.stack([plane_stress_stiffness(material) for material in materials]))


def plane_stress_stiffness(material: Material) -> Array:
    """Stiffness (3, 3) of a material whose out-of-surface stresses vanish, MPa, [zz, tt, tz]."""
    compliance = np.linalg.inv(material.C)
    return np.linalg.inv(compliance[np.ix_(_IN_SURFACE, _IN_SURFACE)])
