"""The places that are judged, with their unit stresses.

Problem
    A criterion wants stresses at many places and the names of those places. Which places, and
    over which length is a stress averaged before it is judged?
Formulation
    - Bond: mid-thickness, averaged over windows of the adhesive's characteristic length that
      slide along s. At mid-thickness the elastic stress is bounded; the window says how much of
      the bond must be overloaded before it fails.
    - Wall, ring, head: points outside the neighbourhoods of corners
      (`solve.section_corners`): along every outline and on the rims of the neighbourhoods, where
      stress is largest, at places that are the same on every mesh; and the integration points of
      every element. In the wall each ply of the layer's unit in its own axes.
    - Interlaminar: lines under the wall's bonded faces and lines that end at the wall's end face,
      averaged over windows of the averaging length (Brewer & Lagace 1988).
    A component is averaged as it is, MPa per unit load, before any criterion sees it.
Units
    mm, MPa per MPa of pressure and per K.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from geometry.section import BondLine, Section
from post.bondline import in_bond_frame, stations
from post.numerical_error import MEAN_FLOOR, POINT_FLOOR
from solve.answer import LOADS, Answer
from solve.as_made import wall_cards
from solve.elements import kinematics, quadrature, reference_basis
from solve.laminate import ply_stresses
from solve.section_corners import SectionCorner, outside_corners
from solve.stress import element_stress, strain_from_gradients, stress_at

Floats = NDArray[np.float64]

POINTS_DEGREE = 2  # integration points of this degree: six in a triangle
RIM = 24  # points on the rim of a corner's neighbourhood, in each of its wedges
ALONG = 64  # steps along an edge of a face
DEPTHS = 24  # lines through the wall that end at its end face


@dataclass(frozen=True)
class Places:
    """Unit stresses at n places.

    Attributes
    ----------
    unit : dict of str to (components, n) array
        ``pressure`` (per MPa) and ``temperature`` (per K).
    r, z : (n,) arrays, mm
    layer : (n,) array of str
        Layer of the wall, or empty.
    angle : (n,) array
        Ply angle, degrees; NaN where there is none.
    s : (n,) array
        Distance along the bond, mm; NaN where there is none.
    floor : float
        Least numerical error of what is found there, as a share of it.
    """

    unit: dict[str, Floats]
    r: Floats
    z: Floats
    layer: NDArray[np.str_]
    angle: Floats
    s: Floats
    floor: float = POINT_FLOOR

    @property
    def count(self) -> int:
        """Number of places."""
        return len(self.r)


def bond_places(answer: Answer, bond: BondLine, window: float) -> tuple[Places, Places]:
    """Average along a bond's mid-thickness line.

    Parameters
    ----------
    answer : Answer
    bond : BondLine
    window : float
        Characteristic length, mm; no longer than the bond.

    Returns
    -------
    traction, stress : Places
        The same places with [peel, shear, twist shear] and with [rr, tt, zz, tz, rz, rt].
    """
    window = min(window, bond.length)
    s = _dense(stations(bond), window / 8)
    points = bond.faces(s)[1]
    regions = [n for n, region in answer.section.regions.items() if region.part == "adhesive"]
    stress = stress_at(answer, points, regions)
    traction = in_bond_frame(bond, stress)
    starts = _starts(s, window)
    middle = starts + window / 2
    r, z = bond.faces(middle)[1]
    blank = np.full(len(starts), "")
    none = np.full(len(starts), np.nan)

    def averaged(unit: dict[str, Floats], rows: int) -> Places:
        means = {load: _windows(s, values[:rows], starts, window) for load, values in unit.items()}
        return Places(means, r, z, blank, none, middle, MEAN_FLOOR)

    return averaged(traction, 3), averaged(stress, 6)


def _dense(s: Floats, step: float) -> Floats:
    """Places on a line, none farther apart than a step."""
    count = max(2, int(np.ceil((s[-1] - s[0]) / step)) + 1)
    return np.unique(np.concatenate([s, np.linspace(s[0], s[-1], count)]).round(9))


def _starts(s: Floats, window: float) -> Floats:
    """Where windows start: at every place that leaves room, the last one ending where s ends."""
    last = s[-1] - window
    return np.append(s[s < last - 1e-9], last)


def _windows(s: Floats, values: Floats, starts: Floats, window: float) -> Floats:
    """Mean of values (c, n), linear between the places s, over windows, (c, len(starts))."""
    slope = np.diff(values, axis=1) / np.diff(s)
    steps = (values[:, 1:] + values[:, :-1]) / 2 * np.diff(s)
    total = np.concatenate([np.zeros((len(values), 1)), np.cumsum(steps, axis=1)], axis=1)

    def up_to(x: Floats) -> Floats:
        at = np.clip(np.searchsorted(s, x, side="right") - 1, 0, len(s) - 2)
        beyond = x - s[at]
        return np.asarray(total[:, at] + (values[:, at] + slope[:, at] * beyond / 2) * beyond)

    return (up_to(starts + window) - up_to(starts)) / window


def _points(
    answer: Answer, regions: list[int], corners: list[SectionCorner]
) -> tuple[dict[str, Floats], Floats, Floats, NDArray[np.int64]]:
    """Collect unit strains of regions at integration points and fixed points, outside the corners.

    Stress is largest along an outline (a groove's radius, a head's seat) or, growing towards a
    corner, at the rim of its neighbourhood. Integration points only come near these
    places, on each mesh differently, so points that are the same on every mesh are added.
    """
    mesh, space = answer.mesh, answer.space
    members = np.flatnonzero(np.isin(mesh.region, regions))
    xi, _ = quadrature(POINTS_DEGREE)
    kin = kinematics(mesh.points, space.corners[members], space.degree, xi)
    z = mesh.points[space.corners[members], 1] @ reference_basis(2, xi)[0]
    keep = outside_corners(corners, np.stack([kin.radius.ravel(), z.ravel()]))
    strains = {
        load: strain_from_gradients(kin, answer.displacement[load][space.dofs[members]]).reshape(
            6, -1
        )[:, keep]
        for load in LOADS
    }
    radius, height = kin.radius.ravel()[keep], z.ravel()[keep]
    region = np.repeat(mesh.region[members], xi.shape[1])[keep]

    rim = _rim(corners)
    for number in regions:
        name = mesh.regions[number]
        fixed = np.concatenate([rim, _outline(answer.section, name, corners)], axis=1)
        _, once = np.unique(fixed.round(9), axis=1, return_index=True)  # ends are shared
        fixed = fixed[:, once]
        unit = stress_at(answer, fixed, [name])
        inside = np.isfinite(unit["pressure"]).all(axis=0)
        material = answer.materials[name]
        for load, stress in unit.items():
            strain = np.linalg.solve(material.C, stress[:, inside])
            if load == "temperature":
                strain += material.cte[:, None]
            strains[load] = np.concatenate([strains[load], strain], axis=1)
        radius = np.concatenate([radius, fixed[0, inside]])
        height = np.concatenate([height, fixed[1, inside]])
        region = np.concatenate([region, np.full(inside.sum(), number)])
    return strains, radius, height, region


def _rim(corners: list[SectionCorner]) -> Floats:
    """Points on the rims of the corners' neighbourhoods, (2, n)."""
    around = [np.zeros((2, 0))]
    for corner in corners:
        for wedge in corner.wedges:
            turn = np.radians(np.linspace(wedge.start, wedge.end, RIM))
            circle = np.stack([np.cos(turn), np.sin(turn)])
            around.append(np.asarray(corner.point)[:, None] + corner.radius * circle)
    points = np.concatenate(around, axis=1)
    return points[:, outside_corners(corners, points) & (points[0] > 0)]


