"""Batches lose nothing when they are killed, and give the same table after all."""

from __future__ import annotations

import json
import os
import random
import signal
import subprocess
import sys
import time
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from geometry.case import read_case
from geometry.errors import CaseError
from post.study import batches
from post.study.batches import Kept, evaluate_batch, points_digest
from post.study.models import FunctionModel
from post.study.steps import batch

ROOT = Path(__file__).parents[3]

# A batch of 60 points of 20 ms each, which are kept every 50 ms.
SCRIPT = """
import sys, time
from pathlib import Path
import numpy as np, pandas as pd
from post.study import batches
from post.study.models import FunctionModel
from post.study.steps import batch
batches.KEEP_EVERY = 0.05
log = open(sys.argv[3], "a")
def slow(values):
    time.sleep(0.02)
    print(values["point"], file=log, flush=True)
    if values["point"] % 7 == 3:
        from geometry.errors import CaseError
        raise CaseError("point", "x", reason="cannot be")
    return {"y": float(np.sin(values["x"])) / 3, "z": float("inf")}
points = pd.DataFrame({"point": range(60), "x": np.linspace(0, 1, 60)})
kept = batches.Kept(Path(sys.argv[1]), "digest")
table = batches.evaluate_batch(FunctionModel(slow, ("y", "z")), points, kept, "test")
table.to_parquet(sys.argv[2])
"""


def run_batch(folder: Path, kill_after: int | None = None) -> None:
    """Run the batch, or kill it once it has evaluated so many points more."""
    words = [sys.executable, "-c", SCRIPT, *(str(folder / n) for n in ("kept", "out", "log"))]
    process = subprocess.Popen(words, cwd=ROOT, env={**os.environ, "PYTHONPATH": str(ROOT)})
    if kill_after is None:
        assert process.wait(120) == 0
        return
    log = folder / "log"
    before, started = len(log.read_text().split()) if log.exists() else 0, time.monotonic()
    while time.monotonic() - started < 60:
        if log.exists() and len(log.read_text().split()) >= before + kill_after:
            break
        time.sleep(0.005)
    process.send_signal(signal.SIGKILL)
    process.wait()


@pytest.mark.slow
def test_a_batch_killed_at_random_moments_gives_the_table_of_one_that_was_not(tmp_path):
    # Seeded moments; the kill is SIGKILL, which nothing can catch.
    whole, killed = tmp_path / "whole", tmp_path / "killed"
    whole.mkdir()
    killed.mkdir()
    run_batch(whole)
    rng = random.Random(1)
    for _ in range(3):
        run_batch(killed, rng.randint(6, 16))
        assert not (killed / "out").exists()
    kept = [json.loads(line) for line in (killed / "kept").read_text().splitlines()[1:]]
    assert 5 < len(kept) < 60
    run_batch(killed)
    one, two = (pd.read_parquet(folder / "out") for folder in (whole, killed))
    pd.testing.assert_frame_equal(one, two, check_exact=True)
    assert one["status"].value_counts().to_dict() == {"solved": 51, "refused": 9}
    # finished points were not evaluated again: only the last few before each kill were
    evaluated = len((killed / "log").read_text().split())
    assert evaluated < 60 + 3 * 8
    # what stands goes only with the table of the whole study
    assert len((killed / "kept").read_text().splitlines()) == 61


def test_rows_of_another_study_or_version_are_not_taken_up(tmp_path):
    points = pd.DataFrame({"point": [0, 1], "x": [0.1, 0.2]})
    model = FunctionModel(lambda v: {"y": v["x"]}, ("y",))
    first = Kept(tmp_path / "kept", points_digest("one", points))
    evaluate_batch(model, points, first, "test", lambda text: None)
    first.keep()
    assert len(Kept(tmp_path / "kept", points_digest("one", points)).rows) == 2
    assert Kept(tmp_path / "kept", points_digest("two", points)).rows == []
    moved = points.assign(x=[0.1, np.nextafter(0.2, 1)])
    assert Kept(tmp_path / "kept", points_digest("one", moved)).rows == []


