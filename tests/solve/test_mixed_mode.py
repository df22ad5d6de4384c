"""Toughness under opening and shearing at once."""

from __future__ import annotations

import numpy as np
import pytest

from solve.check import Check
from solve.mixed_mode import mixed_toughness
from solve.mixed_mode_checks import mixed_mode_checks


@pytest.mark.parametrize("check", mixed_mode_checks(), ids=lambda check: check.claim)
def test_mixed_mode_limit_meets_its_published_numbers(check: Check) -> None:
    # Source: named in the row.
    assert check.passes


def test_ends_are_the_toughnesses_of_one_mode() -> None:
    # Benzeggagh & Kenane 1996: Gc = GIc without shear, GIIc with shear alone.
    assert mixed_toughness(0.9, 3.5, 2.0, [0.0, 1.0]).tolist() == [0.9, 3.5]


def test_share_outside_nought_and_one_is_refused() -> None:
    for share in (-0.01, 1.01):
        with pytest.raises(ValueError, match="between 0 and 1"):
            mixed_toughness(0.9, 3.5, 2.0, np.array([0.5, share]))
