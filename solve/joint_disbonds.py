"""The bonds of a joint as paths of disbonds: mesh and reduction.

Problem
    Every face of every bond, and its mid-thickness, may come off anywhere.
Formulation
    A mesh of its own: elements of one length along each bond, half its thickness at level 1 and
    even rows through it (`geometry.even_rows`); the wall, graded by rows elsewhere, is meshed
    freely but for its thin layers. Ends of the case's flaws are corners of elements. A path runs
    along the straight part of its bond and under its fillets; corners and roots, where the bond
    turns, are not part of it. The joint is cut into wall, ring with head, the two halves of each
    bond, corners and fillets (`solve.substructure`).
    Maps rest on quadratic elements; the case's flaws on cubic ones, and the difference of the two
    shows their numerical error.
Units
    mm, N, MPa, K.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from geometry.errors import refuse
from geometry.forms import draw_section
from geometry.mesh import JointMesh, mesh_section
from geometry.section import BondLine, Section
from geometry.sizes import Grading
from solve.answer import region_materials
from solve.disbond import Path, Reduced
from solve.elasticity import assemble, held_unknowns, pressure_load
from solve.substructure import Cut, heating, reduce_to_paths, sides_between

if TYPE_CHECKING:
    from geometry.case import Case

Floats = NDArray[np.float64]

FACES = ("wall", "middle", "ring")
DEGREE = 2  # of the displacements for maps; measured (DEVELOPERS.md)
FLAW_DEGREES = (3, 2)  # for the case's flaws, and for their companion
MAPPED = 1  # level of maps, at most
STEP = 0.5  # of the bond's thickness: length of elements along it at level 1
ROWS = 4  # through a bond at level 1
MOST = 120  # elements along a bond at level 1
COARSE = Grading(
    bond_corner=0.5, metal_corner=0.2, open_edge=0.5, bond_step=STEP, bond_most=MOST, bond_rows=ROWS
)
ACROSS_FLAW = 8.0  # elements along a short flaw
FINEST = 1 / 32  # of the bond's thickness: shortest element along it
SHORTEST = 1 / 16  # of the bond's thickness: no flaw is shorter
NEAR = 1e-6  # mm


@dataclass(frozen=True)
class Disbonds:
    """A joint reduced to its paths.

    Attributes
    ----------
    faces : tuple of Reduced
        Each path alone, for maps.
    flaws, companion : Reduced or None
        The paths that the case's flaws lie on, together, and the same of a lower degree, whose
        difference shows the numerical error; None without flaws.
    """

    faces: tuple[Reduced, ...]
    flaws: Reduced | None
    companion: Reduced | None

    def face(self, bond: str, face: str) -> Reduced:
        """Give the reduction to one path."""
        return next(r for r in self.faces if (r.paths[0].bond, r.paths[0].face) == (bond, face))


def reduce_joint(
    case: Case,
    level: int = 1,
    degree: int = DEGREE,
    only: Sequence[tuple[str, str]] | None = None,
) -> Reduced:
    """Reduce a case's joint to all paths of its bonds.

    Parameters
    ----------
    case : Case
    level : int
        Element sizes go as 2**(1 - level).
    degree : int
    only : sequence of (bond, face), optional
        The paths of the case's flaws, whose ends become corners of elements; by default all paths,
        with elements that know nothing of the flaws.

    Returns
    -------
    Reduced

    Raises
    ------
    CaseError
        When a flaw does not lie on its bond.
    """
    section = draw_section(case)
    paths = {
        (bond.name, face): reach
        for bond in section.bonds
        for face in FACES
        if (only is None or (bond.name, face) in only)
        and (reach := reach_of(section, bond, face)) is not None
    }
    check_flaws(case, section)
    marks = _marks(case, section) if only is not None else ()
    mesh = mesh_section(_loosened(section), level, grading=replace(COARSE, marks=marks))
    sides = {}
    for (name, face), (low, high) in paths.items():
        start, stop = section.bond(name).faces(np.array([low, high]))[_LINE[face]].T
        sides[name, face] = sides_between(mesh, start, stop)
    named = {f"{name} {face}": side for (name, face), side in sides.items()}
    mesh = replace(mesh, edges=mesh.edges | named)
    materials = region_materials(case, section)
    system = assemble(mesh, materials, degree)
    far = _far_parts(mesh, section)
    cuts = [
        Cut(_path(mesh, section, name, face, side), f"{name} {face}", far(name, face))
        for (name, face), side in sides.items()
    ]
    loads = {"pressure": lambda on: pressure_load(system, on), "temperature": heating(system)}
    return reduce_to_paths(system, _parts(mesh, section), cuts, loads, held_unknowns(system))


def _marks(case: Case, section: Section) -> tuple[tuple[str, str, float, float], ...]:
    """List the ends of flaws, with the length of elements there."""
    marks = []
    for flaw in case.flaws:
        gap = section.bond(flaw.bond).thickness
        length = max(min(STEP * gap, flaw.length / ACROSS_FLAW), FINEST * gap)
        marks += [(flaw.bond, flaw.face, s, length) for s in (flaw.start, flaw.start + flaw.length)]
    return tuple(marks)


_LINE = {"wall": 0, "middle": 1, "ring": 2}


def reach_of(section: Section, bond: BondLine, face: str) -> tuple[float, float] | None:
    """From where to where the path along a face runs, s in mm.

    None where a bond has no straight part on that line.
    """
    along = np.asarray(bond.along)
    ends: list[float] = []
    if face == "middle":
        for one in section.faces:
            if one.region == bond.region and len(one.sides) == 4:
                corners = {
                    section.edges[abs(e) - 1].start if e > 0 else section.edges[abs(e) - 1].end
                    for e in one.loop
                }
                across = (section.points[list(corners)] - bond.start) @ np.asarray(bond.across)
                reach = (section.points[list(corners)] - bond.start) @ along
                sides = [reach[across < 0], reach[across > 0]]
                # a row line crosses mid-thickness half way between its ends
                ends += [float(np.mean([side.min() for side in sides]))]
                ends += [float(np.mean([side.max() for side in sides]))]
    else:
        fillets = ("fillet-end-inner", "fillet-end-outer") if bond.name == "end" else ()
        for region in (bond.region, f"fillet-{bond.name}", *fillets):
            for number in section.named.get(f"{region}|{face}", ()):
                edge = section.edges[number]
                points = section.points[[edge.start, edge.end]]
                across = (points - bond.start) @ np.asarray(bond.across)
                if np.ptp(across) < NEAR and abs(abs(across[0]) - bond.thickness / 2) < NEAR:
                    ends += [float(x) for x in (points - bond.start) @ along]
    return (min(ends), max(ends)) if ends else None


def check_flaws(case: Case, section: Section) -> None:
    """Check that the case's flaws lie on what is straight of their bonds.

    Raises
    ------
    CaseError
    """
    for i, flaw in enumerate(case.flaws):
        bond = section.bond(flaw.bond)
        reach = reach_of(section, bond, flaw.face)
        least = SHORTEST * bond.thickness
        low, high = reach if reach is not None else (0.0, 0.0)
        if bond.name == "scarf" and flaw.face != "middle":
            low = 0.0  # its trimmed end is open wherever a face begins
        low = max(low, 0.0)
        stop = flaw.start + flaw.length
        where = f"the straight part of the {flaw.bond} bond, s = {low:.6g} mm to {high:.6g} mm"
        if not low - NEAR <= flaw.start < high:
            refuse(case, f"flaws[{i}].start", f"{flaw.start:.6g} mm", where, "is not on the bond")
        if stop > high + NEAR:
            most = f"at most {high - flaw.start:.6g} mm from there: {where}"
            refuse(case, f"flaws[{i}].length", f"{flaw.length:.6g} mm", most, "runs off the bond")
        if flaw.length < least:
            refuse(
                case,
                f"flaws[{i}].length",
                f"{flaw.length:.6g} mm",
                f"at least {least:.3g} mm, a sixteenth of the bond's thickness",
                "is too short to tell",
            )


def _loosened(section: Section) -> Section:
    """Free the wall from rows, but for layers thinner than the elements along a bond."""
    step = STEP * min(bond.thickness for bond in section.bonds)
    thick = {
        region
        for region, owner in section.regions.items()
        if owner.part == "wall" and section.layers[owner.material].thickness > 2 * step
    }
    faces = tuple(
        replace(face, sides=()) if face.region in thick else face for face in section.faces
    )
    return replace(section, faces=faces)


def _parts(mesh: JointMesh, section: Section) -> list[str]:
    """Part of each triangle."""
    centre = mesh.points[mesh.triangles[:, :3]].mean(axis=1)
    names = np.empty(len(mesh.triangles), object)
    bonds = {bond.region: bond for bond in section.bonds}
    for number, region in enumerate(mesh.regions):
        members = mesh.region == number
        part = section.regions[region].part
        if part in ("ring", "head"):
            names[members] = "ring"
        elif part == "wall":
            names[members] = "wall"
        elif region in bonds:
            bond = bonds[region]
            far = (centre[members] - bond.start) @ np.asarray(bond.across) > 0
            names[members] = np.where(far, f"{region} ring side", f"{region} wall side")
        else:
            names[members] = region
    return [str(name) for name in names]


def _far_parts(mesh: JointMesh, section: Section) -> Any:
    """Give the function from bond and face to the parts on the face's far side."""
    adhesive = [r for r in mesh.regions if section.regions[r].part == "adhesive"]
    bonds = {bond.region for bond in section.bonds}
    halves = [f"{r} {side} side" for r in adhesive if r in bonds for side in ("wall", "ring")]
    everything = (*halves, *(r for r in adhesive if r not in bonds))

    def far(bond: str, face: str) -> tuple[str, ...]:
        if face == "wall":
            return everything
        return ("ring",) if face == "ring" else (f"bond-{bond} ring side",)

    return far


