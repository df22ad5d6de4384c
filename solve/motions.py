"""Motions of n waves around the hull that its supports and its symmetry leave free.

Formulation
    Mid-length is a plane of mirror symmetry of hull and load, so modes are of two kinds: both
    halves move alike (u_theta and u_r free there, u_z = 0), or opposite (u_r = u_theta = 0). A
    layup that couples leaves a half turn about a radius alone: one kind, `EITHER`, and for n = 0
    two again. On the axis displacements are smooth: for n = 0 u_r = u_theta = 0, for n = 1 u_z = 0
    and u_theta = -u_r (in amplitudes), from n = 2 on all are zero. Motions of the hull as a rigid
    body cost nothing and are held at as many unknowns as there are such motions.
    Where no head is modelled, the closure that is left out is taken to keep the end face round
    (u_r = u_theta = 0) and to let it tilt and move along z.
Symbols
    n waves around; amplitudes (u, v, w) as in `solve.harmonics`.
"""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np
from numpy.typing import NDArray
from scipy import sparse

from geometry.mesh import JointMesh
from solve.elements import ELEMENTS, Space, reference_basis

Floats = NDArray[np.float64]

ALIKE, OPPOSITE, EITHER = "alike", "opposite", "either"
RIGID = 1e-6  # relative movement against a support below which a rigid motion is free


def symmetries(waves: int, couples: bool) -> tuple[str, ...]:
    """Kinds of modes that n waves around have."""
    return (EITHER,) if couples and waves > 0 else (ALIKE, OPPOSITE)


def free_motions(
    mesh: JointMesh,
    space: Space,
    waves: int,
    symmetry: str,
    *,
    couples: bool = False,
    kept_round: Iterable[str] = (),
) -> sparse.csr_array:
    """Basis (all unknowns, free ones) of the motions that supports and symmetry leave.

    Parameters
    ----------
    mesh : JointMesh
    space : Space
    waves : int
    symmetry : str
        One of `symmetries`.
    couples : bool
        Whether amplitudes are complex.
    kept_round : iterable of str
        Edges on which u_r = u_theta = 0.

    Returns
    -------
    (all, free) array
        All unknowns are 3 * scalar number + component, those of imaginary parts behind.
    """
    parts = 2 if couples else 1
    held = np.zeros((parts, space.size, 3), bool)
    tied = np.zeros((parts, space.size), bool)
    for part in range(parts):
        for component in _held_at_middle(waves, symmetry, part):
            held[part, space.edge_dofs["symmetry"], component] = True
        for edge in kept_round:
            held[part, space.edge_dofs[edge], :2] = True
    if waves == 0:  # no twist; where a layup couples, u_theta is real where v is imaginary
        held[0, :, 1] = True
        held[1:, :, [0, 2]] = True
    axis = np.unique(space.edge_dofs.get("axis", np.empty((0, 1), np.int64)))
    if waves == 0:
        held[:, axis, :2] = True
    elif waves == 1:
        held[:, axis, 2] = True
        held[:, axis, 1] = held[:, axis, 0]
        tied[:, axis] = ~held[:, axis, 0]
    else:
        held[:, axis] = True
    free = ~held
    free[:, :, 1] &= ~tied
    for motion in _rigid_motions(mesh, space, waves, parts):
        if np.abs(motion[held]).max(initial=0.0) <= RIGID * np.abs(motion).max():
            free.flat[np.argmax(np.abs(motion) * free)] = False
    columns = np.cumsum(free).reshape(free.shape) - 1
    rows, values = np.flatnonzero(free), np.ones(np.count_nonzero(free))
    places = columns[free]
    side, node = np.nonzero(tied & free[:, :, 0])
    rows = np.concatenate(
        [rows, np.ravel_multi_index((side, node, np.ones_like(node)), free.shape)]
    )
    places = np.concatenate([places, columns[side, node, 0]])
    values = np.concatenate([values, -np.ones(len(node))])
    return sparse.csr_array((values, (rows, places)), shape=(free.size, int(free.sum())))


def _held_at_middle(waves: int, symmetry: str, part: int) -> tuple[int, ...]:
    """Components held on the plane of mid-length, of real (0) or imaginary parts (1)."""
    if symmetry == EITHER:
        return (2,) if part == 0 else (0, 1)
    if waves == 0:
        return (1, 2) if symmetry == ALIKE else (0,)
    return (2,) if symmetry == ALIKE else (0, 1)


def _rigid_motions(mesh: JointMesh, space: Space, waves: int, parts: int) -> list[Floats]:
    """Rigid motions (parts, n, 3) among those of n waves, supports or not."""
    if waves > 1:
        return []
    r, z = positions(mesh, space)
    zero, one = np.zeros_like(r), np.ones_like(r)
    if waves == 0:
        motions = [(zero, zero, one), (zero, r, zero)]
    else:
        motions = [(one, -one, zero), (z, -z, -r)]
    found = []
    for part in range(parts):
        for motion in motions:
            whole = np.zeros((parts, len(r), 3))
            whole[part] = np.stack(motion, axis=1)
            found.append(whole)
    return found


def positions(mesh: JointMesh, space: Space) -> Floats:
    """Places (2, n) as (r, z) of the scalar unknowns, mm."""
    shape, _ = reference_basis(2, ELEMENTS[space.degree]().doflocs.T)
    x = np.empty((space.size, 2))
    x[space.dofs] = np.einsum("mai,ak->mki", mesh.points[space.corners], shape)
    return x.T
