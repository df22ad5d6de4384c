"""Material cards: complete, sourced, symmetric, positive definite."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import ValidationError

from geometry.constants import Value
from geometry.errors import CaseError
from geometry.materials import Card, library, read_cards

CARDS = sorted(library())


def card(**elastic: Any) -> Card:
    tree = {
        "name": "own",
        "kind": "ply",
        "source": "a test",
        "basis": "typical",
        "elastic": elastic,
    }
    return Card.model_validate(tree, context={"file": True})


ISOTROPIC = {"symmetry": "isotropic", "E": "200 GPa", "nu": 0.3, "cte": "12e-6 /K"}
TRANSVERSE = {
    **{"symmetry": "transverse", "E1": "126 GPa", "E2": "11 GPa", "G12": "6.6 GPa"},
    **{"nu12": 0.28, "nu23": 0.4, "cte1": "-1e-6 /K", "cte2": "26e-6 /K"},
}
ORTHOTROPIC = {
    **{"symmetry": "orthotropic", "E1": "140 GPa", "E2": "10 GPa", "E3": "9 GPa"},
    **{"G12": "5 GPa", "G13": "4.8 GPa", "G23": "3.2 GPa"},
    **{"nu12": 0.3, "nu13": 0.32, "nu23": 0.45},
    **{"cte1": "0 /K", "cte2": "28e-6 /K", "cte3": "35e-6 /K"},
}


def test_library_holds_the_materials_of_the_trade() -> None:
    kinds: dict[str, list[str]] = {}
    for name, one in library().items():
        kinds.setdefault(one.kind, []).append(name)
    assert len(kinds["ply"]) >= 4
    assert {"epoxy-paste-stiff", "epoxy-paste", "epoxy-paste-flexible"} <= set(kinds["adhesive"])
    assert {
        *("titanium-6al-4v", "steel-316l", "steel-17-4ph-h1025"),
        *("aluminium-6061-t6", "aluminium-7075-t6"),
    } <= set(kinds["metal"])
    assert kinds["plastic"] == ["acrylic"]


@pytest.mark.parametrize("name", CARDS)
def test_every_value_of_the_library_has_source_and_basis(name: str) -> None:
    one = library()[name]
    elastic = [v for _, v in one.elastic if isinstance(v, Value)]
    failure = [v for _, v in one.failure if v is not None]
    values = [*elastic, *one.strengths.values(), *failure, *one.toughness.values(), one.density]
    assert len(values) >= 6
    for value in values:
        assert value is not None
        assert len(value.source) > 10
        assert value.basis
        # 'assumed' as a basis and as a source go together
        assert (value.basis == "assumed") == value.source.startswith("assumed")
    assert all(strength.direction for strength in one.strengths.values())


NEEDED = {
    "ply": {"XT", "XC", "YT", "YC", "S12"},
    "metal": {"yield", "ultimate"},
    "adhesive": {"tensile", "shear_yield", "compressive"},
    "plastic": {"tensile", "compressive"},
}


@pytest.mark.parametrize("name", CARDS)
def test_every_card_of_the_library_has_the_strengths_of_its_kind(name: str) -> None:
    one = library()[name]
    assert set(one.strengths) >= NEEDED[one.kind]
    asked = {
        "ply": {
            *("shear_strain_ultimate", "shear_exponent", "puck_tension", "puck_compression"),
            "life_loss",
        },
        "adhesive": {
            *("characteristic_length", "mode_exponent", "life_loss"),
            *("growth_rate", "growth_exponent", "growth_threshold"),
        },
    }
    assert {n for n, v in one.failure if v is not None} == asked.get(one.kind, set())
    if one.kind == "adhesive":
        assert set(one.toughness) == {"GIc", "GIIc"}


# P.D. Soden, M.J. Hinton & A.S. Kaddour, Compos. Sci. Technol. 58 (1998) 1011-1022, Tables 1-3:
# E1, E2 GPa, G12 GPa, nu12, XT, XC, YT, YC, S12 MPa of the four laminae, as quoted publicly;
# nu23, expansion 1e-6 /K: values from memory
SODEN = {
    "carbon-epoxy-hs": (126, 11, 6.6, 0.28, 1950, 1480, 48, 200, 79, 0.4, -1, 26),
    "carbon-epoxy-std": (138, 11, 5.5, 0.28, 1500, 900, 27, 200, 80, 0.4, -1, 26),
    "glass-epoxy-a": (53.48, 17.7, 5.83, 0.278, 1140, 570, 35, 114, 72, 0.4, 8.6, 26.4),
    "glass-epoxy-b": (45.6, 16.2, 5.83, 0.278, 1280, 800, 40, 145, 73, 0.4, 8.6, 26.4),
}


@pytest.mark.parametrize("name", SODEN)
def test_plies_have_the_published_values(name: str) -> None:
    one = library()[name]
    c = one.constants()
    got = (
        *(c["E1"] / 1000, c["E2"] / 1000, c["G12"] / 1000, c["nu12"]),
        *(one.strengths[s].value for s in ("XT", "XC", "YT", "YC", "S12")),
        *(c["nu23"], one.cte()[0] * 1e6, one.cte()[1] * 1e6),
    )
    assert got == pytest.approx(SODEN[name], rel=1e-12)
    assert c["G23"] == pytest.approx(c["E2"] / (2 * (1 + c["nu23"])), rel=1e-14)


def test_plies_have_the_published_shear_strains_and_slopes() -> None:
    # ultimate shear strain: Soden et al. 1998, Tables 1-3 (values from memory); slopes: A. Puck,
    # J. Kopp & M. Knops, Compos. Sci. Technol. 62 (2002) 371-378 (values from memory)
    published = {
        "carbon-epoxy-hs": (0.02, 0.35, 0.30),
        "carbon-epoxy-std": (0.04, 0.35, 0.30),
        "glass-epoxy-a": (0.038, 0.30, 0.25),
        "glass-epoxy-b": (0.04, 0.30, 0.25),
    }
    for name, expected in published.items():
        failure = library()[name].failure
        values = (failure.shear_strain_ultimate, failure.puck_tension, failure.puck_compression)
        assert tuple(v.value for v in values if v) == pytest.approx(expected, rel=1e-14)


def test_metals_have_the_handbook_values() -> None:
    # MIL-HDBK-5J (2003): 16.0 Msi, 0.31, 8.6e-6 /K and A-basis 130/120 ksi of annealed titanium
    # plate, Table 5.4.1.0(b); 9.9 Msi of 6061, Table 3.6.2.0(b1). Rounded there to three digits.
    msi = 0.45359237 * 9.80665 / 25.4**2 * 1e6
    titanium = library()["titanium-6al-4v"]
    assert titanium.constants()["E1"] == pytest.approx(16.0 * msi, rel=5e-4)
    assert titanium.constants()["nu12"] == 0.31
    assert titanium.cte() == pytest.approx([8.6e-6] * 3)
    assert titanium.strengths["ultimate"].value == pytest.approx(0.130 * msi, rel=1e-3)
    assert titanium.strengths["yield"].value == pytest.approx(0.120 * msi, rel=1e-3)
    assert titanium.strengths["yield"].basis == "A"
    aluminium = library()["aluminium-6061-t6"]
    assert aluminium.constants()["E1"] == pytest.approx(9.9 * msi, rel=1e-3)
    assert aluminium.density is not None
    assert aluminium.density.value == pytest.approx(2.713e-9, rel=1e-12)
    # G = 6.2 and 3.8 Msi are tabulated on their own: E / 2(1 + nu) of the rounded E and nu is
    # within 2 % of them
    assert titanium.constants()["G12"] == pytest.approx(6.2 * msi, rel=0.02)
    assert aluminium.constants()["G12"] == pytest.approx(3.8 * msi, rel=0.02)


@pytest.mark.parametrize("name", [n for n in CARDS if library()[n].kind == "adhesive"])
def test_pastes_lie_in_the_generic_ranges(name: str) -> None:
    # generic ranges of structural epoxy pastes, values from memory
    one = library()[name]
    assert 1500 <= one.constants()["E1"] <= 4500
    assert 0.33 <= one.constants()["nu12"] <= 0.42
    assert 600 <= one.constants()["G12"] <= 1600
    assert 25 <= one.strengths["tensile"].value <= 60
    assert 25 <= one.strengths["shear_yield"].value <= 45
    assert 1.2 <= one.strengths["compressive"].value / one.strengths["tensile"].value <= 1.4
    assert 0.2 <= one.toughness["GIc"].value <= 3
    assert 1 <= one.toughness["GIIc"].value <= 10
    assert 45e-6 <= one.cte()[0] <= 90e-6


@pytest.mark.parametrize("name", CARDS)
def test_compliance_of_every_card_is_symmetric_and_positive_definite(name: str) -> None:
    S = library()[name].compliance()
    assert np.array_equal(S, S.T)
    assert np.all(np.linalg.eigvalsh(S) > 0)


@pytest.mark.parametrize("elastic", [TRANSVERSE, ORTHOTROPIC])
def test_poissons_ratio_is_minus_lateral_over_axial_strain(elastic: dict[str, Any]) -> None:
    # the convention of R.M. Jones, Mechanics of Composite Materials, 2nd ed. 1999, ch. 2 (value
    # from memory): nu_ij = -strain_j / strain_i under stress_i, so nu_ij / E_i = nu_ji / E_j
    one = card(**elastic)
    S, c = one.compliance(), one.constants()
    for i, j in ((0, 1), (0, 2), (1, 2)):
        strain_i = S @ np.eye(6)[i]  # under a unit stress along i alone
        strain_j = S @ np.eye(6)[j]
        nu_ij = -strain_i[j] / strain_i[i]
        nu_ji = -strain_j[i] / strain_j[j]
        assert nu_ij == pytest.approx(c[f"nu{i + 1}{j + 1}"], rel=1e-14)
        assert nu_ij / c[f"E{i + 1}"] == pytest.approx(nu_ji / c[f"E{j + 1}"], rel=1e-14)
    for k, shear in ((3, "G23"), (4, "G13"), (5, "G12")):
        assert S[k, k] == pytest.approx(1 / c[shear], rel=1e-14)


def test_transverse_card_feels_no_turn_about_its_fibre() -> None:
    # turned by 30 degrees about axis 1 the compliance stays: checked on the stiffness as a
    # fourth-rank tensor, independent of any formula of the card
    C = np.linalg.inv(card(**TRANSVERSE).compliance())
    pairs = [(0, 0), (1, 1), (2, 2), (1, 2), (0, 2), (0, 1)]
    tensor = np.zeros((3, 3, 3, 3))
    for a, (i, j) in enumerate(pairs):
        for b, (k, m) in enumerate(pairs):
            tensor[i, j, k, m] = tensor[j, i, k, m] = tensor[i, j, m, k] = C[a, b]
            tensor[j, i, m, k] = C[a, b]
    cos, sin = np.cos(np.pi / 6), np.sin(np.pi / 6)
    Q = np.array([[1, 0, 0], [0, cos, -sin], [0, sin, cos]])
    turned = np.einsum("ai,bj,ck,dm,ijkm->abcd", Q, Q, Q, Q, tensor)
    np.testing.assert_allclose(turned, tensor, atol=1e-9 * tensor.max())


def test_expansion_follows_the_axes_of_the_ply() -> None:
    # across the fibre a transverse card expands alike; an orthotropic one has three of its own
    np.testing.assert_allclose(card(**TRANSVERSE).cte(), [-1e-6, 26e-6, 26e-6], rtol=1e-14)
    np.testing.assert_allclose(card(**ORTHOTROPIC).cte(), [0, 28e-6, 35e-6], rtol=1e-14)
    np.testing.assert_allclose(card(**ISOTROPIC).cte(), [12e-6] * 3, rtol=1e-14)


def test_shear_modulus_may_stand_for_nu23() -> None:
    # G23 = E2 / (2 (1 + nu23)) = 11 / 2.8 GPa
    with_shear = {k: v for k, v in TRANSVERSE.items() if k != "nu23"} | {"G23": "3.92857142857 GPa"}
    np.testing.assert_allclose(
        card(**with_shear).compliance(), card(**TRANSVERSE).compliance(), rtol=1e-11
    )


@given(nu12=st.floats(-3, 3), nu13=st.floats(-3, 3), nu23=st.floats(-3, 3))
def test_only_positive_definite_constants_pass(nu12: float, nu13: float, nu23: float) -> None:
    # B.M. Lempriere, AIAA J. 6 (1968) 2226-2227 (value from memory): 1 - nu12 nu21 - nu23 nu32
    # - nu13 nu31 - 2 nu21 nu32 nu13 > 0 with |nu_ij| < sqrt(E_i / E_j)
    E1, E2, E3 = 140.0, 10.0, 9.0
    nu21, nu31, nu32 = nu12 * E2 / E1, nu13 * E3 / E1, nu23 * E3 / E2
    determinant = 1 - nu12 * nu21 - nu23 * nu32 - nu13 * nu31 - 2 * nu21 * nu32 * nu13
    pairs = (1 - nu12 * nu21, 1 - nu23 * nu32, 1 - nu13 * nu31)
    if abs(determinant) < 1e-4 or min(map(abs, pairs)) < 1e-4:
        return  # too near the border to tell
    elastic = {**ORTHOTROPIC, "nu12": nu12, "nu13": nu13, "nu23": nu23}
    if determinant > 0 and min(pairs) > 0:
        card(**elastic)
    else:
        with pytest.raises(ValidationError, match="positive definite"):
            card(**elastic)


@pytest.mark.parametrize(
    ("elastic", "said"),
    [
        ({**ISOTROPIC, "nu": 0.4999}, "below 0.4999"),
        ({**ISOTROPIC, "nu": 0.5}, "below 0.4999"),
        ({**ISOTROPIC, "nu": -1.0}, "above -1"),
        ({**ISOTROPIC, "symmetry": "isotropc"}, "did you mean 'isotropic'"),
        ({**ISOTROPIC, "E": 200.0}, "is a bare number"),
        ({**ISOTROPIC, "E": "-200 GPa"}, "out of range"),
        ({**ISOTROPIC, "E1": "3 GPa"}, "is not a field here"),
        ({**TRANSVERSE, "G23": "4 GPa"}, "one of the two"),
        ({**TRANSVERSE, "nu23": 0.99}, "positive definite"),
        ({k: v for k, v in ORTHOTROPIC.items() if k != "G13"}, "is missing"),
    ],
)
def test_impossible_cards_are_refused(elastic: dict[str, Any], said: str) -> None:
    with pytest.raises(ValidationError, match=said):
        card(**elastic)


def test_a_value_without_source_is_refused(tmp_path: Path) -> None:
    file = tmp_path / "cards.yaml"
    file.write_text(
        "own:\n  kind: metal\n  basis: typical\n"
        "  elastic: {symmetry: isotropic, E: 200 GPa, nu: 0.3, cte: 12e-6 /K}\n"
    )
    with pytest.raises(CaseError, match=r"own\.elastic\.E.*source.* is missing; allowed: "):
        read_cards(file)
