"""Grid convergence: published examples, numbers made to a known law, and what has no order."""

from __future__ import annotations

import math

import numpy as np
import pytest

from post.grid_checks import grid_checks
from post.grid_convergence import convergence, observed_order
from solve.check import Check


@pytest.mark.parametrize("check", grid_checks(), ids=lambda check: check.claim)
def test_examples_have_their_published_numbers(check: Check) -> None:
    # Source: named in the row.
    assert check.passes


def test_halved_grids_meet_the_tutorial_to_a_millionth() -> None:
    # Roache 1994; NPARC tutorial (recomputed): p, f0 and both indices.
    found = convergence(0.97050, 0.96854, 0.96178)
    assert found.order == pytest.approx(1.786170, abs=1e-6)
    assert found.limit == pytest.approx(0.971300, abs=1e-6)
    assert found.fine_index == pytest.approx(0.00103083, abs=1e-6)
    assert found.coarse_index == pytest.approx(0.00356249, abs=1e-6)


def test_uneven_grids_meet_the_print_in_its_digits() -> None:
    # Celik et al. 2008, Table 1, first column (value from memory): p = 1.53, 6.1685, 2.2 %.
    found = convergence(6.063, 5.972, 5.863, 1.5, 1.333)
    assert found.order == pytest.approx(1.53, abs=0.01)
    assert found.limit == pytest.approx(6.1685, abs=5e-4)
    assert round(100 * found.fine_index, 1) == 2.2


@pytest.mark.parametrize("order", [-0.3, 0.5, 1.0, 2.0, 4.7])
@pytest.mark.parametrize(("ratio", "coarse_ratio"), [(2.0, 2.0), (1.5, 1.3), (1.2, 2.0)])
def test_a_power_law_gives_its_power_and_limit_back(
    order: float, ratio: float, coarse_ratio: float
) -> None:
    # f = f0 + c h^p by construction.
    sizes = np.array([1.0, ratio, ratio * coarse_ratio])
    numbers = 7.0 - 0.4 * sizes**order
    found = convergence(*numbers, ratio, coarse_ratio)
    assert found.order == pytest.approx(order, abs=1e-9)
    if order > 0:
        assert found.limit == pytest.approx(7.0, rel=1e-10)
        assert found.fine_index == pytest.approx(1.25 * abs(1 - 7.0 / numbers[0]), rel=1e-8)
    else:
        # A singular stress: order below zero, no limit, no finite error.
        assert math.isnan(found.limit)
        assert found.fine_index == found.coarse_index == math.inf


def test_what_swings_or_stands_still_has_no_order() -> None:
    for numbers in ((1.0, 2.0, 1.5), (1.0, 1.0, 2.0), (2.0, 1.0, 1.0)):
        with pytest.raises(ValueError, match="one direction"):
            observed_order(*numbers)
    with pytest.raises(ValueError, match="above 1"):
        observed_order(3.0, 2.0, 1.0, 0.5)
