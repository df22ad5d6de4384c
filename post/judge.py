"""What fails first, where and at what depth.

Formulation
    Every criterion is asked for the least multiplier over its places on the path
    stress(p) = temperature part + p * unit pressure, so a rung's pressure needs no new solve when
    duty, strengths or knock-downs change. The same is asked of a companion solution on a mesh of
    twice the element size; the way the pressure moves tells its numerical error, as for the
    headlines (`post.numerical_error`).
Verdict
    A rung holds when its ratio of depths, less its error, reaches the required ratio; it is short
    when it does not; it is not judged when a strength is missing or the error is larger than the
    target.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from geometry.case import Case
from geometry.seawater import depth_at, duty_pressure
from post.bondline import duty_factors
from post.criteria import (
    INTERLAMINAR,
    PEEL_SHEAR,
    PRINCIPAL_STRESS,
    RAGHAVA,
    VOID_CRUSHING,
    VON_MISES,
)
from post.criteria.criterion import Criterion
from post.criteria.least import least_multiplier
from post.criteria.shells import sphere_buckling_pressure
from post.ladder import DEEPEST, Rung
from post.numerical_error import two_grid_error
from post.places import Places, bond_places, interlaminar_places, ply_places, solid_places
from post.plain_wall import collapse, judged_of
from post.strengths import Strengths
from post.verdict import by_depth
from solve.answer import Answer
from solve.section_corners import section_corners
from solve.shell_buckling import KNOCK_DOWN

COLLAPSE = "collapse with out-of-roundness"
APART = 0.1  # of the part's extent: a runner-up lies at least so far from the first place


@dataclass(frozen=True)
class _Path:
    """Temperature change; `whole_at` and `next_too` as of `find`; where a search may end, MPa."""

    temperature: float
    whole_at: float | None
    next_too: bool
    up_to: float = math.inf


@dataclass(frozen=True)
class Finding:
    """The least pressure of one criterion in one part.

    Attributes
    ----------
    part, mode : str
    pressure : float
        MPa; NaN where it is not judged.
    r, z, angle : float
    layer, strength, source, runner_up : str
    why : str
        Why it is not judged; empty where it is.
    floor : float
        Least numerical error, of the pressure: 0 for a formula that needs no mesh.
    """

    part: str
    mode: str
    pressure: float
    r: float
    z: float
    layer: str
    angle: float
    strength: str
    source: str
    runner_up: str = ""
    why: str = ""
    floor: float = 0.0


def find(
    answer: Answer,
    strengths: Strengths,
    whole_at: float | None = None,
    bonds_only: bool = False,
    next_too: bool = True,
    first_only: bool = False,
) -> list[Finding]:
    """Find the least pressure of every criterion in every part.

    Parameters
    ----------
    answer : Answer
    strengths : Strengths
    whole_at : float, optional
        With this pressure, MPa, the path is not that of the pressure, but the whole stress there,
        temperature part and all, times a growing number: `Finding.pressure` is then that number.
    bonds_only : bool
        Whether to leave out wall, ring and head.
    next_too : bool
        Whether to look for what is next in line, which takes about as long again.
    first_only : bool
        Whether only what fails first is asked for: a mode that needs a search may then be given
        as never reached where a bond fails before it.

    Returns
    -------
    list of Finding
    """
    path = _Path(duty_factors(answer)["temperature"], whole_at, next_too)
    found = list(_of_bonds(answer, strengths, path))
    if first_only:
        path = replace(path, up_to=min((f.pressure for f in found if not f.why), default=math.inf))
    return found if bonds_only else [*found, *_of_the_rest(answer, strengths, path)]


def _of_bonds(answer: Answer, strengths: Strengths, change: _Path) -> Iterator[Finding]:
    words = strengths.words
    for bond in answer.section.bonds:
        traction, stress = bond_places(answer, bond, strengths.characteristic_length)
        of_bond: tuple[tuple[Criterion[Any], Places, Any, str], ...] = (
            (PEEL_SHEAR, traction, strengths.bond, "peel and shear"),
            (RAGHAVA, stress, strengths.yield_, "yield of the adhesive"),
            (PRINCIPAL_STRESS, stress, strengths.tensile, "largest tension"),
        )
        if answer.case.process.adhesive_voids:
            of_bond += ((VOID_CRUSHING, stress, strengths.void, "void crushing"),)
        for criterion, places, strength, mode in of_bond:
            yield _finding(
                criterion, f"{bond.name} bond", mode, places, change, strength, words(mode)
            )


def _of_the_rest(answer: Answer, strengths: Strengths, change: _Path) -> Iterator[Finding]:
    """Wall, ring and head."""
    corners = section_corners(answer.section, answer.materials)
    words = strengths.words
    by_mode: dict[str, list[tuple[str, Finding]]] = {}
    for card, places in ply_places(answer, corners):
        for criterion, mode, strength in judged_of(strengths, card):
            finding = _finding(criterion, "wall", mode, places, change, strength, words(mode, card))
            by_mode.setdefault(mode, []).append((card, finding))
    for mode, of_mode in by_mode.items():
        cards, found = [card for card, _ in of_mode], [finding for _, finding in of_mode]
        judged = [finding for finding in found if not finding.why]
        if judged:
            yield min(judged, key=lambda finding: finding.pressure)
        for card, finding in zip(cards, found, strict=True):
            if finding.why:  # said of each ply: what is judged of another does not stand for it
                yield replace(finding, mode=f"{mode}: {card}") if len(found) > 1 else finding
    if strengths.plies:
        mode, length = "between the plies", strengths.averaging_length
        places = interlaminar_places(answer, length, length)
        yield _finding(
            INTERLAMINAR, "wall", mode, places, change, strengths.interlaminar, words(mode)
        )
    if answer.case.wall.out_of_roundness is not None:
        yield _out_of_round(answer.case, strengths, change.whole_at)

    for part, metal in (("ring", strengths.ring), ("head", strengths.head)):
        if part in answer.mesh.regions:
            places = solid_places(answer, part, corners)
            yield _finding(VON_MISES, part, "yield", places, change, metal, words("yield", part))
    if answer.case.head.form == "hemisphere":
        yield _sphere(answer, strengths)


def _finding(
    criterion: Criterion[Any],
    part: str,
    mode: str,
    places: Places,
    change: _Path,
    strength: Any,
    words: str,
) -> Finding:
    """Ask one criterion for its least pressure over places."""
    blank = Finding(
        part, mode, math.nan, math.nan, math.nan, "", math.nan, words, criterion.source, why=words
    )
    if strength is None:
        return blank
    thermal, unit = _on_path(places, change)
    least = least_multiplier(criterion, thermal, unit, strength, change.up_to)
    order = sorted(least, key=lambda one: one.multiplier)
    first = order[0]
    at = first.place[0]
    if math.isinf(first.multiplier):
        return replace(blank, pressure=math.inf, why="")
    named = f"{mode}: {first.mode}" if len(least) > 1 else mode
    return Finding(
        part=part,
        mode=named,
        pressure=first.multiplier,
        r=float(places.r[at]),
        z=float(places.z[at]),
        layer=str(places.layer[at]),
        angle=float(places.angle[at]),
        strength=words,
        source=criterion.source,
        runner_up=_next(criterion, places, (thermal, unit), strength, order, at)
        if change.next_too
        else "",
        floor=places.floor,
    )


def _on_path(places: Places, path: _Path) -> tuple[Any, Any]:
    """Stress at the start of a path, and what is added of it times a growing number."""
    thermal, unit = path.temperature * places.unit["temperature"], places.unit["pressure"]
    if path.whole_at is None:
        return thermal, unit
    return 0.0 * thermal, thermal + path.whole_at * unit


def _next(
    criterion: Criterion[Any],
    places: Places,
    path: tuple[Any, Any],
    strength: Any,
    order: list[Any],
    at: int,
) -> str:
    """Say what is next in line: another mode of the criterion, or a place well away."""
    if len(order) > 1 and math.isfinite(order[1].multiplier):
        return f"{order[1].mode} at {order[1].multiplier:.1f} MPa"
    span = np.hypot(np.ptp(places.r), np.ptp(places.z))
    away = np.hypot(places.r - places.r[at], places.z - places.z[at]) > APART * span
    if len(order) > 1 or not away.any():
        return ""
    thermal, unit = path
    other = least_multiplier(criterion, thermal[:, away], unit[:, away], strength)[0]
    if not math.isfinite(other.multiplier):
        return ""
    there = np.flatnonzero(away)[other.place[0]]
    where = f"r = {places.r[there]:.1f} mm, z = {places.z[there]:.1f} mm"
    return f"{other.multiplier:.1f} MPa at {where}"


def _out_of_round(case: Case, strengths: Strengths, whole_at: float | None) -> Finding:
    """Collapse of the plain wall, bent by its deviation from the round.

    Bending grows faster than the pressure, so the number with `whole_at` is one of pressures.
    """
    found = collapse(case, strengths)
    mode = f"{COLLAPSE}: {found.mode}" if found.pressure >= 0 else COLLAPSE
    return Finding(
        "wall",
        mode,
        found.pressure / (whole_at or 1.0),
        math.nan,
        math.nan,
        "",
        math.nan,
        f"strengths of the wall; {case.wall.out_of_roundness:g} mm out of round, bending grown "
        f"towards {KNOCK_DOWN:g} of the shell's buckling pressure",
        "Timoshenko & Gere 1961, art. 7.5 (value from memory), in a layered wall",
        why="" if found.pressure >= 0 else found.mode,
    )


def _sphere(answer: Answer, strengths: Strengths) -> Finding:
    """Elastic buckling of the hemisphere by the classical formula."""
    head = answer.case.head
    assert head.material is not None and head.thickness is not None
    constants = answer.case.materials[head.material].constants()
    crown = answer.mesh.points[answer.mesh.edges["axis"], 1]
    seat = answer.mesh.points[answer.mesh.edges["ring|head"], 1]
    middle = float(crown.max() + crown.min()) / 2 - float(seat.mean())
    knock_down, evidence = strengths.sphere_knock_down
    pressure = sphere_buckling_pressure(
        constants["E1"], constants["nu12"], head.thickness, middle, knock_down
    )
    return Finding(
        "head",
        "elastic buckling",
        float(pressure),
        math.nan,
        math.nan,
        "",
        math.nan,
        f"Zoelly's pressure of a whole sphere x {knock_down:g} ({evidence})",
        "Zoelly 1915 (value from memory)",
    )


def duty_depth(answer: Answer) -> float:
    """Depth of the duty, m: as given, or that of its pressure."""
    duty = answer.case.duty
    if duty.depth is not None:
        return duty.depth
    return depth_at(duty_factors(answer)["pressure"], duty.latitude)


def judge(answer: Answer, companion: Answer, strengths: Strengths, target: float) -> list[Rung]:
    """Build the ladder, shallowest rung first.

    Parameters
    ----------
    answer, companion : Answer
        The same case on a mesh and on one of twice the element size.
    strengths : Strengths
    target : float
        Largest numerical error of a pressure, as a share of it.

    Returns
    -------
    list of Rung
        Not judged ones last.
    """
    rungs = []
    for finding, other in zip(find(answer, strengths), find(companion, strengths), strict=True):
        error = (
            0.0 if finding.why else two_grid_error(finding.pressure, other.pressure, finding.floor)
        )
        rungs.append(as_rung(finding, error, answer.case, target))
    return by_depth(rungs)


def as_rung(finding: Finding, error: float, case: Case, target: float) -> Rung:
    """Put a finding on the ladder.

    Parameters
    ----------
    finding : Finding
    error : float
        Numerical error of its pressure, MPa.
    case : Case
    target : float
        Largest numerical error of a pressure, as a share of it.
    """
    duty = case.duty
    whole = duty.depth
    if whole is None:
        whole = depth_at(duty_pressure(case), duty.latitude)
    # no sea is deeper than the deepest, but a ratio may be asked that lies deeper still
    deepest = max(DEEPEST, duty.required_ratio * whole)

    def depth(p: float) -> float:
        found = depth_at(p, duty.latitude) if 0 < p < math.inf else p
        return found if found <= deepest else math.inf

    at = math.nan if finding.why else depth(finding.pressure)
    low = depth(max(finding.pressure - error, 0.0)) if math.isfinite(error) else 0.0
    ratio, low = at / whole, low / whole
    ratio_error = 0.0
    if math.isfinite(ratio) and ratio > 0:
        ratio_error = ratio - low if math.isfinite(error) else math.inf
    verdict, why = _verdict(finding, error, ratio, low, duty.required_ratio, target)
    return Rung(
        mode=finding.mode,
        part=finding.part,
        pressure=finding.pressure,
        error=error,
        depth=at,
        ratio=ratio,
        ratio_error=ratio_error,
        r=finding.r,
        z=finding.z,
        layer=finding.layer,
        angle=finding.angle,
        strength=finding.strength,
        source=finding.source,
        verdict=verdict,
        why=why,
        runner_up=finding.runner_up,
    )


def _verdict(
    finding: Finding, error: float, ratio: float, low: float, required: float, target: float
) -> tuple[str, str]:
    """Verdict of a rung and the sentence behind it; `low` is the ratio less its error."""
    if finding.why:
        return "not judged", finding.why
    if finding.pressure == 0.0:
        return "short", "the temperature change alone reaches it"
    if math.isinf(error):
        return "not judged", "not converged: only one of the two meshes reaches it"
    if math.isinf(low):
        return "holds", "not reached in any sea"
    if 2 * ratio - low < required:
        return "short", f"first reached at {ratio:.2f} of the duty depth; {required:g} are asked"
    if error > target * finding.pressure:
        return "not judged", (
            f"not converged: the numerical error is {100 * error / finding.pressure:.1f} %, "
            f"the target {100 * target:g} %; a higher mesh.level brings it down"
        )
    if low < required:
        return "short", f"less its error first reached at {low:.2f}; {required:g} are asked"
    if math.isinf(ratio):
        return "holds", "not reached in any sea"
    return "holds", f"first reached at {ratio:.2f} of the duty depth; {required:g} are asked"
