"""From a meshed solid to the jumps across its paths, by condensing its parts one by one.

Problem
    `solve.disbond` wants stiffness and forces of all jumps. Solving the whole solid once for every
    jump costs a right-hand side each.
Formulation
    Elements are gathered in parts that paths separate. Each part is condensed to the nodes it
    shares with others or with a path: its Schur complement T, its forces f. With v = Ru + Pd the
    displacements of a part's border (R picks common displacements u; P adds jumps d on parts that
    lie on the far side of a path) the energy is the sum over parts of v'Tv / 2 - f'v, and u is
    eliminated last, with dense matrices:
        S = P'TP - P'TR (R'TR)^-1 R'TP,   g = P'f - P'TR (R'TR)^-1 R'f.
Units
    mm, N, MPa, K.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import sparse
from scipy.linalg import cholesky, solve_triangular

from geometry.mesh import JointMesh
from solve.disbond import Path, Reduced, node_values
from solve.elasticity import System

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

Load = Callable[[Ints], Floats]

NEAR_LINE = 1e-6  # mm: a node so near to a line lies on it
LEAF = 48  # triangles that are condensed at once


@dataclass(frozen=True)
class Cut:
    """A path in a mesh.

    Attributes
    ----------
    path : Path
    edge : str
        Name of its element sides in the mesh.
    far : tuple of str
        Parts on its far side.
    """

    path: Path
    edge: str
    far: tuple[str, ...]


def sides_between(mesh: JointMesh, start: Floats, stop: Floats) -> Ints:
    """Element sides on the straight line between two points, in order, (k, 3) nodes.

    Columns are as in `JointMesh.edges`, each side running from start to stop.
    """
    along = (stop - start) / np.hypot(*(stop - start))
    offset = mesh.points - start
    position = offset @ along
    beside = np.abs(offset @ np.array([-along[1], along[0]]))
    length = float(np.hypot(*(stop - start)))
    on = (beside < NEAR_LINE) & (position > -NEAR_LINE) & (position < length + NEAR_LINE)
    t = mesh.triangles
    sides = np.vstack([t[:, [0, 1, 3]], t[:, [1, 2, 4]], t[:, [2, 0, 5]]])
    sides = sides[on[sides[:, 0]] & on[sides[:, 1]]]
    back = position[sides[:, 0]] > position[sides[:, 1]]
    sides[back] = sides[back][:, [1, 0, 2]]
    sides = np.unique(sides, axis=0)
    return np.asarray(sides[np.argsort(position[sides[:, 0]])], np.int64)


def reduce_to_paths(
    system: System,
    part_of: Sequence[str],
    cuts: Sequence[Cut],
    loads: Mapping[str, Load],
    held: Ints,
) -> Reduced:
    """Reduce a solid to the jumps across its paths.

    Parameters
    ----------
    system : System
        On a mesh whose edges hold those of `cuts`.
    part_of : sequence of str
        Part of each triangle; paths run between parts.
    cuts : sequence of Cut
    loads : mapping of str to callable
        From numbers of triangles to the nodal forces (n,) on these triangles.
    held : int array
        Unknowns held at nought.

    Returns
    -------
    Reduced
    """
    c, degree = system.components, system.space.degree
    size = c * system.space.size
    chains = [chain_of(system, cut) for cut in cuts]
    names = np.asarray(part_of)
    parts = list(dict.fromkeys(part_of))
    members = {name: np.flatnonzero(names == name) for name in parts}
    shared = np.zeros(size, np.int64)
    for on in members.values():
        shared[np.unique(system.rows[on])] += 1
    border, fixed = shared > 1, np.zeros(size, bool)
    for chain in chains:
        border[chain.ravel()] = True
    fixed[held] = True
    common = np.flatnonzero(border & ~fixed)
    place = np.full(size, -1)
    place[common] = np.arange(len(common))

    jump_place, turn, count = _jumps(cuts, chains, c, degree)
    stiff = np.zeros((len(common), len(common)))
    cross = np.zeros((len(common), count))
    jumps = np.zeros((count, count))
    right = np.zeros((len(common), len(loads)))
    pull = np.zeros((count, len(loads)))
    for name in parts:
        given = np.stack([load(members[name]) for load in loads.values()], axis=1)
        edge, schur, force = _condense(system, members[name], border, fixed, given)
        force += given[edge]
        at = place[edge]
        stiff[np.ix_(at, at)] += schur
        right[at] += force
        far = [i for i, cut in enumerate(cuts) if name in cut.far]
        if not far:
            continue
        unknown = np.concatenate([chains[i].ravel() for i in far])
        column = np.concatenate([jump_place[i] for i in far])
        local = np.full(size, -1)
        local[edge] = np.arange(len(edge))
        mine = local[unknown] >= 0
        row, column = local[unknown[mine]], column[mine]
        cross[np.ix_(at, column)] += schur[:, row]
        jumps[np.ix_(column, column)] += schur[np.ix_(row, row)]
        pull[column] += force[row]

    # Bernstein coefficients in the paths' own directions
    cross, jumps, pull = cross @ turn, turn.T @ (jumps @ turn), turn.T @ pull
    root = cholesky(stiff, lower=True, overwrite_a=True, check_finite=False)
    half = solve_triangular(root, np.hstack([cross, right]), lower=True, check_finite=False)
    across, followed = half[:, :count], half[:, count:]
    reduced = jumps - across.T @ across
    load = pull - across.T @ followed
    still = np.diag(reduced) <= 0  # held on the axis
    reduced[still, still] = np.diag(reduced).max()
    return Reduced(
        tuple(cut.path for cut in cuts),
        degree,
        c,
        reduced,
        {name: load[:, i] for i, name in enumerate(loads)},
    )


def heating(system: System) -> Load:
    """One kelvin, as a load of `reduce_to_paths`."""
    size = system.components * system.space.size

    def on(members: Ints) -> Floats:
        forces = system.heating[members].ravel()
        return np.asarray(np.bincount(system.rows[members].ravel(), forces, size), float)

    return on


def chain_of(system: System, cut: Cut) -> Ints:
    """Unknowns of a path's nodes in order along it, (nodes, components)."""
    space, degree = system.space, system.space.degree
    dofs, nodes = space.edge_dofs[cut.edge], space.edge_nodes[cut.edge]
    s = system.mesh.points[nodes[:, :2]] @ np.asarray(cut.path.along)
    dofs = np.where((s[:, 0] > s[:, 1])[:, None], dofs[:, ::-1], dofs)
    dofs = dofs[np.argsort(s.min(axis=1))]
    if np.any(dofs[1:, 0] != dofs[:-1, -1]):
        raise ValueError(f"the path along {cut.edge} is broken")
    chain = np.concatenate([dofs[:, :degree].ravel(), dofs[-1:, -1]])
    c = system.components
    return np.asarray(c * chain[:, None] + np.arange(c))


