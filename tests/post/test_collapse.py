"""Collapse of the hull on the ladder, in the summary, in the report and in pictures."""

import json
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray

from geometry.case import Case
from geometry.seawater import depth_at
from post.collapse import CYLINDER, collapse_rung, collapse_summary, knock_down, waves_words
from post.collapse_report import hull_part
from post.mode_picture import cut, draw_mode, mode_image, revolved
from post.strengths import SPHERE_KNOCK_DOWN
from solve.buckling import Mode, Scan
from solve.collapse import Collapse, solve_collapse
from solve.motions import ALIKE, OPPOSITE
from tests.joints import joint_case


@pytest.fixture(scope="module")
def case() -> Case:
    """Give a socket with a hemisphere."""
    return joint_case("socket")


@pytest.fixture(scope="module")
def collapse(case: Case) -> Collapse:
    """Give its collapse."""
    return solve_collapse(case)


def with_shape(
    collapse: Collapse, shape: NDArray[np.float64], symmetry: str, waves: int
) -> Collapse:
    """Give a collapse whose only mode has a given shape."""
    mode = Mode(waves, symmetry, 50.0, shape)
    return replace(collapse, at_duty=Scan((mode, Mode(waves + 1, symmetry, 60.0, shape))))


def test_rung_is_the_least_pressure_knocked_down(case: Case, collapse: Collapse) -> None:
    # Source: ours, and NASA SP-8007 for the 0.75 (value from memory); depth by TEOS-10.
    rung = collapse_rung(case, collapse, 0.02)
    least = min(mode.pressure for mode in collapse.at_duty.modes)
    assert (rung.part, rung.mode) == ("hull", "collapse (elastic buckling)")
    assert rung.pressure == pytest.approx(0.75 * least)
    assert rung.depth == pytest.approx(depth_at(0.75 * least, case.duty.latitude))
    # the error is of the pressure used, and 3 times what the mesh of twice the size moves
    assert rung.error == pytest.approx(0.75 * max(3 * abs(least - collapse.coarser), 1e-3 * least))
    assert rung.verdict == "holds"  # 30 MPa of duty, 1.5 required, 46.7 MPa
    for words in ("n = 2 (2 waves around, both halves alike)", "wall", "0.75", "NASA SP-8007"):
        assert words in rung.strength
    assert rung.runner_up.startswith("n = 3 (3 waves around) at ")


def test_mode_of_the_head_takes_the_knock_down_of_a_sphere(case: Case, collapse: Collapse) -> None:
    # Source: ours: a hemisphere is more sensitive to its shape than a cylinder.
    assert knock_down(case, "head").factor == SPHERE_KNOCK_DOWN[0]
    assert knock_down(case, "wall") == CYLINDER == knock_down(case, "ring")
    shape = np.zeros((collapse.space.size, 3))
    axis = collapse.space.edge_dofs["axis"].ravel()
    shape[axis[0], 2] = 1.0
    rung = collapse_rung(case, with_shape(collapse, shape, ALIKE, 0), 0.02)
    assert rung.pressure == pytest.approx(50.0 * SPHERE_KNOCK_DOWN[0])
    assert rung.r == pytest.approx(0.0, abs=1e-9)


def test_a_coarse_mesh_is_not_judged(case: Case, collapse: Collapse) -> None:
    # Source: ours: 10 % between the meshes is beyond a target of 2 %.
    least = collapse.at_duty.critical.pressure
    rung = collapse_rung(case, replace(collapse, coarser=1.1 * least), 0.02)
    assert rung.verdict == "not judged"
    assert "not converged" in rung.why


def test_summary_is_plain_json(case: Case, collapse: Collapse) -> None:
    # Source: ours; JSON knows no infinite numbers.
    endless = Mode(1, ALIKE, np.inf, collapse.at_duty.critical.shape)
    modes = (*collapse.at_duty.modes, endless)
    told = collapse_summary(case, replace(collapse, at_duty=Scan(modes)))
    assert json.loads(json.dumps(told, allow_nan=False)) == told
    assert told["scan"][-1]["elastic_MPa"] is None
    assert told["scan"][-1]["depth_m"] is None
    assert len(told["scan"]) == len(modes)
    assert told["temperature_change_K"] == pytest.approx(-58.0)


def test_report_says_what_the_summary_says(case: Case, collapse: Collapse) -> None:
    # Source: ours.
    told = collapse_summary(case, collapse)
    part = hull_part({"buckling": told})
    assert part is not None
    words = " ".join(part["lead"])
    assert f"{told['critical']['elastic_MPa']:.1f}" in words
    assert f"{told['critical']['depth_m']:,.0f} m" in words
    assert "value from memory" in words
    assert len(part["table"].rows) == len(told["scan"])
    # Source: SP-8007 is optimistic for thick laminated walls (references of solve.shell_buckling)
    assert told["shell"]["elastic_MPa"] > told["critical"]["elastic_MPa"]
    assert f"{told['shell']['elastic_MPa']:.1f} MPa" in words
    assert hull_part({}) is None


def test_modes_in_words() -> None:
    # Source: ours.
    assert waves_words(0, OPPOSITE) == "n = 0 (round, the halves opposite)"
    assert waves_words(1, ALIKE) == "n = 1 (1 wave around, both halves alike)"
    assert waves_words(4) == "n = 4 (4 waves around)"


@pytest.mark.parametrize("symmetry", [ALIKE, OPPOSITE])
def test_a_rigid_motion_moves_the_revolved_hull_as_one(collapse: Collapse, symmetry: str) -> None:
    # Source: kinematics: with n = 1 and (u, v, w) = (1, -1, 0) every point moves along x by the
    # same; halves that move opposite go the other way.
    shape = np.tile([1.0, -1.0, 0.0], (collapse.space.size, 1))
    moved, size = revolved(with_shape(collapse, shape, symmetry, 1))
    back, _ = revolved(with_shape(collapse, -shape, symmetry, 1))
    half = moved.n_points // 2
    way = np.asarray(moved.points - back.points) / 2
    first, second = way[:half], way[half:]
    assert np.ptp(first[:, 0]) < 1e-5 * size
    assert np.abs(first[:, 1:]).max() < 1e-5 * size
    assert first[0, 0] == pytest.approx(0.12 * size, rel=1e-5)
    sign = 1.0 if symmetry == ALIKE else -1.0
    assert second[0, 0] == pytest.approx(sign * first[0, 0], rel=1e-5)


def test_cut_shows_as_many_waves_as_the_mode(collapse: Collapse) -> None:
    # Source: ours: the circle is crossed twice in each wave.
    z, before, after = cut(collapse)
    apart = np.hypot(*after) - np.hypot(*before)
    crossings = np.count_nonzero(np.diff(np.sign(apart[:-1])))
    assert crossings == 2 * collapse.at_duty.critical.waves
    assert z == pytest.approx(0.0, abs=1.0)


def test_figures_are_drawn(case: Case, collapse: Collapse, tmp_path: Path) -> None:
    # Source: ours. Both colours of motion must be in the picture.
    shown = draw_mode(case, collapse, tmp_path)
    assert [one.group for one in shown] == ["hull", "hull"]
    assert all((tmp_path / one.file).stat().st_size > 10_000 for one in shown)
    image = mode_image(collapse, (300, 200)).astype(int)
    assert (image[..., 0] - image[..., 2] > 40).sum() > 300  # orange
    assert (image[..., 2] - image[..., 0] > 40).sum() > 300  # blue
