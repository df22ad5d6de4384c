"""Locks of killed runs go, those of living runs stay.

What a process holds, and that the system drops it with the process: flock(2).
"""

import signal
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
RUN = (
    "import sys, time; from pathlib import Path; from post.run_lock import clear_stale_locks; "
    "print(clear_stale_locks(Path(sys.argv[1])), flush=True); time.sleep(float(sys.argv[2]))"
)


def start(folder: Path, seconds: float) -> tuple[subprocess.Popen, str]:
    words = [sys.executable, "-c", RUN, str(folder), str(seconds)]
    process = subprocess.Popen(words, cwd=ROOT, stdout=subprocess.PIPE, text=True)
    return process, process.stdout.readline().strip()


@pytest.fixture
def lock(tmp_path):
    path = tmp_path / "locks" / "0.output.lock"
    path.parent.mkdir()
    return path


def test_only_a_dead_runs_locks_go(tmp_path, lock):
    first, alone = start(tmp_path, 60)
    assert alone == "True"
    lock.write_text("results/table.csv\n")
    second, alone = start(tmp_path, 60)
    assert alone == "False" and lock.exists()
    first.send_signal(signal.SIGKILL)
    first.wait()
    third, alone = start(tmp_path, 0)  # the second one lives, whoever made the lock
    assert third.wait() == 0 and alone == "False" and lock.exists()
    second.send_signal(signal.SIGKILL)
    second.wait()
    last, alone = start(tmp_path, 0)
    assert last.wait() == 0 and alone == "True" and not lock.exists()


def test_locks_from_another_machine_stay(tmp_path, lock):
    # some network disks lock on each machine alone, so being alone here says nothing
    (tmp_path / "running").write_text("another-machine")
    lock.write_text("results/table.csv\n")
    process, _ = start(tmp_path, 0)
    assert process.wait() == 0 and lock.exists()