def test_a_torn_file_is_begun_anew(tmp_path):
    (tmp_path / "kept").write_text('"digest"\n{"y": 1.0')
    assert Kept(tmp_path / "kept", "digest").rows == []


def test_a_kept_number_that_changed_since_is_not_taken_up(tmp_path):
    # one bit, and still a number
    first = Kept(tmp_path / "kept", "digest")
    first.rows = [{"y": 1.0}]
    first.keep()
    assert Kept(tmp_path / "kept", "digest").rows == first.rows
    (tmp_path / "kept").write_text((tmp_path / "kept").read_text().replace("1.0", "3.0"))
    assert Kept(tmp_path / "kept", "digest").rows == []


def test_what_was_found_is_kept_when_a_point_breaks(tmp_path):
    def breaks(values):
        if values["x"] > 0.5:
            raise RuntimeError
        return {"y": 1.0}

    points = pd.DataFrame({"point": range(4), "x": [0.1, 0.2, 0.3, 0.9]})
    with pytest.raises(RuntimeError):
        kept = Kept(tmp_path / "kept", "digest")
        evaluate_batch(FunctionModel(breaks, ("y",)), points, kept, "test", lambda text: None)
    assert len(Kept(tmp_path / "kept", "digest").rows) == 3


def test_progress_tells_rate_and_time_left(tmp_path, monkeypatch):
    monkeypatch.setattr(batches, "TELL_EVERY", 0.0)
    told = []
    points = pd.DataFrame({"point": range(4), "x": 0.0})
    model = FunctionModel(lambda v: time.sleep(0.05) or {"y": 1.0}, ("y",))
    evaluate_batch(model, points, Kept(tmp_path / "kept", "digest"), "batch 0", told.append)
    assert told[0].startswith("batch 0: 1 of 4 points")
    rate = float(told[1].split(", ")[1].split()[0])
    assert 5 < rate < 20
    assert told[-1].endswith("0 s left")


def test_masses_of_a_plain_tube_and_cap():
    # Volumes by hand: a tube of bore 100 and outside 112 mm and a hemisphere on it.
    from geometry.forms import draw_section
    from geometry.seawater import density_at, duty_pressure
    from post.study.weights import displaced_mass, mass

    case = read_case(ROOT / "cases" / "minimal" / "case.yaml")
    section = draw_section(case)
    ring_end = 200 + 0.5 + 20  # wall, bond, web
    middle = 106.0  # the hemisphere stands centred on mid-wall, 12 mm thick
    inner, outer = middle - 6, middle + 6
    volume = 2 * (np.pi * 112**2 * ring_end + 2 / 3 * np.pi * outer**3)
    density = density_at(duty_pressure(case))
    assert displaced_mass(case, section) == pytest.approx(1000 * density * volume, rel=1e-4)
    cards = case.materials
    annulus = np.pi * (112**2 - 100**2)
    metal = annulus * 20 + 2 / 3 * np.pi * (outer**3 - inner**3)
    tonnes = 2 * (
        annulus * 200 * cards["glass-epoxy-a"].density.value
        + annulus * 0.5 * cards["epoxy-paste"].density.value
        + metal * cards["aluminium-6061-t6"].density.value
    )
    assert mass(case, section) == pytest.approx(1000 * tonnes, rel=1e-4)


def test_a_wrong_word_on_the_command_line_is_refused_in_one_line(tmp_path):
    study = str(ROOT / "studies" / "joint.yaml")
    for step, rest in (("study_batch", ["0000", "out"]), ("study_gather", ["batches", "a", "b"])):
        words = [study, "points", "ten", *rest] if step == "study_batch" else [study, "0", *rest]
        told = subprocess.run(
            [sys.executable, "-m", "post", step, *words],
            cwd=ROOT,
            capture_output=True,
            text=True,
            check=False,
        )
        assert told.returncode == 1 and told.stderr.count("\n") == 1
        assert f"{step}: size: " in told.stderr and "a whole number from 1 on" in told.stderr
    with pytest.raises(CaseError, match="batch: '9999' is no batch; allowed: 0000 to "):
        batch(Path(study), tmp_path / "points.parquet", 100, Path("9999"), tmp_path / "out")
