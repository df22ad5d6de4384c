"""Every row of the closed-form verification table, and the table's own arithmetic."""

from __future__ import annotations

import pytest

from solve.check import Check, Reference
from solve.reference_checks import closed_form_checks

CHECKS = closed_form_checks()


@pytest.mark.parametrize("check", CHECKS, ids=lambda check: f"{check.topic}: {check.claim}")
def test_published_number_is_met(check: Check) -> None:
    # Source: named in the row.
    assert check.passes, (
        f"{check.source}: {check.published} {check.unit}, ours {check.ours}, "
        f"allowed {check.allowed}"
    )


def test_rows_are_told_apart() -> None:
    assert len({(c.topic, c.claim, c.source, c.status) for c in CHECKS}) == len(CHECKS)


def test_status_is_one_of_three() -> None:
    assert {c.status for c in CHECKS} <= {"published", "recomputed", "value from memory"}


@pytest.mark.parametrize(
    ("printed", "inside", "outside"),
    [
        ("25.86", 25.8649, 25.8651),
        ("-.01199", -0.0119949, -0.0119951),
        ("1.739e9", 1.7394e9, 1.7396e9),
    ],
)
def test_half_a_unit_of_the_last_digit_is_allowed(
    printed: str, inside: float, outside: float
) -> None:
    reference = Reference("topic", "source", "published")
    assert reference.check("claim", "1", printed, inside).passes
    assert not reference.check("claim", "1", printed, outside).passes


def test_relative_difference_is_a_fraction_of_the_published_number() -> None:
    check = Check("topic", "claim", "source", "published", "MPa", -200.0, -201.0, 0.005, True)
    assert check.difference == pytest.approx(-0.005)
    assert check.passes
    assert not Check(
        "topic", "claim", "source", "published", "MPa", 200.0, 201.1, 0.005, True
    ).passes


def test_not_a_number_never_passes() -> None:
    assert not Reference("t", "s", "published").check("claim", "1", "1.0", float("nan")).passes
