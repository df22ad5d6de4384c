"""From a case and its mesh to the answer: unit solutions, with their proofs.

Problem
    Solve the section for one MPa of sea pressure and for one kelvin of temperature.
Formulation
    `solve.elasticity`; every solve is checked before it is handed on:
    - residual: |K u - f| over |f| on the free unknowns, which may not exceed 1e-8 or, on very
      large or strongly graded hulls, a few times what rounding alone makes of |K| |u|;
    - reaction at mid-length: p * pi * R^2 for pressure, none for temperature;
    - energy: work of the loads against strain energy summed from stress and strain.
    A breach raises; it is never a footnote.
Units
    mm, N, MPa, K.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from geometry.forms import draw_section
from geometry.mesh import JointMesh
from geometry.section import Section
from solve.as_made import adhesive_card, wall_cards
from solve.elasticity import (
    System,
    assemble,
    held_unknowns,
    pressure_load,
    solve_loads,
)
from solve.elements import Space, kinematics, quadrature
from solve.laminate import Material, layer_material, ply_material
from solve.linear import SolveError as SolveError
from solve.stress import strain_from_gradients

if TYPE_CHECKING:
    from geometry.case import Case

Floats = NDArray[np.float64]

DEGREE = 4  # of the displacements; chosen by measurement (DEVELOPERS.md)
LOADS = ("pressure", "temperature")  # per MPa, per K
RESIDUAL = 1e-8
ROUNDING = 4 * np.finfo(float).eps
REACTION = 1e-8  # of p * pi * R^2
ENERGY = 1e-8


@dataclass(frozen=True)
class Proof:
    """One check of a solve: how far it is off and how far it may be."""

    name: str
    load: str
    value: float
    allowed: float


@dataclass(frozen=True)
class Answer:
    """Unit solutions of a case.

    Attributes
    ----------
    case : Case
    section : Section
    mesh : JointMesh
    space : Space
    materials : dict of str to Material
        By region name.
    displacement : dict of str to (n, 3) array
        (u_r, u_theta, u_z) at the scalar unknowns of `space`, mm per MPa (``pressure``) and
        mm per K (``temperature``).
    proofs : tuple of Proof
    """

    case: Case
    section: Section
    mesh: JointMesh
    space: Space
    materials: dict[str, Material]
    displacement: dict[str, Floats]
    proofs: tuple[Proof, ...]


def region_materials(case: Case, section: Section) -> dict[str, Material]:
    """Material of each region: smeared layers of the wall, cards elsewhere, all as made."""
    plies, adhesive = wall_cards(case), adhesive_card(case)
    return {
        name: layer_material(section.layers[region.material], plies)
        if region.part == "wall"
        else ply_material(
            adhesive if region.part == "adhesive" else case.materials[region.material], 0.0
        )
        for name, region in section.regions.items()
    }


def solve(
    case: Case, mesh: JointMesh, degree: int = DEGREE, section: Section | None = None
) -> Answer:
    """Solve a meshed case for its unit loads.

    Parameters
    ----------
    case : Case
    mesh : JointMesh
        Mesh of the case's section.
    degree : int
        Polynomial degree of the displacements.
    section : Section, optional
        The case's section, where it is drawn already.

    Returns
    -------
    Answer

    Raises
    ------
    SolveError
        When residual, reaction or energy is off by more than it may be.
    """
    section = section or draw_section(case)
    materials = region_materials(case, section)
    system = assemble(mesh, materials, degree)
    loads = np.stack([pressure_load(system), system.temperature], axis=1)
    held = held_unknowns(system)
    u, forces = solve_loads(system, loads, held)
    proofs = prove(system, materials, loads, held, u, forces, section.outer_radius)
    failed = [c for c in proofs if not c.value <= c.allowed]
    if failed:
        worst = failed[0]
        raise SolveError(
            f"{worst.name} under {worst.load} is off by {worst.value:.2e}, "
            f"allowed {worst.allowed:.0e}: the solution is not used"
        )
    return Answer(
        case=case,
        section=section,
        mesh=mesh,
        space=system.space,
        materials=materials,
        displacement={load: _by_component(system, u[:, i]) for i, load in enumerate(LOADS)},
        proofs=proofs,
    )


def _by_component(system: System, u: Floats) -> Floats:
    result = np.zeros((system.space.size, 3))
    result[:, [0, 1, 2] if system.twist else [0, 2]] = u.reshape(-1, system.components)
    return result


def prove(
    system: System,
    materials: dict[str, Material],
    loads: Floats,
    held: NDArray[np.int64],
    u: Floats,
    forces: Floats,
    outer_radius: float,
) -> tuple[Proof, ...]:
    """Residual, reaction and energy of the two unit solutions.

    Parameters
    ----------
    system : System
    materials : dict of str to Material
    loads, u, forces : (n, 2) arrays
        Nodal forces, displacements and the forces that these need, for `LOADS`.
    held : (h,) int array
    outer_radius : float
        R in the axial load p * pi * R^2, mm.
    """
    rest = forces - loads
    free = np.ones(len(u), bool)
    free[held] = False
    end_cap = np.pi * outer_radius**2
    middle = np.unique(system.unknowns(system.space.edge_dofs["symmetry"], "z"))
    reaction = rest[middle].sum(axis=0)
    # temperature alone needs no reaction: measured against the largest internal force
    scale = (end_cap, float(np.abs(loads[:, 1]).sum()))
    work = np.einsum("nk,nk->k", u, loads)
    rounding = ROUNDING * system.largest_forces(u)[free]
    stored = _stored(system, materials, [_by_component(system, u[:, i]) for i in range(2)])
    proofs = []
    for i, load in enumerate(LOADS):
        wanted = end_cap if load == "pressure" else 0.0
        load_norm = float(np.linalg.norm(loads[:, i]))
        residual = float(np.linalg.norm(rest[free, i])) / load_norm
        allowed = max(RESIDUAL, float(np.linalg.norm(rounding[:, i])) / load_norm)
        proofs += [
            Proof("residual", load, residual, allowed),
            Proof("reaction", load, float(abs(reaction[i] - wanted) / scale[i]), REACTION),
            Proof("energy", load, float(abs(stored[i] / work[i] - 1)), ENERGY),
        ]
    return tuple(proofs)


def _stored(system: System, materials: dict[str, Material], solutions: list[Floats]) -> Floats:
    """Sum strain : C : strain, N mm, at integration points; (k,) for k solutions."""
    mesh, space = system.mesh, system.space
    xi, weight = quadrature(space.degree)
    total = np.zeros(len(solutions))
    for number, name in enumerate(mesh.regions):
        members = np.flatnonzero(mesh.region == number)
        kin = kinematics(mesh.points, space.corners[members], space.degree, xi)
        volume = 2 * np.pi * kin.radius * kin.jacobian * weight
        for i, u in enumerate(solutions):
            strain = strain_from_gradients(kin, u[space.dofs[members]]).reshape(6, -1)
            stress = materials[name].C @ strain
            total[i] += float(np.sum(strain * stress, axis=0) @ volume.ravel())
    return total


def solve_twice(case: Case, mesh: JointMesh, coarser: JointMesh) -> tuple[Answer, Answer]:
    """Solve on the mesh of the case and on a coarser companion.

    How far a number moves between the two shows its numerical error; as the coarser mesh is the
    less accurate by far, the movement is an overestimate for the answer that is used.

    Parameters
    ----------
    case : Case
    mesh : JointMesh
    coarser : JointMesh
        Of twice the element size.

    Returns
    -------
    answer, companion : Answer
    """
    return solve(case, mesh), solve(case, coarser)
