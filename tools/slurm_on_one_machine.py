"""Try the Slurm profile for real: a cluster of one node on this machine, and a small study on it.

    python tools/slurm_on_one_machine.py [--points N] [--batch N] > benchmarks/slurm.md

Runs a study through `snakemake --profile profiles/slurm` and the same study without it; says
whether both tables are the same file, and what share of the time went into scheduling. How the
cluster comes and goes is in one_node_cluster.py; it wants root.

Scheduling
    What a job costs beside its points: how long a core stood idle before the job although the job
    was waiting, and how long the job held its core without working on points: Snakemake started in
    the job and once more in its step, Python and the study read, the table written.
"""

from __future__ import annotations

import argparse
import os
import re
import shutil
import subprocess
import sys
import tempfile
import time
from dataclasses import dataclass
from datetime import datetime
from importlib.metadata import version
from pathlib import Path

import pandas as pd
from one_node_cluster import cluster, need_daemons, said, say
from ruamel.yaml import YAML

ROOT = Path(__file__).parents[1]
STUDY = ROOT / "studies" / "joint.yaml"
ALLOWED_SHARE = 0.05
A_CHECK = 2.5  # points that take as long as solving one on the finer mesh too (measured: 2.48)


@dataclass(frozen=True)
class Job:
    """A batch's job; times in s from the first submission."""

    number: str
    submitted: float
    started: float
    ended: float


@dataclass(frozen=True)
class Cost:
    """Where the core time of a run went, in s, job by job."""

    idle: list[float]
    held: list[float]
    points: list[float]

    @property
    def start(self) -> float:
        """Scheduling of one job, mean."""
        jobs = len(self.held)
        return (sum(self.idle) + sum(self.held) - sum(self.points)) / jobs

    @property
    def share(self) -> float:
        """Scheduling as a share of the time."""
        return 1 - sum(self.points) / (sum(self.idle) + sum(self.held))


def run_study(name: str, folder: Path, points: int, *words: str) -> float:
    """Run the study under a name of its own; seconds."""
    text, changed = re.subn(r"points: \d+", f"points: {points}", STUDY.read_text())
    assert changed == 1, f"{STUDY} asks for no number of points"
    study = folder / f"{name}.yaml"
    study.write_text(text.replace("case: ..", f"case: {ROOT}"))
    shutil.rmtree(ROOT / "results" / "studies" / name, ignore_errors=True)
    start = time.monotonic()
    subprocess.run(
        [sys.executable, "-m", "snakemake", *words, f"results/studies/{name}/table.parquet"],
        cwd=ROOT,
        stdout=sys.stderr,
        check=True,
    )
    return time.monotonic() - start


def completed_jobs(record: Path) -> list[Job]:
    """Read Slurm's own record of jobs, in the order in which they started."""
    jobs = []
    for line in record.read_text().splitlines():
        told = dict(re.findall(r"(\w+)=(\S*)", line))
        assert told["JobState"] == "COMPLETED", line
        times = [
            datetime.fromisoformat(told[f"{name}Time"]).timestamp()
            for name in ("Submit", "Start", "End")
        ]
        jobs.append((told["JobId"], *times))
    first = min(submitted for _, submitted, *_ in jobs)
    moved = [Job(number, *(t - first for t in times)) for number, *times in jobs]
    return sorted(moved, key=lambda job: job.started)


def seconds_on_points(log: Path) -> float:
    """Seconds that a batch spent on its points, by the last line of its log."""
    told = re.findall(r"([\d,]+) of \1 points, ([\d.e+-]+) points/s", log.read_text())
    assert told, f"{log} does not end"
    return int(told[-1][0].replace(",", "")) / float(told[-1][1])


def count_cost(jobs: list[Job], points: list[float], cores: int) -> Cost:
    """Part each job's time; a core is idle from when it and the job were there to the start."""
    ends = sorted(job.ended for job in jobs)
    free = [0.0] * cores + ends
    idle = [max(0.0, j.started - max(j.submitted, free[i])) for i, j in enumerate(jobs)]
    return Cost(idle, [job.ended - job.started for job in jobs], points)


def batch_for(start: float, point: float) -> float:
    """Points with which a job's start is the allowed share of its time."""
    return start * (1 - ALLOWED_SHARE) / ALLOWED_SHARE / point


