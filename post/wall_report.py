"""The wall ply by ply in the report: table, downloads, and how it meets the exact tube."""

from __future__ import annotations

from typing import Any

import numpy as np

from post.bondline import duty_factors
from post.plain_wall import tube_layers
from post.tables import Cell, Table, table
from post.wall_figure import ply_name
from post.wall_profile import COMPONENTS, WORDS, PlyProfile, Station, ply_profiles, stations
from post.words import MINUS
from solve.answer import Answer
from solve.as_made import wall_cards
from solve.exact_tube import solve_tube
from solve.laminate import ply_stresses

TOLD = ("11", "22", "33", "12")  # in the table; the CSV has all
ALIKE = 1.0  # % of the largest stress: up to here mid-length is that of a long tube


def wall_part(answer: Answer) -> dict[str, Any]:
    """Make what the report says of the wall through its thickness.

    Returns
    -------
    dict
        ``table`` at duty, ``words`` on the chart, and ``check`` against the exact tube in words.
    """
    profiles = {station: ply_profiles(answer, station.z) for station in stations(answer)}
    off = tube_difference(answer, next(iter(profiles.values())))
    return {
        "table": wall_ply_table(answer, profiles),
        "words": "Stress in every ply's own axes: 1 along the fibres, 2 across them in the "
        "surface, 3 through the wall. Nothing is drawn across the face between two plies, as "
        "stress jumps there. Zoom in to see single plies.",
        "check": tube_words(off),
    }


def wall_ply_table(answer: Answer, profiles: dict[Station, list[PlyProfile]]) -> Table:
    """Tabulate lowest and highest stress by station and ply angle; every ply in the CSV."""
    factors = duty_factors(answer)
    shown: list[list[Cell]] = []
    full: list[list[Cell]] = []
    for station, plies in profiles.items():
        groups: dict[str, list[np.ndarray[Any, Any]]] = {}
        for one in plies:
            stress = np.sum([factors[load] * one.unit[load] for load in factors], axis=0)
            groups.setdefault(f"{one.ply.card}, {ply_name(one)}", []).append(stress)
            full += [
                [
                    *(station.z, one.number, one.layer, one.ply.card, one.ply.angle),
                    *(float(f"{r:.9g}"), *(float(f"{x:.6g}") for x in stress[:, i])),
                ]
                for i, r in enumerate(one.r)
            ]
        for name, found in groups.items():
            stress = np.concatenate(found, axis=1)
            cells = [_range(stress[COMPONENTS.index(key)]) for key in TOLD]
            shown.append([f"{station.words}, z = {station.z:.0f} mm", name, *cells])
    heads = [
        "z_mm",
        "ply",
        "layer",
        "card",
        "angle_deg",
        "r_mm",
        *(f"s{c}_MPa" for c in COMPONENTS),
    ]
    columns = ["Where", "Plies", *(f"{WORDS[key].partition(',')[0]}, MPa" for key in TOLD)]
    return table("wall-plies", columns, shown, (heads, full))


def _range(stress: np.ndarray[Any, Any]) -> str:
    low, high = (f"{x:.1f}".replace("-0.0", "0.0") for x in (stress.min(), stress.max()))
    text = low if low == high else f"{low} to {high}"
    return text.replace("-", MINUS)


def tube_difference(answer: Answer, plies: list[PlyProfile]) -> float:
    """Largest difference of mid-length from the exact tube, % of the largest ply stress.

    Parameters
    ----------
    answer : Answer
    plies : list of PlyProfile
        At mid-length.
    """
    factors, cards = duty_factors(answer), wall_cards(answer.case)
    layers = answer.section.layers
    tube, names = tube_layers(answer.case), list(layers)
    exact = solve_tube(
        tube,
        outer_pressure=factors["pressure"],
        dT=factors["temperature"],
        closed_ends=True,
    )
    off, largest = 0.0, 0.0
    for one in plies:
        strain = exact.evaluate(one.r, names.index(one.layer)).strain
        layer = layers[one.layer]
        wanted = ply_stresses(layer, cards, strain, factors["temperature"])
        wanted = wanted[layer.plies.index(one.ply)]
        stress = np.sum([factors[load] * one.unit[load] for load in factors], axis=0)
        off = max(off, float(np.abs(stress - wanted).max()))
        largest = max(largest, float(np.abs(wanted).max()))
    return 100 * off / largest


def tube_words(off: float) -> str:
    """Say how mid-length meets the exact solution of a long tube."""
    amount = f"{off:.1g}" if off >= 0.001 else "0.001"
    start = (
        "At mid-length the exact solution of an endless tube of these layers under the same load "
        f"gives the same ply stresses to {'within ' if off < 0.001 else ''}{amount}\u00a0% of the "
        "largest"
    )
    if off <= ALIKE:
        return f"{start}."
    return (
        f"{start}: the joints are felt up to mid-length, and the wall is nowhere that of an "
        "endless tube."
    )
