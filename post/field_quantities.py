"""What the section viewer can show: each quantity as rows that the strain is multiplied by.

Problem
    The page holds the displacements of the answer, not its stresses. A browser must make any
    stress of any part from them, at any depth, without knowing a material.
Formulation
    Every stress is linear in the strain of a point and in temperature. A row of seven numbers

        value = row[:6] . strain - row[6] * dT

    makes one stress in one region: a row of its stiffness and of stiffness times expansion for
    the hull's axes, combinations of them along and across a bond, and for a ply of the wall what
    `solve.laminate.ply_stresses` gives for unit strains. Von Mises stress takes six rows.
Order of arrays
    Strain [rr, tt, zz, tz, rz, rt] as in `solve.elements`.
Units
    mm, MPa, K.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from geometry.section import BondLine, Section
from solve.answer import Answer
from solve.as_made import wall_cards
from solve.elasticity import couples_twist
from solve.laminate import ply_stresses

Floats = NDArray[np.float64]

MINUS = "\u2212"


@dataclass(frozen=True)
class Quantity:
    """One thing to show.

    Attributes
    ----------
    key : str
    group, name : str
        Heading in the list, and what is shown under it.
    symbol, unit : str
    words : str
        One or two sentences for who has not met the quantity.
    signed : bool
        Whether zero is the middle of the colours.
    kind : str
        ``linear`` (one row), ``mises`` (six) or ``movement`` (rows of three, on u_r, u_theta, u_z).
    rows : dict of str to (n, 7) array, or (n, 3) for movement
        By region; where a region has none, the quantity is not defined.
    """

    key: str
    group: str
    name: str
    symbol: str
    unit: str
    words: str
    signed: bool
    kind: Literal["linear", "mises", "movement"]
    rows: dict[str, Floats] = field(repr=False)


def list_quantities(answer: Answer) -> list[Quantity]:
    """List what can be shown of an answer, what the bonds ask for first."""
    return [
        *_bond_quantities(answer),
        *_hull_quantities(answer),
        *_metal_quantities(answer),
        *_ply_quantities(answer),
        *_movements(answer),
    ]


def bond_of(section: Section, region: str) -> BondLine | None:
    """Give the bond in whose frame a region's adhesive is seen: its own, or its open edge's.

    The adhesive in a corner between two bonds belongs to neither.
    """
    kind, _, name = region.partition("-")
    if kind not in ("bond", "fillet"):
        return None
    return next((bond for bond in section.bonds if bond.name == name), None)


def stress_rows(answer: Answer, region: str) -> Floats:
    """Rows (6, 7) that make the stresses [rr, tt, zz, tz, rz, rt] of a region."""
    material = answer.materials[region]
    return np.column_stack([material.C, material.C @ material.cte])


def _bond_quantities(answer: Answer) -> list[Quantity]:
    section = answer.section
    weights: dict[str, dict[str, list[float]]] = {"peel": {}, "shear": {}, "twist_shear": {}}
    for region in answer.mesh.regions:
        bond = bond_of(section, region)
        if bond is None:
            continue
        (ar, az), (nr, nz) = bond.along, bond.across
        weights["peel"][region] = [nr * nr, 0, nz * nz, 0, 2 * nr * nz, 0]
        weights["shear"][region] = [ar * nr, 0, az * nz, 0, ar * nz + az * nr, 0]
        weights["twist_shear"][region] = [0, 0, 0, nz, 0, nr]
    corners = (
        " The adhesive in the corner between two bonds has no such direction and is left plain."
        if len(section.bonds) > 1
        else ""
    )
    names = {
        "peel": (
            "Peel stress",
            "\u03c3 across",
            f"Across each bond, in its own direction: + pulls open, {MINUS} presses together.",
        ),
        "shear": (
            "Shear stress",
            "\u03c4 along",
            "Along each bond: + where the ring is dragged towards growing s.",
        ),
        "twist_shear": ("Twist shear", "\u03c4 around", "Along each bond, around the hull."),
    }
    if not couples_twist(answer.materials):
        del names["twist_shear"]
    return [
        Quantity(
            key,
            "Adhesive, bond by bond",
            name,
            symbol,
            "MPa",
            words + corners,
            True,
            "linear",
            {r: w @ stress_rows(answer, r) for r, w in _arrays(weights[key]).items()},
        )
        for key, (name, symbol, words) in names.items()
    ]


def _hull_quantities(answer: Answer) -> list[Quantity]:
    shown = {
        "radial": (0, "Radial stress", "\u03c3_r", "Through the wall's thickness."),
        "hoop": (1, "Hoop stress", "\u03c3_\u03b8", "Around the hull."),
        "axial": (2, "Axial stress", "\u03c3_z", "Along the hull."),
        "shear_rz": (4, "Shear stress", "\u03c4_rz", "Between radius and axis."),
        "shear_tz": (3, "Twist shear", "\u03c4_\u03b8z", "Between hoop and axis."),
        "shear_rt": (5, "Twist shear", "\u03c4_r\u03b8", "Between radius and hoop."),
    }
    if not couples_twist(answer.materials):
        del shown["shear_tz"], shown["shear_rt"]
    sign = {False: f" + is tension, {MINUS} compression.", True: ""}
    return [
        Quantity(
            key,
            "All parts, in the hull's axes",
            name,
            symbol,
            "MPa",
            words + sign[row > 2] + " In the wall that of its smeared layup.",
            True,
            "linear",
            {r: stress_rows(answer, r)[row : row + 1] for r in answer.mesh.regions},
        )
        for key, (row, name, symbol, words) in shown.items()
    ]


def _metal_quantities(answer: Answer) -> list[Quantity]:
    parts = {r: answer.section.regions[r].part for r in answer.mesh.regions}
    rows = {r: stress_rows(answer, r) for r, part in parts.items() if part in ("ring", "head")}
    return [
        Quantity(
            "mises",
            "Ring and head",
            "Von Mises stress",
            "\u03c3_vM",
            "MPa",
            "The stress that is compared with a metal's yield strength.",
            False,
            "mises",
            rows,
        )
    ]


def _ply_quantities(answer: Answer) -> list[Quantity]:
    cards = wall_cards(answer.case)
    rows: dict[tuple[str, float], dict[str, Floats]] = {}
    for name, layer in answer.section.layers.items():
        if name not in answer.mesh.regions:
            continue
        of_strain = ply_stresses(layer, cards, np.eye(6), 0.0)
        of_warming = ply_stresses(layer, cards, np.zeros((6, 1)), 1.0)
        for i, ply in enumerate(layer.plies):
            seven = np.concatenate([of_strain[i], -of_warming[i]], axis=1)
            rows.setdefault((ply.card, ply.angle), {})[name] = seven
    several = len({card for card, _ in rows}) > 1
    along = {0.0: ", along the hull", 90.0: ", around the hull"}
    shown = [
        (0, "fibre", "Stress along the fibre", "\u03c3_1", "Carried by the fibres."),
        (1, "across", "Stress across the fibre", "\u03c3_2", "In the surface, by the matrix."),
        (2, "through", "Stress through the ply", "\u03c3_3", "That of the wall, \u03c3_r."),
    ]
    if couples_twist(answer.materials):
        shown.append((5, "in_plane", "Shear in the ply", "\u03c4_12", "In the surface."))
    found = []
    for number, ((card, angle), by_layer) in enumerate(rows.items(), 1):
        group = f"Plies at {angle:g}\u00b0{along.get(angle, '')}" + (
            f" ({card})" if several else ""
        )
        for row, key, name, symbol, words in shown:
            found.append(
                Quantity(
                    f"ply{number}_{key}",
                    group,
                    name,
                    symbol,
                    "MPa",
                    f"{words} As a ply at {angle:g}\u00b0 has it wherever it lies in its layer."
                    + ("" if row == 5 else f" + is tension, {MINUS} compression."),
                    True,
                    "linear",
                    {layer: seven[row : row + 1] for layer, seven in by_layer.items()},
                )
            )
    return found


def _movements(answer: Answer) -> list[Quantity]:
    shown = {
        "move_r": ([[1, 0, 0]], "Radial movement", "u_r", "+ is outwards.", True),
        "move_z": ([[0, 0, 1]], "Axial movement", "u_z", "+ is away from mid-length.", True),
        "move": (np.eye(3), "Whole movement", "|u|", "Its size, whatever its direction.", False),
    }
    return [
        Quantity(
            key,
            "Movement",
            name,
            symbol,
            "mm",
            words,
            signed,
            "movement",
            {r: np.array(weights, float) for r in answer.mesh.regions},
        )
        for key, (weights, name, symbol, words, signed) in shown.items()
    ]


def _arrays(weights: dict[str, list[float]]) -> dict[str, Floats]:
    return {name: np.array([w], float) for name, w in weights.items()}
