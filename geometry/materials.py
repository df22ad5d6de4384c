"""Material cards: elastic constants, expansion and strengths, each with unit, source and basis.

Formulation
    Axes 1, 2, 3 of a ply: along the fibre, across it in the surface, through the thickness.
    Poisson's ratio nu_ij = -strain_j / strain_i under stress_i alone, hence
    nu_ij / E_i = nu_ji / E_j, and the compliance S in the order [11, 22, 33, 23, 13, 12] with
    engineering shear has S_ij = -nu_ij / E_i = S_ji.
    Transversely isotropic about 1: E3 = E2, G13 = G12, nu13 = nu12, G23 = E2 / (2 (1 + nu23)).
Units
    Moduli and strengths MPa, expansion 1/K, energy release rates N/mm, density tonne/mm^3.
Source
    R.M. Jones, Mechanics of Composite Materials, 2nd ed. 1999, ch. 2 (value from memory).
"""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import Annotated, Any, Literal

import numpy as np
from numpy.typing import NDArray
from pydantic import Field, ValidationError, ValidationInfo, model_validator

from geometry.case_file import read_yaml
from geometry.errors import case_error, nearest_spelling, refusal
from geometry.fields import Name, Part, Prose
from geometry.units import KINDS, Quantity

LIBRARY = Path(__file__).with_name("materials.yaml")

Basis = Literal["typical", "minimum", "A", "B", "S", "assumed"]
# fmt: off
StrengthName = Literal[
    "XT", "XC", "YT", "YC", "ZT", "ZC", "S12", "S13", "S23",
    "yield", "ultimate", "tensile", "compressive", "shear", "shear_yield",
]
# fmt: on
ToughnessName = Literal["GIc", "GIIc"]

SYMMETRIES = ("isotropic", "transverse", "orthotropic")

# the direction that the name of a strength stands for, unless the card says otherwise
DIRECTIONS = {
    "XT": "1, along the fibre, tension",
    "XC": "1, along the fibre, compression",
    "YT": "2, across the fibre in the surface, tension",
    "YC": "2, across the fibre in the surface, compression",
    "ZT": "3, through the thickness, tension",
    "ZC": "3, through the thickness, compression",
    "S12": "12, shear in the surface",
    "S13": "13, shear through the thickness along the fibre",
    "S23": "23, shear through the thickness across the fibre",
    "yield": "tension",
    "ultimate": "tension",
    "tensile": "tension",
    "compressive": "compression",
    "shear": "shear",
    "shear_yield": "shear",
    "GIc": "opening",
    "GIIc": "shearing",
}


class Value(Part):
    """A number with where it comes from."""

    value: float
    """The number with its unit."""
    source: Annotated[str, Field(min_length=1, max_length=500)]
    """Where the number comes from: a citation, or 'assumed, ...'."""
    basis: Basis
    """typical, minimum, A, B or S basis, or assumed."""
    direction: str = ""
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


