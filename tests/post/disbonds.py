"""Disbonds with a known energy release rate, for tests of what is told of them."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from geometry.case import Case
from geometry.seawater import duty_pressure
from post.flaw_life import life_pressures
from post.flaw_results import FlawMap, FlawResult, GrowthCurve, TipResult
from tests.joints import joint_case

THREE = (
    {"bond": "outer", "face": "wall", "start": "0 mm", "length": "8 mm", "note": "Found so."},
    {"bond": "inner", "face": "ring", "start": "10 mm", "length": "6 mm"},
    {"bond": "outer", "face": "middle", "start": "15 mm", "length": "4 mm"},
)
DUTY = {"duty__pressure": None, "duty__depth": "3000 m"}


def flawed_case(**changes: Any) -> Case:
    """Make a socket with three disbonds."""
    return joint_case("socket", flaws=list(THREE), **DUTY, **changes)


def tip(s: float, way: int, G: float, pressure: float, stable: bool | None) -> TipResult:
    return TipResult(s, 165.0, 190.0, way, G, 0.25 * G, 0.75 * G, 0.0, 1.2, 0.5, pressure, 0.1,
                     stable, "")  # fmt: skip


def results(case: Case) -> list[FlawResult]:
    """Make one disbond that runs away, one that nothing grows, and one that stops.

    Pressures of first growth are those at which `curves` reach the toughness.
    """
    first, second, third = case.flaws
    return [
        FlawResult(0, first, True, (tip(8, 1, 0.3, 60.93, False),), 0.0, 0.0, 0.02),
        FlawResult(
            1, second, False, (tip(10, -1, 0.02, math.inf, None), tip(16, 1, 0.01, math.inf, None)),
            1.0, 0.0, 0.0,
        ),
        FlawResult(
            2, third, False, (tip(15, -1, 0.696, 40.0, True), tip(19, 1, 0.1, 60.0, True)),
            0.4, 0.0, 0.003,
        ),
    ]  # fmt: skip


def curve(
    case: Case,
    result: FlawResult,
    at_duty: float,
    power: float,
    longest: float,
    at_surface: float = 0.0,
    limit: float = 1.2,
) -> GrowthCurve:
    """Energy release rate that goes as a power of the length and the square of the pressure."""
    pressures = np.array(life_pressures(case, result))
    lengths = np.geomspace(result.flaw.length, longest, 9)
    load = at_surface + (at_duty - at_surface) * (pressures / duty_pressure(case)) ** 2
    G = load[:, None] * (lengths / lengths[0]) ** power
    return GrowthCurve(lengths, pressures, G, np.full_like(G, limit))


def curves(case: Case) -> list[GrowthCurve]:
    made = results(case)
    return [
        curve(case, made[0], 0.3, 1.0, 24.0),
        curve(case, made[1], 0.02, 0.5, 20.0),
        curve(case, made[2], 0.696, -1.0, 14.0),
    ]


def maps(case: Case) -> list[FlawMap]:
    """Make maps of two bonds: shorter at the wall than at the ring, edges shorter than amid."""
    made = []
    for bond, length in (("inner", 30.0), ("outer", 25.0)):
        s = np.linspace(1.0, length - 1.0, 13)
        roof = 2 * np.minimum(s, length - s)
        for face, most in (("wall", 6.0), ("middle", 9.0), ("ring", 8.0)):
            longest = np.minimum(roof, most)
            by = tuple("end of the bond" if at else f"tip at s = {x:.1f} mm"
                       for at, x in zip(longest == roof, s, strict=True))  # fmt: skip
            made.append(FlawMap(bond, face, "buried", s, longest, by, 45.0))
            edge = (np.array([0.0]), np.array([most / 2]), (f"tip at s = {most / 2:.1f} mm",))
            made.append(FlawMap(bond, face, "edge", *edge, 45.0))
    return made
