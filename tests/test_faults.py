"""Results bear faults and are the same every time; the short form of tools/faults.py.

Everything is measured against the run that nothing disturbed, byte for byte, or to 1e-12 where
numbers are compared. What a kill leaves is SIGKILL's (signal(7): it cannot be caught).
"""

import importlib
import os
import subprocess
import sys
from pathlib import Path

import pytest

pytestmark = pytest.mark.slow

ROOT = Path(__file__).parents[1]
NUMBERS = "answer.npz", "bondline.parquet", "ladder.csv", "summary.json"


@pytest.fixture(scope="module")
def trial(built, tmp_path_factory):
    """Copy the demo that the run of the tests has built."""
    sys.path.append(str(ROOT / "tools"))
    faults = importlib.import_module("fault_trial")
    return faults.Trial(built, "lander").copy(tmp_path_factory.mktemp("faults") / "copy")


@pytest.fixture(scope="module")
def wanted(trial):
    return trial.fingerprint()


def step(folder, *words, **environment):
    """Run a step by hand: exit code, what it printed, and its complaints."""
    done = subprocess.run(
        [sys.executable, "-m", *map(str, words)],
        cwd=folder,
        env={**os.environ, **environment},
        capture_output=True,
        text=True,
    )
    return done.returncode, done.stdout, done.stderr


def test_another_start_gives_the_same_numbers(trial, wanted, tmp_path):
    # other hash seed and process; threads add up in another order, which a ladder's search shows
    here, there = trial.results, tmp_path / "lander"
    other = {"PYTHONHASHSEED": "77", "OPENBLAS_NUM_THREADS": "1"}
    inputs, mesh, answer = there / "inputs.yaml", there / "mesh.msh", there / "answer.npz"
    tables = [there / name for name in ("bondline.csv", "bondline.parquet", "ladder.csv")]
    for words in (
        ("geometry", "check", trial.case, inputs),
        ("geometry", "mesh", trial.case, mesh),
        ("solve", "joint", trial.case, mesh, answer),
        ("post", "bondline", inputs, mesh, answer, here / "buckling.npz", here / "flaws.npz")
        + (*tables, there / "summary.json", there / "finer.npz"),
    ):
        assert step(trial.folder, *words, **other) == (0, "", "")
    compare = importlib.import_module("post.same_numbers").differences
    apart = {name: far for name, far in compare(here, there).items() if (there / name).exists()}
    assert set(NUMBERS) <= apart.keys()
    assert max(apart.values()) <= 1e-12
    assert (there / "mesh.msh").read_bytes() == (here / "mesh.msh").read_bytes()


def test_a_manifest_tells_what_changed_since(trial, wanted, tmp_path):
    check = ("post", "check_manifest", "results/lander")
    code, said, _ = step(trial.folder, *check)
    assert (code, said) == (
        0,
        f"results/lander: all {len(wanted) - 1} files are those of the manifest\n",
    )
    report = tmp_path / "saved.html"
    report.write_bytes((trial.results / "report.html").read_bytes())
    saved = ("post", "check_report", report, "results/lander/manifest.json")
    assert step(trial.folder, *saved)[0] == 0
    report.write_bytes(report.read_bytes().replace(b"peel", b"pull", 1))
    code, _, complaint = step(trial.folder, *saved)
    assert (code, complaint.count("\n")) == (1, 1)

    ladder, drawing = trial.results / "ladder.csv", trial.results / "section.svg"
    old = ladder.read_bytes(), drawing.read_bytes()
    ladder.write_bytes(old[0].replace(b"1", b"2", 1))
    drawing.unlink()
    try:
        code, _, complaint = step(trial.folder, *check)
    finally:
        ladder.write_bytes(old[0])
        drawing.write_bytes(old[1])
    assert code == 1
    assert sorted(complaint.splitlines()) == [
        "results/lander/ladder.csv: not the file of the manifest",
        "results/lander/section.svg: missing",
    ]


@pytest.mark.parametrize(
    "name", ["inputs.yaml", "mesh.msh", "answer.npz", "buckling.npz", "bondline.parquet"]
)
def test_a_step_refuses_a_damaged_file_in_one_line(trial, wanted, tmp_path, name):
    path = trial.results / name
    whole = path.read_bytes()
    inputs = "inputs.yaml mesh.msh answer.npz buckling.npz bondline.parquet".split()
    flipped = bytearray(whole)
    flipped[len(whole) // 2] ^= 1
    path.write_bytes(bytes(flipped))
    try:
        words = [trial.results / word for word in inputs]
        code, said, complaint = step(trial.folder, "post", "figures", *words, tmp_path / "figures")
    finally:
        path.write_bytes(whole)
    assert (code, said) == (1, "")
    assert (
        complaint == f"{path}: changed or damaged since it was written; delete it and run again\n"
    )


def test_a_run_killed_while_it_writes_is_done_again_and_ends_the_same(trial, wanted):
    faults = importlib.import_module("fault_trial")
    for name in ("fields.vtu", "manifest.json"):
        (trial.results / name).unlink()
    assert faults.kill_at(trial.start(), lambda: bool(trial.being_written()))
    assert not (trial.results / "manifest.json").exists()
    trial.finish()
    trial.must_equal(wanted)


def test_a_clock_set_back_leaves_nothing_stale(trial, wanted):
    # every result from tomorrow, the edited case from yesterday, killed after the first step
    text = trial.case.read_text()
    ahead, back = (trial.case.stat().st_mtime + days * 86400 for days in (1, -1))
    for path in trial.results.rglob("*"):
        os.utime(path, (ahead, ahead))
    assert trial.plan() == set()
    trial.case.write_text(text.replace("depth: 3000 m", "depth: 3100 m"))
    os.utime(trial.case, (back, back))
    code, said = trial.run("--", "results/lander/inputs.yaml")
    assert code == 0, said
    os.utime(trial.results / "inputs.yaml", (back, back))
    stale = {"tabulate_bondline", "cost_process", "draw_figures", "write_report", "write_manifest"}
    assert stale <= trial.plan()
