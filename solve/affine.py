"""Stiffness and temperature load as sums over what the materials enter linearly.

Problem
    On one mesh, thousands of sets of constants. What of the work can be done once?
Formulation
    With strain = E u at the integration points and weights w (volumes), the stiffness is
        K(theta) = sum over q of theta_q K_q,   K_q = E^T w D_q E,
    one term for each independent stiffness component of each group of regions of one material:
    an isotropic material has two (Lame's constants), a layer of the wall, monoclinic about the
    radius, 13 of them, 7 where nothing twists. The temperature load is such a sum over the
    components of C cte; the load of the pressure is fixed. K_q is never formed: all that is asked
    of it is K_q v, which one sparse E serves.
Order of arrays
    As in `solve.elements`; of many points (sets of constants) the point is the first index.
Units
    mm, N, MPa, K.
Source
    The split: C. Prud'homme et al., J. Fluids Eng. 124 (2002) 70-80.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import sparse

from geometry.mesh import JointMesh
from geometry.section import Section
from solve.elasticity import CHUNK, assemble, couples_twist, held_unknowns, pressure_load
from solve.elements import ALL, IN_PLANE, Space, kinematics, quadrature, strain_operator
from solve.laminate import Material

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Materials = Mapping[str, Material]
"""By group; `C` (n, 6, 6) and `cte` (n, 6) of n points."""

OFF_PATTERN = 1e-9  # of the largest stiffness: what a group's components may leave out
IN_PLANE_PAIRS = ((0, 0), (0, 1), (0, 2), (1, 1), (1, 2), (2, 2), (4, 4))
TWIST_PAIRS = ((0, 3), (1, 3), (2, 3), (3, 3), (4, 5), (5, 5))


@dataclass(frozen=True, eq=False)
class Group:
    """Regions that share one material.

    Attributes
    ----------
    name : str
        ``adhesive``, ``ring``, ``head`` or the name of a layer of the wall.
    isotropic : bool
    rows : slice
        Its integration points in `Affine.volume`.
    patterns : (q, 6, 6) array
        D_q: the stiffness is the sum of its coefficients times these.
    heating : (t, 6) array
        The same of C cte.
    """

    name: str
    isotropic: bool
    rows: slice
    patterns: Floats
    heating: Floats

    def coefficients(self, C: Floats) -> Floats:
        """Coefficients (n, q) of stiffnesses (n, 6, 6).

        Raises
        ------
        ValueError
            When a stiffness holds what the group has no component for.
        """
        if self.isotropic:
            found = np.stack([C[:, 0, 1], C[:, 3, 3]], axis=1)
        else:
            first = [np.argwhere(pattern)[0] for pattern in self.patterns]
            found = np.stack([C[:, i, j] for i, j in first], axis=1)
        rest = np.abs(np.tensordot(found, self.patterns, axes=1) - C)
        if not self.twists:
            # twist's own stiffness is not asked for, but what couples to it may not be there
            rest[:, [[3], [5]], [3, 5]] = 0
        if (rest > OFF_PATTERN * np.abs(C).max(axis=(1, 2), keepdims=True)).any():
            raise ValueError(
                f"a stiffness of {self.name} holds a component that this model has not: "
                "set it up with a sample that has it"
            )
        return found

    @property
    def twists(self) -> bool:
        """Whether shear strains tz and rt belong to the model."""
        return bool(self.patterns[:, 3, 3].any()) or bool(self.patterns[:, 5, 5].any())

    def expansions(self, C: Floats, cte: Floats) -> Floats:
        """Coefficients (n, t) of C cte."""
        stress = np.einsum("nij,nj->ni", C, cte)
        first = self.heating.argmax(axis=1)
        return np.asarray(stress[:, first])


@dataclass(frozen=True, eq=False)
class Affine:
    """A mesh with everything that its materials enter linearly.

    Attributes
    ----------
    section : Section
    mesh : JointMesh
    space : Space
    twist : bool
        Whether u_theta is an unknown.
    groups : tuple of Group
    region_group : dict of str to str
        Group of each region.
    strain : (rows * s, n) sparse array
        E: s strains (`IN_PLANE` or `ALL`) at each integration point, groups one after another.
    volume : (rows,) array
        Weight of each integration point, mm^3.
    pressure : (n,) array
        Nodal forces of one MPa of sea pressure, N.
    held : (h,) int array
    """

    section: Section
    mesh: JointMesh
    space: Space
    twist: bool
    groups: tuple[Group, ...]
    region_group: dict[str, str]
    strain: sparse.csr_array
    volume: Floats
    pressure: Floats
    held: Ints

    @property
    def kept(self) -> tuple[int, ...]:
        """Strain components of the model."""
        return ALL if self.twist else IN_PLANE

    @property
    def size(self) -> int:
        """Number of unknowns."""
        return len(self.pressure)

    def stiffness_coefficients(self, materials: Materials) -> Floats:
        """theta_q (n, q) of n points."""
        return np.hstack([g.coefficients(materials[g.name].C) for g in self.groups])

    def expansion_coefficients(self, materials: Materials) -> Floats:
        """Coefficients (n, t) of the temperature load of n points."""
        return np.hstack(
            [g.expansions(materials[g.name].C, materials[g.name].cte) for g in self.groups]
        )

    def by_region(self, materials: Materials, point: int) -> dict[str, Material]:
        """Give the materials of one point by region, as `solve.elasticity.assemble` asks."""
        return {
            region: Material(materials[group].C[point], materials[group].cte[point])
            for region, group in self.region_group.items()
        }

    def forces(self, u: Floats) -> Floats:
        """K_q u of one vector, (n, q) N."""
        strain = (self.strain @ u).reshape(-1, len(self.kept)) * self.volume[:, None]
        return np.hstack(
            [self._gather(g, strain[g.rows] @ self._cut(g.patterns)) for g in self.groups]
        )

    def heating_forces(self) -> Floats:
        """Temperature load of each coefficient, (n, t) N per K."""
        return np.hstack(
            [
                self._gather(g, self.volume[g.rows, None] * g.heating[:, None, list(self.kept)])
                for g in self.groups
            ]
        )

    def _cut(self, patterns: Floats) -> Floats:
        kept = list(self.kept)
        return patterns[:, kept][:, :, kept]

    def _gather(self, group: Group, stress: Floats) -> Floats:
        """E^T of stresses times volumes (k, rows, s) of a group, (n, k)."""
        s = len(self.kept)
        own = self.strain[group.rows.start * s : group.rows.stop * s]
        return np.asarray(own.T @ stress.reshape(len(stress), -1).T)


def group_of(section: Section, region: str) -> str:
    """Name the group of a region: its part, or its layer in the wall."""
    of = section.regions[region]
    return of.material if of.part == "wall" else of.part


def affine(
    section: Section,
    mesh: JointMesh,
    materials: dict[str, Material],
    degree: int,
    twist: bool | None = None,
) -> Affine:
    """Split the stiffness of a mesh by the constants of its materials.

    Parameters
    ----------
    section : Section
    mesh : JointMesh
    materials : dict of str to Material
        By region, of any one point: it tells which groups are isotropic.
    degree : int
        Of the displacements.
    twist : bool, optional
        Whether u_theta is an unknown; by default whether these materials drive it. Say True where
        some other point does, an angle that varies for instance.
    """
    twist = couples_twist(materials) if twist is None else twist
    system = assemble(mesh, materials, degree, twist)
    groups: dict[str, list[int]] = {}
    for number, region in enumerate(mesh.regions):
        groups.setdefault(group_of(section, region), []).append(number)

    pieces, volumes, made, start = [], [], [], 0
    xi, weight = quadrature(degree)
    for name, numbers in groups.items():
        members = np.flatnonzero(np.isin(mesh.region, numbers))
        for part in np.array_split(members, max(1, -(-len(members) // CHUNK))):
            kin = kinematics(mesh.points, system.space.corners[part], degree, xi)
            volumes.append((2 * np.pi * kin.radius * kin.jacobian * weight).ravel())
            pieces.append(_sparse(strain_operator(kin, twist), system.rows[part], system.rows))
        C = materials[mesh.regions[numbers[0]]].C
        stop = start + len(members) * len(weight)
        patterns, heating = _components(is_isotropic(C), twist)
        made.append(Group(name, is_isotropic(C), slice(start, stop), patterns, heating))
        start = stop
    return Affine(
        section=section,
        mesh=mesh,
        space=system.space,
        twist=twist,
        groups=tuple(made),
        region_group={region: group_of(section, region) for region in mesh.regions},
        strain=sparse.vstack(pieces, format="csr"),
        volume=np.concatenate(volumes),
        pressure=pressure_load(system),
        held=held_unknowns(system),
    )


def is_isotropic(C: Floats) -> bool:
    """Whether a stiffness (6, 6) is that of an isotropic material."""
    lame = np.zeros((6, 6))
    lame[:3, :3] = C[0, 1]
    lame += C[3, 3] * np.diag([2, 2, 2, 1, 1, 1])
    return bool(np.abs(lame - C).max() <= OFF_PATTERN * np.abs(C).max())


def _components(isotropic: bool, twist: bool) -> tuple[Floats, Floats]:
    """Patterns of the stiffness and of C cte."""
    if isotropic:
        patterns = np.zeros((2, 6, 6))
        patterns[0, :3, :3] = 1
        patterns[1] = np.diag([2, 2, 2, 1, 1, 1])
        return patterns, np.array([[1.0, 1, 1, 0, 0, 0]])
    pairs = IN_PLANE_PAIRS + (TWIST_PAIRS if twist else ())
    patterns = np.zeros((len(pairs), 6, 6))
    for q, (i, j) in enumerate(pairs):
        patterns[q, i, j] = patterns[q, j, i] = 1
    return patterns, np.eye(6)[: 4 if twist else 3]


def _sparse(b: Floats, rows: Ints, all_rows: Ints) -> sparse.csr_array:
    """Strain operators (e, q, s, k) of elements as sparse rows (e q s, n)."""
    e, q, s, k = b.shape
    column = np.broadcast_to(rows[:, None, None, :], b.shape)
    entry = b != 0
    ends = np.concatenate([[0], np.cumsum(entry.sum(axis=3).ravel())])
    size = int(all_rows.max()) + 1
    return sparse.csr_array((b[entry], column[entry], ends), shape=(e * q * s, size))
