"""Points of a joint: reruns are bit for bit, errors are what they say, both models agree."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from post.study.choose import model_of
from post.study.models import JointModel
from post.study.plans import plan_points
from post.study.set_up import model_in, write_set_up
from post.study.steps import batch as evaluate
from post.study.steps import gather_batches, plan, point_case, run
from post.study.study_file import read_study

pytestmark = pytest.mark.slow

CASE = Path(__file__).parents[3] / "cases" / "minimal" / "case.yaml"
GEOMETRY = """
title: Bond and web
case: {case}
vary:
  joint.bond_thickness: {{from: 0.3 mm, to: 0.9 mm}}
  ring.web: [20 mm, 25 mm]
  head.thickness: [12 mm, 90 mm]
do: {{sample: {{points: 12}}}}
batch: 5
headlines: [first_failure.depth, first_failure.mode, end.peel.mean, mass]
"""


def test_a_study_runs_in_batches_and_again_bit_for_bit(tmp_path):
    path = tmp_path / "small.yaml"
    path.write_text(GEOMETRY.format(case=CASE))
    run(path, tmp_path / "one")
    table = pd.read_parquet(tmp_path / "one" / "table.parquet")
    assert len(list((tmp_path / "one" / "batches").glob("*.parquet"))) == 3
    # a head of 90 mm does not stand on the ring: those points are rows with their reason
    thick = table["head.thickness"] == 90
    assert (table["status"] == np.where(thick, "refused", "solved")).all()
    assert table.loc[thick, "reason"].str.contains("head").all()
    assert table.loc[~thick, "first_failure.depth"].notna().all()

    plan(path, tmp_path / "two" / "points.parquet")
    for name in ("0002", "0000", "0001"):  # in any order
        out = tmp_path / "two" / "batches" / f"{name}.parquet"
        evaluate(path, tmp_path / "two" / "points.parquet", 5, Path(name), out)
    files = tmp_path / "t.parquet", tmp_path / "t.csv"
    gather_batches(path, 5, tmp_path / "two" / "batches", *files)
    pd.testing.assert_frame_equal(table, pd.read_parquet(tmp_path / "t.parquet"), check_exact=True)

    at = int(table.index[~thick][0])
    case = point_case(path, str(at))
    assert case.joint.bond_thickness.end == table["joint.bond_thickness"][at]
    assert "point" in case.title


def test_reduced_and_full_points_agree(tmp_path):
    # Two ways to one number on one mesh: the estimate of the reduction bounds their difference.
    path = tmp_path / "linear.yaml"
    path.write_text(
        f"title: Moduli\ncase: {CASE}\nvary:\n"
        "  materials.epoxy-paste.elastic.E: {from: 2 GPa, to: 3 GPa}\n"
        "  materials.glass-epoxy-a.elastic.E1: {from: 45 GPa, to: 60 GPa}\n"
        "  wall.layup[0].angles[2]: {from: 0, to: 20}\n"
        "  duty.service_temperature: {from: 0 degC, to: 20 degC}\n"
        "  duty.depth: {from: 800 m, to: 1200 m}\n"
        "  knock_downs[0].factor: {from: 0.7, to: 0.9}\n"
        "do: {sample: {points: 12}}\n"
        "headlines: [first_failure.depth, first_failure.ratio, first_failure.mode, "
        "end.peel-and-shear.depth, end.yield-of-the-adhesive.pressure, end.shear.mean, "
        "end.peel.largest, mass, weight_in_water]\n"
    )
    text = CASE.read_text() + "\nknock_downs:\n  - {on: adhesive, factor: 0.8, reason: wet}\n"
    (tmp_path / "case.yaml").write_text(text)
    path.write_text(path.read_text().replace(str(CASE), "case.yaml"))
    study = read_study(path)
    points = plan_points(study.ask.do, study.variables, (), 1)
    reduced = pd.DataFrame(list(model_of(study).rows(points)))
    full = pd.DataFrame(list(JointModel(study.base, study.headlines, "bonds", 0).rows(points)))
    assert (reduced["status"] == "solved").all()
    assert (reduced["first_failure.mode"] == full["first_failure.mode"]).all()
    for name in study.headlines:
        if name.endswith(".mode"):
            continue
        one, two = (table[name].to_numpy(float) for table in (reduced, full))
        same = (one == two) & np.isinf(one)
        estimate = reduced.get(f"reduction:{name}", pd.Series(0.0, range(12))).to_numpy(float)
        room = estimate + 1e-9 * np.abs(one)  # rounding, where the estimate is nil
        assert (same | (np.abs(one - two) <= room)).all(), name
        if name.endswith((".depth", ".pressure", ".ratio")):  # target 0.1 % of a pressure
            known = np.isfinite(one)
            assert (estimate[known] <= 1.05e-3 * one[known]).all()  # depth bends with pressure
    assert "finer:first_failure.depth" in reduced


def test_a_set_up_that_was_stored_gives_the_same_rows_and_serves_no_other_study(tmp_path):
    # Against the model that is set up in the same process, bit for bit.
    text = (
        f"title: Moduli\ncase: {CASE}\nvary:\n"
        "  materials.epoxy-paste.elastic.E: {from: 2 GPa, to: 3 GPa}\n"
        "  duty.service_temperature: {from: 0 degC, to: 20 degC}\n"
        "do: {sample: {points: 8}}\n"
    )
    (tmp_path / "one.yaml").write_text(text)
    study = read_study(tmp_path / "one.yaml")
    write_set_up(study, tmp_path / "reduced.pickle")
    points = plan_points(study.ask.do, study.variables, (), 1)
    loaded, own = model_in(study, tmp_path), model_of(study)
    assert loaded.joint is not None and own.joint is None
    loaded.every = own.every = 0
    assert list(loaded.rows(points)) == list(own.rows(points))

    for change, kept in (("points: 8", "points: 16"), True), (("3 GPa", "3.1 GPa"), False):
        (tmp_path / "two.yaml").write_text(text.replace(*change))
        model = model_in(read_study(tmp_path / "two.yaml"), tmp_path)
        assert (model.joint is not None) == kept
