"""The step from a mesh to unit solutions, for the workflow and the command line."""

from __future__ import annotations

import sys
from pathlib import Path

from geometry.case import read_case
from geometry.commands import run
from geometry.errors import CaseError
from geometry.forms import draw_section
from geometry.mesh import MeshError, mesh_section, read_mesh
from solve.answer import SolveError, solve_twice
from solve.answer_file import save_answers
from solve.collapse import save_collapse, solve_collapse
from solve.disbond_file import save_disbonds
from solve.joint_disbonds import solve_disbonds


def joint(case_file: Path, mesh_file: Path, answer_file: Path) -> None:
    """Solve a meshed case and, to see the error, on a mesh of twice the element size."""
    case = read_case(case_file)
    coarser = mesh_section(draw_section(case), case.mesh.level - 1)
    save_answers(solve_twice(case, read_mesh(mesh_file), coarser), answer_file)


def flaws(case_file: Path, flaws_file: Path) -> None:
    """Reduce a case's joint to the faces of its bonds, along which it may come apart."""
    save_disbonds(solve_disbonds(read_case(case_file)), flaws_file)


def buckling(case_file: Path, buckling_file: Path) -> None:
    """Find the pressure, and the shape, in which the assembled hull buckles."""
    save_collapse(solve_collapse(read_case(case_file)), buckling_file)


if __name__ == "__main__":
    sys.exit(
        run(
            "solve",
            {
                "joint": (joint, "CASE.yaml MESH.msh ANSWER.npz"),
                "flaws": (flaws, "CASE.yaml FLAWS.npz"),
                "buckling": (buckling, "CASE.yaml BUCKLING.npz"),
            },
            (CaseError, MeshError, SolveError, OSError),
        )
    )
