"""The judge: from answers and strengths to a ladder, without a new solve."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import gsw
import numpy as np
import pytest

from geometry.case import KnockDown
from geometry.forms import draw_section
from geometry.mesh import mesh_section
from post.bondline import duty_factors
from post.criteria.von_mises import YieldStrength
from post.judge import Finding, _verdict, find, judge
from post.ladder import Rung
from post.places import bond_places, solid_places
from post.plain_wall import collapse
from post.strengths import Strengths, strengths
from solve.answer import Answer, solve
from solve.section_corners import section_corners
from solve.stress import stress_at
from tests.joints import joint_case

TARGET = 0.01
Pair = tuple[Answer, Answer]


@pytest.fixture(scope="module")
def pair() -> Pair:
    case = joint_case("inner-lap", duty__pressure=None, duty__depth="2000 m")
    section = draw_section(case)
    here, there = (solve(case, mesh_section(section, level), 2) for level in (0, -1))
    return here, there


def with_case(pair: Pair, **parts: Any) -> Pair:
    """Give the same answers to a changed case: nothing is solved again."""
    case = pair[0].case.model_copy(update=parts)
    return replace(pair[0], case=case), replace(pair[1], case=case)


def with_duty(pair: Pair, **fields: Any) -> Pair:
    return with_case(pair, duty=pair[0].case.duty.model_copy(update=fields))


@pytest.fixture(scope="module")
def whole(pair: Pair) -> dict[tuple[str, str], Rung]:
    return ladder(pair, plies=True)


def without_heat(pair: Pair) -> Pair:
    return with_duty(pair, service_temperature=pair[0].case.duty.stress_free_temperature)


def without(used: Strengths, *of_plies: str) -> Strengths:
    """Leave out some strengths of every ply."""
    plies = {card: replace(ply, **dict.fromkeys(of_plies)) for card, ply in used.plies.items()}
    return replace(used, plies=plies)


def ladder(pair: Pair, *, plies: bool = False, **others: Any) -> dict[tuple[str, str], Rung]:
    """Rungs by part and mode, the criterion's own modes left off; of plies if wanted."""
    used = strengths(pair[0].case)
    used = replace(used if plies else without(used, "ply", "puck", "kink"), **others)
    rungs = judge(*pair, used, TARGET)
    by_name = {(rung.part, rung.mode.partition(":")[0]): rung for rung in rungs}
    assert len(by_name) == len(rungs)
    return by_name


# the multiplier, end to end -----------------------------------------------------------------------


def at_pressure(pair: Pair, pressure: float) -> dict[str, float]:
    """Weights of the unit solutions when the duty is the pressure found."""
    return duty_factors(with_duty(pair, depth=None, pressure=pressure)[0])


@pytest.mark.parametrize("heated", [True, False])
@pytest.mark.parametrize("bond", ["inner", "end"])
def test_a_bond_is_at_its_limit_at_the_pressure_found(pair: Pair, bond: str, heated: bool) -> None:
    # (<peel> / T)^2 + (shear^2 + twist^2) / S^2 = 1: common practice, no published source.
    pair = pair if heated else without_heat(pair)
    answer, used = pair[0], strengths(pair[0].case)
    rung = ladder(pair)[f"{bond} bond", "peel and shear"]
    assert 0 < rung.pressure < math.inf
    line, _ = bond_places(answer, answer.section.bond(bond), used.characteristic_length)
    factors = at_pressure(pair, rung.pressure)
    peel, shear, twist = sum(factors[load] * line.unit[load] for load in factors)
    assert used.bond is not None
    index = (np.maximum(peel, 0) / used.bond.tension) ** 2
    index += (shear**2 + twist**2) / used.bond.shear**2
    here = np.argmin(np.hypot(line.r - rung.r, line.z - rung.z))
    assert index[here] == pytest.approx(1, abs=1e-6)
    assert index.max() == index[here]


