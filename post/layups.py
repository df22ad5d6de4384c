"""The layup question: what other layups of the same thickness would gain and lose.

Formulation
    The wall is laid up anew from one repeat unit, of the case's first ply, at the wall's own
    thickness: as many whole units as come nearest to the case's ply thickness, and the ply
    thickness scaled so that they fill the wall exactly. Ring, bonds, head, duty and knock-downs
    stay. Each layup is solved on the case's mesh level and on a coarser companion and judged to
    the case's target as the case itself (`post.converge`), so two ladders differ by the layup
    alone.
    A layup whose plies are those of another is solved once.
Angles
    Degrees from the hull axis: 0 axial, 90 hoop. The order within a unit has no effect, since the
    wall is smeared over it.
Units
    mm, MPa; sea depth m.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

import pandas as pd

from geometry.case import Block, Case
from geometry.errors import refuse
from geometry.forms import draw_section
from geometry.layup import lay_up
from geometry.mesh import mesh_section
from post.converge import judge_to_target
from post.ladder import Rung
from post.strengths import strengths
from post.verdict import Verdict, has_number, is_unconverged, overall
from solve.answer import solve_twice
from solve.as_made import wall_cards
from solve.laminate import engineering_constants, layer_material

AS_IN_CASE = "as in the case"
CROSS_PLY = "cross-ply"
NAMED_LAYUPS: dict[str, tuple[float, ...]] = {
    CROSS_PLY: (90, 0),
    # a third of the plies at 45 degrees; the quasi-isotropic unit has half of them there
    "cross-ply with \u00b145": (90, 90, 45, -45, 0, 0),
    "quasi-isotropic": (90, 45, -45, 0),
    "\u00b155": (55, -55),
    "hoop-biased": (90, 90, 0),
}
DIGITS = 3  # of a ratio: layups are closer to each other than modes
NAMES = (AS_IN_CASE, *NAMED_LAYUPS)


@dataclass(frozen=True)
class Judged:
    """A layup and its ladder.

    Attributes
    ----------
    name : str
    case : Case
        The case with this layup.
    E_z, E_t : float
        Modulus of the whole wall along the hull and around it, MPa.
    rungs : tuple of Rung
        Shallowest first.
    """

    name: str
    case: Case
    E_z: float
    E_t: float
    rungs: tuple[Rung, ...]

    @property
    def unit(self) -> str:
        """The repeat unit in words, with the plies it is made of."""
        blocks = [
            f"[{', '.join(f'{a:g}' for a in b.angles)}] \u00d7 {b.repeats} of {b.thickness:.4g} mm"
            for b in self.case.wall.layup[:3]
        ]
        more = len(self.case.wall.layup) - len(blocks)
        text = ", ".join(blocks) + (f" and {more} more blocks" if more else "")
        return text.replace("-", "\u2212")

    @property
    def verdict(self) -> Verdict:
        """The verdict over its ladder."""
        return overall(self.rungs, self.case.duty.required_ratio)

    @property
    def first(self) -> Rung | None:
        """The governing rung; None where no sea reaches any."""
        return self.verdict.governing

    @property
    def by_mode(self) -> dict[tuple[str, str], Rung]:
        """Its rungs by part and mode."""
        return {mode_key(rung): rung for rung in self.rungs}


def mode_key(rung: Rung) -> tuple[str, str]:
    """Name a rung's part and criterion, whichever mode of the criterion came first.

    One that is not judged keeps its whole name: it may stand for a single card of the wall.
    """
    return rung.part, rung.mode.partition(":")[0] if has_number(rung) else rung.mode


def with_layup(case: Case, name: str) -> Case:
    """Lay the wall of a case up anew.

    Parameters
    ----------
    case : Case
    name : str
        One of `NAMES`; `AS_IN_CASE` gives the case itself.

    Returns
    -------
    Case
        With one block of the case's first ply, the wall's thickness unchanged.

    Raises
    ------
    CaseError
        When the wall's first ply has no fibre direction to lay up.
    KeyError
        When there is no layup of that name.
    """
    if name == AS_IN_CASE:
        return case
    angles = NAMED_LAYUPS[name]
    first = case.wall.layup[0]
    if case.materials[first.ply].kind != "ply":
        refuse(case, "wall.layup[0].ply", first.ply, "a card of kind ply", "has no fibre direction")
    repeats = max(1, round(case.wall.thickness / (len(angles) * first.thickness)))
    thickness = case.wall.thickness / (len(angles) * repeats)
    block = Block(ply=first.ply, thickness=thickness, angles=angles, repeats=repeats)
    wall = case.wall.model_copy(update={"layup": (block,)})
    return case.model_copy(update={"wall": wall})


def stiffness(case: Case) -> tuple[float, float]:
    """Give the moduli of the whole wall, smeared over all its plies.

    Returns
    -------
    E_z, E_t : float
        Along the hull and around it, MPa (`solve.laminate.engineering_constants`).
    """
    layers = lay_up(case.wall)
    plies = tuple(ply for layer in layers for ply in layer.plies * layer.repeats)
    constants = engineering_constants(
        layer_material(replace(layers[0], plies=plies, repeats=1), wall_cards(case))
    )
    return constants["E_z"], constants["E_t"]


def judge_layups(case: Case, level: int, names: Iterable[str] = NAMES) -> tuple[Judged, ...]:
    """Solve and judge a case with each of some layups.

    Parameters
    ----------
    case : Case
    level : int
        Mesh level of the answer; the companion is one coarser.
    names : iterable of str
        Of `NAMES`.

    Returns
    -------
    tuple of Judged
        In the order of the names.

    Raises
    ------
    CaseError, SolveError
        As `with_layup` and `solve.answer.solve`.
    """
    found: list[Judged] = []
    for name in names:
        laid = with_layup(case, name)
        own = laid.mesh.model_copy(update={"level": level})
        laid = laid.model_copy(update={"mesh": own})
        same = next((one for one in found if same_plies(one.case, laid)), None)
        if same is not None:
            found.append(replace(same, name=name))
            continue
        section = draw_section(laid)
        answers = solve_twice(laid, mesh_section(section, level), mesh_section(section, level - 1))
        rungs, _, _ = judge_to_target(*answers, strengths(laid), laid.mesh.target)
        found.append(Judged(name, laid, *stiffness(laid), tuple(rungs)))
    return tuple(found)


def same_plies(case: Case, other: Case) -> bool:
    """Say whether two cases have the same plies, their thickness up to rounding."""

    def plies(case: Case) -> list[tuple[object, ...]]:
        return [(b.ply, b.angles, b.repeats, round(b.thickness, 9)) for b in case.wall.layup]

    return plies(case) == plies(other)


def compare_layups(case: Case, level: int, names: Iterable[str] = NAMES) -> pd.DataFrame:
    """Judge layups and put their ladders into one table; parameters as of `judge_layups`."""
    return layups_table(judge_layups(case, level, names))


def layups_table(found: Sequence[Judged]) -> pd.DataFrame:
    """One row per layup and mode, shallowest mode of each layup first.

    Returns
    -------
    DataFrame
        ``depth_m`` is infinite where no sea reaches a mode and NaN where it is not judged.
    """
    return pd.DataFrame(
        [
            {
                "layup": one.name,
                "unit": one.unit,
                "E_axial_MPa": one.E_z,
                "E_hoop_MPa": one.E_t,
                "part": rung.part,
                "mode": mode_key(rung)[1],
                "first": rung.mode.partition(": ")[2],
                "depth_m": rung.depth,
                "ratio": rung.ratio,
                "ratio_error": rung.ratio_error,
                "verdict": "not converged" if is_unconverged(rung) else rung.verdict,
                "governs": "yes" if rung is one.first else "no",
                "r_mm": rung.r,
                "z_mm": rung.z,
                "ply_angle_deg": rung.angle,
                "why": rung.why,
            }
            for one in found
            for rung in one.rungs
        ]
    )


def ratios(table: pd.DataFrame) -> pd.DataFrame:
    """Turn the long table of `layups_table` into modes as rows and layups as columns.

    Returns
    -------
    DataFrame
        First-failure depth over duty depth; rows (part, mode) and columns (layup) in the order
        in which they come first.
    """
    wide = table.pivot(index=["part", "mode"], columns="layup", values="ratio")
    rows = list(dict.fromkeys(zip(table["part"], table["mode"], strict=True)))
    return wide.loc[rows, list(dict.fromkeys(table["layup"]))]


def shown_error(rung: Rung, digits: int = DIGITS) -> float:
    """Give the error of a ratio as it is shown: rounded up, no less than the last digit.

    Infinite where it is not known; nothing where the ratio is infinite or stands on a formula.
    """
    if rung.ratio_error == 0 or math.isinf(rung.ratio):
        return 0.0
    if not math.isfinite(rung.ratio_error):
        return math.inf
    step: float = 10.0**-digits
    return max(1, math.ceil(rung.ratio_error / step - 1e-9)) * step


def differs(one: Rung, other: Rung) -> int:
    """Say whether a ratio is larger (1), smaller (-1) or no different (0) beyond both errors.

    Ratios and errors count as they are shown, pressures where one ratio is infinite.
    """
    if math.isnan(one.ratio) or math.isnan(other.ratio) or one.ratio == other.ratio:
        return 0
    error = shown_error(one) + shown_error(other)
    gap = abs(round(one.ratio, DIGITS) - round(other.ratio, DIGITS))
    if math.isinf(gap) and math.isfinite(error):  # below all seas pressures are still known
        gap, error = abs(one.pressure - other.pressure), one.error + other.error
    if not gap > error + 1e-9:
        return 0
    return 1 if one.ratio > other.ratio else -1
