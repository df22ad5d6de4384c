"""Sizing of walls. Common practice, no published source, where none is named."""

from __future__ import annotations

import math
import re
from dataclasses import replace
from html.parser import HTMLParser
from typing import Any

import gsw
import numpy as np
import pytest

from geometry.case import Case
from geometry.materials import library
from post.flaw_life import required_pressure
from post.layups import AS_IN_CASE, NAMED_LAYUPS
from post.plain_wall import Limit, shell_buckling, tube_layers, wall_strength
from post.sized import (
    BUCKLING,
    COLLAPSE,
    STRENGTH,
    NotSized,
    Option,
    Sized,
    shown,
    sized_only,
    sizing_table,
    specific_strength,
)
from post.sizing import (
    STEP,
    as_built,
    options,
    size_wall,
    size_walls,
    solid_buckling,
    with_wall,
)
from post.sizing_chart import draw_sizing
from post.sizing_checks import bare_hull, carbon_over_titanium, sizing_checks
from post.sizing_page import render, write_sizing
from post.sizing_words import buoyancy_words, governing_words, own_words, strength_words
from post.strengths import strengths
from solve.shell_buckling import KNOCK_DOWN, Buckle
from solve.shell_buckling_checks import laminate, tube
from solve.tube_buckling import tube_buckling
from tests.joints import joint_case

DEEP: dict[str, Any] = {"duty__pressure": None, "duty__depth": "2000 m"}
CASE = joint_case("butt", **DEEP)


def as_formula(case: Case) -> Buckle:
    return shell_buckling(case)


def soft(case: Case) -> Buckle:
    found = shell_buckling(case)
    return Buckle(found.pressure / 1.5, found.along, found.around)


def of(card: str, angles: tuple[float, ...] = (0.0,), step: float = STEP) -> Option:
    return Option(card, library()[card], angles, step)


TITANIUM, STEEL = of("titanium-6al-4v"), of("steel-316l")
CROSS = Option("cross", library()["carbon-epoxy-im"], (90, 0), 0.19)


@pytest.fixture(scope="module")
def found() -> tuple[Sized | NotSized, ...]:
    return size_walls(CASE, as_formula)


# --- what is sized -----------------------------------------------------------------------------


def test_every_layup_metal_and_plastic_is_an_option() -> None:
    names = [one.name for one in options(CASE)]
    assert len(set(names)) == len(names)
    assert names[: len(NAMED_LAYUPS)] == [f"carbon-epoxy-im, {n}" for n in NAMED_LAYUPS]
    solid = {n for n, card in library().items() if card.kind in ("metal", "plastic")}
    assert solid <= set(names)
    assert {"acrylic", "titanium-6al-4v", "glass-epoxy-b, hoop-biased"} <= set(names)


def test_a_unit_of_its_own_comes_first_and_a_metal_hull_still_has_layups() -> None:
    own = [{"ply": "carbon-epoxy-hs", "thickness": "0.2 mm", "angles": [90, 90, 90, 0]}]
    first = options(joint_case("butt", wall__layup=own))[0]
    assert (first.name, first.angles) == (f"carbon-epoxy-hs, {AS_IN_CASE}", (90, 90, 90, 0))
    assert first.unit == pytest.approx(0.8)
    metal = [{"ply": "titanium-6al-4v", "thickness": "10 mm", "angles": [0]}]
    of_metal = options(joint_case("butt", wall__layup=metal))
    assert of_metal[0].card.kind == "ply"
    assert len({one.name for one in of_metal}) == len(of_metal)


def test_knock_downs_of_a_ply_wall_are_not_those_of_metal() -> None:
    case = joint_case("butt", knock_downs=[{"on": "wall", "factor": 0.5, "reason": "wet"}])
    assert strengths(with_wall(case, TITANIUM, 100)).wall["titanium-6al-4v"].tension == 827
    porous = joint_case("butt", wall__voids="5 %")
    for option, kept in ((TITANIUM, None), (CROSS, 0.05)):
        laid = with_wall(porous, option, 20)
        assert laid.wall.voids == kept
        as_is = shell_buckling(with_wall(CASE, option, 20)).pressure
        assert (shell_buckling(laid).pressure < as_is) == (kept is not None)
    halved = strengths(with_wall(case, CROSS, 20)).plies["carbon-epoxy-im"].ply
    full = strengths(with_wall(CASE, CROSS, 20)).plies["carbon-epoxy-im"].ply
    assert halved.XC == pytest.approx(full.XC / 2)


