"""Sparse Cholesky: sums of elements and solutions against dense algebra."""

from __future__ import annotations

import numpy as np
import pytest

from solve.linear import SolveError, factorise, places, sum_of_elements

SIZE = 40
FREE = np.setdiff1d(np.arange(SIZE), [0, 7, 39])


def random_elements() -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Unknowns and matrices of overlapping elements, and their dense sum."""
    draw = np.random.default_rng(3)
    rows = np.array([draw.permutation(SIZE)[:6] for _ in range(60)])
    root = draw.standard_normal((60, 6, 6))
    blocks = root @ root.transpose(0, 2, 1)
    whole = np.zeros((SIZE, SIZE))
    for own, block in zip(rows, blocks, strict=True):
        whole[np.ix_(own, own)] += block
    return rows, blocks, whole[np.ix_(FREE, FREE)]


def test_elements_add_up_to_the_lower_triangle() -> None:
    rows, blocks, whole = random_elements()
    lower = sum_of_elements(places(rows, FREE, SIZE), blocks, len(FREE)).toarray()
    assert lower == pytest.approx(np.tril(whole), rel=1e-13, abs=1e-13)


@pytest.mark.parametrize("shape", [(len(FREE),), (len(FREE), 3)])
@pytest.mark.parametrize("refined", [True, False])
@pytest.mark.parametrize("elements", [True, False])
def test_solutions_are_those_of_dense_algebra(
    shape: tuple[int, ...], refined: bool, elements: bool
) -> None:
    rows, blocks, whole = random_elements()
    own = places(rows, FREE, SIZE)
    right = np.random.default_rng(4).standard_normal(shape)
    lower = sum_of_elements(own, blocks, len(FREE))
    found = factorise(lower, own if elements else None, refined)(right)
    assert found == pytest.approx(np.linalg.solve(whole, right), rel=1e-8)


def chain() -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Elements in a row, four unknowns to a joint numbered at random, and their dense sum."""
    draw = np.random.default_rng(8)
    number = draw.permutation(4 * 11).reshape(11, 4)
    rows = np.concatenate([number[:-1], number[1:]], axis=1)
    root = draw.standard_normal((10, 8, 8))
    blocks = root @ root.transpose(0, 2, 1) + np.eye(8)
    whole = np.zeros((44, 44))
    for own, block in zip(rows, blocks, strict=True):
        whole[np.ix_(own, own)] += block
    return rows, blocks, whole


def test_unknowns_that_share_their_elements_need_not_stand_together() -> None:
    rows, blocks, whole = chain()
    right = np.random.default_rng(9).standard_normal(44)
    found = factorise(sum_of_elements(rows, blocks, 44), rows)(right)
    assert found == pytest.approx(np.linalg.solve(whole, right), rel=1e-9)


def test_a_matrix_that_is_not_positive_definite_is_refused() -> None:
    rows, blocks, whole = random_elements()
    own = places(rows, FREE, SIZE)
    lower = sum_of_elements(own, blocks, len(FREE))
    lower.setdiag(lower.diagonal() - 1.1 * np.linalg.eigvalsh(whole)[0])
    for given in (None, own):
        with pytest.raises(SolveError, match="positive definite"):
            factorise(lower, given)


@pytest.mark.parametrize(("below", "solved"), [(1e-13, True), (1e-9, False)])
def test_a_matrix_may_miss_being_positive_definite_by_rounding(below: float, solved: bool) -> None:
    # dense algebra; the least eigenvalue is moved below nought by a share of the diagonal, and the
    # unknowns measured in units that differ, which leaves the pivots their shares of it
    rows, blocks, whole = chain()
    units = 1e4 ** np.random.default_rng(6).random(44)
    moved = np.linalg.eigvalsh(whole)[0] + below * whole.diagonal().min()
    whole = (whole - moved * np.eye(44)) * np.outer(units, units)
    lower = sum_of_elements(rows, blocks, 44).tocoo()
    lower.data = whole[lower.row, lower.col]
    right = np.random.default_rng(5).standard_normal(44) * units
    for given in (None, rows):
        if not solved:
            with pytest.raises(SolveError, match="positive definite"):
                factorise(lower.tocsc(), given)
            continue
        found = factorise(lower.tocsc(), given)(right)
        left = (whole @ found - right) / units
        assert np.abs(left).max() < 1e-12 * np.abs(whole / units[:, None] * found).max()
