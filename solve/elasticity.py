"""Axisymmetric linear elasticity with full stiffness per region and thermal strain.

Problem
    Find u in the section with
        integral of (C (strain(u) - cte dT)) : strain(v) = pressure work on wet edges,
    u_z = u_theta = 0 on the plane of mid-length (a half turn about a radius maps the hull on
    itself there, also when its layup is not balanced), u_r = u_theta = 0 on the axis.
Formulation
    Whole-array products over all elements of a region (`solve.element_matrices`). The unknowns
    inside an element are eliminated element by element (static condensation), a third of all at
    degree 4; what is left is factorised once; unit solutions for one MPa of sea pressure and one
    kelvin of temperature, which any depth adds up. Where the residual asks for it, steps of
    refinement follow, with forces in which the shifts of a large hull do not round off
    (`System.forces`).
    u_theta is left out where no layer couples to it.
Units
    mm, N, MPa, K; forces are those of the whole circumference.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from geometry.mesh import JointMesh
from solve.element_matrices import pull, stiffness
from solve.elements import (
    ELEMENTS,
    IN_PLANE,
    Space,
    make_space,
    mapping,
    quadrature,
    reference_basis,
)
from solve.laminate import Material
from solve.linear import factorise, places, sum_of_elements

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

CHUNK = 200  # triangles at a time: what a processor keeps near
STEPS = 3  # of refinement; wide thin flat heads lose six digits to the first and two to the second
RESIDUAL = 1e-9  # of all nodal forces: a solution that leaves more is refined
RESULTANT = 1e-10  # of their sum: so is one whose residual adds up to more
COUPLING = 1e-9  # relative: below it a stiffness does not couple u_theta


@dataclass(frozen=True)
class System:
    """Stiffness and temperature load of a mesh.

    Attributes
    ----------
    mesh : JointMesh
    space : Space
    twist : bool
        Whether u_theta is an unknown.
    rows : (m, e) int array
        Unknowns of each triangle, by shape function, then component; unknown number =
        components * scalar number + component.
    blocks : (m, e, e) array, N/mm
        Stiffness of each triangle.
    hoop : (m, e) array, N/mm
        Forces on each triangle shifted along the radius by 1 mm.
    temperature : (n,) array
        Nodal forces of one kelvin (or of the field that `assemble` was given), N.
    heating : (m, e) array
        The same, triangle by triangle.
    """

    mesh: JointMesh
    space: Space
    twist: bool
    rows: Ints
    blocks: Floats
    hoop: Floats
    temperature: Floats
    heating: Floats

    @property
    def components(self) -> int:
        """Unknowns per scalar unknown."""
        return 3 if self.twist else 2

    def forces(self, u: Floats) -> Floats:
        """Nodal forces of displacements, stiffness times (n, k), N.

        A large thin hull shifts its triangles a thousand times farther than they strain, and the
        product with the stiffness would round off as much. So the shift of each triangle is taken
        apart: along the axis it makes no force, along the radius that of `hoop`. Nor do the
        forces of a triangle do other work on such shifts.
        """
        c, count = self.components, self.rows.shape[1] // self.components
        result = np.empty_like(u)
        for number, column in enumerate(u.T):
            own = column.take(self.rows)
            radial, axial = own[:, ::c], own[:, c - 1 :: c]
            axial -= axial.mean(axis=1, keepdims=True)
            work = np.einsum("me,me->m", self.hoop, own)[:, None]  # on a radial shift of 1 mm
            shift = radial.mean(axis=1, keepdims=True)
            radial -= shift
            forces = np.matmul(self.blocks, own[:, :, None])[:, :, 0]
            forces += self.hoop * shift
            radial, axial = forces[:, ::c], forces[:, c - 1 :: c]
            radial -= radial.mean(axis=1, keepdims=True) - work / count
            axial -= axial.mean(axis=1, keepdims=True)
            result[:, number] = np.bincount(self.rows.ravel(), forces.ravel(), len(u))
        return result

    def largest_forces(self, u: Floats) -> Floats:
        """Nodal forces if all parts of each had one sign, (n, k) N: what rounding is a share of."""
        return _add_up(self.rows, np.matmul(np.abs(self.blocks), np.abs(u[self.rows])), len(u))

    def unknowns(self, scalar: Ints, component: str) -> Ints:
        """Unknown numbers of a displacement component (``r``, ``t`` or ``z``)."""
        at = ("r", "t", "z").index(component) if self.twist else ("r", "z").index(component)
        return np.asarray(self.components * scalar + at)


def couples_twist(materials: dict[str, Material]) -> bool:
    """Whether some material drives u_theta from u_r, u_z or temperature."""
    for material in materials.values():
        scale = np.abs(material.C).max()
        if np.abs(material.C[np.ix_(IN_PLANE, (3, 5))]).max() > COUPLING * scale:
            return True
        expansion = np.abs(material.cte).max()
        if np.abs(material.cte[[3, 5]]).max() > COUPLING * max(expansion, 1e-30):
            return True
    return False


def assemble(
    mesh: JointMesh,
    materials: dict[str, Material],
    degree: int,
    twist: bool | None = None,
    rise: Callable[[Floats, Floats], Floats] | None = None,
) -> System:
    """Assemble stiffness and temperature load.

    Parameters
    ----------
    mesh : JointMesh
    materials : dict of str to Material
        By region name.
    degree : int
        Polynomial degree of the displacements.
    twist : bool, optional
        Force u_theta in or out; by default it is in where something couples to it.
    rise : callable, optional
        Temperature rise of the temperature load, K, from r and z, both (e, q); one kelvin
        everywhere by default.
    """
    twist = couples_twist(materials) if twist is None else twist
    space = make_space(mesh, degree)
    c = 3 if twist else 2
    xi, weight = quadrature(degree)
    shape, _ = reference_basis(2, xi)
    k = space.dofs.shape[1]
    rows = (c * space.dofs[:, :, None] + np.arange(c)).reshape(len(space.dofs), -1)

    blocks = np.empty((len(space.dofs), c * k, c * k))
    hoop, loads = np.empty((2, len(space.dofs), c * k))
    for number, name in enumerate(mesh.regions):
        material = materials[name]
        members = np.flatnonzero(mesh.region == number)
        for part in np.array_split(members, max(1, -(-len(members) // CHUNK))):
            at = mapping(mesh.points, space.corners[part], xi)
            volume = 2 * np.pi * at.radius * at.jacobian * weight
            blocks[part] = stiffness(at, volume, material.C, degree, twist)
            hoop[part] = pull(at, volume / at.radius, material.C[1], degree, twist)
            if rise is not None:
                volume = volume * rise(at.radius, mesh.points[space.corners[part], 1] @ shape)
            loads[part] = pull(at, volume, material.C @ material.cte, degree, twist)
    temperature = _add_up(rows, loads[:, :, None], c * space.size)[:, 0]
    return System(mesh, space, twist, rows, blocks, hoop, temperature, loads)


def _parts(count: int) -> list[slice]:
    """Cut triangles in parts of `CHUNK`."""
    return [slice(first, first + CHUNK) for first in range(0, count, CHUNK)]


def _add_up(rows: Ints, values: Floats, size: int) -> Floats:
    """Add values (m, e, k) of the triangles' unknowns up to (size, k)."""
    flat = values.reshape(-1, values.shape[2])
    columns = [np.bincount(rows.ravel(), column, minlength=size) for column in flat.T]
    return np.stack(columns, axis=1)


