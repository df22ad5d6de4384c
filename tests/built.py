"""A copy of the project with its demo built by the workflow, which several tests share."""

from __future__ import annotations

import shutil
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).parents[1]
OWN = """mesh: {level: 0, target: 2 %}
materials:
  my-paste:
    kind: adhesive
    source: assumed
    basis: assumed
    density: 1250 kg/m^3
    elastic: {symmetry: isotropic, E: 2.8 GPa, nu: 0.37, cte: 60e-6 /K}
    strengths: {tensile: 41 MPa, compressive: 55 MPa, shear_yield: 34 MPa}
    toughness: {GIc: 0.9 kJ/m^2}
"""


def snakemake(folder: Path, *words: str) -> subprocess.CompletedProcess[str]:
    """Run Snakemake in a folder, its messages and what it prints in one text."""
    return subprocess.run(
        [sys.executable, "-m", "snakemake", *words],
        cwd=folder,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
        timeout=1200,
    )


def copy_project(folder: Path) -> None:
    """Copy what the workflow needs; the demo on the coarsest mesh and with its own paste."""
    for name in ("Snakefile", "environment.yaml"):
        shutil.copy(ROOT / name, folder)
    for name in ("profiles", "geometry", "solve", "post", "cases"):
        shutil.copytree(ROOT / name, folder / name, ignore=shutil.ignore_patterns("__pycache__"))
    case = folder / "cases/lander/case.yaml"
    text = case.read_text()
    assert text.count("adhesive: epoxy-paste\n") == 1
    case.write_text(text.replace("adhesive: epoxy-paste", "adhesive: my-paste") + OWN)


def build_demo(folder: Path) -> None:
    """Build the demo's report in a copy of the project."""
    done = snakemake(folder)
    assert done.returncode == 0, done.stdout