@pytest.mark.parametrize("option", [TITANIUM, CROSS, of("aluminium-6061-t6")])
def test_the_wall_holds_and_one_step_less_does_not(option: Option) -> None:
    one = size_wall(CASE, option, as_formula)
    assert isinstance(one, Sized)
    required = gsw.p_from_z(-1.5 * 2000, 45.0) / 100  # TEOS-10
    assert one.required == pytest.approx(required, rel=1e-12)
    assert min(one.limits.values()) >= required
    steps = round(one.thickness / option.unit)
    assert one.thickness == pytest.approx(steps * option.unit)
    thinner = with_wall(CASE, option, steps - 1)
    strength = wall_strength(thinner, strengths(thinner)).pressure
    buckling = KNOCK_DOWN * shell_buckling(thinner).pressure
    assert min(strength, buckling) < required
    assert one.governs == min(one.limits, key=lambda name: one.limits[name])


def test_steel_of_low_yield_is_lames_tube() -> None:
    # Lame 1852: a closed tube yields at p = s (1 - a^2 / b^2) / sqrt(3); 316L at least 170 MPa.
    one = size_wall(CASE, STEEL, as_formula)
    assert isinstance(one, Sized)
    assert one.governs == STRENGTH
    outer = 150 / math.sqrt(1 - math.sqrt(3) * required_pressure(CASE) / 170)
    assert 0 <= one.thickness - (outer - 150) <= STEP
    assert one.strength.mode == "yield"


def test_a_soft_solid_thickens_the_wall_until_it_holds() -> None:
    quick, checked = (size_wall(CASE, TITANIUM, solid) for solid in (as_formula, soft))
    assert isinstance(quick, Sized)
    assert isinstance(checked, Sized)
    assert quick.governs == checked.governs == BUCKLING
    assert checked.thickness > quick.thickness
    assert checked.shell_over_solid == pytest.approx(1.5)
    assert KNOCK_DOWN * checked.solid.pressure >= checked.required
    # the least: a step less buckles
    steps = round(checked.thickness / STEP) - 1
    assert KNOCK_DOWN * soft(with_wall(CASE, TITANIUM, steps)).pressure < checked.required


def test_out_of_roundness_is_held_too() -> None:
    oval = joint_case("butt", wall__out_of_roundness="2 mm", **DEEP)
    one, plain = size_wall(oval, TITANIUM, as_formula), size_wall(CASE, TITANIUM, as_formula)
    assert isinstance(one, Sized)
    assert isinstance(plain, Sized)
    assert one.limits[COLLAPSE] >= one.required
    assert one.governs == COLLAPSE
    assert one.thickness > plain.thickness
    assert plain.out_of_round is None


def test_what_no_wall_holds_says_why() -> None:
    deep = joint_case("butt", duty__pressure=None, duty__depth="10000 m")
    one = size_wall(deep, of("acrylic"), as_formula)
    assert isinstance(one, NotSized)
    assert one.why == "no wall up to the bore's radius is strong enough"
    bare = TITANIUM.card.model_copy(update={"strengths": {}})
    unknown = size_wall(CASE, replace(TITANIUM, card=bare), as_formula)
    assert isinstance(unknown, NotSized)
    assert unknown.why == "not judged: card titanium-6al-4v has no yield or tensile"


# --- the solid ---------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("wall", "length", "pressure", "waves"),
    [
        # 3-D elasticity (layer-wise radial elements), recomputed; last digits as printed
        (tube(113.8e3, 0.342, 200.0, 10.0), 600.0, 20.578222, 3),
        (tube(113.8e3, 0.342, 200.0, 30.0), 600.0, 343.11, 3),
        (laminate((90, 0, 90), 150.0, 9.0), 450.0, 18.4130, 3),
    ],
)
def test_solid_tube_matches_three_dimensional_elasticity(wall, length, pressure, waves) -> None:
    mode = tube_buckling(wall, length)
    assert mode.waves == waves
    assert mode.pressure == pytest.approx(pressure, rel=1e-4)


def test_shell_formula_is_too_high_for_a_thick_carbon_wall() -> None:
    case = with_wall(CASE, CROSS, 50)
    found = solid_buckling(case)
    assert found.pressure == tube_buckling(tube_layers(case), 400.0).pressure
    assert 1.1 < shell_buckling(case).pressure / found.pressure < 2.0


# --- weight and buoyancy -----------------------------------------------------------------------


