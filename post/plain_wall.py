"""The wall as a plain round tube between stiff ends: its strength, buckling and collapse.

Problem
    What a wall bears by itself, away from bonds and ring, quickly enough to size it.
Formulation
    - Strength: exact stresses of the layered tube with closed ends (`solve.exact_tube`) under unit
      pressure and unit temperature, in every ply; the criteria of the ladder ask for the least
      multiplier as they do of a joint.
    - Buckling: `solve.shell_buckling` between ends 2 half_length apart, the orthotropic scan or,
      for a wall of one isotropic material, the least of all formulas that apply.
    - Collapse: out of roundness w bends the tube around by M = p b w / (1 - p / p_c) (Timoshenko &
      Gere; b outer radius). Bending stresses of the flat laminate with M around, no curvature
      along and no force are added to the tube's, of either sign, and the first criterion reached
      counts. p_c is the shell formula's with its knock-down: it stands for what the formula
      overestimates, since the shape is in w. All resistance counts as bending: the safe side.
Units
    mm, MPa, K; stresses in ply axes [11, 22, 33, 23, 13, 12].
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from geometry.case import Case
from geometry.layup import Layer, lay_up
from post.criteria import HASHIN, KINKING, MAXIMUM_STRESS, PUCK, TSAI_WU, VON_MISES
from post.criteria.criterion import Criterion
from post.criteria.least import least_multiplier
from post.strengths import Strengths
from solve.as_made import wall_cards
from solve.exact_tube import TubeLayer, solve_tube
from solve.laminate import layer_material, ply_stresses
from solve.shell_buckling import (
    KNOCK_DOWN,
    Buckle,
    orthotropic_buckling,
    von_mises_buckling,
    wall_plate,
    windenburg_trilling,
)

Floats = NDArray[np.float64]

OF_PLIES: tuple[tuple[Criterion[Any], str], ...] = (
    (MAXIMUM_STRESS, "maximum stress"),
    (TSAI_WU, "Tsai-Wu"),
    (HASHIN, "Hashin"),
    (PUCK, "between the fibres (Puck)"),
    (KINKING, "fibre kinking"),
)
"""Criteria of every ply of a wall, with their names in the ladder."""
POINTS = 9  # radii in each layer
STEPS = 64  # pressures tried before the first crossing is closed in on


@dataclass(frozen=True)
class Limit:
    """What a plain wall reaches first.

    Attributes
    ----------
    pressure : float
        MPa; infinite where nothing is reached.
    mode : str
        Criterion and, where it has several, its mode.
    """

    pressure: float
    mode: str


@dataclass(frozen=True)
class PlyPlaces:
    """Unit stresses of the plies of one card at n places; ``bending`` per N mm/mm around."""

    pressure: Floats
    temperature: Floats
    bending: Floats


def tube_layers(case: Case) -> tuple[TubeLayer, ...]:
    """Give the layers of the wall as made, smeared, bore outwards."""
    cards = wall_cards(case)
    return tuple(
        TubeLayer(layer.inner_radius, layer.outer_radius, layer_material(layer, cards))
        for layer in lay_up(case.wall)
    )


def ply_places(case: Case) -> dict[str, PlyPlaces]:
    """Stress every ply of a plain wall, by card.

    Parameters
    ----------
    case : Case

    Returns
    -------
    dict of str to PlyPlaces
    """
    layers, tube, cards = lay_up(case.wall), tube_layers(case), wall_cards(case)
    pressed = solve_tube(tube, outer_pressure=1.0, closed_ends=True)
    warmed = solve_tube(tube, dT=1.0)
    curved = _unit_bending(tube)
    middle = (tube[0].inner + tube[-1].outer) / 2
    found: dict[str, list[tuple[Floats, Floats, Floats]]] = {}
    for number, layer in enumerate(layers):
        r = np.linspace(layer.inner_radius, layer.outer_radius, POINTS)
        strains = (
            pressed.evaluate(r, number).strain,
            warmed.evaluate(r, number).strain,
            _bent(tube[number], curved, r - middle),
        )
        stresses = [
            ply_stresses(layer, cards, strain, dT)
            for strain, dT in zip(strains, (0.0, 1.0, 0.0), strict=True)
        ]
        for i, card in _alike(layer):
            found.setdefault(card, []).append((stresses[0][i], stresses[1][i], stresses[2][i]))
    return {
        card: PlyPlaces(*(np.concatenate(unit, axis=1) for unit in zip(*parts, strict=True)))
        for card, parts in found.items()
    }


def _alike(layer: Layer) -> Iterator[tuple[int, str]]:
    """Pick the plies of a unit that differ in card or angle: others have the same stress."""
    seen = set()
    for i, ply in enumerate(layer.plies):
        if (ply.card, ply.angle) not in seen:
            seen.add((ply.card, ply.angle))
            yield i, ply.card


def _unit_bending(tube: tuple[TubeLayer, ...]) -> Floats:
    """Mid strain [z, t, tz] and hoop curvature (4,) at unit moment around, without force."""
    plate = wall_plate(tube)
    stiffness = np.zeros((4, 4))
    stiffness[:3, :3], stiffness[3, 3] = plate.A, plate.D[1, 1]
    stiffness[:3, 3] = stiffness[3, :3] = plate.B[1]
    return np.asarray(np.linalg.solve(stiffness, [0.0, 0.0, 0.0, 1.0]))


def _bent(layer: TubeLayer, curved: Floats, height: Floats) -> Floats:
    """Strain (6, n) of a layer at heights above mid-thickness; free of stress across."""
    inside, across = [2, 1, 3], [0, 4, 5]
    C, strain = layer.material.C, np.zeros((6, len(height)))
    strain[inside] = curved[:3, None]
    strain[1] += curved[3] * height
    strain[across] = -np.linalg.solve(
        C[np.ix_(across, across)], C[np.ix_(across, inside)] @ strain[inside]
    )
    return strain


def judged_of(strengths: Strengths, card: str) -> Iterator[tuple[Criterion[Any], str, Any]]:
    """Give the criteria that judge a card of the wall, their names and strengths.

    Yields
    ------
    criterion, mode, strength
        The strength is None where the criterion is not judged.
    """
    if card in strengths.plies:
        for criterion, mode in OF_PLIES:
            yield criterion, mode, strengths.of_ply(card, mode)
    else:
        yield VON_MISES, "yield", strengths.wall[card]


def change_of_temperature(case: Case) -> float:
    """Service temperature less the stress-free one, K."""
    return case.duty.service_temperature - case.duty.stress_free_temperature


def wall_strength(case: Case, strengths: Strengths) -> Limit:
    """Find the least pressure of every criterion in a plain wall.

    Parameters
    ----------
    case : Case
    strengths : Strengths

    Returns
    -------
    Limit
        NaN pressure, with the reason as mode, where a card of the wall is not judged at all.
    """
    change, least = change_of_temperature(case), Limit(math.inf, "nothing")
    for card, places in ply_places(case).items():
        judged = 0
        for criterion, mode, strength in judged_of(strengths, card):
            if strength is None:
                continue
            judged += 1
            found = least_multiplier(
                criterion, change * places.temperature, places.pressure, strength
            )
            for one in found:
                if one.multiplier < least.pressure:
                    name = f"{mode}: {one.mode}" if len(found) > 1 else mode
                    least = Limit(one.multiplier, name)
        if not judged:
            mode = "yield" if card in strengths.wall else OF_PLIES[0][1]
            return Limit(math.nan, strengths.words(mode, card))
    return least


def shell_buckling(case: Case) -> Buckle:
    """Buckle a plain wall by shell formulas, perfect in shape and without knock-down.

    Parameters
    ----------
    case : Case

    Returns
    -------
    Buckle
    """
    tube, length = tube_layers(case), 2 * case.wall.half_length
    least = orthotropic_buckling(tube, length)
    names = {block.ply for block in case.wall.layup}
    card = wall_cards(case)[names.pop()]
    if names or card.symmetry != "isotropic":
        return least
    thickness, radius = case.wall.thickness, case.wall.bore_radius + case.wall.thickness / 2
    E, nu = card.constants()["E1"], card.constants()["nu12"]
    found = [least, von_mises_buckling(E, nu, thickness, radius, length)]
    try:
        simple = windenburg_trilling(E, nu, thickness, radius, length)
    except ValueError:  # too short for it
        simple = math.inf
    best = min(found, key=lambda one: one.pressure)
    return Buckle(min(best.pressure, simple), best.along, best.around)


def collapse(case: Case, strengths: Strengths, critical: float | None = None) -> Limit:
    """Find the pressure at which a wall that is out of round reaches a criterion.

    Parameters
    ----------
    case : Case
        With `wall.out_of_roundness`.
    strengths : Strengths
    critical : float, optional
        Buckling pressure of the round wall, MPa; the shell formula with its knock-down if left out.

    Returns
    -------
    Limit
        NaN pressure where a card of the wall is not judged.
    """
    assert case.wall.out_of_roundness is not None
    if critical is None:
        critical = KNOCK_DOWN * shell_buckling(case).pressure
    change = change_of_temperature(case)
    arm = case.wall.outer_radius * case.wall.out_of_roundness
    judged: list[tuple[Criterion[Any], str, Any, PlyPlaces]] = []
    for card, places in ply_places(case).items():
        of_card = [one for one in judged_of(strengths, card) if one[2] is not None]
        if not of_card:
            return Limit(math.nan, wall_strength(case, strengths).mode)
        judged += [(*one, places) for one in of_card]

    def worst(pressure: float) -> tuple[float, str]:
        bend = pressure * arm / (1 - pressure / critical)
        most = (0.0, "")
        for criterion, mode, strength, places in judged:
            stress = change * places.temperature + pressure * places.pressure
            both = np.concatenate(
                [stress + bend * places.bending, stress - bend * places.bending], axis=1
            )
            indices = criterion.indices(both, strength)
            at = int(indices.max(axis=1).argmax())
            name = f"{mode}: {criterion.modes[at]}" if len(criterion.modes) > 1 else mode
            most = max(most, (float(indices[at].max()), name))
        return most

    low = 0.0
    if worst(low)[0] >= 1:
        return Limit(0.0, worst(low)[1])
    for high in critical * (np.arange(1, STEPS + 1) / STEPS) * (1 - 1e-9):
        if worst(high)[0] >= 1:
            break
        low = float(high)
    else:
        return Limit(critical, "buckling")
    from scipy.optimize import brentq  # slow to load, and seldom used

    pressure = float(brentq(lambda p: worst(p)[0] - 1, low, high, rtol=1e-12))
    return Limit(pressure, worst(pressure)[1])