@pytest.mark.parametrize("part", ["ring", "head"])
def test_a_metal_yields_at_the_pressure_found(pair: Pair, part: str) -> None:
    # von Mises 1913, from the stress evaluated anew at the place that the rung names.
    answer, used = pair[0], strengths(pair[0].case)
    rung = ladder(pair)[part, "yield"]
    factors = at_pressure(pair, rung.pressure)
    regions = [n for n, region in answer.section.regions.items() if region.part == part]

    def mises(unit: dict[str, np.ndarray]) -> np.ndarray:
        rr, tt, zz, tz, rz, rt = sum(factors[load] * unit[load] for load in factors)
        direct = ((rr - tt) ** 2 + (tt - zz) ** 2 + (zz - rr) ** 2) / 2
        return np.sqrt(direct + 3 * (tz**2 + rz**2 + rt**2))

    strength = getattr(used, part).tension
    found = mises(stress_at(answer, np.array([[rung.r], [rung.z]]), regions)) / strength
    assert found == pytest.approx([1.0], abs=1e-6)
    corners = section_corners(answer.section, answer.materials)
    everywhere = mises(solid_places(answer, part, corners).unit) / strength
    assert everywhere.max() == pytest.approx(1.0, abs=1e-9)


# the ladder ---------------------------------------------------------------------------------------


def test_every_part_and_mode_has_its_rung_by_depth(whole: dict[tuple[str, str], Rung]) -> None:
    rungs = whole
    bonds = {(f"{b} bond", m) for b in ("inner", "end")
             for m in ("peel and shear", "yield of the adhesive", "largest tension")}  # fmt: skip
    wall = {("wall", m) for m in ("maximum stress", "Tsai-Wu", "Hashin",
            "between the fibres (Puck)", "fibre kinking", "between the plies")}  # fmt: skip
    metal = {("ring", "yield"), ("head", "yield"), ("head", "elastic buckling")}
    assert set(rungs) == bonds | wall | metal
    depths = [rung.depth for rung in rungs.values() if rung.verdict != "not judged"]
    assert depths == sorted(depths)
    for rung in rungs.values():
        assert rung.strength and rung.source and rung.why
        # a place, but for what is not reached or belongs to a whole part
        placed = math.isfinite(rung.pressure) and rung.mode != "elastic buckling"
        assert math.isfinite(rung.r) == math.isfinite(rung.z) == placed


def test_depth_follows_the_sea(pair: Pair, whole: dict[tuple[str, str], Rung]) -> None:
    # TEOS-10 (IOC, SCOR & IAPSO 2010) by its own library; ratios are of depths, not pressures.
    answer = pair[0]
    duty = duty_factors(answer)["pressure"]
    seen = 0
    for rung in whole.values():
        if not rung.reached or rung.pressure == 0:
            continue
        depth = -gsw.z_from_p(100 * rung.pressure, answer.case.duty.latitude)
        assert rung.depth == pytest.approx(depth, rel=1e-12)
        assert rung.ratio == pytest.approx(depth / 2000, rel=1e-12)
        if rung.pressure > 2 * duty:
            # water is compressed below: pressure grows faster than depth
            assert rung.ratio < rung.pressure / duty * (1 - 1e-3)
            seen += 1
    assert seen >= 5


def test_error_is_three_times_the_movement_of_the_pressure(
    pair: Pair, whole: dict[tuple[str, str], Rung]
) -> None:
    # Roache 1994, two grids.
    used = without(strengths(pair[0].case), "puck", "kink")  # the dear ones
    here, there = (find(answer, used) for answer in pair)
    moved = 0
    for one, two in zip(here, there, strict=True):
        rung = whole[one.part, one.mode.partition(":")[0]]
        if math.isfinite(one.pressure) and math.isfinite(two.pressure):
            assert rung.error == 3 * abs(one.pressure - two.pressure)
            moved += rung.error > 0
            if rung.reached:
                lower = -gsw.z_from_p(100 * (rung.pressure - rung.error), 45.0)
                assert rung.ratio_error == pytest.approx(rung.ratio - lower / 2000, abs=1e-12)
    assert moved >= 9


# without a new solve ------------------------------------------------------------------------------


