"""Numbers of a material card: values with their source, and the constants of each symmetry.

Formulation
    Axes 1, 2, 3 of a ply: along the fibre, across it in the surface, through the thickness.
    Poisson's ratio nu_ij = -strain_j / strain_i under stress_i alone.
    Transversely isotropic about 1: E3 = E2, G13 = G12, nu13 = nu12, G23 = E2 / (2 (1 + nu23)).
Units
    Moduli and strengths MPa, expansion 1/K, energy release rates N/mm, density tonne/mm^3.
Source
    R.M. Jones, Mechanics of Composite Materials, 2nd ed. 1999, ch. 2 (value from memory).
"""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, model_validator

from geometry import bounds
from geometry.errors import refusal
from geometry.fields import Part
from geometry.units import KINDS, Quantity

Basis = Literal["typical", "minimum", "A", "B", "S", "assumed"]


class Value(Part):
    """A number with where it comes from."""

    value: float
    """The number with its unit."""
    source: Annotated[str, Field(min_length=1, max_length=bounds.SOURCE)]
    """Where the number comes from: a citation, or 'assumed, ...'."""
    basis: Basis
    """typical, minimum, A, B or S basis, or assumed."""
    direction: Annotated[str, Field(max_length=bounds.TITLE)] = ""
    """Which direction the number belongs to."""

    @property
    def unit(self) -> str:
        """Unit of `value`; empty for a ratio."""
        for mark in type(self).model_fields["value"].metadata:
            if isinstance(mark, Quantity):
                return KINDS[mark.kind].unit
        return ""


class Modulus(Value):
    """A modulus, MPa."""

    value: Annotated[float, Quantity("modulus", "0.1 MPa", "2000 GPa")]
    """The modulus with its unit, such as 3 GPa."""


class Ratio(Value):
    """A Poisson's ratio."""

    value: Annotated[float, Field(strict=True, gt=-5, lt=5)]
    """The ratio, a plain number."""


class Expansion(Value):
    """A coefficient of thermal expansion, 1/K."""

    value: Annotated[float, Quantity("thermal expansion", "-1e-4 /K", "1e-3 /K")]
    """The expansion with its unit, such as 8.6e-6 /K."""


class Strength(Value):
    """A strength, MPa."""

    value: Annotated[float, Quantity("stress", "0.01 MPa", "20 GPa")]
    """The strength with its unit, such as 60 MPa; also a compressive one is positive."""


class Toughness(Value):
    """A critical energy release rate, N/mm."""

    value: Annotated[float, Quantity("energy release rate", "0.1 J/m^2", "1000 kJ/m^2")]
    """The energy release rate with its unit, such as 0.5 kJ/m^2."""


class Strain(Value):
    """A strain, a share."""

    value: Annotated[float, Quantity("share", "0.1 %", "100 %", "2 %")]
    """The strain with its unit, such as 2 %."""


class Length(Value):
    """A length, mm."""

    value: Annotated[float, Quantity("length", "0.01 mm", "50 mm", "1 mm")]
    """The length with its unit, such as 1 mm."""


class Exponent(Value):
    """Exponent of a stress-strain curve."""

    value: Annotated[float, Field(strict=True, gt=1, le=100)]
    """The exponent, a plain number above 1, such as 5."""


class Slope(Value):
    """Slope of a failure curve."""

    value: Annotated[float, Field(strict=True, gt=0, le=1)]
    """The slope, a plain number such as 0.3."""


class Loss(Value):
    """Share of a strength that is lost."""

    value: Annotated[float, Field(strict=True, ge=0, le=0.5)]
    """The share, a plain number such as 0.08."""


class Growth(Value):
    """A growth per dive, mm."""

    value: Annotated[float, Quantity("length", "1e-9 mm", "1000 mm", "0.01 mm")]
    """The growth with its unit, such as 0.01 mm."""


class Failure(Part):
    """What failure criteria and life ask of a card beside its strengths."""

    shear_strain_ultimate: Strain | None = None
    """Engineering shear strain at which a ply reaches S12, such as 2 %."""
    shear_exponent: Exponent | None = None
    """n of a ply's shear curve g/gY = t/tY + (3/7) (t/tY)^n, such as 5."""
    puck_tension: Slope | None = None
    """Slope of Puck's failure curve along the fibre, tension side, such as 0.35."""
    puck_compression: Slope | None = None
    """Slope of Puck's failure curve along the fibre, compression side, such as 0.30."""
    characteristic_length: Length | None = None
    """Length along a bond over which an adhesive's stresses are averaged, such as 1 mm."""
    mode_exponent: Exponent | None = None
    """Exponent of the mixed-mode limit GIc + (GIIc - GIc) (GII/G)^exponent, such as 2."""
    growth_rate: Growth | None = None
    """Growth of a disbond per dive at a range of 1 kJ/m^2, such as 0.01 mm."""
    growth_exponent: Exponent | None = None
    """Exponent m of the growth per dive, rate x (range of G over 1 kJ/m^2)^m, such as 4."""
    growth_threshold: Toughness | None = None
    """Range of energy release rate below which a disbond does not grow, such as 0.1 kJ/m^2."""
    life_loss: Loss | None = None
    """Share of the strength lost for each tenfold number of dives, such as 0.08."""


