"""The corners of a section at which stress may have no bound, and with which exponents.

Problem
    Say of every point of a section where stress grows without bound, how fast, and how far
    around it a stress at a point is no measure of the joint.
Formulation
    Around each point the faces of the section are wedges between the tangents of their edges;
    neighbours of one stiffness are one wedge. What then is whole, or a straight or convex edge
    of one material, or a straight interface, is no corner. The others go to `solve.corners`.
    Antiplane exponents count only where something in the section drives u_theta.
Neighbourhood
    Inside it stress is taken as that of the corner and not judged point by point. A corner with
    bounded stress has one too: there stress goes as a broken power of the distance, so that at
    the point itself meshes are slow to resolve it. The neighbourhood's radius is
    a convention, stated with every result: half the thickness of the nearest bond, as beyond that
    the other face of the bond rules; at a corner of metal a tenth of the ring's seat for the
    head (of its end face without a head).
Units
    mm, degrees.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from geometry.section import Edge, Section
from solve.corners import Exponent, Wedge, corner_exponents
from solve.elasticity import couples_twist
from solve.laminate import Material

Floats = NDArray[np.float64]

BOND_SHARE = 0.5  # radius of the neighbourhood, of the nearest bond's thickness
SEAT_SHARE = 0.1  # the same at corners of metal, of the head's seat
STRAIGHT = 0.05  # degrees from 180 that count as straight; rounded coordinates turn edges by less
ON_RIM = 1e-7  # of the radius; a point on a rim is outside, also where two rims touch
ON_BORDER = 1e-6  # mm from the axis and the symmetry plane


@dataclass(frozen=True)
class CornerWedge:
    """A wedge of a corner.

    Attributes
    ----------
    regions : tuple of str
        Regions of the section that make it up; they have one stiffness.
    part : str
        ``wall``, ``adhesive``, ``ring`` or ``head``, of the first of them.
    material : str
        Layer or card, of the first of them.
    start, end : float
        Degrees from the r axis towards the z axis.
    """

    regions: tuple[str, ...]
    part: str
    material: str
    start: float
    end: float

    @property
    def angle(self) -> float:
        """Opening, degrees."""
        return self.end - self.start


@dataclass(frozen=True)
class SectionCorner:
    """A corner of a section.

    Attributes
    ----------
    point : (r, z)
    wedges : tuple of CornerWedge
        By rising angle.
    closed : bool
        Whether the wedges are bonded all around the point.
    exponents : tuple of Exponent
        As from `corner_exponents`.
    twists : bool
        Whether something in the section drives u_theta, so that antiplane exponents count.
    radius : float
        Of the neighbourhood in which stress is not judged point by point, mm.
    """

    point: tuple[float, float]
    wedges: tuple[CornerWedge, ...]
    closed: bool
    exponents: tuple[Exponent, ...]
    twists: bool
    radius: float

    @property
    def driven(self) -> tuple[Exponent, ...]:
        """Exponents that something in the section drives, the strongest first."""
        return tuple(e for e in self.exponents if self.twists or e.kind != "antiplane")

    @property
    def unbounded(self) -> tuple[Exponent, ...]:
        """Exponents with which stress grows without bound, the strongest first."""
        return tuple(e for e in self.driven if e.singular)

    @property
    def singular(self) -> bool:
        """Whether stress has no bound."""
        return bool(self.unbounded)

    @property
    def words(self) -> str:
        """One line: what meets here, and how stress goes with the distance."""
        meets = ", ".join(f"{w.material} {w.angle:.4g}°" for w in self.wedges)
        place = f"r = {self.point[0]:.6g} mm, z = {self.point[1]:.6g} mm"
        if not self.singular:
            return f"{place}: {meets}; stress is bounded"
        powers = " and ".join(_power(e) for e in self.unbounded)
        return f"{place}: {meets}; stress goes as distance to the power {powers}"


def section_corners(
    section: Section,
    materials: Mapping[str, Material],
    *,
    bond_share: float = BOND_SHARE,
    seat_share: float = SEAT_SHARE,
) -> list[SectionCorner]:
    """Corners of a section and their exponents.

    Parameters
    ----------
    section : Section
    materials : mapping of str to Material
        By region.
    bond_share, seat_share : float
        Radius of the neighbourhoods, as shares of the nearest bond's thickness and of the head's
        seat.

    Returns
    -------
    list of SectionCorner
        Singular or not, by rising z, then r. Points on the axis and on the symmetry plane are left
        out, and so are points inside one material, on straight interfaces and on straight or
        convex edges of one material.
    """
    twists = couples_twist(dict(materials))
    corners = []
    for at, around in _wedges_by_point(section).items():
        r, z = (float(x) for x in section.points[at])
        if r < ON_BORDER or z < ON_BORDER:
            continue
        for wedges, closed in _fans(_merge(around, materials)):
            if _calm(wedges, closed):
                continue
            key = tuple(
                (materials[w.regions[0]].C.tobytes(), round(w.start, 6), round(w.end, 6))
                for w in wedges
            )
            radius = _radius(section, wedges, np.array([r, z]), bond_share, seat_share)
            corners.append(
                SectionCorner((r, z), wedges, closed, _exponents(key, closed), twists, radius)
            )
    return sorted(corners, key=lambda c: (c.point[1], c.point[0]))


def outside_corners(corners: Sequence[SectionCorner], points: Floats) -> NDArray[np.bool_]:
    """Say which points lie in no neighbourhood of a corner.

    Parameters
    ----------
    corners : sequence of SectionCorner
    points : (2, n) array of (r, z)

    Returns
    -------
    (n,) bool array
    """
    outside = np.ones(points.shape[1], bool)
    for corner in corners:
        r, z = corner.point
        outside &= np.hypot(points[0] - r, points[1] - z) > corner.radius * (1 - ON_RIM)
    return outside


@lru_cache(maxsize=512)
def _exponents(key: tuple[tuple[bytes, float, float], ...], closed: bool) -> tuple[Exponent, ...]:
    """Exponents of a configuration; the same one is solved once."""
    wedges = [Wedge(np.frombuffer(C).reshape(6, 6), start, end) for C, start, end in key]
    return corner_exponents(wedges, closed=closed)


def _power(exponent: Exponent) -> str:
    text = f"\N{MINUS SIGN}{-exponent.stress:.4f}"
    if exponent.value.imag:
        text += f" (oscillating, {exponent.value.imag:.4f})"
    return text


def _wedges_by_point(section: Section) -> dict[int, list[CornerWedge]]:
    """Wedges of the faces around each point, one for each face that has a corner there."""
    wedges: dict[int, list[CornerWedge]] = {}
    for face in section.faces:
        region = section.regions[face.region]
        for one, two in zip(face.loop, [*face.loop[1:], face.loop[0]], strict=True):
            edge = section.edges[abs(two) - 1]
            at = edge.start if two > 0 else edge.end
            start = _leaving(section, edge, at) % 360
            # faces run counter-clockwise: their inside is to the left of the edge that leaves
            angle = (_leaving(section, section.edges[abs(one) - 1], at) - start) % 360
            wedges.setdefault(at, []).append(
                CornerWedge((region.name,), region.part, region.material, start, start + angle)
            )
    return wedges


def _leaving(section: Section, edge: Edge, at: int) -> float:
    """Angle of the tangent with which an edge leaves one of its ends, degrees."""
    there = edge.end if edge.start == at else edge.start
    here = section.points[at]
    direction = section.points[there] - here
    if edge.centre is not None:
        # square to the radius, to the side on which the other end lies
        r, z = here - np.asarray(edge.centre)
        tangent = np.array([-z, r])
        direction = tangent * np.sign(tangent @ direction)
    return float(np.degrees(np.arctan2(direction[1], direction[0])))


def _merge(wedges: Sequence[CornerWedge], materials: Mapping[str, Material]) -> list[CornerWedge]:
    """Join neighbours of one stiffness."""
    merged: list[CornerWedge] = []
    for wedge in sorted(wedges, key=lambda w: w.start):
        if merged and _joined(merged[-1], wedge, materials):
            merged[-1] = _join(merged[-1], wedge, wedge.end)
        else:
            merged.append(wedge)
    while len(merged) > 1 and _joined(merged[-1], merged[0], materials):
        last = merged.pop()
        merged[0] = _join(last, merged[0], merged[0].end + 360)
    return sorted(merged, key=lambda w: w.start)


def _join(one: CornerWedge, two: CornerWedge, end: float) -> CornerWedge:
    regions = one.regions + tuple(name for name in two.regions if name not in one.regions)
    return CornerWedge(regions, one.part, one.material, one.start, end)


def _joined(one: CornerWedge, two: CornerWedge, materials: Mapping[str, Material]) -> bool:
    """Whether the second wedge starts where the first ends, with the same stiffness."""
    if not _touch(one, two):
        return False
    C, other = materials[one.regions[0]].C, materials[two.regions[0]].C
    return bool(np.abs(C - other).max() <= 1e-12 * np.abs(C).max())


def _touch(one: CornerWedge, two: CornerWedge) -> bool:
    gap = (two.start - one.end + 180) % 360 - 180
    return abs(gap) < STRAIGHT


def _fans(wedges: list[CornerWedge]) -> list[tuple[tuple[CornerWedge, ...], bool]]:
    """Wedges that are bonded to each other, and whether all around."""
    starts = [i for i, w in enumerate(wedges) if not _touch(wedges[i - 1], w)]
    if not starts:
        return [(_aligned(wedges), True)]
    fans = []
    for first, following in zip(starts, [*starts[1:], starts[0] + len(wedges)], strict=True):
        members = [wedges[i % len(wedges)] for i in range(first, following)]
        fans.append((_aligned(members), False))
    return fans


def _aligned(wedges: Sequence[CornerWedge]) -> tuple[CornerWedge, ...]:
    """Let each wedge start exactly where the one before ends; rounding had moved it."""
    aligned = [wedges[0]]
    for wedge in wedges[1:]:
        start = aligned[-1].end
        aligned.append(
            CornerWedge(wedge.regions, wedge.part, wedge.material, start, start + wedge.angle)
        )
    return tuple(aligned)


def _calm(wedges: Sequence[CornerWedge], closed: bool) -> bool:
    """Whether there is no corner: one material without a notch, or a straight interface."""
    angles = [w.angle for w in wedges]
    if closed:
        return len(angles) == 1 or (
            len(angles) == 2 and all(abs(angle - 180) < STRAIGHT for angle in angles)
        )
    return len(angles) == 1 and angles[0] < 180 + STRAIGHT


def _radius(
    section: Section,
    wedges: Sequence[CornerWedge],
    here: Floats,
    bond_share: float,
    seat_share: float,
) -> float:
    """Radius of a corner's neighbourhood, mm."""
    metal = all(w.part in ("ring", "head") for w in wedges)
    seats = [
        sum(section.edge_length(section.edges[e]) for e in section.named.get(name, ()))
        for name in ("ring|head", "closure")
    ]
    seat = min((length for length in seats if length > 0), default=0.0)
    if section.bonds and not (metal and seat):
        lines = [bond.faces(np.linspace(0, bond.length, 200))[1] for bond in section.bonds]
        near = [float(np.hypot(*(line - here[:, None])).min()) for line in lines]
        return bond_share * section.bonds[int(np.argmin(near))].thickness
    return seat_share * seat
