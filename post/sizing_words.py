"""The sizing in plain words, made from its numbers by rules."""

from __future__ import annotations

import math
from collections.abc import Sequence

from geometry.case import Case
from geometry.seawater import depth_at
from post.sized import NotSized, Sized, shown, sized_only
from solve.shell_buckling import KNOCK_DOWN

TITANIUM = "titanium-6al-4v"
TRADE = 3.0  # times titanium: common practice, no published source

CAUTIONS = (
    "A plain tube between ends that stay round, sized by formulas and one solid solve each: no "
    "ring, head, bond or edge effect, and no certificate. The report judges the joint.",
    "Strength is first ply or first yield by the ladder's criteria, with the ladder's strengths; "
    "delamination needs an edge and is not judged here.",
    f"Buckling counts {KNOCK_DOWN:g} of the perfect tube's pressure, for imperfections (NASA "
    "SP-8007, value from memory), by shell formula and by solid. Both are elastic: where a metal "
    "or a plastic yields near its buckling pressure, it fails earlier than either says.",
    "Knock-downs that the case states for its wall speak of its material: metals and plastics "
    "in its place are judged without them.",
    "Acrylic creeps. Its card has short-term values; under loads of hours its modulus and strength "
    "fall, more so when warm, and long-term creep governs: no wall of it here is one for a dive.",
    "Carbon-epoxy is stiff and strong along its fibres and its numbers are those of good "
    "laminates; a thick wall that is hard to consolidate is weaker than a thin one.",
    "Density of the sea is that of the standard ocean at 0 degC. The wall is not shortened by the "
    "pressure, and pipes, fasteners and contents weigh nothing here.",
)


def buoyancy_words(case: Case, found: Sequence[Sized | NotSized]) -> str:
    """Answer how much buoyancy each material leaves, in one sentence.

    Of several layups of one card the one that leaves most is named.
    """
    duty = case.duty
    depth = duty.depth
    if depth is None:
        assert duty.pressure is not None
        depth = depth_at(duty.pressure, duty.latitude)
    best: dict[str, Sized] = {}
    for one in sized_only(found):
        best.setdefault(one.option.card.name, one)
    floats = [_leaves(one) for one in best.values() if one.net >= 0]
    sinks = [_leaves(one) for one in best.values() if one.net < 0]
    unknown = [one.option.card.name for one in best.values() if math.isnan(one.net)]
    pieces = []
    if floats:
        first, *others = floats
        number, _, material = first.partition(" in ")
        pieces.append(f"leaves {_listed([f'{number} of net buoyancy in {material}', *others])}")
    if sinks:
        pieces.append(f"sinks by {_listed(sinks)}")
    text = (
        f"Held to {duty.required_ratio:g} times {depth:,.0f} m, a metre of hull of "
        f"{2 * case.wall.bore_radius:.4g} mm bore "
    )
    none = [one.option.card.name for one in found if isinstance(one, NotSized)]
    none = [name for name in dict.fromkeys(none) if name not in best]
    text += " and ".join(pieces) if pieces else "has no wall that holds"
    if none and pieces:
        text += f"; no wall of {_listed(none, 'or')} holds"
    if unknown:
        text += f"; {_listed(unknown)} has no density on its card"
    return text + "."


def own_words(own: Sized) -> str:
    """Say what the case's own wall comes to by the same rules."""
    limits = own.limits
    known = [name for name, pressure in limits.items() if not math.isnan(pressure)]
    least = min(known, key=lambda name: limits[name])
    verdict = "holds" if limits[least] >= own.required else "falls short"
    net = "" if math.isnan(own.net) else f" leaves {shown(own.net)} kg and"
    return (
        f"The case's own wall of {own.thickness:.4g} mm{net} {verdict}: by {least} at "
        f"{shown(limits[least])} MPa, where {shown(own.required)} are asked. Its shell formula "
        f"gives {shown(own.shell.pressure)} MPa, {own.shell_over_solid:.2f} times the solid tube's "
        f"{shown(own.solid.pressure)} MPa."
    )


def strength_words(found: Sequence[Sized | NotSized]) -> str:
    """Compare strength over net weight in water with titanium; empty where there is none."""
    held = sized_only(found)
    titanium = next((one for one in held if one.option.card.name == TITANIUM), None)
    carbon = [
        one for one in held
        if one.option.card.name.startswith("carbon") and not math.isnan(one.density)
    ]  # fmt: skip
    if titanium is None or not carbon:
        return ""
    times = [one.specific_strength / titanium.specific_strength for one in carbon]
    low, high = min(times), max(times)
    span = f"{low:.1f}" if f"{low:.1f}" == f"{high:.1f}" else f"{low:.1f} to {high:.1f}"
    return (
        f"By strength over net weight in water {carbon[0].option.card.name} is {span} times "
        f"{TITANIUM}, as used here: with every knock-down, and by layup. The trade says about "
        f"{TRADE:g} (common practice, no published source)."
    )


def governing_words(found: Sequence[Sized | NotSized]) -> str:
    """Say what governs, and how far the shell formula is from the solid answer."""
    held = sized_only(found)
    if not held:
        return ""
    by_limit: dict[str, dict[str, list[str]]] = {}
    for one in held:
        cards = by_limit.setdefault(one.governs, {})
        cards.setdefault(one.option.card.name, []).append(_layup(one))
    told = []
    for limit, cards in by_limit.items():
        names = [n + (f" ({_listed(layups)})" if layups[0] else "") for n, layups in cards.items()]
        told.append(f"{limit} governs {_listed(names) if len(by_limit) > 1 else 'every wall'}")
    text = "; ".join(told)
    first = f"{text[:1].upper()}{text[1:]}."
    ratios = [one.shell_over_solid for one in held]
    low, high = (100 * (ratio - 1) for ratio in (min(ratios), max(ratios)))
    return (
        f"{first} The shell formula lies {_from_to(low, high)} the solid answer for the same tube."
    )


def _from_to(low: float, high: float) -> str:
    def side(value: float) -> str:
        return f"{abs(value):.0f} % {'above' if value >= 0 else 'below'}"

    return side(low) if side(low) == side(high) else f"from {side(low)} to {side(high)}"


def _leaves(one: Sized) -> str:
    layup = _layup(one)
    net = abs(one.net)
    number = f"{net:.0f}" if net >= 10 else f"{net:.1f}"
    return f"{number} kg in {one.option.card.name}" + (f" ({layup})" if layup else "")


def _layup(one: Sized) -> str:
    """Name of the layup; empty for what has none."""
    return one.option.name.removeprefix(one.option.card.name).removeprefix(", ")


def _listed(names: Sequence[str], word: str = "and") -> str:
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} {word} {names[-1]}"
