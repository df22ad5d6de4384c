"""Life as plain data of the summary: constants with their sources, lives of modes and disbonds."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from geometry.case import Case
from geometry.constants import Value
from geometry.materials import Card
from geometry.seawater import duty_pressure
from post.flaw_growth import growth_curve
from post.flaw_life import FlawLife, flaw_life, life_pressures, required_pressure
from post.flaw_results import FlawResult, GrowthCurve
from post.life import RungLife, duty_depth, mission_words, planned_missions, stress_life
from post.plain_data import plain
from post.strengths import Strengths
from post.toughness import toughness
from solve.answer import Answer
from solve.joint_disbonds import Disbonds

OF_ADHESIVE = (
    *("GIc", "GIIc", "mode_exponent"),
    *("growth_rate", "growth_exponent", "growth_threshold", "life_loss"),
)
OF_WALL = ("life_loss",)


def life_part(
    answer: Answer,
    companion: Answer,
    strengths: Strengths,
    disbonds: Disbonds | None = None,
    results: Sequence[FlawResult] = (),
) -> dict[str, Any]:
    """Judge every life of a case and put it as plain data.

    Parameters
    ----------
    answer, companion : Answer
        The same case on a mesh and on one of twice the element size.
    strengths : Strengths
    disbonds : Disbonds, optional
        Needed where there are results.
    results : sequence of FlawResult
        As from `post.flaws.flaw_results`.

    Returns
    -------
    dict
        As `life_to_json`.
    """
    case = answer.case
    curves = [
        growth_curve(case, disbonds, result.number, life_pressures(case, result))
        for result in results
        if disbonds is not None
    ]
    lives = [flaw_life(case, *pair) for pair in zip(results, curves, strict=True)]
    return life_to_json(case, stress_life(answer, companion, strengths), lives, curves)


def life_to_json(
    case: Case,
    rungs: Sequence[RungLife],
    flaws: Sequence[FlawLife] = (),
    curves: Sequence[GrowthCurve] = (),
) -> dict[str, Any]:
    """Put what is found of life as plain data.

    Parameters
    ----------
    case : Case
    rungs : sequence of RungLife
        As from `post.life.stress_life`.
    flaws : sequence of FlawLife
    curves : sequence of GrowthCurve
        One of each disbond.

    Returns
    -------
    dict
        ``life``, to be joined to a summary.
    """
    life = {
        "mission": mission_words(case),
        "planned_missions": planned_missions(case),
        "duty_pressure": duty_pressure(case),
        "duty_depth": duty_depth(case),
        "required_pressure": required_pressure(case),
        "required_depth": duty_depth(case) * case.duty.required_ratio,
        "constants": list(_constants(case)),
        "toughness": {face: toughness(case, face)[1] for face in ("wall", "middle")},
        "rungs": list(rungs),
        "flaws": list(flaws),
        "curves": list(curves),
    }
    return {"life": plain(life)}


def _constants(case: Case) -> Iterator[dict[str, Any]]:
    """Every constant that growth and life ask for, the missing ones too."""
    paste = case.materials[case.joint.adhesive]
    yield from (_constant("adhesive", paste, name) for name in OF_ADHESIVE)
    for ply in dict.fromkeys(block.ply for block in case.wall.layup):
        yield from (_constant("wall", case.materials[ply], name) for name in OF_WALL)


def _constant(part: str, card: Card, name: str) -> dict[str, Any]:
    toughness: dict[str, Value] = {str(key): value for key, value in card.toughness.items()}
    value = toughness.get(name) or getattr(card.failure, name, None)
    told: dict[str, Any] = {"part": part, "card": card.name, "name": name, "value": None}
    told |= {"unit": "", "basis": "", "source": ""}
    if isinstance(value, Value):
        unit = {"N/mm": "kJ/m\u00b2"}.get(value.unit, value.unit)
        told |= {"value": value.value, "unit": unit, "basis": value.basis, "source": value.source}
    return told
