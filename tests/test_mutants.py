"""The tests notice when a formula is wrong."""

from __future__ import annotations

import subprocess
import sys

from tests.mutants.fixed import FIXED
from tests.mutants.forked import ROOT


def test_a_dozen_wrong_formulas_are_noticed() -> None:
    # In a process of its own, from which each wrong formula is forked; it ends with 1 where one
    # goes unnoticed, or where the tests named fail without any change.
    command = [sys.executable, "-m", "tests.mutants", "--fixed"]
    done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, timeout=600)
    assert done.returncode == 0, done.stdout + done.stderr
    assert done.stdout.count('"killed": true') == len(FIXED) >= 12
