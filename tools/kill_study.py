"""Kill a study at random moments and see whether it ends with the table of one that ran through.

    python tools/kill_study.py                    # 20 kills of a small study, some minutes
    python tools/kill_study.py --kills 5 studies/joint.yaml
    python tools/kill_study.py --workers 10 --points 180 --batch 60  # lose one worker at a time

Method
    A run that nothing disturbs is timed, stage by stage: plan, batches, gather, page. Moments are
    drawn over that whole time, one from each of as many equal parts as there are kills. A fresh
    run then waits for the stage of its moment, and as long into it, and every process of the run
    is killed at once (SIGKILL). The same command is given again, with nothing in between, to be
    killed again (`--in-a-row`) or to complete. It must succeed, and table and page must be those
    of the first run byte for byte.
    A worker is lost when the process of one batch alone is killed, as on a node that fails. The
    run must say which batch it was, end in failure by itself and lose no point that was kept. A
    batch keeps its points every few seconds: it must be long enough for a worker to have some.
"""

from __future__ import annotations

import argparse
import contextlib
import os
import random
import signal
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import psutil

ROOT = Path(__file__).resolve().parents[1]
STAGES = ("start", "plan", "batches", "gather", "page", "end")
SAME = ("table.parquet", "table.csv", "study.html")
LOOK_EVERY = 0.02  # s
LONGEST = 1800.0  # s that a run may take
SMALL = f"""\
title: A small study to be killed
case: {ROOT}/cases/minimal/case.yaml
vary:
  joint.bond_thickness: {{from: 0.3 mm, to: 0.9 mm}}
  ring.web: [20 mm, 25 mm]
do: {{sample: {{points: POINTS}}}}
batch: BATCH
"""


