"""The case file as a JSON Schema, from the same types that read it.

Editors that understand YAML with a schema complete the fields, show what each means and mark
what will be refused. What needs several fields at once (bonds against the form, a material
against its place) is left to reading.

``python -m geometry schema geometry/case.schema.json`` writes it anew.
"""

from __future__ import annotations

from typing import Any

from geometry.case import Case
from geometry.case_checks import SUITS
from geometry.fields import NAME_PATTERN
from geometry.materials import library
from geometry.units import KINDS, pattern

Schema = dict[str, Any]


def case_schema() -> Schema:
    """JSON Schema (draft 2020-12) of a case file.

    Returns
    -------
    dict
        Ready for `json.dumps`.
    """
    schema: Schema = Case.model_json_schema(mode="validation")
    parts = schema["$defs"]
    _name_materials(parts)
    _allow_plain_values(parts)
    _allow_one_thickness(parts)
    schema = _name_quantities(schema)
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", **schema}


def _name_materials(parts: Schema) -> None:
    """Offer the library's cards where a material is named; a card of the case's own passes."""
    places = {
        "wall": ("Block", "ply"),
        "joint": ("Joint", "adhesive"),
        "ring": ("Ring", "material"),
        "head": ("Head", "material"),
    }
    for place, (part, field) in places.items():
        kinds = SUITS[place]
        fitting = [n for kind in kinds for n, card in library().items() if card.kind == kind]
        described = parts[part]["properties"][field]
        parts[part]["properties"][field] = {
            "anyOf": [{"enum": fitting}, {"type": "string", "pattern": NAME_PATTERN}],
            "description": described["description"],
            "examples": fitting[:1],
        }


def _allow_plain_values(parts: Schema) -> None:
    """Let a value of a card be its number alone, where the card names source and basis."""
    for part, full in list(parts.items()):
        if {"value", "source", "basis"} <= full.get("properties", {}).keys():
            # source and basis may stand on the card
            full["required"] = ["value"]
            parts[part] = {
                "description": full.pop("description", ""),
                "anyOf": [full["properties"]["value"], full],
            }
    parts["Card"]["properties"].pop("name", None)
    parts["Card"]["required"] = [r for r in parts["Card"]["required"] if r != "name"]


def _allow_one_thickness(parts: Schema) -> None:
    """Let one quantity stand for every bond of the form."""
    one = parts["BondThickness"]["properties"]["inner"]["anyOf"][0]
    field = parts["Joint"]["properties"]["bond_thickness"]
    parts["Joint"]["properties"]["bond_thickness"] = {
        "anyOf": [one, {"$ref": "#/$defs/BondThickness"}],
        "description": field["description"],
        "examples": ["1.0 mm"],
    }


def _name_quantities(schema: Schema) -> Schema:
    """Write the long pattern of each kind of quantity once and refer to it."""
    names: dict[str, str] = {}
    for name, kind in KINDS.items():
        names.setdefault(pattern(kind), name.replace(" ", "-"))

    def refer(tree: Any) -> Any:
        if isinstance(tree, list):
            return [refer(branch) for branch in tree]
        if not isinstance(tree, dict):
            return tree
        if tree.get("pattern") in names:
            rest = {k: v for k, v in tree.items() if k in ("description", "examples")}
            return {"$ref": f"#/$defs/{names[tree['pattern']]}", **rest}
        return {key: refer(branch) for key, branch in tree.items() if not generated(key, branch)}

    def generated(key: str, branch: Any) -> bool:
        # titles say no more than the names; defaults are written in inside units
        return key == "default" or (key == "title" and isinstance(branch, str))

    named = refer(schema)
    for text, name in names.items():
        named["$defs"][name] = {"type": "string", "pattern": text}
    return dict(named)
