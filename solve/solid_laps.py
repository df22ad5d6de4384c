"""Tubular laps by finite elements.

Problem
    An inner tube from z = 0, an outer tube over it, a bond between them along the overlap; the
    outer tube is loaded at its far end, the inner one is held at z = 0. Both go on far enough
    beyond the overlap to look endless.
Formulation
    Read on the bond's mid-thickness line, where stress is bounded. A lap of very large radius is
    a lap of flat sheets in plane strain.
Symbols
    x from the end of the overlap at which the inner tube is loaded, mm.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import ArrayLike, NDArray

from geometry.mesh import DEFAULT_GRADING
from geometry.section import BondLine, Section
from geometry.sizes import Grading
from solve.elasticity import edge_traction
from solve.laminate import Material
from solve.solid import Held, Solid, build, make_section, rectangle, solve_solid, torque_load

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Lap:
    """A tubular lap.

    Attributes
    ----------
    bore : float
        Inner radius of the inner tube, mm.
    tube, gap : float
        Thickness of each tube and of the bond, mm.
    overlap, beyond : float
        Length of the overlap, and of each tube beyond it, mm.
    adherend, bond : Material
    guided : bool
        Keep bore and outside at their radius, so that the tubes cannot bend: one lap out of a
        stack of many in which each tube is half shared with the next lap.
    """

    bore: float
    tube: float
    gap: float
    overlap: float
    beyond: float
    adherend: Material
    bond: Material
    guided: bool = False

    @property
    def middle(self) -> float:
        """Radius of the bond's mid-thickness line, mm."""
        return self.bore + self.tube + self.gap / 2

    @property
    def outer_tube(self) -> tuple[float, float]:
        """Radii of the outer tube, mm."""
        inner = self.bore + self.tube + self.gap
        return inner, inner + self.tube

    @property
    def section(self) -> Section:
        """Its section; z = 0 where the inner tube is held."""
        start, stop = self.beyond, self.beyond + self.overlap
        top = stop + self.beyond
        inner = (self.bore, self.bore + self.tube)
        gap = (inner[1], self.outer_tube[0])
        line = BondLine(
            "outer", (self.middle, start), (0.0, 1.0), (1.0, 0.0), self.overlap, self.gap
        )
        return make_section(
            [
                rectangle("inner", inner, (0.0, start)),
                rectangle("inner", inner, (start, stop)),
                rectangle(line.region, gap, (start, stop)),
                rectangle("outer", self.outer_tube, (start, stop)),
                rectangle("outer", self.outer_tube, (stop, top)),
            ],
            {"inner": "wall", line.region: "adhesive", "outer": "ring"},
            thickness=self.tube,
            closure_z=top,
            bonds=[line],
        )

    def solve(self, *, twist: bool, grading: Grading = DEFAULT_GRADING) -> SolvedLap:
        """Solve for ``force`` (1 N), ``moment`` (1 N mm / mm) and, with twist, ``torque`` (1 N mm).

        ``moment`` bends the end of the outer tube inwards: it is pulled at its outer surface.
        """
        materials = {"inner": self.adherend, "bond-outer": self.bond, "outer": self.adherend}
        system = build(self.section, materials, grading=grading, twist=twist)
        a, b = self.outer_tube
        area = np.pi * (b**2 - a**2)

        def bend(x: Floats, normal: Floats) -> Floats:
            return np.asarray(12 * (x[0] - (a + b) / 2) / (b - a) ** 3 * normal)

        loads = {
            "force": edge_traction(system, "closure", lambda x, normal: normal / area),
            "moment": edge_traction(system, "closure", bend),
        }
        if twist:
            loads["torque"] = torque_load(system, "closure")
        held = [Held("wet", "r"), Held("dry", "r")] if self.guided else []
        return SolvedLap(self, solve_solid(system, materials, loads, held))


@dataclass(frozen=True)
class SolvedLap:
    """Unit solutions of a lap."""

    lap: Lap
    solid: Solid

    @cached_property
    def fine(self) -> Floats:
        """Places along the overlap, dense at its ends, (n,) mm."""
        near = np.geomspace(0.01 * self.lap.gap, self.lap.overlap / 2, 400)
        return np.unique(np.concatenate([near, self.lap.overlap - near]))

    def stress(self, weights: Mapping[str, float], x: ArrayLike) -> Floats:
        """Stress (6, n) at places x (n,) on the mid-thickness line, MPa."""
        x = np.atleast_1d(np.asarray(x, float))
        points = np.stack([np.full_like(x, self.lap.middle), self.lap.beyond + x])
        return self.solid.stress(weights, points, "bond-outer")

    def peaks(self, weights: Mapping[str, float], component: int) -> tuple[float, float]:
        """Largest stress component towards either end of the mid-thickness line, MPa."""
        values = self.stress(weights, self.fine)[component]
        half = self.fine < self.lap.overlap / 2
        return float(values[half].max()), float(values[~half].max())
