"""What a study file may say, field by field."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import Field, model_validator

from geometry import bounds
from geometry.errors import nearest_spelling, refusal
from geometry.fields import Part, Prose, Text

Count = Annotated[int, Field(strict=True)]
Share = Annotated[float, Field(strict=True)]

FORMS = (
    {"from", "to"},
    {"mean", "sd"},
    {"low", "mode", "high"},
)
MORE = ({"steps"}, {"from", "to", "steps"}, {"steps"})
SPREADS = "[values], {from, to, steps}, {mean, sd, from, to} or {low, mode, high}"


class Sample(Part):
    """Points drawn at random, evenly spread."""

    points: Annotated[Count, Field(ge=2, le=bounds.POINTS)]
    """How many points, such as 256; a Sobol' sequence is most even at powers of 2."""
    sequence: Literal["sobol", "latin-hypercube"] = "sobol"
    """sobol or latin-hypercube."""


class Sensitivity(Part):
    """Which field matters how much."""

    method: Literal["morris", "sobol"]
    """morris: effects of single steps, few points; sobol: shares of the variance, many points."""
    repeats: Annotated[Count, Field(ge=4, le=65_536)]
    """Morris' trajectories or Sobol' base points (a power of 2); each takes a point per field."""

    @model_validator(mode="after")
    def _power_of_two(self) -> Sensitivity:
        if self.method == "sobol" and self.repeats & (self.repeats - 1):
            raise refusal("is no power of 2", "64, 128, 256, ...", field="repeats")
        return self


class Limit(Part):
    """Bounds on a headline."""

    at_least: Share | None = None
    """Least value allowed, in the headline's unit."""
    at_most: Share | None = None
    """Largest value allowed, in the headline's unit."""


class Best(Part):
    """The best design: one aim by differential evolution, two by non-dominated sorting."""

    least: Annotated[tuple[str, ...], Field(max_length=2)] = ()
    """Headlines to make small, such as [weight_in_water]."""
    most: Annotated[tuple[str, ...], Field(max_length=2)] = ()
    """Headlines to make large, such as [first_failure.depth]."""
    subject_to: dict[str, Limit] = {}
    """Bounds on headlines, such as {first_failure.ratio: {at_least: 1.5}}."""
    population: Annotated[Count, Field(ge=8, le=bounds.POPULATION)] = 24
    """Designs in a generation."""
    generations: Annotated[Count, Field(ge=1, le=bounds.GENERATIONS)] = 10
    """Generations after the first."""

    @model_validator(mode="after")
    def _aims(self) -> Best:
        if not 1 <= len(self.least) + len(self.most) <= 2:
            raise refusal("needs one or two aims", "least: [...] and most: [...], two in all")
        return self


class Do(Part):
    """What to do: one of grid, sample, sensitivity, best."""

    grid: Annotated[bool, Field(strict=True)] | None = None
    """true: every combination of the values."""
    sample: Sample | None = None
    """Points drawn at random."""
    sensitivity: Sensitivity | None = None
    """Which field matters how much."""
    best: Best | None = None
    """The best design."""

    @model_validator(mode="before")
    @classmethod
    def _one(cls, tree: Any) -> Any:
        if tree == "grid":
            return {"grid": True}
        names = list(cls.model_fields)
        if isinstance(tree, str):
            near = nearest_spelling(tree, names)
            raise refusal("is not something to do", "grid, or {sample: {...}} and so on", near)
        if isinstance(tree, dict) and len(set(tree) & set(names)) > 1:
            raise refusal("asks for several things", "one of " + ", ".join(names))
        return tree

    @model_validator(mode="after")
    def _something(self) -> Do:
        if not (self.grid or self.sample or self.sensitivity or self.best):
            raise refusal("asks for nothing", "one of " + ", ".join(type(self).model_fields))
        return self

    @property
    def kind(self) -> Literal["grid", "sample", "sensitivity", "best"]:
        """Which of the four."""
        if self.sample:
            return "sample"
        if self.sensitivity:
            return "sensitivity"
        return "best" if self.best else "grid"


class Correlated(Part):
    """Fields that vary together."""

    fields: Annotated[tuple[str, ...], Field(min_length=2, max_length=bounds.CORRELATED_FIELDS)]
    """Fields under vary."""
    correlation: Share
    """Correlation of each pair, of the normal scores behind the values, such as 0.6."""


class StudyFile(Part):
    """A study file."""

    title: Text
    """What the study asks, on one line."""
    note: Prose = ""
    """Anything a reader should know."""
    case: Annotated[str, Field(min_length=1, max_length=500)]
    """The base case, a path from the study file's folder."""
    vary: Annotated[dict[str, Any], Field(min_length=1)]
    """What varies: dotted fields of the case, each with its values or its distribution."""
    correlated: Annotated[tuple[Correlated, ...], Field(max_length=bounds.CORRELATED_GROUPS)] = ()
    """Groups of fields that vary together."""
    do: Do
    """grid, sample, sensitivity or best."""
    modes: Literal["bonds", "all"] = "bonds"
    """Failure modes that are judged: of the bonds, or all, which takes several times longer."""
    headlines: Annotated[tuple[str, ...], Field(max_length=bounds.HEADLINES)] = ()
    """Numbers to report; left out, first failure, the bonds' depths, and mass."""
    seed: Annotated[Count, Field(ge=0, le=2**31 - 1)] = 1
    """Seed of everything random: the same seed gives the same table."""
    batch: Annotated[Count, Field(ge=1, le=100_000)] | None = None
    """Points in one job; left out, chosen by the number of points."""

    @model_validator(mode="after")
    def _spread_forms(self) -> StudyFile:
        for name, spread in self.vary.items():
            if isinstance(spread, list):
                if not 1 <= len(spread) <= bounds.VALUES:
                    allowed = f"1 to {bounds.VALUES}"
                    raise refusal("has no values or too many", allowed, field=f"vary.{name}")
                continue
            keys = set(spread) if isinstance(spread, dict) else set()
            fits = (need <= keys <= need | more for need, more in zip(FORMS, MORE, strict=True))
            if not any(fits):
                raise refusal("is no spread", SPREADS, field=f"vary.{name}", value="")
            steps = spread.get("steps", 5)
            if (
                isinstance(steps, bool)
                or not isinstance(steps, int)
                or not 2 <= steps <= bounds.VALUES
            ):
                allowed = f"2 to {bounds.VALUES}"
                raise refusal("is out of range", allowed, field=f"vary.{name}.steps")
        return self
