"""A solved joint that the tests of this folder share: coarse, and solved once a session."""

from __future__ import annotations

import pandas as pd
import pytest

from geometry.forms import draw_section
from geometry.mesh import mesh_section
from post.bondline import bondline
from solve.answer import Answer, solve_twice
from tests.joints import joint_case


@pytest.fixture(scope="session")
def answers() -> tuple[Answer, Answer]:
    case = joint_case("inner-lap")
    section = draw_section(case)
    return solve_twice(case, mesh_section(section, 0), mesh_section(section, -1))


@pytest.fixture(scope="session")
def answer(answers: tuple[Answer, Answer]) -> Answer:
    return answers[0]


@pytest.fixture(scope="session")
def table(answer: Answer) -> pd.DataFrame:
    return bondline(answer)
