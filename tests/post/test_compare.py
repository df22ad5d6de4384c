"""Cases side by side. Common practice, no published source, where none is named.

Two coarse joints of different forms are solved once; what is tested is what the page says of
them, not how exact their depths are.
"""

from __future__ import annotations

import json
import math
from dataclasses import replace
from pathlib import Path

import pytest

from geometry.case import Case, write_case
from geometry.errors import CaseError
from geometry.forms import draw_section
from geometry.mesh import mesh_section
from post.bondline import bondline
from post.compare import (
    Compared,
    compare_words,
    differing,
    headline_rows,
    input_rows,
    read_compared,
)
from post.compare_chart import ladders_chart
from post.compare_names import case_files
from post.compare_page import render_comparison, write_comparison
from post.judge import judge
from post.strengths import strengths
from post.summary import judgement, summarise
from solve.answer import solve_twice
from tests.joints import joint_case
from tests.post.ladders import beyond, rung
from tests.post.test_report import Page

COARSE = {"mesh__level": 0, "mesh__target": "50 %"}
CASES = {
    "plain": joint_case("butt", **COARSE),
    "lapped": joint_case("inner-lap", duty__pressure="40 MPa", title="<Lapped & thin>", **COARSE),
}


def keep_results(case: Case, folder: Path) -> None:
    """Write what a comparison reads of a case, as the workflow does."""
    folder.mkdir(parents=True)
    section = draw_section(case)
    answer, companion = solve_twice(case, mesh_section(section, 0), mesh_section(section, -1))
    write_case(case, folder / "inputs.yaml")
    bondline(answer).to_parquet(folder / "bondline.parquet", index=False)
    strong = strengths(case)
    rungs = judge(answer, companion, strong, case.mesh.target)
    told = summarise(answer, companion, folder.name) | judgement(answer, rungs, strong)
    (folder / "summary.json").write_text(json.dumps(told, allow_nan=False))


