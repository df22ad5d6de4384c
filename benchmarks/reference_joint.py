"""A joint solved by a general-purpose finite element library: a reference from outside.

Problem
    The displacements and mid-bond stresses that the project's own drawing, mesh and solve should
    give, made without any of the three.
Formulation
    `benchmarks.reference_drawing` composes the section, `benchmarks.reference_plies` the
    stiffness; netgen meshes freely and refines geometrically towards every corner; ngsolve solves
    the axisymmetric weak form with polynomials of order 5 to 7. Only the numbers of the case and
    the constants on the cards are shared with the project.
Order of arrays
    Strain and stress components first, [rr, tt, zz, tz, rz, rt] (t is theta, shear strains are
    engineering strains), then points.
Units
    mm, N, MPa, K.
Source
    B. Guo & I. Babuska, The h-p version of the finite element method, Comput. Mech. 1 (1986)
    21-41 and 203-220: geometric refinement with high order converges exponentially at corners.
"""

from __future__ import annotations

from dataclasses import dataclass

import ngsolve as ngs
import numpy as np
from netgen.meshing import MeshingParameters
from netgen.occ import Glue, OCCGeometry
from numpy.typing import NDArray

from benchmarks.reference_drawing import SMALL, Drawing, draw
from benchmarks.reference_plies import PAIRS, layers, ply, smeared
from geometry.case import Case

Floats = NDArray[np.float64]

NUDGE = 1e-8  # mm


@dataclass(frozen=True)
class Reference:
    """Unit solutions of the reference.

    Attributes
    ----------
    case : Case
    drawing : Drawing
    mesh : ngsolve.Mesh
    displacement : dict of str to GridFunction
        ``pressure`` per MPa, ``temperature`` per K.
    stress : dict of str to CoefficientFunction
    unknowns : int
    """

    case: Case
    drawing: Drawing
    mesh: object
    displacement: dict[str, object]
    stress: dict[str, object]
    unknowns: int

    def displacement_at(self, load: str, points: Floats) -> Floats:
        """(u_r, u_theta, u_z) at points (2, n): (3, n), mm."""
        at = self._inside(points)
        parts = self.displacement[load].components
        r, z = (np.asarray(parts[i](at)).ravel() for i in (0, 1))
        t = np.asarray(parts[2](at)).ravel() if len(parts) == 3 else np.zeros_like(r)
        return np.stack([r, t, z])

    def _inside(self, points: Floats) -> object:
        """Find points in the mesh; one on the outline may be a rounding error outside."""
        found = points.copy()
        for dr, dz in ((1, 1), (1, -1), (-1, 1), (-1, -1)):
            lost = self.mesh(*found)["nr"] < 0
            found[:, lost] = points[:, lost] + NUDGE * np.array([[dr], [dz]])
        return self.mesh(*found)

    def stress_at(self, load: str, points: Floats) -> Floats:
        """Stress (6, n) at points (2, n) inside one region, MPa."""
        return np.asarray(self.stress[load](self.mesh(*points))).T

    def line_stress(self, load: str, name: str, s: Floats) -> Floats:
        """Peel, shear and twist shear (3, n) along a bond's mid-thickness line."""
        line = self.drawing.lines[name]
        stress = self.stress_at(load, line.points(s))
        tensor = np.zeros((3, 3, len(s)))
        for k, (i, j) in enumerate(PAIRS):
            tensor[i, j] = tensor[j, i] = stress[k]
        n = np.array([line.across[0], 0, line.across[1]])
        along = np.array([line.along[0], 0, line.along[1]])
        traction = np.einsum("ijn,j->in", tensor, n)
        return np.stack([n @ traction, along @ traction, traction[1]])

    def line_mean(self, load: str, name: str, start: float, stop: float) -> Floats:
        """Mean of `line_stress` between two places, by Gauss panels that shrink to both ends."""
        half = (stop - start) / 2
        step = half * np.concatenate([[0.0], np.geomspace(1e-3, 1.0, 24)])
        cuts = np.concatenate([start + step, stop - step[-2::-1]])
        x, w = np.polynomial.legendre.leggauss(12)
        width = np.diff(cuts)[:, None] / 2
        s = ((cuts[1:] + cuts[:-1])[:, None] / 2 + width * x).ravel()
        return self.line_stress(load, name, s) @ (width * w).ravel() / (stop - start)


