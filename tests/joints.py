"""Cases of every form for the tests, small variations of one invented housing."""

from __future__ import annotations

import copy
import random
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


def random_joint(seed: int) -> Case:
    """Make a case of any form with legal but odd proportions.

    Raises
    ------
    CaseError
        Where the numbers drawn contradict each other.
    """
    draw = random.Random(seed)
    form = draw.choice(list(FORMS))
    gap, bore = draw.choice([0.1, 0.3, 0.5, 1, 2, 3]), draw.choice([40, 150, 500, 1500])
    repeats = draw.choice([8, 27, 60])
    wall = repeats * 0.57
    unit = {"ply": "carbon-epoxy-im", "thickness": "0.19 mm", "angles": [90, 90, 0]}
    changes: dict[str, Any] = {
        "joint__bond_thickness": f"{gap} mm",
        "joint__squeeze_out": f"{draw.choice([0, 0.3, 1]) * gap:.4g} mm",
        "wall__bore_radius": f"{bore} mm",
        "wall__half_length": f"{draw.choice([100, 200, 600])} mm",
        "wall__layup": [{**unit, "repeats": repeats}],
        "wall__resolve_plies": {
            "innermost": draw.choice([0, 0, 3]),
            "outermost": draw.choice([0, 0, 7]),
        },
    }
    if form == "butt":
        changes["ring__inner_radius"] = f"{bore - draw.choice([0, 0.5, 4])} mm"
        changes["ring__outer_radius"] = f"{bore + wall + draw.choice([0, 0.5, 4]):.6g} mm"
    elif form == "scarf":
        side = draw.choice(["inner", "outer"])
        changes["joint__overlap"] = {side: f"{draw.choice([15, 40, 90])} mm"}
        changes["ring__lip"] = {side: f"{draw.choice([0, 1.5, 3]) * gap:.4g} mm"}
    else:
        changes["ring__root_radius"] = f"{draw.choice([0, 0.2, 0.5, 1, 1.5]) * gap:.4g} mm"
        changes["wall__edge_chamfer"] = f"{draw.choice([0, 0.3, 1, 1.5]) * gap:.4g} mm"
        lips = {side: draw.choice([3, 8, 12]) for side in FORMS[form]["ring"]["lip"]}
        changes["joint__overlap"] = {s: f"{draw.choice([15, 30, 60, 90])} mm" for s in lips}
        changes["ring__lip"] = {s: f"{v} mm" for s, v in lips.items()}
        changes["ring__lip_tip"] = {
            s: f"{draw.choice([0.2, 0.5, 1]) * v:.4g} mm" for s, v in lips.items()
        }
    head = draw.choice(["hemisphere", "flat", "none"])
    changes["head"] = {"form": head}
    if head != "none":
        changes["head"]["material"] = "titanium-6al-4v"
        changes["head"]["thickness"] = f"{draw.choice([0.3, 0.7, 1]) * wall:.4g} mm"
    return joint_case(form, **changes)
