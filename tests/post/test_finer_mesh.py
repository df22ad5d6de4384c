"""A finer mesh moves no headline and no rung by more than its stated error.

The truth is not known here; a mesh of half the element size stands for it. No published source:
the promise is the project's own.
"""

from __future__ import annotations

import math
from pathlib import Path

import pytest

from geometry.case import Case, read_case
from geometry.forms import draw_section
from geometry.mesh import mesh_section
from post.judge import find, judge
from post.strengths import strengths
from post.summary import headlines
from solve.answer import solve
from tests.geometry.test_forms import DETAILS
from tests.joints import joint_case

CASES = Path(__file__).parents[2] / "cases"


def compare(case: Case) -> None:
    """Judge on the default level, solve on the next and compare all that carries an error."""
    section = draw_section(case)
    coarse, here, fine = (solve(case, mesh_section(section, level)) for level in (0, 1, 2))
    finer = headlines(fine, here)
    for one, two in zip(headlines(here, coarse), finer, strict=True):
        assert abs(one["value"] - two["value"]) <= one["error"], one
    strong = strengths(case)
    found = {(f.part, f.mode.partition(":")[0]): f.pressure for f in find(fine, strong)}
    compared = 0
    for rung in judge(here, coarse, strong, case.mesh.target):
        pressure = found[rung.part, rung.mode.partition(":")[0]]
        if math.isfinite(rung.pressure):
            rounding = 1e-9 * rung.pressure
            assert abs(pressure - rung.pressure) <= rung.error + rounding, (rung, pressure)
            compared += 1
        else:
            assert rung.error == math.inf or not pressure < math.inf, (rung, pressure)
    assert compared >= 8


@pytest.mark.slow
@pytest.mark.parametrize("name", ["minimal", "tube", "lander"])
def test_of_every_demo_on_its_own_mesh(name: str) -> None:
    compare(read_case(CASES / name / "case.yaml"))


@pytest.mark.slow
@pytest.mark.parametrize("form", DETAILS)
def test_of_every_form_with_fillets_radii_and_chamfers(form: str) -> None:
    compare(joint_case(form, **DETAILS[form]))
