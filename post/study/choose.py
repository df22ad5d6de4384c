"""Which model evaluates a study, and how its points are cut into batches."""

from __future__ import annotations

import math

from post.study.models import CHECKS, JointModel, Model
from post.study.plans import count_points
from post.study.study_file import Study

POINTS_A_BATCH = 125  # of solves of about 0.4 s: a start of two seconds is then under 5 %


def model_of(study: Study) -> Model:
    """Choose the model of a study."""
    count = count_points(study.ask.do, study.variables)
    every = max(1, count // CHECKS)
    return JointModel(study.base, study.headlines, study.ask.modes, every)


def batch_size(study: Study) -> int:
    """Points in a batch."""
    return study.ask.batch or POINTS_A_BATCH


def count_batches(study: Study) -> int:
    """How many batches a study has; a search is one, as each generation needs the one before."""
    if study.ask.do.best:
        return 1
    return math.ceil(count_points(study.ask.do, study.variables) / batch_size(study))


def batch_names(study: Study) -> list[str]:
    """Names of the batches, in order."""
    return [f"{i:04d}" for i in range(count_batches(study))]
