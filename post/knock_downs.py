"""What a strength loses between its card and the hull.

Problem
    A card says what a laboratory found. The joint gets less: the card's basis may be a mean, a
    surface may be poorly prepared, the wall has voids, the sea wets the adhesive.
Formulation
    strength used = card's value x product of factors. Each factor says why it is there and what it
    rests on, or that it is assumed:

    - basis: a typical or an assumed value is a mean and counts 0.8; a minimum, A, B or S value is
      a lower bound already and counts in full;
    - surface: a bond is as good as the worse prepared of its two faces, see `post.preparations`.
      One that is not stated or not known there counts `UNKNOWN_PREPARATION`;
    - voids in the adhesive: every strength of it falls with the least section that a cubic array
      of spheres leaves. The source has it for tension; assumed for shear and compression;
    - filler in the adhesive: every strength of it as the case's own tests have it, straight lines
      between them, nothing beyond them (a share beyond is refused when the case is read);
    - voids: strengths between the fibres lose 7 % for each 1 % of voids. The source has it for
      interlaminar shear up to 4 %; here it stands, assumed, for tension and compression across
      the fibres too, and is drawn on beyond 4 % down to `LEAST_WITH_VOIDS`;
    - knock-downs of the case.
Source
    N.C.W. Judd & W.W. Wright, SAMPE J. 14 (1978) 10-14: voids in the wall; L. Nicolais &
    M. Narkis, Polym. Eng. Sci. 11 (1971) 194-199: voids in the adhesive (values from memory).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from geometry.case import Case, Filler
from post.preparations import prepared, unknown
from solve.micromechanics import net_section

ASSUMED = "assumed"
PRACTICE = "common practice, no published source"

BASES = {"typical": 0.8, "assumed": 0.8, "minimum": 1.0, "A": 1.0, "B": 1.0, "S": 1.0}

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
    needs : str
        Evidence that must stand behind it; empty where none is asked for.
    """

    factor: float
    reason: str
    evidence: str
    needs: str = ""

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
    cards = {"ring": case.ring.material, "wall": case.wall.layup[0].ply}
    kinds = {part: case.materials[card].kind for part, card in cards.items()}
    if surface is None:
        reason = "surface preparation not stated"
        faces = {part: (unknown(kind), reason) for part, kind in kinds.items()}
    else:
        faces = {part: prepared(part, getattr(surface, part), kind) for part, kind in kinds.items()}
    worst, reason = min(faces.values(), key=lambda face: face[0].factor)
    needs = ". ".join(f"{part.capitalize()}: {face.needs}" for part, (face, _) in faces.items())
    return Factor(worst.factor, reason, ASSUMED, needs)


def adhesive_factors(case: Case) -> tuple[Factor, ...]:
    """Factors of what making the joint put into the adhesive: voids and filler."""
    factors = []
    if case.process.adhesive_voids:
        share = case.process.adhesive_voids
        factors.append(
            Factor(
                net_section(share),
                f"{100 * share:.3g} % voids in the adhesive",
                "Nicolais & Narkis 1971 for tension, value from memory; assumed for others",
                "Adhesive: share of voids from sections or a scan of the joint",
            )
        )
    filler = case.process.filler
    if filler is not None:
        factors.append(_filler_factor(filler))
    return tuple(factors)


def _filler_factor(filler: Filler) -> Factor:
    """Factor of the filler: the case's tests, straight lines between them."""
    shares, factors = zip(*((one.share, one.factor) for one in filler.tested), strict=True)
    factor = float(np.interp(filler.share, shares, factors))
    best = int(np.argmax(factors))
    reason = f"{100 * filler.share:.3g} % filler"
    if filler.share > shares[best]:
        reason += f", past the peak of {factors[best]:.3g} at {100 * shares[best]:.3g} %"
    needs = "Adhesive: strength tested with this filler at several shares"
    return Factor(factor, reason, filler.evidence, needs)


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
