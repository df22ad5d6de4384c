"""What every multiplier must do, over random strengths and paths."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings

from post.criteria.multiplier import Array
from tests.post.criteria.paths import CASES, Case, draw_paths, seeds

every_criterion = pytest.mark.parametrize("case", CASES.values(), ids=CASES.keys())
COUNT = 40


@every_criterion
@settings(max_examples=25, deadline=None)
@given(seed=seeds)
def test_load_at_the_multiplier_has_index_one(case: Case, seed: int) -> None:
    # the definition of the multiplier; 1e-9 is what the root may lose to rounding
    thermal, unit, strength = draw_paths(case, seed, COUNT)
    factors = case.criterion.multipliers(thermal, unit, strength)
    assert not np.isnan(factors).any()
    assert (factors >= 0).all()

    def at(mode: int, factor: Array) -> Array:
        load = thermal + np.where(reached, factor, 0.0) * unit
        index: Array = case.criterion.indices(load, strength)[mode]
        return index

    for mode, factor in enumerate(factors):
        reached = np.isfinite(factor) & (factor > 0)
        # stresses that cancel leave the digits of the load against those of the strength
        size = np.abs(thermal + np.where(reached, factor, 0.0) * unit).max(axis=0)
        close, near = 1e-9 * np.maximum(1, size / 1e4), 1e-12 * np.maximum(1, size / 1e2)
        before, here, after = (at(mode, factor * share) for share in (1 - near, 1, 1 + near))
        assert (before < 1 + close)[reached].all()
        assert (after > 1 - close)[reached].all()
        if case.criterion.name in ("Hashin", "kinking"):
            # Hashin's index jumps where a sign switches a mode on, and that of kinking all but
            # jumps where compression sets in under shear far beyond any strength: there the load
            # is met to rounding, and the index is what it is
            reached &= ~(after > before + 1e-9)
        assert (np.abs(here - 1) <= close)[reached].all()


@every_criterion
def test_most_drawn_paths_cross_without_a_jump(case: Case) -> None:
    # else the property above would say little
    thermal, unit, strength = draw_paths(case, 1, 400)
    factor = case.criterion.multipliers(thermal, unit, strength).min(axis=0)
    reached = (factor > 0) & np.isfinite(factor)
    load = thermal[:, reached] + factor[reached] * unit[:, reached]
    index = case.criterion.indices(load, strength).max(axis=0)
    assert (np.abs(index - 1) < 1e-9).sum() > 200


@every_criterion
@settings(max_examples=12, deadline=None)
@given(seed=seeds)
def test_nothing_fails_before_the_multiplier(case: Case, seed: int) -> None:
    # a fine scan of the whole path up to the multiplier, or far out where there is none
    thermal, unit, strength = draw_paths(case, seed, COUNT)
    factors = case.criterion.multipliers(thermal, unit, strength)
    far = 1e5 / np.maximum(np.abs(unit).max(axis=0), 1e-12)
    for mode, factor in enumerate(factors):
        end = np.where(np.isfinite(factor), factor, far)
        shares = np.concatenate([np.linspace(0, 1, 301), np.geomspace(1e-6, 1, 120)]) * (1 - 1e-9)
        scan = thermal[:, None] + shares[:, None] * end * unit[:, None]
        indices = case.criterion.indices(scan, strength)[mode]
        assert (indices[:, factor > 0] < 1 + 1e-10).all()


@every_criterion
@settings(max_examples=10, deadline=None)
@given(seed=seeds)
def test_thermal_failure_is_reported_as_zero(case: Case, seed: int) -> None:
    thermal, unit, strength = draw_paths(case, seed, COUNT)
    thermal *= 3
    before = case.criterion.indices(thermal, strength).max(axis=0)
    factor = case.criterion.multipliers(thermal, unit, strength).min(axis=0)
    # an index within rounding of 1 may fall on either side
    np.testing.assert_array_equal((factor == 0)[before >= 1 + 1e-12], True)
    np.testing.assert_array_equal((factor > 0)[before < 1 - 1e-12], True)


@every_criterion
def test_scaling_the_unit_part_scales_the_multiplier(case: Case) -> None:
    # x unit = (x / k)(k unit)
    thermal, unit, strength = draw_paths(case, 7, 200)
    once = case.criterion.multipliers(thermal, unit, strength)
    for k in (1e-30, 1e-3, 1e30):
        scaled = case.criterion.multipliers(thermal, k * unit, strength)
        np.testing.assert_allclose(k * scaled, once, rtol=1e-8)


@every_criterion
@pytest.mark.filterwarnings("error")
def test_zeros_and_huge_stresses_give_numbers(case: Case) -> None:
    strength = case.strength(np.random.default_rng(3))
    n = len(case.sizes)
    values = [0.0, -0.0, 1e-308, -1e-308, 1e-5, -1e-5, 1e9, -1e9, 1e155, -1e155, 1e308, -1e308]
    g = np.random.default_rng(5)
    thermal = np.concatenate([np.zeros((n, 1)), g.choice(values, (n, 400))], axis=1)
    unit = np.concatenate([np.zeros((n, 1)), g.choice(values, (n, 400))], axis=1)
    factors = case.criterion.multipliers(thermal, unit, strength)
    assert not np.isnan(factors).any()
    assert (factors >= 0).all()
    assert np.isinf(factors[:, 0]).all()
    assert not np.isnan(case.criterion.indices(thermal, strength)).any()


@every_criterion
def test_not_a_number_is_refused(case: Case) -> None:
    strength = case.strength(np.random.default_rng(3))
    good = np.ones((len(case.sizes), 2))
    bad = good.copy()
    bad[1, 1] = np.nan
    for call in (
        lambda: case.criterion.indices(bad, strength),
        lambda: case.criterion.multipliers(bad, good, strength),
        lambda: case.criterion.multipliers(good, bad, strength),
    ):
        with pytest.raises(ValueError, match="not a number"):
            call()


@every_criterion
def test_trailing_axes_and_single_states_agree(case: Case) -> None:
    thermal, unit, strength = draw_paths(case, 11, 24)
    n = len(case.sizes)
    flat = case.criterion.multipliers(thermal, unit, strength)
    deep = case.criterion.multipliers(
        thermal.reshape(n, 2, 3, 4), unit.reshape(n, 2, 3, 4), strength
    )
    np.testing.assert_array_equal(deep.reshape(flat.shape), flat)
    single = [case.criterion.multipliers(thermal[:, i], unit[:, i], strength) for i in range(24)]
    np.testing.assert_allclose(np.stack(single, axis=-1), flat, rtol=1e-12)
    indices = case.criterion.indices(thermal, strength)
    alone = [case.criterion.indices(thermal[:, i], strength) for i in range(24)]
    np.testing.assert_allclose(np.stack(alone, axis=-1), indices, rtol=1e-12, atol=1e-15)


@pytest.mark.parametrize(
    "case", [c for c in CASES.values() if c.convex], ids=[k for k, c in CASES.items() if c.convex]
)
@settings(max_examples=60, deadline=None)
@given(seed=seeds)
def test_bodies_said_to_be_convex_are(case: Case, seed: int) -> None:
    # between two states on the surface nothing may lie outside it
    g = np.random.default_rng(seed)
    strength = case.strength(g)
    sizes = np.array(case.sizes)[:, None]
    first = sizes * g.normal(size=(len(sizes), 100))
    second = first * 10 ** g.uniform(-1, 0) * g.choice([-1, 1]) + sizes * g.normal(
        size=first.shape
    ) * 10 ** g.uniform(-1.5, 0.5)

    def surface(s: Array) -> tuple[Array, Array]:
        factor = case.criterion.multipliers(np.zeros_like(s), s, strength).min(axis=0)
        return s * np.where(np.isfinite(factor), factor, 0), np.isfinite(factor)

    (a, has_a), (b, has_b) = surface(first), surface(second)
    between = a + g.random(100) * (b - a)
    index = case.criterion.indices(between, strength).max(axis=0)
    assert (index[has_a & has_b] < 1 + 1e-9).all()
