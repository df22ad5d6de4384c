"""Bond ladders from a reduced joint against those of full solutions."""

from __future__ import annotations

import numpy as np
import pytest

from geometry.forms import draw_section
from geometry.mesh import JointMesh, mesh_section
from post.bondline import duty_factors
from post.judge import find
from post.reduced_joint import ReducedJoint, set_up, study
from post.reduced_ladder import _least_minor
from post.reduced_points import Place, is_linear, points_of_fields, set_at
from post.strengths import strengths
from post.study.headline_names import slug
from post.study.measure import bond_statistics
from solve.answer import Answer, solve
from tests.joints import joint_case

CASE = joint_case(
    "butt",
    duty={"depth": "2000 m", "stress_free_temperature": "25 degC", "service_temperature": "2 degC"},
    wall__layup=[
        {"ply": "carbon-epoxy-im", "thickness": "0.19 mm", "angles": [90, 0], "repeats": 40}
    ],
    process={"adhesive_voids": "2 %"},
)
BOUNDS: dict[Place, tuple[float, float]] = {
    ("materials", "epoxy-paste", "elastic", "E", "value"): (2200.0, 3400.0),
    ("wall", "layup", 0, "angles", 1): (0.0, 10.0),
    ("duty", "service_temperature"): (272.0, 290.0),
    ("duty", "depth"): (1000.0, 4000.0),
    ("knock_downs", 0, "factor"): (0.7, 1.0),
}
CASE = set_at(
    CASE,
    ("knock_downs",),
    joint_case(
        "butt", knock_downs=[{"on": "adhesive", "factor": 0.85, "reason": "wet"}]
    ).knock_downs,
)


@pytest.fixture(scope="module")
def mesh() -> JointMesh:
    return mesh_section(draw_section(CASE), 0)


@pytest.fixture(scope="module")
def joint(mesh: JointMesh) -> ReducedJoint:
    return set_up(CASE, BOUNDS, mesh, degree=2)


def at(fields: dict[Place, np.ndarray], row: int, mesh: JointMesh) -> Answer:
    case = CASE
    for place, values in fields.items():
        case = set_at(case, place, float(values[row]))
    return solve(case, mesh, 2)


def exact_numbers(answer: Answer) -> dict[str, float]:
    """Pressures of the ladder (post.judge) and statistics of the headlines."""
    found = find(answer, strengths(answer.case), bonds_only=True, next_too=False)
    known = {f"{f.part.removesuffix(' bond')}.{slug(f.mode)}.pressure": f.pressure for f in found}
    for bond in answer.section.bonds:
        known |= {k: float(v) for k, v in bond_statistics(answer, bond).items()}
    return known


def test_random_points_lie_within_their_estimates(joint: ReducedJoint, mesh: JointMesh) -> None:
    # Every pressure and stress of full solutions judged by post.judge, at points never seen.
    draw = np.random.default_rng(4)
    fields = {place: draw.uniform(*ends, 12) for place, ends in BOUNDS.items()}
    numbers = study(joint, points_of_fields(CASE, fields), threads=2).numbers
    assert numbers.estimate.max() <= joint.target
    for row in range(12):
        exact = exact_numbers(at(fields, row, mesh))
        assert set(exact) <= set(numbers.values)
        for name, value in exact.items():
            if value != numbers.values[name][row]:
                assert abs(numbers.values[name][row] - value) <= numbers.errors[name][row], name


def test_a_point_solved_in_full_has_the_ladder_of_its_full_solution(
    joint: ReducedJoint, mesh: JointMesh
) -> None:
    # Far outside the bounds the estimate is above the target, so it is solved in full.
    places = list(BOUNDS)
    fields = {place: np.array([np.mean(ends)]) for place, ends in BOUNDS.items()}
    fields[places[0]] = np.array([9000.0])
    studied = study(joint, points_of_fields(CASE, fields))
    assert studied.full.all() and studied.joint.basis.size > joint.basis.size
    answer = at(fields, 0, mesh)
    for name, value in exact_numbers(answer).items():
        assert studied.numbers.values[name][0] == pytest.approx(value, rel=1e-6, abs=1e-5), name
    assert study(joint, points_of_fields(CASE, fields), enrich=False).numbers.estimate[0] > 1e-3
    assert duty_factors(answer)["pressure"] == pytest.approx(
        points_of_fields(CASE, fields).pressure[0], rel=1e-12
    )


def test_minors_tell_whether_a_principal_stress_reaches_one() -> None:
    # Eigenvalues of random symmetric tensors.
    stress = np.random.default_rng(0).normal(0, 0.6, (6, 40, 50))
    rr, tt, zz, tz, rz, rt = stress
    tensor = np.stack([np.stack([rr, rt, rz]), np.stack([rt, tt, tz]), np.stack([rz, tz, zz])])
    largest = np.linalg.eigvalsh(np.moveaxis(tensor, (0, 1), (-2, -1)))[..., -1]
    assert 0.1 < (largest < 1).mean() < 0.9
    np.testing.assert_array_equal(_least_minor(stress) > 0, largest < 1)


def test_what_does_not_enter_linearly_is_refused() -> None:
    place: Place = ("joint", "bond_thickness", "end")
    assert not is_linear(place)
    with pytest.raises(ValueError, match="joint.bond_thickness.end"):
        points_of_fields(CASE, {place: np.array([1.0])})
