"""Stiffness and expansion of a joint's materials for thousands of sets of constants at once.

Problem
    A study moves moduli, Poisson's ratios, expansions and ply angles. What takes a case, its cards
    and `solve.laminate` half a millisecond a point takes far less for all points together.
Formulation
    The same formulas as `geometry.constants` (nine constants of a card), `solve.as_made` (voids
    in the wall) and `solve.laminate` (turning and smearing), on arrays whose first index is the
    point. A constant that does not vary has one point, which stands for all.
Units
    MPa, 1/K; angles in degrees.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import SimpleNamespace

import numpy as np
from numpy.typing import NDArray
from scipy.special import cosdg, sindg

from geometry.case import Case
from geometry.constants import Isotropic, Transverse
from geometry.layup import Layer, lay_up
from geometry.materials import Card
from solve.as_made import adhesive_card, wall_cards
from solve.laminate import (
    _IN_SURFACE as IN_SURFACE,
)
from solve.laminate import (
    _OUT_OF_SURFACE as OUT_OF_SURFACE,
)
from solve.laminate import (
    Material,
    _swap,
    layer_material,
    ply_material,
)
from solve.micromechanics import PlyConstants, with_pores_along

Floats = NDArray[np.float64]
NINE = ("E1", "E2", "E3", "G12", "G13", "G23", "nu12", "nu13", "nu23")
_PAIRS = np.array([(0, 0), (1, 1), (2, 2), (1, 2), (0, 2), (0, 1)])


@dataclass(frozen=True)
class Varied:
    """What varies of the constants.

    Attributes
    ----------
    constants : mapping of (card, name) to (n,) array
        Elastic constants and expansions by the card's own names: E, nu12, cte1, ...
    angles : mapping of (block, place) to (n,) array
        Ply angles of `wall.layup`, degrees.
    """

    constants: Mapping[tuple[str, str], Floats]
    angles: Mapping[tuple[int, int], Floats]


def materials_of_cases(cases: list[Case]) -> dict[str, Material]:
    """Stack the materials of cases that share a section, by group (`solve.affine`)."""
    found: dict[str, list[Material]] = {}
    for case in cases:
        plies = wall_cards(case)
        for layer in lay_up(case.wall):
            found.setdefault(layer.name, []).append(layer_material(layer, plies))
        for part, card in _solids(case).items():
            found.setdefault(part, []).append(ply_material(card, 0.0))
    return {
        name: Material(np.stack([m.C for m in each]), np.stack([m.cte for m in each]))
        for name, each in found.items()
    }


def can_vary(case: Case) -> bool:
    """Whether `vary` knows what voids and filler of a case make of varied constants."""
    plain = adhesive_card(case) is case.materials[case.joint.adhesive]
    wall = [case.materials[block.ply] for block in case.wall.layup]
    return plain and (not case.wall.voids or all(isinstance(c.elastic, Transverse) for c in wall))


def vary(case: Case, varied: Varied, n: int) -> dict[str, Material]:
    """Materials of n points by group, each group (n, 6, 6) and (n, 6).

    Parameters
    ----------
    case : Case
        Everything that does not vary; one for which `can_vary` holds.
    varied : Varied
    n : int

    Raises
    ------
    ValueError
        For a constant that a card does not have.
    """
    found = {
        part: _turned(*_stiffness(card, varied, 0.0), np.zeros(1))
        for part, card in _solids(case).items()
    }
    voids = case.wall.voids or 0.0
    plies = {
        name: _stiffness(case.materials[name], varied, voids)
        for name in dict.fromkeys(block.ply for block in case.wall.layup)
    }
    # each ply of the wall under the number of its angle in place of the angle
    angles: list[Floats] = []
    blocks = []
    for b, block in enumerate(case.wall.layup):
        codes = range(len(angles), len(angles) + len(block.angles))
        blocks.append(block.model_copy(update={"angles": tuple(float(code) for code in codes)}))
        angles += [
            varied.angles.get((b, j), np.array([angle])) for j, angle in enumerate(block.angles)
        ]
    for layer in lay_up(case.wall.model_copy(update={"layup": tuple(blocks)})):
        found[layer.name] = _smeared(layer, plies, angles)
    return {
        name: Material(np.broadcast_to(m.C, (n, 6, 6)), np.broadcast_to(m.cte, (n, 6)))
        for name, m in found.items()
    }


def _solids(case: Case) -> dict[str, Card]:
    found = {"adhesive": adhesive_card(case), "ring": case.materials[case.ring.material]}
    if case.head.material is not None:
        found["head"] = case.materials[case.head.material]
    return found


def _stiffness(card: Card, varied: Varied, voids: float) -> tuple[Floats, Floats]:
    """Stiffness (p, 6, 6) and expansion (p, 6) of a card in its own axes, p being n or 1."""
    elastic = card.elastic
    values = {
        name: SimpleNamespace(value=np.atleast_1d(getattr(elastic, name).value))
        for name in type(elastic).model_fields
        if name != "symmetry" and getattr(elastic, name) is not None
    }
    for (of, name), array in varied.constants.items():
        if of == card.name:
            if name not in values:
                raise ValueError(f"{card.name} has no constant {name}")
            values[name] = SimpleNamespace(value=np.asarray(array, float))
    columns = SimpleNamespace(**{name: None for name in type(elastic).model_fields} | values)
    # the cards' own formulas, on columns in place of numbers
    c = type(elastic).constants(columns)  # type: ignore[arg-type]
    expansions = type(elastic).expansions(columns)  # type: ignore[arg-type]
    if voids and not isinstance(elastic, Isotropic):
        solid = PlyConstants(*(c[name] for name in ("E1", "E2", "G12", "nu12", "nu23")))
        made = with_pores_along(solid, voids)
        E1, E2, G12, nu12, nu23 = made.E1, made.E2, made.G12, made.nu12, made.nu23
        c = dict(zip(NINE, (E1, E2, E2, G12, G12, made.G23, nu12, nu12, nu23), strict=True))
    p = max(np.size(value) for value in c.values())
    S = np.zeros((p, 6, 6))
    for i, name in enumerate(("E1", "E2", "E3", "G23", "G13", "G12")):
        S[:, i, i] = 1 / np.asarray(c[name])
    for i, j in ((0, 1), (0, 2), (1, 2)):
        S[:, i, j] = S[:, j, i] = -np.asarray(c[f"nu{i + 1}{j + 1}"]) / c[f"E{i + 1}"]
    cte = np.zeros((max(np.size(one) for one in expansions), 6))
    for i, one in enumerate(expansions):
        cte[:, i] = one
    return np.asarray(np.linalg.inv(S), np.float64), cte


def _turned(C: Floats, cte: Floats, angle: Floats) -> Material:
    """Turn stiffness and expansion from ply axes to the hull frame, `laminate.ply_material`."""
    c, s = np.asarray(cosdg(angle)), np.asarray(sindg(angle))
    Q = np.zeros((len(angle), 3, 3))
    Q[:, 0, 1], Q[:, 0, 2], Q[:, 1, 1], Q[:, 1, 2], Q[:, 2, 0] = s, c, c, -s, 1
    to_ply, to_hull = _rotation(Q), _rotation(Q.transpose(0, 2, 1))
    turned = to_ply.transpose(0, 2, 1) @ C @ to_ply
    return Material((turned + turned.transpose(0, 2, 1)) / 2, (to_hull @ cte[:, :, None])[:, :, 0])


def _rotation(Q: Floats) -> Floats:
    """Turn engineering strains (p, 6, 6) with axes (p, 3, 3); both frames order alike."""
    (i, j), (k, m) = _PAIRS.T[:, :, None], _PAIRS.T[:, None, :]
    doubled = np.where(i == j, 1.0, 2.0)
    return np.asarray(doubled * (Q[:, i, k] * Q[:, j, m] + Q[:, i, m] * Q[:, j, k]) / 2)


def _smeared(
    layer: Layer, cards: Mapping[str, tuple[Floats, Floats]], angles: list[Floats]
) -> Material:
    """Smear a repeat unit, `laminate.layer_material`; its plies' angles are numbers of `angles`."""
    thickness: dict[tuple[str, int], float] = {}
    for ply in layer.plies:  # like plies count once, whatever their order
        key = ply.card, int(ply.angle)
        thickness[key] = thickness.get(key, 0.0) + ply.thickness
    turned = [_turned(*cards[card], angles[code]) for card, code in thickness]
    if len(turned) == 1:
        return turned[0]
    share = np.array(list(thickness.values())) / sum(thickness.values())
    i, o = IN_SURFACE, OUT_OF_SURFACE
    P: Floats = np.zeros((1, 6, 6))
    t: Floats = np.zeros((1, 6))
    for part, one in zip(share, turned, strict=True):
        mixed = _swap(one.C)
        flat = one.cte.copy()
        flat[:, o] = 0
        P = P + part * mixed
        t = t + part * (one.cte - flat - (mixed @ flat[:, :, None])[:, :, 0])
    smeared = _swap(P)
    cte = np.empty(np.broadcast_shapes(t.shape, P.shape[:2]))
    cte[:, i] = -np.linalg.solve(P[:, i[:, None], i], t[:, i, None])[:, :, 0]
    cte[:, o] = t[:, o] + (P[:, o[:, None], i] @ cte[:, i, None])[:, :, 0]
    return Material((smeared + smeared.transpose(0, 2, 1)) / 2, cte)
