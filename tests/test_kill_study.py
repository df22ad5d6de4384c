"""A study that is killed ends, when the same command is given again, with the same table."""

import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]


@pytest.mark.slow
def test_a_killed_study_gives_the_same_table():
    # Against the run that nothing disturbed, byte for byte; 20 kills: tools/kill_study.py alone.
    words = ["--kills", "2", "--in-a-row", "2", "--points", "4", "--batch", "4"]
    words = [sys.executable, str(ROOT / "tools" / "kill_study.py"), *words]
    told = subprocess.run(words, cwd=ROOT, capture_output=True, text=True)
    assert told.returncode == 0, told.stdout + told.stderr
    assert "2 kills" in told.stdout
