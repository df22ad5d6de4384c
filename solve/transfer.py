"""How the wall passes its load on: axial force through each bond, from nodal forces.

Problem
    The wall carries p * pi * R^2 at mid-length. Which bond brings how much of it?
Formulation
    integral of B^T stress over the wall's elements alone is the force that holds each of their
    nodes in balance: on an interface what the adhesive puts on the wall, at mid-length the
    reaction. Bonds, reaction and the sea's own push on the wall add up to nil, and the reaction
    is p * pi * R^2 to the solver's rounding: the joint carries the load it must.
Units
    N per MPa of sea pressure, whole circumference; positive towards growing z.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from solve.elasticity import edge_forces
from solve.elements import kinematics, quadrature
from solve.stress import element_stress, strain_from_gradients

if TYPE_CHECKING:
    from solve.answer import Answer


def axial_forces(answer: Answer, load: str, part: str) -> NDArray[np.float64]:
    """Sum the axial nodal forces on the elements of one part.

    Parameters
    ----------
    answer : Answer
    load : str
        ``pressure`` (per MPa) or ``temperature`` (per K).
    part : str
        ``wall``, ``adhesive``, ``ring`` or ``head``.

    Returns
    -------
    (size,) array
        N, at the scalar unknowns.
    """
    mesh, space = answer.mesh, answer.space
    xi, weight = quadrature(space.degree)
    total = np.zeros(space.size)
    for number, name in enumerate(mesh.regions):
        if answer.section.regions[name].part != part:
            continue
        members = np.flatnonzero(mesh.region == number)
        kin = kinematics(mesh.points, space.corners[members], space.degree, xi)
        strain = strain_from_gradients(kin, answer.displacement[load][space.dofs[members]])
        stress = element_stress(answer, load, strain, mesh.region[members])
        volume = 2 * np.pi * kin.radius * kin.jacobian * weight
        force = np.einsum("eqk,eq->ek", kin.by_z, stress[2] * volume)
        force += np.einsum("eqk,eq->ek", kin.by_r, stress[4] * volume)
        total += np.bincount(space.dofs[members].ravel(), force.ravel(), minlength=space.size)
    return total


def axial_transfer(answer: Answer) -> list[tuple[str, float, float]]:
    """Share out the axial force on the wall under one MPa of sea pressure, by surface.

    Returns
    -------
    list of (surface, force, share)
        The bonds (with their corner and fillet), then mid-length; force in N on the wall,
        positive towards growing z; share of p * pi * R^2. A node where two bonds meet counts
        with the first of them. The last row is the sea's own axial push on the wall's wet faces.
        All rows add up to nil.
    """
    mesh, space = answer.mesh, answer.space
    forces = axial_forces(answer, "pressure", "wall")
    wall = [i for i, n in enumerate(mesh.regions) if answer.section.regions[n].part == "wall"]
    beside = np.flatnonzero(np.isin(mesh.region, wall))
    sea = edge_forces(mesh, space, "wet", lambda x, normal: -normal, beside)[:, 1]
    forces -= sea
    cap = np.pi * answer.section.outer_radius**2
    taken = np.zeros(len(forces), bool)
    groups: dict[str, list[str]] = {}
    for name in space.edge_dofs:
        adhesive, _, other = name.partition("|")
        if other == "wall":
            groups.setdefault(_bond_of(adhesive), []).append(name)
    rows = []
    for surface, names in [*groups.items(), ("mid-length", ["symmetry"])]:
        nodes = np.unique(np.concatenate([space.edge_dofs[n].ravel() for n in names]))
        nodes = nodes[~taken[nodes]]
        taken[nodes] = True
        force = float(forces[nodes].sum())
        rows.append((surface, force, force / cap))
    push = float(sea.sum())
    return [*rows, ("sea on the wall's own faces", push, push / cap)]


def _bond_of(region: str) -> str:
    """Name the bond of a region of adhesive: ``corner-inner`` belongs to the inner bond."""
    return f"{region.split('-')[1]} bond"