class Density(Value):
    """A density, tonne/mm^3."""

    value: Annotated[float, Quantity("density", "10 kg/m^3", "25000 kg/m^3")]
    """The density with its unit, such as 1600 kg/m^3."""


class Isotropic(Part):
    """Constants of an isotropic material."""

    symmetry: Literal["isotropic"]
    """The same in every direction."""
    E: Modulus
    """Young's modulus, such as 3 GPa."""
    nu: Ratio
    """Poisson's ratio, such as 0.35, below 0.4999."""
    cte: Expansion
    """Thermal expansion, such as 60e-6 /K."""

    def constants(self) -> dict[str, float]:
        """Nine constants; see `Card.constants`."""
        E, nu = self.E.value, self.nu.value
        G = E / (2 * (1 + nu))
        return _nine((E, E, E), (G, G, G), (nu, nu, nu))

    def expansions(self) -> tuple[float, float, float]:
        """Expansion along 1, 2, 3."""
        return (self.cte.value,) * 3


class Transverse(Part):
    """Constants of a material that is isotropic across the fibre direction 1."""

    symmetry: Literal["transverse"]
    """The same in every direction across 1."""
    E1: Modulus
    """Modulus along the fibre, such as 140 GPa."""
    E2: Modulus
    """Modulus across the fibre, such as 10 GPa."""
    G12: Modulus
    """Shear modulus along the fibre, such as 5 GPa."""
    nu12: Ratio
    """Poisson's ratio -strain_2 / strain_1 under stress_1, such as 0.3."""
    nu23: Ratio | None = None
    """Poisson's ratio across the fibre, such as 0.4; or G23 in its place."""
    G23: Modulus | None = None
    """Shear modulus across the fibre, such as 3.5 GPa; or nu23 in its place."""
    cte1: Expansion
    """Thermal expansion along the fibre, such as -1e-6 /K."""
    cte2: Expansion
    """Thermal expansion across the fibre, such as 26e-6 /K."""

    @model_validator(mode="after")
    def _one_of_two(self) -> Transverse:
        if (self.nu23 is None) == (self.G23 is None):
            raise refusal(
                "needs nu23 or G23, not both: G23 = E2 / (2 (1 + nu23))", "one of the two"
            )
        return self

    def constants(self) -> dict[str, float]:
        """Nine constants; see `Card.constants`."""
        E1, E2, G12, nu12 = (x.value for x in (self.E1, self.E2, self.G12, self.nu12))
        if self.G23 is not None:
            G23 = self.G23.value
            nu23 = E2 / (2 * G23) - 1
        else:
            assert self.nu23 is not None  # one of the two, checked on reading
            nu23 = self.nu23.value
            G23 = E2 / (2 * (1 + nu23))
        return _nine((E1, E2, E2), (G12, G12, G23), (nu12, nu12, nu23))

    def expansions(self) -> tuple[float, float, float]:
        """Expansion along 1, 2, 3."""
        return self.cte1.value, self.cte2.value, self.cte2.value


class Orthotropic(Part):
    """Nine constants of a material with three planes of symmetry."""

    symmetry: Literal["orthotropic"]
    """Three planes of symmetry."""
    E1: Modulus
    """Modulus along 1, such as 140 GPa."""
    E2: Modulus
    """Modulus along 2."""
    E3: Modulus
    """Modulus along 3, through the thickness."""
    G12: Modulus
    """Shear modulus in the surface."""
    G13: Modulus
    """Shear modulus through the thickness along 1."""
    G23: Modulus
    """Shear modulus through the thickness along 2."""
    nu12: Ratio
    """Poisson's ratio -strain_2 / strain_1 under stress_1."""
    nu13: Ratio
    """Poisson's ratio -strain_3 / strain_1 under stress_1."""
    nu23: Ratio
    """Poisson's ratio -strain_3 / strain_2 under stress_2."""
    cte1: Expansion
    """Thermal expansion along 1."""
    cte2: Expansion
    """Thermal expansion along 2."""
    cte3: Expansion
    """Thermal expansion along 3."""

    def constants(self) -> dict[str, float]:
        """Nine constants; see `Card.constants`."""
        return _nine(
            (self.E1.value, self.E2.value, self.E3.value),
            (self.G12.value, self.G13.value, self.G23.value),
            (self.nu12.value, self.nu13.value, self.nu23.value),
        )

    def expansions(self) -> tuple[float, float, float]:
        """Expansion along 1, 2, 3."""
        return self.cte1.value, self.cte2.value, self.cte3.value


def _nine(
    E: tuple[float, float, float], G: tuple[float, float, float], nu: tuple[float, float, float]
) -> dict[str, float]:
    keys = ("E1", "E2", "E3", "G12", "G13", "G23", "nu12", "nu13", "nu23")
    return dict(zip(keys, (*E, *G, *nu), strict=True))
