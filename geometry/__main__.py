"""The steps from a case file to a mesh, for the workflow and the command line."""

from __future__ import annotations

import json
import sys
from pathlib import Path

from geometry.case import read_case, write_case
from geometry.commands import run
from geometry.errors import CaseError
from geometry.files import written_aside
from geometry.forms import draw_section
from geometry.mesh import MeshError, mesh_section
from geometry.mesh_size import check_size
from geometry.schema import case_schema


def check(case_file: Path, inputs: Path) -> None:
    """Read and check a case, and write it as it was read."""
    case = read_case(case_file)
    check_size(case, draw_section(case))
    with written_aside(inputs) as aside:
        write_case(case, aside)


def mesh(case_file: Path, mesh_file: Path) -> None:
    """Mesh the section of a case."""
    case = read_case(case_file)
    mesh_section(draw_section(case), case.mesh.level, mesh_file)


def schema(schema_file: Path) -> None:
    """Write the JSON Schema of case files, for editors."""
    with written_aside(schema_file, digested=False) as aside:
        aside.write_text(json.dumps(case_schema(), indent=2) + "\n", encoding="utf-8")


if __name__ == "__main__":
    sys.exit(
        run(
            "geometry",
            {
                "check": (check, "CASE.yaml INPUTS.yaml"),
                "mesh": (mesh, "CASE.yaml MESH.msh"),
                "schema": (schema, "SCHEMA.json"),
            },
            (CaseError, MeshError, OSError),
        )
    )
