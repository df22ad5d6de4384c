"""Buckling of a plain tube between stiff ends, as a solid.

Problem
    What the shell formulas (`solve.shell_buckling`) stand for, without their assumptions: a
    layered tube under sea pressure on its side and its ends, whose end faces are kept round and
    are free to tilt and to move along.
Formulation
    Half the tube on the axisymmetric elements that solve joints, the end's share of the pressure
    even over its face, and the second variation of `solve.buckling`.
Units
    mm, MPa.
"""

from __future__ import annotations

from collections.abc import Sequence

from solve.buckling import Mode, scan, second_variation
from solve.exact_tube import TubeLayer
from solve.solid_tubes import long_tube


def tube_buckling(wall: Sequence[TubeLayer], length: float, *, elements: float = 0.25) -> Mode:
    """Find the least pressure at which a tube buckles.

    Parameters
    ----------
    wall : sequence of TubeLayer
        Bore outwards.
    length : float
        Between the ends, mm.
    elements : float
        Wall thickness over element length; each layer has one through it. Modes are smooth:
        elements four times as long as the wall is thick are good for 0.01 %.

    Returns
    -------
    Mode
        Perfect in shape, without knock-down.

    Raises
    ------
    SolveError
        As `solve.buckling.scan`.
    """
    solid = long_tube(wall, length / 2, elements=elements)
    return scan(second_variation(solid, kept_round=["closure"])).critical
