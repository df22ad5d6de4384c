"""Which model evaluates a study, and how its points are cut into batches."""

from __future__ import annotations

import math
import os

from geometry.errors import CaseError
from post.reduced_points import is_linear
from post.study.models import CHECKS, JointModel, Model
from post.study.plans import count_points
from post.study.study_file import Study

POINTS_A_BATCH = 125  # of solves of about 0.4 s: a start of two seconds is then under 5 %
REDUCED_A_BATCH = 50_000  # setting up takes as long as this many points


def model_of(study: Study) -> Model:
    """Choose the model of a study."""
    count = count_points(study.ask.do, study.variables)
    every = max(8, count // CHECKS)
    if is_reduced(study):
        from post.study.linear import LinearModel

        threads = len(os.sched_getaffinity(0))
        return LinearModel(
            study.base, study.variables, study.headlines, study.ask.seed, threads, every
        )
    return JointModel(study.base, study.headlines, study.ask.modes, every)


def is_reduced(study: Study) -> bool:
    """Whether a reduced model takes all that varies; otherwise every point is solved."""
    places = [place for field in study.base.fields for place in field.places]
    numeric = all(variable.numeric for variable in study.variables)
    return study.ask.modes == "bonds" and numeric and all(map(is_linear, places))


def batch_size(study: Study, solved: object = None) -> int:
    """Points in a batch.

    Parameters
    ----------
    study : Study
        Its own word on it comes first.
    solved : optional
        Points that suit the place where it runs, where every point is solved; a positive whole
        number. Left out, `POINTS_A_BATCH`.

    Raises
    ------
    CaseError
        When `solved` is something else.
    """
    if solved is None:
        solved = POINTS_A_BATCH
    if isinstance(solved, bool) or not isinstance(solved, int) or solved < 1:
        raise CaseError(
            "--config", "points_a_batch", str(solved), "is not possible", "1, 2, 3 and so on"
        )
    return study.ask.batch or (REDUCED_A_BATCH if is_reduced(study) else solved)


def count_batches(study: Study, size: int | None = None) -> int:
    """How many batches a study has; a search is one, as each generation needs the one before."""
    if study.ask.do.best:
        return 1
    return math.ceil(count_points(study.ask.do, study.variables) / (size or batch_size(study)))


def batch_names(study: Study, size: int | None = None) -> list[str]:
    """Names of the batches, in order."""
    return [f"{i:04d}" for i in range(count_batches(study, size))]
