"""Mass and weight in water of the housing that a section stands for.

Formulation
    The section is half of the housing; both halves count. A part's mass is its density times its
    volume of revolution, 2 pi * integral r dA; what the housing displaces is what its wet outline
    encloses, pi * integral r^2 dz from mid-length to crown, with the density of the sea at duty
    pressure (TEOS-10, standard ocean). Weight in water is positive where the housing sinks; what
    it carries inside is no part of it. A ring without a head is taken as closed by a plane lid
    that weighs nothing.
Units
    kg and N; lengths mm, densities tonne/mm^3.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from geometry.case import Case
from geometry.seawater import density_at, duty_pressure
from geometry.section import Section

Floats = NDArray[np.float64]

GRAVITY = 9.80665  # m/s^2, standard (3rd CGPM 1901)
ALONG = np.linspace(0.0, 1.0, 257)  # points of an arc


def mass(case: Case, section: Section) -> float:
    """Mass of both halves, kg; NaN where a material has no density."""

    def density(part: str, material: str) -> float:
        if part != "wall":
            return _density(case, material)
        plies = section.layers[material].plies
        thickness = sum(ply.thickness for ply in plies)
        return sum(_density(case, ply.card) * ply.thickness for ply in plies) / thickness

    total = 0.0
    for face in section.faces:
        region = section.regions[face.region]
        outline = np.vstack([_walk(section, signed)[:-1] for signed in face.loop])
        total += density(region.part, region.material) * abs(_revolved(outline))
    return 2 * 1000 * total


def displaced_volume(section: Section) -> float:
    """Volume that both halves enclose, mm^3."""
    points = _wet_outline(section)
    (r0, z0), (r1, z1) = points[:-1].T, points[1:].T
    return 2 * np.pi * float(np.sum((z1 - z0) * (r0 * r0 + r0 * r1 + r1 * r1) / 3))


def displaced_mass(case: Case, section: Section) -> float:
    """Mass of the sea that the closed housing displaces at duty, kg."""
    return 1000 * density_at(duty_pressure(case)) * displaced_volume(section)


def weight_in_water(case: Case, section: Section, own: float | None = None) -> float:
    """Weight less buoyancy, N; negative where the housing floats.

    Parameters
    ----------
    case : Case
    section : Section
    own : float, optional
        Its `mass`, where that is known already.
    """
    own = mass(case, section) if own is None else own
    return GRAVITY * (own - displaced_mass(case, section))


def _density(case: Case, name: str) -> float:
    card = case.materials[name]
    return card.density.value if card.density is not None else float("nan")


def _walk(section: Section, signed: int) -> Floats:
    edge = section.edges[abs(signed) - 1]
    if edge.centre is None:
        points = section.points[[edge.start, edge.end]]
    else:
        points = section.edge_points(edge, ALONG)
    return points if signed > 0 else points[::-1]


def _revolved(outline: Floats) -> float:
    """2 pi times the integral of r over a polygon, by Green's theorem; signed."""
    r, z = outline.T
    s, t = np.roll(r, -1), np.roll(z, -1)
    return float(2 * np.pi * np.sum((r * t - s * z) * (r + s)) / 6)


def _wet_outline(section: Section) -> Floats:
    """Points along the wet edges from mid-length to the crown, (n, 2)."""
    left = list(section.named["wet"])
    at = min(
        {p for e in left for p in (section.edges[e].start, section.edges[e].end)},
        key=lambda p: (section.points[p][1], -section.points[p][0]),
    )
    parts = []
    while left:
        number = next(e for e in left if at in (section.edges[e].start, section.edges[e].end))
        left.remove(number)
        edge = section.edges[number]
        forward = edge.start == at
        parts.append(_walk(section, number + 1 if forward else -(number + 1)))
        at = edge.end if forward else edge.start
    return np.vstack([parts[0], *(part[1:] for part in parts[1:])])
