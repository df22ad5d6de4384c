"""A reduced model: unit solutions for thousands of sets of constants, with an error bound each.

Problem
    The unit solutions of one mesh move smoothly with the constants of its materials. A few full
    solutions span, closely, all of them.
Formulation
    Galerkin: with the basis V, orthonormal in the reference stiffness K0,
        V^T K(theta) V c = V^T f(theta),   u = V c,
    a few dozen unknowns, from the sums of `solve.affine`. The error e = K(theta)^-1 r of the
    residual r = f - K V c is bounded in the energy norm of the reference,
        |e|_0 = sqrt(e . K0 e) <= sqrt(r . K0^-1 r) / alpha(theta),
    with alpha the least eigenvalue of C(theta) relative to the C of the reference over all
    materials: strain energy is a sum over points, so no strain has less than alpha times that of
    the reference. The dual norm of r comes from a sketch (`solve.sketch`).
    Snapshots are chosen greedily: the full solution is taken where the measure of the error is
    largest over a sample, until it is below a tolerance everywhere in the sample.
Frame
    Loads in the order of `solve.answer.LOADS`: per MPa of pressure, per K of temperature.
Units
    mm, N, MPa, K; the energy norm is in sqrt(N mm).
Source
    C. Prud'homme et al., J. Fluids Eng. 124 (2002) 70-80; G. Rozza, D.B.P. Huynh, A.T. Patera,
    Arch. Comput. Methods Eng. 15 (2008) 229-275 (greedy choice, residual bound, least ratio of the
    coefficients as the bound of alpha, here of whole stiffnesses) (values from memory).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from solve.affine import Affine, Materials
from solve.answer import SolveError, prove
from solve.elasticity import assemble, solve_loads
from solve.laminate import Material
from solve.sketch import norms, sketch

Floats = NDArray[np.float64]

BLOCK = 256  # points at a time
PARALLEL = 1e-9  # of a snapshot: what is left beside the basis below this adds nothing


@dataclass(frozen=True, eq=False)
class Basis:
    """A reduced model.

    Attributes
    ----------
    model : Affine
    reference : dict of str to Material
        By region.
    sketch : (n, k) array
        Of the reference (`solve.sketch.sketch`).
    vectors : (n, N) array
        V, orthonormal in the reference stiffness.
    stiffness : (q, N, N) array
        V^T K_q V.
    loads : (N, 1 + t) array
        V^T of the pressure's load and of each coefficient of the temperature's.
    sketched_stiffness : (q, k, N) array
        Sketches of K_q V.
    sketched_loads : (k, 1 + t) array
    """

    model: Affine
    reference: dict[str, Material]
    sketch: Floats
    vectors: Floats
    stiffness: Floats
    loads: Floats
    sketched_stiffness: Floats
    sketched_loads: Floats

    @property
    def size(self) -> int:
        """Number of basis vectors."""
        return int(self.vectors.shape[1])


@dataclass(frozen=True, eq=False)
class Reduced:
    """Unit solutions of n points in a basis of N.

    Attributes
    ----------
    coefficients : (n, 2, N) array
        c of u = V c, by load; its Euclidean norm is |u|_0.
    error : (n, 2) array
        Bound of |e|_0, infinite where a stiffness is not positive definite.
    alpha : (n,) array
    """

    coefficients: Floats
    error: Floats
    alpha: Floats


Measure = Callable[[Basis, Materials], Floats]
"""From a basis and n points to the share by which each may be wrong, (n,)."""


def start(model: Affine, reference: dict[str, Material], seed: int) -> Basis:
    """Prepare a model without snapshots.

    Parameters
    ----------
    model : Affine
    reference : dict of str to Material
        By region: constants amid those that are asked for.
    seed : int
        Of the sketch.
    """
    drawn = sketch(model, reference, seed)
    loads = _loads(model)
    q = sum(len(g.patterns) for g in model.groups)
    return Basis(
        model=model,
        reference=reference,
        sketch=drawn,
        vectors=np.zeros((model.size, 0)),
        stiffness=np.zeros((q, 0, 0)),
        loads=np.zeros((0, loads.shape[1])),
        sketched_stiffness=np.zeros((q, drawn.shape[1], 0)),
        sketched_loads=drawn.T @ loads,
    )


def full_solution(model: Affine, materials: dict[str, Material]) -> Floats:
    """Solve for the unit loads in full, (n, 2) mm.

    Parameters
    ----------
    model : Affine
    materials : dict of str to Material
        By region.

    Raises
    ------
    SolveError
        When the solution does not prove itself (`solve.answer`).
    """
    system = assemble(model.mesh, materials, model.space.degree, model.twist)
    loads = np.stack([model.pressure, system.temperature], axis=1)
    u, forces = solve_loads(system, loads, model.held)
    proofs = prove(system, materials, loads, model.held, u, forces, model.section.outer_radius)
    for proof in proofs:
        if not proof.value <= proof.allowed:
            raise SolveError(f"{proof.name} under {proof.load} is off by {proof.value:.2e}")
    return u


def extend(basis: Basis, snapshots: Floats) -> Basis:
    """Add full solutions (n, k) to a basis."""
    model = basis.model
    theta = _reference_theta(basis)
    loads = _loads(model)
    for column in snapshots.T:
        vector, size = column, 0.0
        for turn in range(3):  # once more than needed: rounding
            if turn:
                vector = vector - basis.vectors @ (basis.vectors.T @ (model.forces(vector) @ theta))
            length = float(np.sqrt(vector @ (model.forces(vector) @ theta)))
            size = size or length
            if not length > PARALLEL * size:
                break
            vector = vector / length
            size = size / length
        else:
            basis = _append(basis, vector, loads)
    return basis


def _append(basis: Basis, vector: Floats, loads: Floats) -> Basis:
    forces = basis.model.forces(vector)  # (n, q)
    vectors = np.column_stack([basis.vectors, vector])
    along = vectors.T @ forces  # (N, q)
    q, n = len(basis.stiffness), vectors.shape[1]
    stiffness = np.empty((q, n, n))
    stiffness[:, :-1, :-1] = basis.stiffness
    stiffness[:, -1] = stiffness[:, :, -1] = along.T
    sketched = (basis.sketch.T @ forces).T[:, :, None]
    return replace(
        basis,
        vectors=vectors,
        stiffness=stiffness,
        loads=np.vstack([basis.loads, vector @ loads]),
        sketched_stiffness=np.concatenate([basis.sketched_stiffness, sketched], axis=2),
    )


def evaluate(basis: Basis, materials: Materials) -> Reduced:
    """Solve n points in a basis.

    Parameters
    ----------
    basis : Basis
    materials : mapping of str to Material
        By group, each of n points.

    Returns
    -------
    Reduced

    Raises
    ------
    ValueError
        When a stiffness holds a component that the model has not.
    """
    theta = basis.model.stiffness_coefficients(materials)
    expansion = basis.model.expansion_coefficients(materials)
    alpha = least_ratio(basis, materials)
    n, q, size = len(theta), len(basis.stiffness), basis.size
    found = np.zeros((n, 2, size))
    error = np.full((n, 2), np.inf)
    sound = np.flatnonzero(alpha > 0)
    stiffness = basis.stiffness.reshape(q, -1)
    sketched = basis.sketched_stiffness.reshape(q, -1)
    for part in np.array_split(sound, max(1, -(-len(sound) // BLOCK))):
        loads = _by_load(basis.loads, expansion[part])  # (p, N, 2)
        residual = _by_load(basis.sketched_loads, expansion[part])  # (p, k, 2)
        if size:
            matrix = (theta[part] @ stiffness).reshape(len(part), size, size)
            c = np.linalg.solve(matrix, loads)
            found[part] = c.transpose(0, 2, 1)
            spread = (theta[part] @ sketched).reshape(len(part), -1, size)
            residual = residual - np.matmul(spread, c)
        error[part] = norms(residual.transpose(1, 0, 2)) / alpha[part, None]
    return Reduced(found, error, alpha)


def _by_load(terms: Floats, expansion: Floats) -> Floats:
    """Compose loads (p, m, 2) from their terms (m, 1 + t) and the coefficients (p, t)."""
    heating = expansion @ terms[:, 1:].T
    pressure = np.broadcast_to(terms[:, 0], heating.shape)
    return np.stack([pressure, heating], axis=2)


def least_ratio(basis: Basis, materials: Materials) -> Floats:
    """Alpha (n,): least eigenvalue of each point's stiffnesses relative to the reference's."""
    kept = list(basis.model.kept)
    least = []
    for group in basis.model.groups:
        region = next(r for r, g in basis.model.region_group.items() if g == group.name)
        root = np.linalg.inv(np.linalg.cholesky(basis.reference[region].C[np.ix_(kept, kept)]))
        C = materials[group.name].C[:, kept][:, :, kept]
        if group.isotropic:  # Lame's constants: change of volume and change of shape
            lame, shear = C[:, 0, 1], C[:, -1, -1]
            C0 = basis.reference[region].C
            volume = (3 * lame + 2 * shear) / (3 * C0[0, 1] + 2 * C0[3, 3])
            least.append(np.minimum(volume, shear / C0[3, 3]))
        else:
            least.append(np.linalg.eigvalsh(root @ C @ root.T)[:, 0])
    return np.asarray(np.min(least, axis=0))


def energy_share(basis: Basis, materials: Materials) -> Floats:
    """Bound of the error over the solution in the energy norm, the larger of both loads, (n,)."""
    reduced = evaluate(basis, materials)
    size = np.linalg.norm(reduced.coefficients, axis=2)
    with np.errstate(divide="ignore"):
        return np.asarray((reduced.error / size).max(axis=1))


def train(
    basis: Basis,
    sample: Materials,
    tolerance: float,
    measure: Measure = energy_share,
    most: int = 100,
    told: Callable[[int, float], None] | None = None,
) -> Basis:
    """Choose snapshots greedily over a sample of points.

    Parameters
    ----------
    basis : Basis
        For instance of `start`.
    sample : mapping of str to Material
        By group, of the points to choose from.
    tolerance : float
        Largest measure that is left in the sample.
    measure : callable
        What is to become small.
    most : int
        Snapshots at most.
    told : callable, optional
        Called with the size of the basis and the largest measure after each step.

    Returns
    -------
    Basis
        Its largest measure over the sample is above the tolerance only if `most` was reached or
        no snapshot could lower it.
    """
    if not basis.size:
        basis = extend(basis, full_solution(basis.model, basis.reference))
    for _ in range(most):
        share = measure(basis, sample)
        share = np.where(least_ratio(basis, sample) > 0, share, 0.0)  # not a point at all
        worst = int(share.argmax())
        if told is not None:
            told(basis.size, float(share[worst]))
        if share[worst] <= tolerance:
            break
        larger = extend(basis, full_solution(basis.model, basis.model.by_region(sample, worst)))
        if larger.size == basis.size:
            break
        basis = larger
    return basis


def pick(materials: Materials, rows: NDArray[np.int64]) -> dict[str, Material]:
    """Take some of the points."""
    return {name: Material(m.C[rows], m.cte[rows]) for name, m in materials.items()}


def _reference_theta(basis: Basis) -> Floats:
    by_group = {
        basis.model.region_group[region]: Material(m.C[None], m.cte[None])
        for region, m in basis.reference.items()
    }
    return np.asarray(basis.model.stiffness_coefficients(by_group)[0])


def _loads(model: Affine) -> Floats:
    """Load of the pressure and of each coefficient of the temperature, (n, 1 + t)."""
    return np.column_stack([model.pressure, model.heating_forces()])
