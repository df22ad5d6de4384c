"""Sparse direct solution of symmetric positive definite systems.

Formulation
    Supernodal Cholesky factor (CHOLMOD, in the library cvxopt) after an ordering by approximate
    minimum degree. It works on dense blocks, which finite elements of high degree have many of.
    Unknowns of the same elements (those inside one side of a triangle) are ordered as one: a
    fifth of the graph. Only the lower triangle is ever built. A matrix that is positive definite
    but for rounding (thin sheets bent to a radius of a kilometre) gets a pivot below nought
    there; it is factorised as L U without exchanges, and whoever solves with it proves the
    solution as ever.
Threads
    The dense products of the factorisation run on as many threads as OPENBLAS_NUM_THREADS says.
Source
    Y. Chen, T.A. Davis, W.W. Hager, S. Rajamanickam, ACM Trans. Math. Softw. 35 (2008) 22 (value
    from memory).
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import cvxopt
import numpy as np
from cvxopt import amd, base, cholmod
from numpy.typing import NDArray
from scipy import sparse
from scipy.sparse.linalg import splu

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Places = NDArray[np.signedinteger[Any]]

ROUNDING = 1e-7
"""Share of its diagonal that a pivot may lie below nought by rounding."""


class SolveError(Exception):
    """A solution that does not prove itself; the text says which check failed and by how much."""


def places(rows: Ints, free: Ints, size: int) -> Places:
    """Give the unknowns that stay consecutive numbers.

    Parameters
    ----------
    rows : (m, e) int array
        Unknowns of each element.
    free : (f,) int array
        Unknowns that stay, in ascending order.
    size : int
        Number of all unknowns.

    Returns
    -------
    (m, e) int array
        Place in `free` of each; -1 where it does not stay.
    """
    place = np.full(size, -1, np.int32)
    place[free] = np.arange(len(free))
    return place.take(rows)


def sum_of_elements(own: Places, blocks: Floats, size: int) -> sparse.csc_array:
    """Add element matrices up to the lower triangle of their sum.

    Parameters
    ----------
    own : (m, e) int array
        Unknowns of each element; -1 for what does not enter.
    blocks : (m, e, e) array
        Symmetric.
    size : int
        Number n of unknowns.

    Returns
    -------
    (n, n) sparse array
        Nothing stands above the diagonal.
    """
    one, other = np.tril_indices(own.shape[1])
    value = blocks.reshape(len(own), -1).take(own.shape[1] * one + other, axis=1).ravel()
    a, b = own.take(one, axis=1).ravel(), own.take(other, axis=1).ravel()
    j = np.minimum(a, b)
    i = np.maximum(a, b, out=a)
    gone = np.flatnonzero(j < 0)
    i[gone] = j[gone] = value[gone] = 0
    # a pair that meets on one unknown stands in its element once only
    return sparse.coo_array((value, (i, j)), shape=(size, size)).tocsc()


def factorise(
    lower: sparse.csc_array, own: Places | None = None, refined: bool = True
) -> Callable[[Floats], Floats]:
    """Factorise once; the returned function solves for any right-hand sides.

    Parameters
    ----------
    lower : (n, n) sparse array
        Lower triangle, diagonal included, of a symmetric positive definite matrix.
    own : (m, e) int array, optional
        Unknowns of the elements that it is the sum of, as in `sum_of_elements`: saves half of
        the preparation.
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
    given, order = _triplets(lower) if own is None else _of_elements(lower, own)
    cholmod.options["nmethods"] = 1  # no other order is looked for
    factor = cholmod.symbolic(given, order)
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


def _triplets(lower: sparse.csc_array) -> tuple[cvxopt.spmatrix, cvxopt.matrix]:
    """Hand a matrix over, with an order of elimination."""
    columns = np.repeat(np.arange(lower.shape[0]), np.diff(lower.indptr))
    rows = lower.indices.astype(np.int64)
    given = cvxopt.spmatrix(*map(cvxopt.matrix, (lower.data, rows, columns)), lower.shape)
    return given, amd.order(given)


def _of_elements(lower: sparse.csc_array, own: Places) -> tuple[cvxopt.spmatrix, cvxopt.matrix]:
    """Do so for a sum of elements, by products of the pattern of elements and unknowns."""
    size = lower.shape[0]
    meet = _pattern(np.sort(own, axis=1), size)
    meet.V = cvxopt.matrix(lower.data)  # both run by columns, then rows

    # what the same elements touch adds up to the same sum of their random marks
    mark = np.random.default_rng(0).random(len(own))
    mark = np.repeat(mark, own.shape[1])
    touched = np.bincount(own.ravel() + 1, mark, size + 1)[1:]
    _, first, group = np.unique(touched, return_index=True, return_inverse=True)
    leads = np.zeros(size + 1, bool)
    leads[first] = True
    own = np.where(leads[own], group[own], -1)
    rank = np.empty(len(first), np.int64)
    rank[np.array(amd.order(_pattern(own, len(first)))).ravel()] = np.arange(len(first))
    return meet, cvxopt.matrix(np.argsort(rank[group], kind="stable"))


def _pattern(own: Places, size: int) -> cvxopt.spmatrix:
    """Lower triangle of all pairs that meet in an element; -1 is none."""
    element = np.repeat(np.arange(len(own)), own.shape[1])
    own = own.ravel()
    touches = cvxopt.spmatrix(
        1.0,
        *(cvxopt.matrix(x[own >= 0]) for x in (own.astype(np.int64), element)),
        (size, element[-1] + 1),
    )
    result = cvxopt.spmatrix([], [], [], (size, size))
    base.syrk(touches, result, uplo="L")
    return result


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
