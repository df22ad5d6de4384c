"""How much adhesive a joint takes: volumes of the drawn gaps, and the masses that make them.

Problem
    The drawn section has a face for each bond, corner and fillet. Turned about the axis each is a
    ring; its volume, the waste and the mix give what is to be weighed.
Formulation
    Volume of a face turned about the axis (Pappus, by Green's theorem on its outline)

        V = 2 pi Int r dA = pi Int r^2 dz   around the outline, counter-clockwise,

    in closed form on straight edges, and on arcs r = a + c cos t, z = b + c sin t:

        Int r^2 dz = a^2 c S + 2 a c^2 (t/2 + sin 2t / 4) + c^3 (S - S^3 / 3),   S = sin t.

    A mix of parts by mass m_i, of densities rho_i, has the density sum m_i / sum (m_i / rho_i):
    volumes are taken to add up. A filler of volume share f displaces that share of the mix.
Units
    mm, mm^3; masses in g.
Source
    Pappus's second theorem; no published source needed for the sums.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from geometry.case import Case
from geometry.section import Edge, Section

GRAMS = 1e6  # in a tonne
CM3 = 1e-3  # cm^3 in a mm^3


@dataclass(frozen=True)
class Gap:
    """Adhesive of one name in the joint.

    Attributes
    ----------
    name : str
        ``bond-inner``, ``corner-outer``, ``fillet-inner``, ...
    area : float
        In the section, mm^2.
    volume : float
        Turned about the axis, mm^3.
    """

    name: str
    area: float
    volume: float


@dataclass(frozen=True)
class Portion:
    """A part of the mix, as it is weighed.

    Attributes
    ----------
    name : str
    share : float or None
        Of the mass of the whole mix; None where volumes are stated without densities.
    mass : float or None
        g; None where no mass is known.
    volume : float or None
        cm^3; None where no density is known.
    """

    name: str
    share: float | None
    mass: float | None
    volume: float | None


@dataclass(frozen=True)
class Fill:
    """What one joint takes.

    Attributes
    ----------
    gaps : tuple of Gap
        Bonds, then corners, then fillets.
    volume : float
        What stays in the joint, mm^3.
    waste : float or None
        As a share of `volume`; None where the case states none.
    density : float or None
        Of the mixed adhesive without filler, tonne/mm^3.
    density_from : str
        Where that comes from, in words.
    portions : tuple of Portion
        Of the volume with waste (without, where it is not stated).
    """

    gaps: tuple[Gap, ...]
    volume: float
    waste: float | None
    density: float | None
    density_from: str
    portions: tuple[Portion, ...]

    @property
    def mixed(self) -> float:
        """Volume to be mixed: with waste where it is stated, mm^3."""
        return self.volume * (1 + (self.waste or 0.0))

    @property
    def mass(self) -> float | None:
        """Mass to be mixed, filler included, g; None where not known."""
        masses = [one.mass for one in self.portions]
        known = [mass for mass in masses if mass is not None]
        return sum(known) if known and len(known) == len(masses) else None


def fill(case: Case, section: Section) -> Fill:
    """Find what one joint takes of adhesive.

    Parameters
    ----------
    case : Case
    section : Section
        As drawn from the case; it has one of the hull's two joints.

    Returns
    -------
    Fill
    """
    gaps = adhesive_gaps(section)
    volume = sum(gap.volume for gap in gaps)
    waste = case.process.bonding.waste
    density, words = mixed_density(case)
    mixed = volume * (1 + (waste or 0.0))
    return Fill(gaps, volume, waste, density, words, portions(case, mixed, density))


def adhesive_gaps(section: Section) -> tuple[Gap, ...]:
    """Areas and volumes of the adhesive, by region: bonds, corners, fillets."""
    found: dict[str, tuple[float, float]] = {}
    for face in section.faces:
        if section.regions[face.region].part != "adhesive":
            continue
        area = volume = 0.0
        for signed in face.loop:
            one, turned = _along(section, section.edges[abs(signed) - 1])
            area += math.copysign(1, signed) * one
            volume += math.copysign(1, signed) * math.pi * turned
        had = found.get(face.region, (0.0, 0.0))
        found[face.region] = had[0] + area, had[1] + volume
    kinds = ("bond", "corner", "fillet")
    order = sorted(
        found, key=lambda name: (kinds.index(name.split("-")[0]), list(found).index(name))
    )
    return tuple(Gap(name, *found[name]) for name in order)


def _along(section: Section, edge: Edge) -> tuple[float, float]:
    """Integrals of r dz and of r^2 dz along an edge, from its start."""
    (r0, z0), (r1, z1) = section.points[edge.start], section.points[edge.end]
    if edge.centre is None:
        rise = z1 - z0
        return float(rise * (r0 + r1) / 2), float(rise * (r0 * r0 + r0 * r1 + r1 * r1) / 3)
    a, b = edge.centre
    c = math.hypot(r0 - a, z0 - b)
    first = math.atan2(z0 - b, r0 - a)
    turn = (math.atan2(z1 - b, r1 - a) - first + math.pi) % (2 * math.pi) - math.pi
    t = np.array([first, first + turn])
    s = np.sin(t)
    half = t / 2 + np.sin(2 * t) / 4  # Int cos^2
    line = a * c * s + c**2 * half
    turned = a**2 * c * s + 2 * a * c**2 * half + c**3 * (s - s**3 / 3)
    return float(line[1] - line[0]), float(turned[1] - turned[0])


def mixed_density(case: Case) -> tuple[float | None, str]:
    """Density of the mixed adhesive without filler, tonne/mm^3, and where it comes from."""
    bonding = case.process.bonding
    if bonding.mix and all(one.density is not None for one in bonding.mix):
        parts = [(one.parts, one.density or math.nan) for one in bonding.mix]
        if bonding.mix_by == "mass":
            density = sum(p for p, _ in parts) / sum(p / rho for p, rho in parts)
        else:
            density = sum(p * rho for p, rho in parts) / sum(p for p, _ in parts)
        return density, "from the densities of its parts, volumes taken to add up"
    card = case.materials[case.joint.adhesive]
    if card.density is not None:
        return card.density.value, f"of the card {card.name}"
    return None, "not stated"


def portions(case: Case, mixed: float, density: float | None) -> tuple[Portion, ...]:
    """Find what to weigh for a volume of adhesive.

    Parameters
    ----------
    case : Case
    mixed : float
        Volume with filler, mm^3.
    density : float or None
        Of the mix without filler, tonne/mm^3.

    Returns
    -------
    tuple of Portion
        Parts of the mix in the case's order, then the filler; one portion named ``adhesive`` where
        the case states no mix.
    """
    filler, bonding = case.process.filler, case.process.bonding
    solids = filler.share if filler is not None else 0.0
    mass = None if density is None else mixed * (1 - solids) * density * GRAMS
    weights = [
        one.parts if bonding.mix_by == "mass" else one.parts * (one.density or math.nan)
        for one in bonding.mix
    ]
    total = sum(weights)
    found = []
    for one, weight in zip(bonding.mix, weights, strict=True):
        share = None if math.isnan(total) else weight / total
        own = None if mass is None or share is None else mass * share
        volume = None if own is None or one.density is None else own / GRAMS / one.density * CM3
        if share is None:  # parts by volume: the volumes stand without any density
            parts = sum(each.parts for each in bonding.mix)
            volume = mixed * (1 - solids) * one.parts / parts * CM3
        found.append(Portion(one.name, share, own, volume))
    if not bonding.mix:
        found.append(Portion("adhesive", 1.0, mass, mixed * (1 - solids) * CM3))
    if filler is not None and solids:
        volume = mixed * solids
        found.append(Portion("filler", None, volume * filler.density * GRAMS, volume * CM3))
    return tuple(found)
