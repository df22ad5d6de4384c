"""Solids of revolution that no case describes, solved with the same mesh and elements.

Problem
    Published problems are tubes, spheres and laps under loads and supports of their own. They are
    drawn as outlines and pass through the same section, mesh, assembly and stress recovery as a
    joint does, so that a check of them is a check of the joint's code.
Formulation
    Unit solutions of named loads from one factorisation; weights add them up. A load is a vector
    of nodal forces, or a motion prescribed on an edge, or both.
Frame and units
    As everywhere: displacement (u_r, u_theta, u_z), mm, N, MPa, K; forces and torques are those
    of the whole circumference.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray
from skfem.quadrature import get_quadrature

from geometry.layup import Layer
from geometry.mesh import JointMesh, mesh_section
from geometry.planar import conform, name_edges
from geometry.section import BondLine, Outline, Region, Section
from geometry.sizes import Grading
from solve.answer import DEGREE
from solve.elasticity import System, assemble, edge_traction, held_unknowns, solve_loads
from solve.elements import ELEMENTS, Space, kinematics, reference_basis
from solve.laminate import Material
from solve.stress import element_stress, locate, strain_from_gradients, stress_at

Floats = NDArray[np.float64]
Motion = Callable[[Floats, Floats], Floats]


def make_section(
    outlines: Sequence[Outline],
    parts: Mapping[str, str],
    *,
    thickness: float,
    closure_z: float | None = None,
    bonds: Sequence[BondLine] = (),
) -> Section:
    """Make a section of outlines.

    Parameters
    ----------
    outlines : sequence of Outline
    parts : mapping of str to str
        Part of each region: ``wall``, ``adhesive``, ``ring`` or ``head``.
    thickness : float
        Of the wall, a scale for its element sizes, mm.
    closure_z : float, optional
        Height of the loaded or held end face.
    bonds : sequence of BondLine
    """
    regions = {name: Region(name, part, name) for name, part in parts.items()}
    points, edges, faces = conform(outlines, regions)
    return Section(
        points=points,
        edges=edges,
        faces=faces,
        regions=regions,
        layers={"wall": Layer("wall", 0.0, thickness, (), 1)},
        bonds=tuple(bonds),
        named=name_edges(points, edges, faces, regions, closure_z),
        outer_radius=float(points[:, 0].max()),
    )


def rectangle(region: str, r: tuple[float, float], z: tuple[float, float]) -> Outline:
    """Outline of a tube's wall: r and z from and to, mm."""
    return Outline(region, ((r[0], z[0]), (r[1], z[0]), (r[1], z[1]), (r[0], z[1])))


def torque_load(system: System, edge: str) -> Floats:
    """Nodal forces (n,) of a torque of 1 N mm on a flat end face, sheared in proportion to r."""
    radii = system.mesh.points[system.mesh.edges[edge], 0]
    polar = np.pi / 2 * (radii.max() ** 4 - radii.min() ** 4)

    def shear(x: Floats, normal: Floats) -> Floats:
        return np.stack([x[0] / polar, np.zeros_like(x[0])])

    # integrated as if it were radial, then turned a right angle about the hull's axis
    radial = edge_traction(system, edge, shear).reshape(-1, 3)
    return np.asarray(radial[:, [1, 0, 2]].ravel())


@dataclass(frozen=True)
class Held:
    """A displacement component (``r``, ``t`` or ``z``) prescribed along a named edge.

    Attributes
    ----------
    edge, component : str
    motion : dict of str to callable
        Displacement in mm from r and z, by the name of the load; zero under other loads.
    """

    edge: str
    component: str
    motion: Mapping[str, Motion] = field(default_factory=dict)


