"""Bond ladder and bond statistics of thousands of points from reduced solutions.

Problem
    A reduced solution is a few dozen numbers a point. Which stresses do they make at the places
    where bonds are judged, and at which pressure does each bond mode come?
Formulation
    Strain is linear in the basis: its windows' means at mid-thickness (`post.places.bond_places`)
    are taken once of every basis vector; a point's strains are a product, its stresses
    C (strain - cte dT) with its own adhesive. Criteria are those of the ladder
    (`post.reduced_ladder`), the statistics those of the headlines.
Units
    mm, N, MPa, K.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from geometry.section import BondLine
from post.bondline import panels, stations
from post.places import bond_places
from post.reduced_ladder import MODES
from post.reduced_points import Points
from solve.answer import Answer
from solve.laminate import Material
from solve.reduced import Basis, Reduced
from solve.stress import stress_at

Floats = NDArray[np.float64]

BLOCK = 64  # points at a time: their stresses stay in a processor's cache
MEANS = ("mean", "first_thickness", "last_thickness")
STRESSES = ("peel", "shear")


@dataclass(frozen=True, eq=False)
class BondStrains:
    """Strains of m vectors in one bond.

    Attributes
    ----------
    name : str
    normals : (3, 6) array
        Peel, shear and twist shear of a stress.
    s : (w,) array
        Middle of each window, mm.
    windows : (m, s, w) array
        Means over the windows: the strains that the model has, `IN_PLANE` or `ALL`.
    line : (m, s, l) array
        At `stations`.
    means : (m, s, 3) array
        Over the spans of `MEANS`.
    """

    name: str
    normals: Floats
    s: Floats
    windows: Floats
    line: Floats
    means: Floats


@dataclass(frozen=True, eq=False)
class Bonds:
    """Strains of the basis, bond by bond, and which strains the model has."""

    basis: tuple[BondStrains, ...]
    kept: tuple[int, ...]

    @property
    def size(self) -> int:
        """Number of basis vectors."""
        return len(self.basis[0].windows)


@dataclass(frozen=True, eq=False)
class Numbers:
    """Numbers of n points.

    Attributes
    ----------
    values : dict of str to (n,) array
        By name: BOND.MODE.pressure, such as ``inner.peel-and-shear.pressure``, 0 where the
        temperature alone reaches the mode, infinite where nothing does; BOND.STRESS.STATISTIC at
        duty, such as ``inner.peel.mean``.
    largest : dict of str to (n,) array
        By bond: largest peel or shear at duty, MPa.
    """

    values: dict[str, Floats]
    largest: dict[str, Floats]


def bond_strains(
    answer: Answer, basis: Basis, vectors: Floats, window: float
) -> tuple[BondStrains, ...]:
    """Take the strains of displacements (n, m) in every bond.

    Parameters
    ----------
    answer : Answer
        Of any one point; only its section, mesh and space count.
    basis : Basis
    vectors : (n, m) array
    window : float
        Characteristic length, mm.
    """
    size, components = answer.space.size, 3 if basis.model.twist else 2
    kept = list(basis.model.kept)
    displacement = {}
    for number, vector in enumerate(vectors.T):
        u = np.zeros((size, 3))
        u[:, [0, 1, 2] if components == 3 else [0, 2]] = vector.reshape(size, components)
        displacement[str(number)] = u
    # with a unit stiffness, what is read as stress is strain
    unit = {name: Material(np.eye(6), np.zeros(6)) for name in answer.materials}
    strained = replace(answer, displacement=displacement, materials=unit)
    regions = [name for name, of in answer.section.regions.items() if of.part == "adhesive"]

    def along(points: Floats) -> Floats:
        found = stress_at(strained, points, regions)
        return np.stack([strain[kept] for strain in found.values()])

    found = []
    for bond in answer.section.bonds:
        places = bond_places(strained, bond, window)[1]
        first = min(bond.thickness, bond.length / 2)
        means = []
        for start, stop in (
            (0.0, bond.length),
            (0.0, first),
            (bond.length - first, bond.length),
        ):
            s, weight = panels(bond, start, stop)
            means.append(along(bond.faces(s)[1]) @ weight / (stop - start))
        line = along(bond.faces(stations(bond))[1])
        found.append(
            BondStrains(
                name=bond.name,
                normals=_normals(bond),
                s=places.s,
                windows=np.stack([strain[kept] for strain in places.unit.values()]),
                line=line[:, :, np.isfinite(line).all(axis=(0, 1))],
                means=np.stack(means, axis=2),
            )
        )
    return tuple(found)


def _normals(bond: BondLine) -> Floats:
    """Peel, shear and twist shear as sums of stress components, (3, 6)."""
    (ar, az), (nr, nz) = bond.along, bond.across
    normals = np.zeros((3, 6))
    normals[0, [0, 4, 2]] = nr * nr, 2 * nr * nz, nz * nz
    normals[1, [0, 4, 2]] = ar * nr, ar * nz + az * nr, az * nz
    normals[2, [5, 3]] = nr, nz
    return normals


def start_bonds(answer: Answer, basis: Basis, window: float) -> Bonds:
    """Take the strains of a basis."""
    return Bonds(bond_strains(answer, basis, basis.vectors, window), basis.model.kept)


def extend_bonds(bonds: Bonds, answer: Answer, basis: Basis, window: float) -> Bonds:
    """Add the strains of basis vectors that came since."""
    if bonds.size == basis.size:
        return bonds
    added = bond_strains(answer, basis, basis.vectors[:, bonds.size :], window)
    return replace(
        bonds,
        basis=tuple(
            replace(
                old,
                windows=np.concatenate([old.windows, new.windows]),
                line=np.concatenate([old.line, new.line]),
                means=np.concatenate([old.means, new.means]),
            )
            for old, new in zip(bonds.basis, added, strict=True)
        ),
    )


def bond_numbers(bonds: Bonds, reduced: Reduced, points: Points) -> Numbers:
    """Ladder and statistics of every bond at n points.

    Parameters
    ----------
    bonds : Bonds
    reduced : Reduced
    points : Points
        The same points.

    Returns
    -------
    Numbers
        NaN where a point has no positive definite stiffness.
    """
    n = points.count
    values: dict[str, Floats] = {}
    largest = {strains.name: np.empty(n) for strains in bonds.basis}
    for first in range(0, n, BLOCK):
        rows = slice(first, min(first + BLOCK, n))
        part = _Part.of(bonds, reduced, points, rows)
        for strains in bonds.basis:
            found = _rungs(part, strains) | _statistics(part, strains)
            largest[strains.name][rows] = found.pop("largest")
            for name, column in found.items():
                values.setdefault(f"{strains.name}.{name}", np.full(n, np.nan))[rows] = column
    lost = ~(reduced.alpha > 0)
    for column in values.values():
        column[lost] = np.nan
    return Numbers(values, largest)


@dataclass(frozen=True, eq=False)
class _Part:
    """A block of b points."""

    coefficients: Floats  # (b, 2, N)
    C: Floats  # (b, 6, s): stress of the strains that the model has
    free: Floats  # (b, 6): stress that free expansion of one kelvin takes off
    pressure: Floats
    change: Floats
    strengths: dict[str, Floats]

    @staticmethod
    def of(bonds: Bonds, reduced: Reduced, points: Points, rows: slice) -> _Part:
        adhesive = points.materials["adhesive"]
        C = np.asarray(adhesive.C[rows])
        return _Part(
            reduced.coefficients[rows],
            C[:, :, list(bonds.kept)],
            np.einsum("bij,bj->bi", C, adhesive.cte[rows]),
            points.pressure[rows],
            points.change[rows],
            {name: value[rows] for name, value in points.strengths.items()},
        )

    def stress(self, strains: Floats) -> tuple[Floats, Floats]:
        """Stress (6, b, w) of one MPa, and of the temperature change."""
        m, s, w = strains.shape
        of = (self.coefficients.reshape(-1, m) @ strains.reshape(m, -1)).reshape(-1, 2, s, w)
        stress = np.matmul(self.C[:, None], of)
        thermal = self.change[:, None, None] * (stress[:, 1] - self.free[:, :, None])
        return stress[:, 0].transpose(1, 0, 2), thermal.transpose(1, 0, 2)


def _rungs(part: _Part, strains: BondStrains) -> dict[str, Floats]:
    """Least pressure of each mode."""
    unit, thermal = part.stress(strains.windows)
    across = [np.tensordot(strains.normals, one, axes=1) for one in (unit, thermal)]
    found = {}
    for mode in MODES:
        strength = mode.strength(part.strengths)
        if strength is not None:
            of_unit, of_thermal = across if mode.traction else (unit, thermal)
            found[f"{mode.name}.pressure"] = mode.least(of_thermal, of_unit, strength)
    return found


def _statistics(part: _Part, strains: BondStrains) -> dict[str, Floats]:
    """Means and extremes of peel and shear at duty, and the ``largest`` of both."""

    def at_duty(of: Floats) -> Floats:
        unit, thermal = part.stress(of)
        total = thermal + part.pressure[:, None] * unit
        return np.asarray(np.tensordot(strains.normals[:2], total, axes=1))

    line, means = at_duty(strains.line), at_duty(strains.means)
    found = {"largest": np.abs(line).max(axis=(0, 2))}
    for row, stress in enumerate(STRESSES):
        for number, name in enumerate(MEANS):
            found[f"{stress}.{name}"] = means[row, :, number]
        found[f"{stress}.largest"] = line[row].max(axis=1)
        found[f"{stress}.smallest"] = line[row].min(axis=1)
    return found