def report(
    cost: Cost,
    table: pd.DataFrame,
    batch: int,
    same: bool,
    local: float,
    slurm: float,
    load: float,
) -> str:
    """Write what was found as a page of Markdown."""
    points, checked = len(table), int(table["checked"].sum())
    point = sum(cost.points) / (points + A_CHECK * checked)
    usual = YAML(typ="safe").load(ROOT / "profiles" / "slurm" / "workflow.yaml")["points_a_batch"]
    rows = [
        f"| {i + 1} | {idle:.0f} | {held:.0f} | {own:.1f} | {idle + held - own:.1f} |"
        for i, (idle, held, own) in enumerate(zip(cost.idle, cost.held, cost.points, strict=True))
    ]
    slurm_version = said("sinfo", "--version").removeprefix("slurm-wlm ")
    names = ("snakemake", "snakemake-executor-plugin-slurm")
    versions = ", ".join(f"{name} {version(name)}" for name in names)
    verdict = "the same file, byte for byte" if same else "DIFFERENT from the local run's"
    return f"""# The Slurm profile on a cluster of one node

Made by `python tools/slurm_on_one_machine.py --points {points} --batch {batch}` with Slurm \
{slurm_version}, {versions}, on {os.cpu_count()} cores \
with {load:.1f} other processes at work when it began.

`studies/joint.yaml`, cut to {points} points, {batch} to a job, through
`snakemake --profile profiles/slurm` and without it. The table is {verdict}.
From start to table: {slurm:.0f} s through Slurm, {local:.0f} s without.

| job | idle before, s | held, s | on points, s | scheduling, s |
|---|---|---|---|---|
{chr(10).join(rows)}

- scheduling: a core idle while a job waited, and the job's time beside its points (Snakemake
  started in the job and in its step, the study read, the table written); Slurm's own times, to 1 s
- a job: {cost.start:.1f} s of scheduling; {point:.2f} s a point, beside the
  {checked} that were solved twice to bound the mesh error, about as many in a study of any size
- share of this run: {100 * cost.share:.1f} %
- points a job for 5 %: {batch_for(cost.start, point):.0f}
- with the profile's {usual} points a job: {100 * cost.start / (cost.start + usual * point):.1f} %
"""


def main() -> int:
    """Run both, compare, and print the page."""
    parser = argparse.ArgumentParser(description="Try the Slurm profile on this machine.")
    parser.add_argument("--points", type=int, default=16, help="points of the study (16)")
    parser.add_argument("--batch", type=int, default=4, help="points in a job (4)")
    asked = parser.parse_args()
    need_daemons()
    load = os.getloadavg()[0]
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    with tempfile.TemporaryDirectory(prefix="slurm-") as name:
        folder = Path(name)
        folder.chmod(0o755)
        size = f"points_a_batch={asked.batch}"

        def run(study: str, *words: str) -> float:
            config = ("--config", f"study={folder / study}.yaml", size, "--")
            return run_study(study, folder, asked.points, *words, *config)

        local = run("without-slurm")
        with cluster(folder):
            say("The cluster is up")
            site = ("--slurm-no-account", "--slurm-status-command", "squeue")
            kept = ("--slurm-logdir", str(folder / "logs"), "--slurm-keep-successful-logs")
            slurm = run("on-slurm", "--profile", "profiles/slurm", *site, *kept)
            jobs = completed_jobs(folder / "jobs.txt")
            results = ROOT / "results" / "studies"
            tables = [results / s / "table.parquet" for s in ("without-slurm", "on-slurm")]
            same = tables[0].read_bytes() == tables[1].read_bytes()
            # Slurm's logs are STUDY_BATCH/JOB.log and say which job evaluated which batch.
            batches = {log.stem: log.parent.name[-4:] for log in folder.glob("logs/*/*/*.log")}
            logs = [results / "on-slurm" / "logs" / f"batch-{batches[j.number]}.log" for j in jobs]
            cost = count_cost(jobs, [seconds_on_points(log) for log in logs], os.cpu_count() or 1)
            table = pd.read_parquet(tables[1])
            print(report(cost, table, asked.batch, same, local, slurm, load), end="")
    return 0 if same else 1


if __name__ == "__main__":
    sys.exit(main())
