"""Material cards: elastic constants, expansion and strengths, each with unit, source and basis.

Formulation
    nu_ij / E_i = nu_ji / E_j, so the compliance S in the order [11, 22, 33, 23, 13, 12] with
    engineering shear has S_ij = -nu_ij / E_i = S_ji. Symbols, units, source: `geometry.constants`.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from pathlib import Path
from types import MappingProxyType
from typing import Annotated, Any, Literal

import numpy as np
from numpy.typing import NDArray
from pydantic import Field, ValidationError, ValidationInfo, model_validator

from geometry import bounds
from geometry.case_file import read_yaml
from geometry.constants import (
    Basis,
    Density,
    Failure,
    Isotropic,
    Orthotropic,
    Strength,
    Toughness,
    Transverse,
    Value,
)
from geometry.errors import case_error, nearest_spelling, refusal
from geometry.fields import Name, Part, Prose

LIBRARY = Path(__file__).with_name("materials.yaml")

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


class Card(Part):
    """A material: what it is, its constants and its strengths, each value with its source."""

    name: Annotated[Name, Field(exclude=True)]
    """Name of the card: the key it stands under."""
    kind: Literal["ply", "adhesive", "metal", "plastic"]
    """What it is used as: ply, adhesive, metal or plastic."""
    description: Prose = ""
    """What it is, in words."""
    source: Annotated[str, Field(max_length=bounds.SOURCE)] = ""
    """Source of every value that does not name its own."""
    basis: Basis | None = None
    """Basis of every value that does not name its own."""
    density: Density | None = None
    """Density, such as 1600 kg/m^3."""
    elastic: Annotated[Isotropic | Transverse | Orthotropic, Field(discriminator="symmetry")]
    """Elastic constants and thermal expansion: 'symmetry' first, then its constants."""
    strengths: dict[StrengthName, Strength] = {}
    """Strengths by name: XT, XC, YT, YC, S12 of a ply; yield and ultimate of a metal; ..."""
    failure: Failure = Failure()
    """What failure criteria ask beside strengths: a ply's shear curve and slopes, ..."""
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
        for group in ("strengths", "failure", "toughness"):
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
def library() -> Mapping[str, Card]:
    """Read the project's material cards by name, once."""
    return MappingProxyType(read_cards(LIBRARY))


def cards_in(tree: Any, info: ValidationInfo) -> Any:
    """Give each card of a case's `materials` the name it stands under."""
    if not isinstance(tree, dict):
        return tree
    return {k: {"name": k, **v} if isinstance(v, dict) else v for k, v in tree.items()}