def _jumps(
    cuts: Sequence[Cut], chains: Sequence[Ints], c: int, degree: int
) -> tuple[list[Ints], sparse.csr_array, int]:
    """Numbers of each path's jumps, and the matrix from coefficients to jumps in (r, theta, z)."""
    places, turns, start = [], [], 0
    for cut, chain in zip(cuts, chains, strict=True):
        places.append(start + np.arange(chain.size))
        start += chain.size
        frame = np.zeros((c, c))
        frame[[0, -1], 0], frame[[0, -1], 1] = cut.path.across, cut.path.along
        if c == 3:
            frame[1, 2] = 1.0
        values = sparse.csr_array(node_values(degree, cut.path.elements))
        turns.append(sparse.kron(values, frame))
    return places, sparse.csr_array(sparse.block_diag(turns)), start


def _condense(
    system: System, members: Ints, border: NDArray[np.bool_], held: NDArray[np.bool_], force: Floats
) -> tuple[Ints, Floats, Floats]:
    """Schur complement and forces of triangles on the border, by nested dissection.

    Parameters
    ----------
    system : System
    members : int array
        Triangles.
    border, held : (n,) bool arrays
        Unknowns that stay, and unknowns held at nought.
    force : (n, loads) array
        Forces on the part that they belong to.

    Returns
    -------
    unknowns : (k,) int array
        Unknowns of these triangles that stay.
    schur, force : (k, k), (k, loads) arrays
    """
    if len(members) <= LEAF:
        rows = system.rows[members]
        unknowns = np.unique(rows)
        at = np.searchsorted(unknowns, rows)
        schur = np.zeros((len(unknowns),) * 2)
        for own, block in zip(at, system.blocks[members], strict=True):
            schur[np.ix_(own, own)] += block
        right = np.zeros((len(unknowns), force.shape[1]))
    else:
        corners = system.mesh.points[system.space.corners[members, :3]].mean(axis=1)
        axis = int(np.argmax(np.ptp(corners, axis=0)))
        order = np.argsort(corners[:, axis], kind="stable")
        halves = [members[part] for part in np.array_split(order, 2)]
        touched = [np.unique(system.rows[half]) for half in halves]
        between = np.intersect1d(touched[0], touched[1], assume_unique=True)
        wider = border.copy()
        wider[between] = True
        found = [_condense(system, half, wider, held, force) for half in halves]
        unknowns = np.union1d(found[0][0], found[1][0])
        schur = np.zeros((len(unknowns),) * 2)
        right = np.zeros((len(unknowns), force.shape[1]))
        for own, part, pull in found:
            at = np.searchsorted(unknowns, own)
            schur[np.ix_(at, at)] += part
            right[at] += pull
    stays = border[unknowns]
    free = ~held[unknowns]
    edge, inner = np.flatnonzero(stays & free), np.flatnonzero(~stays & free)
    right[inner] += force[unknowns[inner]]
    if len(inner) == 0:
        return unknowns[edge], schur[np.ix_(edge, edge)], right[edge]
    root = cholesky(schur[np.ix_(inner, inner)], lower=True, check_finite=False)
    coupling = np.hstack([schur[np.ix_(inner, edge)], right[inner]])
    half = solve_triangular(root, coupling, lower=True, check_finite=False)
    across, pull = half[:, : len(edge)], half[:, len(edge) :]
    return (
        unknowns[edge],
        schur[np.ix_(edge, edge)] - across.T @ across,
        right[edge] - across.T @ pull,
    )
