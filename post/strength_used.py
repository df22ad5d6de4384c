"""A strength as it is used: the card's value, every factor on it, and both in words."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from itertools import groupby
from typing import TypeVar

from geometry.constants import Value
from geometry.materials import Card
from post.knock_downs import Factor, basis_factor

S = TypeVar("S")


@dataclass(frozen=True)
class Used:
    """A number that a criterion uses.

    Attributes
    ----------
    part : str
        ``bond``, ``adhesive``, ``wall``, ``ring`` or ``head``.
    card : str
        Name of the material card; empty where the case itself states the number.
    name : str
        As the card has it, such as ``XC`` or ``tensile``.
    card_value : float
        In `unit`, before any factor.
    unit : str
        ``MPa``, ``mm``, ``deg``, or empty for a pure number.
    basis, source : str
    factors : tuple of Factor
        All that apply, also those of 1.
    """

    part: str
    card: str
    name: str
    card_value: float
    unit: str
    basis: str
    source: str
    factors: tuple[Factor, ...] = ()

    @property
    def value(self) -> float:
        """Value after all factors, in `unit`."""
        return self.card_value * math.prod(one.factor for one in self.factors)

    @property
    def text(self) -> str:
        """Such as ``tensile 28.6 MPa = 42 x 0.8 (typical basis, assumed) x 0.85 (wet, assumed)``.

        Factors of 1 are left out; a strength that has no other is told with its basis.
        """
        return in_words([self])


Found = Used | str
"""A number that is used, or what is missing, in words."""


def in_words(used: Sequence[Used]) -> str:
    """Say strengths in one line, those with the same factors together.

    Parameters
    ----------
    used : sequence of Used

    Returns
    -------
    str
        Such as ``YT 48, S12 72 MPa = (60, 90) x 0.8 (assumed basis)``.
    """
    texts = []
    for (unit, told), group in groupby(used, key=lambda one: (one.unit, _told(one))):
        members = list(group)
        text = ", ".join(f"{one.name} {_number(one.value)}" for one in members)
        text += f" {unit}" if unit else ""
        if told and told[0].factor == 1:
            text += f" ({told[0].reason})"
        elif told:
            before = ", ".join(_number(one.card_value) for one in members)
            before = f"({before})" if len(members) > 1 else before
            text += f" = {' x '.join([before, *map(str, told)])}"
        texts.append(text)
    return "; ".join(texts)


def _told(used: Used) -> tuple[Factor, ...]:
    """Factors worth telling: those that lower a strength, else the basis that it counts in full."""
    return tuple(one for one in used.factors if one.factor != 1) or used.factors[:1]


def _number(value: float) -> str:
    return f"{value:.0f}" if value >= 100 else f"{value:.3g}"


def strength_of(card: Card, part: str, *names: str, factors: Sequence[Factor] = ()) -> Found:
    """Take a strength from a card.

    Parameters
    ----------
    card : Card
    part : str
    *names : str
        The first of these that the card has.
    factors : sequence of Factor
        Those that apply beside the one of the value's basis.
    """
    strengths = {str(name): value for name, value in card.strengths.items()}
    for name in names:
        if name in strengths:
            one = as_written(card, part, name, strengths[name])
            return replace(one, factors=(basis_factor(one.basis), *factors))
    return f"card {card.name} has no {' or '.join(names)}"


def as_written(card: Card, part: str, name: str, value: Value) -> Used:
    """Take a value of a card as it stands there."""
    return Used(part, card.name, name, value.value, value.unit, value.basis, value.source)


def in_place_of(found: Found, name: str, times: float = 1.0) -> Found:
    """Let a strength stand, times a number, for one that the card lacks; it keeps its factors."""
    if isinstance(found, str):
        return found
    said = found.name if times == 1 else f"{times:g} {found.name}"
    return replace(
        found,
        name=name,
        card_value=times * found.card_value,
        source=f"assumed, {said} in its place: {found.source}",
    )


def made_of(make: Callable[..., S], *found: Found) -> tuple[S | None, str]:
    """Make what a criterion takes of the numbers found.

    Parameters
    ----------
    make : callable
        Takes as many floats; refuses by ValueError.
    *found : Used or str

    Returns
    -------
    strength, words
        None with the reason where something is missing or refused.
    """
    missing = list(dict.fromkeys(one for one in found if isinstance(one, str)))
    if missing:
        return None, f"not judged: {', '.join(missing)}"
    used = [one for one in found if isinstance(one, Used)]
    try:
        return make(*(one.value for one in used)), in_words(used)
    except ValueError as error:
        return None, f"not judged: {error}"