def test_a_deeper_duty_lowers_every_ratio_and_no_depth(pair: Pair) -> None:
    shallow = ladder(with_duty(pair, depth=1000.0))
    deep = ladder(with_duty(pair, depth=3000.0))
    for name, rung in shallow.items():
        if math.isnan(rung.pressure):
            continue
        assert (deep[name].pressure, deep[name].depth) == (rung.pressure, rung.depth)
        if rung.reached and rung.ratio > 0:
            assert deep[name].ratio == pytest.approx(rung.ratio / 3, rel=1e-12)
    order = {"holds": 0, "not judged": 1, "short": 2}
    moved = [order[deep[n].verdict] - order[r.verdict] for n, r in shallow.items()]
    assert min(moved) >= 0 and max(moved) > 0


def test_a_knock_down_moves_its_part_alone_and_in_proportion(pair: Pair) -> None:
    # Without heat, stress is proportional to pressure: half the strength, half the pressure.
    cold = without_heat(pair)
    half = KnockDown(on="adhesive", factor=0.5, reason="invented", evidence="assumed")
    before, lowered = ladder(cold), ladder(with_case(cold, knock_downs=(half,)))
    assert set(before) == set(lowered)
    bonds = 0
    for (part, mode), rung in before.items():
        other = lowered[part, mode]
        if not part.endswith("bond"):
            assert repr(other) == repr(rung)  # compares nan with nan, too
        elif math.isfinite(rung.pressure):
            assert other.pressure == pytest.approx(rung.pressure / 2, rel=1e-9)
            assert other.depth < rung.depth
            assert (other.r, other.z) == (rung.r, rung.z)
            bonds += 1
    assert bonds >= 4


def test_a_stronger_ring_yields_deeper(pair: Pair) -> None:
    cold = without_heat(pair)
    weak = ladder(cold, ring=YieldStrength(200.0))["ring", "yield"]
    strong = ladder(cold, ring=YieldStrength(300.0))["ring", "yield"]
    assert strong.pressure == pytest.approx(1.5 * weak.pressure, rel=1e-9)
    assert strong.ratio > weak.ratio


# verdicts -----------------------------------------------------------------------------------------


def finding(pressure: float = 60.0, why: str = "") -> Finding:
    return Finding("ring", "yield", pressure, 1.0, 2.0, "", math.nan, "words", "source", "", why)


@pytest.mark.parametrize(
    ("found", "error", "ratio", "low", "verdict", "why"),
    [
        (finding(), 0.3, 2.0, 1.99, "holds", "first reached at 2.00"),
        (finding(), 0.3, 1.5, 1.5, "holds", "first reached at 1.50"),
        (finding(), 0.3, 1.2, 1.19, "short", "first reached at 1.20"),
        # short beyond doubt: the error is too large, but what it spans is short all over
        (finding(), 20.0, 0.6, 0.4, "short", "first reached at 0.60"),
        (finding(), 20.0, 1.2, 0.8, "not judged", "not converged: the numerical error is 33.3 %"),
        (finding(), 20.0, 2.0, 1.4, "not judged", "not converged"),
        # holds by far, but not converged: the verdict cannot be that it holds
        (finding(), 6.0, 9.0, 8.1, "not judged", "not converged: the numerical error is 10.0 %"),
        # converged, but not clear of what is asked
        (finding(), 0.5, 1.505, 1.495, "short", "less its error"),
        (finding(), 0.5, 1.495, 1.485, "short", "first reached at"),
        (finding(0.0), 0.0, 0.0, 0.0, "short", "temperature change alone"),
        (finding(0.0), 6.0, 0.0, 0.0, "short", "temperature change alone"),
        (finding(math.inf), 0.0, math.inf, math.inf, "holds", "not reached in any sea"),
        (finding(300.0), 0.1, math.inf, math.inf, "holds", "not reached in any sea"),
        # beyond all seas, but with its error it might not be
        (finding(120.0), 30.0, math.inf, 3.0, "not judged", "not converged"),
        (finding(112.0), 0.5, math.inf, 3.0, "holds", "not reached in any sea"),
        (finding(math.inf), math.inf, math.inf, 0.0, "not judged", "only one of the two meshes"),
        (finding(60.0), math.inf, 2.0, 0.0, "not judged", "only one of the two meshes"),
        (finding(math.nan, "no strength"), 0.0, math.nan, math.nan, "not judged", "no strength"),
    ],
)
def test_verdicts_follow_their_rules(
    found: Finding, error: float, ratio: float, low: float, verdict: str, why: str
) -> None:
    ours = _verdict(found, error, ratio, low, required=1.5, target=TARGET)
    assert ours[0] == verdict
    assert ours[1].startswith(why) or why in ours[1]


