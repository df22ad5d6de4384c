"""Every number of the verification page that the criteria stand for."""

from __future__ import annotations

import pytest

from post.criteria.checks import criteria_checks
from solve.check import Check


@pytest.mark.parametrize("check", criteria_checks(), ids=lambda c: f"{c.topic}: {c.claim}")
def test_matches_the_reference(check: Check) -> None:
    # source, status and tolerance stand in the check itself
    assert check.passes, f"{check.ours} is not {check.published}"
    assert check.allowed <= 1e-5
