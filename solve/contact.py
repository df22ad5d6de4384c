"""Two faces that may part but not pass through each other: the least energy under that condition.

Problem
    Find the jump x between two faces with
        least x'Sx / 2 - q'x,   x_n >= 0 for the normal unknowns n, the others free (no friction).
    At the least, force = Sx - q presses where the faces touch (force_n >= 0), is nought where they
    gape, and force_n x_n = 0 everywhere.
Formulation
    An active set that changes at once wherever its sign is wrong (primal-dual active set). It ends
    after a few rounds as a rule; where it does not, the problem in the normal unknowns alone is
    solved as non-negative least squares, which always ends.
    The unknowns are Bernstein coefficients (`solve.disbond`), so x_n >= 0 keeps the faces apart
    between the nodes too.
Source
    M. Hintermueller, K. Ito & K. Kunisch, SIAM J. Optim. 13 (2002) 865-888; C.L. Lawson &
    R.J. Hanson, Solving Least Squares Problems, 1974 (values from memory).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import cho_factor, cho_solve, cholesky, solve_triangular
from scipy.linalg.lapack import dposv
from scipy.optimize import nnls

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]

ROUNDS = 40
SLACK = 1e-12  # of the largest force or jump: what counts as nought
SOFTEST = 1e-13  # of the mean stiffness: holds motions that nothing else holds


@dataclass(frozen=True)
class Contact:
    """The jump of least energy.

    Attributes
    ----------
    jump : (n,) array
    force : (n,) array
        S jump - q: what the faces press with where they touch; nought elsewhere.
    closed : (n,) bool array
        Normal unknowns that touch.
    energy : float
        x'Sx / 2 - q'x at the least, not positive.
    """

    jump: Floats
    force: Floats
    closed: Bools
    energy: float


def least_energy(
    stiffness: Floats, load: Floats, normal: Bools, closed: Bools | None = None
) -> Contact:
    """Find the jump of least energy.

    Parameters
    ----------
    stiffness : (n, n) array
        S, symmetric, positive definite but for motions that contact alone holds.
    load : (n,) array
        q.
    normal : (n,) bool array
        Unknowns that may not become negative.
    closed : (n,) bool array, optional
        A guess of those that touch.

    Returns
    -------
    Contact
    """
    if len(load) == 0:
        return Contact(load, load, normal, 0.0)
    # what pulls apart is guessed to be open: exact where nothing touches or all does
    closed = normal & (load < 0) if closed is None else normal & closed
    seen: set[bytes] = set()
    for _ in range(ROUNDS):
        jump = _free_jump(stiffness, load, ~closed)
        if jump is None:
            break
        force = stiffness @ jump - load
        small = SLACK * max(float(np.abs(force).max()), float(np.abs(load).max()))
        tiny = SLACK * float(np.abs(jump).max())
        changed = normal & np.where(closed, force > -small, jump < -tiny)
        if np.array_equal(changed, closed):
            return _finish(stiffness, load, jump, closed)
        closed = changed
        if closed.tobytes() in seen:
            break
        seen.add(closed.tobytes())
    return _by_least_squares(stiffness, load, normal)


def _free_jump(stiffness: Floats, load: Floats, free: Bools) -> Floats | None:
    """Jump with the unknowns that are not free at nought; None where nothing holds it."""
    jump = np.zeros_like(load)
    at = np.flatnonzero(free)
    if len(at):
        _, found, trouble = dposv(stiffness[np.ix_(at, at)], load[at], lower=1)
        if trouble:
            return None
        jump[at] = found
    return jump


def _by_least_squares(stiffness: Floats, load: Floats, normal: Bools) -> Contact:
    """Solve for the normal unknowns alone, the others having followed."""
    n, t = np.flatnonzero(normal), np.flatnonzero(~normal)
    soft = SOFTEST * float(np.trace(stiffness)) / len(load)
    held = stiffness[np.ix_(n, n)] + soft * np.eye(len(n))
    pull = load[n]
    if len(t):
        factor = cho_factor(stiffness[np.ix_(t, t)] + soft * np.eye(len(t)), lower=True)
        follow = cho_solve(factor, np.column_stack([stiffness[np.ix_(t, n)], load[t]]))
        held = held - stiffness[np.ix_(n, t)] @ follow[:, :-1]
        pull = pull - stiffness[np.ix_(n, t)] @ follow[:, -1]
    held = (held + held.T) / 2
    root = cholesky(held + soft * np.eye(len(n)), lower=True)
    wanted = solve_triangular(root, pull, lower=True)
    jump = np.zeros_like(load)
    jump[n] = nnls(root.T, wanted, maxiter=30 * len(n))[0]
    if len(t):
        jump[t] = follow[:, -1] - follow[:, :-1] @ jump[n]
    closed = normal & (jump <= 0)
    return _finish(stiffness, load, jump, closed)


def _finish(stiffness: Floats, load: Floats, jump: Floats, closed: Bools) -> Contact:
    """Clear what rounding left and sum the energy."""
    force = np.where(closed, stiffness @ jump - load, 0.0)
    jump = np.where(closed, 0.0, jump)
    return Contact(jump, force, closed, float(jump @ (stiffness @ jump) / 2 - load @ jump))
