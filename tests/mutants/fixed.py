"""A dozen mutants of the formulas that count most, each with the tests that must notice it."""

from __future__ import annotations

from typing import NamedTuple

from tests.mutants.forked import ROOT


class Fixed(NamedTuple):
    """A wrong formula: the file, what stands there, what is put there, the test that fails."""

    path: str
    right: str
    wrong: str
    test: str

    @property
    def text(self) -> str:
        """The file's text with the formula wrong; the right one must stand there once."""
        text = (ROOT / self.path).read_text()
        if text.count(self.right) != 1:
            raise LookupError(f"{self.path}: {self.right!r} stands there {text.count(self.right)}x")
        return text.replace(self.right, self.wrong)


FIXED = (
    Fixed(
        "post/criteria/tsai_wu.py",
        "F1=1 / strength.XT - 1 / strength.XC",
        "F1=1 / strength.XT + 1 / strength.XC",
        "tests/post/criteria/test_limits.py::test_ply_criteria_return_the_strengths_they_were_given",
    ),
    Fixed(
        "post/criteria/hashin.py",
        "(strength.YC / (2 * strength.S23)) ** 2 - 1",
        "(strength.YC / (2 * strength.S23)) ** 2 + 1",
        "tests/post/criteria/test_limits.py::test_ply_criteria_return_the_strengths_they_were_given",
    ),
    Fixed(
        "post/criteria/peel_shear.py",
        "np.maximum(peel, 0)",
        "np.minimum(peel, 0)",
        "tests/post/criteria/test_limits.py::test_pressing_a_bond_shut_does_no_harm",
    ),
    Fixed(
        "post/criteria/raghava.py",
        "pull = (m - 1) * trace(s)",
        "pull = (m + 1) * trace(s)",
        "tests/post/criteria/test_limits.py::test_raghava_is_von_mises_when_both_yields_are_equal",
    ),
    Fixed(
        "post/criteria/invariants.py",
        "3 * (s[3] * t[3]",
        "2 * (s[3] * t[3]",
        "tests/post/criteria/test_limits.py::test_von_mises_of_known_states",
    ),
    Fixed(
        "solve/laminate.py",
        "[[0, s, c], [0, c, -s], [1, 0, 0]]",
        "[[0, c, s], [0, s, -c], [1, 0, 0]]",
        "tests/solve/test_laminate.py::test_ply_turns_like_a_fourth_order_tensor",
    ),
    Fixed(
        "solve/laminate.py",
        "np.tensordot(C_ply, in_ply_axes - free, axes=1)",
        "np.tensordot(C_ply, in_ply_axes + free, axes=1)",
        "tests/solve/test_laminate.py"
        "::test_recovered_plies_share_stress_and_strain_as_bonded_plies_do",
    ),
    Fixed(
        "solve/stress.py",
        "elastic - material.cte",
        "elastic + material.cte",
        "tests/solve/test_stress.py::test_what_is_held_on_all_sides_is_pressed_when_warmed",
    ),
    Fixed(
        "solve/thick_wall_formulas.py",
        "A - 2 * B / r**3",
        "A - B / r**3",
        "tests/solve/test_closed_forms_walls.py::test_lames_walls_carry_their_pressures",
    ),
    Fixed(
        "solve/mixed_mode.py",
        "opening + (shearing - opening)",
        "opening - (shearing - opening)",
        "tests/solve/test_mixed_mode.py::test_ends_are_the_toughnesses_of_one_mode",
    ),
    Fixed(
        "post/numerical_error.py",
        "return max(SAFETY",
        "return min(SAFETY",
        "tests/post/test_numerical_error.py::test_three_times_the_movement",
    ),
    Fixed(
        "post/judge.py",
        "yield min(judged",
        "yield max(judged",
        "tests/post/test_finding.py::test_the_weakest_material_of_the_wall_stands_for_it",
    ),
    Fixed(
        "post/judge.py",
        "first = order[0]",
        "first = order[-1]",
        "tests/post/test_finding.py::test_the_first_of_a_criterions_modes_is_named",
    ),
    Fixed(
        "post/growth.py",
        "_between(middle, given, of_kind) >= law.threshold",
        "_between(middle, given, of_kind) < law.threshold",
        "tests/post/test_growth.py::test_dives_below_the_threshold_add_nothing",
    ),
    Fixed(
        "post/verdict.py",
        "rung.ratio - rung.ratio_error < required_ratio",
        "rung.ratio + rung.ratio_error < required_ratio",
        "tests/post/test_ladder.py::test_a_rung_said_to_hold_against_its_own_numbers_is_short",
    ),
    Fixed(
        "post/verdict.py",
        "return reached[0] if reached else None",
        "return reached[-1] if reached else None",
        "tests/post/test_ladder.py::test_sentence_names_what_goes_first_where_and_the_counts",
    ),
    Fixed(
        "geometry/seawater.py",
        "gsw.p_from_z(-depth, latitude)",
        "gsw.p_from_z(depth, latitude)",
        "tests/geometry/test_seawater.py::test_pressure_has_the_teos_10_check_values",
    ),
)