def test_weight_displacement_and_net_are_those_of_archimedes(found) -> None:
    # gsw.rho of the standard ocean at 2000 m (TEOS-10); densities of the cards.
    water = gsw.rho(35.16504, 0.0, gsw.p_from_z(-2000.0, 45.0))
    for one in sized_only(found):
        a, b = 0.150, 0.150 + one.thickness / 1e3
        metre = one.option.card.density.value * 1e12 * math.pi * (b**2 - a**2)
        assert one.weight == pytest.approx(metre, rel=1e-9)
        assert one.displaced == pytest.approx(water * math.pi * b**2, rel=1e-9)
        assert one.net == pytest.approx(one.displaced - one.weight, rel=1e-12)
        in_water = metre - water * math.pi * (b**2 - a**2)
        least = min(one.limits.values())
        assert one.pressure_per_net == pytest.approx(least / in_water, rel=1e-9)
        assert one.net == pytest.approx(water * math.pi * a**2 - in_water, rel=1e-9)


def test_specific_strength_by_hand() -> None:
    case = with_wall(bare_hull(), TITANIUM, 100)
    water = gsw.rho(35.16504, 0.0, 3000.0)
    hoop = 40.0 * 160 / 10  # MPa
    assert specific_strength(case, 40.0) == pytest.approx(1e3 * hoop / (4429 - water), rel=1e-12)
    card = library()["acrylic"]
    light = card.model_copy(update={"density": card.density.model_copy(update={"value": 0.9e-9})})
    option = Option("light", light, (0.0,), STEP)
    assert math.isinf(specific_strength(with_wall(bare_hull(), option, 100), 40.0))


def test_carbon_is_about_three_times_titanium() -> None:
    # Common practice, no published source: 'about' is taken as 20 %. It depends on the layup.
    (check,) = sizing_checks()
    assert check.status == "common practice"
    assert check.passes
    times = {name: carbon_over_titanium(angles) for name, angles in NAMED_LAYUPS.items()}
    assert times["quasi-isotropic"] < times["cross-ply"] < times["hoop-biased"]
    assert times["quasi-isotropic"] == pytest.approx(3.0, abs=0.15)
    assert times["hoop-biased"] == pytest.approx(4.6, abs=0.15)


# --- table, chart, words -----------------------------------------------------------------------


def test_table_has_every_option(found) -> None:
    table = sizing_table(found).set_index("material")
    assert list(table.index) == [one.option.name for one in found]
    for one in found:
        row = table.loc[one.option.name]
        if isinstance(one, NotSized):
            assert row["why"] == one.why
            assert math.isnan(row["wall_mm"])
        else:
            assert row["net_buoyancy_kg_m"] == one.net
            assert row["shell_over_solid"] == pytest.approx(1.0)
            assert row["buckling_MPa"] == KNOCK_DOWN * one.solid.pressure


def test_bars_end_at_their_numbers(found) -> None:
    held = sized_only(found)
    svg = draw_sizing(held)
    ticks = re.findall(r'<text x="([\d.]+)"[^>]*class="tick">([^<]*)<', svg)
    places = np.array([float(x) for x, _ in ticks])
    numbers = [float(n.replace(",", "").replace("\N{MINUS SIGN}", "-")) for _, n in ticks]
    slope, start = np.polyfit(numbers, places, 1)
    bars = re.findall(r'<rect x="([\d.]+)" y="[\d.]+" width="([\d.]+)"', svg)
    assert len(bars) == len(held)
    best = max(one.net for one in held)
    for one, (x, width) in zip(held, bars, strict=True):
        end = float(x) + float(width) if one.net >= 0 else float(x)
        wanted = start + slope * max(one.net, -best)
        assert end == pytest.approx(wanted, abs=1.1)
    cut = [one for one in held if one.net < -best]
    assert svg.count('class="cut"') == len(cut) > 0


def made(option: Option, net: float, thickness: float = 10.0, **fields: Any) -> Sized:
    """Give a titanium-like wall a made-up density, so that it has a wanted net buoyancy."""
    case = with_wall(CASE, option, round(thickness / option.unit))
    full = Sized(option, case, 30.0, Limit(50.0, "yield"), Buckle(50.0, 1, 2),
                 Buckle(40.0, 1, 2), None, 1.04e-9)  # fmt: skip
    area = math.pi * (case.wall.outer_radius**2 - case.wall.bore_radius**2)
    value = (full.displaced - net) / (1e6 * area)
    density = option.card.density.model_copy(update={"value": value})
    card = option.card.model_copy(update={"density": density})
    materials = {**case.materials, card.name: card}
    return replace(full, option=replace(option, card=card),
                   case=case.model_copy(update={"materials": materials}), **fields)  # fmt: skip


