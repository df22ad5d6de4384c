"""Frames that must not matter."""

from __future__ import annotations

from types import ModuleType

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from post.criteria import (
    hashin,
    kinking,
    maximum_stress,
    principal_stress,
    puck,
    raghava,
    tsai_wu,
    von_mises,
)
from post.criteria.kinking import KinkStrength
from post.criteria.multiplier import Array
from post.criteria.principal_stress import TensileStrength
from post.criteria.puck import PuckStrength
from post.criteria.raghava import PolymerYield
from post.criteria.strengths import PlyStrength
from post.criteria.von_mises import YieldStrength

PLACES = np.array([[0, 5, 4], [5, 1, 3], [4, 3, 2]])
PAIRS = ([0, 1, 2, 1, 0, 0], [0, 1, 2, 2, 2, 1])
PLY = PlyStrength.transverse(1950, 1480, 48, 200, 79, 60)


def turned(s: Array, Q: Array) -> Array:
    """Components of the same stresses (6, n) in axes that are the rows of Q (n, 3, 3)."""
    tensor = np.moveaxis(s[PLACES], -1, 0)
    new: Array = (Q @ tensor @ np.swapaxes(Q, 1, 2))[:, *PAIRS].T
    return new


def about_fibre(angle: Array) -> Array:
    """Axes turned from 2 towards 3 by angles in degrees."""
    turn: Array = Rotation.from_rotvec(np.outer(-np.deg2rad(angle), [1, 0, 0])).as_matrix()
    return turn


@pytest.mark.parametrize(
    ("criterion", "strength"),
    [
        (von_mises, YieldStrength(80)),
        (raghava, PolymerYield(30, 42)),
        (principal_stress, TensileStrength(35)),
    ],
)
def test_isotropic_criteria_are_the_same_in_every_frame(
    criterion: ModuleType, strength: object
) -> None:
    # isotropy of the cited criteria
    g = np.random.default_rng(1)
    thermal, unit = g.normal(size=(2, 6, 300)) * np.array([10, 30])[:, None, None]
    Q = Rotation.from_quat(g.normal(size=(300, 4))).as_matrix()
    np.testing.assert_allclose(
        criterion.index(turned(unit, Q), strength), criterion.index(unit, strength), rtol=1e-10
    )
    factors = criterion.multiplier(thermal, unit, strength)
    assert np.isfinite(factors).sum() > 200
    np.testing.assert_allclose(
        criterion.multiplier(turned(thermal, Q), turned(unit, Q), strength), factors, rtol=1e-9
    )


@pytest.mark.parametrize(
    ("criterion", "strength"),
    [
        (tsai_wu, PLY),
        (hashin, PLY),
        (puck, PuckStrength(48, 200, 79, 0.35, 0.30)),
        (kinking, KinkStrength(6600, 70, 5, 1.5)),
    ],
)
def test_ply_criteria_do_not_feel_a_turn_about_the_fibre(
    criterion: ModuleType, strength: object
) -> None:
    # transverse isotropy, which the cited criteria assume
    g = np.random.default_rng(3)
    sizes = np.array([800.0, 50, 50, 30, 30, 30])[:, None]
    thermal, unit = sizes * g.normal(size=(2, 6, 300)) * np.array([0.2, 1])[:, None, None]
    Q = about_fibre(g.uniform(0, 360, 300))
    np.testing.assert_allclose(
        criterion.index(turned(unit, Q), strength),
        criterion.index(unit, strength),
        rtol=1e-10,
        atol=1e-12,
    )
    factors = criterion.multiplier(thermal, unit, strength)
    assert np.isfinite(factors).sum() > 100
    np.testing.assert_allclose(
        criterion.multiplier(turned(thermal, Q), turned(unit, Q), strength), factors, rtol=1e-8
    )


def test_fracture_plane_turns_with_the_stress() -> None:
    # the plane is fixed in the material: turned axes see it turned back
    strength = PuckStrength(48, 200, 79, 0.35, 0.30)
    g = np.random.default_rng(4)
    s = g.normal(size=(6, 200)) * 40
    turn = g.uniform(-90, 90, 200)
    Q = about_fibre(turn)
    _, before = puck.fracture_plane(s, strength)
    _, after = puck.fracture_plane(turned(s, Q), strength)
    off = (after - before + turn + 90) % 180 - 90
    off = np.minimum(np.abs(off), 180 - np.abs(off))
    assert np.quantile(off, 0.99) < 1e-3  # equal exposures on two planes leave a choice
    np.testing.assert_array_less(np.abs(before), 90 + 1e-9)


def test_maximum_stress_does_feel_a_turn() -> None:
    # it is a box in ply axes: the tests above can tell
    s = np.array([[0.0], [48], [0], [0], [0], [0]])
    Q = about_fibre(np.array([45.0]))
    assert maximum_stress.index(s, PLY)[0] == 1
    assert maximum_stress.index(turned(s, Q), PLY)[0] != pytest.approx(1, abs=0.1)