@pytest.fixture(scope="module")
def results(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("results")
    for name, case in CASES.items():
        keep_results(case, folder / name)
    return folder


@pytest.fixture(scope="module")
def cases(results: Path) -> list[Compared]:
    return [read_compared(results / name) for name in CASES]


@pytest.fixture(scope="module")
def html(cases: list[Compared]) -> str:
    return render_comparison(cases)


@pytest.fixture(scope="module")
def page(html: str) -> Page:
    return Page(html)


def standing(one: Compared, *rungs) -> Compared:
    return replace(one, rungs=rungs)


# --- inputs --------------------------------------------------------------------------------------


def test_inputs_that_differ_are_those_that_the_files_differ_in(cases):
    rows = dict(differing(input_rows(cases)))
    assert rows["joint.form"] == ("butt", "inner-lap")
    assert rows["duty.pressure"] == ("30 MPa", "40 MPa")
    assert rows["joint.overlap.inner"] == ("\u2013", "30 mm")
    assert "wall.bore_radius" not in rows
    assert not any(name.startswith("materials.") for name in rows)


def test_all_inputs_hold_every_input_of_either(cases):
    names = [name for name, _ in input_rows(cases)]
    assert len(names) == len(set(names))
    assert {"wall.bore_radius", "joint.overlap.inner", "ring.inner_radius"} <= set(names)


def test_a_card_of_one_name_with_two_values_is_a_difference(cases):
    one = cases[0]
    card = one.case.materials["epoxy-paste"]
    density = card.density.model_copy(update={"value": 2 * card.density.value})
    other = {**one.case.materials, "epoxy-paste": card.model_copy(update={"density": density})}
    changed = replace(one, name="b", case=one.case.model_copy(update={"materials": other}))
    assert [name for name, _ in differing(input_rows([one, changed]))] == [
        "materials.epoxy-paste, density"
    ]


# --- words ---------------------------------------------------------------------------------------


def test_the_deepest_first_failure_is_named_with_what_limits_it(cases):
    shallow = standing(cases[0], rung(depth=4000.0, error=10.0))
    deep = standing(cases[1], rung("yield", "ring", depth=5000.0, error=10.0))
    (words,) = compare_words([shallow, deep])
    assert words.startswith(
        "lapped fails first deepest, at 5,000 m (ring, yield); plain at 4,000 m."
    )


def test_depths_within_their_errors_are_not_told_apart(cases):
    one = standing(cases[0], rung(depth=4000.0, error=40.0))
    other = standing(cases[1], rung(depth=4050.0, error=20.0))
    (words,) = compare_words([one, other])
    assert "no more apart than their numerical errors" in words
    assert "deepest" not in words


def test_a_case_that_no_sea_breaks_has_no_depth(cases):
    never = standing(cases[0], beyond())
    (words,) = compare_words([never, standing(cases[1], rung(depth=4000.0))])
    assert words.startswith("No sea brings plain to a first failure. lapped fails first deepest")
    assert dict(headline_rows([never, never]))["First failure at"] == ("no sea reaches any",) * 2


def test_what_is_in_hand_counts_by_each_cases_own_duty(cases):
    """4000 m of 1.5 x 4000 m asked are 66 %; 5000 m of 1.5 x 3000 m are 111 %, by hand."""
    one = standing(cases[0], rung(depth=4000.0, ratio=1.0, ratio_error=0.0))
    other = standing(cases[1], rung(depth=5000.0, ratio=5 / 3, ratio_error=0.0))
    (words,) = compare_words([one, other])
    assert "lapped has 111 %, the most, and plain 66 %, the least" in words


def test_headlines_are_those_of_the_summaries(cases):
    rows = dict(headline_rows(cases))
    for i, one in enumerate(cases):
        assert rows["Verdict"][i] == one.summary["verdict"]["word"]
        first = one.summary["verdict"]["governing"]
        assert rows["What fails first"][i] == f"{first['part']}: {first['mode']}"
        assert math.isfinite(one.mass)
        assert rows["Mass"][i] == f"{one.mass:,.1f} kg"
    assert rows["inner bond, mean peel, MPa"][0] == "\u2013"


# --- page ----------------------------------------------------------------------------------------


def test_the_page_escapes_what_cases_say_and_asks_no_network(html, page):
    assert "<Lapped" not in html
    assert "&lt;Lapped &amp; thin&gt;" in html
    addresses = [a[key] for _, a in page.tags for key in ("src", "href") if key in a]
    assert addresses
    assert all(address.startswith(("data:", "#")) for address in addresses)


def test_the_ladders_have_a_mark_for_every_mode_that_a_sea_reaches(cases):
    svg = ladders_chart(cases)
    reached = sum(rung.reached for one in cases for rung in one.rungs)
    assert reached > 4
    assert svg.count("<title>") == reached


def test_the_browsers_curves_are_the_tables(cases, page):
    data = page.data("compare-data")
    inner = next(bond for bond in data["bonds"] if bond["name"] == "inner")
    assert [data["cases"][line["case"]]["name"] for line in inner["lines"]] == ["lapped"]
    table = cases[1].bondline
    mid = table[(table["bond"] == "inner") & (table["load"] == "duty") & (table["place"] == "mid")]
    assert inner["lines"][0]["peel"] == pytest.approx(
        mid.sort_values("s_mm")["peel_MPa"].tolist(), rel=1e-4, abs=1e-4
    )


def test_page_and_table_are_written(results, tmp_path):
    write_comparison([results / n for n in CASES], tmp_path / "c.html", tmp_path / "c.csv")
    lines = (tmp_path / "c.csv").read_text().splitlines()
    assert lines[0] == "kind,what,plain,lapped"
    assert "input,joint.form,butt,inner-lap" in lines


# --- names ---------------------------------------------------------------------------------------


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    for name in ("lander", "tube", "minimal"):
        (tmp_path / "cases" / name).mkdir(parents=True)
        (tmp_path / "cases" / name / "case.yaml").touch()
    return tmp_path / "cases"


def test_names_and_paths_are_found_in_the_order_asked(folder, tmp_path):
    (tmp_path / "mine").mkdir()
    mine = tmp_path / "mine" / "case.yaml"
    mine.touch()
    found = case_files(f"tube, {mine},lander", folder)
    assert list(found) == ["tube", "mine", "lander"]
    assert found["mine"] == mine


@pytest.mark.parametrize(
    ("asked", "said"),
    [
        (
            "lander,tubo",
            "'tubo' is no case; allowed: lander, minimal, tube, or paths to case files"
            "; did you mean 'tube'?",
        ),
        ("lander", "'lander' names 1 cases; allowed: 2 to 6"),
        ("lander,lander", "'lander' has the name of another"),
        (",".join("abcdefg"), "names 7 cases; allowed: 2 to 6"),
    ],
)
def test_what_cannot_be_compared_is_said_in_one_line(folder, asked, said):
    with pytest.raises(CaseError) as refusal:
        case_files(asked, folder)
    assert said in str(refusal.value)
    assert "\n" not in str(refusal.value)