def _outline(section: Section, region: str, corners: list[SectionCorner]) -> Floats:
    """Points along the edges of a region's faces, denser towards their ends, (2, n)."""
    steps = (1 - np.cos(np.linspace(0, np.pi, ALONG + 1))) / 2
    edges = {abs(i) - 1 for face in section.faces if face.region == region for i in face.loop}
    along = [section.edge_points(section.edges[edge], steps).T for edge in sorted(edges)]
    points = np.concatenate(along, axis=1)
    return points[:, outside_corners(corners, points) & (points[0] > 0)]


def solid_places(answer: Answer, part: str, corners: list[SectionCorner]) -> Places:
    """Stress in ring or head.

    Parameters
    ----------
    answer : Answer
    part : str
        ``ring`` or ``head``.
    corners : list of SectionCorner

    Returns
    -------
    Places
        With [rr, tt, zz, tz, rz, rt].
    """
    mesh = answer.mesh
    wanted = [i for i, n in enumerate(mesh.regions) if answer.section.regions[n].part == part]
    strains, r, z, region = _points(answer, wanted, corners)
    unit = {
        load: element_stress(answer, load, strain[:, :, None], region)[:, :, 0]
        for load, strain in strains.items()
    }
    none = np.full(len(r), np.nan)
    return Places(unit, r, z, np.full(len(r), ""), none, none)


