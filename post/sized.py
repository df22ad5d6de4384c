"""A wall that was sized: its limits, what it weighs and what it leaves of the sea.

Formulation
    Per metre of hull, with water of density w at duty depth: weight = wall area times density,
    displaced = w pi b^2, net buoyancy = displaced less weight. Ring, head and bonds count for
    nothing here. Strength over net weight is the mean hoop stress p b / t at which the wall's
    strength is reached, over its density less w.
Units
    mm, MPa; density tonne/mm^3; per metre kg; strength over net weight kN m/kg.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import pandas as pd

from geometry.case import Case
from geometry.materials import Card
from geometry.seawater import density_at, duty_pressure
from post.plain_wall import Limit, tube_layers
from solve.shell_buckling import KNOCK_DOWN, Buckle, cautions

TOGETHER = 1.5  # of strength: an elastic buckling pressure below it does not stand by itself
THIN = 1.0  # mm
STRENGTH, BUCKLING, COLLAPSE = "strength", "buckling", "collapse out of round"


@dataclass(frozen=True)
class Option:
    """A material that the wall could be made of.

    Attributes
    ----------
    name : str
        In words.
    card : Card
    angles : tuple of float
        Repeat unit of a composite, degrees.
    step : float
        Thickness of one ply, or the step of what has none, mm.
    """

    name: str
    card: Card
    angles: tuple[float, ...]
    step: float

    @property
    def unit(self) -> float:
        """Least step of the wall's thickness, mm."""
        return self.step * len(self.angles)


@dataclass(frozen=True)
class Sized:
    """The least wall of a material.

    Attributes
    ----------
    option : Option
    case : Case
        With this wall.
    required : float
        Pressure that it has to hold, MPa.
    strength : Limit
    shell, solid : Buckle
        Critical pressures of the perfect wall, without knock-down.
    out_of_round : Limit or None
    water : float
        Density of the sea at duty depth, tonne/mm^3.
    """

    option: Option
    case: Case
    required: float
    strength: Limit
    shell: Buckle
    solid: Buckle
    out_of_round: Limit | None
    water: float

    @property
    def thickness(self) -> float:
        """Of the wall, mm."""
        return self.case.wall.thickness

    @property
    def limits(self) -> dict[str, float]:
        """Pressure at which each limit is reached, knock-downs included, MPa."""
        found = {
            STRENGTH: self.strength.pressure,
            BUCKLING: KNOCK_DOWN * min(self.shell.pressure, self.solid.pressure),
        }
        if self.out_of_round is not None:
            found[COLLAPSE] = self.out_of_round.pressure
        return found

    @property
    def governs(self) -> str:
        """The limit that is reached first."""
        limits = self.limits
        return min(limits, key=lambda name: limits[name])

    @property
    def shell_over_solid(self) -> float:
        """Shell formula over the solid's critical pressure."""
        return self.shell.pressure / self.solid.pressure

    @property
    def density(self) -> float:
        """Of the wall, tonne/mm^3; NaN where its card has none."""
        return wall_density(self.case)

    @property
    def weight(self) -> float:
        """Weight of the wall, kg per metre of hull."""
        outer, bore = self.case.wall.outer_radius, self.case.wall.bore_radius
        return 1e6 * self.density * math.pi * (outer**2 - bore**2)

    @property
    def displaced(self) -> float:
        """Water that a metre of hull displaces, kg."""
        return 1e6 * self.water * math.pi * self.case.wall.outer_radius**2

    @property
    def net(self) -> float:
        """Net buoyancy, kg per metre of hull."""
        return self.displaced - self.weight

    @property
    def weight_over_displacement(self) -> float:
        """Share of the displaced water that the wall weighs."""
        return self.weight / self.displaced

    @property
    def specific_strength(self) -> float:
        """Mean hoop stress at the wall's strength over net density in water, kN m/kg."""
        return specific_strength(self.case, self.strength.pressure)

    @property
    def pressure_per_net(self) -> float:
        """Least limit over net weight of the wall itself in water, MPa m/kg; infinite if it floats.

        What the wall weighs is its own material's weight less that of the water in its place.
        """
        share = self.weight * (1 - self.water / self.density)
        return min(self.limits.values()) / share if share > 0 else math.inf

    @property
    def cautions(self) -> tuple[str, ...]:
        """Why its numbers may be too high: of the shell formula, of elastic buckling, of creep."""
        found = cautions(tube_layers(self.case), self.shell)
        near = self.solid.pressure < TOGETHER * self.strength.pressure
        if self.option.card.kind != "ply" and near:
            found += ("yields near its elastic buckling pressure and so buckles below it",)
        if self.option.card.kind == "plastic":
            found += ("creeps: short-term values",)
        if self.thickness < THIN:
            found += (f"thinner than {THIN:g} mm: dents and handling decide",)
        return found