class Run:
    """Runs of one study in a folder of its own."""

    def __init__(self, folder: Path, study: Path, cores: int) -> None:
        self.folder, self.cores = folder, cores
        self.study = study.resolve()
        self.out = folder / "results" / "studies" / study.stem
        folder.mkdir(parents=True, exist_ok=True)

    def start(self) -> subprocess.Popen[bytes]:
        """Start the workflow as the leader of a group of processes."""
        page = self.out.relative_to(self.folder) / "study.html"
        words = [sys.executable, "-m", "snakemake", "--snakefile", str(ROOT / "Snakefile")]
        words += ["--directory", str(self.folder), "--cores", str(self.cores)]
        words += ["--config", f"study={self.study}", "--", str(page)]
        path = os.pathsep.join(filter(None, [str(ROOT), os.getenv("PYTHONPATH", "")]))
        with (self.folder / "told.txt").open("ab") as told:
            return subprocess.Popen(
                words,
                cwd=ROOT,
                env={**os.environ, "PYTHONPATH": path},
                stdout=told,
                stderr=told,
                start_new_session=True,
            )

    def stage(self, since: float) -> int:
        """Say which of `STAGES` a run is in, by the files that are newer than its start."""
        logs = self.out / "logs"
        marks = (
            [logs / "plan_study.log"],
            list(logs.glob("batch-*.log")),
            [logs / "gather_study.log"],
            [logs / "show_study.log"],
            [self.out / "study.html"],
        )
        reached = [n for n, files in enumerate(marks, 1) if any(_newer(f, since) for f in files)]
        return max(reached, default=0)

    def kept(self) -> dict[str, list[bytes]]:
        """Read the points that stand in files, as lines, batch by batch."""
        files = (self.out / "batches").glob("*.kept.jsonl")
        return {file.name.partition(".")[0]: file.read_bytes().splitlines()[1:] for file in files}

    def results(self) -> dict[str, bytes]:
        """Read what must be the same."""
        return {name: (self.out / name).read_bytes() for name in SAME}

    def finish(self) -> None:
        """Run to the end; a run that fails is shown and ends the test."""
        if self.start().wait(LONGEST):
            sys.exit((self.folder / "told.txt").read_text() + "\nthe study did not complete")

    def timed(self) -> list[float]:
        """Run to the end, and give the moment at which each stage began, then that of the end."""
        began = [0.0] + [-1.0] * (len(STAGES) - 1)
        start, since, process = time.monotonic(), time.time(), self.start()
        while process.poll() is None:
            now, stage = time.monotonic() - start, self.stage(since)
            for i in range(stage + 1):
                began[i] = now if began[i] < 0 else began[i]
            time.sleep(LOOK_EVERY)
        if process.returncode:
            sys.exit((self.folder / "told.txt").read_text() + "\nthe study did not complete")
        return [*began, time.monotonic() - start]

    def kill(self, stage: int, wait: float) -> int | None:
        """Start, kill all processes `wait` seconds into a stage.

        Returns
        -------
        int or None
            The stage that was hit; None when the run ended before.
        """
        since, process = time.time(), self.start()
        deadline = time.monotonic() + LONGEST
        while process.poll() is None and self.stage(since) < stage and time.monotonic() < deadline:
            time.sleep(LOOK_EVERY)
        try:
            process.wait(wait)
            return None
        except subprocess.TimeoutExpired:
            hit = self.stage(since)
            os.killpg(process.pid, signal.SIGKILL)
            process.wait()
        for _ in range(250):  # the last of the group may take a moment to go
            try:
                os.killpg(process.pid, 0)
            except ProcessLookupError:
                break
            time.sleep(LOOK_EVERY)
        return hit

    def lose_worker(self, wait: float, rng: random.Random) -> tuple[str, int] | None:
        """Start, kill one batch's process so long after the first began, and let the run end.

        Returns
        -------
        tuple or None
            The batch that was lost and the points it had kept; None when none was left to lose.
        """
        since, process = time.time(), self.start()
        while process.poll() is None and self.stage(since) < STAGES.index("batches"):
            time.sleep(LOOK_EVERY)
        time.sleep(wait)
        workers = _workers(process.pid)
        if not workers:
            process.wait(LONGEST)
            return None
        batch = rng.choice(sorted(workers))
        kept = self.kept()
        workers[batch].kill()
        code = process.wait(LONGEST)
        failed = self.told().partition("Error in rule run_batch:")[2]  # each start is told too
        if code == 0 or f"batches/{batch}.parquet" not in failed:
            sys.exit(self.told() + f"\nthe run does not say that batch {batch} was lost")
        after = self.kept()
        for name, lines in kept.items():
            if after.get(name, [])[: len(lines)] != lines:
                sys.exit(f"of {len(lines)} points that batch {name} had kept, some are lost")
        return batch, len(after.get(batch, []))

    def took_up(self, batch: str, points: int) -> bool:
        """Whether the run after began a batch with the points that the lost one had kept."""
        log = (self.out / "logs" / f"batch-{batch}.log").read_text(encoding="utf-8")
        return not points or f"{points:,} points kept from before" in log

    def told(self) -> str:
        """Read what the runs have said."""
        return (self.folder / "told.txt").read_text()


def _workers(leader: int) -> dict[str, psutil.Process]:
    """Give the processes that compute a batch, by the number of the batch."""
    found = {}
    with contextlib.suppress(psutil.NoSuchProcess):
        for process in psutil.Process(leader).children(recursive=True):
            with contextlib.suppress(psutil.NoSuchProcess):
                words = process.cmdline()
                if words[1:4] == ["-m", "post", "study_batch"]:
                    found[words[-2]] = process
    return found


def count(kept: dict[str, list[bytes]]) -> int:
    """Count the points that stand in files."""
    return sum(map(len, kept.values()))


def _newer(path: Path, since: float) -> bool:
    try:
        return path.stat().st_mtime >= since - 0.1  # clocks of files tick coarsely
    except FileNotFoundError:
        return False


def moments(began: list[float], kills: int, rng: random.Random) -> list[tuple[int, float]]:
    """Draw stages and seconds into them, one moment from each of `kills` parts of the time."""
    first, last = began[1], began[-1]
    drawn = []
    for i in range(kills):
        at = first + (last - first) * (i + rng.random()) / kills
        stage = max(s for s in range(len(STAGES)) if began[s] <= at)
        drawn.append((stage, at - began[stage]))
    return drawn


