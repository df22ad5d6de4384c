"""Every finite element row of the verification table."""

from __future__ import annotations

import pytest

from solve.check import Check
from solve.solid_checks import finite_element_checks

CHECKS = finite_element_checks()


@pytest.mark.parametrize("check", CHECKS, ids=lambda check: f"{check.topic}: {check.claim}")
def test_published_number_is_met(check: Check) -> None:
    # Source: named in the row.
    assert check.passes, (
        f"{check.source}: {check.published} {check.unit}, ours {check.ours}, "
        f"off by {check.difference}, allowed {check.allowed}"
    )


def test_rows_are_told_apart() -> None:
    assert len({(c.topic, c.claim, c.source, c.status) for c in CHECKS}) == len(CHECKS)


def test_every_status_is_known() -> None:
    known = {"published", "recomputed", "value from memory", "common practice"}
    assert {c.status for c in CHECKS} <= known
