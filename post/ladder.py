"""The depth ladder: each failure mode at the depth where it is first reached.

A rung is one mode in one part of the joint. Its pressure is the least multiplier of the criterion
over all places judged, on the path stress(p) = temperature part + p * unit pressure; its depth
follows from the sea's own relation of depth and pressure, so it is not linear in the load.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

DEEPEST = 11_000.0  # m: no sea is deeper; a mode not reached by then is not reached


@dataclass(frozen=True)
class Rung:
    """One failure mode on the ladder.

    Attributes
    ----------
    mode : str
        In words, for instance ``peel and shear`` or ``between the fibres``.
    part : str
        Where: ``inner bond``, ``wall``, ``ring``, ``head``.
    pressure : float
        MPa at which it is first reached; 0 where cooling alone does it, infinite where never.
    error : float
        Numerical error of the pressure, MPa.
    depth : float
        m; infinite beyond the deepest sea.
    ratio : float
        Depth over duty depth.
    ratio_error : float
        Numerical error of the ratio.
    r, z : float
        Place, mm (NaN for a mode of a whole part).
    layer : str
        Layer of the wall, or empty.
    angle : float
        Angle of the ply, degrees (NaN where there is none).
    strength : str
        The strengths it stands on, in words with their values.
    source : str
        Source of the criterion.
    verdict : str
        ``holds``, ``short`` or ``not judged``.
    why : str
        One sentence behind the verdict.
    runner_up : str
        The next place or mode in line within this rung, in words; may be empty.
    """

    mode: str
    part: str
    pressure: float
    error: float
    depth: float
    ratio: float
    ratio_error: float
    r: float
    z: float
    layer: str
    angle: float
    strength: str
    source: str
    verdict: str
    why: str
    runner_up: str = ""

    @property
    def reached(self) -> bool:
        """Whether any sea is deep enough to reach it."""
        return math.isfinite(self.depth)