def edge_forces(
    mesh: JointMesh,
    space: Space,
    edge: str,
    traction: Callable[[Floats, Floats], Floats],
    beside: Ints | None = None,
) -> Floats:
    """Nodal forces of a traction on a named edge.

    Parameters
    ----------
    mesh : JointMesh
    space : Space
    edge : str
        Name of an edge of the mesh.
    traction : callable
        From positions and outward unit normals, both (2, n, q) as (r, z), to (2, n, q) in MPa.
    beside : int array, optional
        Only the sides of these triangles.

    Returns
    -------
    (size, 2) array
        Forces (F_r, F_z) of the whole circumference at the scalar unknowns, N.
    """
    sides = np.arange(len(space.edge_triangle[edge]))
    if beside is not None:
        sides = sides[np.isin(space.edge_triangle[edge], beside)]
    t, w = np.polynomial.legendre.leggauss(space.degree + 2)
    t, w = (t + 1) / 2, w / 2
    nodes = mesh.points[space.edge_nodes[edge][sides]]  # (n, 3, 2)
    shape = np.array([(1 - t) * (1 - 2 * t), t * (2 * t - 1), 4 * t * (1 - t)])
    slope = np.array([4 * t - 3, 4 * t - 1, 4 - 8 * t])
    x = np.einsum("nai,aq->inq", nodes, shape)
    tangent = np.einsum("nai,aq->inq", nodes - nodes[:, :1], slope)
    length = np.hypot(*tangent)
    normal = np.stack([tangent[1], -tangent[0]]) / length
    triangle = space.edge_triangle[edge][sides]
    inside = mesh.points[space.corners[triangle, :3]].mean(axis=1).T
    away = np.einsum("inq,inq->nq", normal, x - inside[:, :, None])
    normal *= np.sign(away)
    force = traction(x, normal) * (2 * np.pi * x[0] * length * w)
    result = np.zeros((space.size, 2))
    values = np.einsum("inq,kq->nki", force, _line_basis(space.degree, t))
    np.add.at(result, space.edge_dofs[edge][sides], values)
    return result


