"""The manifest of a folder of results: what made them, and what each file was then.

Formulation
    Digests are SHA-256. That of the inputs is of the case as it was read, that of the sources of
    the three packages; those of mesh and answer are of their numbers, to the last bit, whatever
    file they stand in. Every result of the workflow's own target is listed with the digest of its
    bytes. A folder is sound when its files are those; that it was made by other sources, another
    Python or other libraries than those at hand is told beside.
"""

from __future__ import annotations

import json
import platform
from hashlib import sha256
from pathlib import Path
from typing import Any

from geometry.case import Case, read_case
from geometry.files import DamagedFileError, file_digest, intact
from geometry.mesh import read_mesh
from geometry.sources import source_digest
from post.results import RESULTS
from post.versions import library_versions
from solve.answer import Answer
from solve.answer_file import answer_digest, load_answers, mesh_digest

MANIFEST = "manifest.json"


def provenance(answer: Answer) -> dict[str, str]:
    """Digest what an answer came from, and the answer."""
    return {
        "inputs": case_digest(answer.case),
        "sources": source_digest(),
        "mesh": mesh_digest(answer.mesh),
        "answer": answer_digest(answer),
    }


def case_digest(case: Case) -> str:
    """Digest a case as it was read, with every card it uses."""
    return sha256(case.model_dump_json().encode()).hexdigest()


def describe(folder: Path) -> dict[str, Any]:
    """Describe a folder that holds all results.

    Raises
    ------
    DamagedFileError
        When a result is not as its step wrote it: no manifest vouches for that.
    OSError
        When one is missing.
    """
    case = read_case(intact(folder / "inputs.yaml"))
    answer, _ = load_answers(case, read_mesh(folder / "mesh.msh"), folder / "answer.npz")
    return {
        "name": folder.name,
        "digests": provenance(answer),
        "versions": library_versions(),
        "platform": platform.platform(),
        "files": {name: file_digest(intact(folder / name)) for name in listed(folder)},
    }


def listed(folder: Path) -> list[str]:
    """Name the results, those of a folder within one by one."""
    names = []
    for name in RESULTS:
        path = folder / name
        inner = sorted(path.glob("[!.]*")) if path.is_dir() else [path]
        names += [each.relative_to(folder).as_posix() for each in inner]
    return names


def read_manifest(path: Path) -> dict[str, Any]:
    """Read a manifest.

    Raises
    ------
    DamagedFileError
        When it is none, or not as it was written.
    """
    try:
        told = json.loads(intact(path).read_text(encoding="utf-8"))
        if not all(isinstance(told[key], dict) for key in ("digests", "versions", "files")):
            raise KeyError
    except (ValueError, KeyError, TypeError) as error:
        raise DamagedFileError(path, "is no manifest") from error
    return dict(told)


def changed_files(folder: Path, told: dict[str, Any]) -> list[str]:
    """Say in a line each which files of a folder are not those of its manifest."""
    lines = []
    for name, digest in told["files"].items():
        path = folder / name
        if not path.is_file():
            lines.append(f"{path}: missing")
        elif file_digest(path) != digest:
            lines.append(f"{path}: not the file of the manifest")
    strange = [name for name in listed(folder) if name not in told["files"]]
    return lines + [f"{folder / name}: not in the manifest" for name in strange]


def changed_report(report: Path, told: dict[str, Any]) -> bool:
    """Say if a report is not that of a manifest."""
    return bool(file_digest(report) != told["files"].get("report.html"))


def made_elsewhere(told: dict[str, Any]) -> list[str]:
    """Say in a line each what made the results and is not what is at hand."""
    lines = []
    if told["digests"].get("sources") != source_digest():
        lines.append("made by other sources of this project than those at hand")
    here = library_versions()
    lines += [
        f"made with {name} {version}; at hand is {here.get(name, 'none')}"
        for name, version in told["versions"].items()
        if here.get(name) != version
    ]
    return lines
