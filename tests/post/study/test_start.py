"""A batch starts without what it does not use: each job of a study pays its imports again."""

import subprocess
import sys

SLOW = ("scipy.stats", "scipy.optimize", "SALib", "matplotlib", "pyvista", "jinja2")


def test_a_batch_loads_no_slow_library():
    # The interpreter's own list of modules.
    asked = f"import sys, post.study.steps; print([m for m in {SLOW} if m in sys.modules])"
    told = subprocess.run([sys.executable, "-c", asked], capture_output=True, text=True, check=True)
    assert told.stdout.strip() == "[]"