def edge_traction(
    system: System,
    edge: str,
    traction: Callable[[Floats, Floats], Floats],
    beside: Ints | None = None,
) -> Floats:
    """Load vector of a traction on a named edge, (n,) N; arguments as in `edge_forces`."""
    forces = edge_forces(system.mesh, system.space, edge, traction, beside)
    result = np.zeros((system.space.size, system.components))
    result[:, [0, -1]] = forces
    return result.ravel()


def _line_basis(degree: int, t: Floats) -> Floats:
    """Lagrange polynomials on equally spaced nodes of [0, 1], (degree + 1, q)."""
    node = np.linspace(0, 1, degree + 1)
    basis = np.ones((degree + 1, len(t)))
    for i in range(degree + 1):
        for j in range(degree + 1):
            if i != j:
                basis[i] *= (t - node[j]) / (node[i] - node[j])
    return basis


def pressure_load(system: System, beside: Ints | None = None) -> Floats:
    """Nodal forces of one MPa of sea pressure, end-cap load included.

    The sea presses on every wet edge. Where there is no head, the load of the missing closure,
    p * pi * R^2 on the ring's outer radius R, lies as an even traction on the ring's end face.
    Only what acts on the triangles `beside` the edges counts, where they are given.
    """
    load = edge_traction(system, "wet", lambda x, normal: -normal, beside)
    if "closure" in system.mesh.edges:
        radii = system.mesh.points[system.mesh.edges["closure"], 0]
        inner, outer = radii.min(), radii.max()
        even = outer**2 / (outer**2 - inner**2)
        load += edge_traction(system, "closure", lambda x, normal: -even * normal, beside)
    return load


def held_unknowns(system: System) -> Ints:
    """Unknowns that symmetry and axis hold at zero."""
    space = system.space
    held = [system.unknowns(space.edge_dofs["symmetry"], "z")]
    if system.twist:
        held.append(system.unknowns(space.edge_dofs["symmetry"], "t"))
    if "axis" in space.edge_dofs:
        held.append(system.unknowns(space.edge_dofs["axis"], "r"))
        if system.twist:
            held.append(system.unknowns(space.edge_dofs["axis"], "t"))
    return np.unique(np.concatenate([h.ravel() for h in held]))


