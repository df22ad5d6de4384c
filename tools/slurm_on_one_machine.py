"""Try the Slurm profile for real: a cluster of one node on this machine, and a small study on it.

    python tools/slurm_on_one_machine.py [--points N] [--batch N] > benchmarks/slurm.md

Starts munged, slurmctld and slurmd of its own, on the loopback address, with all their files in a
temporary folder, to which /etc/slurm/slurm.conf points meanwhile. Runs a study through `snakemake
--profile profiles/slurm` and the same study without it, and stops the daemons whatever happens.
Says whether both tables are the same file, and what share of the time went into scheduling. Wants
root, as slurmd does, and installs Debian's slurm-wlm and munge where they are missing.

Scheduling
    What a job costs beside its points: how long a core stood idle before the job although the job
    was waiting, and how long the job held its core without working on points: Snakemake started in
    the job and once more in its step, Python and the study read, the table written.
"""

from __future__ import annotations

import argparse
import os
import platform
import re
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime
from importlib.metadata import version
from pathlib import Path

from system_libraries import install

ROOT = Path(__file__).parents[1]
STUDY = ROOT / "studies" / "joint.yaml"
ALLOWED_SHARE = 0.05
CONTROL_PORT, NODE_PORT = 16817, 16818
# Where Slurm's commands look by themselves: a job step does not inherit SLURM_CONF.
DEBIANS_PLACE = Path("/etc/slurm/slurm.conf")
DAEMONS = {"munged": "munge", "slurmctld": "slurm-wlm", "slurmd": "slurm-wlm"}

CONFIGURATION = """\
ClusterName=one
SlurmctldHost={host}(127.0.0.1)
SlurmUser=root
AuthType=auth/munge
CredType=cred/munge
AuthInfo=socket={folder}/munge.socket
CommunicationParameters=NoInAddrAny,NoCtldInAddrAny
SlurmctldPort={control_port}
SlurmdPort={node_port}
StateSaveLocation={folder}/state
SlurmdSpoolDir={folder}/spool
SlurmctldPidFile={folder}/slurmctld.pid
SlurmdPidFile={folder}/slurmd.pid
SlurmctldLogFile={folder}/slurmctld.log
SlurmdLogFile={folder}/slurmd.log
ProctrackType=proctrack/linuxproc
TaskPlugin=task/none
MpiDefault=none
SelectType=select/cons_tres
SelectTypeParameters=CR_CPU_Memory
JobCompType=jobcomp/filetxt
JobCompLoc={folder}/jobs.txt
NodeName={host} NodeAddr=127.0.0.1 CPUs={cores} RealMemory={memory} State=UNKNOWN
PartitionName=all Nodes=ALL Default=YES MaxTime=INFINITE State=UP
"""


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


def say(text: str) -> None:
    """Print a line of progress."""
    print(text, file=sys.stderr, flush=True)


def need_daemons() -> None:
    """Install what is missing; end in one line where that cannot be done."""
    os.environ["PATH"] += os.pathsep + "/usr/sbin"
    missing = sorted({package for daemon, package in DAEMONS.items() if not shutil.which(daemon)})
    if DEBIANS_PLACE.exists():
        sys.exit(f"{DEBIANS_PLACE} is there: this machine has a Slurm of its own")
    if os.geteuid() != 0:
        sys.exit("slurmd wants root: run this as root, in a machine or container of your own")
    if missing:
        say(f"Installing {' '.join(missing)}")
        failure = install(missing)
        if failure:
            sys.exit(f"apt-get install {' '.join(missing)} failed: {failure}")


def write_configuration(folder: Path) -> None:
    """Write the cluster's configuration and the key by which its daemons know each other."""
    for name in ("state", "spool"):
        (folder / name).mkdir()
    key = folder / "munge.key"
    key.touch(mode=0o600)
    key.write_bytes(os.urandom(128))
    found = subprocess.run(["slurmd", "-C"], capture_output=True, text=True, check=True).stdout
    memory = re.search(r"RealMemory=(\d+)", found)
    assert memory, found
    text = CONFIGURATION.format(
        host=platform.node().partition(".")[0],
        folder=folder,
        control_port=CONTROL_PORT,
        node_port=NODE_PORT,
        cores=os.cpu_count(),
        memory=memory[1],
    )
    (folder / "slurm.conf").write_text(text)


