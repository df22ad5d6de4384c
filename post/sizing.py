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
Units
    mm, MPa.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

from geometry.case import Block, Case, ResolvePlies
from geometry.materials import library
from geometry.seawater import density_at, duty_pressure
from post.flaw_life import required_pressure
from post.layups import AS_IN_CASE, NAMED_LAYUPS
from post.plain_wall import collapse, shell_buckling, tube_layers, wall_strength
from post.sized import NotSized, Option, Sized
from post.strengths import strengths
from solve.shell_buckling import KNOCK_DOWN, Buckle
from solve.tube_buckling import tube_buckling

STEP = 0.1  # mm, of a wall that is no stack of plies
OTHER_PLY, OTHER_LAYUP = "glass-epoxy-b", "hoop-biased"  # a second composite, for comparison
DEFAULT_PLY, DEFAULT_THICKNESS = "carbon-epoxy-hs", 0.19  # of a case whose wall has no plies
ROUNDS = 6  # of sizing anew

Solid = Callable[[Case], Buckle]
"""Critical pressure of a case's plain wall as a solid, perfect in shape."""


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


def _shares(angles: Sequence[float]) -> dict[float, float]:
    """Share of the plies at each angle."""
    turned = [a % 180 for a in angles]
    return {a: turned.count(a) / len(turned) for a in turned}


def with_wall(case: Case, option: Option, steps: int) -> Case:
    """Give a case a wall of so many steps of an option.

    What the case says of its wall's making (knock-downs, voids, waviness) stays with plies, and
    with the case's own material; another metal or plastic is taken as its card has it.
    """
    card = option.card
    if card.kind == "ply":
        block = Block(ply=card.name, thickness=option.step, angles=option.angles, repeats=steps)
    else:
        thickness = round(steps * option.step, 9)
        block = Block(ply=card.name, thickness=thickness, angles=option.angles)
    wall = {"layup": (block,), "resolve_plies": ResolvePlies(), "edge_chamfer": 0.0}
    knock_downs = case.knock_downs
    if card.kind != "ply" and card.name not in {b.ply for b in case.wall.layup}:
        wall |= {"voids": None, "waviness": None}
        knock_downs = tuple(one for one in knock_downs if one.on != "wall")
    return case.model_copy(
        update={
            "wall": case.wall.model_copy(update=wall),
            "materials": {**case.materials, card.name: card},
            "knock_downs": knock_downs,
        }
    )


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
