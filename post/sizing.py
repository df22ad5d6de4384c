"""The least wall of every material, and how much buoyancy it leaves.

Problem
    Given bore, length, depth and the required ratio: how thick must a wall of each material be,
    and what is then left of the water it displaces?
Formulation
    The wall is a plain tube between stiff ends (`post.plain_wall`). It holds when, at the pressure
    of required_ratio times the duty depth,

    - no criterion of the ladder is reached, with the ladder's strengths and knock-downs;
    - it does not buckle: shell formula times `KNOCK_DOWN`, and then the solid tube
      (`solve.tube_buckling`) times the same; where the solid is lower, the wall is sized anew with
      the formula brought down to it, until both hold;
    - where the case states an out-of-roundness, it does not collapse.

    The least wall is the thinnest in whole repeat units of the case's ply, or in steps of `STEP`.
    Per metre, with water of density w at duty depth: weight = wall area times density, displaced
    = w pi b^2, net buoyancy = displaced less weight. Ring, head and bonds count for nothing here.
Strength over net weight
    Mean hoop stress p b / t at which the wall's strength is reached, over density less w.
Units
    mm, MPa; density tonne/mm^3; per metre kg; strength over net weight kN m/kg.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass

import pandas as pd

from geometry.case import Block, Case, ResolvePlies
from geometry.materials import Card, library
from geometry.seawater import density_at, depth_at, duty_pressure, pressure_at
from post.layups import AS_IN_CASE, NAMED_LAYUPS
from post.plain_wall import Limit, collapse, shell_buckling, tube_layers, wall_strength
from post.strengths import strengths
from solve.shell_buckling import KNOCK_DOWN, Buckle, cautions
from solve.tube_buckling import tube_buckling

STEP = 0.1  # mm, of a wall that is no stack of plies
OTHER_PLY, OTHER_LAYUP = "glass-epoxy-b", "hoop-biased"  # a second composite, for comparison
DEFAULT_PLY, DEFAULT_THICKNESS = "carbon-epoxy-hs", 0.19  # of a case whose wall has no plies
ROUNDS = 6  # of sizing anew
TOGETHER = 1.5  # of strength: an elastic buckling pressure below it does not stand by itself
THIN = 1.0  # mm
STRENGTH, BUCKLING, COLLAPSE = "strength", "buckling", "collapse out of round"

Solid = Callable[[Case], Buckle]
"""Critical pressure of a case's plain wall as a solid, perfect in shape."""


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


def options(case: Case) -> tuple[Option, ...]:
    """List what the wall of a case could be made of: layups, then metals and plastics.

    Layups are those of the layup comparison, of the case's first ply at its own thickness; the
    case's own repeat unit comes first where its wall is one block of another unit.
    """
    first = case.wall.layup[0]
    known = {**library(), **case.materials}
    ply, thickness = known[first.ply], first.thickness
    if ply.kind != "ply":
        ply, thickness = known[DEFAULT_PLY], DEFAULT_THICKNESS
    layups = dict(NAMED_LAYUPS)
    if ply.name == first.ply and len(case.wall.layup) == 1:
        own = sorted(a % 180 for a in first.angles)
        if all(_shares(own) != _shares(angles) for angles in layups.values()):
            layups = {AS_IN_CASE: first.angles, **layups}
    found = [Option(f"{ply.name}, {n}", ply, angles, thickness) for n, angles in layups.items()]
    if ply.name != OTHER_PLY and OTHER_PLY in known:
        name = f"{OTHER_PLY}, {OTHER_LAYUP}"
        angles = NAMED_LAYUPS[OTHER_LAYUP]
        found.append(Option(name, known[OTHER_PLY], angles, DEFAULT_THICKNESS))
    for kind in ("metal", "plastic"):
        found += [Option(n, card, (0.0,), STEP) for n, card in known.items() if card.kind == kind]
    return tuple(found)


def _shares(angles: list[float] | tuple[float, ...]) -> dict[float, float]:
    """Share of the plies at each angle."""
    turned = [a % 180 for a in angles]
    return {a: turned.count(a) / len(turned) for a in turned}


def with_wall(case: Case, option: Option, steps: int) -> Case:
    """Give a case a wall of so many steps of an option.

    Knock-downs, waviness and voids of the case's wall speak of plies, and stay with them.
    """
    if option.card.kind == "ply":
        blocks = Block(
            ply=option.card.name, thickness=option.step, angles=option.angles, repeats=steps
        )
    else:
        thickness = round(steps * option.step, 9)
        blocks = Block(ply=option.card.name, thickness=thickness, angles=option.angles)
    new = {"layup": (blocks,), "resolve_plies": ResolvePlies(), "edge_chamfer": 0.0}
    update = {
        "wall": case.wall.model_copy(update=new),
        "materials": {**case.materials, option.card.name: option.card},
    }
    same = option.card.name in {block.ply for block in case.wall.layup}
    if option.card.kind != "ply" and not same:
        update["knock_downs"] = tuple(one for one in case.knock_downs if one.on != "wall")
    return case.model_copy(update=update)


