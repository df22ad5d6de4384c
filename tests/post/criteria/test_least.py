"""The weakest point found with screening is that of judging every point."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings

from post.criteria import KINKING, MAXIMUM_STRESS, PUCK
from post.criteria.kinking import KinkStrength
from post.criteria.least import least_multiplier
from post.criteria.multiplier import Array
from post.criteria.puck import CFRP_SLOPES, PuckStrength, fracture_plane, safe
from post.criteria.strengths import PlyStrength
from tests.post.criteria.paths import CASES, Case, draw_paths, seeds

PUCK_STRENGTH = PuckStrength(48, 200, 79, *CFRP_SLOPES)
KINK_STRENGTH = KinkStrength(6600, 70, 5, 1.5)


@pytest.mark.parametrize("case", CASES.values(), ids=CASES.keys())
@settings(max_examples=8, deadline=None)
@given(seed=seeds)
def test_least_is_that_of_judging_every_point(case: Case, seed: int) -> None:
    # brute force over the same points, also where some have failed on cooling
    thermal, unit, strength = draw_paths(case, seed, 900)
    if seed % 2:
        thermal *= 0.05
    n = len(case.sizes)
    thermal, unit = thermal.reshape(n, 30, 30), unit.reshape(n, 30, 30)
    brute = case.criterion.multipliers(thermal, unit, strength)
    for mode, least in enumerate(least_multiplier(case.criterion, thermal, unit, strength)):
        assert least.mode == case.criterion.modes[mode]
        assert least.multiplier == pytest.approx(brute[mode].min(), rel=1e-12)
        if np.isfinite(least.multiplier):
            assert brute[(mode, *least.place)] == pytest.approx(least.multiplier, rel=1e-12)


@pytest.mark.parametrize(
    ("criterion", "strength"), [(PUCK, PUCK_STRENGTH), (KINKING, KINK_STRENGTH)]
)
def test_one_weak_point_among_many_alike_is_found(criterion: object, strength: object) -> None:
    # blocks after the first, a point between those solved first, and hardly weaker than the rest
    thermal = np.zeros((6, 40_000))
    unit = np.tile(np.array([-12.0, -1.0, -0.5, 0.1, 0.3, 0.8])[:, None], 40_000)
    unit[:, 33_333] *= 1 + 1e-9
    (least,) = least_multiplier(criterion, thermal, unit, strength)  # type: ignore[arg-type]
    assert least.place == (33_333,)


@pytest.mark.parametrize(
    ("criterion", "strength"), [(PUCK, PUCK_STRENGTH), (KINKING, KINK_STRENGTH)]
)
def test_a_search_up_to_a_bound_finds_what_lies_below_it_alone(criterion, strength) -> None:
    unit = np.tile(np.array([-12.0, -1.0, -0.5, 0.1, 0.3, 0.8])[:, None], 2000)
    unit[:, 777] *= 1.1
    thermal = np.zeros_like(unit)
    (whole,) = least_multiplier(criterion, thermal, unit, strength)
    (below,) = least_multiplier(criterion, thermal, unit, strength, 1.01 * whole.multiplier)
    assert below.place == whole.place == (777,)
    assert below.multiplier == pytest.approx(whole.multiplier, rel=1e-12)
    (none,) = least_multiplier(criterion, thermal, unit, strength, 0.99 * whole.multiplier)
    assert np.isinf(none.multiplier)


def test_paths_that_never_fail_have_no_least() -> None:
    thermal, unit = np.zeros((6, 2000)), np.zeros((6, 2000))
    unit[:3] = -1
    for criterion, strength in ((PUCK, PUCK_STRENGTH), (KINKING, KINK_STRENGTH)):
        (least,) = least_multiplier(criterion, thermal, unit, strength)
        assert np.isinf(least.multiplier)


def test_broadcast_thermal_part_is_taken() -> None:
    ply = PlyStrength.transverse(1950, 1480, 48, 200, 79)
    unit = np.zeros((6, 3, 5))
    unit[0] = -np.arange(1, 16).reshape(3, 5)
    cooled = np.array([-25.0, 22, 0, 0, 0, 0]).reshape(6, 1, 1)
    least = least_multiplier(MAXIMUM_STRESS, cooled, unit, ply)[1]
    assert (least.mode, least.place) == ("fibre compression", (2, 4))
    assert least.multiplier == pytest.approx((1480 - 25) / 15)


def test_stretches_called_safe_are() -> None:
    # Puck's bounds against a scan of each stretch
    g = np.random.default_rng(12)
    sizes = np.array([0, 60, 60, 30, 30, 30])[:, None]
    called, failing = 0, 0
    for scale in (0.3, 0.5, 0.8):
        start, end = scale * sizes * g.normal(size=(2, 6, 400))
        free = safe(start, end, PUCK_STRENGTH)
        scan: Array = start[:, None] + np.linspace(0, 1, 81)[:, None] * (end - start)[:, None]
        worst = fracture_plane(scan, PUCK_STRENGTH)[0].max(axis=0)
        assert (worst[free] < 1).all()
        called += int(free.sum())
        failing += int((worst >= 1).sum())
        # a convex body is known to the last bound
        np.testing.assert_array_equal(free[worst < 1 - 1e-9], True)
    assert called > 200
    assert failing > 200


def test_cheapest_bound_is_met_in_shear_along_the_fibre_and_never_too_low() -> None:
    # of all stresses the bound is exact there, so that a lower one would show
    for place in (4, 5):
        start, end = np.zeros((6, 2)), np.zeros((6, 2))
        end[place] = 79 * (1 - 1e-9), 79 * (1 + 1e-9)
        assert safe(start, end, PUCK_STRENGTH).tolist() == [True, False]