def solve_reference(
    case: Case, order: int = 6, levels: int = 6, fineness: float = 1.0
) -> Reference:
    """Solve a case for one MPa of pressure and one kelvin.

    Parameters
    ----------
    case : Case
    order : int
        Polynomial degree.
    levels : int
        Geometric refinements towards every corner of the section, each by the factor 0.25 (a
        smaller one leaves long elements whose stress wavers).
    fineness : float
        Divides the largest element of every part.
    """
    drawing = draw(case)
    materials = {name: smeared(plies, case.materials) for name, _, _, plies in layers(case)}
    for name, card in (
        ("adhesive", case.joint.adhesive),
        ("ring", case.ring.material),
        ("head", case.head.material),
    ):
        if name in drawing.shapes:
            properties = case.materials[card]
            materials[name] = ply(properties.constants(), np.asarray(properties.cte()), 0.0)
    mesh = _mesh(case, drawing, order, levels, fineness)

    twist = any(
        np.abs(C[np.ix_([0, 1, 2, 4], [3, 5])]).max() > 1e-9 * np.abs(C).max()
        for C, _ in materials.values()
    )
    held = ["axis", "symmetry"] + ["axis|symmetry"] * twist
    space = ngs.FESpace([ngs.H1(mesh, order=order, dirichlet=edges) for edges in held])
    u, v = space.TnT()
    weight = 2 * np.pi * ngs.x

    def strain(w, gradient=ngs.grad):
        (rr, rz), (zr, zz) = ((gradient(w[i])[0], gradient(w[i])[1]) for i in (0, 1))
        entries = [rr, w[0] / ngs.x, zz, 0, rz + zr, 0]
        if twist:
            entries[3] = gradient(w[2])[1]
            entries[5] = gradient(w[2])[0] - w[2] / ngs.x
        return ngs.CoefficientFunction(tuple(entries))

    stiffness = mesh.MaterialCF(
        {name: ngs.CF(tuple(C.ravel()), dims=(6, 6)) for name, (C, _) in materials.items()}
    )
    free = mesh.MaterialCF({name: ngs.CF(tuple(C @ e)) for name, (C, e) in materials.items()})
    inside = ngs.dx(bonus_intorder=2)
    form = ngs.BilinearForm(space, symmetric=True, condense=True)
    form += ngs.InnerProduct(stiffness * strain(u), strain(v)) * weight * inside

    normal = ngs.specialcf.normal(2)
    pressure = ngs.LinearForm(space)
    wet = -weight * (normal[0] * v[0] + normal[1] * v[1])
    pressure += wet * ngs.ds("wet", bonus_intorder=2)
    outer, inner = drawing.ring_outer, drawing.ring_inner
    even = outer**2 / (outer**2 - inner**2)
    pressure += even * wet * ngs.ds("closure", bonus_intorder=2)
    temperature = ngs.LinearForm(space)
    temperature += ngs.InnerProduct(free, strain(v)) * weight * inside

    displacement, stress = {}, {}
    with ngs.TaskManager():
        form.Assemble()
        inverse = form.mat.Inverse(space.FreeDofs(True), inverse="sparsecholesky")
        for load, right in (("pressure", pressure), ("temperature", temperature)):
            right.Assemble()
            field = ngs.GridFunction(space)
            f = right.vec
            f.data += form.harmonic_extension_trans * f
            field.vec.data = inverse * f
            field.vec.data += form.harmonic_extension * field.vec
            field.vec.data += form.inner_solve * f
            displacement[load] = field
            own = stiffness * strain(field.components)
            stress[load] = own - free if load == "temperature" else own
    return Reference(case, drawing, mesh, displacement, stress, space.ndof)


def _mesh(case: Case, drawing: Drawing, order: int, levels: int, fineness: float) -> object:
    """Mesh the united shapes and name the outline."""
    gaps = [line.thickness for line in drawing.lines.values()]
    wall = case.wall.thickness
    for name, shape in drawing.shapes.items():
        shape.faces.name = name
        if name == "adhesive":
            shape.faces.maxh = min(gaps) / fineness
        else:
            shape.faces.maxh = wall / (2 if name == "ring" else 1) / fineness
    # every shape is glued to the others along common edges
    whole = Glue(list(drawing.shapes.values()))
    uses: dict[tuple[float, ...], int] = {}

    def key(edge) -> tuple[float, ...]:
        return tuple(np.round([*edge.center, edge.mass], 7))

    for face in whole.faces:
        for edge in face.edges:
            uses[key(edge)] = uses.get(key(edge), 0) + 1
    for edge in whole.edges:
        edge.name = "inside" if uses[key(edge)] > 1 else _outline(case, drawing, edge)
    for vertex in whole.vertices:
        if vertex.p.x > SMALL and vertex.p.y > SMALL:
            vertex.hpref = 1
    geometry = OCCGeometry(whole, dim=2)
    mesh = ngs.Mesh(geometry.GenerateMesh(MeshingParameters(grading=0.3)))
    mesh.RefineHP(levels, factor=0.25)
    mesh.Curve(order)
    return mesh


def _outline(case: Case, drawing: Drawing, edge) -> str:
    """Name an edge of the outline: wet, dry, symmetry, axis or closure."""
    ends = np.array([(v.p.x, v.p.y) for v in edge.vertices])
    r, z = ends.T
    if np.all(np.abs(z) < SMALL):
        return "symmetry"
    if np.all(np.abs(r) < SMALL):
        return "axis"
    if case.head.form == "none" and np.all(np.abs(z - drawing.ring_end) < SMALL):
        return "closure"
    middle = (case.wall.bore_radius + case.wall.outer_radius) / 2
    top = drawing.ring_end
    if z.min() > top - SMALL:  # the head: wet outside, and the ring's face beside its seat
        if case.head.form == "flat":
            return "dry" if np.all(np.abs(z - top) < SMALL) else "wet"
        inner = case.head.inner_radius or middle - case.head.thickness / 2
        far = np.hypot(r, z - top).max()
        return "wet" if far > inner + case.head.thickness / 2 else "dry"
    return "wet" if r.mean() > middle else "dry"
