"""Collapse of a case's hull: the scan over all waves, with and without the temperature change.

Problem
    At which pressure does the assembled hull (wall, bonds, ring and head) buckle elastically, in
    which shape, and how sure is that number?
Formulation
    `solve.buckling` on a mesh of its own: modes are smooth, so that corners need no small
    elements (`HULL`). The axisymmetric state comes from the same mesh. What the critical mode's
    pressure moves by on a mesh of twice the element size tells the numerical error.
    The result knows the temperature change, not the depth: a deeper dive solves nothing anew.
Units
    mm, MPa, K.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from geometry.depends import temperature_change
from geometry.files import written_aside
from geometry.forms import draw_section
from geometry.mesh import JointMesh, mesh_section
from geometry.sizes import Grading
from solve.answer import Answer, SolveError, solve
from solve.array_file import read_arrays
from solve.buckling import Mode, Scan, SecondVariation, lowest_modes, scan, second_variation
from solve.elements import Space, make_space
from solve.motions import positions

if TYPE_CHECKING:
    from geometry.case import Case

HULL = Grading(
    bond_corner=1.0,
    metal_corner=0.5,
    open_edge=1.0,
    growth=1.0,
    through_bond=1,
    along_bond=4,
    arc=20.0,
    wall=1.0,
    free=1.5,
)
"""Sizes for smooth modes: a wall thickness, a bond's thickness at its corners."""
LEVEL, COARSER = 0, -1
SCANS = ("at_duty", "without_change")  # in an npz file
DEGREE = 3


@dataclass(frozen=True)
class Collapse:
    """Buckling of a hull.

    Attributes
    ----------
    mesh : JointMesh
    space : Space
    change : float
        Temperature change whose prestress is in `at_duty`, K.
    at_duty : Scan
        With the prestress of the temperature change.
    without_change : Scan
        Without it; modes in the same order as far as both reach.
    coarser : float
        Pressure of the critical mode on a mesh of twice the element size, MPa.
    """

    mesh: JointMesh
    space: Space
    change: float
    at_duty: Scan
    without_change: Scan
    coarser: float

    @property
    def place(self) -> tuple[str, float, float]:
        """Part that moves most in the critical mode, and where: r and z, mm."""
        size = np.linalg.norm(self.at_duty.critical.shape, axis=1)
        node = int(np.argmax(size))
        r, z = positions(self.mesh, self.space)[:, node]
        triangle = np.flatnonzero((self.space.dofs == node).any(axis=1))[0]
        return self.mesh.regions[self.mesh.region[triangle]], float(r), float(z)


def solve_collapse(case: Case) -> Collapse:
    """Find the collapse of a case's hull.

    Raises
    ------
    SolveError
        When a solution does not prove itself or no least pressure is found.
    """
    change = temperature_change(case)
    answer = _solved(case, LEVEL)
    system = _on_state(answer, change)
    at_duty = scan(system)
    critical = at_duty.critical
    coarse = coarser_state(case, change)
    coarser = lowest_modes(coarse, critical.waves, critical.symmetry)[0]
    return Collapse(
        mesh=system.mesh,
        space=system.space,
        change=change,
        at_duty=at_duty,
        without_change=scan(_on_state(answer, 0.0)),
        coarser=coarser.pressure,
    )


def coarser_state(case: Case, change: float) -> SecondVariation:
    """Assemble a case on the coarser mesh for modes; `change` is that of the temperature, K."""
    return _on_state(_solved(case, COARSER), change)


def _solved(case: Case, level: int) -> Answer:
    """Solve the axisymmetric state on a mesh for modes."""
    return solve(case, mesh_section(draw_section(case), level, grading=HULL), DEGREE)


def _on_state(answer: Answer, change: float) -> SecondVariation:
    kept_round = [edge for edge in ("closure",) if edge in answer.mesh.edges]
    return second_variation(answer, change, kept_round=kept_round)


def save_collapse(collapse: Collapse, path: Path) -> None:
    """Write a collapse as one npz file; of the shapes the critical one alone."""
    mesh = collapse.mesh
    arrays: dict[str, Any] = {
        "degree": np.array(collapse.space.degree),
        "change": np.array(collapse.change),
        "coarser": np.array(collapse.coarser),
        "shape": collapse.at_duty.critical.shape,
        "points": mesh.points,
        "triangles": mesh.triangles,
        "region": mesh.region,
        "regions": np.array(mesh.regions),
    }
    for name in SCANS:
        modes = getattr(collapse, name).modes
        arrays[f"{name} waves"] = np.array([mode.waves for mode in modes])
        arrays[f"{name} symmetry"] = np.array([mode.symmetry for mode in modes])
        arrays[f"{name} pressure"] = np.array([mode.pressure for mode in modes])
    arrays |= {f"edge {name}": nodes for name, nodes in mesh.edges.items()}
    with written_aside(path) as aside:
        np.savez(aside, **arrays)


def load_collapse(path: Path) -> Collapse:
    """Read what `save_collapse` wrote; modes but the critical one come without a shape.

    Raises
    ------
    SolveError
        When the file does not hold a collapse.
    DamagedFileError
        When it is not as it was written.
    """
    try:
        arrays = read_arrays(path)
        mesh = JointMesh(
            arrays["points"],
            arrays["triangles"],
            arrays["region"],
            tuple(str(name) for name in arrays["regions"]),
            {n.removeprefix("edge "): a for n, a in arrays.items() if n.startswith("edge ")},
        )
        return Collapse(
            mesh=mesh,
            space=make_space(mesh, int(arrays["degree"])),
            change=float(arrays["change"]),
            at_duty=_scan(arrays, "at_duty"),
            without_change=_scan(arrays, "without_change"),
            coarser=float(arrays["coarser"]),
        )
    except (KeyError, ValueError) as error:
        raise SolveError(f"{path}: holds no buckling modes; solve again ({error})") from error


def _scan(arrays: dict[str, NDArray[Any]], name: str) -> Scan:
    pressure = arrays[f"{name} pressure"]
    columns = zip(arrays[f"{name} waves"], arrays[f"{name} symmetry"], pressure, strict=True)
    none = np.zeros((0, 3))
    first = int(np.argmin(pressure)) if name == SCANS[0] else -1
    return Scan(
        tuple(
            Mode(int(n), str(kind), float(p), arrays["shape"] if i == first else none)
            for i, (n, kind, p) in enumerate(columns)
        )
    )
