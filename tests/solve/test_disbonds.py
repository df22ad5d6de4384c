"""Disbonds of joints: the reduction, contact in it, and how far G is free of the mesh."""

from __future__ import annotations

from functools import cache
from pathlib import Path as File

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from geometry.case import Case
from geometry.errors import CaseError
from solve.answer import solve
from solve.check import Check
from solve.disbond import Reduced, Stretch, bernstein, node_values
from solve.disbond_checks import disbond_checks
from solve.disbond_file import load_disbonds, save_disbonds
from solve.energy_release import Disbonded, Pair, faces_apart
from solve.joint_disbonds import reduce_joint, solve_disbonds
from tests.joints import joint_case

FLAWS = [
    {"bond": "outer", "face": "ring", "start": "0 mm", "length": "6 mm"},
    {"bond": "inner", "face": "wall", "start": "8 mm", "length": "4 mm"},
    {"bond": "end", "face": "middle", "start": "3.3 mm", "length": "2 mm"},
]


@cache
def socket() -> Reduced:
    return reduce_joint(joint_case("socket", joint__bond_thickness="2 mm"), level=0)


@pytest.fixture(scope="module")
def checks() -> list[Check]:
    return disbond_checks()


@pytest.mark.slow
def test_published_numbers_are_met(checks: list[Check]) -> None:
    # Source: named in each row.
    failed = [c for c in checks if not c.passes]
    assert not failed, [(c.topic, c.claim, c.published, c.ours) for c in failed]


def test_bernstein_coefficients_give_the_values_at_nodes() -> None:
    # Source: S.N. Bernstein 1912: the polynomials add up to one and those of t have coefficients
    # k / degree (value from memory).
    for degree in (1, 2, 3, 4):
        t = np.linspace(0, 1, 7)
        assert np.allclose(bernstein(degree, t).sum(axis=0), 1)
        assert np.allclose(np.arange(degree + 1) / degree @ bernstein(degree, t), t)
        even = np.linspace(0, 2, 2 * degree + 1)
        assert np.allclose(node_values(degree, 2) @ even, even)


@given(st.integers(0, 10_000))
def test_no_faces_pass_through_each_other(seed: int) -> None:
    # Source: the conditions of contact; gaps are looked at between the nodes too.
    draw = np.random.default_rng(seed)
    whole = socket()
    number = int(draw.integers(len(whole.paths)))
    reduced = whole.only(number)
    first, last = sorted(draw.choice(reduced.paths[0].elements + 1, 2, replace=False))
    stretch = Stretch(0, int(first), int(last), bool(draw.integers(2)))
    loads = {"pressure": float(draw.uniform(0, 100)), "temperature": float(draw.uniform(-90, 90))}
    joint = Disbonded(reduced, loads)
    at, found = joint.solve([stretch])
    if len(at) == 0:
        return
    gap = faces_apart(reduced, joint.jump([stretch]), stretch)
    assert gap.min() >= -1e-12 * max(float(np.abs(found.jump).max()), 1e-12)
    normal = reduced.normal(at)
    pull = reduced.pull(loads, [stretch], at)
    force = reduced.stiffness[np.ix_(at, at)] @ found.jump - pull
    scale = float(np.abs(pull).max())
    assert np.all(force[normal] >= -1e-9 * scale)  # faces press, they do not pull
    assert np.allclose(force[~normal], 0, atol=1e-9 * scale)  # and they do not rub
    assert np.all(np.abs(force[normal] * found.jump[normal]) <= 1e-9 * scale)


def test_sound_bond_carries_what_the_whole_joint_says() -> None:
    # Source: equilibrium. The end bond of a butt joint carries the axial load p pi R^2; the sea
    # presses on its free surface beside, so half its thickness of the ring's side is wet already.
    case = joint_case("butt", ring__inner_radius="150 mm", ring__outer_radius="165.39 mm")
    reduced = reduce_joint(case, level=0, only=[("end", "wall")])
    carried = -float(reduced.load["pressure"][:: reduced.components].sum())
    radius = case.wall.outer_radius
    assert carried == pytest.approx(np.pi * radius**2, rel=1e-9)


def test_face_that_is_off_altogether_transfers_the_same_force() -> None:
    # Source: statics. Compressed faces without friction carry the axial load p pi R^2.
    case = joint_case("butt", ring__inner_radius="150 mm", ring__outer_radius="165.39 mm")
    reduced = reduce_joint(case, level=0, only=[("end", "wall")])
    whole = Stretch(0, 0, reduced.paths[0].elements)
    for change in (0.0, -50.0):
        at, found = Disbonded(reduced, {"pressure": 30.0, "temperature": change}).solve([whole])
        pressed = float(found.force[reduced.normal(at)].sum())
        assert pressed == pytest.approx(30 * np.pi * case.wall.outer_radius**2, rel=1e-8)
        assert not found.force[~reduced.normal(at)].any()


