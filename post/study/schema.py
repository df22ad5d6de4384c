"""The study file as a JSON Schema, from the same types that read it.

Editors that understand YAML with a schema complete fields, paths into the case and headlines, and
mark what will be refused. What needs the case itself (whether it has such a bond or such a card,
whether a value is one that the field can take) is left to reading.

``python -m post study_schema studies/study.schema.json`` writes it anew.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, get_args, get_origin

from pydantic import BaseModel

from geometry import bounds
from geometry.case import Case
from geometry.case_checks import BONDS
from post.study.ask import FORMS, MORE, StudyFile
from post.study.fields import FIXED, find_quantity
from post.study.headline_names import names_of_bonds

Schema = dict[str, Any]


def study_schema() -> Schema:
    """JSON Schema (draft 2020-12) of a study file.

    Returns
    -------
    dict
        Ready for `json.dumps`.
    """
    schema: Schema = _without_titles(StudyFile.model_json_schema(mode="validation"))
    parts, fields = schema["$defs"], schema["properties"]
    headlines = names_of_bonds(sorted({bond for form in BONDS.values() for bond in form}), "all")
    parts["Headline"] = {"enum": headlines}
    parts["Value"] = {"type": ["number", "string", "boolean"]}
    parts["Spread"] = _spread()
    one = {"minProperties": 1, "maxProperties": 1}
    parts["Do"] = {"anyOf": [{"const": "grid"}, parts["Do"] | one]}
    named = {"$ref": "#/$defs/Headline"}
    fields["headlines"]["items"] = named
    for aim in ("least", "most"):
        parts["Best"]["properties"][aim]["items"] = named
    parts["Best"]["properties"]["subject_to"]["propertyNames"] = named
    fields["vary"] |= {
        "properties": dict(_paths(Case, "")),
        "additionalProperties": {"$ref": "#/$defs/Spread"},
    }
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", **schema}


def _without_titles(tree: Any) -> Any:
    """Leave out titles, which say no more than the names, and defaults of lists and the like."""
    if isinstance(tree, list):
        return [_without_titles(branch) for branch in tree]
    if not isinstance(tree, dict):
        return tree
    return {
        key: _without_titles(branch)
        for key, branch in tree.items()
        if key != "default" and not (key == "title" and isinstance(branch, str))
    }


def _spread() -> Schema:
    """Allow listed values, or one of the distributions."""
    several = {
        "type": "array",
        "items": {"$ref": "#/$defs/Value"},
        "minItems": 1,
        "maxItems": bounds.VALUES,
    }
    steps = {"type": "integer", "minimum": 2, "maximum": bounds.VALUES}
    made = [
        {
            "type": "object",
            "properties": {
                name: steps if name == "steps" else {"$ref": "#/$defs/Value"}
                for name in (*sorted(need), *sorted(more))
            },
            "required": sorted(need),
            "additionalProperties": False,
        }
        for need, more in zip(FORMS, MORE, strict=True)
    ]
    return {
        "description": "Listed values, an even range, a normal or a triangular distribution.",
        "anyOf": [several, *made],
    }


def _paths(model: type[BaseModel], start: str) -> Iterator[tuple[str, Schema]]:
    """Dotted paths of the single values that any case can have, with what they mean."""
    for name, field in model.model_fields.items():
        if field.exclude or (not start and name in FIXED):
            continue
        path = f"{start}{name}"
        several = get_origin(field.annotation) in (tuple, dict)  # their entries are the case's own
        hints = [field.annotation, *(() if several else get_args(field.annotation))]
        below = [h for h in hints if isinstance(h, type) and issubclass(h, BaseModel)]
        quantities = [find_quantity(mark) for mark in (field.annotation, *field.metadata)]
        if below:
            yield from _paths(below[0], f"{path}.")
        elif any(quantities) or {int, float} & set(hints):
            yield path, {"$ref": "#/$defs/Spread", "description": field.description or path}
