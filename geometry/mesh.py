"""The mesh: second-order triangles, row by row in wall and bonds, free elsewhere.

Problem
    A section of named faces becomes triangles that keep the names. gmsh is used here and nowhere
    else in the project.
Formulation
    Every edge comes divided (`geometry.sizes`); gmsh fills the faces and puts the mid-side nodes
    on the arcs. gmsh runs on one thread with no settings of the user's, so that a section gives
    the same mesh on any machine.
Units
    mm.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

import gmsh
import numpy as np
from numpy.typing import NDArray

from geometry import bounds
from geometry.files import intact, written_aside
from geometry.mesh_size import REMEDY, count_triangles
from geometry.section import Section
from geometry.sizes import Grading, divide_edges

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

LEAST_JACOBIAN_RATIO = 0.05  # smallest over largest Jacobian in a curved triangle
LEAST_SINE = 0.01  # of an obtuse triangle's largest angle
AREA_TOLERANCE = 1e-3  # relative; arcs become parabolas
TRIANGLE_6, LINE_3 = 9, 8  # gmsh's element types


class MeshError(Exception):
    """The mesh cannot be used; the text says where and why."""


@dataclass(frozen=True)
class JointMesh:
    """A mesh with its names.

    Attributes
    ----------
    points : (n, 2) array of (r, z), mm
    triangles : (m, 6) int array
        Three corners, then the nodes amid the sides 0-1, 1-2, 2-0.
    region : (m,) int array
        Index into `regions`.
    regions : tuple of str
    edges : dict of str to (k, 3) int array
        End, end and middle node of each element side on the named edges of the section.
    """

    points: Floats
    triangles: Ints
    region: Ints
    regions: tuple[str, ...]
    edges: dict[str, Ints]


DEFAULT_GRADING = Grading()


def mesh_section(
    section: Section,
    level: int = 1,
    path: Path | None = None,
    grading: Grading = DEFAULT_GRADING,
) -> JointMesh:
    """Mesh a section.

    Parameters
    ----------
    section : Section
    level : int
        Refinement: element sizes go as 2**(1 - level); 1 is the default level of a case.
    path : Path, optional
        Where to write the mesh in gmsh's open format.
    grading : Grading
        Sizes at level 1.

    Returns
    -------
    JointMesh

    Raises
    ------
    MeshError
        When the mesh is folded, too distorted or does not fill the section.
    """
    with _gmsh():
        _build(section, level, grading)
        mesh = _extract()
        check_quality(mesh, section)
        if path is not None:
            with written_aside(path) as aside:
                _write(aside)
    return mesh


def _write(path: Path) -> None:
    """Write the mesh; gmsh says nothing of a full disk, so the file's last line is looked at."""
    try:
        gmsh.write(str(path))
    except Exception as error:  # gmsh raises plain Exception
        raise OSError(f"the mesher gave up ({error})") from error
    if not path.read_bytes().endswith(b"$EndElements\n"):
        raise OSError("the mesher wrote half of it; is the disk full?")


def read_mesh(path: Path) -> JointMesh:
    """Read a mesh that `mesh_section` wrote.

    Raises
    ------
    MeshError
        When the file cannot be read or lacks the names the project gives.
    DamagedFileError
        When it was changed since.
    """
    intact(path)
    with _gmsh():
        try:
            gmsh.open(str(path))
        except Exception as error:  # gmsh raises plain Exception
            raise MeshError(f"{path}: not a readable mesh ({error})") from error
        return _extract()


@contextmanager
def _gmsh() -> Iterator[None]:
    gmsh.initialize(readConfigFiles=False, interruptible=False)
    try:
        for option, value in {
            "General.Terminal": 0,
            "General.NumThreads": 1,
            "Mesh.Algorithm": 6,  # frontal Delaunay
            "Mesh.MeshSizeExtendFromBoundary": 1,
            "Mesh.MeshSizeFromPoints": 0,
            "Mesh.SecondOrderIncomplete": 0,
            "Mesh.SaveAll": 0,
        }.items():
            gmsh.option.setNumber(option, value)
        yield
    finally:
        gmsh.finalize()