def test_sound_joint_is_that_of_the_answer() -> None:
    # Source: the whole solve. Traction of the bonded face at mid-length of the outer bond, from
    # the reduction's nodal forces over their areas, against the stress of the joint's own solve.
    from geometry.mesh import mesh_section
    from post.bondline import line_mean
    from solve.disbond import flooding

    case = joint_case("socket", joint__bond_thickness="2 mm")
    reduced = reduce_joint(case, level=1)
    number = reduced.find("outer", "middle")
    one = reduced.only(number)
    path = one.paths[0]
    first, last = path.corner(8.0), path.corner(16.0)
    weight = np.zeros(one.starts[-1])
    np.add.at(weight, one.elements(Stretch(0, 0, path.elements))[:, :, 0], flooding(path, 2))
    inside = one.unknowns(Stretch(0, first, last))
    peel = inside[one.normal(inside)]
    mean = one.load["pressure"][peel].sum() / weight[peel].sum()
    from geometry.forms import draw_section

    section = draw_section(case)
    answer = solve(case, mesh_section(section, 1))
    h = float(path.s[first + 1] - path.s[first]) / 3
    wanted = line_mean(answer, section.bond("outer"), path.s[first] + h, path.s[last] - h)
    # the coefficients' weights fade out within the outer thirds of the end elements
    assert mean == pytest.approx(wanted["pressure"][0], rel=0.03)


@pytest.mark.slow
@pytest.mark.parametrize("face", ["wall", "middle", "ring"])
def test_two_levels_agree_within_one_percent(face: str) -> None:
    # Source: the same joint on elements of half the length, as flaws of a case are judged: the
    # elements of a short one are a sixth of its length. From one bond thickness on.
    flaw = {"bond": "outer", "face": face, "start": "0 mm", "length": "2 mm"}
    case = joint_case(
        "outer-lap",
        joint__bond_thickness="2 mm",
        joint__overlap={"outer": "40 mm"},
        flaws=[flaw],
    )
    only = [("outer", face)]
    pairs = [[reduce_joint(case, level, degree, only) for degree in (3, 2)] for level in (1, 2)]
    loads = {"pressure": 30.0, "temperature": -58.0}
    path = pairs[0][0].paths[0]
    for length in (2.0, *(float(path.s[path.corner(s)]) for s in (3.0, 5.0, 10.0, 20.0, 30.0))):
        found = []
        for cubic, plain in pairs:
            own = cubic.paths[0]
            place = own.corner(length)
            joint = Pair(cubic, plain, loads)
            near = [Stretch(0, 0, place + k, own.wet_ends[0]) for k in (-1, 0, 1)]
            totals = [joint.total([one], 0, 1) for one in near]
            # the corners of two meshes need not meet: a parabola through three gives the rest
            places = [float(own.s[one.last]) - length for one in near]
            found.append(float(np.polyfit(places, totals, 2)[-1]))
        assert found[0] == pytest.approx(found[1], rel=0.01), (face, length)


def test_flaw_ends_are_corners_of_elements() -> None:
    # Source: the case.
    case = joint_case("socket", joint__bond_thickness="2 mm", flaws=FLAWS)
    reduced = reduce_joint(case, 0, 2, [("outer", "ring"), ("inner", "wall"), ("end", "middle")])
    for flaw in case.flaws:
        path = reduced.paths[reduced.find(flaw.bond, flaw.face)]
        for s in (flaw.start, flaw.start + flaw.length):
            assert path.s[path.corner(s)] == pytest.approx(s, abs=1e-6)


@pytest.mark.parametrize(
    ("flaw", "field", "words"),
    [
        ({"bond": "outer", "face": "ring", "start": "26 mm", "length": "1 mm"}, "start", "s = 0"),
        ({"bond": "inner", "face": "wall", "start": "8 mm", "length": "40 mm"}, "length", "22 mm"),
        ({"bond": "end", "face": "wall", "start": "1 mm", "length": "0.03 mm"}, "length", "0.125"),
    ],
)
def test_flaw_beyond_its_bond_is_refused(flaw: dict[str, str], field: str, words: str) -> None:
    # Source: the drawn section: overlaps of 30 and 25 mm.
    case = joint_case("socket", joint__bond_thickness="2 mm", flaws=[flaw])
    with pytest.raises(CaseError) as told:
        reduce_joint(case, 0)
    assert told.value.field == f"flaws[0].{field}"
    assert words in str(told.value)


def test_file_gives_back_what_was_written(tmp_path: File) -> None:
    # Source: what was written.
    case: Case = joint_case("outer-lap", joint__bond_thickness="4 mm", flaws=FLAWS[:1])
    written = solve_disbonds(case)
    save_disbonds(written, tmp_path / "flaws.npz")
    read = load_disbonds(tmp_path / "flaws.npz")
    assert len(read.faces) == len(written.faces) == 6
    assert written.flaws is not None and read.flaws is not None and read.companion is not None
    for one, other in ((written.flaws, read.flaws), (written.faces[0], read.faces[0])):
        assert np.array_equal(one.stiffness, other.stiffness)
        assert np.array_equal(one.load["temperature"], other.load["temperature"])
        assert one.paths[0].open_ends == other.paths[0].open_ends
        assert np.array_equal(one.paths[0].s, other.paths[0].s)
