"""Displacements that vary around the hull: stiffness and prestress terms per harmonic.

Problem
    A hull of revolution that buckles leaves its round shape. Its motion is a sum of harmonics
    around the axis, and on an axisymmetric state each harmonic stands alone.
Formulation
    Complex amplitudes on the section's mesh, n waves around:
        u_r = u e^(i n t)    u_theta = -i v e^(i n t)    u_z = w e^(i n t)
    so that real u, v, w are u cos(n t), v sin(n t), w cos(n t). Then strain = D B (u, v, w) with
    a real operator B = B0 + n B1 and phases D = diag(1, 1, 1, -i, 1, -i):
        e_rr = u,r    e_tt = (u + n v)/r    e_zz = w,z
        g_tz = v,z - n w/r    g_rz = u,z + w,r    g_rt = v,r - v/r - n u/r
    The second variation of the energy has three parts, each a polynomial of second order in n
    that is assembled once for all n:
        stiffness     integral of conj(strain) . C strain
        prestress     integral of s_ij conj(u_k,i) u_k,j, all nine displacement gradients
        sea pressure  see `solve.follower`
    Where no material couples (g_tz, g_rt) to the other strains, all matrices are real; a layup
    that couples makes them Hermitian, and `real_form` turns them into real symmetric ones of
    twice the size, [Re; Im].
Symbols
    n waves around; s_ij stress before buckling; forces and energies of amplitude 1 are those of
    2 pi r, for every n (a cosine has half of that; no eigenvalue knows the difference).
Source
    K. Washizu, Variational Methods in Elasticity and Plasticity, 1975 (initial stress);
    O.C. Zienkiewicz & R.L. Taylor, The Finite Element Method, vol. 2, 5th ed., 2000, ch. 9
    (semi-analytic elements); values from memory.
Units
    mm, N, MPa.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import sparse

from geometry.mesh import JointMesh
from solve.elasticity import COUPLING
from solve.elements import (
    IN_PLANE,
    Kinematics,
    Space,
    kinematics,
    quadrature,
)
from solve.laminate import Material
from solve.stress import Solved, element_stress, strain_from_gradients

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

CHUNK = 800  # elements at a time: bounds the memory of the operators
SHEARS = (3, 5)  # the strains that are a quarter wave behind
PLACE = ((0, 5, 4), (5, 1, 3), (4, 3, 2))  # of s_ij in [rr, tt, zz, tz, rz, rt]


@dataclass(frozen=True)
class ByWaves:
    """A symmetric (Hermitian) matrix that is a polynomial of the number of waves."""

    constant: sparse.csr_array
    linear: sparse.csr_array
    square: sparse.csr_array

    @property
    def is_complex(self) -> bool:
        """Whether it is Hermitian rather than real."""
        return any(np.iscomplexobj(part) for part in (self.constant, self.linear, self.square))

    def at(self, n: int) -> sparse.csr_array:
        """Matrix of n waves around."""
        return (self.constant + n * self.linear + n * n * self.square).tocsr()

    def plus(self, other: ByWaves, factor: float = 1.0) -> ByWaves:
        """Add another one, times a factor."""
        return ByWaves(
            self.constant + factor * other.constant,
            self.linear + factor * other.linear,
            self.square + factor * other.square,
        )


def stiffness(mesh: JointMesh, space: Space, materials: dict[str, Material]) -> ByWaves:
    """Assemble the elastic stiffness, N/mm.

    Parameters
    ----------
    mesh : JointMesh
    space : Space
    materials : dict of str to Material
        By region name.

    Returns
    -------
    ByWaves
        Unknown number = 3 * scalar number + component (u, v, w); complex where a layup couples.
    """
    phased = [_phased(materials[name].C) for name in mesh.regions]
    coupled = any(np.iscomplexobj(C) for C in phased)

    def weighted(part: Ints, kin: Kinematics, b: Floats) -> NDArray[np.inexact]:
        return np.asarray(np.matmul(np.stack(phased)[mesh.region[part]][:, None], b))

    return _assemble(mesh, space, strain_operators, weighted, coupled)


def prestress(solved: Solved, load: str) -> ByWaves:
    """Assemble the prestress term of one of the unit loads of an axisymmetric solution, N/mm.

    Parameters
    ----------
    solved : Solved
        Its integration points are those of its own assembly, so that a rigid rotation of
        prestress and sea together has no energy but rounding.
    load : str
        ``pressure`` (per MPa) or ``temperature`` (per K).
    """
    mesh, space = solved.mesh, solved.space
    u = solved.displacement[load]
    twists = bool(np.abs(u[:, 1]).max() > COUPLING * np.abs(u).max())

    def weighted(part: Ints, kin: Kinematics, gradient: Floats) -> NDArray[np.inexact]:
        strain = strain_from_gradients(kin, u[space.dofs[part]])
        stress = element_stress(solved, load, strain, mesh.region[part])
        tensor = np.moveaxis(stress[np.array(PLACE)], (0, 1), (2, 3)).astype(
            complex if twists else float
        )
        if twists:  # between r or z and theta: i s_rt, i s_tz
            tensor[..., [0, 2], 1] *= 1j
            tensor[..., 1, [0, 2]] *= -1j
        else:
            tensor[..., [0, 2], 1] = tensor[..., 1, [0, 2]] = 0.0
        e, q, _, n = gradient.shape
        product = np.matmul(tensor[:, :, None], gradient.reshape(e, q, 3, 3, n))
        return np.asarray(product.reshape(e, q, 9, n))

    return _assemble(mesh, space, gradient_operators, weighted, twists)


def real_form(matrix: sparse.csr_array) -> sparse.csr_array:
    """Turn a Hermitian matrix into the real symmetric one of unknowns [Re; Im].

    Returns
    -------
    (2 n, 2 n) array
    """
    re, im = matrix.real, matrix.imag
    return sparse.block_array([[re, -im], [im, re]], format="csr")


def strain_operators(k: Kinematics) -> tuple[Floats, Floats]:
    """Parts of B = B0 + n B1, each (e, q, 6, 3 k), columns by shape function, then component."""
    e, q, n = k.by_r.shape
    zero, one = np.zeros((2, e, q, 6, n, 3))
    zero[:, :, 0, :, 0] = k.by_r
    zero[:, :, 1, :, 0] = k.over_r
    zero[:, :, 2, :, 2] = k.by_z
    zero[:, :, 3, :, 1] = k.by_z
    zero[:, :, 4, :, 0] = k.by_z
    zero[:, :, 4, :, 2] = k.by_r
    zero[:, :, 5, :, 1] = k.by_r - k.over_r
    one[:, :, 1, :, 1] = k.over_r
    one[:, :, 3, :, 2] = -k.over_r
    one[:, :, 5, :, 0] = -k.over_r
    return zero.reshape(e, q, 6, 3 * n), one.reshape(e, q, 6, 3 * n)


def gradient_operators(k: Kinematics) -> tuple[Floats, Floats]:
    """Parts of the nine gradients u_k,i of n waves, each (e, q, 9, 3 k); k first, then i.

    Phases are left out: (1, i, 1) for u_r and u_z, (-i, 1, -i) for u_theta.
    """
    e, q, n = k.by_r.shape
    zero, one = np.zeros((2, e, q, 3, 3, n, 3))
    for component in range(3):
        zero[:, :, component, 0, :, component] = k.by_r
        zero[:, :, component, 2, :, component] = k.by_z
        one[:, :, component, 1, :, component] = k.over_r
    zero[:, :, 0, 1, :, 1] = k.over_r
    zero[:, :, 1, 1, :, 0] = k.over_r
    return zero.reshape(e, q, 9, 3 * n), one.reshape(e, q, 9, 3 * n)


def _phased(C: Floats) -> NDArray[np.inexact]:
    """Put the phases of the strains into a stiffness: conj(D) C D."""
    coupling = C[np.ix_(IN_PLANE, SHEARS)]
    if np.abs(coupling).max() <= COUPLING * np.abs(C).max():
        plain = C.copy()
        plain[np.ix_(IN_PLANE, SHEARS)] = plain[np.ix_(SHEARS, IN_PLANE)] = 0.0
        return plain
    phase = np.ones(6, complex)
    phase[list(SHEARS)] = -1j
    return np.asarray(phase.conj()[:, None] * C * phase)


def _assemble(
    mesh: JointMesh,
    space: Space,
    operators: Callable[[Kinematics], tuple[Floats, Floats]],
    weighted: Callable[[Ints, Kinematics, Floats], NDArray[np.inexact]],
    is_complex: bool,
) -> ByWaves:
    """Assemble the integral of L^T W L with L = L0 + n L1, where `weighted` makes W L of L."""
    xi, weight = quadrature(space.degree)
    m, k = space.dofs.shape
    blocks = np.empty((3, m, 3 * k, 3 * k), complex if is_complex else float)
    for part in np.array_split(np.arange(m), -(-m // CHUNK)):
        kin = kinematics(mesh.points, space.corners[part], space.degree, xi)
        volume = (2 * np.pi * kin.radius * kin.jacobian * weight)[:, :, None, None]
        parts = operators(kin)
        flat = [b.reshape(len(part), -1, 3 * k) for b in parts]
        pushed = [
            (weighted(part, kin, b) * volume).reshape(f.shape)
            for b, f in zip(parts, flat, strict=True)
        ]
        left = [f.transpose(0, 2, 1) for f in flat]
        blocks[0, part] = np.matmul(left[0], pushed[0])
        blocks[1, part] = np.matmul(left[0], pushed[1]) + np.matmul(left[1], pushed[0])
        blocks[2, part] = np.matmul(left[1], pushed[1])
    rows = (3 * space.dofs[:, :, None] + np.arange(3)).reshape(m, -1)
    return ByWaves(*(add_up(b, rows, 3 * space.size) for b in blocks))


def add_up(blocks: NDArray[np.inexact], rows: Ints, size: int) -> sparse.csr_array:
    """Add blocks (m, a, a) of unknowns (m, a) up."""
    i = np.repeat(rows, rows.shape[1], axis=1).ravel()
    j = np.tile(rows, (1, rows.shape[1])).ravel()
    return sparse.coo_array((blocks.ravel(), (i, j)), shape=(size, size)).tocsr()
