"""The strengths that the criteria take, of a case: card values less every knock-down.

What stands in the place of what a card does not say, beside what `post.ply_strengths` has:

- adhesive: shear as the yield in shear, compressive yield as the tensile strength, averaging over
  the thickness of the thinnest bond; the tensile strength is also the yield in tension;
- plastic: yield as the tensile strength.

Nothing stands in for any other strength: what needs it is not judged, with the reason. What the
faces lose by their preparation counts for a bond's peel and shear, not for the adhesive within.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from geometry.case import Case
from geometry.materials import Card
from post.criteria.interlaminar import InterlaminarStrength
from post.criteria.kinking import KinkStrength
from post.criteria.peel_shear import BondStrength
from post.criteria.principal_stress import TensileStrength
from post.criteria.puck import PuckStrength
from post.criteria.raghava import PolymerYield
from post.criteria.strengths import PlyStrength
from post.criteria.void_crushing import VoidStrength
from post.criteria.von_mises import YieldStrength
from post.knock_downs import (
    ASSUMED,
    Factor,
    adhesive_factors,
    stated_factors,
    surface_factor,
)
from post.ply_strengths import PLY_MODES, PlyStrengths, ply_strengths
from post.strength_used import Found, Used, as_written, in_place_of, made_of, strength_of
from post.void_strength import void_strength

PLIES_AVERAGED = 2.0
SPHERE_KNOCK_DOWN = (0.5, ASSUMED)  # on elastic buckling; knock-downs of the head are not for it


@dataclass(frozen=True)
class Strengths:
    """What the criteria take of a case; None where not judged, `words` then say why.

    Attributes
    ----------
    bond : BondStrength or None
        With what the faces lose by their preparation.
    yield_ : PolymerYield or None
    tensile : TensileStrength or None
    characteristic_length : float
        Along a bond, mm.
    plies : mapping of str to PlyStrengths
        By card.
    wall : mapping of str to YieldStrength or None
        Of the wall's cards that are no plies.
    interlaminar : InterlaminarStrength or None
        The least of all plies' strengths; None too in a wall without plies.
    averaging_length : float
        Between plies, mm.
    ring, head : YieldStrength or None
    sphere_knock_down : (float, str)
        On the buckling pressure of a perfect sphere, and its evidence.
    texts : mapping
        By mode and, for ``yield``, part or card of the wall: the strengths in words, or why it is
        not judged.
    used : tuple of Used
        Every number, for the report.
    void : VoidStrength or None
        Of the voids in the adhesive; None too where there are none.
    """

    bond: BondStrength | None
    yield_: PolymerYield | None
    tensile: TensileStrength | None
    characteristic_length: float
    plies: Mapping[str, PlyStrengths]
    wall: Mapping[str, YieldStrength | None]
    interlaminar: InterlaminarStrength | None
    averaging_length: float
    ring: YieldStrength | None
    head: YieldStrength | None
    sphere_knock_down: tuple[float, str]
    texts: Mapping[tuple[str, str], str]
    used: tuple[Used, ...]
    void: VoidStrength | None = None

    def of_ply(
        self, card: str, mode: str
    ) -> PlyStrength | PuckStrength | KinkStrength | InterlaminarStrength | None:
        """Give what a mode, a key of `PLY_MODES`, takes of a ply; None where not judged."""
        plies = self.plies[card]
        return {
            "ply": plies.ply,
            "puck": plies.puck,
            "kink": plies.kink,
            "interlaminar": plies.interlaminar,
        }[PLY_MODES[mode]]

    def words(self, mode: str, of: str = "") -> str:
        """Say the strengths of a mode with their values, or why it is not judged.

        Parameters
        ----------
        mode : str
            ``peel and shear``, ``yield of the adhesive``, ``largest tension``, ``yield``, or a
            key of `PLY_MODES`.
        of : str
            Card of a ply; ``ring``, ``head`` or a card of the wall of ``yield``.
        """
        return self.plies[of].words[mode] if of in self.plies else self.texts[mode, of]


def strengths(case: Case) -> Strengths:
    """Lower the strengths of a case's cards by every knock-down.

    Parameters
    ----------
    case : Case

    Returns
    -------
    Strengths
    """
    texts: dict[tuple[str, str], str] = {}
    used: list[Found] = []

    paste, stated = case.materials[case.joint.adhesive], stated_factors(case, "adhesive")
    on_paste = (*adhesive_factors(case), *stated)
    on_bond = (surface_factor(case), *on_paste)
    pull = strength_of(paste, "bond", "tensile", factors=on_bond)
    shear = strength_of(paste, "bond", "shear", "shear_yield", factors=on_bond)
    tension = strength_of(paste, "adhesive", "tensile", factors=on_paste)
    compression = strength_of(paste, "adhesive", "compressive", factors=on_paste)
    if isinstance(compression, str):
        compression = in_place_of(tension, "compressive")
    yielding = _no_more_than(tension, compression)
    length = _characteristic_length(case, paste)
    bond, texts["peel and shear", ""] = made_of(BondStrength, pull, shear)
    yield_, texts["yield of the adhesive", ""] = made_of(PolymerYield, yielding, compression)
    tensile, texts["largest tension", ""] = made_of(TensileStrength, tension)
    void, texts["void crushing", ""], crushing = void_strength(case, compression)
    used += [pull, shear, tension, compression, *crushing, length]

    names = dict.fromkeys(block.ply for block in case.wall.layup)
    plies = {
        name: ply_strengths(case, case.materials[name])
        for name in names
        if case.materials[name].kind == "ply"
    }
    used += [one for each in plies.values() for one in each.used]
    interlaminar, texts["between the plies", ""] = _weakest(plies)
    averaging = _averaging_length(case)
    if plies:
        used.append(averaging)

    solid: dict[str, YieldStrength | None] = {}
    for name in names:
        if name not in plies:
            factors = stated_factors(case, "wall")
            yields = strength_of(case.materials[name], "wall", "yield", "tensile", factors=factors)
            solid[name], texts["yield", name] = made_of(YieldStrength, yields)
            used.append(yields)
    metals: dict[str, YieldStrength | None] = {}
    for part, material in (("ring", case.ring.material), ("head", case.head.material)):
        found: Found = "there is no head"
        if material is not None:
            card = case.materials[material]
            found = strength_of(card, part, "yield", "tensile", factors=stated_factors(case, part))
        metals[part], texts["yield", part] = made_of(YieldStrength, found)
        used.append(found)
    return Strengths(
        bond=bond,
        yield_=yield_,
        tensile=tensile,
        characteristic_length=length.value,
        plies=plies,
        wall=solid,
        interlaminar=interlaminar,
        averaging_length=averaging.value,
        ring=metals["ring"],
        head=metals["head"],
        sphere_knock_down=SPHERE_KNOCK_DOWN,
        texts=texts,
        used=tuple(one for one in used if isinstance(one, Used)),
        void=void,
    )


def _no_more_than(tension: Found, compression: Found) -> Found:
    """Hold a polymer's yield in tension to that in compression, as its criterion demands."""
    if isinstance(tension, str) or isinstance(compression, str):
        return tension
    if compression.value >= tension.value:
        return tension
    held = Factor(compression.value / tension.value, "no more than in compression", ASSUMED)
    return replace(tension, factors=(*tension.factors, held))