def solve_loads(
    system: System, loads: Floats, held: Ints, values: Floats | None = None
) -> tuple[Floats, Floats]:
    """Displacements under several loads from one factorisation.

    Parameters
    ----------
    system : System
    loads : (n, k) array
        Nodal forces, N.
    held : (h,) int array
        Held unknowns.
    values : (h, k) array, optional
        Their displacements, mm; zero by default.

    Returns
    -------
    displacements : (n, k) array, mm
    forces : (n, k) array, N
        What they need; where nothing holds, the loads but for rounding.
    """
    solve = _condensed(system, held)
    if values is None:
        u = solve(loads)
    else:
        u = np.zeros_like(loads)
        u[held] = values
        u += solve(loads - system.forces(u))
    for step in range(STEPS + 1):
        forces = system.forces(u)
        rest = loads - forces
        rest[held] = 0
        if step == STEPS or _in_balance(rest, forces, system.components):
            break
        u += solve(rest)
    return u, forces


def _in_balance(rest: Floats, forces: Floats, components: int) -> bool:
    """Whether a first solution will do: what is left over is small, and adds up to still less."""
    force = rest.reshape(-1, components, rest.shape[1])[:, 1:].sum(axis=0)  # axial, around the axis
    left = np.abs(force).max(axis=0)
    small = np.linalg.norm(rest, axis=0) <= RESIDUAL * np.linalg.norm(forces, axis=0)
    return bool(np.all(small & (left <= RESULTANT * np.abs(forces).sum(axis=0))))


def _eliminate(blocks: Floats, inside: int) -> tuple[Floats, Floats, Floats]:
    """Take the last unknowns out of each triangle.

    Parameters
    ----------
    blocks : (m, e, e) array
        Stiffness of each triangle.
    inside : int
        Number i of unknowns to eliminate.

    Returns
    -------
    rest : (m, e - i, e - i) array
        Stiffness that is left.
    inverse : (m, i, i) array
        From forces on the eliminated to their displacements.
    spread : (m, i, e - i) array
        From displacements of the others to theirs, with the sign turned.
    """
    count, every, _ = blocks.shape
    rest = np.empty((count, every - inside, every - inside))
    inverse, spread = np.empty((count, inside, inside)), np.empty((count, inside, every - inside))
    for part in _parts(count):
        own = blocks[part]
        coupling = own[:, -inside:, :-inside]
        inverse[part] = np.linalg.inv(own[:, -inside:, -inside:])
        np.matmul(inverse[part], coupling, out=spread[part])
        np.matmul(coupling.transpose(0, 2, 1), spread[part], out=rest[part])
        np.subtract(own[:, :-inside, :-inside], rest[part], out=rest[part])
    return rest, inverse, spread


def _condensed(system: System, held: Ints) -> Callable[[Floats], Floats]:
    """Factorise without the unknowns inside triangles; solves for loads (n, k), held at nought."""
    # inside unknowns come last in the numbering of a triangle and of the space
    inside = system.components * ELEMENTS[system.space.degree].interior_dofs
    count, every = system.rows.shape
    outer, inner = np.split(system.rows, [every - inside], axis=1)
    border = system.components * system.space.size - inside * count
    stays = np.ones(border, bool)
    stays[held[held < border]] = False
    free = np.flatnonzero(stays)
    blocks = system.blocks
    if inside:
        blocks, inverse, spread = _eliminate(blocks, inside)
    own = places(outer, free, border)
    solve = factorise(sum_of_elements(own, blocks, len(free)), own, refined=False)

    def solved(loads: Floats) -> Floats:
        right = loads[:border]
        if inside:
            right = right - _add_up(
                outer, np.matmul(spread.transpose(0, 2, 1), loads.take(inner, axis=0)), border
            )
        u = np.zeros_like(loads)
        u[free] = solve(right[free])
        if inside:
            u[inner] = np.matmul(inverse, loads.take(inner, axis=0)) - np.matmul(
                spread, u.take(outer, axis=0)
            )
        return u

    return solved
