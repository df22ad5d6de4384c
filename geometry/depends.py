"""What of a case a mesh and a solution depend on.

Unit solutions know the drawn section, the elastic part of the cards and what voids and filler make
of it alone: not the depth, not a strength, a toughness, a density or a knock-down, not even where
a constant comes from. What differs in none of the texts below needs no new mesh, and no new solve.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import TYPE_CHECKING

from geometry.case_checks import used_materials
from geometry.materials import library

if TYPE_CHECKING:
    from geometry.case import Case

# fields, and fields of sections, that neither the drawn section nor its mesh shows
UNDRAWN: Mapping[str, set[str] | bool] = {
    **dict.fromkeys(
        (
            *("title", "note", "duty", "knock_downs", "materials"),
            *("flaws", "process", "gauges", "proof"),
        ),
        True,
    ),
    "wall": {"waviness", "voids", "out_of_roundness"},
    "joint": {"surface"},
    "mesh": {"target"},
}
LIVES = {"dives", "dive_list"}  # of the duty: known to life alone


def meshed_part(case: Case) -> str:
    """Write out what the mesh of a case depends on; the same text, the same mesh."""
    return case.model_dump_json(exclude=UNDRAWN)


def solved_part(case: Case) -> str:
    """Write out what the unit solutions of a case depend on; the same text, the same solution."""
    cards = {name: case.materials[name] for _, name in used_materials(dict(case))}
    elastic = {n: [*card.constants().items(), *card.cte()] for n, card in sorted(cards.items())}
    filler = case.process.filler
    made = [case.process.adhesive_voids or 0, case.wall.voids or 0]
    if filler is not None and filler.share:
        made += [filler.share, filler.modulus, filler.poisson, filler.cte]
    return meshed_part(case) + json.dumps([elastic, made])


def flawed_part(case: Case) -> str:
    """Write out what the reduction of a case to its bonds' faces depends on."""
    places = [[flaw.bond, flaw.face, flaw.start, flaw.length] for flaw in case.flaws]
    return solved_part(case) + json.dumps(places)


def costed_part(case: Case) -> str:
    """Write out what the cost of the process depends on: all but words, flaws, lives and gauges."""
    words = {"title", "note", "flaws", "gauges", "proof"}
    parts = {"duty": LIVES, "process": {"bonding"}}
    return case.model_dump_json(exclude={**dict.fromkeys(words, True), **parts})


def exchanged_part(case: Case) -> str:
    """Write out what single changes depend on: also the cards that may take another's place."""
    others = {n: c.model_dump() for n, c in library().items() if c.kind in ("adhesive", "metal")}
    return costed_part(case) + json.dumps(others)


def temperature_change(case: Case) -> float:
    """Temperature of the service less that of no stress, K."""
    return case.duty.service_temperature - case.duty.stress_free_temperature


def buckled_part(case: Case) -> str:
    """Write out what the buckling of a case depends on; the same text, the same modes."""
    return solved_part(case) + json.dumps(temperature_change(case))