def ply_places(answer: Answer, corners: list[SectionCorner]) -> Iterator[tuple[str, Places]]:
    """Give the stress of every ply in its layer, by ply card.

    Yields
    ------
    card, Places
        With [11, 22, 33, 23, 13, 12] in the plies' own axes.
    """
    found: dict[str, list[Places]] = {}
    for number, name in enumerate(answer.mesh.regions):
        layer = answer.section.layers.get(name)
        if layer is None:
            continue
        strains, r, z, _ = _points(answer, [number], corners)
        stresses = {
            load: ply_stresses(
                layer, wall_cards(answer.case), strain, 1.0 if load == "temperature" else 0.0
            )
            for load, strain in strains.items()
        }
        # plies of one card at one angle have one stress at a point of the smeared layer
        seen = set()
        for i, ply in enumerate(layer.plies):
            if (ply.card, ply.angle) in seen:
                continue
            seen.add((ply.card, ply.angle))
            found.setdefault(ply.card, []).append(
                Places(
                    {load: stress[i] for load, stress in stresses.items()},
                    r,
                    z,
                    np.full(len(r), name),
                    np.full(len(r), ply.angle),
                    np.full(len(r), np.nan),
                )
            )
    for card, parts in found.items():
        yield card, _joined(parts)


def interlaminar_places(answer: Answer, depth: float, window: float) -> Places:
    """Average the wall's stress along lines under its bonded faces and lines to its end face.

    Parameters
    ----------
    answer : Answer
    depth : float
        Depth of the lines under a bonded face, mm (a ply thickness).
    window : float
        Averaging length, mm.

    Returns
    -------
    Places
        With [rr, tt, zz, tz, rz, rt]; through the thickness is r.
    """
    wall = [n for n, region in answer.section.regions.items() if region.part == "wall"]
    lines: list[Floats] = []
    for bond in answer.section.bonds:
        if bond.name != "end":
            s = _dense(stations(bond), window / 4)
            lines.append(bond.faces(s)[0] - depth * np.asarray(bond.across)[:, None])
    if answer.case.joint.form != "scarf":
        end, bore = answer.case.wall.half_length, answer.case.wall.bore_radius
        for r in np.linspace(bore + depth, answer.section.outer_radius - depth, DEPTHS):
            z = np.linspace(end - 12 * window, end, 60)
            lines.append(np.stack([np.full_like(z, r), z]))
    parts = []
    for line in lines:
        unit = stress_at(answer, line, wall)
        inside = np.isfinite(unit["pressure"]).all(axis=0)
        if inside.sum() < 3:
            continue
        line = line[:, inside]
        s = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(line, axis=1)))])
        if s[-1] <= window:
            continue
        starts = _starts(s, window)
        means = {
            load: _windows(s, stress[:, inside], starts, window) for load, stress in unit.items()
        }
        r, z = (np.interp(starts + window / 2, s, x) for x in line)
        none = np.full(len(starts), np.nan)
        parts.append(Places(means, r, z, np.full(len(starts), ""), none, none, MEAN_FLOOR))
    return _joined(parts)


def _joined(parts: list[Places]) -> Places:
    return Places(
        {load: np.concatenate([p.unit[load] for p in parts], axis=1) for load in LOADS},
        np.concatenate([p.r for p in parts]),
        np.concatenate([p.z for p in parts]),
        np.concatenate([p.layer for p in parts]),
        np.concatenate([p.angle for p in parts]),
        np.concatenate([p.s for p in parts]),
        parts[0].floor,
    )
