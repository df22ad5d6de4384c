"""Solids of revolution that come apart along a line: beams, plates, tubes and a cracked block.

Problem
    Published energy release rates are of beams, plates, tubes and an infinite body. They pass
    through the same mesh, reduction, contact and differences of energy as the bonds of a joint.
Formulation
    A beam is a tube of so large a radius that its hoop stiffness does not count: at radius R and
    length a of the disbond the hoop takes a share of about (a^2 / (R h))^2 of the bending, 3e-6 at
    `BEAM_RADIUS`. That is plane strain, which is plane stress too at a Poisson's ratio of 0.
    Forces of a beam are per unit width.
    All near parts come first; the path runs along a straight line from `start` to `stop`.
Units
    mm, N, MPa, K.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from geometry.mesh import mesh_section
from geometry.sizes import Grading
from solve.disbond import Path, Reduced
from solve.elasticity import System, assemble, edge_traction, held_unknowns
from solve.laminate import Material
from solve.linear import factorise, places, sum_of_elements
from solve.solid import make_section, rectangle
from solve.substructure import (
    Cut,
    Load,
    chain_of,
    heating,
    reduce_to_paths,
    sides_between,
)

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Traction = Callable[[Floats, Floats], Floats]

BEAM_RADIUS = 1e6  # mm
DEGREE = 2
OPEN = ("wet", "dry", "closure", "axis", "symmetry")  # edges at which a path ends free


@dataclass(frozen=True)
class Block:
    """A rectangle of one material: region, r and z from and to, mm."""

    region: str
    r: tuple[float, float]
    z: tuple[float, float]
    material: Material


@dataclass(frozen=True)
class Line:
    """Where a solid may come apart.

    Attributes
    ----------
    start, stop : (r, z)
    across : (r, z)
        Unit normal, from the near to the far side.
    far : tuple of str
        Regions beyond it.
    """

    start: tuple[float, float]
    stop: tuple[float, float]
    across: tuple[float, float]
    far: tuple[str, ...]


@dataclass(frozen=True)
class CutSolid:
    """A solid reduced to a line, and what it was made of.

    Attributes
    ----------
    reduced : Reduced
    system : System
    cut : Cut
    parts : tuple of str
        Of each triangle.
    loads : mapping of str to callable
    held : int array
    """

    reduced: Reduced
    system: System
    cut: Cut
    parts: tuple[str, ...]
    loads: Mapping[str, Load]
    held: Ints

    def whole_energy(self, weights: Mapping[str, float], corner: int) -> float:
        """Potential energy with the line off up to a corner, by a solve of the whole solid, N mm.

        The nodes of the line that lie within the disbond are doubled; nothing keeps its faces
        from passing through each other, and the sea does not enter.
        """
        system = self.system
        size = system.components * system.space.size
        chain = chain_of(system, self.cut)
        open_first = self.cut.path.open_ends[0]
        inside = chain[(not open_first) : system.space.degree * corner].ravel()
        double = np.arange(size)
        double[inside] = size + np.arange(len(inside))
        far = np.isin(self.parts, self.cut.far)
        rows = system.rows.copy()
        rows[far] = double[rows[far]]
        force = np.zeros(size + len(inside))
        for name, weight in weights.items():
            force[:size] += weight * self.loads[name](np.flatnonzero(~far))
            np.add.at(force, double, weight * self.loads[name](np.flatnonzero(far)))
        held = np.union1d(self.held, double[self.held])
        free = np.setdiff1d(np.arange(len(force)), held)
        own = places(rows, free, len(force))
        found = factorise(sum_of_elements(own, system.blocks, len(free)), own)(force[free])
        return -float(found @ force[free]) / 2


def reduce_solid(
    blocks: Sequence[Block],
    line: Line,
    *,
    size: float,
    loads: Callable[[System], Mapping[str, Load]],
    held: Callable[[System], Ints] = held_unknowns,
    degree: int = DEGREE,
    graded: Sequence[str] = (),
    closure_z: float | None = None,
) -> CutSolid:
    """Reduce a solid of blocks to one line.

    Parameters
    ----------
    blocks : sequence of Block
    line : Line
    size : float
        Of the elements, mm.
    loads : callable
        From the system to its loads by name.
    held : callable
        From the system to the unknowns that are held; symmetry plane and axis by default.
    degree : int
    graded : sequence of str
        Regions whose elements may grow with the distance from the others.
    closure_z : float, optional
        Height of an end face that is an edge of its own.
    """
    section = make_section(
        [rectangle(b.region, b.r, b.z) for b in blocks],
        {b.region: "ring" if b.region in graded else "wall" for b in blocks},
        thickness=1.0,
        closure_z=closure_z,
    )
    mesh = mesh_section(section, grading=Grading(wall=size, metal_corner=np.inf, free=0.1))
    start, stop = np.asarray(line.start), np.asarray(line.stop)
    sides = sides_between(mesh, start, stop)
    mesh = replace(mesh, edges=mesh.edges | {"line": sides})
    system = assemble(mesh, {b.region: b.material for b in blocks}, degree)
    along = (stop - start) / np.hypot(*(stop - start))
    corners = np.concatenate([sides[:, 0], sides[-1:, 1]])
    points = mesh.points[corners]

    def ends_on(*names: str) -> tuple[bool, bool]:
        nodes = [mesh.edges[name][:, :2].ravel() for name in names if name in mesh.edges]
        on = np.isin(corners[[0, -1]], np.concatenate(nodes))
        return bool(on[0]), bool(on[1])

    path = Path(
        "line",
        "",
        (points - start) @ along,
        points[:, 0].copy(),
        points[:, 1].copy(),
        (float(along[0]), float(along[1])),
        line.across,
        ends_on(*OPEN),
        ends_on("wet"),
        4 * size,
        float(np.hypot(*(stop - start))),
    )
    parts = tuple(mesh.regions[number] for number in mesh.region)
    cut = Cut(path, "line", line.far)
    given, fixed = loads(system), held(system)
    return CutSolid(
        reduce_to_paths(system, parts, [cut], given, fixed), system, cut, parts, given, fixed
    )


def pushed(system: System, edge: str, traction: Traction) -> Load:
    """Make a load of a traction on a named edge."""
    return lambda members: edge_traction(system, edge, traction, members)


def heated(system: System) -> Load:
    """Make the load of one kelvin."""
    return heating(system)


def at_corner(system: System, place: tuple[float, float], component: str) -> Ints:
    """Find the unknown of a displacement component at a corner of the mesh, (1,)."""
    points, corners = system.mesh.points, system.space.corners
    distance = np.hypot(*(points[corners[:, :3]] - np.asarray(place)).transpose(2, 0, 1))
    triangle, local = np.unravel_index(int(np.argmin(distance)), distance.shape)
    if distance[triangle, local] > 1e-6 * max(1.0, abs(place[0]) * 1e-6):
        raise ValueError(f"no corner of the mesh lies at {place}")
    return system.unknowns(system.space.dofs[triangle, [local]], component)
