"""The cards as making the joint left them: with voids in adhesive and wall, with filler.

Formulation
    A card says what the material is without a flaw. Voids and filler of the case change its
    constants, its expansion and its density as `solve.micromechanics` has it: spheres in the
    adhesive, and in a wall that is isotropic; round pores along axis 1 of a ply, also of a weave
    (`solve.porous_ply`). Shares are of the whole volume.
    Ring and head are as their cards have them.
Units
    MPa, 1/K, tonne/mm^3.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from geometry.case import Case
from geometry.constants import Isotropic, Orthotropic, Transverse, Value
from geometry.materials import Card
from solve.micromechanics import VOID, PlyConstants, Solid, with_pores_along, with_spheres
from solve.porous_ply import porous_compliance

Kinds = list[tuple[float, Solid]]


@dataclass(frozen=True)
class Made:
    """A constant that the process changed.

    Attributes
    ----------
    part : str
        ``adhesive`` or ``wall``.
    card, constant, unit : str
    on_card, as_made : float
        In `unit`.
    how : str
        What changed it, and by which formula.
    """

    part: str
    card: str
    constant: str
    unit: str
    on_card: float
    as_made: float
    how: str


def adhesive_card(case: Case) -> Card:
    """Give the adhesive's card with the voids and the filler of the case."""
    card, kinds = case.materials[case.joint.adhesive], _in_adhesive(case)
    return _filled(card, kinds, adhesive_words(case)) if kinds else card


def wall_cards(case: Case) -> dict[str, Card]:
    """Give the cards of the wall's plies, by name, with the voids of the wall."""
    names = dict.fromkeys(block.ply for block in case.wall.layup)
    voids = case.wall.voids
    cards = {name: case.materials[name] for name in names}
    return {name: _porous(card, voids) for name, card in cards.items()} if voids else cards


def adhesive_words(case: Case) -> str:
    """Say what is in the adhesive, such as ``2 % voids, Mori-Tanaka``; empty without anything."""
    pieces = []
    if case.process.adhesive_voids:
        pieces.append(f"{100 * case.process.adhesive_voids:.3g} % voids")
    if case.process.filler is not None and case.process.filler.share:
        pieces.append(f"{100 * case.process.filler.share:.3g} % filler")
    return f"{' and '.join(pieces)}, Mori-Tanaka" if pieces else ""


def as_made(case: Case) -> tuple[Made, ...]:
    """List every constant that voids and filler of a case changed."""
    adhesive = case.materials[case.joint.adhesive]
    return (
        *_changes("adhesive", adhesive, adhesive_card(case), adhesive_words(case)),
        *(
            change
            for name, made in wall_cards(case).items()
            for change in _changes("wall", case.materials[name], made, _porous_words(case))
        ),
    )


def _changes(part: str, card: Card, made: Card, how: str) -> Iterator[Made]:
    if made is card:
        return
    for (name, before), (_, after) in zip(_values(card), _values(made), strict=True):
        if not math.isclose(before.value, after.value, rel_tol=1e-12):
            yield Made(part, card.name, name, before.unit, before.value, after.value, how)


def _values(card: Card) -> Iterator[tuple[str, Value]]:
    for name in type(card.elastic).model_fields:
        if isinstance(value := getattr(card.elastic, name), Value):
            yield name, value
    if card.density is not None:
        yield "density", card.density


def _in_adhesive(case: Case) -> Kinds:
    """Voids and filler of the adhesive with their shares; empty without any."""
    kinds: Kinds = []
    process = case.process
    if process.adhesive_voids:
        kinds.append((process.adhesive_voids, VOID))
    if process.filler is not None and process.filler.share:
        grain = process.filler
        kinds.append((grain.share, Solid(grain.modulus, grain.poisson, grain.cte, grain.density)))
    return kinds


def _porous_words(case: Case) -> str:
    return f"{100 * (case.wall.voids or 0):.3g} % voids in the wall, Mori-Tanaka"


def _filled(card: Card, kinds: Kinds, how: str) -> Card:
    """Put spheres into an isotropic card."""
    elastic = card.elastic
    assert isinstance(elastic, Isotropic)  # checked when the case was read
    density = card.density.value if card.density is not None else math.nan
    matrix = Solid(elastic.E.value, elastic.nu.value, elastic.cte.value, density)
    made = with_spheres(matrix, kinds)
    changed = {"E": made.E, "nu": made.nu, "cte": made.cte}
    return _with(card, changed, made.density, how)


def _porous(card: Card, share: float) -> Card:
    """Put voids into a card of the wall."""
    how, elastic = f"{100 * share:.3g} % voids, Mori-Tanaka", card.elastic
    if isinstance(elastic, Isotropic):
        return _filled(card, [(share, VOID)], how)
    if isinstance(elastic, Transverse):
        c = card.constants()
        ply = PlyConstants(*(c[name] for name in ("E1", "E2", "G12", "nu12", "nu23")))
        made = with_pores_along(ply, share)
        values = {**vars(made), "G23": made.G23}
    else:
        values = _nine(porous_compliance(card.compliance(), share))
    given = {n: values[n] for n in values if getattr(elastic, n, None) is not None}
    density = card.density.value if card.density is not None else math.nan
    return _with(card, given, (1 - share) * density, how)


def _nine(S: NDArray[np.float64]) -> dict[str, float]:
    """Nine constants of a compliance, nu_ij = -S_ij / S_ii."""
    E = {f"E{i + 1}": 1 / S[i, i] for i in range(3)}
    G = {f"G{ij}": 1 / S[at, at] for ij, at in (("23", 3), ("13", 4), ("12", 5))}
    nu = {f"nu{i + 1}{j + 1}": -S[i, j] / S[i, i] for i, j in ((0, 1), (0, 2), (1, 2))}
    return {name: float(value) for name, value in {**E, **G, **nu}.items()}


def _with(card: Card, values: dict[str, float], density: float, how: str) -> Card:
    """Give a card other elastic constants and another density, each saying what changed it."""

    def changed(value: Value, to: float) -> Value:
        return value.model_copy(update={"value": to, "source": f"{value.source}; {how}"})

    elastic: Isotropic | Transverse | Orthotropic = card.elastic.model_copy(
        update={name: changed(getattr(card.elastic, name), to) for name, to in values.items()}
    )
    update: dict[str, object] = {"elastic": elastic}
    if card.density is not None:
        update["density"] = changed(card.density, density)
    return card.model_copy(update=update)
