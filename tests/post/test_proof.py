"""Proof tests with known truth, made up here; no published source, the claims are the project's.

The predictions are invented numbers of the size a socket joint gives: gauges far from the joint do
not feel its stiffness, those on the lips do.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from geometry.errors import CaseError
from geometry.gauges import Proof
from post.gauge_strains import Prediction
from post.proof import GaugeResult, compare, joint_by_dive
from post.proof_acoustic import Emission, felicity, read_emission, trend
from post.proof_demo import INVENTED, Truth, invent_hits, write_demo
from post.proof_findings import Finding, findings, verdict
from post.proof_read import read_strains, split_dives

FULL = 33.5
SEEDS = range(12)
HEALTHY = Truth()


def gauge(name: str, per_MPa: float, half: float, quarter: float) -> Prediction:
    """Give a gauge with its strain per MPa in microstrain, and what softer bonds make of it."""
    k = 1e-6 * per_MPa
    return Prediction(
        name,
        part="ring",
        face="outside",
        direction="hoop",
        r=180.0,
        z=240.0,
        per_MPa=k,
        per_K=8e-6,
        error=0.001 * abs(k),
        low=0.0,
        high=0.0,
        softer=(half * k, quarter * k),
    )


GAUGES = (
    gauge("hull-hoop", -64.6, 1.0, 1.0),
    gauge("hull-axial", -34.5, 1.0, 1.0),
    gauge("wall-at-lip", -48.5, 0.965, 0.941),
    gauge("bore-at-lip", -42.3, 0.953, 0.911),
    gauge("lip-hoop", -54.0, 1.04, 1.115),
    gauge("lip-tip", -11.5, 0.744, 0.449),
    gauge("lip-root", -13.1, 0.895, 0.813),
    gauge("inner-lip", -6.1, 0.521, 0.070),
    gauge("web-hoop", -27.8, 1.005, 1.014),
)
NAMES = [one.name for one in GAUGES]


def diagnose(truth: Truth, folder: Path) -> tuple[tuple[Finding, ...], tuple[GaugeResult, ...]]:
    """Write an invented test, read it back and say what it speaks for."""
    write_demo(GAUGES, FULL, folder, truth)
    measured = read_strains(folder / "strain.csv", NAMES)
    proof = Proof()
    results = compare(GAUGES, measured, proof, FULL)
    heard = felicity(read_emission(folder / "acoustic.csv"), proof.onset_hits)
    return findings(results, joint_by_dive(results), heard, proof), results


def truth(seed: int, **what: object) -> Truth:
    return Truth(**{"seed": seed, **what})  # type: ignore[arg-type]


@pytest.mark.parametrize("seed", SEEDS)
def test_a_healthy_test_raises_nothing(seed: int, tmp_path: Path) -> None:
    found, results = diagnose(truth(seed), tmp_path)
    assert found == ()
    assert verdict(found).startswith("Nothing")
    # slopes come back: the noise of 80 rows leaves well below 1 %
    assert [one.last.ratio for one in results] == pytest.approx([1.0] * len(GAUGES), abs=0.01)


@pytest.mark.parametrize("seed", SEEDS)
def test_one_drifted_gauge_and_one_soft_joint_are_told_apart(seed: int, tmp_path: Path) -> None:
    soft = (0.6, 0.57, 0.54, 0.51, 0.48)
    found, _ = diagnose(truth(seed, stiffness=soft, drift={"web-hoop": -14e-6}), tmp_path)
    assert [one.kind for one in found] == ["joint", "drift"]
    joint, drift = found
    assert drift.gauges == ("web-hoop",)
    assert "no other gauge moved" in drift.words
    assert {"lip-tip", "inner-lip"} <= set(joint.gauges)
    assert not {"hull-hoop", "hull-axial", "web-hoop"} & set(joint.gauges)


@pytest.mark.parametrize("share", [0.75, 0.5, 0.3])
def test_the_stiffness_of_a_soft_joint_comes_back(share: float, tmp_path: Path) -> None:
    write_demo(GAUGES, FULL, tmp_path, Truth(stiffness=(share,) * 5))
    results = compare(GAUGES, read_strains(tmp_path / "strain.csv", NAMES), Proof(), FULL)
    assert [one.share for one in joint_by_dive(results)] == pytest.approx([share] * 5, rel=0.03)


@pytest.mark.parametrize("seed", SEEDS)
@pytest.mark.parametrize("name", ["hull-hoop", "lip-tip"])
def test_one_gauge_that_reads_wrong_is_no_soft_joint(name: str, seed: int, tmp_path: Path) -> None:
    found, _ = diagnose(truth(seed, scale={name: 0.75}), tmp_path)
    assert [(one.kind, one.gauges) for one in found] == [("slope", (name,))]


def test_a_gauge_that_reads_wrong_beside_a_soft_joint_is_named_alone(tmp_path: Path) -> None:
    found, _ = diagnose(truth(1, stiffness=(0.5,) * 5, scale={"hull-axial": 1.2}), tmp_path)
    assert [(one.kind, one.gauges) for one in found[1:]] == [("slope", ("hull-axial",))]
    assert found[0].kind == "joint" and "hull-axial" not in found[0].gauges


@pytest.mark.parametrize(
    ("what", "kind", "value"), [("bend", "nonlinearity", 0.06), ("loop", "hysteresis", 0.05)]
)
def test_a_bend_and_a_loop_come_back_in_size(
    what: str, kind: str, value: float, tmp_path: Path
) -> None:
    found, results = diagnose(truth(1, **{what: {"hull-hoop": value}}), tmp_path)
    assert (kind, ("hull-hoop",)) in [(one.kind, one.gauges) for one in found]
    last = getattr(results[0].last, kind)
    # made as 4 v x (1 - x) of the full strain in a dive to full pressure, x from 0 to 1: the loop
    # is v wide in its middle. Of x (1 - x) least squares make the level line 1/6 on [0, 1]: the
    # ends are off by 1/6, the largest distance, and 4 v / 6 of the span is the bend.
    assert last == pytest.approx(value if what == "loop" else 4 * value / 6, abs=0.004)


def test_many_gauges_that_drift_speak_for_the_hull(tmp_path: Path) -> None:
    found, _ = diagnose(truth(1, drift={"hull-hoop": -20e-6, "web-hoop": -14e-6}), tmp_path)
    words = [one.words for one in found if one.kind == "drift"]
    assert len(words) == 2 and all("the hull itself may have set" in one for one in words)


def test_a_slope_that_changes_is_named(tmp_path: Path) -> None:
    # no stiffness of the joint moves a gauge far from it: what changes there is its own
    pressure, rows = np.concatenate([np.linspace(0, 30, 40), np.linspace(30, 0, 40)]), []
    for factor in (1.0, 1.04):
        rows += [f"{p:.3f}, {-64.6 * factor * p:.2f}" for p in pressure]
    path = tmp_path / "strain.csv"
    path.write_text("\n".join(["pressure [MPa], hull-hoop [microstrain]", *rows]), "utf-8")
    results = compare(GAUGES, read_strains(path, NAMES), Proof(), 30.0)
    found = findings(results, joint_by_dive(results), (), Proof())
    assert [one.kind for one in found] == ["slope change"]
    assert "+4.0 %" in found[0].words


def test_the_felicity_ratio_is_the_onset_over_the_load_before() -> None:
    # by hand: borne 20 MPa, then ten hits by 18 MPa: 18 / 20; then silence up to 22 MPa, so no
    # onset and a bound of 22 / 22 = 1; then ten hits at 24.2 MPa: 1.1
    dives = [
        Emission(np.array([0.0, 10, 20]), np.array([0.0, 12, 30])),
        Emission(np.array([0.0, 15, 18, 22]), np.array([0.0, 9, 10, 40])),
        Emission(np.array([0.0, 22]), np.array([0.0, 3])),
        Emission(np.array([0.0, 22, 24.2]), np.array([0.0, 9, 11])),
    ]
    first, early, silent, late = felicity(dives, 10)
    assert np.isnan(first.ratio) and first.kaiser is None
    assert early.ratio == pytest.approx(0.9) and early.kaiser is False
    assert silent.ratio == pytest.approx(1.0) and silent.bound and silent.kaiser
    assert late.ratio == pytest.approx(1.1) and late.kaiser
    assert [one.below(0.95) for one in (first, early, silent, late)] == [False, True, False, False]


def test_a_silent_shallow_dive_proves_no_kaiser_effect() -> None:
    dives = [
        Emission(np.array([0.0, 20]), np.array([0.0, 30])),
        Emission(np.array([0.0, 10]), np.array([0.0, 0])),
    ]
    shallow = felicity(dives, 10)[1]
    assert shallow.kaiser is None and not shallow.below(0.95)


@pytest.mark.parametrize("seed", SEEDS)
def test_early_emission_is_found_and_healthy_is_not(seed: int, tmp_path: Path) -> None:
    found, _ = diagnose(truth(seed, ratios=(0.99, 0.97, 0.93, 0.9)), tmp_path)
    assert [one.kind for one in found] == ["emission"]
    assert "in dive 4," in found[0].words and "in dive 3" not in found[0].words
    ratios = [one.ratio for one in felicity(read_emission(tmp_path / "acoustic.csv"), 10)[1:]]
    for ratio, made in zip(ratios, (0.99, 0.97, 0.93, 0.9), strict=True):
        assert made - 0.001 <= ratio <= made + 0.01  # onset is seen a row late: 1 in 160 of a dive


def test_the_trend_is_that_of_a_straight_line() -> None:
    # ratios 1.0, 0.97, 0.94, 0.91 fall by 0.03 a dive
    top = [20.0, 20.0, 20.0, 20.0, 20.0]
    dives = [Emission(np.array([0.0, 1, 20]), np.array([0.0, 10, 11]))]
    dives += [
        Emission(np.array([0.0, 20 * ratio, peak]), np.array([0.0, 10, 11]))
        for ratio, peak in zip((1.0, 0.97, 0.94, 0.91), top, strict=False)
    ]
    slope, error = trend(felicity(dives, 10))
    assert slope == pytest.approx(-0.03) and error == pytest.approx(0, abs=1e-12)


def test_hits_of_a_test_count_on_from_dive_to_dive() -> None:
    hits = [hits for _, _, hits in invent_hits(FULL, HEALTHY)]
    assert hits == sorted(hits)


def test_units_of_the_header_are_minded(tmp_path: Path) -> None:
    path = tmp_path / "strain.csv"
    rows = "\n".join(f"{p}, {-0.01 * p}, 1" for p in [*range(0, 300, 20), *range(300, -1, -20)])
    path.write_text(f"# a note\npressure [bar], hull-hoop [mm/m], time [s]\n{rows}\n", "utf-8")
    measured = read_strains(path, NAMES)
    assert measured.pressure.max() == pytest.approx(30.0)  # 300 bar
    assert measured.strains["hull-hoop"].min() == pytest.approx(-0.003)  # -3 mm/m
    assert measured.notes == ("a note",)
    # -3e-3 over 30 MPa is -100 microstrain per MPa, predicted are -64.6
    (result,) = compare(GAUGES, measured, Proof(), 30.0)
    assert result.last.ratio == pytest.approx(100 / 64.6, rel=1e-9)


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("pressure [MPa], hull-hop [microstrain]\n0, 1", "did you mean 'hull-hoop'?"),
        ("pressure [MPa], hull-hoop [mikrostrain]\n0, 1", "did you mean 'microstrain'?"),
        ("pressure [MPa], hull-hoop\n0, 1", "hull-hoop: has no unit"),
        ("pressure [mm], hull-hoop [microstrain]\n0, 1", "is not a pressure"),
        ("hull-hoop [microstrain]\n1", "pressure: is missing"),
        ("pressure [MPa], hull-hoop [microstrain]\n0, 1\nx, 2", ":3: pressure: 'x' is no number"),
        ("pressure [MPa], hull-hoop [microstrain]\n0, 1\n, 2", ":3: pressure: is empty"),
        ("pressure [MPa], hull-hoop [microstrain]\n0, 1, 2", "has 3 fields"),
        ("pressure [MPa], pressure [MPa]\n0, 1", "stands there twice"),
        ("pressure [MPa], hull-hoop [microstrain]\n", "has no rows"),
        ("pressure [MPa], hull-hoop [microstrain]\n0, 1\n0, 2", "has no dive"),
        ("pressure [MPa]\n0\n1", "has no gauge"),
    ],
)
def test_a_broken_table_is_refused_in_one_line(text: str, told: str, tmp_path: Path) -> None:
    path = tmp_path / "strain.csv"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(CaseError) as refused:
        read_strains(path, NAMES)
    assert told in str(refused.value) and "\n" not in str(refused.value)


def test_hits_that_fall_are_refused(tmp_path: Path) -> None:
    path = tmp_path / "acoustic.csv"
    path.write_text("pressure [MPa], hits\n0, 0\n10, 5\n20, 4\n0, 4\n", encoding="utf-8")
    with pytest.raises(CaseError, match="falls"):
        read_emission(path)


def test_missing_strains_are_left_out_and_too_few_are_told(tmp_path: Path) -> None:
    path = tmp_path / "strain.csv"
    rows = [f"{p}, {-64.6 * p if p % 2 else ''}, {'' if p > 5 else -34.5 * p}" for p in range(31)]
    head = "pressure [MPa], hull-hoop [microstrain], hull-axial [microstrain]"
    path.write_text("\n".join([head, *rows]), encoding="utf-8")
    results = compare(GAUGES, read_strains(path, NAMES), Proof(), 30.0)
    assert results[0].last.ratio == pytest.approx(1.0, rel=1e-9)
    found = findings(results, joint_by_dive(results), (), Proof())
    assert [(one.kind, one.gauges) for one in found] == [("rows", ("hull-axial",))]


def test_dives_are_told_apart_with_holds_and_noise_at_the_surface() -> None:
    one = [0.0, 0.1, 10, 20, 20, 19.9, 20, 10, 0.1]
    dives = split_dives(np.array([*one, 0.0, 0.2, *one, 0.05]))
    assert [(d.first, d.last) for d in dives] == [(0, 9), (11, 20)] or len(dives) == 2
    assert [d.peak for d in dives] == [3, 14]


def test_an_invented_test_says_so_in_its_first_line(tmp_path: Path) -> None:
    write_demo(GAUGES, FULL, tmp_path)
    for name in ("strain.csv", "acoustic.csv"):
        assert (tmp_path / name).read_text("utf-8").splitlines()[0] == f"# {INVENTED}"