def required_pressure(case: Case) -> float:
    """Pressure at the required ratio times the duty depth, MPa."""
    duty = case.duty
    depth = duty.depth
    if depth is None:
        depth = depth_at(duty_pressure(case), duty.latitude)
    return pressure_at(duty.required_ratio * depth, duty.latitude)


def solid_buckling(case: Case) -> Buckle:
    """Buckle a case's plain wall as a solid."""
    mode = tube_buckling(tube_layers(case), 2 * case.wall.half_length)
    return Buckle(mode.pressure, 1, mode.waves)


def size_walls(case: Case, solid: Solid = solid_buckling) -> tuple[Sized | NotSized, ...]:
    """Size the wall of every option.

    Parameters
    ----------
    case : Case
    solid : callable
        The solid's critical pressure of a case's plain wall.

    Returns
    -------
    tuple of Sized or NotSized
        In the order of `options`.

    Raises
    ------
    SolveError
        As `solve.tube_buckling`.
    """
    return tuple(size_wall(case, option, solid) for option in options(case))


def size_wall(case: Case, option: Option, solid: Solid = solid_buckling) -> Sized | NotSized:
    """Find the least wall of an option that holds; parameters as of `size_walls`."""
    required = required_pressure(case)
    most = int(case.wall.bore_radius / option.unit)
    if most < 1:
        return NotSized(option, "one unit of plies is thicker than the bore's radius")
    used = strengths(with_wall(case, option, 1))

    def strong(steps: int) -> bool:
        laid = with_wall(case, option, steps)
        if not wall_strength(laid, used).pressure >= required:
            return False
        return laid.wall.out_of_roundness is None or collapse(laid, used).pressure >= required

    limit = wall_strength(with_wall(case, option, most), used)
    if math.isnan(limit.pressure):
        return NotSized(option, limit.mode)
    if not strong(most):
        return NotSized(option, "no wall up to the bore's radius is strong enough")
    steps = _least(strong, 1, most)
    lowered = 1.0
    for _ in range(ROUNDS):

        def stiff(steps: int, share: float = lowered) -> bool:
            shell = shell_buckling(with_wall(case, option, steps))
            return share * KNOCK_DOWN * shell.pressure >= required

        if not stiff(most):
            return NotSized(option, "no wall up to the bore's radius is stiff enough")
        steps = max(steps, _least(stiff, steps, most))
        laid = with_wall(case, option, steps)
        shell, whole = shell_buckling(laid), solid(laid)
        if KNOCK_DOWN * whole.pressure >= required:
            break
        lowered = min(lowered * (1 - 1e-4), whole.pressure / shell.pressure)
    else:
        return NotSized(option, "shell formula and solid did not come together")
    round_off = laid.wall.out_of_roundness
    return Sized(
        option,
        laid,
        required,
        wall_strength(laid, used),
        shell,
        whole,
        None if round_off is None else collapse(laid, used),
        density_at(duty_pressure(case)),
    )


def as_built(case: Case, solid: Solid = solid_buckling) -> Sized:
    """Put the case's own wall beside the sized ones, whether it holds or not."""
    card = case.materials[case.wall.layup[0].ply]
    used = strengths(case)
    return Sized(
        Option("the case's own wall", card, case.wall.layup[0].angles, STEP),
        case,
        required_pressure(case),
        wall_strength(case, used),
        shell_buckling(case),
        solid(case),
        None if case.wall.out_of_roundness is None else collapse(case, used),
        density_at(duty_pressure(case)),
    )


def _least(holds: Callable[[int], bool], low: int, high: int) -> int:
    """Give the least number from low to high that holds; high does, and so does all above one."""
    while low < high:
        middle = (low + high) // 2
        low, high = (low, middle) if holds(middle) else (middle + 1, high)
    return high


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


def sized_only(found: tuple[Sized | NotSized, ...]) -> tuple[Sized, ...]:
    """Those that hold, most net buoyancy first; those of unknown weight last."""
    held = [one for one in found if isinstance(one, Sized)]
    return tuple(sorted(held, key=lambda one: (math.isnan(one.net), -one.net)))


def sizing_table(found: tuple[Sized | NotSized, ...]) -> pd.DataFrame:
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
