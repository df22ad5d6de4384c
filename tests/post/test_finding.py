"""Which finding stands for a part: the least of all places, modes and materials."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

import post.judge as module
from geometry.forms import draw_section
from geometry.mesh import mesh_section
from post.criteria import MAXIMUM_STRESS, VON_MISES
from post.criteria.strengths import PlyStrength
from post.criteria.von_mises import YieldStrength
from post.judge import Finding, find
from post.places import Places
from post.strengths import strengths
from tests.joints import joint_case

# Uniaxial stress per MPa of pressure: a strength is reached at strength / stress (definition).


def places(stress: list[float], component: int = 0, per_kelvin: float = 0.0) -> Places:
    """Places at z = 1, 2, ... with one component of stress."""
    unit = {load: np.zeros((6, len(stress))) for load in ("pressure", "temperature")}
    unit["pressure"][component] = stress
    unit["temperature"][component] = per_kelvin
    z = np.arange(1.0, len(stress) + 1)
    layer = np.array([f"wall-{n:g}" for n in z])
    return Places(unit, np.full(len(z), 100.0), z, layer, 10 * z, np.full(len(z), np.nan))


def found_in_wall(
    monkeypatch: pytest.MonkeyPatch,
    wall: dict[str, tuple[Places, Any]],
    kelvin: float = 0.0,
    **how: Any,
) -> list[Finding]:
    """Findings of a wall of cards, each at its places with its (criterion, mode, strength)."""
    answer = SimpleNamespace(
        section=SimpleNamespace(bonds=()),
        materials={},
        mesh=SimpleNamespace(regions=()),
        case=SimpleNamespace(
            wall=SimpleNamespace(out_of_roundness=None), head=SimpleNamespace(form="none")
        ),
    )
    used = SimpleNamespace(plies={}, ring=None, head=None, words=lambda *of: " of ".join(of))
    monkeypatch.setattr(module, "duty_factors", lambda _: {"temperature": kelvin, "pressure": 1.0})
    monkeypatch.setattr(module, "section_corners", lambda *_: None)
    monkeypatch.setattr(
        module, "ply_places", lambda *_: [(card, at) for card, (at, _) in wall.items()]
    )
    monkeypatch.setattr(module, "judged_of", lambda _, card: [wall[card][1]])
    return find(answer, used, **how)  # type: ignore[arg-type]


def test_the_weakest_material_of_the_wall_stands_for_it(monkeypatch: pytest.MonkeyPatch) -> None:
    wall = {
        "strong": (places([10.0, 2.0]), (VON_MISES, "yield", YieldStrength(800.0))),
        "weak": (places([1.0, 4.0, 2.0]), (VON_MISES, "yield", YieldStrength(200.0))),
        "stiff": (places([5.0]), (VON_MISES, "yield", YieldStrength(900.0))),
    }
    (one,) = found_in_wall(monkeypatch, wall)
    assert (one.part, one.mode, one.strength) == ("wall", "yield", "yield of weak")
    assert one.pressure == pytest.approx(200 / 4, rel=1e-12)
    assert (one.r, one.z, one.layer, one.angle) == (100.0, 2.0, "wall-2", 20.0)


def test_a_material_without_strength_is_said_beside_the_others(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    wall = {
        "unknown": (places([10.0]), (VON_MISES, "yield", None)),
        "known": (places([4.0]), (VON_MISES, "yield", YieldStrength(200.0))),
    }
    judged, blank = found_in_wall(monkeypatch, wall)
    assert (judged.mode, judged.pressure) == ("yield", pytest.approx(50, rel=1e-12))
    assert (blank.mode, blank.why) == ("yield: unknown", "yield of unknown")
    assert np.isnan(blank.pressure)


@pytest.mark.parametrize(
    ("stress", "named", "pressure"),
    [(-10.0, "fibre compression", 100.0), (10.0, "fibre tension", 150.0)],
)
def test_the_first_of_a_criterions_modes_is_named(
    monkeypatch: pytest.MonkeyPatch, stress: float, named: str, pressure: float
) -> None:
    ply = PlyStrength.transverse(1500, 1000, 50, 200, 80)
    wall = {"ply": (places([stress, stress / 2]), (MAXIMUM_STRESS, "stress", ply))}
    (one,) = found_in_wall(monkeypatch, wall)
    assert (one.mode, one.z, one.runner_up) == (f"stress: {named}", 1.0, "")
    assert one.pressure == pytest.approx(pressure, rel=1e-12)


def test_next_in_line_is_another_mode_of_the_criterion(monkeypatch: pytest.MonkeyPatch) -> None:
    ply = PlyStrength.transverse(1500, 1000, 50, 200, 80)
    both = places([10.0, 5.0])
    both.unit["pressure"][1] = 0.2, 2.0
    (one,) = found_in_wall(monkeypatch, {"ply": (both, (MAXIMUM_STRESS, "stress", ply))})
    assert (one.mode, one.z, one.pressure) == ("stress: transverse tension", 2.0, 50 / 2.0)
    assert one.runner_up == "fibre tension at 150.0 MPa"  # 1500 / 10


def test_cooling_counts_before_the_pressure(monkeypatch: pytest.MonkeyPatch) -> None:
    # 80 K cooler at -0.5 MPa/K leave 40 MPa, and a MPa of pressure brings -4: at 60 MPa -200 is
    # reached; at 20 MPa there are -40, which may grow five times
    cooled = places([-4.0], per_kelvin=-0.5)
    wall = {"metal": (cooled, (VON_MISES, "yield", YieldStrength(200.0)))}
    (one,) = found_in_wall(monkeypatch, wall, kelvin=-80.0)
    assert one.pressure == pytest.approx((200 + 40) / 4, rel=1e-12)
    (one,) = found_in_wall(monkeypatch, wall, kelvin=-80.0, whole_at=20.0)
    assert one.pressure == pytest.approx(200 / (4 * 20 - 40), rel=1e-12)


def test_next_in_line_is_another_place_well_away(monkeypatch: pytest.MonkeyPatch) -> None:
    stress = [1.0] * 30
    stress[:4] = 5.0, 4.9, 4.8, 4.0  # the last is more than a tenth of the length away
    wall = {"metal": (places(stress), (VON_MISES, "yield", YieldStrength(200.0)))}
    (one,) = found_in_wall(monkeypatch, wall)
    assert (one.z, one.runner_up) == (1.0, "50.0 MPa at r = 100.0 mm, z = 4.0 mm")
    (one,) = found_in_wall(monkeypatch, wall, next_too=False)
    assert one.runner_up == ""


def test_the_head_buckles_at_zoellys_pressure_of_its_middle_surface() -> None:
    # R. Zoelly 1915 (value from memory): 2 E (t/R)^2 / sqrt(3 (1 - nu^2)), knocked down
    case = joint_case("butt", head__inner_radius="152 mm")
    mesh = mesh_section(draw_section(case), -1)
    used = strengths(case)
    found = module._sphere(SimpleNamespace(case=case, mesh=mesh), used)  # type: ignore[arg-type]
    titanium = case.materials["titanium-6al-4v"].constants()
    E, nu, t = titanium["E1"], titanium["nu12"], 10.0
    perfect = 2 * E * (t / (152 + t / 2)) ** 2 / np.sqrt(3 * (1 - nu**2))
    assert found.pressure == pytest.approx(used.sphere_knock_down[0] * perfect, rel=1e-9)
