"""The bond sheet against hand arithmetic; no published source, the formulas are written out."""

from __future__ import annotations

import math
import re
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import pytest
from ruamel.yaml import YAML

from geometry.case import Case, parse_case, read_case
from geometry.depends import costed_part
from geometry.forms import draw_section
from post.bond_fill import adhesive_gaps, fill
from post.bond_sheet import cure_caution, duration, render_sheet, time_words
from post.preparation_steps import COMPOSITE_STEPS, METAL_STEPS
from post.preparations import COMPOSITE, METAL
from tests.joints import joint_case

LANDER = "cases/lander/case.yaml"


def lander(**bonding: Any) -> Case:
    """Give the demo with changes of its bonding section; None takes a field away."""
    tree = YAML(typ="safe", pure=True).load(Path(LANDER).read_text("utf-8"))
    own = {**tree["process"]["bonding"], **bonding}
    tree["process"]["bonding"] = {key: value for key, value in own.items() if value is not None}
    return parse_case(tree)


class Words(HTMLParser):
    """Text of a page, its styles left out."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.text, self.skip = "", False
        self.feed(page)

    def handle_starttag(self, tag: str, attrs: object) -> None:
        self.skip = tag == "style"

    def handle_data(self, data: str) -> None:
        if not self.skip:
            self.text += " " + data


def words(page: str) -> str:
    return re.sub(r"\s+", " ", Words(page).text)


def by_hand() -> dict[str, float]:
    """Give the demo's gaps in mm^3: annuli, and for corners and fillets Pappus's theorem.

    Bore 150, wall 2 x 76 plies of 0.19 = 28.88, outside 178.88; lap bonds 2, end bond 1; overlaps
    100 and 80 to the wall's end at z = 300; groove root radius 2, so that the straight lap bonds
    end at z = 300 + 1 - 2 = 299; fillets of legs 2 (the bond) and 1 (the squeeze-out).
    """
    a, b = 150.0, 150.0 + 2 * 76 * 0.19
    quarter = math.pi * 2.0**2 / 4  # a quarter disc of radius 2 about the wall's end edge
    centroid = 4 * 2.0 / (3 * math.pi)  # of it, from each of its straight sides
    return {
        "bond-inner": math.pi * (a**2 - (a - 2) ** 2) * 99,
        "bond-outer": math.pi * ((b + 2) ** 2 - b**2) * 79,
        "bond-end": math.pi * (b**2 - a**2) * 1,
        "corner-inner": 2 * math.pi * (a - centroid) * quarter,
        "corner-outer": 2 * math.pi * (b + centroid) * quarter,
        "fillet-inner": 2 * math.pi * (a - 2 / 3) * (2 * 1 / 2),
        "fillet-outer": 2 * math.pi * (b + 2 / 3) * (2 * 1 / 2),
    }


def test_volumes_of_the_demo_are_those_of_annuli_written_out() -> None:
    case = read_case(LANDER)
    found = {gap.name: gap.volume for gap in adhesive_gaps(draw_section(case))}
    # closed forms on both sides: rounding alone parts them
    assert found == pytest.approx(by_hand(), rel=1e-10)


def test_masses_of_the_demo_by_hand() -> None:
    filled = fill(case := read_case(LANDER), draw_section(case))
    mixed = 1.3 * sum(by_hand().values()) / 1000  # cm^3, 30 % waste
    density = 160 / (100 / 1.200 + 60 / 1.342)  # g/cm^3 of 100 resin and 60 hardener by mass
    resin, hardener = filled.portions
    assert filled.mixed / 1000 == pytest.approx(mixed, rel=1e-10)
    assert filled.mass == pytest.approx(mixed * density, rel=1e-10)
    assert resin.mass == pytest.approx(mixed * density * 100 / 160, rel=1e-10)
    assert hardener.mass == pytest.approx(mixed * density * 60 / 160, rel=1e-10)
    assert resin.volume is not None and hardener.volume is not None
    assert resin.volume + hardener.volume == pytest.approx(mixed, rel=1e-10)
    text = words(render_sheet(case))
    # 523.04 cm^3 x 1.24958 g/cm^3 = 653.6 g = 408.5 + 245.1, by a pocket calculator
    for shown in ("402.3", "523.0", "408.5", "245.1", "653.6", "1250 kg/m\u00b3"):
        assert f" {shown} " in text, shown


def test_parts_by_volume_weigh_by_their_densities() -> None:
    case = lander(mix_by="volume")
    filled = fill(case, draw_section(case))
    mixed = 1.3 * sum(by_hand().values()) / 1000
    masses = [one.mass for one in filled.portions]
    assert masses == pytest.approx([mixed * 100 / 160 * 1.200, mixed * 60 / 160 * 1.342], rel=1e-10)


def test_parts_by_volume_without_densities_have_volumes_and_no_masses() -> None:
    mix = [{"name": "resin", "parts": 2}, {"name": "hardener", "parts": 1}]
    case = lander(mix_by="volume", mix=mix)
    portions = fill(case, draw_section(case)).portions
    assert [one.mass for one in portions] == [None, None]
    mixed = 1.3 * sum(by_hand().values()) / 1000
    assert [one.volume for one in portions] == pytest.approx([mixed * 2 / 3, mixed / 3], rel=1e-10)


def test_a_filler_takes_its_share_of_the_volume() -> None:
    tree = read_case(LANDER).model_dump(mode="json", exclude_none=True)
    tested = [{"share": "0 %", "factor": 1.0}, {"share": "20 %", "factor": 1.1}]
    tree["process"]["filler"] = {
        **{"share": "10 %", "modulus": "70 GPa", "poisson": 0.2, "cte": "5e-7 /K"},
        **{"density": "2200 kg/m^3", "tested": tested},
    }
    case = parse_case(tree)
    *_, filler = fill(case, draw_section(case)).portions
    assert filler.mass == pytest.approx(1.3 * sum(by_hand().values()) / 1000 * 0.1 * 2.2, rel=1e-10)


@pytest.mark.parametrize("side", ["inner", "outer"])
def test_a_scarf_is_a_cone_between_two_cones(side: str) -> None:
    # Pappus with the section's own area and centroid, by the shoelace formulas for polygons
    tree = joint_case("scarf").model_dump(mode="json", exclude_none=True)
    tree["joint"]["overlap"] = {side: "60 mm"}
    for lip in ("lip", "lip_tip"):
        tree["ring"].pop(lip, None)
    section = draw_section(parse_case(tree))
    volume = 0.0
    for face in section.faces:
        if section.regions[face.region].part != "adhesive":
            continue
        ends = [
            section.edges[abs(n) - 1].start if n > 0 else section.edges[abs(n) - 1].end
            for n in face.loop
        ]
        r, z = section.points[ends].T
        cross = r * [*z[1:], z[0]] - [*r[1:], r[0]] * z
        moment = float(sum((r + [*r[1:], r[0]]) * cross)) / 6
        volume += 2 * math.pi * moment
    assert sum(gap.volume for gap in adhesive_gaps(section)) == pytest.approx(volume, rel=1e-9)


def test_what_the_case_does_not_state_is_a_blank_and_no_number() -> None:
    none = dict.fromkeys(("mix", "waste", "pot_life", "cure", "coupons", "degassing", "revision"))
    text = words(render_sheet(lander(**none)))
    assert "Mix ratio is not stated" in text
    assert "Pot life is not stated" in text
    for invented in ("resin", "50 mbar", "24 h", "30 %"):
        assert invented not in text.replace("uncured resin", ""), invented
    assert "To weigh, without waste" in text


@pytest.mark.parametrize("field", ["revision", "waste", "degassing", "open_time", "coupons"])
def test_a_field_taken_away_leaves_a_line_to_write_on(field: str) -> None:
    blanks = [
        render_sheet(case).count('class="blank"') for case in (lander(), lander(**{field: None}))
    ]
    assert blanks[1] > blanks[0]


def test_pot_life_is_held_against_the_bonds() -> None:
    assert "3 bonds at 12 min take 36 min of 1 h pot life; 24 min are left" in time_words(lander())
    short = time_words(lander(pot_life="20 min"))  # 36 / 20 = 1.8
    assert "one batch does not last. Mix at least 2" in short
    assert "20 min for each" in time_words(lander(fill_time=None))


def test_a_cure_away_from_the_stress_free_temperature_is_told() -> None:
    assert "Hold the step at that temperature" in cure_caution(lander())
    hot = cure_caution(lander(cure=[{"temperature": "60 degC", "time": "4 h"}]))
    assert "No hold is at that temperature" in hot and "25 \u00b0C" in hot


def test_tolerable_disbonds_are_the_least_of_the_map() -> None:
    assert "There is no flaw map" in words(render_sheet(lander()))
    rows = [
        {"bond": "inner", "face": "wall", "kind": "edge", "s": [0.0, 100.0], "longest": [9.0, 7.5]},
        {"bond": "inner", "face": "ring", "kind": "edge", "s": [0.0, 100.0], "longest": [6.25, 8]},
        {"bond": "outer", "face": "ring", "kind": "buried", "s": [40.0], "longest": [30.0]},
    ]
    text = words(render_sheet(lander(), {"flaw_map": rows}))
    assert "There is no flaw map" not in text
    assert "inner from an open edge 6.25 mm s = 0 mm, ring" in text


def test_acceptance_is_the_strength_that_the_analysis_used() -> None:
    text = words(render_sheet(read_case(LANDER)))
    # 42 x 0.8 x 0.85 = 28.56 and 34 x 0.8 x 0.85 = 23.12
    assert "at least tensile 28.6 MPa" in text
    assert "at least shear yield 23.1 MPa" in text
    assert "wet \u00d7 0.85 (assumed)" in text


def test_a_thickness_band_takes_tolerance_and_offset_together() -> None:
    tree = read_case(LANDER).model_dump(mode="json", exclude_none=True)
    tree["process"] |= {"bond_thickness_tolerance": "0.2 mm", "ring_offset": "0.3 mm"}
    text = words(render_sheet(parse_case(tree)))
    assert "1.5 to 2.5 mm" in text  # lap bonds of 2 mm, offset and tolerance
    assert "0.8 to 1.2 mm" in text  # the end bond of 1 mm: an offset leaves it


def test_every_class_of_preparation_has_steps() -> None:
    assert METAL_STEPS.keys() == METAL.keys()
    assert COMPOSITE_STEPS.keys() == COMPOSITE.keys()


@pytest.mark.parametrize("form", ["butt", "inner-lap", "outer-lap", "socket", "scarf"])
def test_every_form_has_a_sheet(form: str) -> None:
    text = words(render_sheet(joint_case(form)))
    assert "5 Squeeze-out" in text
    assert text.count("seen all round") == {"butt": 2, "inner-lap": 2, "outer-lap": 2}.get(
        form, {"socket": 2, "scarf": 1}.get(form)
    )


def test_times_are_written_whole() -> None:
    assert [duration(t) for t in (12, 60, 90, 1440, 2880, 100)] == [
        *("12 min", "1 h", "1.5 h", "24 h", "2 days", "100 min")
    ]


def test_the_bond_sheet_s_facts_cost_no_depth() -> None:
    assert costed_part(lander()) == costed_part(lander(waste="50 %", pot_life="20 min"))
