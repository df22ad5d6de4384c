"""Answers in files: unit solutions beside the mesh they were found on.

Formulation
    `answer.npz` holds the answer on the mesh of the case and its coarser companion with the mesh
    of that one. Files of kept answers spare a later run the solves of this one: the finer answers
    that a missed target took, and those of the variants that process costs compare. They stand
    under a digest of the case's own answer; a file that belongs to another answer is taken as
    empty, so it may be kept from run to run.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from geometry.files import written_aside
from geometry.forms import draw_section
from geometry.mesh import JointMesh
from solve.answer import LOADS, Answer, Proof, SolveError, region_materials
from solve.array_file import arrays_digest, read_arrays
from solve.elements import make_space

if TYPE_CHECKING:
    from geometry.case import Case

COARSER = "coarser_"
Arrays = dict[str, Any]


def save_answers(answers: tuple[Answer, Answer], path: Path) -> None:
    """Write an answer and its companion, with the companion's mesh, as one npz file."""
    answer, companion = answers
    arrays = _solution(answer, "") | _solution(companion, COARSER) | _mesh(companion, COARSER)
    arrays["mesh digest"] = np.array(mesh_digest(answer.mesh))
    with written_aside(path) as aside:
        np.savez(aside, **arrays)


def load_answers(case: Case, mesh: JointMesh, path: Path) -> tuple[Answer, Answer]:
    """Read what `save_answers` wrote.

    Raises
    ------
    SolveError
        When the file does not belong to the mesh.
    DamagedFileError
        When it is not as it was written.
    """
    stored = read_arrays(path)
    if str(stored.get("mesh digest")) != mesh_digest(mesh):
        raise SolveError(f"{path}: does not belong to this mesh; solve again")
    coarser = _read_mesh(stored, COARSER)
    answer = _read(stored, "", case, mesh, path)
    return answer, _read(stored, COARSER, case, coarser, path)


@dataclass(frozen=True)
class Kept:
    """An answer as a file keeps it; what it is an answer to is not in the file."""

    arrays: Arrays
    path: Path

    def answer(self, case: Case) -> Answer:
        """Give the answer to a case, which must be the one that was solved."""
        return _read(self.arrays, "", case, _read_mesh(self.arrays, ""), self.path)


def save_kept(answer: Answer, kept: Mapping[str, Answer], path: Path) -> None:
    """Write answers by name, with their meshes, for the answer that they stand beside."""
    arrays: Arrays = {"digest": np.array(answer_digest(answer)), "names": np.array(list(kept), str)}
    for i, one in enumerate(kept.values()):
        arrays |= _solution(one, f"{i} ") | _mesh(one, f"{i} ")
    with written_aside(path) as aside:
        np.savez(aside, **arrays)


def load_kept(answer: Answer, path: Path) -> dict[str, Kept]:
    """Read answers by name; none from a file that is missing, broken or of another answer."""
    try:
        arrays = read_arrays(path)
    except OSError:
        return {}
    if str(arrays.get("digest")) != answer_digest(answer):
        return {}
    return {
        str(name): Kept(
            {n.removeprefix(f"{i} "): v for n, v in arrays.items() if n.startswith(f"{i} ")}, path
        )
        for i, name in enumerate(arrays["names"])
    }


def save_finer(answer: Answer, finer: Mapping[int, Answer], path: Path) -> None:
    """Write finer answers by mesh level, for the answer that they refine."""
    save_kept(answer, {str(level): one for level, one in finer.items()}, path)


def load_finer(answer: Answer, path: Path) -> dict[int, Answer]:
    """Read finer answers by mesh level; see `load_kept`."""
    return {int(n): kept.answer(answer.case) for n, kept in load_kept(answer, path).items()}


def answer_digest(answer: Answer) -> str:
    """Digest what an answer is: where its nodes are and how they move, to the last bit."""
    return arrays_digest(answer.mesh.points, *(answer.displacement[load] for load in LOADS))


def mesh_digest(mesh: JointMesh) -> str:
    """Digest a mesh: its nodes, its triangles and the regions they lie in."""
    return arrays_digest(mesh.points, mesh.triangles, mesh.region)


def _solution(answer: Answer, prefix: str) -> Arrays:
    proofs = [[p.name, p.load, p.value, p.allowed] for p in answer.proofs]
    return {
        f"{prefix}degree": np.array(answer.space.degree),
        f"{prefix}proofs": np.array(json.dumps(proofs)),
    } | {f"{prefix}{load}": u for load, u in answer.displacement.items()}


def _mesh(answer: Answer, prefix: str) -> Arrays:
    mesh = answer.mesh
    arrays: Arrays = {
        f"{prefix}points": mesh.points,
        f"{prefix}triangles": mesh.triangles,
        f"{prefix}region": mesh.region,
        f"{prefix}regions": np.array(mesh.regions),
    }
    return arrays | {f"{prefix}edge {name}": nodes for name, nodes in mesh.edges.items()}


def _read_mesh(stored: Mapping[str, Any], prefix: str) -> JointMesh:
    edge = f"{prefix}edge "
    return JointMesh(
        stored[f"{prefix}points"],
        stored[f"{prefix}triangles"],
        stored[f"{prefix}region"],
        tuple(str(name) for name in stored[f"{prefix}regions"]),
        {n.removeprefix(edge): stored[n] for n in stored if n.startswith(edge)},
    )


def _read(
    stored: Mapping[str, Any], prefix: str, case: Case, mesh: JointMesh, path: Path
) -> Answer:
    section = draw_section(case)
    space = make_space(mesh, int(stored[f"{prefix}degree"]))
    displacement = {load: stored[f"{prefix}{load}"] for load in LOADS}
    if any(u.shape != (space.size, 3) for u in displacement.values()):
        raise SolveError(f"{path}: does not belong to this mesh; solve again")
    proofs = tuple(Proof(*row) for row in json.loads(str(stored[f"{prefix}proofs"])))
    materials = region_materials(case, section)
    return Answer(case, section, mesh, space, materials, displacement, proofs)
