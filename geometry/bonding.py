"""What the shop floor needs to know to make the joint; nothing of it changes a mesh or a number.

Every field is optional: what a case does not say stays a blank on the bond sheet, to be filled in
by hand, and is never invented.
"""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from geometry import bounds
from geometry.fields import Part, Text
from geometry.units import Quantity

Time = Annotated[float, Quantity("time", "1 s", "1000 day", "60 min")]
Warmth = Annotated[float, Quantity("temperature", "-50 degC", "400 degC", "60 degC")]


class MixPart(Part):
    """A part of the adhesive before it is mixed."""

    name: Text
    """What it is, such as resin."""
    parts: Annotated[float, Field(strict=True, gt=0, le=10_000)]
    """How many parts of it go into the mix, a plain number such as 100."""
    density: Annotated[float, Quantity("density", "10 kg/m^3", "25000 kg/m^3", "1180 kg/m^3")] | (
        None
    ) = None
    """Density before mixing, such as 1180 kg/m^3."""


class CureStep(Part):
    """A hold of the cure."""

    temperature: Warmth
    """Temperature of the bond, such as 60 degC."""
    time: Time
    """How long the bond is held there, such as 4 h."""


class Degassing(Part):
    """How the mixed adhesive is freed of air."""

    pressure: Annotated[float, Quantity("pressure", "0.00001 MPa", "0.2 MPa", "50 mbar")]
    """Absolute pressure, such as 50 mbar."""
    time: Time
    """How long, such as 5 min."""


class Bonding(Part):
    """How the bond is to be made."""

    revision: Text | None = None
    """Revision of the bond sheet, such as A."""
    mix_by: Literal["mass", "volume"] = "mass"
    """Whether the parts of the mix are counted by mass or by volume."""
    mix: Annotated[tuple[MixPart, ...], Field(max_length=bounds.MIX_PARTS)] = ()
    """Parts of the adhesive, such as [{name: resin, parts: 100}, {name: hardener, parts: 40}]."""
    waste: Annotated[float, Quantity("share", "0 %", "500 %", "25 %")] | None = None
    """Adhesive mixed beyond what stays in the joint, as a share of that, such as 25 %."""
    pot_life: Time | None = None
    """How long a batch of this size can be worked, such as 60 min."""
    fill_time: Time | None = None
    """How long it takes to spread or fill one bond, such as 8 min."""
    open_time: Time | None = None
    """Longest time from the preparation of a face to its bonding, such as 4 h."""
    degassing: Degassing | None = None
    """How the mixed adhesive is freed of air, such as {pressure: 50 mbar, time: 5 min}."""
    cure: Annotated[tuple[CureStep, ...], Field(max_length=bounds.CURE_STEPS)] = ()
    """Holds in order, such as [{temperature: 23 degC, time: 24 h}]."""
    coupons: Annotated[int, Field(strict=True, ge=0, le=bounds.COUPONS)] | None = None
    """Witness coupons bonded with each joint, such as 5."""