def _build(section: Section, level: int, grading: Grading) -> None:
    """Give gmsh the divided edges and the faces, and let it mesh."""
    geo = gmsh.model.geo
    divisions = divide_edges(section, level, grading)
    count = count_triangles(section, divisions)
    if count > bounds.TRIANGLES:
        allowed = f"up to {bounds.TRIANGLES:,} triangles; {REMEDY}"
        raise MeshError(f"a mesh of about {count:,} triangles is too large; allowed: {allowed}")
    corner = [geo.addPoint(r, z, 0.0) for r, z in section.points]
    centres: dict[tuple[float, float], int] = {}
    chains: list[list[int]] = []
    for edge, t in zip(section.edges, divisions, strict=True):
        inner = section.edge_points(edge, t[1:-1])
        nodes = [corner[edge.start], *(geo.addPoint(r, z, 0.0) for r, z in inner)]
        nodes.append(corner[edge.end])
        if edge.centre is None:
            chain = [geo.addLine(p, q) for p, q in zip(nodes[:-1], nodes[1:], strict=True)]
        else:
            if edge.centre not in centres:
                centres[edge.centre] = geo.addPoint(*edge.centre, 0.0)
            c = centres[edge.centre]
            chain = [geo.addCircleArc(p, c, q) for p, q in zip(nodes[:-1], nodes[1:], strict=True)]
        chains.append(chain)

    surfaces: dict[str, list[int]] = {}
    structured = []
    for face in section.faces:
        curves: list[int] = []
        for signed in face.loop:
            chain = chains[abs(signed) - 1]
            curves += chain if signed > 0 else [-c for c in reversed(chain)]
        surface = geo.addPlaneSurface([geo.addCurveLoop(curves)])
        surfaces.setdefault(face.region, []).append(surface)
        if face.sides and all(len(side) == 1 for side in face.sides):
            first = [side[0] for side in face.sides]
            corners = [
                section.edges[abs(s) - 1].start if s > 0 else section.edges[abs(s) - 1].end
                for s in first
            ]
            structured.append((surface, _diagonals(section, corners), [corner[c] for c in corners]))
    geo.synchronize()

    mesh = gmsh.model.mesh
    for chain in chains:
        for curve in chain:
            mesh.setTransfiniteCurve(curve, 2)
    for surface, diagonals, corners in structured:
        mesh.setTransfiniteSurface(surface, diagonals, corners)
    for region in section.regions:
        if region not in surfaces:
            raise MeshError(f"region {region} has no face")
        gmsh.model.addPhysicalGroup(2, surfaces[region], name=region)
    for name, edges in section.named.items():
        gmsh.model.addPhysicalGroup(1, [c for e in edges for c in chains[e]], name=name)
    try:
        mesh.generate(2)
        mesh.setOrder(2)
    except Exception as error:  # gmsh raises plain Exception
        raise MeshError(f"the section cannot be meshed ({error})") from error


def _diagonals(section: Section, corners: list[int]) -> str:
    """Choose how rows are cut into triangles: across the short way where they are sheared."""
    p = section.points[corners]
    first, second = np.hypot(*(p[2] - p[0])), np.hypot(*(p[3] - p[1]))
    if max(first, second) < 1.05 * min(first, second):
        return "AlternateRight"
    return "Right" if first < second else "Left"


def _extract() -> JointMesh:
    """Read nodes, triangles and names straight from gmsh."""
    tags, coordinates, _ = gmsh.model.mesh.getNodes()
    if len(tags) == 0:
        raise MeshError("the mesh is empty")
    place = np.full(int(tags.max()) + 1, -1, dtype=np.int64)

    regions: list[str] = []
    triangles: list[Ints] = []
    region: list[Ints] = []
    edges: dict[str, Ints] = {}
    lines = _lines()
    for dim, group in gmsh.model.getPhysicalGroups():
        name = gmsh.model.getPhysicalName(dim, group)
        found = []
        for entity in gmsh.model.getEntitiesForPhysicalGroup(dim, group):
            if dim == 1 and entity in lines:
                found.append(lines[entity])
                continue
            types, _, nodes = gmsh.model.mesh.getElements(dim, entity)
            wanted = TRIANGLE_6 if dim == 2 else LINE_3
            for kind, node in zip(types, nodes, strict=True):
                if kind != wanted:
                    raise MeshError(f"{name}: an element that is not of second order")
                found.append(node.reshape(-1, 6 if dim == 2 else 3).astype(np.int64))
        if not found:
            raise MeshError(f"{name}: no elements")
        if dim == 2:
            triangles.append(np.vstack(found))
            region.append(np.full(len(triangles[-1]), len(regions)))
            regions.append(name)
        else:
            edges[name] = np.vstack(found)
    if not regions:
        raise MeshError("the mesh names no region")
    elements = np.vstack(triangles)
    used = np.unique(elements)
    place[used] = np.arange(len(used))
    at = np.searchsorted(tags, used) if np.all(np.diff(tags.astype(np.int64)) > 0) else None
    if at is None:
        order = np.argsort(tags)
        at = order[np.searchsorted(tags[order], used)]
    return JointMesh(
        points=coordinates.reshape(-1, 3)[at, :2].copy(),
        triangles=place[elements],
        region=np.concatenate(region),
        regions=tuple(regions),
        edges={name: place[nodes] for name, nodes in edges.items()},
    )


