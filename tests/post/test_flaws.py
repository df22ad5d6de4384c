"""Disbonds judged: first growth, the ladder, growth curves and the map."""

from __future__ import annotations

import math
from functools import cache

import numpy as np
import pytest

from geometry.case import Case
from geometry.seawater import depth_at, duty_pressure
from post.flaw_growth import growth_curve
from post.flaw_maps import flaw_maps
from post.flaw_results import FlawMap
from post.flaw_tips import first_passage, stretches_of
from post.flaws import flaw_results, flaw_rungs
from post.toughness import toughness
from solve.disbond import Stretch
from solve.energy_release import SHIFT, Disbonded
from solve.joint_disbonds import Disbonds, solve_disbonds
from tests.joints import joint_case

FLAWS = [
    {"bond": "outer", "face": "ring", "start": "0 mm", "length": "8 mm"},
    {"bond": "outer", "face": "middle", "start": "14 mm", "length": "4 mm", "flooded": False},
]
BRITTLE = {
    "paste": {
        "kind": "adhesive",
        "density": "1200 kg/m^3",
        "source": "invented for this test",
        "basis": "minimum",
        "elastic": {"symmetry": "isotropic", "E": "3 GPa", "nu": 0.36, "cte": "60e-6 /K"},
        "toughness": {"GIc": "0.5 kJ/m^2", "GIIc": "2 kJ/m^2"},
        "failure": {"mode_exponent": 2.0},
    }
}


def lap(**changes: object) -> Case:
    return joint_case(
        "outer-lap",
        joint__bond_thickness="2 mm",
        joint__adhesive="paste",
        materials=BRITTLE,
        flaws=FLAWS,
        **{"joint__surface": {"ring": "blasted-primed", "wall": "peel-ply-abraded"}, **changes},
    )


@cache
def solved() -> tuple[Case, Disbonds]:
    case = lap()
    return case, solve_disbonds(case)


@cache
def maps() -> list[FlawMap]:
    return flaw_maps(*solved())


def test_first_passage_is_the_first() -> None:
    # Source: sin passes a half first at pi / 6; a function that never does is never passed.
    found = first_passage(lambda p: math.sin(p) - 0.5, 10.0)
    assert found == pytest.approx(math.pi / 6, abs=1e-4)
    assert math.isinf(first_passage(lambda p: math.sin(p) - 2, 10.0))
    assert first_passage(lambda p: 1.0, 10.0) == 0.0


def test_toughness_loses_what_strengths_lose() -> None:
    # Source: the card; the preparations count in full, a minimum basis too.
    tough, words = toughness(lap(), "wall")
    assert tough is not None and (tough.opening, tough.shearing) == (0.5, 2.0)
    worse = lap(
        joint__surface={"ring": "blasted", "wall": "peel-ply-abraded"},
        knock_downs=[{"on": "adhesive", "factor": 0.5, "reason": "wet"}],
    )
    tough, words = toughness(worse, "ring")
    assert tough is not None and tough.opening == pytest.approx(0.5 * 0.8 * 0.5)
    assert "wet" in words
    tough, _ = toughness(worse, "middle")  # a split inside the adhesive knows no preparation
    assert tough is not None and tough.opening == pytest.approx(0.5 * 0.5)


def test_tip_grows_at_the_pressure_found() -> None:
    # Source: the definition: G there is the toughness at its mix of modes.
    case, disbonds = solved()
    results = flaw_results(case, disbonds)
    assert [len(result.tips) for result in results] == [1, 2]
    assert [result.flooded for result in results] == [True, False]
    for result in results:
        assert result.overlap == 0.0
        assert 0 <= result.closed_share <= 1
        for tip in result.tips:
            assert tip.G == pytest.approx(tip.G_I + tip.G_II + tip.G_III)
            assert 0.5 <= tip.limit <= 2.0
            assert tip.error < 0.02 * tip.pressure
    tip = results[0].tips[0]
    curve = growth_curve(case, disbonds, 0, [duty_pressure(case), tip.pressure], lengths=[10.0])
    assert curve.lengths[0] == pytest.approx(8.0)
    assert curve.lengths[-1] <= 10.0 + 1e-9
    assert curve.G[0, 0] == pytest.approx(tip.G, rel=1e-9)
    assert curve.G[1, 0] == pytest.approx(curve.limit[1, 0], rel=1e-3)
    # stable or not, by what G does against the toughness as the curve goes on
    ahead = (curve.G - curve.limit)[1, 1] > (curve.G - curve.limit)[1, 0]
    assert tip.stable is not bool(ahead)