@dataclass(frozen=True)
class NotSized:
    """A material of which no wall holds, and why."""

    option: Option
    why: str


def wall_density(case: Case) -> float:
    """Density of a wall, its plies by their thickness, tonne/mm^3; NaN where a card has none."""
    total = 0.0
    for block in case.wall.layup:
        density = case.materials[block.ply].density
        if density is None:
            return math.nan
        total += density.value * block.thickness * len(block.angles) * block.repeats
    return total / case.wall.thickness


def specific_strength(case: Case, pressure: float) -> float:
    """Mean hoop stress of a wall under a pressure (MPa) over its net density, kN m/kg.

    Infinite for a wall that is lighter than the sea at duty depth.
    """
    heavier = wall_density(case) - density_at(duty_pressure(case))
    hoop = pressure * case.wall.outer_radius / case.wall.thickness
    return math.inf if heavier <= 0 else 1e-9 * hoop / heavier


def sized_only(found: Sequence[Sized | NotSized]) -> tuple[Sized, ...]:
    """Those that hold, most net buoyancy first; those of unknown weight last."""
    held = [one for one in found if isinstance(one, Sized)]
    return tuple(sorted(held, key=lambda one: (math.isnan(one.net), -one.net)))


def sizing_table(found: Sequence[Sized | NotSized]) -> pd.DataFrame:
    """One row per material; those without a wall have their reason alone."""
    return pd.DataFrame([dict(_row(one)) for one in found])


def _row(one: Sized | NotSized) -> Iterator[tuple[str, object]]:
    yield "material", one.option.name
    yield "card", one.option.card.name
    yield "kind", one.option.card.kind
    if isinstance(one, NotSized):
        yield "why", one.why
        return
    limits = one.limits
    yield "wall_mm", one.thickness
    yield "governs", one.governs
    yield "required_MPa", one.required
    yield "strength_MPa", one.strength.pressure
    yield "strength_mode", one.strength.mode
    yield "shell_formula_MPa", one.shell.pressure
    yield "shell_waves", one.shell.around
    yield "solid_MPa", one.solid.pressure
    yield "solid_waves", one.solid.around
    yield "shell_over_solid", one.shell_over_solid
    yield "knock_down", KNOCK_DOWN
    yield "buckling_MPa", limits[BUCKLING]
    yield "collapse_out_of_round_MPa", limits.get(COLLAPSE, math.nan)
    yield "density_kg_m3", 1e12 * one.density
    yield "water_kg_m3", 1e12 * one.water
    yield "weight_kg_m", one.weight
    yield "displaced_kg_m", one.displaced
    yield "weight_over_displacement", one.weight_over_displacement
    yield "net_buoyancy_kg_m", one.net
    yield "pressure_over_net_wall_weight_MPa_m_kg", one.pressure_per_net
    yield "strength_over_net_density_kNm_kg", one.specific_strength
    yield "cautions", "; ".join(one.cautions)
    yield "why", ""


def shown(value: float, digits: int = 3) -> str:
    """Write a number with its leading digits, a true minus, and words for what is none."""
    if math.isnan(value):
        return "not known"
    if math.isinf(value):
        return "floats"
    if value == 0:
        return "0"
    places = max(0, digits - 1 - math.floor(math.log10(abs(value))))
    return f"{value:,.{places}f}".replace("-", "\N{MINUS SIGN}")
