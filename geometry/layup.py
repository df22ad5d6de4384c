"""The wall as a stack of layers, bore outwards.

A block of the case (one ply, its angles, its repeats) becomes one `Layer` that the solver smears
to the exact constants of its repeat unit. Plies asked for one by one (`resolve_plies`) become a
layer each, so that the mesh carries a line at every one of their interfaces.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from geometry.case import Wall


@dataclass(frozen=True)
class Ply:
    """One ply of a repeat unit.

    Attributes
    ----------
    card : str
        Name of its material card.
    thickness : float
        Radial thickness, mm.
    angle : float
        Fibre angle from the hull axis, degrees; 0 is axial, 90 is hoop, positive from z to theta.
    """

    card: str
    thickness: float
    angle: float


@dataclass(frozen=True)
class Layer:
    """A concentric layer of the wall, meshed as one material.

    Attributes
    ----------
    name : str
        Unique in the wall, for instance ``wall-1`` or ``wall-1-ply-3``.
    inner_radius, thickness : float
        mm.
    plies : tuple of Ply
        The repeat unit, inside first; a single ply where plies are meshed one by one.
    repeats : int
        How often the repeat unit is stacked.
    """

    name: str
    inner_radius: float
    thickness: float
    plies: tuple[Ply, ...]
    repeats: int

    @property
    def outer_radius(self) -> float:
        """Outer radius, mm."""
        return self.inner_radius + self.thickness


def lay_up(wall: Wall) -> tuple[Layer, ...]:
    """Stack the blocks of a wall into layers, bore outwards.

    Parameters
    ----------
    wall : Wall
        The `wall` of a case, lengths in mm.

    Returns
    -------
    tuple of Layer
        Inside first. The `resolve_plies` innermost and outermost plies are layers of their own;
        what is left of each block is one smeared layer (its partly used repeat unit another).
    """
    stack = [
        (number, Ply(block.ply, block.thickness, angle), place)
        for number, block in enumerate(wall.layup, 1)
        for _ in range(block.repeats)
        for place, angle in enumerate(block.angles)
    ]
    inside = min(wall.resolve_plies.innermost, len(stack))
    outside = max(inside, len(stack) - wall.resolve_plies.outermost)

    units: list[tuple[str, tuple[Ply, ...], int]] = []
    units += [(f"wall-{b}-ply-{i}", (p,), 1) for i, (b, p, _) in enumerate(stack[:inside], 1)]
    for number, block in enumerate(wall.layup, 1):
        left = [(p, place) for b, p, place in stack[inside:outside] if b == number]
        units += [
            (f"wall-{number}{'' if i == 0 else f'-part-{i + 1}'}", plies, repeats)
            for i, (plies, repeats) in enumerate(_smear(left, len(block.angles)))
        ]
    units += [
        (f"wall-{b}-ply-{i}", (p,), 1) for i, (b, p, _) in enumerate(stack[outside:], outside + 1)
    ]

    layers = []
    radius = wall.bore_radius
    for name, plies, repeats in units:
        thickness = repeats * sum(ply.thickness for ply in plies)
        layers.append(Layer(name, radius, thickness, plies, repeats))
        radius += thickness
    return tuple(layers)


def _smear(plies: list[tuple[Ply, int]], unit: int) -> Iterable[tuple[tuple[Ply, ...], int]]:
    """Split what is left of a block into a broken first unit, whole units, a broken last one."""
    start = next((i for i, (_, place) in enumerate(plies) if place == 0), len(plies))
    whole = (len(plies) - start) // unit
    end = start + whole * unit
    if start:
        yield tuple(p for p, _ in plies[:start]), 1
    if whole:
        yield tuple(p for p, _ in plies[start : start + unit]), whole
    if end < len(plies):
        yield tuple(p for p, _ in plies[end:]), 1