def test_first_sentence_says_what_each_material_leaves() -> None:
    two = Option("carbon-epoxy-im, cross-ply", CROSS.card, (90, 0), 0.19)
    other = replace(two, name="carbon-epoxy-im, hoop-biased")
    rows = [made(two, 61.0), made(other, 64.0), made(TITANIUM, 28.2), made(STEEL, -357.0),
            NotSized(of("acrylic"), "weak")]  # fmt: skip
    assert buoyancy_words(CASE, rows) == (
        "Held to 1.5 times 2,000 m, a metre of hull of 300 mm bore leaves 64 kg of net buoyancy "
        "in carbon-epoxy-im (hoop-biased) and 28 kg in titanium-6al-4v and sinks by 357 kg in "
        "steel-316l; no wall of acrylic holds."
    )
    assert buoyancy_words(CASE, rows[-1:]).endswith("has no wall that holds.")
    assert strength_words(rows[:2]) == ""


def test_governing_words_group_by_limit_and_tell_the_ratio() -> None:
    weak = made(STEEL, 1.0, strength=Limit(31.0, "yield"), solid=Buckle(52.0, 1, 2))
    assert governing_words([made(TITANIUM, 2.0), weak]) == (
        "Buckling governs titanium-6al-4v; strength governs steel-316l. The shell formula lies "
        "from 4 % below to 25 % above the solid answer for the same tube."
    )
    assert governing_words([weak]).startswith("Strength governs every wall.")


def test_own_wall_is_told_by_its_own_numbers() -> None:
    own = as_built(CASE, soft)
    assert own.case is CASE
    assert own.strength == wall_strength(CASE, strengths(CASE))
    buckling = KNOCK_DOWN * shell_buckling(CASE).pressure / 1.5
    assert own.limits[BUCKLING] == pytest.approx(buckling)
    words = own_words(own)
    assert "own wall of 15.39 mm" in words
    assert "1.50 times the solid" in words
    held = min(own.limits.values()) >= own.required
    assert ("holds" if held else "falls short") in words
    assert f"by {own.governs} at {shown(min(own.limits.values()))} MPa" in words


def test_cautions_are_those_of_formula_material_and_thickness() -> None:
    near = made(TITANIUM, 1.0, solid=Buckle(60.0, 1, 2))
    assert any("yields near" in text for text in near.cautions)
    far = made(TITANIUM, 1.0, solid=Buckle(200.0, 1, 2))
    assert not any("yields near" in text for text in far.cautions)
    assert any("creeps" in text for text in made(of("acrylic"), 1.0).cautions)
    assert any("thinner than 1 mm" in text for text in made(TITANIUM, 1.0, 0.5).cautions)


def test_numbers_are_shown_with_three_digits() -> None:
    assert [shown(x) for x in (63.94, -357.0, 1234.5, 0.0, 1.654, math.inf, math.nan)] == [
        "63.9", "\N{MINUS SIGN}357", "1,234", "0", "1.65", "floats", "not known"]  # fmt: skip


def test_page_stands_alone_and_answers_first(found) -> None:
    class Reader(HTMLParser):
        links: tuple[str, ...] = ()

        def handle_starttag(self, tag, attrs):
            self.links += tuple(v for k, v in attrs if k in ("href", "src"))

    page = render(CASE, found, as_built(CASE, as_formula))
    reader = Reader()
    reader.feed(page)
    assert reader.links
    assert all(link.startswith("data:") for link in reader.links)
    assert page.index(buoyancy_words(CASE, found)) < page.index("<svg")
    assert "long-term creep governs" in page
    for one in found:
        assert one.option.name in page


def test_page_and_table_are_written(found, tmp_path, monkeypatch) -> None:
    monkeypatch.setattr("post.sizing_page.size_walls", lambda case: found)
    monkeypatch.setattr("post.sizing_page.as_built", lambda case: as_built(case, soft))
    write_sizing(CASE, tmp_path / "sizing.html", tmp_path / "sizing.csv")
    assert len((tmp_path / "sizing.csv").read_text().splitlines()) == 1 + len(found)
    assert "</html>" in (tmp_path / "sizing.html").read_text()