def _lines() -> dict[int, Ints]:
    """Nodes (1, 3) of every curve that is a single element side, as nearly all of ours are.

    Asked for all at once: a call for each of several hundred curves takes as long as the meshing.
    Empty where a curve is longer, and has to be asked for itself.
    """
    _, nodes = gmsh.model.mesh.getElementsByType(LINE_3)
    curves = [tag for _, tag in gmsh.model.getEntities(1)]
    if len(nodes) != 3 * len(curves):
        return {}
    return dict(zip(curves, nodes.reshape(-1, 1, 3).astype(np.int64), strict=True))


def jacobians(points: Floats, triangles: Ints) -> Floats:
    """Jacobian determinants of second-order triangles at their six nodes, shape (m, 6), mm^2."""
    x = np.array([0, 1, 0, 0.5, 0.5, 0])
    y = np.array([0, 0, 1, 0, 0.5, 0.5])
    w = 1 - x - y
    zero = np.zeros(6)
    by_x = np.array([1 - 4 * w, 4 * x - 1, zero, 4 * (w - x), 4 * y, -4 * y])
    by_y = np.array([1 - 4 * w, zero, 4 * y - 1, -4 * x, 4 * x, 4 * (w - y)])
    a = np.einsum("mni,nq->imq", points[triangles], by_x)
    b = np.einsum("mni,nq->imq", points[triangles], by_y)
    return np.asarray(a[0] * b[1] - a[1] * b[0])


def check_quality(mesh: JointMesh, section: Section) -> None:
    """Refuse a mesh that is folded, badly shaped or does not fill the section.

    Raises
    ------
    MeshError
    """
    determinant = jacobians(mesh.points, mesh.triangles)
    ratio = determinant.min(axis=1) / np.abs(determinant).max(axis=1)
    ratio = np.maximum(ratio, (-determinant).min(axis=1) / np.abs(determinant).max(axis=1))
    _refuse_worst(mesh, ratio, LEAST_JACOBIAN_RATIO, "folded or too curved triangle")

    # the largest angle bounds the interpolation error (Babuska & Aziz 1976); thin is harmless
    corners = mesh.points[mesh.triangles[:, :3]]
    sides = np.sort(np.linalg.norm(corners - np.roll(corners, 1, axis=1), axis=2), axis=1)
    cosine = (sides[:, 0] ** 2 + sides[:, 1] ** 2 - sides[:, 2] ** 2) / (
        2 * sides[:, 0] * sides[:, 1]
    )
    sine = np.sqrt(np.maximum(1 - cosine**2, 0.0))
    _refuse_worst(mesh, np.where(cosine < 0, sine, 1.0), LEAST_SINE, "sliver triangle")

    if mesh.points[:, 0].min() < -1e-9:
        raise MeshError("a node lies beyond the axis")
    # corners and mid-side points: the quadratic triangle's area by its three mid-side Jacobians
    filled = float(np.abs(determinant[:, 3:].sum(axis=1)).sum() / 6)
    wanted = _area(section)
    if abs(filled - wanted) > AREA_TOLERANCE * wanted:
        raise MeshError(f"the mesh fills {filled:.6g} of the section's {wanted:.6g} mm^2")


def _refuse_worst(mesh: JointMesh, measure: Floats, least: float, what: str) -> None:
    worst = int(np.argmin(measure))
    if measure[worst] < least:
        r, z = mesh.points[mesh.triangles[worst, :3]].mean(axis=0)
        raise MeshError(
            f"{what} in {mesh.regions[mesh.region[worst]]} at r = {r:.3f} mm, z = {z:.3f} mm "
            f"(measure {measure[worst]:.3g}, least {least:g})"
        )


def _area(section: Section) -> float:
    """Area of the section, mm^2, arcs taken as fine polygons."""
    total = 0.0
    t = np.linspace(0, 1, 65)
    for face in section.faces:
        path = []
        for signed in face.loop:
            points = section.edge_points(section.edges[abs(signed) - 1], t)
            path.append((points if signed > 0 else points[::-1])[:-1])
        r, z = np.vstack(path).T
        total += float(np.sum(r * np.roll(z, -1) - np.roll(r, -1) * z) / 2)
    return total
