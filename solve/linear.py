"""Sparse direct solution of symmetric positive definite systems.

Formulation
    Supernodal Cholesky factor (CHOLMOD, in the library cvxopt) after an ordering by approximate
    minimum degree. It works on dense blocks, which finite elements of high degree have many of.
    Only the lower triangle is ever built. A matrix that is positive definite but for rounding (thin
    sheets bent to a radius of a kilometre) gets a pivot below nought there; it is factorised as
    L U without exchanges, and whoever solves with it proves the solution as ever.
Threads
    The dense products of the factorisation run on as many threads as OPENBLAS_NUM_THREADS says.
Source
    Y. Chen, T.A. Davis, W.W. Hager, S. Rajamanickam, ACM Trans. Math. Softw. 35 (2008) 22 (value
    from memory).
"""

from __future__ import annotations

from collections.abc import Callable

import cvxopt
import numpy as np
from cvxopt import cholmod
from numpy.typing import NDArray
from scipy import sparse
from scipy.sparse.linalg import splu

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

ROUNDING = 1e-7
"""Share of its diagonal that a pivot may lie below nought by rounding."""


class SolveError(Exception):
    """A solution that does not prove itself; the text says which check failed and by how much."""


def sum_of_elements(rows: Ints, blocks: Floats, free: Ints, size: int) -> sparse.csc_array:
    """Add element matrices up to the lower triangle of their sum.

    Parameters
    ----------
    rows : (m, e) int array
        Unknowns of each element.
    blocks : (m, e, e) array
        Symmetric.
    free : (f,) int array
        Unknowns that stay, in ascending order.
    size : int
        Number of all unknowns.

    Returns
    -------
    (f, f) sparse array
        Nothing stands above the diagonal.
    """
    place = np.full(size, -1, np.int32)
    place[free] = np.arange(len(free))
    own = place[rows]
    one, other = np.tril_indices(rows.shape[1])
    a, b = own.take(one, axis=1).ravel(), own.take(other, axis=1).ravel()
    flat = rows.shape[1] * one + other
    value = blocks.reshape(len(rows), -1).take(flat, axis=1).ravel()
    i, j = np.maximum(a, b), np.minimum(a, b)
    if len(free) < size:
        stays = j >= 0
        i, j, value = i[stays], j[stays], value[stays]
    # a pair that meets on one unknown stands in its element once only
    return sparse.coo_array((value, (i, j)), shape=(len(free),) * 2).tocsc()


def factorise(lower: sparse.csc_array, refined: bool = True) -> Callable[[Floats], Floats]:
    """Factorise once; the returned function solves for any right-hand sides.

    Parameters
    ----------
    lower : (n, n) sparse array
        Lower triangle, diagonal included, of a symmetric positive definite matrix.
    refined : bool
        Add one step of iterative refinement: large thin hulls lose four digits without it.

    Returns
    -------
    callable
        From (n,) or (n, k) to the same shape.

    Raises
    ------
    SolveError
        When the matrix is not positive definite, by more than rounding.
    """
    size = lower.shape[0]
    columns = np.repeat(np.arange(size), np.diff(lower.indptr))
    rows = lower.indices.astype(np.int64)
    given = cvxopt.spmatrix(*map(cvxopt.matrix, (lower.data, rows, columns)), (size, size))
    factor = cholmod.symbolic(given)
    try:
        cholmod.numeric(given, factor)
    except ArithmeticError:
        solve = _without_roots(lower)
    else:

        def solve(right: Floats) -> Floats:
            found = cvxopt.matrix(right, tc="d")
            cholmod.solve(factor, found)
            return np.array(found).reshape(right.shape)

    if not refined:
        return solve
    diagonal = lower.diagonal()

    def solve_twice(right: Floats) -> Floats:
        first = solve(right)
        twice = (diagonal * first.T).T  # lower and upper triangle both hold the diagonal
        return first + solve(right - (lower @ first + lower.T @ first - twice))

    return solve_twice


def _without_roots(lower: sparse.csc_array) -> Callable[[Floats], Floats]:
    """Factorise what a Cholesky factor does not exist of."""
    whole = sparse.csc_array(lower + lower.T - sparse.diags_array(lower.diagonal()))
    try:
        lu = splu(
            whole,
            permc_spec="MMD_AT_PLUS_A",
            diag_pivot_thresh=0.0,
            options={"SymmetricMode": True},
        )
    except RuntimeError:
        raise SolveError("the stiffness is singular: something is not held") from None
    share = lu.U.diagonal()[lu.perm_c] / lower.diagonal()
    if share.min() < -ROUNDING:
        raise SolveError(
            "the stiffness is not positive definite: something is not held, or a material is not "
            "stable"
        )
    return lambda right: np.asarray(lu.solve(right))
