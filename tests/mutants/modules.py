"""Which quick tests stand for which module of mechanics and judgement."""

from __future__ import annotations

_CRITERIA = tuple(
    f"tests/post/criteria/test_{name}.py"
    for name in ("limits", "crossing", "turning", "references", "multipliers")
)
_LEAST = "tests/post/criteria/test_least.py"
_LADDER = ("tests/post/test_ladder.py", "tests/post/test_converge.py")
_DISBONDS = (
    "tests/solve/test_energy_release.py",
    "tests/solve/test_reference_checks.py",
    "tests/post/test_flaws.py",
    "tests/post/test_toughness.py",
)

TESTS: dict[str, tuple[str, ...]] = {
    "geometry/layup.py": ("tests/geometry/test_layup.py",),
    "geometry/seawater.py": ("tests/geometry/test_seawater.py",),
    "solve/laminate.py": ("tests/solve/test_laminate.py",),
    "solve/mixed_mode.py": ("tests/solve/test_mixed_mode.py",),
    "solve/micromechanics.py": ("tests/solve/test_micromechanics.py",),
    "solve/thick_wall_formulas.py": (
        "tests/solve/test_closed_forms_walls.py",
        "tests/solve/test_exact_tube.py::test_orthotropic_tube_is_lekhnitskiis_ring",
    ),
    "solve/shear_lag_formulas.py": ("tests/solve/test_closed_forms_laps.py",),
    "solve/elements.py": (
        "tests/solve/test_elements.py",
        "tests/solve/test_element_matrices.py",
        "tests/solve/test_finite_elements_laws.py",
    ),
    "solve/element_matrices.py": (
        "tests/solve/test_element_matrices.py",
        "tests/solve/test_finite_elements_laws.py",
    ),
    "solve/elasticity.py": (
        "tests/solve/test_answer.py",
        "tests/solve/test_finite_elements_laws.py",
    ),
    "solve/linear.py": ("tests/solve/test_linear.py",),
    "solve/stress.py": (
        "tests/solve/test_stress.py",
        "tests/solve/test_elements.py",
        "tests/solve/test_answer.py",
    ),
    "solve/energy_release.py": _DISBONDS,
    "solve/affine.py": ("tests/solve/test_reduced.py",),
    "solve/answer.py": ("tests/solve/test_answer.py",),
    "solve/as_made.py": ("tests/solve/test_as_made.py",),
    "solve/contact.py": ("tests/solve/test_contact.py",),
    "solve/corners.py": ("tests/solve/test_corners.py",),
    "solve/exact_tube.py": ("tests/solve/test_exact_tube.py",),
    "solve/goland_reissner.py": ("tests/solve/test_closed_forms_laps.py",),
    "solve/many_materials.py": ("tests/solve/test_reduced.py",),
    "solve/plate.py": ("tests/solve/test_laminate.py",),
    "solve/porous_ply.py": ("tests/solve/test_micromechanics.py",),
    "solve/reduced.py": ("tests/solve/test_reduced.py",),
    "solve/sketch.py": ("tests/solve/test_reduced.py",),
    "solve/section_corners.py": ("tests/solve/test_section_corners.py",),
    "solve/shell_buckling.py": ("tests/solve/test_shell_buckling.py",),
    "solve/shell_formulas.py": ("tests/solve/test_closed_forms_walls.py",),
    "solve/shell_spring.py": ("tests/solve/test_closed_forms_laps.py",),
    "solve/strip_roots.py": ("tests/solve/test_corners.py",),
    "solve/transfer.py": ("tests/solve/test_answer.py",),
    "post/criteria/__init__.py": _CRITERIA,
    "post/criteria/crossing.py": _CRITERIA,
    "post/criteria/hashin.py": _CRITERIA,
    "post/criteria/interlaminar.py": _CRITERIA,
    "post/criteria/invariants.py": _CRITERIA,
    "post/criteria/kinking.py": _CRITERIA,
    "post/criteria/least.py": (_LEAST, *_CRITERIA),
    "post/criteria/maximum_stress.py": _CRITERIA,
    "post/criteria/multiplier.py": _CRITERIA,
    "post/criteria/peel_shear.py": _CRITERIA,
    "post/criteria/principal_stress.py": _CRITERIA,
    "post/criteria/puck.py": (*_CRITERIA, _LEAST),
    "post/criteria/raghava.py": _CRITERIA,
    "post/criteria/strengths.py": _CRITERIA,
    "post/criteria/tsai_wu.py": _CRITERIA,
    "post/criteria/void_crushing.py": (*_CRITERIA, "tests/post/test_process_strengths.py"),
    "post/criteria/von_mises.py": _CRITERIA,
    "post/strengths.py": ("tests/post/test_strengths.py", "tests/post/test_judge.py"),
    "post/knock_downs.py": ("tests/post/test_strengths.py", "tests/post/test_process_strengths.py"),
    "post/ladder.py": (*_LADDER, "tests/post/test_judge.py"),
    "post/verdict.py": ("tests/post/test_ladder.py",),
    "post/judge.py": ("tests/post/test_finding.py", "tests/post/test_judge.py"),
    "post/numerical_error.py": ("tests/post/test_numerical_error.py", "tests/post/test_judge.py"),
    "post/growth.py": ("tests/post/test_growth.py",),
    "post/life.py": ("tests/post/test_life.py", "tests/post/test_growth.py"),
    "post/bondline.py": ("tests/post/test_bondline.py",),
    "post/grid_convergence.py": ("tests/post/test_grid_convergence.py",),
    "post/places.py": ("tests/post/test_places.py",),
    "post/plain_wall.py": ("tests/post/test_plain_wall.py",),
    "post/ply_strengths.py": ("tests/post/test_strengths.py",),
    "post/toughness.py": (
        "tests/post/test_toughness.py",
        "tests/post/test_flaws.py::test_toughness_loses_what_strengths_lose",
        "tests/post/test_flaws.py::test_what_lacks_a_toughness_is_not_judged",
    ),
    "post/void_strength.py": ("tests/post/test_process_strengths.py",),
    "post/bond_fill.py": ("tests/post/test_bond_sheet.py",),
}
