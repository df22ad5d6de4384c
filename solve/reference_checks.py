"""The closed-form part of the verification table.

Every row compares a number of the literature with what this project computes without finite
elements. The tests run over the same table, so that each number stands once. A published number
may differ from ours by half a unit of its last printed digit and no more; the four rows that allow
a whole one say why.
"""

from __future__ import annotations

from solve.check import Check
from solve.joint_checks import joint_checks
from solve.laminate_checks import laminate_checks
from solve.micromechanics_checks import micromechanics_checks
from solve.shell_buckling_checks import shell_buckling_checks
from solve.tube_checks import tube_checks

__all__ = ["Check", "closed_form_checks"]


def closed_form_checks() -> list[Check]:
    """Thick walls, laminates, voids and particles, shell junctions, bonded laps, buckling."""
    return [
        *tube_checks(),
        *laminate_checks(),
        *micromechanics_checks(),
        *joint_checks(),
        *shell_buckling_checks(),
    ]
