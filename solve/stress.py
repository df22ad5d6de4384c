"""Strain and stress of an answer, at points of the section and at the nodes.

Formulation
    stress = C (strain - cte dT), region by region: a stress is never averaged across an
    interface between regions. Where a point lies on a side between elements of one region, the
    elements' values are averaged.
Order of arrays
    [rr, tt, zz, tz, rz, rt], then elements, then points (`solve.elements`).
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import TYPE_CHECKING, Protocol

import numpy as np
from numpy.typing import NDArray

from solve.elements import Kinematics, kinematics, reference_basis

if TYPE_CHECKING:
    from geometry.mesh import JointMesh
    from solve.elements import Space
    from solve.laminate import Material

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

INSIDE = 1e-7  # in barycentric coordinates: how far outside still counts as on the side
NEAR = 2e-3  # the same for points on arcs, which the mesh has as parabolas


class Solved(Protocol):
    """Unit solutions on a mesh: what of an `Answer` it takes to evaluate stress."""

    @property
    def mesh(self) -> JointMesh:
        """Mesh of the section."""

    @property
    def space(self) -> Space:
        """Space of each displacement component."""

    @property
    def materials(self) -> dict[str, Material]:
        """Material of each region."""

    @property
    def displacement(self) -> dict[str, Floats]:
        """Displacements (n, 3) per unit load, by the name of the load."""


def strain_from_gradients(k: Kinematics, u: Floats) -> Floats:
    """Strain from nodal displacements.

    Parameters
    ----------
    k : Kinematics
        Shape functions at q points of e elements.
    u : (e, n, 3) array
        Displacements (u_r, u_theta, u_z) of the elements' unknowns.

    Returns
    -------
    (6, e, q) array
    """
    dr = np.matmul(k.by_r, u)  # (e, q, 3)
    dz = np.matmul(k.by_z, u)
    over_r = np.matmul(k.over_r, u)
    return np.stack(
        [
            dr[..., 0],
            over_r[..., 0],
            dz[..., 2],
            dz[..., 1],
            dz[..., 0] + dr[..., 2],
            dr[..., 1] - over_r[..., 1],
        ]
    )


def locate(
    mesh: JointMesh, corners: Ints, members: Ints, points: Floats
) -> tuple[Ints, Ints, Floats]:
    """Find the elements that hold points.

    Parameters
    ----------
    mesh : JointMesh
    corners : (m, 6) int array
        As in `solve.elements.Space.corners`.
    members : (e,) int array
        Elements to look in.
    points : (2, n) array of (r, z)

    Returns
    -------
    point, element : (k,) int arrays
        Pairs; a point on a side between elements comes once for each, a point outside all of
        them not at all.
    xi : (2, k) array
        Reference coordinates.
    """
    x = mesh.points[corners[members]]  # (e, 6, 2)
    low, high = x.min(axis=1), x.max(axis=1)
    slack = NEAR * (high - low).max(axis=1, keepdims=True)
    point, row = _in_boxes(points, (low - slack).T, (high + slack).T)
    x = x[row]
    target = points[:, point]

    # affine first guess, then Newton on the curved map; straight elements stop at once
    xi = np.full((2, len(point)), 1 / 3)
    for _ in range(4):
        shape, slope = reference_basis(2, xi)
        now = np.einsum("kai,ak->ik", x, shape)
        dx = np.einsum("kai,jak->ijk", x, slope)
        determinant = dx[0, 0] * dx[1, 1] - dx[0, 1] * dx[1, 0]
        gap = target - now
        xi = xi + np.stack(
            [
                (dx[1, 1] * gap[0] - dx[0, 1] * gap[1]) / determinant,
                (dx[0, 0] * gap[1] - dx[1, 0] * gap[0]) / determinant,
            ]
        )
    outside = -np.minimum(xi.min(axis=0), 1 - xi.sum(axis=0))
    best = np.full(points.shape[1], np.inf)
    np.minimum.at(best, point, outside)
    keep = (outside < INSIDE) | ((outside == best[point]) & (outside < NEAR))
    return point[keep], members[row[keep]], xi[:, keep]


def _in_boxes(points: Floats, low: Floats, high: Floats) -> tuple[Ints, Ints]:
    """Pairs of points (2, n) and boxes (2, e) that hold them, by points, then boxes."""
    choices = []
    for axis, x in enumerate(points):
        order = np.argsort(x)
        first = np.searchsorted(x[order], low[axis], side="left")
        last = np.searchsorted(x[order], high[axis], side="right")
        choices.append((int((last - first).sum()), axis, order, first, last - first))
    # along the axis on which fewer points lie beside a box; most of a line share the other place
    _, axis, order, first, count = min(choices, key=lambda choice: choice[0])
    box = np.repeat(np.arange(len(count)), count)
    step = np.arange(len(box)) - np.repeat(np.cumsum(count) - count, count)
    point = order[first[box] + step]
    across = points[1 - axis, point]
    inside = (across >= low[1 - axis, box]) & (across <= high[1 - axis, box])
    point, box = point[inside], box[inside]
    by_point = np.lexsort((box, point))
    return point[by_point], box[by_point]


def stress_at(answer: Solved, points: Floats, regions: Iterable[str]) -> dict[str, Floats]:
    """Evaluate unit stresses at points, from the elements of the given regions alone.

    Parameters
    ----------
    answer : Solved
        For instance an `Answer`.
    points : (2, n) array of (r, z)
    regions : iterable of str
        Regions of one material (a bond with its corners and fillets, say, or ring).

    Returns
    -------
    dict of str to (6, n) array
        MPa per MPa and MPa per K; NaN where a point lies in none of the regions.
    """
    return _at(answer, points, regions, element_stress)


def strain_at(answer: Solved, points: Floats, regions: Iterable[str]) -> dict[str, Floats]:
    """Evaluate unit strains at points, as `stress_at` does stresses.

    Parameters
    ----------
    answer : Solved
    points : (2, n) array of (r, z)
    regions : iterable of str

    Returns
    -------
    dict of str to (6, n) array
        Whole strain, thermal part included, per MPa and per K; NaN outside the regions.
    """
    return _at(answer, points, regions, lambda _answer, _load, strain, _region: strain)


def _at(
    answer: Solved,
    points: Floats,
    regions: Iterable[str],
    made_of: Callable[[Solved, str, Floats, Ints], Floats],
) -> dict[str, Floats]:
    """Evaluate what is made of the unit strains at points, averaged over elements that meet."""
    mesh, space = answer.mesh, answer.space
    wanted = [mesh.regions.index(name) for name in regions if name in mesh.regions]
    members = np.flatnonzero(np.isin(mesh.region, wanted))
    point, element, xi = locate(mesh, space.corners, members, points)
    kin = kinematics(mesh.points, space.corners[element], space.degree, xi[:, :, None])
    count = np.bincount(point, minlength=points.shape[1])
    result = {}
    for load, u in answer.displacement.items():
        strain = strain_from_gradients(kin, u[space.dofs[element]])
        value = made_of(answer, load, strain, mesh.region[element])[:, :, 0]
        total = np.stack([np.bincount(point, row, minlength=points.shape[1]) for row in value])
        with np.errstate(invalid="ignore"):
            result[load] = total / np.where(count, count, np.nan)
    return result


def element_stress(answer: Solved, load: str, strain: Floats, region: Ints) -> Floats:
    """Stress (6, e, q) from strain of elements in their regions."""
    stress = np.empty_like(strain)
    for number in np.unique(region):
        material = answer.materials[answer.mesh.regions[number]]
        here = region == number
        elastic = strain[:, here]
        if load == "temperature":
            elastic = elastic - material.cte[:, None, None]
        stress[:, here] = np.einsum("ij,jeq->ieq", material.C, elastic)
    return stress


def node_fields(answer: Solved, xi: Floats) -> dict[str, tuple[Floats, Floats]]:
    """Displacement and stress of every element at reference points, for pictures.

    Parameters
    ----------
    answer : Solved
    xi : (2, q) array

    Returns
    -------
    dict of str to (displacement (3, m, q), stress (6, m, q))
        Per unit load, in the order of `mesh.triangles` with corners as in `space.corners`.
    """
    mesh, space = answer.mesh, answer.space
    kin = kinematics(mesh.points, space.corners, space.degree, xi)
    value, _ = reference_basis(space.degree, xi)
    result = {}
    for load, u in answer.displacement.items():
        own = u[space.dofs]
        strain = strain_from_gradients(kin, own)
        result[load] = (
            np.einsum("mki,kq->imq", own, value),
            element_stress(answer, load, strain, mesh.region),
        )
    return result
