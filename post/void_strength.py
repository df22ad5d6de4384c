"""What crushes the voids of an adhesive, from its yield in compression.

The solid around a void is that of the card: its yield loses by basis, filler and knock-downs of the
case, not by the section that the voids take away, as the hollow sphere has that in its formula.
"""

from __future__ import annotations

from dataclasses import replace

from geometry.case import Case
from post.criteria.void_crushing import VoidStrength
from post.strength_used import Found, Used, made_of
from solve.micromechanics import crushing_pressure, first_yield_at_a_pore

VOIDS = "voids in the adhesive"  # in the reason of the factor that does not count here


def void_strength(
    case: Case, compression: Found
) -> tuple[VoidStrength | None, str, tuple[Used, ...]]:
    """Give the pressure that crushes the adhesive's voids.

    Parameters
    ----------
    case : Case
    compression : Used or str
        Compressive yield of the adhesive, less every factor, or what is missing.

    Returns
    -------
    strength, words, used
        None with the reason where there are no voids or no yield; the words also say at which
        pressure the wall of a single void first yields, which crushes nothing yet.
    """
    share = case.process.adhesive_voids
    if not share:
        return None, "not judged: no voids stated", ()
    if isinstance(compression, str):
        return None, f"not judged: {compression}", ()
    solid = tuple(one for one in compression.factors if VOIDS not in one.reason)
    crushing = replace(
        compression,
        name="void crushing",
        card_value=crushing_pressure(compression.card_value, share),
        factors=solid,
        source=f"hollow sphere, 2/3 ln(1/{share:.3g}) compressive: {compression.source}",
    )
    strength, words = made_of(VoidStrength, crushing)
    first = first_yield_at_a_pore(replace(compression, factors=solid).value)
    return strength, f"{words}; the wall of a void first yields at {first:.3g} MPa", (crushing,)