def lose_workers(
    wanted: int, place: Path, whole: Run, began: list[float], rng: random.Random
) -> int:
    """Lose one worker, run again, compare; so many times."""
    long = began[STAGES.index("gather")] - began[STAGES.index("batches")]
    done = tried = 0
    while done < wanted and tried < 3 * wanted:
        run, tried = Run(place / f"lost-{tried}", whole.study, whole.cores), tried + 1
        wait = long * rng.random()
        lost = run.lose_worker(wait, rng)
        kept = count(run.kept())
        run.finish()
        found, undisturbed = run.results(), whole.results()
        differ = [name for name in SAME if found[name] != undisturbed[name]]
        if differ:
            print(f"other than undisturbed: {', '.join(differ)}")
            return 1
        if lost is not None:
            if not run.took_up(*lost):
                print(f"batch {lost[0]} did not go on from the {lost[1]} points kept")
                return 1
            done += 1
            print(f"lost {done}: batch {lost[0]}, {wait:.1f} s into the batches, ", end="")
            print(f"{lost[1]} of its points kept, {kept} of all", flush=True)
    print(f"{done} workers lost; after each, the same command gave the same {', '.join(SAME)}")
    return 0 if done == wanted else 1


def main() -> int:
    """Kill, run again, compare."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").partition("\n")[0])
    parser.add_argument("study", nargs="?", type=Path, help="a study file; a small one by default")
    parser.add_argument("--kills", type=int, default=20)
    parser.add_argument("--in-a-row", type=int, default=1, help="kills before a run may complete")
    parser.add_argument("--workers", type=int, default=0, help="lose so many instead, one by one")
    parser.add_argument("--points", type=int, default=24, help="of the small study")
    parser.add_argument("--batch", type=int, default=8, help="of the small study")
    parser.add_argument("--cores", type=int, default=2)
    parser.add_argument("--seed", type=int, default=1)
    asked = parser.parse_args()
    rng = random.Random(asked.seed)
    with tempfile.TemporaryDirectory(prefix="kill-study-") as place:
        study = asked.study
        if study is None:
            study = Path(place, "small.yaml")
            sizes = {"POINTS": asked.points, "BATCH": asked.batch}
            text = SMALL
            for word, number in sizes.items():
                text = text.replace(word, str(number))
            study.write_text(text)
        whole = Run(Path(place, "whole"), study, asked.cores)
        began = whole.timed()
        wanted = whole.results()
        times = ", ".join(f"{n} from {t:.1f} s" for n, t in zip(STAGES, began, strict=False))
        print(f"undisturbed: {times}, over at {began[-1]:.1f} s", flush=True)

        if asked.workers:
            return lose_workers(asked.workers, Path(place), whole, began, rng)
        drawn = moments(began, asked.kills, rng)
        runs = -(-asked.kills // asked.in_a_row)
        rows = [drawn[first::runs] for first in rng.sample(range(runs), runs)]
        done = tried = 0
        while rows and tried < 2 * asked.kills:
            run = Run(Path(place, f"killed-{tried}"), study, asked.cores)
            row = rows.pop(0)
            while row:
                (stage, wait), tried = row[0], tried + 1
                hit = run.kill(stage, wait)
                if hit is None:  # what was kept made it too quick: a fresh run takes the rest
                    rows.append(row)
                    break
                row, done = row[1:], done + 1
                print(f"kill {done}: {wait:.1f} s into {STAGES[stage]}, in {STAGES[hit]}, ", end="")
                print(f"{count(run.kept())} points kept", flush=True)
            run.finish()
            found = run.results()
            differ = [name for name in SAME if found[name] != wanted[name]]
            if differ:
                print(f"other than undisturbed: {', '.join(differ)}")
                return 1
    print(f"{done} kills; after each, the same command gave the same {', '.join(SAME)}")
    return 0 if done == asked.kills else 1


if __name__ == "__main__":
    sys.exit(main())
