"""The element: Lagrange triangles on second-order geometry, and the axisymmetric strain operator.

Formulation
    x(xi) by six-node quadratic shape functions (the mesh), u(xi) by Lagrange polynomials of a
    chosen degree (scikit-fem's reference elements and numbering). Small strain about the axis:
    e_rr = u_r,r   e_tt = u_r / r   e_zz = u_z,z
    g_tz = u_t,z   g_rz = u_r,z + u_z,r   g_rt = u_t,r - u_t / r
    (S. Timoshenko & J.N. Goodier, Theory of Elasticity, 3rd ed., 1970, ch. 12; value from memory).
Order of arrays
    Strain and stress components first, [rr, tt, zz, tz, rz, rt] (t is theta, shear strains are
    engineering strains), then elements, then points.
Units
    mm, N, MPa, K.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray
from skfem import ElementTriP1, ElementTriP2, ElementTriP3, ElementTriP4, MeshTri1
from skfem.assembly import Dofs
from skfem.quadrature import get_quadrature

from geometry.mesh import JointMesh

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

ELEMENTS = {1: ElementTriP1, 2: ElementTriP2, 3: ElementTriP3, 4: ElementTriP4}
COMPONENTS = ("rr", "tt", "zz", "tz", "rz", "rt")
# Strains that u_r and u_z alone make, and that u_theta adds.
IN_PLANE = (0, 1, 2, 4)
ALL = (0, 1, 2, 3, 4, 5)
FEW = 64  # points of which the basis is kept


def _strains() -> Floats:
    """Make up strains (6) of components (r, theta, z) and slots dN/dr, dN/dz and N/r."""
    parts = np.zeros((6, 3, 3))
    parts[0, 0, 0] = parts[1, 0, 2] = parts[2, 2, 1] = 1
    parts[3, 1, 1] = 1
    parts[4, 0, 1] = parts[4, 2, 0] = 1
    parts[5, 1, 0], parts[5, 1, 2] = 1, -1
    return parts


STRAINS = _strains()


@dataclass(frozen=True)
class Space:
    """Scalar Lagrange space of one degree over a mesh; displacements use it per component.

    Attributes
    ----------
    degree : int
    corners : (m, 6) int array
        The mesh's triangles with their three corners in ascending order, so that neighbours run
        along their common side the same way.
    dofs : (m, k) int array
        Scalar unknowns of each triangle.
    size : int
        Number of scalar unknowns.
    edge_dofs : dict of str to (n, degree + 1) int array
        Scalar unknowns along each named edge side, in order from its lower to its higher corner.
    edge_nodes : dict of str to (n, 3) int array
        Mesh nodes of the same sides: lower corner, higher corner, middle.
    edge_triangle : dict of str to (n,) int array
        A triangle beside each side (the only one on the outline).
    """

    degree: int
    corners: Ints
    dofs: Ints
    size: int
    edge_dofs: dict[str, Ints]
    edge_nodes: dict[str, Ints]
    edge_triangle: dict[str, Ints]


def make_space(mesh: JointMesh, degree: int) -> Space:
    """Build the space of one degree over a mesh.

    Parameters
    ----------
    mesh : JointMesh
    degree : int
        1 to 4.
    """
    order = np.argsort(mesh.triangles[:, :3], axis=1)
    corner = np.take_along_axis(mesh.triangles[:, :3], order, axis=1)
    # the node amid the side between old corners i and j, in new order 0-1, 1-2, 0-2
    middle_of = np.full((3, 3), -1)
    for i, j, k in ((0, 1, 3), (1, 2, 4), (0, 2, 5)):
        middle_of[i, j] = middle_of[j, i] = k
    pairs = [(0, 1), (1, 2), (0, 2)]
    middle = np.stack(
        [
            np.take_along_axis(
                mesh.triangles, middle_of[order[:, i], order[:, j]][:, None], axis=1
            )[:, 0]
            for i, j in pairs
        ],
        axis=1,
    )
    # scikit-fem wants corner nodes alone, numbered without gaps and in the same ascending order
    used = np.zeros(len(mesh.points), bool)
    used[corner] = True
    nodes, local = np.flatnonzero(used), (np.cumsum(used) - 1)[corner]
    topology = MeshTri1(mesh.points[nodes].T.copy(), local.reshape(corner.shape).T.copy())
    numbering = Dofs(topology, ELEMENTS[degree]())

    facet_of = {}
    ends = nodes[topology.facets]
    key = ends.min(axis=0) * (len(mesh.points) + 1) + ends.max(axis=0)
    sort = np.argsort(key)
    edge_dofs, edge_nodes, edge_triangle = {}, {}, {}
    for name, side in mesh.edges.items():
        low, high = side[:, :2].min(axis=1), side[:, :2].max(axis=1)
        wanted = low * (len(mesh.points) + 1) + high
        facet = sort[np.searchsorted(key[sort], wanted)]
        facet_of[name] = facet
        at = np.searchsorted(nodes, np.stack([low, high]))
        columns = [numbering.nodal_dofs[0, at[0]]]
        columns += [numbering.facet_dofs[i, facet] for i in range(degree - 1)]
        columns += [numbering.nodal_dofs[0, at[1]]]
        edge_dofs[name] = np.stack(columns, axis=1).astype(np.int64)
        edge_nodes[name] = np.stack([low, high, side[:, 2]], axis=1)
        edge_triangle[name] = topology.f2t[0, facet].astype(np.int64)
    return Space(
        degree=degree,
        corners=np.hstack([corner, middle]),
        dofs=numbering.element_dofs.T.astype(np.int64),
        size=int(numbering.N),
        edge_dofs=edge_dofs,
        edge_nodes=edge_nodes,
        edge_triangle=edge_triangle,
    )


def reference_basis(degree: int, xi: Floats) -> tuple[Floats, Floats]:
    """Shape functions and their gradients on the reference triangle.

    Parameters
    ----------
    degree : int
    xi : (2, q) array

    Returns
    -------
    value : (k, q) array
    gradient : (2, k, q) array
    """
    if xi.shape[1] > FEW:
        return _basis_at(degree, xi)
    return _kept_basis(degree, np.ascontiguousarray(xi, float).tobytes())


@lru_cache(maxsize=256)
def _kept_basis(degree: int, xi: bytes) -> tuple[Floats, Floats]:
    """Keep the basis at the few points of a quadrature, which every element asks for."""
    value, gradient = _basis_at(degree, np.frombuffer(xi).reshape(2, -1))
    value.flags.writeable = gradient.flags.writeable = False
    return value, gradient


def _basis_at(degree: int, xi: Floats) -> tuple[Floats, Floats]:
    element = ELEMENTS[degree]()
    count = element.doflocs.shape[0]
    value = np.empty((count, xi.shape[1]))
    gradient = np.empty((2, count, xi.shape[1]))
    for i in range(count):
        phi, dphi = element.lbasis(xi, i)
        value[i] = phi
        gradient[:, i] = dphi
    return value, gradient


def quadrature(degree: int) -> tuple[Floats, Floats]:
    """Points (2, q) and weights (q,) on the reference triangle, exact for order 2 * degree.

    The stiffness of a straight-sided triangle is a polynomial of order 2 * (degree - 1) + 1
    where the hoop terms are smooth; 1 / r is smooth on the scale of an element.
    """
    points, weights = get_quadrature(ELEMENTS[degree](), 2 * degree)
    return np.asarray(points), np.asarray(weights)


@dataclass(frozen=True)
class Mapping:
    """The map from the reference triangle to points of elements.

    Attributes
    ----------
    radius : (e, q) array
        mm.
    jacobian : (e, q) array
        |dx/dxi|, mm^2.
    inverse : (2, 2, e, q) array
        dxi_i/dx_j with x = (r, z), 1/mm.
    """

    radius: Floats
    jacobian: Floats
    inverse: Floats


def mapping(points: Floats, corners: Ints, xi: Floats) -> Mapping:
    """Map reference points to elements; arguments as in `kinematics`."""
    shape, slope = reference_basis(2, xi.reshape(2, -1))
    x = points[corners]  # (e, 6, 2)
    first = x[:, :1, 0]
    x = x - x[:, :1]  # a large hull's coordinates would round off a small element's sides
    if xi.ndim == 3:  # an own point in each element
        radius = first + np.einsum("en,ne->e", x[:, :, 0], shape)[:, None]
        dx = np.einsum("eni,jne->ije", x, slope)[..., None]
    else:
        radius = first + x[:, :, 0] @ shape
        dx = np.stack([[x[:, :, i] @ slope[j] for j in range(2)] for i in range(2)])
    determinant = dx[0, 0] * dx[1, 1] - dx[0, 1] * dx[1, 0]
    inverse = np.stack([[dx[1, 1], -dx[0, 1]], [-dx[1, 0], dx[0, 0]]]) / determinant
    return Mapping(radius, np.abs(determinant), inverse)


@dataclass(frozen=True)
class Kinematics:
    """Shape functions at points of elements, in the section's frame.

    Attributes
    ----------
    radius : (e, q) array
        mm.
    jacobian : (e, q) array
        |dx/dxi|, mm^2.
    by_r, by_z, over_r : (e, q, k) arrays
        dN/dr, dN/dz and N/r (its limit dN/dr on the axis), 1/mm.
    """

    radius: Floats
    jacobian: Floats
    by_r: Floats
    by_z: Floats
    over_r: Floats


def kinematics(points: Floats, corners: Ints, degree: int, xi: Floats) -> Kinematics:
    """Shape functions of elements at the same reference points of each, or one point of each.

    Parameters
    ----------
    points : (n, 2) array
        Mesh nodes.
    corners : (e, 6) int array
        As in `Space.corners`.
    degree : int
    xi : (2, q) array, or (2, e, 1) array for an own point in each element
    """
    at = mapping(points, corners, xi)
    value, gradient = reference_basis(degree, xi.reshape(2, -1))
    gradient, value = gradient.transpose(0, 2, 1), value.T
    if xi.ndim == 3:
        gradient, value = gradient[:, :, None, :], value[:, None, :]  # (2, e, 1, k)
    else:
        gradient, value = gradient[:, None], value[None]  # (2, 1, q, k)
    by_r, by_z = (
        at.inverse[0, i][..., None] * gradient[0] + at.inverse[1, i][..., None] * gradient[1]
        for i in range(2)
    )
    on_axis = at.radius < 1e-9
    safe = np.where(on_axis, 1.0, at.radius)
    over_r = np.where(on_axis[..., None], by_r, value / safe[..., None])
    return Kinematics(at.radius, at.jacobian, by_r, by_z, over_r)


def strain_operator(k: Kinematics, twist: bool) -> Floats:
    """Build the matrix B with strain = B u at each point.

    Parameters
    ----------
    k : Kinematics
    twist : bool
        Whether u_theta is an unknown.

    Returns
    -------
    (e, q, s, c * k) array
        s strains (`IN_PLANE` or `ALL`); columns by shape function, then component (u_r, u_z or
        u_r, u_theta, u_z).
    """
    strains = STRAINS if twist else STRAINS[list(IN_PLANE), ::2]
    slots = np.stack([k.by_r, k.by_z, k.over_r])
    b = np.einsum("sca,aeqn->eqsnc", strains, slots, optimize=True)
    return np.ascontiguousarray(b).reshape(*b.shape[:3], -1)
