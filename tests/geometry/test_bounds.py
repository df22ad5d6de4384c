"""What is larger than a bound is refused by a line that names the bound, before any work."""

from __future__ import annotations

import time
from pathlib import Path
from typing import Any

import pytest

from geometry import bounds
from geometry.case import parse_case
from geometry.case_file import read_yaml
from geometry.errors import CaseError
from geometry.forms import draw_section
from geometry.mesh import MeshError, mesh_section
from geometry.mesh_size import check_size, count_triangles
from geometry.sizes import Grading, divide_edges
from post.proof_read import read_table
from post.study.study_file import read_study
from tests.fuzz.seeds import FULL, case_trees
from tests.joints import joint_case, random_joint

PLY = {"ply": "carbon-epoxy-im", "thickness": "0.19 mm", "angles": [90]}
FLAW = {"bond": "end", "face": "wall", "start": "0 mm", "length": "1 mm"}
# names of their own for copies of a card or a gauge
COPIES = {"materials": FULL["materials"]["my-paste"], "gauges": FULL["gauges"]["hull-hoop"]}

# field, too large a value of it, the bound that the line names
TOO_LARGE: list[tuple[str, Any, int]] = [
    ("title", "x" * (bounds.TITLE + 1), bounds.TITLE),
    ("note", "x" * (bounds.NOTE + 1), bounds.NOTE),
    ("wall.layup", [PLY] * (bounds.BLOCKS + 1), bounds.BLOCKS),
    ("wall.layup.0.angles", [0] * (bounds.ANGLES + 1), bounds.ANGLES),
    ("wall.layup.0.repeats", 10**6, bounds.REPEATS),
    ("wall.layup", [PLY | {"repeats": bounds.REPEATS}] * 2, bounds.PLIES),
    ("wall.layup", [PLY | {"angles": [0, 90], "repeats": 4}] * bounds.BLOCKS, 0),
    ("wall.resolve_plies", {"innermost": bounds.RESOLVED_PLIES + 1}, bounds.RESOLVED_PLIES),
    ("mesh", {"level": 40}, bounds.MESH_LEVEL),
    ("duty.dives", bounds.DIVES + 1, bounds.DIVES),
    ("duty.dive_list", [{"depth": "9 m", "count": 1}] * (bounds.DIVE_LIST + 1), bounds.DIVE_LIST),
    ("flaws", [FLAW] * (bounds.FLAWS + 1), bounds.FLAWS),
    ("gauges", {f"g{i}": COPIES["gauges"] for i in range(bounds.GAUGES + 1)}, bounds.GAUGES),
    ("knock_downs", FULL["knock_downs"] * (bounds.KNOCK_DOWNS + 1), bounds.KNOCK_DOWNS),
    (
        "materials",
        {f"m{i}": COPIES["materials"] for i in range(bounds.CARDS + 1)},
        bounds.CARDS,
    ),
]


def valid() -> dict[str, Any]:
    return next(tree for tree in case_trees() if tree.get("flaws") and tree.get("gauges"))


@pytest.mark.parametrize(("field", "value", "bound"), TOO_LARGE, ids=lambda v: str(v)[:24])
def test_a_case_beyond_a_bound_is_refused_by_its_number(field: str, value: Any, bound: int) -> None:
    tree = valid()
    *way, last = field.split(".")
    place: Any = tree
    for key in way:
        place = place[int(key) if key.isdigit() else key]
    place[int(last) if last.isdigit() else last] = value
    if not bound:  # as many blocks as may be, and plies of them meshed one by one
        bound = bounds.WALL_LAYERS
        tree["wall"]["resolve_plies"] = {"innermost": 100}
    start = time.process_time()
    with pytest.raises(CaseError) as refused:
        parse_case(tree)
    assert str(bound) in str(refused.value)
    assert field.split(".")[0] in str(refused.value)
    assert time.process_time() - start < 5


def test_a_mesh_beyond_the_bound_is_refused_before_it_is_made() -> None:
    case = joint_case("scarf", joint__bond_thickness="0.02 mm", mesh={"level": 3})
    section = draw_section(case)
    with pytest.raises(CaseError, match=f"mesh.level: '3'.*{bounds.TRIANGLES:,} triangles"):
        check_size(case, section)
    with pytest.raises(MeshError, match=f"{bounds.TRIANGLES:,} triangles"):
        mesh_section(section, 3)


@pytest.mark.parametrize("seed", [1, 4, 7])
def test_triangles_are_counted_near_enough_before_they_are_made(seed: int) -> None:
    section = draw_section(random_joint(seed))
    made = len(mesh_section(section, 1).triangles)
    counted = count_triangles(section, divide_edges(section, 1, Grading()))
    # rows are counted; free faces, a tenth to a third of a mesh at level 1, are estimated
    assert counted == pytest.approx(made, rel=0.25)


