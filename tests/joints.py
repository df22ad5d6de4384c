"""Cases of every form for the tests, small variations of one invented housing."""

from __future__ import annotations

import copy
from typing import Any

from geometry.case import Case, parse_case

BOTH = {"inner": "12 mm", "outer": "12 mm"}

FORMS: dict[str, dict[str, Any]] = {
    "butt": {
        "joint": {"form": "butt"},
        "ring": {"inner_radius": "146 mm", "outer_radius": "170 mm"},
    },
    "inner-lap": {
        "joint": {"form": "inner-lap", "overlap": {"inner": "30 mm"}},
        "ring": {"lip": {"inner": "12 mm"}},
    },
    "outer-lap": {
        "joint": {"form": "outer-lap", "overlap": {"outer": "30 mm"}},
        "ring": {"lip": {"outer": "12 mm"}},
    },
    "socket": {
        "joint": {"form": "socket", "overlap": {"inner": "30 mm", "outer": "25 mm"}},
        "ring": {"lip": BOTH, "lip_tip": {"inner": "4 mm", "outer": "4 mm"}},
    },
    "scarf": {"joint": {"form": "scarf", "overlap": {"inner": "60 mm"}}, "ring": {}},
}

BASE: dict[str, Any] = {
    "title": "Invented housing for tests",
    "duty": {
        "pressure": "30 MPa",
        "stress_free_temperature": "60 degC",
        "service_temperature": "2 degC",
    },
    "wall": {
        "bore_radius": "150 mm",
        "half_length": "200 mm",
        "layup": [
            {
                "ply": "carbon-epoxy-im",
                "thickness": "0.19 mm",
                "angles": [90, 90, 0],
                "repeats": 27,
            }
        ],
    },
    "joint": {"adhesive": "epoxy-paste", "bond_thickness": "1.0 mm"},
    "ring": {"material": "titanium-6al-4v", "web": "20 mm"},
    "head": {"form": "hemisphere", "material": "titanium-6al-4v", "thickness": "10 mm"},
}


def joint_case(form: str, **changes: Any) -> Case:
    """Make a case of a form.

    Parameters
    ----------
    form : str
    **changes
        Dotted fields with ``__`` for the dot and their texts, for instance
        ``ring__root_radius="2 mm"``; None leaves a field out.
    """
    tree = copy.deepcopy(BASE)
    for part, fields in FORMS[form].items():
        tree[part] |= copy.deepcopy(fields)
    for field, value in changes.items():
        *path, last = field.split("__")
        place = tree
        for name in path:
            place = place.setdefault(name, {})
        if value is None:
            place.pop(last, None)
        else:
            place[last] = value
    return parse_case(tree)