@contextmanager
def daemon(*command: str) -> Iterator[None]:
    """Run a daemon in the foreground of a child, and stop it at the end."""
    process = subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    try:
        yield
    finally:
        process.terminate()
        try:
            process.wait(timeout=30)
        except subprocess.TimeoutExpired:
            process.kill()
            process.wait()


@contextmanager
def cluster(folder: Path) -> Iterator[None]:
    """Keep a cluster of one node up."""
    write_configuration(folder)
    DEBIANS_PLACE.parent.mkdir(exist_ok=True)
    DEBIANS_PLACE.symlink_to(folder / "slurm.conf")
    try:
        with daemons(folder):
            yield
    finally:
        DEBIANS_PLACE.unlink()


@contextmanager
def daemons(folder: Path) -> Iterator[None]:
    """Keep the three daemons up, and leave no job behind."""
    files = {name: f"{folder}/munge.{name}" for name in ("key", "socket", "pid", "log", "seed")}
    munged = [
        "munged",
        "--foreground",
        "--force",
        f"--key-file={files['key']}",
        f"--socket={files['socket']}",
        f"--pid-file={files['pid']}",
        f"--log-file={files['log']}",
        f"--seed-file={files['seed']}",
    ]
    with daemon(*munged):
        wait_for("munged", lambda: Path(files["socket"]).exists())
        with daemon("slurmctld", "-D"), daemon("slurmd", "-D"):
            wait_for("the node", lambda: said("sinfo", "-h", "-o", "%T") == "idle")
            try:
                yield
            finally:
                said("scancel", "--user=root")
                wait_for("the queue's end", lambda: said("squeue", "-h") == "")


def said(*command: str) -> str:
    """Give what a command printed, a question mark while it fails."""
    done = subprocess.run(command, capture_output=True, text=True)
    return done.stdout.strip() if done.returncode == 0 else "?"


def wait_for(what: str, ready: Callable[[], bool]) -> None:
    """Wait until something is ready, for half a minute at most."""
    for _ in range(150):
        if ready():
            return
        time.sleep(0.2)
    raise TimeoutError(f"{what} did not come within 30 s")


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


def report(cost: Cost, points: int, batch: int, same: bool, local: float, slurm: float) -> str:
    """Write what was found as a page of Markdown."""
    point = sum(cost.points) / points
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
{slurm_version}, {versions}, on {os.cpu_count()} cores.

`studies/joint.yaml`, cut to {points} points, {batch} to a job, through
`snakemake --profile profiles/slurm` and without it. The table is {verdict}.
From start to table: {slurm:.0f} s through Slurm, {local:.0f} s without.

| job | idle before, s | held, s | on points, s | scheduling, s |
|---|---|---|---|---|
{chr(10).join(rows)}

- scheduling: a core idle while a job waited, and the job's time beside its points (Snakemake
  started in the job and in its step, the study read, the table written); Slurm's own times, to 1 s
- a job: {cost.start:.1f} s of scheduling, {point:.2f} s a point
- share of this run: {100 * cost.share:.1f} %
- points a job for 5 %: {batch_for(cost.start, point):.0f}
"""


def main() -> int:
    """Run both, compare, and print the page."""
    parser = argparse.ArgumentParser(description="Try the Slurm profile on this machine.")
    parser.add_argument("--points", type=int, default=16, help="points of the study (16)")
    parser.add_argument("--batch", type=int, default=4, help="points in a job (4)")
    asked = parser.parse_args()
    need_daemons()
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
            print(report(cost, asked.points, asked.batch, same, local, slurm), end="")
    return 0 if same else 1


if __name__ == "__main__":
    sys.exit(main())
