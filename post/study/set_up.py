"""The reduced model of a study in a file: set up once, loaded by every batch and every rerun.

Formulation
    What varies, between which ends, the base case and the seed decide a reduced model; points do
    not, so a study of more points takes the model of the one before. The file holds a digest of
    these and of the project's sources, then the model; any other digest and the model is set up
    anew. It is a pickle, which can hold programs: one from elsewhere is not for use.
"""

from __future__ import annotations

import json
import pickle
from hashlib import sha256
from pathlib import Path
from typing import TYPE_CHECKING

from geometry.files import intact, written_aside
from post.study.batches import source_digest
from post.study.choose import is_reduced, model_of
from post.study.models import Model
from post.study.study_file import Study

if TYPE_CHECKING:  # slow to load, and the full solves do not need it
    from post.reduced_evaluation import ReducedJoint

NAME = "reduced.pickle"


def set_up_digest(study: Study) -> str:
    """Digest of all that decides a study's reduced model."""
    from post.study.linear import ends

    both = zip(study.base.fields, study.variables, strict=True)
    varied = [(field.places, *ends(variable)) for field, variable in both]
    told = json.dumps([study.base.tree, varied, study.ask.seed], default=str)
    return sha256((told + source_digest()).encode()).hexdigest()


def write_set_up(study: Study, path: Path) -> None:
    """Set up the reduced model of a study and write it."""
    from post.study.linear import LinearModel

    model = model_of(study)
    assert isinstance(model, LinearModel)
    made = pickle.dumps((set_up_digest(study), model.set_up()), protocol=5)
    with written_aside(path) as aside:
        aside.write_bytes(made)


def model_in(study: Study, folder: Path) -> Model:
    """Give the model of a study, with what is set up for it in a folder."""
    model = model_of(study)
    path = folder / NAME
    if is_reduced(study) and path.is_file():
        model.joint = _load(path, set_up_digest(study))  # type: ignore[attr-defined]
    return model


def _load(path: Path, digest: str) -> ReducedJoint | None:
    found, joint = pickle.loads(intact(path).read_bytes())
    return joint if found == digest else None