@dataclass(frozen=True)
class Solid:
    """Unit solutions of a solid.

    Attributes
    ----------
    system : System
    materials : dict of str to Material
        By region.
    displacement : dict of str to (n, 3) array
        (u_r, u_theta, u_z) at the scalar unknowns, by load.
    internal : dict of str to (n, 3) array
        Nodal forces: those of the stress, N; at held unknowns the reaction.
    """

    system: System
    materials: dict[str, Material]
    displacement: dict[str, Floats]
    internal: dict[str, Floats]

    @property
    def mesh(self) -> JointMesh:
        """Mesh of the section."""
        return self.system.mesh

    @property
    def space(self) -> Space:
        """Space of each displacement component."""
        return self.system.space

    def stress(self, weights: Mapping[str, float], points: Floats, *regions: str) -> Floats:
        """Stress (6, n), MPa, at points (2, n) under a sum of loads, from the given regions."""
        unit = stress_at(self, points, regions)
        return sum((w * unit[load] for load, w in weights.items()), np.zeros((6, points.shape[1])))

    def motion(self, weights: Mapping[str, float], points: Floats) -> Floats:
        """Displacement (3, n), mm, at points (2, n) under a sum of loads."""
        space = self.space
        everywhere = np.arange(len(space.corners))
        point, element, xi = locate(self.mesh, space.corners, everywhere, points)
        first = np.unique(point, return_index=True)[1]
        if len(first) < points.shape[1]:
            raise ValueError("a point lies outside the mesh")
        value, _ = reference_basis(space.degree, xi[:, first])
        u = sum((w * self.displacement[load] for load, w in weights.items()), np.zeros(3))
        return np.asarray(np.einsum("pki,kp->ip", u[space.dofs[element[first]]], value))

    def resultant(self, weights: Mapping[str, float], edge: str) -> tuple[float, float]:
        """Axial force, N, and torque, N mm, of the stress on a straight edge that ends the mesh."""
        nodes, first = np.unique(self.space.edge_dofs[edge], return_index=True)
        radius = edge_positions(self.system, edge).reshape(-1, 2)[first, 0]
        forces = sum((w * self.internal[load][nodes] for load, w in weights.items()), np.zeros(3))
        return float(forces[:, 2].sum()), float(forces[:, 1] @ radius)

    def errors(
        self, weights: Mapping[str, float], exact: Callable[[Floats, Floats], tuple[Floats, Floats]]
    ) -> tuple[float, float]:
        """Relative errors in the mean square of displacement and stress.

        Parameters
        ----------
        weights : mapping of str to float
        exact : callable
            From r and z, both (e, q), to displacement (3, e, q) and stress (6, e, q).

        Returns
        -------
        displacement, stress : float
            sqrt(integral of |ours - exact|^2 / integral of |exact|^2) over the volume.
        """
        space, mesh = self.space, self.mesh
        # the leading term of the error is one order higher than what we compute with
        xi, weight = get_quadrature(ELEMENTS[space.degree](), 2 * space.degree + 2)
        kin = kinematics(mesh.points, space.corners, space.degree, xi)
        shape, _ = reference_basis(2, xi)
        value, _ = reference_basis(space.degree, xi)
        wanted = exact(kin.radius, mesh.points[space.corners, 1] @ shape)
        ours = [np.zeros_like(w) for w in wanted]
        for load, factor in weights.items():
            own = self.displacement[load][space.dofs]
            strain = strain_from_gradients(kin, own)
            ours[0] += factor * np.einsum("eki,kq->ieq", own, value)
            ours[1] += factor * element_stress(self, load, strain, mesh.region)
        volume = kin.radius * kin.jacobian * weight
        error = [
            np.sqrt(np.sum((o - w) ** 2 * volume) / np.sum(w**2 * volume))
            for o, w in zip(ours, wanted, strict=True)
        ]
        return float(error[0]), float(error[1])


def edge_positions(system: System, edge: str) -> Floats:
    """Positions (n, degree + 1, 2) as (r, z) of the unknowns along a named edge."""
    t = np.linspace(0, 1, system.space.degree + 1)
    nodes = system.mesh.points[system.space.edge_nodes[edge]]
    shape = np.array([(1 - t) * (1 - 2 * t), t * (2 * t - 1), 4 * t * (1 - t)])
    return np.asarray(np.einsum("nai,aq->nqi", nodes, shape))


def build(
    section: Section,
    materials: dict[str, Material],
    *,
    grading: Grading,
    level: int = 1,
    degree: int = DEGREE,
    twist: bool | None = None,
    rise: Motion | None = None,
) -> System:
    """Mesh and assemble a section; arguments as of `mesh_section` and `assemble`."""
    mesh = mesh_section(section, level, grading=grading)
    return assemble(mesh, materials, degree, twist, rise)


def solve_solid(
    system: System,
    materials: dict[str, Material],
    loads: Mapping[str, Floats | None],
    held: Sequence[Held] = (),
) -> Solid:
    """Solve a system for named loads.

    Parameters
    ----------
    system : System
    materials : dict of str to Material
    loads : mapping of str to (n,) array or None
        Nodal forces; None for a load that is a prescribed motion alone.
    held : sequence of Held
        On top of what symmetry plane and axis hold.
    """
    size = system.components * system.space.size
    forces = np.stack([np.zeros(size) if f is None else f for f in loads.values()], axis=1)
    given = np.zeros(size, bool)
    given[held_unknowns(system)] = True
    motion = np.zeros_like(forces)
    for hold in held:
        nodes = system.unknowns(system.space.edge_dofs[hold.edge], hold.component)
        given[nodes] = True
        r, z = np.moveaxis(edge_positions(system, hold.edge), -1, 0)
        for number, load in enumerate(loads):
            if load in hold.motion:
                motion[nodes, number] = hold.motion[load](r, z)
    fixed = np.flatnonzero(given)
    u, inner = solve_loads(system, forces, fixed, motion[fixed])
    if "temperature" in loads:
        # the stress of a hindered expansion: what the free expansion would need is taken off
        inner[:, list(loads).index("temperature")] -= system.temperature
    columns = [0, 1, 2] if system.twist else [0, 2]

    def by_load(values: Floats) -> dict[str, Floats]:
        result = {}
        for number, load in enumerate(loads):
            result[load] = np.zeros((system.space.size, 3))
            result[load][:, columns] = values[:, number].reshape(-1, system.components)
        return result

    return Solid(system, materials, by_load(u), by_load(inner))
