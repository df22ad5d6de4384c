"""Stress from strain and temperature."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest

from solve.cited_materials import isotropic
from solve.stress import element_stress

E, NU, CTE = 70e3, 0.33, 23e-6


def stress(load: str, strain: list[float]) -> np.ndarray:
    """Stress of one element of the second of two regions, at one point."""
    materials = {"other": isotropic(1.0, 0.0, 1.0), "metal": isotropic(E, NU, CTE)}
    answer = SimpleNamespace(materials=materials, mesh=SimpleNamespace(regions=("other", "metal")))
    at = np.array(strain, float)[:, None, None]
    found: np.ndarray = element_stress(answer, load, at, np.array([1]))[:, 0, 0]  # type: ignore[arg-type]
    return found


def test_what_expands_freely_has_no_stress() -> None:
    # Duhamel 1837, Neumann 1841, as S.P. Timoshenko & J.N. Goodier, Theory of Elasticity, 3rd ed.
    # 1970, ch. 13 (value from memory): stress comes of the strain less that of the temperature
    assert stress("temperature", [CTE] * 3 + [0] * 3) == pytest.approx(np.zeros(6), abs=1e-9)


def test_what_is_held_on_all_sides_is_pressed_when_warmed() -> None:
    # the same source: -E cte dT / (1 - 2 nu) on all sides, no shear
    held = -E * CTE / (1 - 2 * NU)
    assert stress("temperature", [0] * 6) == pytest.approx([held] * 3 + [0] * 3, rel=1e-12)


def test_pressure_brings_no_expansion() -> None:
    # Hooke's law: uniaxial stress strains by 1/E along and -nu/E across
    along = [1e3 / E, -NU * 1e3 / E, -NU * 1e3 / E]
    assert stress("pressure", [*along, 0, 0, 0]) == pytest.approx([1e3] + [0] * 5, abs=1e-9)
