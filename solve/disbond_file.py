"""The file of a joint's reduction to the faces of its bonds."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import asdict
from pathlib import Path as File
from typing import Any

import numpy as np

from geometry.files import written_aside
from solve.answer import SolveError
from solve.array_file import read_arrays
from solve.disbond import Path, Reduced
from solve.joint_disbonds import Disbonds

TOGETHER = ("flaws", "companion")


def save_disbonds(disbonds: Disbonds, file: File) -> None:
    """Write a joint's reduction as one npz file."""
    arrays: dict[str, Any] = {"faces": np.array(len(disbonds.faces))}
    for i, reduced in enumerate(disbonds.faces):
        arrays |= _arrays(str(i), reduced)
    for name in TOGETHER:
        together = getattr(disbonds, name)
        if together is not None:
            arrays |= _arrays(name, together)
    with written_aside(file) as aside:
        np.savez(aside, **arrays)


def load_disbonds(file: File) -> Disbonds:
    """Read what `save_disbonds` wrote.

    Raises
    ------
    SolveError
        When the file is something else.
    DamagedFileError
        When it is not as it was written.
    """
    stored = read_arrays(file)
    if "faces" not in stored:
        raise SolveError(f"{file}: holds no disbonds; solve again")
    faces = tuple(_reduced(str(i), stored) for i in range(int(stored["faces"])))
    flaws, companion = (
        _reduced(name, stored) if f"{name} told" in stored else None for name in TOGETHER
    )
    return Disbonds(faces, flaws, companion)


def _arrays(prefix: str, reduced: Reduced) -> dict[str, Any]:
    told: list[dict[str, Any]] = []
    arrays: dict[str, Any] = {f"{prefix} stiffness": reduced.stiffness}
    for i, path in enumerate(reduced.paths):
        arrays[f"{prefix} path {i}"] = np.stack([path.s, path.r, path.z])
        plain = asdict(path)
        told.append({k: plain[k] for k in plain if k not in ("s", "r", "z")})
    arrays |= {f"{prefix} load {name}": force for name, force in reduced.load.items()}
    head = {"degree": reduced.degree, "components": reduced.components, "paths": told}
    arrays[f"{prefix} told"] = np.array(json.dumps(head | {"loads": list(reduced.load)}))
    return arrays


def _reduced(prefix: str, stored: Mapping[str, Any]) -> Reduced:
    told = json.loads(str(stored[f"{prefix} told"]))
    paths = []
    for i, row in enumerate(told["paths"]):
        s, r, z = stored[f"{prefix} path {i}"]
        pairs = {key: tuple(row[key]) for key in ("along", "across", "open_ends", "wet_ends")}
        paths.append(Path(s=s, r=r, z=z, **{**row, **pairs}))
    return Reduced(
        tuple(paths),
        told["degree"],
        told["components"],
        stored[f"{prefix} stiffness"],
        {name: stored[f"{prefix} load {name}"] for name in told["loads"]},
    )
