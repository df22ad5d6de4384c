"""What a form of joint lists, and small helpers that the forms share."""

from __future__ import annotations

from dataclasses import dataclass

from geometry.section import TOLERANCE, BondLine, Outline, Point


@dataclass(frozen=True)
class Parts:
    """What a form lists before the head is put on."""

    outlines: tuple[Outline, ...]
    bonds: tuple[BondLine, ...]
    ring_inner: float
    ring_outer: float
    ring_end: float  # z of the ring's end face


def given(value: float | None) -> float:
    """Take a number that the reading of the case has made sure of."""
    assert value is not None
    return value


def in_mm(value: float) -> str:
    """Write a length for a message."""
    return f"{value:.6g} mm"


def apart(values: set[float]) -> list[float]:
    """Sort values and drop those that repeat an earlier one."""
    ordered = sorted(values)
    return [v for i, v in enumerate(ordered) if i == 0 or v - ordered[i - 1] > TOLERANCE]


def between(start: Point, stop: Point, share: float) -> Point:
    """Interpolate between two points."""
    return start[0] + share * (stop[0] - start[0]), start[1] + share * (stop[1] - start[1])
