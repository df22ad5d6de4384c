"""The JSON Schema: current, valid, takes the demo cases and refuses broken ones."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from ruamel.yaml import YAML

import geometry
from geometry.case import read_case, write_case
from geometry.schema import case_schema

Tree = dict[str, Any]
SCHEMA = case_schema()
CASES = [f"cases/{name}/case.yaml" for name in ("lander", "tube", "minimal", "flawed")]


def tree_of(path: str | Path) -> Tree:
    tree = YAML(typ="safe", pure=True).load(Path(path).read_text(encoding="utf-8"))
    assert isinstance(tree, dict)
    return tree


def faults(tree: Tree) -> list[str]:
    return [e.message for e in jsonschema.Draft202012Validator(SCHEMA).iter_errors(tree)]


def test_the_stored_schema_is_the_one_of_the_types() -> None:
    # python -m geometry schema geometry/case.schema.json
    stored = Path(geometry.__file__).with_name("case.schema.json").read_text(encoding="utf-8")
    assert json.loads(stored) == SCHEMA


def test_the_schema_is_a_schema() -> None:
    jsonschema.Draft202012Validator.check_schema(SCHEMA)


@pytest.mark.parametrize("path", CASES)
def test_the_cases_are_valid_as_written_and_as_copied(path: str, tmp_path: Path) -> None:
    assert faults(tree_of(path)) == []
    write_case(read_case(path), tmp_path / "inputs.yaml")
    assert faults(tree_of(tmp_path / "inputs.yaml")) == []


BREAK: dict[str, Callable[[Tree], object]] = {
    "bad unit": lambda t: t["ring"].update(web="20 mmm"),
    "another unit": lambda t: t["ring"].update(web="20 kg"),
    "bare number": lambda t: t["ring"].update(web=20),
    "bare zero temperature": lambda t: t["duty"].update(service_temperature=0),
    "misspelt field": lambda t: t["wall"].update(bore_radus="150 mm"),
    "missing field": lambda t: t["wall"].pop("half_length"),
    "empty layup": lambda t: t["wall"].update(layup=[]),
    "enormous repeats": lambda t: t["wall"]["layup"][0].update(repeats=10**9),
    "misspelt form": lambda t: t["joint"].update(form="sockt"),
    "misspelt bond": lambda t: t["joint"].update(bond_thickness={"inside": "1 mm"}),
    "path for a name": lambda t: t["joint"].update(adhesive="../paste"),
    "knock-down that raises": lambda t: t["knock_downs"][0].update(factor=1.2),
    "knock-down on what is not": lambda t: t["knock_downs"][0].update(on="bond"),
    "misspelt knock-down": lambda t: t["knock_downs"][0].update(facter=0.9),
    "bare mesh target": lambda t: t.update(mesh={"target": 0.01}),
    "card without constants": lambda t: t.update(materials={"own": {"kind": "ply"}}),
}


@pytest.mark.parametrize("name", BREAK)
def test_broken_cases_are_refused(name: str) -> None:
    tree = tree_of(CASES[0])
    assert faults(tree) == []
    BREAK[name](tree)
    assert faults(tree)


def test_editors_can_complete_and_explain_every_field() -> None:
    parts = {"case": SCHEMA, **SCHEMA["$defs"]}
    fields = [
        (part, name, field)
        for part, schema in parts.items()
        for name, field in schema.get("properties", {}).items()
    ]
    assert len(fields) > 60
    for part, name, field in fields:
        # a part that is described where it is defined need not be described again
        named = SCHEMA["$defs"].get(field.get("$ref", "").removeprefix("#/$defs/"), {})
        assert field.get("description") or named.get("description"), (part, name)
    adhesives = SCHEMA["$defs"]["Joint"]["properties"]["adhesive"]["anyOf"][0]["enum"]
    assert set(adhesives) == {"epoxy-paste", "epoxy-paste-stiff", "epoxy-paste-flexible"}
