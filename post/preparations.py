"""Classes of surface preparation: what share of a bond's strength each leaves, and its evidence.

A class is no proof: each names the tests that must stand behind it before its factor is more than
an assumption. Classes of a metal face are not those of a composite one (or of a plastic): a peel
ply says nothing of a metal. A class that is not known, or belongs to the other kind of face, counts
`UNKNOWN_PREPARATION`, and so does one that is not stated.

Source
    All factors are assumed. What bonds of metals and of composites are tested by: ASTM D2651
    (preparation of metals), D3933 (phosphoric-acid anodising), D3762 (wedge test), D1002 and D5868
    (lap shear), D5573 (looks of the failure), D2093 (preparation of plastics), D5528 (opening of a
    laminate), F22 (water break); contents of D1002, D2093, D3762, D5573 and F22 from memory.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

UNKNOWN_PREPARATION = 0.5
WATER_BREAK = "water-break test of each part (ASTM F22)"
WEDGE = "wedge test in warm, moist air (ASTM D3762) on the same metal"
LAP_METAL = "lap shear (ASTM D1002) with each batch"
LAP_COMPOSITE = "lap shear (ASTM D5868) with each batch, failing in adhesive or ply (ASTM D5573)"
PEEL_PLY = "trial of this peel ply with this adhesive (ASTM D5528: no bare ply left)"
ITS_OWN = "lap shear and durability tests of this preparation"
FRESH = "time from preparation to bonding written down"


@dataclass(frozen=True)
class Preparation:
    """A class of preparation.

    Attributes
    ----------
    factor : float
        Share of a bond's strength; assumed.
    needs : str
        Evidence that the class needs.
    """

    factor: float
    needs: str


METAL = {
    "blasted-primed": Preparation(1.0, f"{WATER_BREAK}; {WEDGE}; {LAP_METAL}; {FRESH}"),
    "anodised-primed": Preparation(
        1.0, f"bath and voltage written down (ASTM D3933 or D2651); {WEDGE}; {LAP_METAL}; {FRESH}"
    ),
    "etched-primed": Preparation(
        1.0, f"bath written down (ASTM D2651); {WATER_BREAK}; {WEDGE}; {LAP_METAL}; {FRESH}"
    ),
    "blasted": Preparation(0.8, f"{WATER_BREAK}; {WEDGE}; {LAP_METAL}; {FRESH}"),
    "abraded": Preparation(0.8, f"{WATER_BREAK}; {WEDGE}; {LAP_METAL}; {FRESH}"),
    "machined-wiped": Preparation(0.5, f"{WATER_BREAK}; {WEDGE}; {LAP_METAL}"),
}
COMPOSITE = {
    "peel-ply-abraded": Preparation(1.0, f"{WATER_BREAK}; {PEEL_PLY}; {LAP_COMPOSITE}"),
    "peel-ply-plasma": Preparation(
        1.0, f"water contact angle of each part; {PEEL_PLY}; {LAP_COMPOSITE}; {FRESH}"
    ),
    "blasted": Preparation(0.8, f"{WATER_BREAK}; no fibre laid bare; {LAP_COMPOSITE}"),
    "abraded": Preparation(0.8, f"{WATER_BREAK}; no fibre laid bare; {LAP_COMPOSITE}"),
    "peel-ply": Preparation(0.7, f"{PEEL_PLY}; {LAP_COMPOSITE}"),
    "machined-wiped": Preparation(0.5, f"{WATER_BREAK}; {LAP_COMPOSITE}"),
}


def classes(kind: str) -> Mapping[str, Preparation]:
    """Classes for a face of a kind of card: metal, or ply and plastic."""
    return METAL if kind == "metal" else COMPOSITE


def prepared(part: str, name: str, kind: str) -> tuple[Preparation, str]:
    """Find the class of a face.

    Parameters
    ----------
    part : str
        ``ring`` or ``wall``, for the words.
    name : str
        As the case states it.
    kind : str
        Of the face's card.

    Returns
    -------
    preparation, words
        `unknown` with the reason where it is no class of that kind of face.
    """
    known = classes(kind)
    if name in known:
        return known[name], f"{part} {name}"
    if name in METAL or name in COMPOSITE:
        face = "metal" if kind == "metal" else "composite"
        return unknown(kind), f"{part} {name}, no preparation of a {face}"
    return unknown(kind), f"{part} {name}, a preparation that is not known"


def unknown(kind: str) -> Preparation:
    """Give what stands for a class that is not known: its needs name those that are."""
    needs = f"a class that is known ({', '.join(classes(kind))}) or {ITS_OWN}"
    return Preparation(UNKNOWN_PREPARATION, needs)
