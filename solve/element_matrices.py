"""Stiffness of elements and forces of stress, from products on the reference triangle.

Formulation
    A strain is a sum of slots: dN/dr, dN/dz and N/r, each of one displacement component
    (`solve.elements.STRAINS`). A slot is a sum of dN/dxi, dN/deta and N, times factors that only
    geometry sets: entries of the inverse Jacobian and 1/r, five in all. So
        K = sum over points, pairs of factors and pairs of reference functions of
            volume * factor * factor * stiffness * (reference function * reference function),
    where the last bracket is the same table for all elements. Two matrix products per pair of
    displacement components make the stiffness of all elements of a material, and the strain
    operator B, ten times as large, is never written.
Order
    Unknowns of an element by shape function, then component: those inside it come last.
Units
    mm, N, MPa, K.
"""

from __future__ import annotations

from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from solve.elements import STRAINS, Mapping, quadrature, reference_basis

Floats = NDArray[np.float64]

# (slot, reference function) of each factor: dN/dr and dN/dz are of dN/dxi and dN/deta, N/r of N.
FACTORS = ((0, 0), (0, 1), (1, 0), (1, 1), (2, 2))
FIRST, SECOND = np.triu_indices(len(FACTORS))


def stiffness(at: Mapping, volume: Floats, C: Floats, degree: int, twist: bool) -> Floats:
    """Stiffness of elements of one material.

    Parameters
    ----------
    at : Mapping
        At the points of `solve.elements.quadrature`.
    volume : (e, q) array
        Of each point, mm^3.
    C : (6, 6) array
        MPa.
    degree : int
    twist : bool
        Whether u_theta is an unknown.

    Returns
    -------
    (e, c * k, c * k) array, N/mm
    """
    strains = STRAINS if twist else STRAINS[:, ::2]
    elastic = np.einsum("sca,st,tdb->cadb", strains, C, strains)
    factors = _factors(at)
    products = (factors[FIRST] * factors[SECOND] * volume.ravel()).T
    table, _ = _tables(degree)
    c, e, k = strains.shape[1], len(volume), _shapes(degree)
    result = np.empty((e, k, c, k, c))
    for i in range(c):
        for j in range(i + 1):
            share = np.zeros((len(FIRST), 3, 3))
            for pair, (one, other) in enumerate(zip(FIRST, SECOND, strict=True)):
                for p, q in {(one, other), (other, one)}:
                    (slot, function), (slot_of, function_of) = FACTORS[p], FACTORS[q]
                    share[pair, function, function_of] += elastic[i, slot, j, slot_of]
            at_points = (products @ share.reshape(-1, 9)).reshape(e, -1)
            block = (at_points @ table).reshape(e, k, k)
            result[:, :, i, :, j] = block
            if i != j:
                result[:, :, j, :, i] = block.transpose(0, 2, 1)
    return result.reshape(e, k * c, k * c)


def pull(at: Mapping, volume: Floats, stress: Floats, degree: int, twist: bool) -> Floats:
    """Nodal forces of a stress that is the same at all points but for `volume`, N.

    Parameters
    ----------
    at, volume, degree, twist
        As in `stiffness`.
    stress : (6,) array
        MPa.

    Returns
    -------
    (e, c * k) array
    """
    strains = STRAINS if twist else STRAINS[:, ::2]
    forces = np.einsum("sca,s->ca", strains, stress)
    weighted = (_factors(at) * volume.ravel()).T
    _, table = _tables(degree)
    c, e = strains.shape[1], len(volume)
    result = np.empty((e, _shapes(degree), c))
    for i in range(c):
        share = np.zeros((len(FACTORS), 3))
        for factor, (slot, function) in enumerate(FACTORS):
            share[factor, function] = forces[i, slot]
        result[:, :, i] = (weighted @ share).reshape(e, -1) @ table
    return result.reshape(e, -1)


def _factors(at: Mapping) -> Floats:
    """Factors in the order of `FACTORS`, (5, e * q), 1/mm."""
    (xi_r, xi_z), (eta_r, eta_z) = at.inverse
    return np.stack([xi_r, eta_r, xi_z, eta_z, 1 / at.radius]).reshape(len(FACTORS), -1)


def _shapes(degree: int) -> int:
    return (degree + 1) * (degree + 2) // 2


@lru_cache
def _tables(degree: int) -> tuple[Floats, Floats]:
    """Products of reference functions, (q * 9, k * k), and the functions alone, (q * 3, k)."""
    xi, _ = quadrature(degree)
    value, gradient = reference_basis(degree, xi)
    functions = np.concatenate([gradient, value[None]])
    k = len(value)
    pairs = np.einsum("aiq,bjq->qabij", functions, functions).reshape(-1, k * k)
    return pairs, functions.transpose(2, 0, 1).reshape(-1, k)