def _characteristic_length(case: Case, paste: Card) -> Used:
    value = paste.failure.characteristic_length
    if value is not None:
        return as_written(paste, "bond", "characteristic length", value)
    thinnest = min(case.joint.bond_thickness.model_dump(exclude_none=True).values())
    source = "assumed, the thickness of the thinnest bond"
    return Used("bond", "", "characteristic length", thinnest, "mm", ASSUMED, source)


def _averaging_length(case: Case) -> Used:
    blocks = case.wall.layup
    plies = [b.thickness for b in blocks if case.materials[b.ply].kind == "ply"]
    thinnest = min(plies or [b.thickness for b in blocks])
    source = f"assumed, {PLIES_AVERAGED:g} times the thinnest ply"
    length = PLIES_AVERAGED * thinnest
    return Used("wall", "", "averaging length between plies", length, "mm", ASSUMED, source)


def _weakest(plies: Mapping[str, PlyStrengths]) -> tuple[InterlaminarStrength | None, str]:
    """Least strengths between the plies of a wall, and their words; None if one is missing."""
    if not plies:
        return None, "not judged: the wall has no plies"
    found: dict[str, list[Used]] = {"ZT": [], "S13": []}
    for each in plies.values():
        if each.interlaminar is None:
            return None, each.words["between the plies"]
        for one in each.used:
            if one.name in found:
                found[one.name].append(one)
    least = [min(ones, key=lambda one: one.value) for ones in found.values()]
    return made_of(InterlaminarStrength, *least)
