"""Stress through the wall's thickness, ply by ply, at a few stations along the hull.

Problem
    The mesh knows smeared layers; what bears the load is plies. How does the stress of every ply,
    in its own axes, run from the bore outwards?
Formulation
    Along a line of constant z the strain of the answer is read at both faces of every ply (and
    between, where a ply is thick), and each ply of the smeared layer's unit gets its own stress
    back from it (`solve.laminate.ply_stresses`). Nothing is drawn across the face between two
    plies: stress jumps there.
Stations
    Mid-length; half a wall thickness before the bonds begin, where the wall still runs free but
    bends most; half way along the longest bond that lies along the wall, where there is one.
Units
    mm, MPa per MPa of pressure; MPa for the whole temperature change.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from geometry.layup import Ply
from post.bondline import duty_factors
from post.interactive import rounded
from post.strengths import strengths
from solve.answer import LOADS, Answer
from solve.as_made import wall_cards
from solve.laminate import ply_stresses
from solve.stress import stress_at

Floats = NDArray[np.float64]

COMPONENTS = ("11", "22", "33", "23", "13", "12")
THICK = 40  # steps through the whole wall: no piece of a ply is longer than one
WORDS = {
    "11": "\u03c3\u2081\u2081, along the fibres",
    "22": "\u03c3\u2082\u2082, across them",
    "33": "\u03c3\u2083\u2083, through the wall",
    "23": "\u03c4\u2082\u2083, between the plies, across",
    "13": "\u03c4\u2081\u2083, between the plies, along",
    "12": "\u03c4\u2081\u2082, in the ply",
}
STRENGTHS = {  # component: names of its strengths in tension and compression, or of both ways
    "11": ("XT", "XC"),
    "22": ("YT", "YC"),
    "33": ("ZT", "ZC"),
    "23": ("S23", "S23"),
    "13": ("S13", "S13"),
    "12": ("S12", "S12"),
}


@dataclass(frozen=True)
class Station:
    """A place along the hull: z, mm, and what it is in words."""

    z: float
    words: str


@dataclass(frozen=True)
class PlyProfile:
    """Stress through one ply.

    Attributes
    ----------
    number : int
        From the bore, 1 first.
    layer : str
    ply : Ply
    r : (n,) array
        Radii from its inner to its outer face, mm.
    unit : dict of str to (6, n) array
        By load, in ply axes [11, 22, 33, 23, 13, 12], MPa per MPa and per K.
    """

    number: int
    layer: str
    ply: Ply
    r: Floats
    unit: dict[str, Floats]


def stations(answer: Answer) -> tuple[Station, ...]:
    """List the stations of a hull, mid-length first."""
    half = answer.case.wall.thickness / 2
    starts = [
        np.min(bond.faces(np.array([0.0, bond.length]))[0][1]) for bond in answer.section.bonds
    ]
    found = [Station(0.0, "mid-length")]
    before = float(min(starts)) - half
    if before > half:
        found.append(Station(before, "half a wall thickness before the bond"))
    laps = [bond for bond in answer.section.bonds if bond.name != "end"]
    if laps:
        lap = max(laps, key=lambda bond: bond.length)
        middle = float(lap.faces(np.array([lap.length / 2]))[0][1, 0])
        found.append(Station(middle, f"half way along the {lap.name} bond"))
    return tuple(found)


def ply_profiles(answer: Answer, z: float) -> list[PlyProfile]:
    """Stress of every ply of the wall along a line of constant z, bore outwards.

    Parameters
    ----------
    answer : Answer
    z : float
        mm from mid-length.

    Returns
    -------
    list of PlyProfile
        Without the plies that a tapered wall no longer has there.
    """
    cards = wall_cards(answer.case)
    longest = answer.case.wall.thickness / THICK
    found: list[PlyProfile] = []
    number = 0
    for name, layer in answer.section.layers.items():
        units = list(layer.plies) * layer.repeats
        faces = layer.inner_radius + np.cumsum([0.0, *(ply.thickness for ply in units)])
        radii = [
            np.linspace(a, b, 1 + max(1, math.ceil((b - a) / longest - 1e-9)))
            for a, b in zip(faces[:-1], faces[1:], strict=True)
        ]
        r = np.concatenate(radii)
        unit = _stresses(answer, name, r, z, cards)
        at = 0
        for i, (ply, own) in enumerate(zip(units, radii, strict=True)):
            number += 1
            here = slice(at, at + len(own))
            at += len(own)
            stress = {load: unit[load][i % len(layer.plies), :, here] for load in LOADS}
            if np.isfinite(stress["pressure"]).all():
                found.append(PlyProfile(number, name, ply, own, stress))
    return found


def _stresses(answer: Answer, name: str, r: Floats, z: float, cards: Any) -> dict[str, Floats]:
    """Read unit stresses of each ply of a unit at radii, (plies, 6, n); NaN outside."""
    material, layer = answer.materials[name], answer.section.layers[name]
    found = {}
    for load, stress in stress_at(answer, np.stack([r, np.full_like(r, z)]), [name]).items():
        strain = np.linalg.solve(material.C, stress)
        warm = 1.0 if load == "temperature" else 0.0
        strain += warm * material.cte[:, None]
        found[load] = ply_stresses(layer, cards, strain, warm)
    return found


def wall_data(answer: Answer) -> dict[str, Any]:
    """Make what the page's script needs of the wall: plies and their stresses by station.

    Returns
    -------
    dict
        Plain data of strict JSON.
    """
    wall = answer.case.wall
    change = duty_factors(answer)["temperature"]
    used = strengths(answer.case)
    cards = {ply.card for layer in answer.section.layers.values() for ply in layer.plies}
    allowed = {}
    for card in sorted(cards):
        plies = used.plies.get(card)
        if plies is not None and plies.ply is not None:
            allowed[card] = {
                key: [getattr(plies.ply, pull), -getattr(plies.ply, push)]
                for key, (pull, push) in STRENGTHS.items()
            }
    return {
        "bore": wall.bore_radius,
        "outside": wall.outer_radius,
        "components": list(COMPONENTS),
        "words": [WORDS[key] for key in COMPONENTS],
        "layers": [
            {"name": name, "from": layer.inner_radius, "to": layer.outer_radius}
            for name, layer in answer.section.layers.items()
        ],
        "strengths": allowed,
        "stations": [
            {
                "z": station.z,
                "words": station.words,
                "plies": [_ply(one, change) for one in ply_profiles(answer, station.z)],
            }
            for station in stations(answer)
        ],
    }


def _ply(one: PlyProfile, change: float) -> dict[str, Any]:
    """Put a ply's profile as plain data; the temperature part is whole."""
    factors = {"pressure": 1.0, "temperature": change}
    return {
        "number": one.number,
        "card": one.ply.card,
        "angle": one.ply.angle,
        "layer": one.layer,
        "r": rounded(one.r, 9),
        **{load: [rounded(factors[load] * row, 5) for row in one.unit[load]] for load in LOADS},
    }
