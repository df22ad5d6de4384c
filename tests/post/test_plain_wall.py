"""The wall as a plain tube: strength, buckling, and collapse of what is not quite round."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from scipy.integrate import simpson

from geometry.case import Case
from post.criteria import KINKING, MAXIMUM_STRESS
from post.criteria.von_mises import YieldStrength
from post.plain_wall import (
    collapse,
    judged_of,
    ply_places,
    shell_buckling,
    tube_layers,
    wall_strength,
)
from post.strengths import strengths
from solve.shell_buckling import (
    orthotropic_buckling,
    oval_ring_yield,
    von_mises_buckling,
    windenburg_trilling,
)
from tests.joints import joint_case


def tube_of(card: str, thickness: float, **changes: Any) -> Case:
    block = {"ply": card, "thickness": f"{thickness} mm", "angles": [0]}
    return joint_case("butt", wall__layup=[block], **changes)


COLD: dict[str, Any] = {"duty__stress_free_temperature": "2 degC"}
CARBON = joint_case("butt", **COLD)


def test_metal_tube_yields_at_lames_pressure() -> None:
    # Lame 1852 and von Mises 1913: closed tube, at the bore sqrt(3) p b^2 / (b^2 - a^2) = yield.
    case = tube_of("titanium-6al-4v", 20.0)
    found = wall_strength(case, strengths(case))
    assert found.mode == "yield"
    a, b = 150.0, 170.0
    assert found.pressure == pytest.approx(827 * (b**2 - a**2) / (math.sqrt(3) * b**2), rel=1e-9)


def test_composite_strength_is_the_least_of_its_criteria() -> None:
    used = strengths(CARBON)
    (card,) = used.plies
    places = ply_places(CARBON)[card]
    least = {
        mode: criterion.multipliers(0 * places.pressure, places.pressure, strength).min()
        for criterion, mode, strength in judged_of(used, card)
    }
    assert len(least) == 5
    found = wall_strength(CARBON, used)
    assert found.pressure == pytest.approx(min(least.values()), rel=1e-9)
    assert found.mode.startswith(min(least, key=lambda mode: least[mode]))


def test_a_tube_in_which_nothing_is_judged_says_so() -> None:
    case = tube_of("titanium-6al-4v", 20.0)
    used = strengths(case)
    bare = replace(used, wall={"titanium-6al-4v": None})
    found = wall_strength(case, bare)
    assert math.isnan(found.pressure)
    assert found.mode == used.words("yield", "titanium-6al-4v")


def test_isotropic_wall_takes_the_least_formula() -> None:
    case = tube_of("aluminium-6061-t6", 5.0)
    found = shell_buckling(case).pressure
    numbers = 68.3e3, 0.33, 5.0, 152.5, 400.0
    all_three = (
        windenburg_trilling(*numbers),
        von_mises_buckling(*numbers).pressure,
        orthotropic_buckling(tube_layers(case), 400.0).pressure,
    )
    assert found == pytest.approx(min(all_three), rel=1e-9)
    assert max(all_three) / min(all_three) > 1.005


def test_bending_carries_the_moment_and_no_force() -> None:
    # Plane stress around at unit moment: Int s dh = 0, Int s h dh = 1 N mm/mm; isotropic 6 / t^2.
    case = tube_of("titanium-6al-4v", 12.0)
    (places,) = ply_places(case).values()
    hoop, radius = places.bending[1], np.linspace(-6.0, 6.0, places.bending.shape[1])
    assert np.trapezoid(hoop, radius) == pytest.approx(0, abs=1e-12)
    np.testing.assert_allclose(hoop[[0, -1]], [-6 / 144, 6 / 144], rtol=1e-12)
    # held straight along: Poisson's share there, and nothing across
    np.testing.assert_allclose(places.bending[0], 0.31 * hoop, rtol=1e-12, atol=1e-15)
    np.testing.assert_allclose(places.bending[2:], 0, atol=1e-15)


def test_bending_of_unlike_layers_carries_the_moment_and_no_force() -> None:
    # Statics of the strip, whatever its layers: no force around or along, 1 N mm/mm around.
    blocks = [
        {"ply": card, "thickness": f"{t} mm", "angles": [0]}
        for card, t in (("aluminium-6061-t6", 4.0), ("titanium-6al-4v", 8.0))
    ]
    bent = list(ply_places(joint_case("butt", wall__layup=blocks)).values())
    r = [np.linspace(0.0, 4.0, 9), np.linspace(4.0, 12.0, 9)]
    for component in (0, 1):
        force = sum(simpson(one.bending[component], x=x) for one, x in zip(bent, r, strict=True))
        assert force == pytest.approx(0, abs=1e-12)
    moment = sum(simpson(one.bending[1] * x, x=x) for one, x in zip(bent, r, strict=True))
    assert moment == pytest.approx(1, rel=1e-12)


@pytest.mark.parametrize(("thickness", "within"), [(1.5, 0.02), (0.3, 0.004)])
@pytest.mark.parametrize("share", [0.1, 0.5])
def test_thin_metal_tube_follows_timoshenko_and_gere(
    thickness: float, within: float, share: float
) -> None:
    """Timoshenko & Gere 1961, art. 7.5, in the limit of a thin wall in uniaxial stress.

    Von Mises's stress of the closed tube differs from that around by its axial and radial parts;
    a strength that makes both alike where the tube is round leaves the bending to be compared.
    """
    case = tube_of("titanium-6al-4v", thickness, wall__out_of_roundness=f"{share * thickness} mm")
    radius, critical = 150.0 + thickness / 2, 3e4 * (thickness / 150) ** 2
    used = strengths(case)
    found = collapse(case, used, critical)
    assert found.mode == "yield"
    # stress around alone: take the criterion off the two other directions
    (places,) = ply_places(case).values()
    bend = found.pressure * case.wall.outer_radius * share * thickness
    bend /= 1 - found.pressure / critical
    hoop = found.pressure * places.pressure[1] - bend * places.bending[1]
    hoop_other = found.pressure * places.pressure[1] + bend * places.bending[1]
    worst = max(abs(hoop).max(), abs(hoop_other).max())
    ring = oval_ring_yield(worst, critical, thickness, radius, share * thickness)
    assert found.pressure == pytest.approx(ring, rel=within)


def test_a_round_wall_collapses_where_it_fails_or_buckles() -> None:
    used = strengths(CARBON)
    round_wall = CARBON.wall.model_copy(update={"out_of_roundness": 0.0})
    case = CARBON.model_copy(update={"wall": round_wall})
    strength = wall_strength(case, used).pressure
    assert collapse(case, used, 10 * strength).pressure == pytest.approx(strength, rel=1e-6)
    assert collapse(case, used, strength / 2).pressure == pytest.approx(strength / 2)
    assert collapse(case, used, strength / 2).mode == "buckling"


def test_collapse_falls_with_the_deviation_and_a_ply_is_at_its_limit() -> None:
    used = strengths(CARBON)
    (card,) = used.plies
    pressures = []
    for w in (0.1, 0.5, 2.0):
        wall = CARBON.wall.model_copy(update={"out_of_roundness": w})
        case = CARBON.model_copy(update={"wall": wall})
        found = collapse(case, used, 80.0)
        pressures.append(found.pressure)
        places = ply_places(case)[card]
        bend = found.pressure * case.wall.outer_radius * w / (1 - found.pressure / 80.0)
        stress = [found.pressure * places.pressure + s * bend * places.bending for s in (-1, 1)]
        both = np.concatenate(stress, axis=1)
        worst = max(
            float(criterion.indices(both, strength).max())
            for criterion, _, strength in judged_of(used, card)
        )
        assert worst == pytest.approx(1, rel=1e-9)
        if found.mode == "fibre kinking":
            assert KINKING.indices(both, used.of_ply(card, found.mode)).max() == pytest.approx(1)
        assert MAXIMUM_STRESS.indices(both, used.of_ply(card, "maximum stress")).max() <= 1 + 1e-9
    assert pressures == sorted(pressures, reverse=True)
    assert pressures[-1] < 0.9 * pressures[0]


def test_cooling_alone_may_reach_it() -> None:
    hot = joint_case(
        "butt", duty__stress_free_temperature="300 degC", wall__out_of_roundness="1 mm"
    )
    used = strengths(hot)
    (card,) = used.plies
    weak = replace(used.plies[card], puck=None, kink=None,
                   ply=replace(used.plies[card].ply, YT=1.0))  # fmt: skip
    found = collapse(hot, replace(used, plies={card: weak}))
    assert found.pressure == 0.0


def test_a_plastic_wall_collapses_by_its_own_strength() -> None:
    case = tube_of("acrylic", 30.0, wall__out_of_roundness="0.5 mm")
    used = strengths(case)
    weaker = replace(used, wall={"acrylic": YieldStrength(31.0)})
    assert collapse(case, weaker).pressure < collapse(case, used).pressure
