"""What a strength loses between its card and the hull.

Problem
    A card says what a laboratory found. The joint gets less: the card's basis may be a mean, a
    surface may be poorly prepared, the wall has voids, the sea wets the adhesive.
Formulation
    strength used = card's value x product of factors. Each factor says why it is there and what it
    rests on, or that it is assumed:

    - basis: a typical or an assumed value is a mean and counts 0.8; a minimum, A, B or S value is
      a lower bound already and counts in full;
    - surface: a bond is as good as the worse prepared of its two faces, see `PREPARATIONS`. One
      that is not stated or not known there counts `UNKNOWN_PREPARATION`;
    - voids: strengths between the fibres lose 7 % for each 1 % of voids. The source has it for
      interlaminar shear up to 4 %; here it stands, assumed, for tension and compression across
      the fibres too, and is drawn on beyond 4 % down to `LEAST_WITH_VOIDS`;
    - knock-downs of the case.
Source
    N.C.W. Judd & W.W. Wright, SAMPE J. 14 (1978) 10-14 (value from memory): voids.
"""

from __future__ import annotations

from dataclasses import dataclass

from geometry.case import Case

ASSUMED = "assumed"
PRACTICE = "common practice, no published source"

BASES = {"typical": 0.8, "assumed": 0.8, "minimum": 1.0, "A": 1.0, "B": 1.0, "S": 1.0}

PREPARATIONS = {
    "blasted-primed": 1.0,
    "anodised-primed": 1.0,
    "etched-primed": 1.0,
    "peel-ply-abraded": 1.0,
    "peel-ply-plasma": 1.0,
    "blasted": 0.8,
    "abraded": 0.8,
    "peel-ply": 0.7,
    "machined-wiped": 0.5,
}
"""Share of a bond's strength by the preparation of a face; all assumed."""
UNKNOWN_PREPARATION = 0.5

LOSS_BY_VOIDS = 7.0  # share of the strength lost for each share of voids
MOST_VOIDS = 0.04  # up to where the source has it
LEAST_WITH_VOIDS = 0.1


@dataclass(frozen=True)
class Factor:
    """A factor on a strength.

    Attributes
    ----------
    factor : float
        Share that is left; a pure number.
    reason : str
        What takes the rest.
    evidence : str
        What the factor rests on, or ``assumed``.
    """

    factor: float
    reason: str
    evidence: str

    def __str__(self) -> str:
        """Give the factor with its reason and evidence, such as ``0.85 (wet, assumed)``."""
        told = self.evidence in self.reason
        return f"{self.factor:.3g} ({self.reason}{'' if told else f', {self.evidence}'})"


def basis_factor(basis: str) -> Factor:
    """Factor of a value's basis, a key of `BASES`."""
    factor = BASES[basis]
    return Factor(factor, f"{basis} basis", ASSUMED if factor < 1 else PRACTICE)


def surface_factor(case: Case) -> Factor:
    """Factor of the worse prepared of the faces that are bonded."""
    surface = case.joint.surface
    if surface is None:
        return Factor(UNKNOWN_PREPARATION, "surface preparation not stated", ASSUMED)
    worst, reason = min(
        (PREPARATIONS.get(name, UNKNOWN_PREPARATION), _face(part, name))
        for part, name in (("ring", surface.ring), ("wall", surface.wall))
    )
    return Factor(worst, reason, ASSUMED)


def _face(part: str, name: str) -> str:
    return f"{part} {name}" + ("" if name in PREPARATIONS else ", a preparation that is not known")


def voids_factor(case: Case) -> Factor:
    """Factor of the wall's voids on strengths between the fibres."""
    voids = case.wall.voids
    if voids is None:
        return Factor(1.0, "no voids stated", ASSUMED)
    evidence = "Judd & Wright 1978 for S13, value from memory; assumed for others"
    if voids > MOST_VOIDS:
        evidence += f" and beyond {100 * MOST_VOIDS:g} %"
    factor = max(1 - LOSS_BY_VOIDS * voids, LEAST_WITH_VOIDS)
    return Factor(factor, f"{100 * voids:.3g} % voids", evidence)


def stated_factors(case: Case, part: str) -> tuple[Factor, ...]:
    """Knock-downs of the case on a part: adhesive, wall, ring or head."""
    return tuple(
        Factor(one.factor, one.reason, one.evidence) for one in case.knock_downs if one.on == part
    )
