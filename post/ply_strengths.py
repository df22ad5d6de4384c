"""The strengths that the criteria take of one ply.

What stands in the place of what a card does not say (a card of the library says it, but for the
strengths through the thickness): ZT as YT, ZC as YC, S13 as S12, S23 as YC / 2; S12 reached at 4 %
of shear strain; 5 for the exponent of the shear curve; Puck's slopes 0.30 and 0.25, the lower ones;
fibres 1.5 degrees astray. Nothing stands in for another strength: what needs it is not judged.

The shear curve passes through S12 at its ultimate strain (see `shear_yield_through`); the yield
stress of that curve loses what S12 loses, and the stiffness nothing.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from geometry.case import Case
from geometry.constants import Value
from geometry.materials import Card
from post.criteria import hashin, maximum_stress
from post.criteria.interlaminar import InterlaminarStrength
from post.criteria.kinking import KinkStrength, shear_yield_through
from post.criteria.puck import GFRP_SLOPES, PuckStrength
from post.criteria.strengths import PlyStrength
from post.knock_downs import ASSUMED, Factor, stated_factors, voids_factor
from post.strength_used import Found, Used, as_written, in_place_of, in_words, made_of, strength_of

WAVINESS = 1.5  # degrees, where the case does not say
SHEAR_STRAIN = 0.04
EXPONENT = 5.0

PLY_MODES = {
    "maximum stress": "ply",
    "Tsai-Wu": "ply",
    "Hashin": "ply",
    "between the fibres (Puck)": "puck",
    "fibre kinking": "kink",
    "between the plies": "interlaminar",
}
"""Modes of the ladder, and the attribute of `PlyStrengths` that each takes."""

STRENGTHS = ("XT", "XC", "YT", "YC", "ZT", "ZC", "S12", "S13", "S23")  # in PlyStrength's order
ALONG = ("XT", "XC")  # voids are not felt along the fibre
STAND_INS = (("ZT", "YT", 1.0), ("ZC", "YC", 1.0), ("S13", "S12", 1.0), ("S23", "YC", 0.5))

# what a mode stands on; the order of each criterion's modes is its own
TOLD = {
    "maximum stress": STRENGTHS,
    "Tsai-Wu": ("XT", "XC", "YT", "YC", "S12"),
    "Hashin": ("XT", "XC", "YT", "YC", "S12", "S23"),
    **{
        f"maximum stress: {mode}": (name,)
        for mode, name in zip(
            maximum_stress.MODES,
            ("XT", "XC", "YT", "YC", "ZT", "ZC", "S23", "S13", "S12"),
            strict=True,
        )
    },
    **{
        f"Hashin: {mode}": names
        for mode, names in zip(
            hashin.MODES,
            (("XT", "S12"), ("XC",), ("YT", "S12", "S23"), ("YC", "S12", "S23")),
            strict=True,
        )
    },
}


@dataclass(frozen=True)
class PlyStrengths:
    """What the criteria take of one ply; None where not judged, `words` then say why.

    Attributes
    ----------
    ply, puck, kink, interlaminar
        As the criteria take them, MPa.
    words : mapping
        By mode, a key of `PLY_MODES`, also with a criterion's own mode after a colon
        (``maximum stress: fibre compression``): the strengths with their values, or why not judged.
    used : tuple of Used
    """

    ply: PlyStrength | None
    puck: PuckStrength | None
    kink: KinkStrength | None
    interlaminar: InterlaminarStrength | None
    words: Mapping[str, str]
    used: tuple[Used, ...]

    @property
    def puck_why(self) -> str:
        """Why Puck's criterion is not judged; empty where it is."""
        return "" if self.puck else self.words["between the fibres (Puck)"]


def ply_strengths(case: Case, card: Card) -> PlyStrengths:
    """Lower the strengths of a ply of the wall by every knock-down.

    Parameters
    ----------
    case : Case
    card : Card
        Of kind ply.

    Returns
    -------
    PlyStrengths
    """
    stated = stated_factors(case, "wall")
    between = (voids_factor(case), *stated)
    s = _strengths(card, stated, between)
    slope_tension, slope_compression = (
        _or_assumed(card, "puck_tension", card.failure.puck_tension, GFRP_SLOPES[0]),
        _or_assumed(card, "puck_compression", card.failure.puck_compression, GFRP_SLOPES[1]),
    )
    exponent = _or_assumed(card, "shear_exponent", card.failure.shear_exponent, EXPONENT)
    shear_yield = _shear_yield(card, s["S12"], exponent.value, between)
    waviness = _waviness(case)

    def kinking(shear_yield: float, exponent: float, waviness: float) -> KinkStrength:
        return KinkStrength(card.constants()["G12"], shear_yield, exponent, waviness)

    words = {}
    ply, why = made_of(PlyStrength, *(s[name] for name in STRENGTHS))
    for mode, names in TOLD.items():
        told = [one for one in (s[name] for name in names) if isinstance(one, Used)]
        words[mode] = in_words(told) if ply else why
    puck, words["between the fibres (Puck)"] = made_of(
        PuckStrength, s["YT"], s["YC"], s["S12"], slope_tension, slope_compression
    )
    kink, words["fibre kinking"] = made_of(kinking, shear_yield, exponent, waviness)
    interlaminar, words["between the plies"] = made_of(InterlaminarStrength, s["ZT"], s["S13"])
    found = (*s.values(), slope_tension, slope_compression, shear_yield, exponent, waviness)
    used = tuple(one for one in found if isinstance(one, Used))
    return PlyStrengths(ply, puck, kink, interlaminar, words, used)


def _strengths(
    card: Card, along: tuple[Factor, ...], between: tuple[Factor, ...]
) -> dict[str, Found]:
    """Strengths by name, with what stands in for those through the thickness."""
    s = {
        name: strength_of(card, "wall", name, factors=along if name in ALONG else between)
        for name in STRENGTHS
    }
    for name, other, times in STAND_INS:
        if isinstance(s[name], str):
            s[name] = in_place_of(s[other], name, times)
    return s


def _or_assumed(card: Card, name: str, value: Value | None, fallback: float) -> Used:
    if value is not None:
        return as_written(card, "wall", name, value)
    return Used("wall", card.name, name, fallback, "", ASSUMED, "assumed, not on the card")


def _shear_yield(card: Card, S12: Found, exponent: float, factors: tuple[Factor, ...]) -> Found:
    """Yield stress of a ply's shear curve: the card's own, or through S12 at its strain."""
    own = strength_of(card, "wall", "shear_yield", factors=factors)
    if isinstance(own, Used) or isinstance(S12, str):
        return own if isinstance(own, Used) else S12
    strain = card.failure.shear_strain_ultimate
    at = strain.value if strain else SHEAR_STRAIN
    G12 = card.constants()["G12"]
    try:
        value = shear_yield_through(G12, exponent, S12.card_value, at)
    except ValueError as error:
        return f"card {card.name}: {error}"
    source = f"curve through S12 at {100 * at:.3g} % ({strain.source if strain else ASSUMED})"
    return replace(S12, name="shear_yield", card_value=value, source=source)


def _waviness(case: Case) -> Used:
    if case.wall.waviness is None:
        return Used("wall", "", "waviness", WAVINESS, "deg", ASSUMED, "assumed, not stated")
    return Used("wall", "", "waviness", case.wall.waviness, "deg", "", "stated by the case")
