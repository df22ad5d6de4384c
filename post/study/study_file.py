"""The study file: which case, what varies, what to do with it, what to report.

A study file is YAML. `read_study` makes of it a `Study`: checked fields, the base case, and
variables in inside units. What is wrong is one line, as for a case.

Units
    As written in the file; inside units within (`geometry.units`).
"""

from __future__ import annotations

import math
import os
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from geometry import bounds
from geometry.case import Case, read_case
from geometry.case_file import Origin, read_yaml
from geometry.errors import CaseError, case_error, nearest_spelling
from post.study.ask import StudyFile
from post.study.fields import Base, find_field, make_base
from post.study.fields import Field as CaseField
from post.study.headline_names import default_headlines, headline_names
from post.study.spreads import (
    TAILS,
    Choices,
    Group,
    Normal,
    Spread,
    Triangular,
    Uniform,
    Variable,
)


@dataclass(frozen=True)
class Study:
    """A study, checked.

    Attributes
    ----------
    name : str
        Of its file, without the ending.
    ask : StudyFile
        What the file says.
    case : Case
        The base.
    base : Base
    variables : tuple of Variable
    groups : tuple of Group
    headlines : tuple of str
    """

    name: str
    ask: StudyFile
    case: Case
    base: Base
    variables: tuple[Variable, ...]
    groups: tuple[Group, ...]
    headlines: tuple[str, ...]

    @property
    def names(self) -> list[str]:
        """Names of the variables."""
        return [variable.name for variable in self.variables]

    def digest_text(self) -> str:
        """Everything that decides the points and what is found at them."""
        return "\n".join(
            [self.ask.model_dump_json(exclude={"title", "note"}), self.case.model_dump_json()]
        )


def read_study(path: str | os.PathLike[str]) -> Study:
    """Read and check a study file, and the case that it names.

    Raises
    ------
    CaseError
        One line: file, field, value, what is allowed.
    """
    tree, origin = read_yaml(path)
    try:
        ask = StudyFile.model_validate(tree, context={"file": True, "origin": origin})
    except ValidationError as error:
        raise case_error(error, origin) from None
    case = read_case(Path(path).parent / ask.case)
    if len(ask.vary) > bounds.VARIABLES:
        raise _refusal(origin, "vary", f"{len(ask.vary)} fields", f"up to {bounds.VARIABLES}")
    found = [find_field(case, name, origin, f"vary.{name}") for name in ask.vary]
    _apart(found, origin)
    variables = tuple(
        Variable(field.path, _spread(field, tree["vary"][field.path], origin), _unit(field))
        for field in found
    )
    study = Study(
        name=Path(path).stem,
        ask=ask,
        case=case,
        base=make_base(case, tuple(found)),
        variables=variables,
        groups=_groups(ask, variables, origin),
        headlines=_headlines(ask, case, origin),
    )
    _bound(study, origin)
    return study


def _refusal(origin: Origin, name: str, value: str, allowed: str, near: str = "") -> CaseError:
    return CaseError(origin.path, name, value, "is not possible", allowed, near, origin.line(name))


def _unit(field: CaseField) -> str:
    return field.kind.unit if field.kind else "deg" * ("angles" in field.path)


def _apart(found: list[CaseField], origin: Origin) -> None:
    """Refuse two paths that mean one place."""
    owner: dict[Any, str] = {}
    for field in found:
        for place in field.places:
            if place in owner:
                name = f"vary.{field.path}"
                raise CaseError(
                    origin.path,
                    name,
                    reason=f"is also varied by {owner[place]}",
                    allowed="each place of the case once",
                    line=origin.line(name),
                )
            owner[place] = field.path


def _spread(field: CaseField, written: Any, origin: Origin) -> Spread:
    """Make the spread of a field; its form was checked by `StudyFile`."""
    name = f"vary.{field.path}"
    if isinstance(written, list):
        return Choices(tuple(field.read(v, origin, f"{name}[{i}]") for i, v in enumerate(written)))

    def number(key: str) -> float:
        value = field.read(_real(field, written[key]), origin, f"{name}.{key}")
        if isinstance(value, str | bool) or (isinstance(value, int) and _is_whole(field)):
            raise CaseError(
                origin.path,
                name,
                reason="is a name or a whole number",
                allowed="a list of values",
                line=origin.line(name),
            )
        return float(value)

    steps = int(written.get("steps", 5))
    if "mean" in written:
        mean, sd = number("mean"), _difference(field, written["sd"], origin, f"{name}.sd")
        low = number("from") if "from" in written else mean - TAILS * sd
        high = number("to") if "to" in written else mean + TAILS * sd
        if not low <= mean <= high or low == high:
            raise _refusal(origin, name, "", "from below mean, mean below to")
        low, high = _inside(field, low, high)
        return Normal(mean, sd, low, high, steps)
    if "mode" in written:
        low, mode, high = number("low"), number("mode"), number("high")
        if not low <= mode <= high or low == high:
            raise _refusal(origin, name, "", "low, mode and high in rising order")
        return Triangular(low, mode, high, steps)
    low, high = number("from"), number("to")
    if not low < high:
        raise _refusal(origin, f"{name}.to", "", "more than 'from'")
    return Uniform(low, high, steps)


