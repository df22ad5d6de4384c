"""What a mesh and a solution depend on; no published source, the promise is the project's own."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from ruamel.yaml import YAML

from geometry.case import parse_case
from geometry.depends import flawed_part, meshed_part, solved_part

Tree = dict[str, Any]


def lander() -> Tree:
    """Give the lander with a paste of its own."""
    tree: Tree = YAML(typ="safe", pure=True).load(Path("cases/lander/case.yaml").read_text("utf-8"))
    tree["joint"]["adhesive"] = "my-paste"
    tree["materials"] = {
        "my-paste": {
            **{"kind": "adhesive", "source": "tests", "basis": "B", "density": "1250 kg/m^3"},
            "elastic": {"symmetry": "isotropic", "E": "2.8 GPa", "nu": 0.37, "cte": "6e-5 /K"},
            "strengths": {"tensile": "42 MPa"},
        }
    }
    return tree


def paste(tree: Tree) -> Tree:
    return dict(tree["materials"]["my-paste"])


def filler(share: str) -> Tree:
    return {
        **{"share": share, "modulus": "70 GPa", "poisson": 0.2, "cte": "5e-7 /K"},
        "density": "2200 kg/m^3",
        "tested": [{"share": "0 %", "factor": 1.0}, {"share": "20 %", "factor": 1.1}],
    }


JUDGED: dict[str, Callable[[Tree], object]] = {
    "title": lambda t: t.update(title="another"),
    "depth": lambda t: t["duty"].update(depth="4000 m"),
    "knock-down": lambda t: t["knock_downs"][0].update(factor=0.5),
    "target": lambda t: t.update(mesh={"target": "3 %"}),
    "waviness": lambda t: t["wall"].update(waviness="3 deg"),
    "no voids, said so": lambda t: t.update(process={"adhesive_voids": "0 %"}),
    "filler of no share": lambda t: t.update(process={"filler": filler("0 %")}),
    "tolerance": lambda t: t.update(process={"bond_thickness_tolerance": "0.2 mm"}),
    "offset": lambda t: t.update(process={"ring_offset": "0.2 mm"}),
    "surface": lambda t: t["joint"].pop("surface"),
    "bonding": lambda t: t["process"]["bonding"].update(waste="50 %"),
    "gauges": lambda t: t["gauges"].pop("pole"),
    "proof": lambda t: t["proof"].update(pressure="40 MPa"),
    "strength": lambda t: t["materials"]["my-paste"]["strengths"].update(tensile="30 MPa"),
    "toughness": lambda t: t["materials"]["my-paste"].update(toughness={"GIc": "1 kJ/m^2"}),
    "length": lambda t: t["materials"]["my-paste"].update(
        failure={"characteristic_length": "2 mm"}
    ),
    "density": lambda t: t["materials"]["my-paste"].update(density="1300 kg/m^3"),
    "source": lambda t: t["materials"]["my-paste"].update(source="other tests"),
    "unused card": lambda t: t["materials"].update(other=paste(t)),
}
SOLVED: dict[str, Callable[[Tree], object]] = {
    "modulus": lambda t: t["materials"]["my-paste"]["elastic"].update(E="2.9 GPa"),
    "expansion": lambda t: t["materials"]["my-paste"]["elastic"].update(cte="7e-5 /K"),
    "voids": lambda t: t["wall"].update(voids="3 %"),
    "voids in the adhesive": lambda t: t.update(process={"adhesive_voids": "2 %"}),
    "filler": lambda t: t.update(process={"filler": filler("5 %")}),
}
MESHED: dict[str, Callable[[Tree], object]] = {
    "bond": lambda t: t["joint"]["bond_thickness"].update(end="1.1 mm"),
    "angles": lambda t: t["wall"]["layup"][0].update(angles=[90, 0, 90]),
    "head": lambda t: t["head"].update(thickness="11 mm"),
    "level": lambda t: t.update(mesh={"level": 2}),
    "material": lambda t: t["ring"].update(material="steel-316l"),
}


@pytest.mark.parametrize("name", [*JUDGED, *SOLVED, *MESHED])
def test_only_what_moves_the_answer_moves_what_it_depends_on(name: str) -> None:
    tree = lander()
    before = parse_case(tree)
    {**JUDGED, **SOLVED, **MESHED}[name](tree)
    after = parse_case(tree)
    assert after != before
    assert (meshed_part(after) == meshed_part(before)) == (name not in MESHED)
    assert (solved_part(after) == solved_part(before)) == (name in JUDGED)


def test_place_of_a_flaw_is_reduced_anew_and_nothing_else() -> None:
    # Source: the solve knows where a flaw ends, not what stands in it nor what is noted of it.
    sound = parse_case(lander())
    flaw = {"bond": "outer", "face": "ring", "start": "0 mm", "length": "5 mm"}
    parts = []
    for change in ({}, {"length": "6 mm"}, {"flooded": False}, {"note": "seen"}):
        case = parse_case({**lander(), "flaws": [{**flaw, **change}]})
        assert solved_part(case) == solved_part(sound)
        parts.append(flawed_part(case))
    assert parts[0] != flawed_part(sound)
    assert parts[1] != parts[0]
    assert parts[2] == parts[3] == parts[0]