def test_a_missing_strength_is_not_judged_and_says_why(pair: Pair) -> None:
    used = strengths(pair[0].case)
    texts = {**used.texts, ("yield", "ring"): "no yield is stated"}
    rung = ladder(pair, ring=None, texts=texts)["ring", "yield"]
    assert (rung.verdict, rung.why) == ("not judged", "no yield is stated")
    assert math.isnan(rung.depth) and math.isnan(rung.ratio) and math.isnan(rung.r)
    assert rung.error == rung.ratio_error == 0


def test_a_ply_without_strengths_is_told_beside_the_others() -> None:
    blocks = [{"ply": card, "thickness": "0.19 mm", "angles": [90, 0], "repeats": 20}
              for card in ("carbon-epoxy-im", "carbon-epoxy-hs")]  # fmt: skip
    case = joint_case("butt", wall__layup=blocks)
    answer = solve(case, mesh_section(draw_section(case), -1), 2)
    used = without(strengths(case), "ply", "puck")  # only kinking is looked at
    bare = replace(used.plies["carbon-epoxy-hs"], kink=None,
                   words={**used.plies["carbon-epoxy-hs"].words,
                          "fibre kinking": "no shear strength"})  # fmt: skip
    plies = {**used.plies, "carbon-epoxy-hs": bare}
    rungs = judge(answer, answer, replace(used, plies=plies), TARGET)  # no numerical error here
    kinking = [rung for rung in rungs if rung.mode.startswith("fibre kinking")]
    assert len(kinking) == 2
    assert math.isfinite(kinking[0].pressure)
    assert (kinking[1].verdict, kinking[1].why) == ("not judged", "no shear strength")
    assert "carbon-epoxy-hs" in kinking[1].mode
    # with all strengths known, the weaker of the two stands for the wall
    known = [one for one in find(answer, used) if one.mode == "fibre kinking"]
    assert len(known) == 1
    assert known[0].pressure <= kinking[0].pressure


def test_a_wall_of_metal_yields_where_the_stress_says() -> None:
    # von Mises 1913 at the place that the rung names; away from the ends Lame 1852 is nearby.
    blocks = [{"ply": "titanium-6al-4v", "thickness": "10 mm", "angles": [30], "repeats": 1}]
    case = joint_case("butt", wall__layup=blocks)
    answer = solve(case, mesh_section(draw_section(case), -1), 2)
    rungs = judge(answer, answer, strengths(case), TARGET)
    of_wall = {rung.mode: rung for rung in rungs if rung.part == "wall"}
    assert set(of_wall) == {"yield"}  # nothing of plies, and nothing between them
    rung = of_wall["yield"]
    regions = [n for n, region in answer.section.regions.items() if region.part == "wall"]
    unit = stress_at(answer, np.array([[rung.r], [rung.z]]), regions)
    factors = duty_factors(with_duty((answer, answer), depth=None, pressure=rung.pressure)[0])
    rr, tt, zz, tz, rz, rt = sum(factors[load] * unit[load][:, 0] for load in factors)
    direct = ((rr - tt) ** 2 + (tt - zz) ** 2 + (zz - rr) ** 2) / 2
    assert np.sqrt(direct + 3 * (tz**2 + rz**2 + rt**2)) == pytest.approx(827, rel=1e-6)
    b, a = 160.0, 150.0  # at the bore of a closed tube: sqrt(3) p b^2 / (b^2 - a^2)
    assert 0.5 < rung.pressure / (827 * (b**2 - a**2) / (np.sqrt(3) * b**2)) <= 1


