"""Study files: what they say, and how they are refused. Our own rules; no published source."""

from __future__ import annotations

from pathlib import Path

import pytest

from geometry.errors import CaseError
from post.study.choose import count_batches, is_reduced
from post.study.spreads import Choices, Normal, Uniform
from post.study.study_file import Study, read_study

CASE = Path(__file__).parents[3] / "cases" / "lander" / "case.yaml"
GOOD = """
joint.bond_thickness.inner: {from: 1 mm, to: 2 mm}
materials.epoxy-paste.elastic.E: {mean: 2500 MPa, sd: 0.1 GPa}
"""


def study(folder: Path, vary: str = GOOD, more: str = "do: {sample: {points: 8}}") -> Study:
    path = folder / "study.yaml"
    lines = "\n".join("  " + line for line in vary.strip().splitlines())
    path.write_text(f"title: A study\ncase: {CASE}\nvary:\n{lines}\n{more}\n")
    return read_study(path)


def test_values_are_read_in_inside_units(tmp_path):
    found = study(tmp_path, GOOD + "duty.service_temperature: [2 degC, 10 degC]")
    spreads = {v.name: v.spread for v in found.variables}
    assert spreads["joint.bond_thickness.inner"] == Uniform(1.0, 2.0)
    assert spreads["materials.epoxy-paste.elastic.E"] == Normal(2500.0, 100.0, 2200.0, 2800.0)
    assert spreads["duty.service_temperature"] == Choices((275.15, 283.15))


def test_a_standard_deviation_of_a_temperature_is_a_difference(tmp_path):
    found = study(tmp_path, "duty.service_temperature: {mean: 4 degC, sd: 2 degC}")
    assert found.variables[0].spread == Normal(277.15, pytest.approx(2.0), 271.15, 283.15)


def test_a_point_is_a_case_with_the_library_card_renamed(tmp_path):
    found = study(tmp_path)
    case = found.base.point_case(
        {"joint.bond_thickness.inner": 1.25, "materials.epoxy-paste.elastic.E": 2345.0}
    )
    assert case.joint.bond_thickness.inner == 1.25
    assert case.joint.bond_thickness.end == found.case.joint.bond_thickness.end
    assert case.materials[case.joint.adhesive].constants()["E1"] == 2345.0
    assert case.joint.adhesive != found.case.joint.adhesive


def test_a_star_moves_all_entries_together(tmp_path):
    found = study(tmp_path, "ring.lip_tip.*: {from: 1 mm, to: 2 mm}")
    tip = found.base.point_case({"ring.lip_tip.*": 1.5}).ring.lip_tip
    assert (tip.inner, tip.outer) == (1.5, 1.5)


def test_what_keeps_the_shape_goes_to_the_reduced_model(tmp_path):
    assert not is_reduced(study(tmp_path))
    linear = "wall.layup[0].angles[1]: {from: 0, to: 10}\nduty.depth: {from: 2 km, to: 3 km}"
    assert is_reduced(study(tmp_path, linear))
    assert not is_reduced(study(tmp_path, linear, "do: grid\nmodes: all"))
    assert not is_reduced(study(tmp_path, "joint.adhesive: [epoxy-paste]"))


def test_batches_hold_all_points(tmp_path):
    assert count_batches(study(tmp_path, GOOD, "do: {sample: {points: 65}}\nbatch: 16")) == 5


@pytest.mark.parametrize(
    ("vary", "more", "words"),
    [
        ("joint.bond_thicknes.inner: [1 mm]", "do: grid", "did you mean 'bond_thickness'?"),
        ("joint.overlap.end: [1 mm]", "do: grid", "allowed: inner, outer"),
        ("joint.overlap.inner: [1 kg]", "do: grid", "vary.joint.overlap.inner[0]: '1 kg'"),
        ("joint.overlap.inner: [9 m]", "do: grid", "out of range; allowed: a length from 1 mm"),
        ("joint.overlap.inner: {from: 90 mm, to: 80 mm}", "do: grid", "more than 'from'"),
        ("joint.overlap.inner: {from: 90 mm, too: 80 mm}", "do: grid", "is no spread"),
        ("joint.form: {from: 1, to: 2}", "do: grid", "vary.joint.form"),
        ("mesh.level: [0, 1]", "do: grid", "cannot vary"),
        (GOOD, "do: gird", "did you mean 'grid'?"),
        (GOOD, "do: {sample: {points: 8}, grid: true}", "asks for several things"),
        (GOOD, "do: {sample: {points: 1e9}}", "do.sample.points"),
        (GOOD, "do: {sensitivity: {method: sobol, repeats: 100}}", "no power of 2"),
        (GOOD, "do: grid\nheadlines: [first_failure.dept]", "did you mean 'first_failure.depth'?"),
        (GOOD, "do: {best: {most: [mas]}}", "did you mean 'mass'?"),
        (GOOD, "do: {best: {}}", "needs one or two aims"),
        (
            "joint.bond_thickness: [1 mm]\njoint.bond_thickness.inner: [1 mm]",
            "do: grid",
            "is also varied by joint.bond_thickness",
        ),
        (
            GOOD,
            "do: grid\ncorrelated: [{fields: [joint.bond_thickness.inner, "
            "materials.epoxy-paste.elastic.E], correlation: 0.5}]",
            "with do: sample",
        ),
        (
            "joint.overlap.inner: {from: 80 mm, to: 90 mm, steps: 1000}\n"
            "joint.overlap.outer: {from: 70 mm, to: 80 mm, steps: 1000}",
            "do: grid",
            "'1,000,000 points' is not possible; allowed: up to 200,000",
        ),
    ],
)
def test_what_is_wrong_is_one_line(tmp_path, vary, more, words):
    with pytest.raises(CaseError) as error:
        study(tmp_path, vary, more)
    assert words in str(error.value)
    assert "\n" not in str(error.value)
    assert str(tmp_path / "study.yaml") in str(error.value)