def test_a_bond_of_a_thousandth_of_its_length_takes_no_memory() -> None:
    # the open edge of such a scarf is 250,000 bond thicknesses long
    case = joint_case(
        "scarf",
        joint__bond_thickness="0.02 mm",
        joint__overlap={"inner": "4.9 m"},
        wall__half_length="6 m",
    )
    with pytest.raises(CaseError, match="triangles"):
        check_size(case, draw_section(case))


STUDY = """title: A study
case: case.yaml
vary:
{vary}
do: {do}
"""
FEW = 1000
LAUGHS = "a0: &a0 [x, x]\n" + "".join(f"a{i}: &a{i} [*a{i - 1}, *a{i - 1}]\n" for i in range(1, 40))
ONE = "  ring.web: {from: 15 mm, to: 25 mm}"


@pytest.mark.parametrize(
    ("vary", "do", "bound"),
    [
        ("  ring.web: {from: 15 mm, to: 25 mm, steps: 1001}", "grid", bounds.VALUES),
        (f"  ring.web: [{', '.join(['20 mm'] * 1001)}]", "grid", bounds.VALUES),
        (ONE, "{sample: {points: 200001}}", bounds.POINTS),
        (ONE, "{sensitivity: {method: sobol, repeats: 131072}}", 65_536),
        (ONE, "{best: {least: [mass], population: 1000, generations: 1000}}", bounds.POINTS),
        (ONE, "{best: {least: [mass], population: 1001}}", bounds.POPULATION),
        (ONE, "{sample: {points: 20000}}\nbatch: 1", bounds.BATCHES),
        (
            "\n".join(f"  wall.layup[0].angles[{i}]: [0.0, 1.0]" for i in range(51)),
            "{sample: {points: 8}}",
            bounds.VARIABLES,
        ),
        (
            "\n".join(f"  wall.layup[0].angles[{i}]: [0.0, 1.0]" for i in range(20)),
            "grid",
            bounds.POINTS,
        ),
    ],
)
def test_a_study_beyond_a_bound_is_refused_by_its_number(
    tmp_path: Path, vary: str, do: str, bound: int
) -> None:
    from tests.fuzz.mutate import dump

    tree = valid()
    tree["wall"]["layup"][0]["angles"] = [0.0] * 60
    (tmp_path / "case.yaml").write_text(dump(tree), encoding="utf-8")
    (tmp_path / "study.yaml").write_text(STUDY.format(vary=vary, do=do), encoding="utf-8")
    with pytest.raises(CaseError) as refused:
        read_study(tmp_path / "study.yaml")
    said = str(refused.value).replace(",", "").replace("less than or equal to ", "")
    assert str(bound) in said, said


@pytest.mark.parametrize(
    ("text", "bound"),
    [
        ("pressure [MPa], a [%]\n" + "1, 1\n" * (FEW + 1), FEW),
        (", ".join(f"c{i} [%]" for i in range(101)) + "\n", bounds.TABLE_COLUMNS),
        ("x" * (bounds.TABLE_BYTES + 1), bounds.TABLE_BYTES),
    ],
    ids=["rows", "columns", "bytes"],
)
def test_a_table_beyond_a_bound_is_refused_by_its_number(
    tmp_path: Path, text: str, bound: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(bounds, "TABLE_ROWS", FEW)  # half a million rows take seconds to read
    (tmp_path / "strain.csv").write_text(text, encoding="utf-8")
    with pytest.raises(CaseError) as refused:
        read_table(tmp_path / "strain.csv")
    assert str(bound) in str(refused.value).replace(",", "")


@pytest.mark.parametrize(
    ("text", "bound"),
    [
        ("note: " + "x" * bounds.FILE_BYTES, bounds.FILE_BYTES),
        ("a: [" + "1, " * FEW + "1]", FEW),
        ("a: " + "[" * 25 + "]" * 25, bounds.TREE_LEVELS),
        ("a: " + "[" * 10_000, bounds.TREE_LEVELS),
        (LAUGHS, FEW),
    ],
    ids=["bytes", "values", "levels", "open brackets", "aliases that double"],
)
def test_a_file_beyond_a_bound_is_refused_by_its_number(
    tmp_path: Path, text: str, bound: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(bounds, "TREE_VALUES", FEW)  # fifty thousand take seconds to read
    (tmp_path / "case.yaml").write_text(text, encoding="utf-8")
    with pytest.raises(CaseError) as refused:
        read_yaml(tmp_path / "case.yaml")
    assert str(bound) in str(refused.value).replace(",", "")


def test_a_bond_thicker_than_the_wall_is_named_itself() -> None:
    with pytest.raises(CaseError, match=r"joint.bond_thickness.end: '5 mm'.*up to \d"):
        draw_section(
            joint_case(
                "inner-lap",
                joint__bond_thickness="5 mm",
                wall__layup=[PLY | {"repeats": 8}],
                head={"form": "none"},
            )
        )
