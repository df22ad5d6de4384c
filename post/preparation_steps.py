"""Steps that prepare a face for bonding, by class of preparation, with what describes them.

A step names the published standard that describes it, or says that it is common practice without a
published source. `FROM_MEMORY` lists standards whose contents were not seen: the sheet says so.

Source
    ASTM D2651 (preparation of metals; titanium in its section 10: abrasion, acid etches, chromic
    and fluoride anodising), D3933 (phosphoric-acid anodising of aluminium), D2093 (plastics).
"""

from __future__ import annotations

from dataclasses import dataclass

from geometry.case import Case
from post.knock_downs import PRACTICE
from post.preparations import Preparation, prepared

FROM_MEMORY = ("D1002", "D2093", "D3762", "D5573", "F22")
METALS, COMPOSITES = "ASTM D2651", "ASTM D2093"
ALUMINIUM = "ASTM D3933, aluminium; D2651 for other metals"


@dataclass(frozen=True)
class Step:
    """A step to be ticked off, and what describes it."""

    words: str
    source: str


@dataclass(frozen=True)
class Face:
    """A face that is bonded.

    Attributes
    ----------
    part : str
        ``ring`` or ``wall``.
    material : str
        Name of its card.
    stated : str
        Class as the case states it; empty where it does not.
    steps : tuple of Step
        Empty where the class is not known.
    preparation : Preparation
        With its factor and the evidence that it needs.
    """

    part: str
    material: str
    stated: str
    steps: tuple[Step, ...]
    preparation: Preparation


def _practice(*words: str) -> tuple[Step, ...]:
    return tuple(Step(one, PRACTICE) for one in words)


DEGREASE = Step(
    "Degrease with clean solvent and lint-free cloth, until a white cloth stays white", ""
)
WIPE = Step("Wipe with clean solvent, one cloth one way; never back", "")
BREAK = Step("Water-break test: a film of clean water stays whole for 30 s; dry", PRACTICE)
PRIME = Step(
    "Prime (silane, sol-gel or primer of the adhesive's maker) in its time window", PRACTICE
)
GRIT = "Blast evenly with clean, dry grit used on no other metal; blow off with oil-free air"
ABRADE = "Abrade evenly, crosswise, until no gloss is left; vacuum and wipe off the dust"


def _from(source: str, *steps: Step | str) -> tuple[Step, ...]:
    """Give the steps a source that have none of their own."""
    made = [Step(one, source) if isinstance(one, str) else one for one in steps]
    return tuple(Step(one.words, one.source or source) for one in made)


METAL_STEPS = {
    "blasted-primed": _from(METALS, DEGREASE, GRIT, BREAK, PRIME),
    "anodised-primed": _from(
        METALS,
        DEGREASE,
        Step("Etch and anodise; write bath, voltage and time down; rinse and dry", ALUMINIUM),
        BREAK,
        PRIME,
    ),
    "etched-primed": _from(
        METALS,
        DEGREASE,
        "Etch in the bath of the procedure; write bath and time down; rinse and dry",
        BREAK,
        PRIME,
    ),
    "blasted": _from(METALS, DEGREASE, GRIT, BREAK),
    "abraded": _from(METALS, DEGREASE, ABRADE, BREAK),
    "machined-wiped": _from(METALS, DEGREASE, WIPE, BREAK),
}
PEEL = _practice("Take the peel ply off just before, in one piece; no shreds, no bare spots left")
COMPOSITE_STEPS = {
    "peel-ply-abraded": (
        *PEEL,
        *_from(COMPOSITES, "Abrade lightly, no fibre laid bare; vacuum", WIPE, BREAK),
    ),
    "peel-ply-plasma": (
        *PEEL,
        *_practice("Plasma over every spot at the proven speed and distance; measure wetting"),
    ),
    "blasted": _from(COMPOSITES, WIPE, "Blast with fine grit, no fibre laid bare; vacuum", BREAK),
    "abraded": _from(COMPOSITES, WIPE, "Abrade, no fibre laid bare; vacuum", WIPE, BREAK),
    "peel-ply": PEEL,
    "machined-wiped": _from(COMPOSITES, "Vacuum the machined face", WIPE, BREAK),
}


def faces(case: Case) -> tuple[Face, ...]:
    """Faces of ring and wall with their steps."""
    surface, found = case.joint.surface, []
    for part, card in (("ring", case.ring.material), ("wall", case.wall.layup[0].ply)):
        stated = getattr(surface, part) if surface is not None else ""
        kind = case.materials[card].kind
        preparation, _ = prepared(part, stated, kind)
        steps = (METAL_STEPS if kind == "metal" else COMPOSITE_STEPS).get(stated, ())
        found.append(Face(part, card, stated, steps, preparation))
    return tuple(found)
