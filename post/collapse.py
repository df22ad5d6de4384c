"""Collapse of the assembled hull: its rung on the ladder, its numbers and its words.

Problem
    The perfect hull buckles elastically at the pressure that `solve.collapse` finds. A built hull
    is never quite round and collapses earlier.
Formulation
    pressure used = elastic pressure x knock-down. The part that moves most in the mode decides
    which: `CYLINDER` for the wall and what is bonded to it, the sphere's of `post.strengths` for
    a hemisphere. Numerical error: `post.numerical_error`, from a mesh of twice the element size.
    Knock-downs of the case are on strengths, and no stiffness here is lowered by them.
Source
    NASA SP-8007, Buckling of thin-walled circular cylinders, 1968: 0.75 on cylinders under
    lateral or hydrostatic pressure (value from memory; for thin isotropic shells).
Units
    MPa, m, mm.
"""

from __future__ import annotations

import math
from typing import Any

from geometry.case import Case
from geometry.forms import draw_section
from geometry.seawater import depth_at
from post.judge import Finding, as_rung
from post.knock_downs import Factor
from post.ladder import DEEPEST, Rung
from post.numerical_error import two_grid_error
from post.plain_wall import shell_buckling
from post.strengths import SPHERE_KNOCK_DOWN
from solve.collapse import Collapse
from solve.motions import ALIKE, OPPOSITE
from solve.shell_buckling import KNOCK_DOWN

CYLINDER = Factor(KNOCK_DOWN, "imperfect shape", "NASA SP-8007, value from memory")
MODE = "collapse (elastic buckling)"
SOURCE = "second variation of the energy of the whole section, n waves around, following sea"
HALVES = {ALIKE: "both halves alike", OPPOSITE: "the halves opposite"}
FLOOR = 1e-3  # of the pressure: its error is not shown smaller


def knock_down(case: Case, part: str) -> Factor:
    """Knock-down on elastic buckling of the part that moves most."""
    if part == "head" and case.head.form == "hemisphere":
        factor, evidence = SPHERE_KNOCK_DOWN
        return Factor(factor, "imperfect shape of the head", evidence)
    return CYLINDER


def moving_part(case: Case, collapse: Collapse) -> str:
    """Part that moves most: wall, adhesive, ring or head."""
    region, _, _ = collapse.place
    return draw_section(case).regions[region].part


def waves_words(waves: int, symmetry: str = "") -> str:
    """Say a mode in words."""
    around = "round" if waves == 0 else f"{waves} wave{'s' if waves > 1 else ''} around"
    halves = HALVES.get(symmetry, "")
    return f"n = {waves} ({around}{', ' if halves else ''}{halves})"


def collapse_rung(case: Case, collapse: Collapse, target: float) -> Rung:
    """Put the collapse of a hull on its ladder.

    Parameters
    ----------
    case : Case
    collapse : Collapse
    target : float
        Largest numerical error of a pressure, as a share of it.
    """
    critical = collapse.at_duty.critical
    part = moving_part(case, collapse)
    factor = knock_down(case, part)
    _, r, z = collapse.place
    error = two_grid_error(critical.pressure, collapse.coarser, FLOOR)
    where = "a bond" if part == "adhesive" else f"the {part}"
    words = (
        f"{waves_words(critical.waves, critical.symmetry)}, most in {where}; "
        f"{critical.pressure:.4g} MPa of the perfect hull x {factor}"
    )
    others = {n: p for n, p in collapse.at_duty.least.items() if n != critical.waves}
    waves = min(others, key=lambda n: others[n])
    finding = Finding(
        part="hull",
        mode=MODE,
        pressure=factor.factor * critical.pressure,
        r=r,
        z=z,
        layer="",
        angle=math.nan,
        strength=words,
        source=SOURCE,
        runner_up=f"{waves_words(waves)} at {factor.factor * others[waves]:.1f} MPa",
    )
    return as_rung(finding, factor.factor * error, case, target)


def collapse_summary(case: Case, collapse: Collapse) -> dict[str, Any]:
    """Put the scan and its critical mode as plain data.

    Returns
    -------
    dict
        ``critical`` (``waves, symmetry, elastic_MPa, error_MPa, used_MPa, depth_m, knock_down,
        reason, evidence, part, r_mm, z_mm, without_temperature_MPa``), ``temperature_change_K``,
        ``triangles``, ``degree``, ``shell`` (what shell formulas give the wall alone between stiff
        ends, perfect in shape: ``elastic_MPa, waves``) and ``scan``: rows of ``waves, symmetry,
        elastic_MPa, without_temperature_MPa, used_MPa, depth_m``. Depths of the pressures used;
        None beyond the deepest sea.
    """
    critical = collapse.at_duty.critical
    part = moving_part(case, collapse)
    factor = knock_down(case, part)
    plain = {(m.waves, m.symmetry): m.pressure for m in collapse.without_change.modes}
    _, r, z = collapse.place

    def used(pressure: float) -> dict[str, float | None]:
        used = factor.factor * pressure if math.isfinite(pressure) else math.inf
        depth = depth_at(used, case.duty.latitude) if math.isfinite(used) else math.inf
        return {
            "elastic_MPa": pressure if math.isfinite(pressure) else None,
            "used_MPa": used if math.isfinite(used) else None,
            "depth_m": depth if depth <= DEEPEST else None,
        }

    shell = shell_buckling(case)
    rows = [
        {
            "waves": mode.waves,
            "symmetry": mode.symmetry,
            **used(mode.pressure),
            "without_temperature_MPa": _finite(plain.get((mode.waves, mode.symmetry))),
        }
        for mode in collapse.at_duty.modes
    ]
    return {
        "critical": {
            "waves": critical.waves,
            "symmetry": critical.symmetry,
            **used(critical.pressure),
            "error_MPa": two_grid_error(critical.pressure, collapse.coarser, FLOOR),
            "knock_down": factor.factor,
            "reason": factor.reason,
            "evidence": factor.evidence,
            "part": part,
            "r_mm": r,
            "z_mm": z,
            "without_temperature_MPa": _finite(collapse.without_change.critical.pressure),
        },
        "temperature_change_K": collapse.change,
        "triangles": len(collapse.mesh.triangles),
        "degree": collapse.space.degree,
        "shell": {"elastic_MPa": float(shell.pressure), "waves": shell.around},
        "scan": rows,
    }


def _finite(value: float | None) -> float | None:
    return value if value is not None and math.isfinite(value) else None
