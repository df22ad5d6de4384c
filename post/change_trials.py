"""Trying single changes: each solved as a point of a study, beside the case itself.

Formulation
    The case and each change are solved as `post.study.models` solves a point, on the light mesh
    and with every mode of the ladder, so that the error of the mesh is alike in all of them and
    cancels, for the most part, in a difference. The hull's buckling is that of `solve.collapse`,
    scaled by what the change does to it on the coarser mesh for modes, at the number of waves
    found for the case and its neighbours; it is looked at where the wall changes, and wherever it
    lies less than `NEAR` times as deep as what fails first in the joint.
Error
    The case and the changes that help most are solved on a mesh of half the element size too. The
    largest movement of a difference there, times the factor of `post.numerical_error`, stands as
    the error of every difference, and no less than a thousandth of the depth.
Units
    Depth m, pressure MPa, mass kg, weight in water N.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace

from geometry.case import Case
from geometry.depends import meshed_part, solved_part, temperature_change
from geometry.errors import CaseError
from geometry.forms import draw_section
from geometry.mesh import JointMesh, MeshError, mesh_section
from geometry.section import Section
from post.changes import Change, changes, reason_of, tried_part
from post.collapse import MODE, knock_down, moving_part
from post.judge import find
from post.numerical_error import MEAN_FLOOR, SAFETY
from post.strengths import strengths
from post.study.headline_names import WEIGHTS
from post.study.measure import Number, depths, weights
from post.study.models import DEGREE, FAILED, FINER, LIGHT, REFUSED, SOLVED
from solve.answer import Answer, SolveError, solve
from solve.buckling import lowest_modes
from solve.collapse import Collapse, coarser_state
from solve.motions import symmetries

NEAR = 2.0
CHECKED = 2  # changes solved on the finer mesh, beside the case
AS_IT_IS = "the case as it is"


@dataclass(frozen=True)
class Trial:
    """A change, or the case itself, and where it first fails.

    Attributes
    ----------
    field, step, values : str
        As of `post.changes.Change`.
    status : str
        ``solved``, ``refused`` or ``failed``.
    why : str
        Why it has no numbers.
    depth, pressure, ratio : float
        Of first failure; infinite where no sea reaches it.
    first : str
        What fails first: part and mode.
    mass, weight_in_water : float
        Of the whole housing; NaN where a material has no density.
    """

    field: str
    step: str
    values: str
    status: str
    why: str = ""
    depth: float = math.nan
    pressure: float = math.nan
    ratio: float = math.nan
    first: str = ""
    mass: float = math.nan
    weight_in_water: float = math.nan

    @property
    def name(self) -> str:
        """The change in a few words."""
        if self.step.endswith("%"):
            return f"{self.step} {self.field}"
        return f"{self.field} {self.step}".strip()


@dataclass(frozen=True)
class Trials:
    """The case, its changes, and the error of their differences in depth, m."""

    base: Trial
    rows: tuple[Trial, ...]
    error: float
    checked: int


def try_changes(case: Case, collapse: Collapse) -> Trials:
    """Try every change of a case by itself.

    Parameters
    ----------
    case : Case
    collapse : Collapse
        Of the case as it is.
    """
    bare = tried_part(case)
    bench = Bench(bare, collapse)
    base = bench.try_one(Change(AS_IT_IS, "", "", bare))
    if base.status != SOLVED:
        return Trials(base, (), math.nan, 0)
    listed = changes(bare)
    rows = tuple(bench.try_one(change) for change in listed)
    error, checked = _error(bench, base, rows, listed)
    return Trials(base, rows, error, checked)


@dataclass
class Bench:
    """Solves one change after the other; what two share is meshed and solved once.

    Attributes
    ----------
    base : Case
    collapse : Collapse
    level : int
        Of the mesh.
    """

    base: Case
    collapse: Collapse
    level: int = LIGHT
    meshes: dict[str, JointMesh] = field(default_factory=dict)
    answers: dict[str, Answer] = field(default_factory=dict)

    def try_one(self, change: Change) -> Trial:
        """Try one change; what cannot be built, meshed or solved has its reason."""
        row = Trial(change.field, change.step, change.values, REFUSED, change.why)
        if change.case is None:
            return row
        try:
            section = draw_section(change.case)
            known = self.numbers(change.case, section)
        except CaseError as error:
            return replace(row, why=reason_of(error))
        except (MeshError, SolveError) as error:
            return replace(row, status=FAILED, why=reason_of(error))

        def number(name: str) -> float:
            return float(known.get(name, math.nan))

        return replace(
            row,
            status=SOLVED,
            depth=number("first_failure.depth"),
            pressure=number("first_failure.pressure"),
            ratio=number("first_failure.ratio"),
            first=str(known.get("first_failure.mode", "")),
            mass=number("mass"),
            weight_in_water=number("weight_in_water"),
        )

    def numbers(self, case: Case, section: Section) -> dict[str, Number]:
        """Find first failure and weights of a case."""
        answer = self.answer(case, section)
        judged = [
            f for f in find(answer, strengths(case), next_too=False, first_only=True) if not f.why
        ]
        found = [(f.part, f.mode, f.pressure) for f in judged]
        first = min((f.pressure for f in judged), default=math.inf)
        found.append(("hull", MODE, self.buckling(case, first)))
        return depths(case, found) | weights(case, section, WEIGHTS)

    def answer(self, case: Case, section: Section) -> Answer:
        """Solve a case, on a mesh that is there already where the shape is the same."""
        solution = solved_part(case)
        if solution not in self.answers:
            shape = meshed_part(
                case.model_copy(
                    update={
                        "joint": case.joint.model_copy(update={"adhesive": ""}),
                        "ring": case.ring.model_copy(update={"material": ""}),
                    }
                )
            )
            if shape not in self.meshes:
                self.meshes[shape] = mesh_section(section, self.level)
            self.answers[solution] = solve(case, self.meshes[shape], DEGREE, section)
        return replace(self.answers[solution], case=case)

    def buckling(self, case: Case, first: float) -> float:
        """Pressure at which the hull collapses, MPa; `first` is that of the joint's first mode."""
        critical = self.collapse.at_duty.critical
        used = knock_down(self.base, moving_part(self.base, self.collapse)).factor
        whole = used * critical.pressure
        if case == self.base or (case.wall == self.base.wall and whole >= NEAR * first):
            return whole
        state = coarser_state(case, temperature_change(case))
        near = range(max(0, critical.waves - 1), critical.waves + 2)
        pressures = [
            lowest_modes(state, waves, symmetry)[0].pressure
            for waves in near
            for symmetry in symmetries(waves, state.couples)
        ]
        return whole * min(pressures) / self.collapse.coarser


def _error(
    bench: Bench, base: Trial, rows: tuple[Trial, ...], listed: tuple[Change, ...]
) -> tuple[float, int]:
    """Error of the differences in depth, m, and how many changes it was found from."""
    if not math.isfinite(base.depth):
        return math.nan, 0
    finite = [i for i, row in enumerate(rows) if math.isfinite(row.depth)]
    best = sorted(finite, key=lambda i: -rows[i].depth)[:CHECKED]
    finer = Bench(bench.base, bench.collapse, FINER)
    whole = finer.try_one(Change(AS_IT_IS, "", "", bench.base)).depth
    moved = [0.0]
    for i in best:
        there = finer.try_one(listed[i]).depth - whole
        moved.append(abs(there - (rows[i].depth - base.depth)))
    return max(MEAN_FLOOR * base.depth, SAFETY * max(moved)), len(best)
