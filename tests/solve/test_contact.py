"""The least energy of faces that part but do not pass through each other."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import minimize

from solve.contact import _by_least_squares, least_energy


def problem(seed: int, size: int) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    draw = np.random.default_rng(seed)
    root = draw.normal(size=(size, size))
    stiffness = root @ root.T + 0.1 * np.eye(size)
    return stiffness, draw.normal(size=size), draw.random(size) < 0.6


@given(st.integers(0, 10_000), st.integers(1, 30))
def test_conditions_of_the_least_hold(seed: int, size: int) -> None:
    # Source: W. Karush 1939, H.W. Kuhn & A.W. Tucker 1951: the conditions of a least energy under
    # x_n >= 0; they are sufficient, as the energy is convex (value from memory).
    stiffness, load, normal = problem(seed, size)
    found = least_energy(stiffness, load, normal)
    force = stiffness @ found.jump - load
    scale = float(np.abs(load).max())
    assert np.all(found.jump[normal] >= -1e-10 * np.abs(found.jump).max())
    assert np.all(force[normal] >= -1e-8 * scale)
    assert np.allclose(force[~normal], 0, atol=1e-8 * scale)
    assert np.allclose(force * found.jump, 0, atol=1e-8 * scale)
    assert found.energy <= 0


@pytest.mark.parametrize("seed", range(8))
def test_both_ways_and_a_general_minimiser_agree(seed: int) -> None:
    # Source: scipy.optimize.minimize (L-BFGS-B, bounds), a method of another kind.
    stiffness, load, normal = problem(seed, 12)
    bounds = [(0, None) if n else (None, None) for n in normal]
    other = minimize(
        lambda x: x @ stiffness @ x / 2 - load @ x,
        np.zeros(12),
        jac=lambda x: stiffness @ x - load,
        bounds=bounds,
        options={"ftol": 1e-15, "gtol": 1e-10, "maxiter": 5000},
    )
    found = least_energy(stiffness, load, normal)
    assert found.energy == pytest.approx(other.fun, rel=1e-6)
    # the way that always ends, against the quick one
    slow = _by_least_squares(stiffness, load, normal)
    assert slow.energy == pytest.approx(found.energy, rel=1e-9)
    assert slow.closed.tolist() == found.closed.tolist()
    assert slow.force == pytest.approx(found.force, abs=1e-8 * np.abs(load).max())


def test_a_motion_that_contact_alone_holds_is_found() -> None:
    # Source: statics. Two blocks pressed together by 2 N carry 2 N, whatever the stiffness.
    stiffness = np.array([[1.0, -1.0], [-1.0, 1.0]])  # both move alike without a force
    found = least_energy(stiffness, np.array([-1.0, -1.0]), np.array([True, True]))
    assert found.closed.all()
    assert found.force.sum() == pytest.approx(2.0)
