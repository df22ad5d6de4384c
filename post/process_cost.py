"""What the process costs in depth: the clean joint, each fact alone, all together.

Formulation
    Every row is a whole ladder (`post.converge`), of which the first failure stands for the row;
    beside it stands the mode that the fact costs most, since a fact may weaken what does not go
    first. A row that its facts bound from several sides shows the worst bound; all together takes
    tolerance and offset at the bound that was worse for each alone.
    Only what changes the solution is solved (`geometry.depends.solved_part`): preparation,
    waviness and the strength of a filler are judged on answers that are there.
Numbers
    A cost is the difference of two depths of first failure. Its error is the sum of both numerical
    errors: on the safe side, since two like meshes err alike.
Units
    Depth m, pressure MPa.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from hashlib import sha256

from geometry.case import Case
from geometry.case_checks import check
from geometry.depends import solved_part
from geometry.errors import CaseError, refuse
from geometry.forms import draw_section
from geometry.mesh import MeshError, mesh_section
from post.converge import judge_to_target
from post.ladder import Rung
from post.process_facts import Bounds, Fact, clean, facts
from post.strengths import strengths
from post.verdict import depth_error, governing, has_number, overall
from solve.answer import Answer, SolveError, solve_twice
from solve.answer_file import Kept

THINNEST = 0.02  # mm of a bond, as in a case file
CLEAN, TOGETHER = "clean joint", "all together"
OWN, COARSER = "own", "coarser"  # meshes of an answer and its companion
Ladder = tuple[Rung, ...]
Change = tuple[str, Case]
"""A named change of the case as stated, such as a flaw that has been mended."""


@dataclass(frozen=True)
class Hit:
    """The mode that a fact costs most: its ratio before and after."""

    part: str
    mode: str
    before: float
    after: float


@dataclass(frozen=True)
class Cost:
    """A row: a joint with some facts, and its first failure.

    Attributes
    ----------
    name, stated, acts_on : str
    bound : str
        The bound that is worst, in words; empty where the fact is no bound.
    verdict : str
        Of the whole ladder, in one word; ``not judged`` with `why`.
    why : str
        Why it could not be judged; empty where it was.
    first : Rung or None
        First failure; None where no sea reaches any, or none was judged.
    loss, loss_error : float
        Depth less than that of the clean joint, m, and its numerical error; NaN where not known.
    hit : Hit or None
        Mode that it costs most; None where none gets shallower.
    """

    name: str
    stated: str
    acts_on: str
    bound: str
    verdict: str
    why: str
    first: Rung | None
    loss: float = math.nan
    loss_error: float = math.nan
    hit: Hit | None = None

    @property
    def told(self) -> bool:
        """Whether the loss is larger than its numerical error."""
        return abs(self.loss) > self.loss_error


@dataclass
class Ladders:
    """Ladders of many cases, each solution found once."""

    known: dict[str, tuple[Answer, Answer, dict[int, Answer]]] = field(default_factory=dict)
    judged: list[tuple[Case, Ladder]] = field(default_factory=list)
    kept: Mapping[str, Kept] = field(default_factory=dict)
    """Answers of an earlier run, by the names that `solved` gives them."""

    def remember(self, answer: Answer, companion: Answer) -> None:
        """Take over answers that are there already."""
        self.known[solved_part(answer.case)] = answer, companion, {}

    def of(self, case: Case) -> Ladder:
        """Judge a case, solving it where no case before had the same solution.

        Raises
        ------
        CaseError, MeshError, SolveError
            As drawing, meshing and solving do.
        """
        for one, rungs in self.judged:
            if one == case:
                return rungs
        key = solved_part(case)
        if key not in self.known:
            self._take(key, case)
        if key not in self.known:
            _check(case)
            section = draw_section(case)
            level = case.mesh.level
            meshes = mesh_section(section, level), mesh_section(section, level - 1)
            self.known[key] = *solve_twice(case, *meshes), {}
        answer, companion, finer = self.known[key]
        ladder, found, _ = judge_to_target(
            replace(answer, case=case),
            replace(companion, case=case),
            strengths(case),
            case.mesh.target,
            {level: replace(one, case=case) for level, one in finer.items()},
        )
        finer.update(found)
        self.judged.append((case, tuple(ladder)))
        return tuple(ladder)

    def _take(self, key: str, case: Case) -> None:
        """Take over what an earlier run kept."""
        named = f"{_short(key)} "
        mine = {n.removeprefix(named): k for n, k in self.kept.items() if n.startswith(named)}
        if OWN in mine and COARSER in mine:
            answer, companion = mine.pop(OWN).answer(case), mine.pop(COARSER).answer(case)
            finer = {int(level): kept.answer(case) for level, kept in mine.items()}
            self.known[key] = answer, companion, finer

    def solved(self) -> dict[str, Answer]:
        """Give all answers by a name of what they solve and on which mesh, to be kept."""
        names: dict[str, Answer] = {}
        for key, (answer, companion, finer) in self.known.items():
            meshes = {OWN: answer, COARSER: companion} | {str(n): one for n, one in finer.items()}
            names |= {f"{_short(key)} {mesh}": one for mesh, one in meshes.items()}
        return names


def _short(key: str) -> str:
    return sha256(key.encode()).hexdigest()


def process_cost(
    case: Case, ladders: Ladders | None = None, more: Sequence[Change] = ()
) -> tuple[Cost, ...]:
    """Compare the clean joint with each fact alone, all together, and with other changes.

    Parameters
    ----------
    case : Case
    ladders : Ladders, optional
        With the answers that are there already.
    more : sequence of (str, Case)
        Named changes of the case to be told as rows of their own, after all others.

    Returns
    -------
    tuple of Cost
        The clean joint first.
    """
    ladders = ladders or Ladders()
    bare = clean(case)
    required = case.duty.required_ratio
    base = ladders.of(bare)
    rows = [cost_of(CLEAN, "", "", "", base, base, required)]
    together: Case | None = bare
    for fact in facts(case):
        row, chosen = _alone(fact, bare, base, ladders)
        rows.append(row)
        together = _with(together, fact, chosen)
    rows.append(_together(together, base, ladders, required))
    for name, changed in more:
        rows.append(cost_of(name, "", "", "", ladders.of(changed), base, required))
    return tuple(rows)


def _alone(fact: Fact, bare: Case, base: Ladder, ladders: Ladders) -> tuple[Cost, str | None]:
    """Judge a fact by itself at its worst bound; the row, and the name of that bound."""
    required = bare.duty.required_ratio
    bounds = fact.put(bare)
    rows, refused = [], []
    for bound, changed in bounds:
        try:
            rungs = ladders.of(changed)
        except (CaseError, MeshError, SolveError) as error:
            refused.append(f"{bound or fact.name}: {_last_line(error)}")
            continue
        rows.append(cost_of(fact.name, fact.stated, fact.acts_on, bound, rungs, base, required))
    if not bounds:
        refused.append("no bound is known of it in this form of joint")
    if not rows:
        why = "; ".join(refused)
        return Cost(fact.name, fact.stated, fact.acts_on, "", "not judged", why, None), None
    worst = max(rows, key=_shallowness)
    return replace(worst, why="; ".join(refused)), worst.bound


def _shallowness(row: Cost) -> tuple[float, float]:
    """Order rows: by the first failure, then by the mode that they cost most."""
    first = -row.first.pressure if row.first is not None else -math.inf
    return first, row.hit.before - row.hit.after if row.hit is not None else 0.0


def _with(case: Case | None, fact: Fact, bound: str | None) -> Case | None:
    """Add a fact to others, at the bound that was worst alone; without one it stays away."""
    if case is None or bound is None:
        return case
    chosen: Bounds = fact.put(case)
    return next((one for name, one in chosen if name == bound), case)


def _together(together: Case | None, base: Ladder, ladders: Ladders, required: float) -> Cost:
    assert together is not None
    on = "everything above at its worse bound"
    try:
        rungs = ladders.of(together)
    except (CaseError, MeshError, SolveError) as error:
        return Cost(TOGETHER, "", on, "", "not judged", _last_line(error), None)
    return cost_of(TOGETHER, "", on, "", rungs, base, required)


def cost_of(
    name: str,
    stated: str,
    acts_on: str,
    bound: str,
    rungs: Sequence[Rung],
    base: Sequence[Rung],
    required: float,
) -> Cost:
    """Make a row of a ladder and that of the clean joint; arguments as of `Cost`."""
    verdict = overall(rungs, required)
    first, whole = verdict.governing, governing(base)
    row = Cost(name, stated, acts_on, bound, verdict.word, "", first, hit=_hit(rungs, base))
    if first is None or whole is None:
        return row
    same = first.depth == whole.depth
    error = 0.0 if same else depth_error(first) + depth_error(whole)
    return replace(row, loss=whole.depth - first.depth, loss_error=error)


def _hit(rungs: Iterable[Rung], base: Iterable[Rung]) -> Hit | None:
    """Find the mode whose ratio falls most, as a share of it; a new mode falls from none."""
    before = {_key(rung): rung for rung in base if has_number(rung)}
    hits = []
    for rung in rungs:
        was = before.get(_key(rung))
        if was is None or not has_number(rung) or not math.isfinite(was.ratio):
            continue
        if rung.ratio < was.ratio - 1e-9 * was.ratio:
            hits.append(Hit(rung.part, _key(rung)[1], was.ratio, rung.ratio))
    return max(hits, key=lambda hit: 1 - hit.after / hit.before, default=None)


def _key(rung: Rung) -> tuple[str, str]:
    return rung.part, rung.mode.partition(":")[0]


def _check(case: Case) -> None:
    """Check a case that was changed after it was read."""
    for name, gap in case.joint.bond_thickness.model_dump(exclude_none=True).items():
        if gap < THINNEST:
            value, allowed = f"{gap:.3g} mm", f"{THINNEST} mm or more"
            refuse(case, f"joint.bond_thickness.{name}", value, allowed, "closes with all it bears")
    check(case)


def _last_line(error: Exception) -> str:
    return str(error).strip().splitlines()[-1] if str(error).strip() else type(error).__name__
