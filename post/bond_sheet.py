"""The bond sheet: one page for the shop floor that makes the bond as it was analysed.

What the case states is printed; what it does not state is a blank to be filled in by hand. Volumes
and masses are those of `post.bond_fill`, steps of preparation those of `post.preparation_steps`;
acceptance rests on the strengths that the analysis used and on the disbonds that it tolerates.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from geometry.case import Case
from geometry.files import written_aside
from geometry.forms import draw_section
from geometry.seawater import duty_pressure
from geometry.section import Section
from post.bond_fill import CM3, Fill, fill
from post.pages import page_templates
from post.plain_data import numbers
from post.preparation_steps import FROM_MEMORY, faces
from post.strengths import strengths

BLANK = ""  # shown as a line to write on
KELVIN = 273.15
WARMTH = 0.5  # K: a cure and a stress-free temperature nearer than this are the same
PLACES = {
    "bond-inner": "inner bond, wall's bore on the ring's inner lip",
    "bond-end": "end bond, wall's end face on the ring's web",
    "bond-outer": "outer bond, wall's outside under the ring's outer lip",
    "bond-scarf": "scarf bond, along the slope",
}


def write_sheet(case: Case, summary: Mapping[str, Any] | None, page: Path) -> None:
    """Write the bond sheet of a case.

    Parameters
    ----------
    case : Case
    summary : mapping or None
        Of the judged joint; its ``flaw_map``, where it has one, says what disbonds are tolerable.
    page : Path
        One self-contained HTML file.
    """
    with written_aside(page) as aside:
        aside.write_text(render_sheet(case, summary), encoding="utf-8")


def render_sheet(case: Case, summary: Mapping[str, Any] | None = None) -> str:
    """Make the text of the page that `write_sheet` writes."""
    environment = page_templates()
    section = draw_section(case)
    filled = fill(case, section)
    bonding = case.process.bonding
    return environment.get_template("bond_sheet.html.j2").render(
        case=case,
        bonding=bonding,
        pressure=f"{duty_pressure(case):.1f} MPa",
        faces=faces(case),
        open_time=BLANK if bonding.open_time is None else duration(bonding.open_time),
        tolerance=millimetres(case.process.bond_thickness_tolerance),
        offset=millimetres(case.process.ring_offset),
        from_memory=", ".join(FROM_MEMORY),
        gauges=gauge_rows(case, section),
        filled=filled,
        gaps=gap_rows(filled),
        total=f"{filled.volume * CM3:.1f}",
        mixed=f"{filled.mixed * CM3:.1f}",
        mix=mix_rows(filled),
        mass=grams(filled.mass),
        density=BLANK if filled.density is None else f"{1e12 * filled.density:.0f} kg/m\u00b3",
        times=time_words(case),
        degassing=degassing_words(case),
        cure=[
            (f"{step.temperature - KELVIN:.4g} \u00b0C", duration(step.time))
            for step in bonding.cure
        ],
        cure_caution=cure_caution(case),
        edges=edge_words(section),
        accepted=strength_rows(case),
        knock_downs=case.knock_downs,
        flaws=flaw_rows(summary),
    )


def millimetres(length: float | None) -> str:
    """Write a length; a blank where it is not stated."""
    return BLANK if length is None else f"{length:.3g} mm"


def gauge_rows(case: Case, section: Section) -> list[dict[str, str]]:
    """Say what sets the thickness of each bond, with the least that tolerance and offset leave."""
    tolerance, offset = case.process.bond_thickness_tolerance, case.process.ring_offset
    rows = []
    for bond in section.bonds:
        lap = bond.name in ("inner", "outer")
        off = (tolerance or 0.0) + ((offset or 0.0) if lap else 0.0)
        band = BLANK
        if tolerance is not None:
            band = f"{bond.thickness - off:.3g} to {bond.thickness + off:.3g} mm"
        rows.append(
            {
                "bond": PLACES[bond.region],
                "size": f"{bond.thickness:.3g} mm",
                "how": "wire stops or bonded spacers at three places or more, 120\u00b0 apart"
                if lap
                else "wire or beads of this size, at three places or more, 120\u00b0 apart",
                "band": band,
            }
        )
    return rows


def gap_rows(filled: Fill) -> list[tuple[str, str, str]]:
    """Name, section area in mm^2 and volume in cm^3 of every gap."""
    return [(one.name, f"{one.area:.2f}", f"{one.volume * CM3:.2f}") for one in filled.gaps]


def mix_rows(filled: Fill) -> list[tuple[str, str, str, str]]:
    """Name, share of the mass, mass in g and volume in cm^3 of every part of the mix."""
    return [
        (
            one.name,
            BLANK if one.share is None else f"{100 * one.share:.1f} %",
            grams(one.mass),
            BLANK if one.volume is None else f"{one.volume:.1f}",
        )
        for one in filled.portions
    ]


def grams(mass: float | None) -> str:
    """Write a mass in g; a blank where it is not known."""
    return BLANK if mass is None or math.isnan(mass) else f"{mass:.1f}"


def duration(minutes: float) -> str:
    """Write a time in min, h or days, whichever reads shortest without losing any of it."""
    for unit, size in (("days", 1440.0), ("h", 60.0)):
        if minutes >= size and abs(minutes / size - round(minutes / size, 1)) < 1e-9:
            if unit == "days" and minutes < 2 * size:
                continue
            return f"{minutes / size:g} {unit}"
    return f"{minutes:g} min"


def time_words(case: Case) -> str:
    """Hold the pot life against the filling of the bonds."""
    bonding, bonds = case.process.bonding, _bonds(case)
    count = f"{bonds} bond{'s' if bonds > 1 else ''}"
    if bonding.pot_life is None:
        return f"Pot life is not stated; the joint has {count} to fill."
    life = duration(bonding.pot_life)
    if bonding.fill_time is None:
        each = duration(round(bonding.pot_life / bonds, 1))
        return f"Pot life {life} for {count}: {each} for each, mixing and closing included."
    need = bonds * bonding.fill_time
    told = f"{count} at {duration(bonding.fill_time)} take {duration(need)} of {life} pot life"
    if need <= bonding.pot_life:
        return f"{told}; {duration(bonding.pot_life - need)} are left to close and align."
    batches = math.ceil(need / bonding.pot_life)
    return (
        f"{told}: one batch does not last. Mix at least {batches}, each when the last is used up."
    )


def _bonds(case: Case) -> int:
    return len(case.joint.bond_thickness.model_dump(exclude_none=True))


def degassing_words(case: Case) -> str:
    """Say how the mix is freed of air; empty where the case does not say it."""
    step = case.process.bonding.degassing
    if step is None:
        return BLANK
    return f"{1e4 * step.pressure:.3g} mbar absolute for {duration(step.time)}"


def cure_caution(case: Case) -> str:
    """Compare the hottest hold with the temperature that the analysis takes as free of stress."""
    cure, free = case.process.bonding.cure, case.duty.stress_free_temperature
    told = f"The analysis takes the bond as free of stress at {free - KELVIN:.4g} \u00b0C."
    if not cure:
        return told
    if any(abs(step.temperature - free) <= WARMTH for step in cure):
        return f"{told} Hold the step at that temperature until the adhesive has set."
    return f"{told} No hold is at that temperature: ask whoever made the analysis before bonding."


def edge_words(section: Section) -> list[str]:
    """Open edges at which squeeze-out must be seen, all the way round."""
    found = []
    for bond in section.bonds:
        if bond.name in ("inner", "outer"):
            found.append(f"{bond.name} bond: at the tip of the ring's {bond.name} lip")
        elif bond.name == "scarf":
            found.append("scarf bond: at the tip of the tongue and at the wall's tip")
        else:
            laps = {one.name for one in section.bonds}
            sides = [side for side in ("inner", "outer") if side not in laps]
            found += [f"end bond: at the wall's {_edge(side)}" for side in sides]
    if {"inner", "outer"} <= {bond.name for bond in section.bonds}:
        found.append("end bond: has no open edge; the groove must be filled before closing")
    return found


def _edge(side: str) -> str:
    return "bore" if side == "inner" else "outside"


def strength_rows(case: Case) -> list[tuple[str, str]]:
    """Strengths of the bond as the analysis used them: what a coupon has to reach, and how made."""
    used = [one for one in strengths(case).used if one.part == "bond" and one.unit == "MPa"]
    return [
        (f"{one.name.replace('_', ' ')} {one.value:.1f} MPa", one.text.replace("_", " "))
        for one in used
    ]


def flaw_rows(summary: Mapping[str, Any] | None) -> list[dict[str, str]]:
    """Least tolerable disbond of each bond and kind, from the flaw map of a summary."""
    maps: Sequence[Mapping[str, Any]] = numbers((summary or {}).get("flaw_map") or [])
    least: dict[tuple[str, str], tuple[float, float, str]] = {}
    for one in maps:
        for at, length in zip(one["s"], one["longest"], strict=True):
            key = one["bond"], one["kind"]
            if key not in least or length < least[key][0]:
                least[key] = length, at, one["face"]
    return [
        {
            "bond": bond,
            "kind": "from an open edge" if kind == "edge" else "buried",
            "longest": f"{length:.3g} mm" if length > 0 else "none",
            "where": f"s = {at:.4g} mm, {face}",
        }
        for (bond, kind), (length, at, face) in least.items()
    ]
