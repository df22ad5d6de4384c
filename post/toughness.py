"""Toughness of the faces of bonds.

Toughness is the adhesive's, less the knock-downs of its card's basis and of the case, and on a
face also of its preparation; the exponent is taken as it stands. Units N/mm, which is kJ/m^2.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from geometry.case import Case
from post.knock_downs import basis_factor, stated_factors, surface_factor
from post.strength_used import Found, Used, as_written, made_of
from solve.energy_release import TipEnergy
from solve.mixed_mode import mixed_toughness


@dataclass(frozen=True)
class Toughness:
    """What a bond's face resists growth with.

    Attributes
    ----------
    opening, shearing : float
        GIc and GIIc, N/mm.
    exponent : float
    """

    opening: float
    shearing: float
    exponent: float

    def limit(self, tip: TipEnergy) -> float:
        """Critical energy release rate at a tip's mix of modes, N/mm."""
        return float(mixed_toughness(self.opening, self.shearing, self.exponent, tip.shear_share))

    @property
    def least(self) -> float:
        """Least of all mixes, N/mm."""
        return min(self.opening, self.shearing)


def toughness(case: Case, face: str) -> tuple[Toughness | None, str]:
    """Take the toughness of a face off the adhesive's card.

    Returns
    -------
    toughness, words
        None with the reason where a constant is missing.
    """
    card = case.materials[case.joint.adhesive]
    factors = stated_factors(case, "adhesive")
    if face != "middle":
        factors = (surface_factor(case), *factors)
    found: list[Found] = []
    values = {str(name): value for name, value in card.toughness.items()}
    for name in ("GIc", "GIIc"):
        if name not in values:
            found.append(f"card {card.name} has no {name}")
            continue
        one = as_written(card, "bond", name, values[name])
        found.append(replace(one, factors=(basis_factor(one.basis), *factors)))
    exponent = card.failure.mode_exponent
    if exponent is None:
        found.append(f"card {card.name} has no mode_exponent")
    else:
        found.append(as_written(card, "bond", "mode_exponent", exponent))
    return made_of(Toughness, *found)


def toughness_used(case: Case) -> tuple[Used, ...]:
    """Give every number behind the toughness of faces, for the report."""
    card = case.materials[case.joint.adhesive]
    values = {str(name): value for name, value in card.toughness.items()}
    factors = (surface_factor(case), *stated_factors(case, "adhesive"))
    return tuple(
        replace(one, factors=(basis_factor(one.basis), *factors))
        for name in ("GIc", "GIIc")
        if name in values
        for one in (as_written(card, "bond", name, values[name]),)
    )
