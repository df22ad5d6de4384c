"""The schema of study files: current, valid, takes the demos, refuses what reading refuses."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from ruamel.yaml import YAML

from geometry.errors import CaseError
from post.study.schema import study_schema
from post.study.study_file import read_study

STUDIES = Path(__file__).parents[3] / "studies"
SCHEMA = study_schema()
Tree = dict[str, Any]


def tree_of(path: Path) -> Tree:
    return dict(YAML(typ="safe", pure=True).load(path.read_text(encoding="utf-8")))


def is_valid(tree: Tree) -> bool:
    return bool(jsonschema.Draft202012Validator(SCHEMA).is_valid(tree))


def test_the_stored_schema_is_the_one_of_the_types() -> None:
    # python -m post study_schema studies/study.schema.json
    stored = (STUDIES / "study.schema.json").read_text(encoding="utf-8")
    assert json.loads(stored) == SCHEMA
    jsonschema.Draft202012Validator.check_schema(SCHEMA)


@pytest.mark.parametrize("path", sorted(STUDIES.glob("*.yaml")), ids=lambda path: path.stem)
def test_the_demo_studies_name_the_schema_and_are_valid(path: Path) -> None:
    first = path.read_text(encoding="utf-8").splitlines()[0]
    assert first == "# yaml-language-server: $schema=study.schema.json"
    assert is_valid(tree_of(path))


CHANGES: dict[str, Callable[[Tree], object]] = {
    "misspelt field": lambda t: t.update(sead=1),
    "nothing to do": lambda t: t.update(do={}),
    "two things to do": lambda t: t.update(do={"grid": True, "sample": {"points": 8}}),
    "misspelt thing to do": lambda t: t.update(do="gird"),
    "too few points": lambda t: t.update(do={"sample": {"points": 1}}),
    "misspelt sequence": lambda t: t.update(do={"sample": {"points": 8, "sequence": "sobel"}}),
    "misspelt headline": lambda t: t.update(headlines=["first_failure.deapth"]),
    "half a spread": lambda t: t["vary"].update({"ring.web": {"from": "20 mm"}}),
    "no values": lambda t: t["vary"].update({"ring.web": []}),
    "one step": lambda t: t["vary"].update(
        {"ring.web": {"from": "20 mm", "to": "25 mm", "steps": 1}}
    ),
    "nothing varies": lambda t: t.update(vary={}),
    "no case": lambda t: t.pop("case"),
    "misspelt aim": lambda t: t.update(do={"best": {"least": ["wieght_in_water"]}}),
    "limit of nothing": lambda t: t.update(
        do={"best": {"least": ["mass"], "subject_to": {"first_failure.ratios": {"at_least": 1}}}}
    ),
}


@pytest.mark.parametrize("change", CHANGES)
def test_what_the_schema_refuses_reading_refuses(change: str, tmp_path: Path) -> None:
    tree = tree_of(STUDIES / "joint.yaml")
    tree["case"] = str(STUDIES.parent / "cases" / "lander" / "case.yaml")
    CHANGES[change](tree)
    assert not is_valid(tree)
    path = tmp_path / "study.yaml"
    YAML(typ="safe", pure=True).dump(tree, path)
    with pytest.raises(CaseError):
        read_study(path)


GOOD: dict[str, Callable[[Tree], object]] = {
    "grid in a word": lambda t: t.update(do="grid"),
    "names": lambda t: t["vary"].update({"ring.material": ["titanium-6al-4v"]}),
    "plain numbers": lambda t: t["vary"].update({"duty.required_ratio": {"from": 1.2, "to": 2}}),
    "an angle": lambda t: t["vary"].update({"wall.layup[0].angles[1]": [0, 5, 10]}),
    "every headline": lambda t: t.update(headlines=["outer.shear.mean", "mass"]),
}


@pytest.mark.parametrize("change", GOOD)
def test_what_reading_takes_the_schema_takes(change: str, tmp_path: Path) -> None:
    tree = tree_of(STUDIES / "joint.yaml")
    tree["case"] = str(STUDIES.parent / "cases" / "lander" / "case.yaml")
    GOOD[change](tree)
    path = tmp_path / "study.yaml"
    YAML(typ="safe", pure=True).dump(tree, path)
    read_study(path)
    assert is_valid(tree)


def test_paths_that_the_schema_offers_are_read(tmp_path: Path) -> None:
    # what an editor completes must be a field of a case: those of the socket's demo
    tree = tree_of(STUDIES / "joint.yaml")
    offered = SCHEMA["properties"]["vary"]["properties"]
    wanted = {
        "joint.bond_thickness.end": "1 mm",
        "joint.overlap.outer": "80 mm",
        "ring.web": "20 mm",
        "head.thickness": "15 mm",
    }
    assert set(wanted) <= set(offered)
    tree["case"] = str(STUDIES.parent / "cases" / "lander" / "case.yaml")
    tree["vary"] = {name: [value] for name, value in wanted.items()}
    path = tmp_path / "study.yaml"
    YAML(typ="safe", pure=True).dump(tree, path)
    assert sorted(read_study(path).names) == sorted(wanted)  # the writer sorts
