"""Valid inputs that the fuzzer breaks: cases with every field, studies, and proof tables."""

from __future__ import annotations

import copy
from pathlib import Path
from typing import Any

from geometry.case_file import read_yaml
from tests.joints import BASE, FORMS

Tree = dict[str, Any]
ROOT = Path(__file__).parents[2]

PASTE: Tree = {
    "kind": "adhesive",
    "description": "An invented paste",
    "source": "an invented data sheet",
    "basis": "typical",
    "density": "1200 kg/m^3",
    "elastic": {"symmetry": "isotropic", "E": "2.4 GPa", "nu": 0.38, "cte": "60e-6 /K"},
    "strengths": {"tensile": "45 MPa", "compressive": "80 MPa", "shear": "30 MPa"},
    "failure": {"characteristic_length": "1 mm", "life_loss": 0.08},
    "toughness": {"GIc": {"value": "0.4 kJ/m^2", "source": "assumed", "basis": "assumed"}},
}
TAPE: Tree = {
    "kind": "ply",
    "source": "an invented data sheet",
    "basis": "typical",
    "elastic": {
        "symmetry": "transverse",
        **{"E1": "140 GPa", "E2": "9 GPa", "G12": "5 GPa", "nu12": 0.3, "nu23": 0.42},
        **{"cte1": "-0.5e-6 /K", "cte2": "28e-6 /K"},
    },
    "strengths": {"XT": "2 GPa", "XC": "1.2 GPa", "YT": "50 MPa", "YC": "180 MPa", "S12": "80 MPa"},
}
FULL: Tree = {
    "note": "An invented housing with every field\nover two lines.",
    "flaws": [
        {"bond": "inner", "face": "wall", "start": "0 mm", "length": "5 mm", "note": "seen"},
        {"bond": "end", "face": "middle", "start": "2 mm", "length": "3 mm", "flooded": False},
    ],
    "process": {
        "adhesive_voids": "2 %",
        "bond_thickness_tolerance": "0.1 mm",
        "ring_offset": "0.1 mm",
        "filler": {
            **{"share": "10 %", "modulus": "70 GPa", "poisson": 0.2, "cte": "0.5e-6 /K"},
            "density": "2200 kg/m^3",
            "tested": [{"share": "0 %", "factor": 1.0}, {"share": "20 %", "factor": 1.1}],
            "evidence": "invented",
        },
        "bonding": {
            "revision": "A",
            "mix": [{"name": "resin", "parts": 100}, {"name": "hardener", "parts": 40}],
            "waste": "30 %",
            "pot_life": "60 min",
            "degassing": {"pressure": "50 mbar", "time": "5 min"},
            "cure": [{"temperature": "25 degC", "time": "24 h"}],
            "coupons": 5,
        },
    },
    "gauges": {
        "hull-hoop": {"part": "wall", "face": "outside", "z": "0 mm", "direction": "hoop"},
        "pole": {"part": "head", "face": "outside", "radius": "0 mm", "direction": "hoop"},
    },
    "proof": {"pressure": "33 MPa", "slope_band": "5 %", "felicity_limit": 0.95, "onset_hits": 10},
    "knock_downs": [{"on": "adhesive", "factor": 0.85, "reason": "wet", "evidence": "assumed"}],
    "materials": {"my-paste": PASTE, "my-tape": TAPE},
}


def case_trees() -> list[Tree]:
    """Plain data of valid cases: the project's own, one of each form, and one with every field."""
    trees = [read_yaml(path)[0] for path in sorted(ROOT.glob("cases/*/case.yaml"))]
    for form, parts in FORMS.items():
        tree = copy.deepcopy(BASE)
        for part, fields in parts.items():
            tree[part] |= copy.deepcopy(fields)
        trees.append(tree)
        if form == "socket":
            full = copy.deepcopy(tree) | copy.deepcopy(FULL)
            full["joint"] |= {"adhesive": "my-paste", "squeeze_out": "0.5 mm"}
            full["joint"]["surface"] = {"ring": "blasted-primed", "wall": "peel-ply-abraded"}
            full["wall"] |= {"waviness": "1 deg", "voids": "1 %", "out_of_roundness": "0.2 mm"}
            full["wall"]["resolve_plies"] = {"innermost": 2, "outermost": 1}
            full["wall"]["layup"].append({"ply": "my-tape", "thickness": "0.2 mm", "angles": [45]})
            full["duty"]["dive_list"] = [
                {"depth": "2000 m", "count": 300},
                {"depth": "1000 m", "count": 20},
            ]
            full["mesh"] = {"level": 0, "target": "5 %"}
            trees.append(full)
    return trees


def study_base() -> Tree:
    """Plain data of the case that the studies vary, as small as they need it."""
    tree = copy.deepcopy(BASE)
    for part, fields in FORMS["socket"].items():
        tree[part] |= copy.deepcopy(fields)
    return tree | {"knock_downs": FULL["knock_downs"], "materials": {"my-paste": PASTE}}


VARY: Tree = {
    "joint.bond_thickness": ["0.8 mm", "1 mm", "2 mm"],
    "joint.adhesive": ["epoxy-paste", "my-paste"],
    "ring.web": {"from": "15 mm", "to": "25 mm", "steps": 4},
    "duty.service_temperature": {"mean": "4 degC", "sd": "2 K", "from": "0 degC", "to": "9 degC"},
    "wall.layup[0].angles[0]": {"low": -5.0, "mode": 0.0, "high": 5.0},
    "materials.epoxy-paste.elastic.E": {"mean": "2.5 GPa", "sd": "0.25 GPa"},
    "head.thickness": {"low": "10 mm", "mode": "12 mm", "high": "15 mm", "steps": 3},
    "knock_downs[0].factor": [0.8, 0.9],
}
DO: list[Any] = [
    "grid",
    {"sample": {"points": 16}},
    {"sample": {"points": 12, "sequence": "latin-hypercube"}},
    {"sensitivity": {"method": "morris", "repeats": 4}},
    {"sensitivity": {"method": "sobol", "repeats": 8}},
    {"best": {"most": ["first_failure.depth"], "least": ["mass"], "population": 8}},
]


def study_tree(do: Any, case: str, vary: list[str]) -> Tree:
    """Plain data of a valid study."""
    tree: Tree = {
        "title": "An invented study",
        "note": "Invented spreads.",
        "case": case,
        "vary": {name: copy.deepcopy(VARY[name]) for name in vary},
        "do": copy.deepcopy(do),
        "modes": "bonds",
        "headlines": ["first_failure.depth", "end.peel.mean", "mass"],
        "seed": 3,
    }
    if isinstance(do, dict) and "sample" in do and len(vary) > 2:
        tree["correlated"] = [{"fields": vary[:2], "correlation": 0.5}]
    return tree


DIVE = (0, 1, 2, 5, 10, 15, 20, 25, 30, 33, 30, 25, 20, 15, 10, 5, 2, 1, 0)  # pressures, MPa


def strain_table() -> str:
    """Give a valid table of strains: two dives, two gauges."""
    rows = ["# an invented test", "pressure [MPa], hull-hoop [microstrain], pole [microstrain]"]
    for _ in range(2):
        rows += [f"{p}, {-31.5 * p}, {-12.25 * p}" for p in DIVE]
    return "\n".join(rows) + "\n"


def emission_table() -> str:
    """Give a valid table of emission: two dives."""
    rows = ["dive, pressure [MPa], hits"]
    rows += [
        f"{dive}, {p}, {hits}"
        for dive in (1, 2)
        for p, hits in ((0, 0), (15, 4), (30, 40), (0, 41))
    ]
    return "\n".join(rows) + "\n"
