"""Cards as the process made them: the numbers of `solve.micromechanics`, in the right places.

Expected numbers: the table of Mori-Tanaka moduli in `solve.micromechanics_checks` (recomputed from
T. Mori, K. Tanaka, Acta Metall. 21 (1973) 571-574); limits are the project's own promises.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from ruamel.yaml import YAML

from geometry.case import Case, parse_case, read_case
from geometry.errors import CaseError
from geometry.forms import draw_section
from solve.answer import region_materials
from solve.as_made import adhesive_card, as_made, wall_cards

Tree = dict[str, Any]
Edit = Callable[[Tree], object]
GLASS = {
    **{"share": "20 %", "modulus": "73 GPa", "poisson": 0.22, "cte": "5e-6 /K"},
    "density": "2500 kg/m^3",
    "tested": [{"share": "0 %", "factor": 1.0}, {"share": "30 %", "factor": 1.1}],
}
PASTE = {
    **{"kind": "adhesive", "source": "tests", "basis": "B", "density": "1250 kg/m^3"},
    "elastic": {"symmetry": "isotropic", "E": "3 GPa", "nu": 0.35, "cte": "6e-5 /K"},
}
WEAVE = {
    **{"kind": "ply", "source": "tests", "basis": "B", "density": "1500 kg/m^3"},
    "elastic": {
        **{"symmetry": "orthotropic", "E1": "70 GPa", "E2": "68 GPa", "E3": "9 GPa"},
        **{"G12": "5 GPa", "G13": "4 GPa", "G23": "4 GPa"},
        **{"nu12": 0.05, "nu13": 0.3, "nu23": 0.3},
        **{"cte1": "2e-6 /K", "cte2": "2e-6 /K", "cte3": "4e-5 /K"},
    },
}


def case_with(*edits: Edit) -> Case:
    tree: Tree = YAML(typ="safe", pure=True).load(Path("cases/lander/case.yaml").read_text("utf-8"))
    tree["wall"].pop("voids", None)
    tree.pop("process", None)
    tree["joint"]["adhesive"] = "my-paste"
    tree["materials"] = {"my-paste": dict(PASTE), "weave": dict(WEAVE)}
    for edit in edits:
        edit(tree)
    return parse_case(tree)


def process(**facts: Any) -> Edit:
    return lambda t: t.update(process=facts)


def wall(**facts: Any) -> Edit:
    return lambda t: t["wall"].update(facts)


def test_without_facts_the_cards_themselves_are_used() -> None:
    for case in (case_with(), case_with(process(adhesive_voids="0 %"), wall(voids="0 %"))):
        assert adhesive_card(case) is case.materials["my-paste"]
        assert wall_cards(case)["carbon-epoxy-im"] is case.materials["carbon-epoxy-im"]
        assert as_made(case) == ()


def test_an_adhesive_with_voids_has_mori_tanakas_modulus() -> None:
    case = case_with(process(adhesive_voids="2 %"))
    c = adhesive_card(case).constants()
    assert (c["E1"], c["nu12"]) == pytest.approx((2882.55, 0.34631), rel=2e-6, abs=5e-6)
    assert adhesive_card(case).cte() == pytest.approx(6e-5, rel=1e-12)
    told = {made.constant: made for made in as_made(case)}
    assert set(told) == {"E", "nu", "density"}
    assert (told["E"].on_card, told["E"].part) == (3000, "adhesive")
    assert told["density"].as_made == pytest.approx(0.98 * 1.25e-9, rel=1e-12)
    assert told["E"].how == "2 % voids, Mori-Tanaka"


def test_a_filled_adhesive_is_stiffer_heavier_and_expands_less() -> None:
    made = adhesive_card(case_with(process(filler=GLASS)))
    assert made.constants()["E1"] == pytest.approx(4412.06, rel=2e-6)
    assert made.density is not None
    assert made.density.value == pytest.approx(0.8 * 1.25e-9 + 0.2 * 2.5e-9, rel=1e-12)
    assert 5e-6 < made.cte()[0] < 0.8 * 6e-5 + 0.2 * 5e-6
    assert "20 % filler, Mori-Tanaka" in made.elastic.E.source  # type: ignore[union-attr]
    both = adhesive_card(case_with(process(filler=GLASS, adhesive_voids="2 %")))
    assert both.constants()["E1"] < made.constants()["E1"]


def test_what_a_solve_takes_is_what_was_made() -> None:
    facts = (process(adhesive_voids="3 %"), wall(voids="2 %"))
    clean, porous = case_with(), case_with(*facts)
    before, after = (region_materials(one, draw_section(one)) for one in (clean, porous))
    changed = {
        draw_section(clean).regions[name].part
        for name in before
        if not np.allclose(before[name].C, after[name].C, rtol=1e-12)
    }
    assert changed == {"wall", "adhesive"}


@settings(max_examples=20, deadline=None)  # each example parses a whole case
@given(st.floats(0.001, 0.3), st.sampled_from(["carbon-epoxy-im", "weave", "titanium-6al-4v"]))
def test_voids_soften_every_wall_and_move_no_expansion(share: float, ply: str) -> None:
    case = case_with(
        wall(voids=f"{100 * share} %"), lambda t: t["wall"]["layup"][0].update(ply=ply)
    )
    card, made = case.materials[ply], wall_cards(case)[ply]
    before, after = card.constants(), made.constants()
    for name, modulus in before.items():
        if name[0] in "EG":
            assert after[name] <= (1 - share) * modulus * (1 + 1e-9)
    assert made.cte() == pytest.approx(card.cte(), rel=1e-12)
    assert np.linalg.eigvalsh(made.compliance()).min() > 0
    # ring and head of the same metal keep their own card
    assert case.materials["titanium-6al-4v"].constants()["E1"] == pytest.approx(110300)


def test_along_the_fibre_a_porous_wall_has_its_solid_share() -> None:
    # rule of mixtures; see test_micromechanics
    case = case_with(wall(voids="2 %"))
    name = "carbon-epoxy-im"
    ratio = wall_cards(case)[name].constants()["E1"] / case.materials[name].constants()["E1"]
    assert ratio == pytest.approx(0.98, rel=1e-12)


def test_voids_in_an_adhesive_with_directions_are_refused() -> None:
    def directions(tree: Tree) -> None:
        tree["materials"]["my-paste"]["elastic"] = WEAVE["elastic"]

    assert case_with(directions).process.adhesive_voids is None
    with pytest.raises(CaseError, match=r"joint\.adhesive.*isotropic"):
        case_with(directions, process(adhesive_voids="1 %"))


def test_the_demo_says_what_its_voids_changed() -> None:
    told = as_made(read_case("cases/lander/case.yaml"))
    assert {made.constant for made in told if made.part == "wall"} >= {"E1", "E2", "G12"}
