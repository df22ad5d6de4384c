"""A folder in which the workflow is run, disturbed, run again and compared."""

from __future__ import annotations

import os
import re
import shutil
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from hashlib import sha256
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
COARSE = "\nmesh: {level: 0, target: 2 %}\n"
LOOK_EVERY = 0.0005  # s; a file is written in some milliseconds
LONGEST = 3600.0  # s that a run may take
Moment = Callable[[], bool]


class FaultError(Exception):
    """A fault was not borne; the text says which and how."""


class Trial:
    """A case in a folder of its own; by default the smallest one, coarsely meshed."""

    def __init__(self, folder: Path, name: str = "minimal") -> None:
        self.folder, self.name = folder, name
        self.case = folder / "cases" / name / "case.yaml"
        self.results = folder / "results" / name
        if not self.case.exists():
            self.case.parent.mkdir(parents=True)
            text = (ROOT / "cases" / name / "case.yaml").read_text(encoding="utf-8")
            self.case.write_text(text + COARSE, encoding="utf-8")

    def copy(self, folder: Path) -> Trial:
        """Copy the folder with its results, times and what Snakemake noted of them."""
        shutil.copytree(self.folder, folder)
        return Trial(folder, self.name)

    def start(self, *words: str) -> subprocess.Popen[str]:
        """Start the workflow as the leader of a group of processes."""
        command = [sys.executable, "-m", "snakemake", "--snakefile", str(ROOT / "Snakefile")]
        command += ["--directory", str(self.folder), "--cores", "1"]
        command += ["--config", f"case=cases/{self.name}/case.yaml", *words]
        return self.process(*command)

    def process(self, *command: str) -> subprocess.Popen[str]:
        """Start a command with the project's packages, what it prints in a file."""
        path = os.pathsep.join(filter(None, [str(ROOT), os.getenv("PYTHONPATH", "")]))
        with self.told.open("w", encoding="utf-8") as told:
            return subprocess.Popen(
                command,
                cwd=self.folder,
                env={**os.environ, "PYTHONPATH": path},
                stdout=told,
                stderr=told,
                text=True,
                start_new_session=True,
            )

    @property
    def told(self) -> Path:
        """Where a run's messages go."""
        return self.folder.with_suffix(".told")

    def run(self, *words: str) -> tuple[int, str]:
        """Run the workflow to its end: exit code and messages."""
        code = self.start(*words).wait(LONGEST)
        return code, self.told.read_text(encoding="utf-8")

    def step(self, *words: str) -> tuple[int, str]:
        """Run one step by hand: exit code and messages."""
        code = self.process(sys.executable, "-m", *words).wait(LONGEST)
        return code, self.told.read_text(encoding="utf-8")

    def finish(self) -> None:
        """Run to the end; what fails is shown."""
        code, told = self.run()
        if code:
            raise FaultError(f"the run after the fault failed:\n{told}")

    def plan(self, *words: str) -> set[str]:
        """Name the rules that a run would execute."""
        code, told = self.run("--dry-run", "--quiet", "host", "reason", *words)
        if code:
            raise FaultError(f"no plan:\n{told}")
        table = told.partition("Job stats:")[2].partition("\n\n")[0]
        return set(re.findall(r"^([a-z_]+) +\d+$", table, re.MULTILINE)) - {"all", "total"}

    def jobs_begun(self) -> int:
        """Count the jobs that have begun, by their logs."""
        return len(list(self.results.glob("logs/*.log")))

    def logs(self) -> list[tuple[float, str]]:
        """When each job that has begun last wrote to its log, and the job's name."""
        found = []
        for path in self.results.glob("logs/*.log"):
            with suppress(FileNotFoundError):  # a job that begins anew removes its log
                found.append((path.stat().st_mtime, path.stem))
        return found

    def being_written(self) -> list[str]:
        """Name the files that are being written, or were when their writer was killed."""
        try:
            names = [entry.name for entry in os.scandir(self.results)]
        except FileNotFoundError:
            return []
        return [name for name in names if ".part." in name]

    def fingerprint(self) -> dict[str, str]:
        """Digest every result, the manifest too."""
        return {
            path.relative_to(self.results).as_posix(): sha256(path.read_bytes()).hexdigest()
            for path in sorted(self.results.rglob("[!.]*"))
            if path.is_file() and not {"logs", ".digests"} & set(path.parts)
        }

    def must_equal(self, wanted: dict[str, str]) -> None:
        """Compare with an undisturbed run, byte for byte."""
        found = self.fingerprint()
        names = sorted(n for n in {*found, *wanted} if found.get(n) != wanted.get(n))
        if names:
            raise FaultError(f"other than undisturbed: {', '.join(names)}")
        if self.being_written():
            raise FaultError(f"left behind: {', '.join(self.being_written())}")


def kill_at(process: subprocess.Popen[str], reached: Moment) -> bool:
    """Kill a group of processes as soon as a moment is reached; False when it ended before."""
    deadline = time.monotonic() + LONGEST
    while not reached():
        if process.poll() is not None:
            return False
        if time.monotonic() > deadline:
            raise FaultError("the run hangs")
        time.sleep(LOOK_EVERY)
    kill_group(process)
    return True


def kill_group(process: subprocess.Popen[str]) -> None:
    """Kill a group of processes at once, and wait until the last of it is gone."""
    os.killpg(process.pid, signal.SIGKILL)
    process.wait()
    while alive(process.pid):
        time.sleep(0.01)


def alive(group: int) -> bool:
    """Whether a group of processes has one left."""
    try:
        os.killpg(group, 0)
    except ProcessLookupError:
        return False
    return True


@contextmanager
def mounted(folder: Path, *words: str) -> Iterator[None]:
    """Keep a file system mounted on a folder; wants root."""
    folder.mkdir(parents=True, exist_ok=True)
    subprocess.run(["mount", *words, str(folder)], check=True)
    try:
        yield
    finally:
        subprocess.run(["umount", "--lazy", str(folder)], check=True)