def test_rungs_stand_at_the_depth_of_first_growth() -> None:
    # Source: TEOS-10 through the project's own depth of a pressure.
    case, disbonds = solved()
    results = flaw_results(case, disbonds)
    rungs = flaw_rungs(case, results)
    assert [rung.part for rung in rungs] == ["outer bond", "outer bond"]
    first = min(tip.pressure for tip in results[0].tips)
    assert rungs[0].pressure == first
    assert rungs[0].depth == pytest.approx(depth_at(first, case.duty.latitude))
    assert "flaw 1" in rungs[0].mode and "GIc" in rungs[0].strength


def test_what_lacks_a_toughness_is_not_judged() -> None:
    # Source: the card without its exponent.
    case, disbonds = solved()
    card = case.materials["paste"]
    failure = card.failure.model_copy(update={"mode_exponent": None})
    poor = case.model_copy(
        update={
            "materials": {**case.materials, "paste": card.model_copy(update={"failure": failure})}
        }
    )
    results = flaw_results(poor, disbonds)
    assert math.isnan(results[0].tips[0].pressure)
    assert results[0].tips[0].G > 0
    rung = flaw_rungs(poor, results)[0]
    assert rung.verdict == "not judged" and "mode_exponent" in rung.why
    assert flaw_maps(poor, disbonds) == []


def test_map_tells_the_disbond_that_is_just_at_its_limit() -> None:
    # Source: the definition, by the joint with the disbonds one element shorter and longer.
    case, disbonds = solved()
    change = case.duty.service_temperature - case.duty.stress_free_temperature
    tried = 0
    for one in (m for m in maps() if (m.bond, m.kind) == ("outer", "buried")):
        tough, _ = toughness(case, one.face)
        reduced = disbonds.face(one.bond, one.face)
        s = reduced.paths[0].s
        joint = Disbonded(reduced, {"pressure": one.pressure, "temperature": change})
        for centre, longest, by in zip(one.s, one.longest, one.limited_by, strict=True):
            if not by.startswith("tip at s") or longest < 2.0:
                continue
            place, step = reduced.paths[0].corner(centre), float(s[1] - s[0])
            half = int((longest + 2 * SHIFT[2] * step) / (2 * step) + 1e-6)
            used = []
            for k in (half, half + 1):
                tips = [joint.tip([Stretch(0, place - k, place + k)], 0, way) for way in (-1, 1)]
                assert tough is not None
                used.append(max(tip.G / tough.limit(tip) for tip in tips))
            assert used[0] < 1 <= used[1]
            tried += 1
    assert tried >= 5


def test_map_covers_every_bond_and_face() -> None:
    # Source: the form: an outer lap has two bonds, each with an open edge.
    found = {(one.bond, one.face, one.kind) for one in maps()}
    wanted = {
        (bond, face, kind)
        for bond in ("end", "outer")
        for face in ("wall", "middle", "ring")
        for kind in ("edge", "buried")
    }
    assert found == wanted
    # some sixty places over both bonds, but no more than there are corners of elements
    places = {(m.bond, float(s)) for m in maps() if m.face == "wall" for s in m.s}
    assert 40 <= len(places) <= 66
    for one in maps():
        assert np.all(one.longest >= 0) and len(one.limited_by) == len(one.s) == len(one.longest)


def test_tougher_adhesive_bears_longer_disbonds() -> None:
    # Source: G does not know the toughness, so more of it never shortens what holds.
    case, disbonds = solved()
    less = case.model_copy(
        update={
            "knock_downs": lap(
                knock_downs=[{"on": "adhesive", "factor": 0.5, "reason": "wet"}]
            ).knock_downs
        }
    )
    for weak, strong in zip(flaw_maps(less, disbonds), maps(), strict=True):
        assert np.all(weak.longest <= strong.longest + 1e-9)
    assert any(
        np.any(weak.longest < strong.longest - 0.5)
        for weak, strong in zip(flaw_maps(less, disbonds), maps(), strict=True)
    )


def test_flaws_lie_where_the_case_has_them() -> None:
    # Source: the case.
    case, disbonds = solved()
    assert disbonds.flaws is not None
    for flaw, stretch in zip(case.flaws, stretches_of(case, disbonds.flaws), strict=True):
        path = disbonds.flaws.paths[stretch.path]
        assert (path.bond, path.face) == (flaw.bond, flaw.face)
        assert path.size(stretch.first, stretch.last) == pytest.approx(flaw.length, abs=1e-6)
