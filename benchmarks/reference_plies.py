"""Ply stiffness by hand, for the reference from outside.

Formulation
    A ply's stiffness is turned as a fourth-order tensor; a layer of many plies is smeared by
    solving the whole stack as one linear system. Only the constants on the cards are shared with
    the project.
Order of arrays
    [rr, tt, zz, tz, rz, rt] (t is theta, shear strains are engineering strains).
Units
    mm, MPa, K.
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from geometry.case import Case
from geometry.materials import Card

Floats = NDArray[np.float64]

PAIRS = ((0, 0), (1, 1), (2, 2), (1, 2), (0, 2), (0, 1))  # of (r, t, z), and of (1, 2, 3)


def layers(case: Case) -> list[tuple[str, float, float, list[tuple[str, float, float]]]]:
    """Stack the plies of a wall: name, inner and outer radius, plies (card, thickness, angle).

    Plies asked for one by one stand alone; what they leave of a block is one layer, a repeat
    unit that they broke another.
    """
    plies = [
        ((i, repeat), (b.ply, b.thickness, angle))
        for i, b in enumerate(case.wall.layup)
        for repeat in range(b.repeats)
        for angle in b.angles
    ]
    inside, outside = case.wall.resolve_plies.innermost, case.wall.resolve_plies.outermost
    alone = {n for n in range(len(plies)) if n < inside or n >= len(plies) - outside}
    broken = {plies[n][0] for n in alone}
    stack: list[tuple[object, list[tuple[str, float, float]]]] = []
    for number, (unit, properties) in enumerate(plies):
        key = number if number in alone else unit if unit in broken else ("whole", unit[0])
        if not stack or stack[-1][0] != key:
            stack.append((key, []))
        stack[-1][1].append(properties)
    result, radius = [], case.wall.bore_radius
    for number, (_, members) in enumerate(stack):
        top = radius + sum(thickness for _, thickness, _ in members)
        result.append((f"layer{number}", radius, top, members))
        radius = top
    return result


def ply(constants: dict[str, float], expansion: Floats, angle: float) -> tuple[Floats, Floats]:
    """Stiffness (6, 6) and expansion (6,) of a ply in the hull's frame, by tensor rotation."""
    compliance = np.zeros((6, 6))
    for i in range(3):
        compliance[i, i] = 1 / constants[f"E{i + 1}"]
    for i, j in ((0, 1), (0, 2), (1, 2)):
        nu = constants[f"nu{i + 1}{j + 1}"]
        compliance[i, j] = compliance[j, i] = -nu / constants[f"E{i + 1}"]
    for k, name in ((3, "G23"), (4, "G13"), (5, "G12")):
        compliance[k, k] = 1 / constants[name]
    matrix = np.linalg.inv(compliance)
    tensor = np.zeros((3, 3, 3, 3))
    for p, (i, j) in enumerate(PAIRS):
        for q, (k, m) in enumerate(PAIRS):
            for one in {(i, j), (j, i)}:
                for two in {(k, m), (m, k)}:
                    tensor[(*one, *two)] = matrix[p, q]
    c, s = np.cos(np.radians(angle)), np.sin(np.radians(angle))
    fibre, across, out = np.array([0, s, c]), np.array([0, c, -s]), np.array([1.0, 0, 0])
    turn = np.stack([fibre, across, out], axis=1)  # (r, t, z) by (1, 2, 3)
    turned = np.einsum("ia,jb,kc,ld,abcd->ijkl", turn, turn, turn, turn, tensor, optimize=True)
    free = turn @ np.diag(expansion) @ turn.T
    stiffness = np.array([[turned[(*one, *two)] for two in PAIRS] for one in PAIRS])
    return stiffness, np.array([free[i, j] * (1 if i == j else 2) for i, j in PAIRS])


def smeared(
    plies: list[tuple[str, float, float]], cards: Mapping[str, Card]
) -> tuple[Floats, Floats]:
    """Stiffness and expansion of a stack of thin bonded plies, from the stack as one system.

    Unknown are the six strains of every ply and three common stresses: in-surface strains equal
    the given ones, out-of-surface stresses are common, out-of-surface strains average to the
    given ones.
    """
    count: dict[tuple[str, float], float] = {}
    for card, thickness, angle in plies:
        count[card, angle] = count.get((card, angle), 0.0) + thickness
    share = np.array(list(count.values())) / sum(count.values())
    data = [ply(cards[k].constants(), np.asarray(cards[k].cte()), angle) for k, angle in count]
    n = len(data)
    inside, outside = [1, 2, 3], [0, 4, 5]
    system, right = np.zeros((6 * n + 3, 6 * n + 3)), np.zeros((6 * n + 3, 7))
    for k, (stiffness, expansion) in enumerate(data):
        for row, i in enumerate(inside):
            system[6 * k + row, 6 * k + i] = 1
            right[6 * k + row, i] = 1
        for row, o in enumerate(outside):
            system[6 * k + 3 + row, 6 * k : 6 * k + 6] = stiffness[o]
            system[6 * k + 3 + row, 6 * n + row] = -1
            right[6 * k + 3 + row, 6] = stiffness[o] @ expansion
            system[6 * n + row, 6 * k + o] = share[k]
    for row, o in enumerate(outside):
        right[6 * n + row, o] = 1
    scale = np.where(np.arange(6 * n + 3) < 6 * n, 1.0, 1e5)  # stresses beside strains
    strain = np.linalg.solve(system * scale, right)[: 6 * n].reshape(n, 6, 7)
    strain[:, :, 6] -= np.stack([expansion for _, expansion in data])
    stress = np.einsum("k,kij,kjl->il", share, np.stack([c for c, _ in data]), strain)
    return stress[:, :6], -np.linalg.solve(stress[:, :6], stress[:, 6])
