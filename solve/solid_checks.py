"""The finite element part of the verification table.

Every row compares a number of the literature with what section, mesh, elements and stress
recovery of a joint make of the same problem.
"""

from __future__ import annotations

from solve.check import Check
from solve.solid_lap_checks import solid_lap_checks
from solve.solid_rates import rate_checks
from solve.solid_tube_checks import solid_tube_checks
from solve.solid_wall_checks import solid_wall_checks


def finite_element_checks() -> list[Check]:
    """Walls, layered tubes, bonded laps and the order of convergence, in that order."""
    return [*solid_wall_checks(), *solid_tube_checks(), *solid_lap_checks(), *rate_checks()]