def test_a_mixed_wall_is_judged_by_what_it_is_made_of() -> None:
    blocks = [{"ply": "carbon-epoxy-im", "thickness": "0.19 mm", "angles": [90, 0], "repeats": 20},
              {"ply": "titanium-6al-4v", "thickness": "2 mm", "angles": [0]}]  # fmt: skip
    case = joint_case("butt", wall__layup=blocks)
    answer = solve(case, mesh_section(draw_section(case), -1), 2)
    used = without(strengths(case), "puck", "kink")
    modes = {one.mode.partition(":")[0]: one for one in find(answer, used) if one.part == "wall"}
    assert {"yield", "Tsai-Wu", "between the plies"} <= set(modes)
    assert modes["yield"].layer == "wall-2"
    assert modes["Tsai-Wu"].layer == "wall-1"


def test_out_of_roundness_is_a_rung_of_the_whole_wall(pair: Pair) -> None:
    wall = pair[0].case.wall
    changed = {w: with_case(pair, wall=wall.model_copy(update={"out_of_roundness": w}))
               for w in (0.2, 2.0)}  # fmt: skip
    name = ("wall", "collapse with out-of-roundness")
    assert name not in ladder(pair, plies=True)
    found = {w: ladder(cases, plies=True)[name] for w, cases in changed.items()}
    for w, rung in found.items():
        limit = collapse(changed[w][0].case, strengths(changed[w][0].case))
        assert (rung.pressure, rung.error) == (limit.pressure, 0.0)
        assert rung.mode == f"{name[1]}: {limit.mode}"
        assert f"{w:g} mm out of round" in rung.strength
        assert math.isnan(rung.r)
        # TEOS-10 by its own library, as above; nothing is missing, so it is judged
        depth = -gsw.z_from_p(100 * rung.pressure, pair[0].case.duty.latitude)
        assert rung.depth == pytest.approx(depth, rel=1e-12)
        assert rung.verdict == ("holds" if depth >= 1.5 * 2000 else "short")
    assert found[2.0].pressure < found[0.2].pressure


def test_failing_on_cooling_alone_is_said(pair: Pair) -> None:
    # 400 K of cooling: the adhesive shrinks 60e-6/K x 400 K = 2.4 % against metal and carbon,
    # times E of 2.8 GPa well over any strength of it.
    cooled = with_duty(pair, service_temperature=1.0, stress_free_temperature=401.0)
    rung = ladder(cooled)["inner bond", "largest tension"]
    assert rung.pressure == rung.depth == rung.ratio == 0.0
    assert rung.verdict == "short"
    assert rung.why == "the temperature change alone reaches it"


def test_what_holds_to_the_deepest_sea_may_be_short_of_the_ratio_asked(pair: Pair) -> None:
    # 9000 m times 1.5 is deeper than any sea: a mode at 12,000 m is short of it all the same.
    one = without_heat(with_duty(pair, depth=9000.0))
    one = (one[0], one[0])  # no numerical error here
    pressure = ladder(one, ring=YieldStrength(100.0))["ring", "yield"].pressure
    wanted = gsw.p_from_z(-12_000.0, 45.0) / 100
    rung = ladder(one, ring=YieldStrength(100.0 * wanted / pressure))["ring", "yield"]
    assert rung.pressure == pytest.approx(wanted, rel=1e-9)
    assert rung.depth == pytest.approx(12_000.0, rel=1e-6)
    assert rung.verdict == "short"
    # where no sea is so deep and no more is asked, it is out of reach
    shallow = (with_duty(one, depth=2000.0)[0],) * 2
    rung = ladder(shallow, ring=YieldStrength(100.0 * wanted / pressure))["ring", "yield"]
    assert (rung.verdict, rung.depth) == ("holds", math.inf)
