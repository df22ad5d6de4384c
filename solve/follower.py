"""The sea that follows the surface: its part in the second variation of the energy.

Problem
    Sea pressure stays normal to a wall that moves and grows with its area. A dead pressure, which
    keeps direction and size, buckles a long ring at 4 E I / R^3; a fluid's at 3 E I / R^3.
Formulation
    The pressure of a fluid has the potential p V, V the volume inside the wet surface. Moved by
    u, a surface with tangents x_s, x_t encloses to second order, beyond the first,
        1/2 integral of u . (u_s x x_t + x_s x u_t) ds dt
            = 1/2 integral of [(u . n) div_s u - u . (grad_s u)^T n] dA
    on a surface of any shape that closes. On a cylinder of radius b the bracket is
        [u_r^2 + 2 u_r u_theta,theta + u_theta^2 + b (u_r u_z,z - u_z u_r,z)] / b.
    Amplitudes of n waves around as in `solve.harmonics`, where all terms come out real.
Symbols
    n outward normal, s unit tangent of the meridian, both in the (r, z) plane; V volume; p MPa.
Source
    Derived here; for the ring S.P. Timoshenko & J.M. Gere, Theory of Elastic Stability, 2nd ed.,
    1961, ch. 7 (value from memory).
Units
    mm, N, MPa.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy import sparse

from geometry.mesh import JointMesh
from solve.elements import Space
from solve.harmonics import ByWaves, add_up

Floats = NDArray[np.float64]


def sea_pressure(mesh: JointMesh, space: Space, edge: str = "wet") -> ByWaves:
    """Assemble what one MPa of sea adds by following the surface, N/mm.

    Parameters
    ----------
    mesh : JointMesh
    space : Space
    edge : str
        The wet outline. It must close on the axis, on the plane of mid-length or on an end that
        is held round: only then has the pressure a potential.
    """
    t, weight = np.polynomial.legendre.leggauss(space.degree + 3)
    t, weight = (t + 1) / 2, weight / 2
    nodes = mesh.points[space.edge_nodes[edge]]  # (e, 3, 2)
    shape = np.array([(1 - t) * (1 - 2 * t), t * (2 * t - 1), 4 * t * (1 - t)])
    slope = np.array([4 * t - 3, 4 * t - 1, 4 - 8 * t])
    x = np.einsum("eai,aq->ieq", nodes, shape)
    tangent = np.einsum("eai,aq->ieq", nodes, slope)
    length = np.hypot(*tangent)
    s = tangent / length
    normal = np.stack([s[1], -s[0]])
    inside = mesh.points[space.corners[space.edge_triangle[edge], :3]].mean(axis=1).T
    normal *= np.sign(np.einsum("ieq,ieq->eq", normal, x - inside[:, :, None]))

    value, along = _line_basis(space.degree, t)  # (k, q)
    e, q, k = length.shape[0], length.shape[1], space.degree + 1
    by_s = along.T[None] / length[..., None]  # (e, q, k)
    N = np.broadcast_to(value.T, (e, q, k))
    over_r = N / x[0][..., None]

    def stacked(u: Floats | float, v: Floats | float, w: Floats | float) -> Floats:
        """Operator (e, q, 3 k) with the given factors of (u, v, w)."""
        columns = [np.broadcast_to(c, (e, q, k)) for c in (u, v, w)]
        return np.stack(columns, axis=3).reshape(e, q, 3 * k)

    (nr, nz), (sr, sz) = normal[..., None], s[..., None]
    across, meridian = stacked(nr * N, 0, nz * N), stacked(sr * N, 0, sz * N)
    around = stacked(0, N, 0)
    # factors of n^0 and n^1 of div_s u, n . u,s and of the turn of the parallel about the meridian
    spread = (stacked(sr * by_s + over_r, 0, sz * by_s), stacked(0, over_r, 0))
    tilt = stacked(nr * by_s, 0, nz * by_s)
    turn = (stacked(0, nr * over_r, 0), stacked(nr * over_r, 0, nz * over_r))
    area = 2 * np.pi * x[0] * length * weight

    def product(left: Floats, right: Floats) -> Floats:
        return np.asarray(np.einsum("eqi,eqj,eq->eij", left, right, area, optimize=True))

    blocks = [
        product(across, spread[0]) - product(meridian, tilt) + product(around, turn[0]),
        product(across, spread[1]) + product(around, turn[1]),
    ]
    rows = (3 * space.edge_dofs[edge][:, :, None] + np.arange(3)).reshape(e, -1)
    size = 3 * space.size
    constant, linear = (add_up((b + b.transpose(0, 2, 1)) / 2, rows, size) for b in blocks)
    return ByWaves(constant, linear, sparse.csr_array((size, size)))


def _line_basis(degree: int, t: Floats) -> tuple[Floats, Floats]:
    """Lagrange polynomials on equally spaced nodes of [0, 1] and their slopes, (degree + 1, q)."""
    powers = np.vander(np.linspace(0, 1, degree + 1), increasing=True).T
    value = np.vander(t, degree + 1, increasing=True).T
    slope = np.zeros_like(value)
    slope[1:] = np.arange(1, degree + 1)[:, None] * value[:-1]
    basis = np.linalg.inv(powers)
    return np.asarray(basis @ value), np.asarray(basis @ slope)
