"""The finite element part of the verification table.

Every row compares a number of the literature with what section, mesh, elements and stress
recovery of a joint make of the same problem.
"""

from __future__ import annotations

from solve.check import Check
from solve.solid_lap_checks import (
    corner_checks,
    sheets_bending_checks,
    sheets_guided_checks,
    tubes_pulled_checks,
    tubes_twisted_checks,
)
from solve.solid_rates import rate_checks
from solve.solid_tube_checks import (
    bonded_tube_checks,
    cross_ply_checks,
    long_tube_checks,
    slice_checks,
)
from solve.solid_wall_checks import (
    cylinder_checks,
    dome_checks,
    heating_checks,
    orthotropic_checks,
    sphere_checks,
)

GROUPS = (
    cylinder_checks,
    sphere_checks,
    orthotropic_checks,
    slice_checks,
    cross_ply_checks,
    long_tube_checks,
    bonded_tube_checks,
    dome_checks,
    heating_checks,
    tubes_pulled_checks,
    tubes_twisted_checks,
    sheets_guided_checks,
    sheets_bending_checks,
    corner_checks,
    rate_checks,
)


def finite_element_checks() -> list[Check]:
    """Walls, layered tubes, dome, bonded laps and the order of convergence, in that order."""
    return [check for group in GROUPS for check in group()]
