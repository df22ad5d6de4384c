"""Every finite element row of the verification table."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from solve.check import Check
from solve.solid_checks import GROUPS


@pytest.mark.parametrize("group", GROUPS, ids=lambda group: group.__name__)
def test_published_numbers_are_met(group: Callable[[], list[Check]]) -> None:
    # Source: named in each row.
    checks = group()
    failed = [
        f"{c.claim}: {c.published} {c.unit}, ours {c.ours}, off by {c.difference}, "
        f"allowed {c.allowed} ({c.source})"
        for c in checks
        if not c.passes
    ]
    assert checks
    assert not failed, "\n".join(failed)