class Card(Part):
    """A material: what it is, its constants and its strengths, each value with its source."""

    name: Annotated[Name, Field(exclude=True)]
    """Name of the card: the key it stands under."""
    kind: Literal["ply", "adhesive", "metal", "plastic"]
    """What it is used as: ply, adhesive, metal or plastic."""
    description: Prose = ""
    """What it is, in words."""
    source: Annotated[str, Field(max_length=500)] = ""
    """Source of every value that does not name its own."""
    basis: Basis | None = None
    """Basis of every value that does not name its own."""
    density: Density | None = None
    """Density, such as 1600 kg/m^3."""
    elastic: Annotated[Isotropic | Transverse | Orthotropic, Field(discriminator="symmetry")]
    """Elastic constants and thermal expansion: 'symmetry' first, then its constants."""
    strengths: dict[StrengthName, Strength] = {}
    """Strengths by name: XT, XC, YT, YC, S12 of a ply; yield and ultimate of a metal; ..."""
    toughness: dict[ToughnessName, Toughness] = {}
    """Critical energy release rates GIc and GIIc, such as 0.5 kJ/m^2."""

    @model_validator(mode="before")
    @classmethod
    def _share_source(cls, tree: Any) -> Any:
        """Give each value the card's source and basis where it has none of its own."""
        if not isinstance(tree, dict):
            return tree
        shared = {k: tree[k] for k in ("source", "basis") if tree.get(k) is not None}

        def full(value: Any, direction: str = "") -> Any:
            if isinstance(value, Value) or value is None:
                return value
            named = {"direction": direction} if direction else {}
            return {**shared, **named, **(value if isinstance(value, dict) else {"value": value})}

        out = dict(tree)
        if "density" in out:
            out["density"] = full(out["density"])
        if isinstance(out.get("elastic"), dict):
            symmetry = out["elastic"].get("symmetry")
            if symmetry not in SYMMETRIES:
                raise refusal(
                    "is not one of those allowed" if symmetry else "is missing",
                    ", ".join(SYMMETRIES),
                    nearest_spelling(str(symmetry), SYMMETRIES),
                    "elastic.symmetry",
                    str(symmetry or ""),
                )
            out["elastic"] = {
                k: v if k == "symmetry" else full(v) for k, v in out["elastic"].items()
            }
        for group in ("strengths", "toughness"):
            if isinstance(out.get(group), dict):
                out[group] = {k: full(v, DIRECTIONS.get(k, "")) for k, v in out[group].items()}
        return out

    @model_validator(mode="after")
    def _positive_definite(self) -> Card:
        if isinstance(self.elastic, Isotropic) and not -1 < self.elastic.nu.value < 0.4999:
            raise refusal("is out of range", "above -1 and below 0.4999", field="elastic.nu")
        # scaled so that the test does not depend on the moduli's size
        S = self.compliance()
        scale = 1 / np.sqrt(np.diag(S))
        if np.linalg.eigvalsh(S * np.outer(scale, scale)).min() < 1e-6:
            raise refusal(
                "the constants give a stiffness that is not positive definite",
                "nu_ij^2 < E_i / E_j for each pair, and nu23 of a transverse card below "
                "1 - 2 nu12^2 E2 / E1",
                field="elastic",
                value="",
            )
        return self

    @property
    def symmetry(self) -> str:
        """``isotropic``, ``transverse`` or ``orthotropic``."""
        return self.elastic.symmetry

    def constants(self) -> dict[str, float]:
        """Nine engineering constants.

        Returns
        -------
        dict
            E1, E2, E3, G12, G13, G23 (MPa), nu12, nu13, nu23 with nu_ij / E_i = nu_ji / E_j.
        """
        return self.elastic.constants()

    def cte(self) -> NDArray[np.float64]:
        """Thermal expansion along 1, 2, 3; shape (3,), 1/K."""
        return np.array(self.elastic.expansions())

    def compliance(self) -> NDArray[np.float64]:
        """Compliance in the order [11, 22, 33, 23, 13, 12], engineering shear.

        Returns
        -------
        (6, 6) array
            1/MPa; S_ij = -nu_ij / E_i. Source: see the module.
        """
        c = self.constants()
        S = np.diag([1 / c[k] for k in ("E1", "E2", "E3", "G23", "G13", "G12")])
        for i, j in ((0, 1), (0, 2), (1, 2)):
            S[i, j] = S[j, i] = -c[f"nu{i + 1}{j + 1}"] / c[f"E{i + 1}"]
        return S


def read_cards(path: Path) -> dict[str, Card]:
    """Read a file of material cards by name.

    Raises
    ------
    CaseError
        When the file or a card cannot be taken.
    """
    tree, origin = read_yaml(path)
    cards = {}
    for name, card in tree.items():
        named = {**card, "name": name} if isinstance(card, dict) else card
        try:
            cards[name] = Card.model_validate(named, context={"file": True})
        except ValidationError as error:
            raise case_error(error, origin, name) from None
    return cards


@cache
def library() -> dict[str, Card]:
    """Read the project's material cards by name, once; treat them as read-only."""
    return read_cards(LIBRARY)


def cards_in(tree: Any, info: ValidationInfo) -> Any:
    """Give each card of a case's `materials` the name it stands under."""
    if not isinstance(tree, dict):
        return tree
    return {k: {"name": k, **v} if isinstance(v, dict) else v for k, v in tree.items()}
