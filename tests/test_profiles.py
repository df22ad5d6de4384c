"""The profiles run what they say: every option known, batches cut for jobs.

What a profile may say is Snakemake's and its plugins' to know, so that each is asked with a dry
run, which submits nothing and needs no cluster. Whether jobs then run is shown by
tools/slurm_on_one_machine.py, whose last page is benchmarks/slurm.md.
"""

from __future__ import annotations

import re
import subprocess
import sys
from importlib.util import find_spec
from pathlib import Path

import pytest
from ruamel.yaml import YAML

from geometry.errors import CaseError
from post.study.choose import batch_size
from post.study.study_file import read_study

ROOT = Path(__file__).parents[1]
PROFILES = ["slurm", "kubernetes"]
STUDY = """title: A study
case: {case}
vary:
  joint.bond_thickness.inner: {{from: 1 mm, to: 2 mm}}
do: {{sample: {{points: 2000}}}}
"""
REDUCED = STUDY.replace("joint.bond_thickness.inner", "wall.layup[0].angles[1]").replace(" mm", "")


def dry_run(profile: Path, study: Path) -> subprocess.CompletedProcess[str]:
    """Plan a study in its own folder, which stands for the volume of the Kubernetes profile too."""
    name, folder = profile.name, study.parent
    volume = ["--default-storage-prefix", str(folder)] if name == "kubernetes" else []
    if find_spec(f"snakemake_executor_plugin_{name}") is None:
        pytest.skip(f"no {name} plugin: pip install -c constraints.txt -e '.[cluster]'")
    return subprocess.run(
        [sys.executable, "-m", "snakemake", "--profile", str(profile), "--directory", str(folder)]
        + ["--dry-run", "--quiet", "host", "reason", *volume]
        + ["--config", f"study={study.name}", "--", f"results/studies/{study.stem}/study.html"],
        cwd=ROOT,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
        timeout=300,
    )


def write_study(folder: Path, text: str = STUDY, more: str = "") -> Path:
    path = folder / "some.yaml"
    path.write_text(text.format(case=ROOT / "cases" / "lander" / "case.yaml") + more)
    return path


def points_a_batch(profile: str) -> int:
    return YAML(typ="safe").load(ROOT / "profiles" / profile / "workflow.yaml")["points_a_batch"]


@pytest.mark.slow
@pytest.mark.parametrize("profile", PROFILES)
def test_a_profile_cuts_a_study_into_its_batches(profile, tmp_path):
    done = dry_run(ROOT / "profiles" / profile, write_study(tmp_path))
    assert done.returncode == 0, done.stdout
    jobs = dict(re.findall(r"^(\w+) +(\d+)$", done.stdout, re.MULTILINE))
    assert int(jobs["run_batch"]) == -(-2000 // points_a_batch(profile))
    assert jobs["plan_study"] == jobs["gather_study"] == jobs["show_study"] == "1"


@pytest.mark.slow
def test_a_profile_with_an_option_that_nobody_knows_is_refused(tmp_path):
    """That the test above can fail: the plugin's options are checked, not passed over."""
    wrong = tmp_path / "slurm"
    wrong.mkdir()
    told = (ROOT / "profiles" / "slurm" / "config.yaml").read_text()
    assert told.count("slurm-init-seconds") == 1
    (wrong / "config.yaml").write_text(told.replace("slurm-init-seconds", "slurm-init-hours"))
    done = dry_run(wrong, write_study(tmp_path))
    assert done.returncode != 0
    assert "slurm-init-hours" in done.stdout


def test_a_study_comes_before_its_place_and_a_reduced_model_before_both(tmp_path):
    assert batch_size(read_study(write_study(tmp_path)), 700) == 700
    assert batch_size(read_study(write_study(tmp_path, more="batch: 16\n")), 700) == 16
    # its set-up takes longer than its points: cutting it up for jobs would only repeat that
    assert batch_size(read_study(write_study(tmp_path, REDUCED)), 700) > 2000


@pytest.mark.parametrize("wrong", [0, -1, 2.5, "many", True])
def test_points_a_batch_are_a_positive_whole_number(wrong, tmp_path):
    with pytest.raises(CaseError, match="points_a_batch"):
        batch_size(read_study(write_study(tmp_path)), wrong)