def _path(
    mesh: JointMesh, section: Section, name: str, face: str, sides: NDArray[np.int64]
) -> Path:
    bond = section.bond(name)
    corners = np.concatenate([sides[:, 0], sides[-1:, 1]])
    points = mesh.points[corners]
    surface = np.unique(
        np.concatenate(
            [mesh.edges[e][:, :2].ravel() for e in ("wet", "dry", "closure") if e in mesh.edges]
        )
    )
    wet = np.unique(mesh.edges["wet"][:, :2])
    ends = corners[[0, -1]]
    is_open, is_wet = np.isin(ends, surface), np.isin(ends, wet)
    return Path(
        name,
        face,
        (points - bond.start) @ np.asarray(bond.along),
        points[:, 0].copy(),
        points[:, 1].copy(),
        bond.along,
        bond.across,
        (bool(is_open[0]), bool(is_open[1])),
        (bool(is_wet[0]), bool(is_wet[1])),
        bond.thickness,
        bond.length,
    )


def solve_disbonds(case: Case) -> Disbonds:
    """Reduce a case's joint to each of its paths, and to those of its flaws."""
    level = case.mesh.level
    plain = reduce_joint(case, min(level, MAPPED))
    faces = tuple(plain.only(i) for i in range(len(plain.paths)))
    if not case.flaws:
        return Disbonds(faces, None, None)
    wanted = list(dict.fromkeys((flaw.bond, flaw.face) for flaw in case.flaws))
    exact, companion = (reduce_joint(case, level, degree, wanted) for degree in FLAW_DEGREES)
    return Disbonds(faces, exact, companion)
