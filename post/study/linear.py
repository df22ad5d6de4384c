"""Points of a joint whose shape stays: a reduced model in place of a solve a point.

Formulation
    `post.reduced_joint` takes what enters the stiffness linearly, the duty and the strengths, on
    the mesh that full solves of a study use. Each number has the estimate of its reduction
    (`REDUCTION` columns); the mesh error is found as for full solves, from points that are solved
    in full on elements of half the size.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from geometry.case import Case, parse_case
from geometry.forms import draw_section
from geometry.seawater import density_at, depths_at
from post.reduced_joint import ReducedJoint, set_up, study
from post.reduced_points import Place, Points, points_of_fields
from post.study.fields import Base
from post.study.headline_names import WEIGHTS
from post.study.measure import Number
from post.study.models import (
    DEGREE,
    REDUCTION,
    REFUSED,
    SOLVED,
    JointModel,
    Row,
    light_mesh,
    records,
)
from post.study.spreads import Choices, Variable
from post.study.weights import GRAVITY, displaced_volume, mass

Floats = NDArray[np.float64]

NOT_DEFINITE = "the constants give a stiffness that is not positive definite"


@dataclass
class LinearModel:
    """A case whose shape stays.

    Attributes
    ----------
    base : Base
    variables : tuple of Variable
    headlines : tuple of str
    seed : int
    threads : int
    every : int
        As of `JointModel`.
    """

    base: Base
    variables: tuple[Variable, ...]
    headlines: tuple[str, ...]
    seed: int
    threads: int
    every: int
    joint: ReducedJoint | None = None

    def rows(self, points: pd.DataFrame, done: int = 0) -> Iterator[Row]:
        """Evaluate all points at once, also those that are done: the basis depends on them."""
        if points.empty:
            return
        case = parse_case(self.base.tree)
        if self.joint is None:
            self.joint = self.set_up()
        fields: dict[Place, Floats] = {}
        for one in self.base.fields:
            fields |= dict.fromkeys(one.places, points[one.path].to_numpy(float))
        taken = points_of_fields(case, fields)
        known = self._numbers(self.joint, taken)
        known |= self._of_case(case, taken)
        full = JointModel(self.base, self.headlines, "bonds", self.every)
        rows = zip(records(points), self._as_rows(known, len(points)), strict=True)
        for values, row in itertools.islice(rows, done, None):
            if row["status"] == SOLVED and full.checks(values):
                row |= full.finer(values)
            yield row

    def set_up(self) -> ReducedJoint:
        """Build the reduced model: what varies and its ends decide it, not the points."""
        case = parse_case(self.base.tree)
        bounds: dict[Place, tuple[float, float]] = {}
        for one, variable in zip(self.base.fields, self.variables, strict=True):
            bounds |= dict.fromkeys(one.places, ends(variable))
        mesh = light_mesh(draw_section(case), "bonds")
        return set_up(case, bounds, mesh, DEGREE, seed=self.seed)

    def _numbers(self, joint: ReducedJoint, taken: Points) -> dict[str, Any]:
        """Bond numbers, their errors, and the first failure, by name."""
        found = study(joint, taken, self.threads).numbers
        known: dict[str, Any] = dict(found.values)
        known |= {f"{REDUCTION}{name}": error for name, error in found.errors.items()}
        modes = [n.removesuffix(".pressure") for n in found.values if n.endswith(".pressure")]
        pressures = np.array([known[f"{mode}.pressure"] for mode in modes])
        first = np.where(np.isnan(pressures), np.inf, pressures).argmin(axis=0)
        at = np.arange(len(first))
        for name in ("pressure", "depth"):
            for start in ("", REDUCTION):
                columns = np.array([known[f"{start}{mode}.{name}"] for mode in modes])
                known[f"{start}first_failure.{name}"] = columns[first, at]
        words = [_words(mode) for mode in modes]
        reached = np.isfinite(pressures[first, at])
        known["first_failure.mode"] = [
            words[i] if yes else "none" for i, yes in zip(first, reached, strict=True)
        ]
        duty = depths_at(taken.pressure, taken.latitude)
        for start in ("", REDUCTION):
            known[f"{start}first_failure.ratio"] = known[f"{start}first_failure.depth"] / duty
        return known

    def _of_case(self, case: Case, taken: Points) -> dict[str, Any]:
        """Weights, which no constant changes."""
        if not set(WEIGHTS) & set(self.headlines):
            return {}
        section = draw_section(case)
        own, volume = mass(case, section), displaced_volume(section)
        water = np.array([density_at(p) for p in taken.pressure])
        return {
            "mass": np.full(taken.count, own),
            "weight_in_water": GRAVITY * (own - 1000 * water * volume),
        }

    def _as_rows(self, known: dict[str, Any], n: int) -> Iterator[Row]:
        columns: dict[str, list[Number]] = {}
        for name in self.headlines:
            value = known.get(name, np.full(n, np.nan))
            columns[name] = list(value)
            if f"{REDUCTION}{name}" in known:
                columns[f"{REDUCTION}{name}"] = list(known[f"{REDUCTION}{name}"])
        pressures = [known[name] for name in known if name.endswith(".pressure")]
        sound = ~np.all(np.isnan(pressures), axis=0)
        for i in range(n):
            row: Row = {"status": SOLVED, "reason": ""}
            if not sound[i]:
                row = {"status": REFUSED, "reason": NOT_DEFINITE}
            for name, values in columns.items():
                value = values[i]
                text = isinstance(value, str)
                row[name] = (str(value) if sound[i] else "") if text else float(value)
            yield row


def ends(variable: Variable) -> tuple[float, float]:
    """Least and largest value of a variable."""
    spread = variable.spread
    if isinstance(spread, Choices):
        values = [float(v) for v in spread.values]
        low, high = min(values), max(values)
    else:
        low, high = (float(v) for v in spread.at(np.array([0.0, 1.0])))
    return (low, high) if low < high else (low, np.nextafter(low, np.inf))


def _words(mode: str) -> str:
    bond, name = mode.split(".")
    return f"{bond} bond: {name.replace('-', ' ')}"