def _real(field: CaseField, written: Any) -> Any:
    """Take a plain number that is written without a point."""
    return float(written) if isinstance(written, int) and not _is_whole(field) else written


def _is_whole(field: CaseField) -> bool:
    return "int" in repr(field.hint) and field.kind is None and "float" not in repr(field.hint)


def _inside(field: CaseField, low: float, high: float) -> tuple[float, float]:
    """Cut tails that the case would refuse."""
    from post.study.fields import find_quantity

    quantity = find_quantity(field.hint)
    if quantity is None:
        return low, high
    return max(low, quantity.bounds[0]), min(high, quantity.bounds[1])


def _difference(field: CaseField, written: Any, origin: Origin, name: str) -> float:
    """Read a standard deviation: a difference, so that 5 K and 5 degC are one."""
    from pydantic_core import PydanticCustomError

    from geometry.units import parse

    allowed = "a positive number" + (" with its unit" if field.kind else "")
    try:
        if field.kind is None:
            sd = float(written)
        else:
            unit = str(written).strip().lstrip("+-.0123456789eE")
            sd = parse(str(written), field.kind) - parse(f"0 {unit}", field.kind)
    except (PydanticCustomError, ValueError, TypeError):
        raise CaseError(
            origin.path, name, str(written), "is no number", allowed, line=origin.line(name)
        ) from None
    if not sd > 0:
        raise _refusal(origin, name, str(written), allowed)
    return sd


def _groups(ask: StudyFile, variables: tuple[Variable, ...], origin: Origin) -> tuple[Group, ...]:
    known = {variable.name: variable for variable in variables}
    seen: set[str] = set()
    for i, group in enumerate(ask.correlated):
        for j, name in enumerate(group.fields):
            place = f"correlated[{i}].fields[{j}]"
            if name not in known:
                near = nearest_spelling(name, known)
                raise _refusal(origin, place, name, ", ".join(known), near)
            if name in seen:
                raise _refusal(origin, place, name, "each field in one group, once")
            seen.add(name)
        least = -1 / (len(group.fields) - 1)
        if not least < group.correlation < 1:
            raise _refusal(
                origin,
                f"correlated[{i}].correlation",
                f"{group.correlation:g}",
                f"above {least:.3g} and below 1, for {len(group.fields)} fields",
            )
    if ask.correlated and ask.do.kind != "sample":
        raise _refusal(
            origin, "correlated", "", f"with do: sample; {ask.do.kind} takes fields one by one"
        )
    return tuple(Group(group.fields, group.correlation) for group in ask.correlated)


def _headlines(ask: StudyFile, case: Case, origin: Origin) -> tuple[str, ...]:
    known = headline_names(case, ask.modes)
    for i, name in enumerate(ask.headlines):
        if name not in known:
            near = nearest_spelling(name, known)
            raise _refusal(origin, f"headlines[{i}]", name, ", ".join(known[:6]) + ", ...", near)
    chosen = list(ask.headlines or default_headlines(case))
    best = ask.do.best
    if best is not None:
        goals = [(f"do.best.{way}", n) for way in ("least", "most") for n in getattr(best, way)]
        goals += [(f"do.best.subject_to.{name}", name) for name in best.subject_to]
        for place, name in goals:
            if name not in known or name.endswith(".mode"):
                near = nearest_spelling(name, known)
                raise _refusal(origin, place, name, ", ".join(known[:6]) + ", ...", near)
            chosen += [name] * (name not in chosen)
    return tuple(chosen)


def _bound(study: Study, origin: Origin) -> None:
    """Refuse a study of more points than can be meant."""
    from post.study.plans import count_points

    count = count_points(study.ask.do, study.variables)
    if count > bounds.POINTS:
        raise _refusal(
            origin, "do", f"{count:,} points", f"up to {bounds.POINTS:,} points in a study"
        )
    batches = math.ceil(count / (study.ask.batch or count))
    if batches > bounds.BATCHES and not study.ask.do.best:
        allowed = f"up to {bounds.BATCHES:,} batches of a study"
        raise _refusal(origin, "batch", f"{batches:,} batches", allowed)
