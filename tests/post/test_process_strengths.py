"""What the process takes off the strengths: voids, filler, preparation, crushed voids.

Sources beside the numbers; the project's own rules (which strengths a factor is for, what is
assumed) are common practice, no published source.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from ruamel.yaml import YAML

from geometry.case import Case, parse_case
from geometry.errors import CaseError
from post.criteria import VOID_CRUSHING
from post.criteria.void_crushing import VoidStrength
from post.knock_downs import adhesive_factors, surface_factor
from post.ladder_report import strengths_table
from post.preparations import COMPOSITE, METAL, UNKNOWN_PREPARATION
from post.strength_used import Used
from post.strengths import strengths

Tree = dict[str, Any]
TESTED = [(0.0, 1.0), (0.05, 1.2), (0.2, 0.9)]


def case_with(edit: Callable[[Tree], object]) -> Case:
    tree: Tree = YAML(typ="safe", pure=True).load(Path("cases/lander/case.yaml").read_text("utf-8"))
    tree.pop("process", None)
    edit(tree)
    return parse_case(tree)


def clean() -> Case:
    return case_with(lambda t: None)


def with_voids(share: float) -> Case:
    return case_with(lambda t: t.update(process={"adhesive_voids": f"{100 * share} %"}))


def with_filler(share: float, tested: list[tuple[float, float]] = TESTED) -> Case:
    filler = {
        **{"share": f"{100 * share} %", "modulus": "70 GPa", "poisson": 0.2, "cte": "5e-7 /K"},
        **{"density": "2200 kg/m^3", "evidence": "five coupons a share"},
        "tested": [{"share": f"{100 * x} %", "factor": y} for x, y in tested],
    }
    return case_with(lambda t: t.update(process={"filler": filler}))


def prepared(ring: str, wall: str) -> Case:
    return case_with(lambda t: t["joint"].update(surface={"ring": ring, "wall": wall}))


def adhesive(case: Case) -> dict[str, float]:
    return {
        f"{one.part} {one.name}": one.value
        for one in strengths(case).used
        if one.part in ("bond", "adhesive") and one.unit == "MPa"
    }


# --- voids and filler ----------------------------------------------------------------------------


def test_voids_take_the_net_section_off_every_strength_of_the_adhesive() -> None:
    # Nicolais & Narkis 1971 (value from memory): 1 - 1.21 f^(2/3)
    before, after = adhesive(clean()), adhesive(with_voids(0.02))
    for name, value in before.items():
        assert after[name] / value == pytest.approx(1 - 1.21 * 0.02 ** (2 / 3), abs=2e-4)
    assert {"bond tensile", "bond shear_yield", "adhesive tensile"} <= set(before)
    said = strengths(with_voids(0.02)).words("largest tension")
    assert "2 % voids in the adhesive" in said
    assert "Nicolais & Narkis 1971" in said


@settings(max_examples=15, deadline=None)  # each example parses two whole cases
@given(st.floats(0.0, 0.28))
def test_more_voids_never_strengthen(share: float) -> None:
    less, more = adhesive(with_voids(share)), adhesive(with_voids(share + 0.01))
    assert all(more[name] < value for name, value in less.items())
    assert min(more.values()) > 0


def test_no_voids_take_nothing_off() -> None:
    assert adhesive(with_voids(0.0)) == adhesive(clean())
    assert adhesive_factors(with_voids(0.0)) == ()


@pytest.mark.parametrize(
    ("share", "factor"), [(0.0, 1.0), (0.025, 1.1), (0.05, 1.2), (0.125, 1.05), (0.2, 0.9)]
)
def test_filler_follows_the_tests_on_straight_lines(share: float, factor: float) -> None:
    (one,) = adhesive_factors(with_filler(share))
    assert float(one.reason.partition(" % filler")[0]) == pytest.approx(100 * share)
    assert one.factor == pytest.approx(factor, rel=1e-12)
    assert one.evidence == "five coupons a share"
    assert ("past the peak of 1.2 at 5 %" in one.reason) == (share > 0.05)
    before, after = adhesive(clean()), adhesive(with_filler(share))
    for name, value in before.items():
        assert after[name] == pytest.approx(value * factor, rel=1e-12)


@pytest.mark.parametrize("share", [0.21, 0.019])
def test_filler_is_never_taken_beyond_its_tests(share: float) -> None:
    with pytest.raises(CaseError, match=r"filler\.share"):
        with_filler(share, [(0.02, 1.0), (0.2, 0.9)])


# --- preparation ---------------------------------------------------------------------------------


def test_each_class_is_of_one_kind_of_face_and_names_its_evidence() -> None:
    for known in (METAL, COMPOSITE):
        for name, one in known.items():
            assert 0.5 <= one.factor <= 1, name
            assert "ASTM" in one.needs, name
    assert all("D3762" in one.needs for one in METAL.values())
    assert all("D5868" in one.needs for one in COMPOSITE.values())


@pytest.mark.parametrize(
    ("ring", "wall", "factor", "reason"),
    [
        ("blasted-primed", "peel-ply-abraded", 1.0, ""),
        ("machined-wiped", "peel-ply-abraded", 0.5, "ring machined-wiped"),
        ("blasted-primed", "peel-ply", 0.7, "wall peel-ply"),
        ("peel-ply-abraded", "peel-ply-abraded", 0.5, "no preparation of a metal"),
        ("blasted-primed", "anodised-primed", 0.5, "no preparation of a composite"),
        ("sanded", "peel-ply-abraded", 0.5, "ring sanded, a preparation that is not known"),
    ],
)
def test_a_face_counts_by_the_classes_of_its_own_kind(
    ring: str, wall: str, factor: float, reason: str
) -> None:
    found = surface_factor(prepared(ring, wall))
    assert found.factor == factor
    assert reason in found.reason
    assert found.evidence == "assumed"
    assert UNKNOWN_PREPARATION == 0.5


@pytest.mark.parametrize("stated", [{"ring": "sanded", "wall": "sanded"}, None])
def test_where_a_class_is_not_known_those_that_are_known_are_named(stated: Tree | None) -> None:
    found = surface_factor(case_with(lambda t: t["joint"].update(surface=stated)))
    ring, wall = found.needs.split(". Wall: ")
    assert "etched-primed" in ring
    assert "peel-ply-plasma" in wall
    assert "peel-ply" not in ring


def test_the_table_of_strengths_shows_the_evidence_that_a_class_needs() -> None:
    used = strengths(prepared("blasted-primed", "peel-ply-abraded")).used
    rows = [
        {**vars(one), "factors": [vars(factor) for factor in one.factors]}
        for one in used
        if one.part == "bond"
    ]
    table = strengths_table(rows)
    assert table is not None
    column = table.columns.index("Evidence it needs")
    needs = next(row[column] for row in table.rows if row[2] == "tensile")
    assert METAL["blasted-primed"].needs in needs
    assert COMPOSITE["peel-ply-abraded"].needs in needs


# --- crushed voids -------------------------------------------------------------------------------


def test_voids_are_crushed_at_the_hollow_spheres_limit() -> None:
    # Hill 1950: 2/3 Y ln(1/f); the card's 55 MPa, assumed 0.8, wet 0.85, no net section
    found = strengths(with_voids(0.02))
    solid = 55 * 0.8 * 0.85
    assert found.void is not None
    assert found.void.crushing == pytest.approx(2 / 3 * solid * math.log(50), rel=1e-12)
    # elastic: 1.5 times the pressure around the void
    assert f"first yields at {solid / 1.5:.3g} MPa" in found.words("void crushing")
    (used,) = (one for one in found.used if one.name == "void crushing")
    assert isinstance(used, Used)
    assert used.value == found.void.crushing


def test_without_voids_nothing_is_crushed() -> None:
    assert strengths(clean()).void is None


def test_crushing_takes_pressure_from_all_sides_alone() -> None:
    strength = VoidStrength(90.0)
    hydrostatic = np.array([-30.0, -30, -30, 0, 0, 0])
    shear = np.array([40.0, -40, 0, 25, 25, 25])
    assert VOID_CRUSHING.indices(hydrostatic, strength)[0] == pytest.approx(1 / 3, rel=1e-14)
    assert VOID_CRUSHING.indices(shear, strength)[0] == pytest.approx(0, abs=1e-14)
    assert VOID_CRUSHING.multipliers(shear, hydrostatic, strength)[0] == pytest.approx(3)
    assert np.isinf(VOID_CRUSHING.multipliers(shear, -hydrostatic, strength)[0])
