"""Disturb the workflow in every way that a machine knows, and see whether it bears it.

    python tools/faults.py                 # the short form: clock, read-only folder, two kills
    python tools/faults.py --kills 100 all # the long form; benchmarks/faults.md keeps its figures

Method
    The smallest case runs once undisturbed. Each fault then strikes a run in a folder of its own;
    the same command is given again, with nothing in between but what the run itself asked for, and
    every result must be that of the undisturbed run byte for byte. A kill is SIGKILL to the whole
    group of processes: every other one strikes at a random moment of the run, the rest while a file
    is being written. Moments follow each other in one folder, so that a run is killed many times on
    its way, until the given number; then it is compared and the next one begins.
"""

from __future__ import annotations

import argparse
import os
import random
import subprocess
import sys
import tempfile
import time
from collections import Counter
from pathlib import Path

from fault_trial import LONGEST, FaultError, Moment, Trial, kill_at, mounted

KILLS_A_RUN = 20
SEED = 8
# what is damaged, and the step that reads it
READERS = {
    "inputs.yaml": "fields",
    "mesh.msh": "fields",
    "answer.npz": "fields",
    "flaws.npz": "bondline",
    "buckling.npz": "bondline",
    "finer.npz": "bondline",
    "process.npz": "process",
    "bondline.parquet": "figures",
    "summary.json": "sheet",
}
KEPT = ("finer.npz", "process.npz")  # spare a later run some solves; damaged, they count as none
ARGUMENTS = {
    "fields": "inputs.yaml mesh.msh answer.npz fields.vtu",
    "bondline": "inputs.yaml mesh.msh answer.npz buckling.npz flaws.npz bondline.csv "
    "bondline.parquet ladder.csv summary.json finer.npz",
    "process": "inputs.yaml mesh.msh answer.npz process.json process.csv process.npz",
    "figures": "inputs.yaml mesh.msh answer.npz buckling.npz bondline.parquet figures",
    "sheet": "inputs.yaml summary.json bond_sheet.html",
}


class Bench:
    """The undisturbed run, and what is said on the way."""

    def __init__(self, place: Path, kills: int, seed: int) -> None:
        self.place, self.kills = place, kills
        self.random = random.Random(seed)
        self.whole = Trial(place / "whole")
        start = time.monotonic()
        process = self.whole.start()
        while process.poll() is None and not self.whole.jobs_begun():
            time.sleep(0.01)
        self.starting = time.monotonic() - start
        process.wait(LONGEST)
        if process.returncode:
            sys.exit(self.whole.told.read_text(encoding="utf-8"))
        self.working = time.monotonic() - start - self.starting
        self.wanted = self.whole.fingerprint()
        say(
            f"undisturbed: {self.starting:.0f} s to the first job, {self.working:.0f} s of jobs, "
            f"{len(self.wanted)} files"
        )

    def fresh(self, name: str) -> Trial:
        """Give a folder without results."""
        return Trial(self.place / name)


def say(text: str) -> None:
    """Print a line at once."""
    print(text, flush=True)


def kills(bench: Bench) -> str:
    """Kill the workflow again and again."""
    done, lives, torn = 0, 0, 0
    struck: Counter[str] = Counter()
    while done < bench.kills:
        trial = bench.fresh(f"killed-{lives}")
        lives += 1
        wanted = min(KILLS_A_RUN, bench.kills - done)
        for number in range(wanted):
            started = time.time()
            wait = bench.random.expovariate(10 / bench.working)  # now and then a long one
            if bench.random.random() < bench.starting / (bench.starting + bench.working):
                moment = before_work(bench.random.random() * bench.starting)
            else:
                moment = in_work(trial, started, wait, in_a_write=number % 2 == 1)
            process = trial.start()
            left_before = set(trial.being_written())
            if not kill_at(process, moment):
                break
            done += 1
            left = set(trial.being_written()) - left_before
            torn += bool(left)
            step = newest_log(trial)
            struck[step] += 1
            say(f"kill {done}: during {step}" + (f", writing {', '.join(left)}" if left else ""))
        trial.finish()
        trial.must_equal(bench.wanted)
        say(f"run {lives}: identical")
    places = ", ".join(f"{name} {count}" for name, count in sorted(struck.items()))
    return (
        f"{done} kills in {lives} runs, {torn} of them with a file half written ({places}); "
        "every run ended identical"
    )


def before_work(wait: float) -> Moment:
    """Give a moment so long after now."""
    end = time.monotonic() + wait
    return lambda: time.monotonic() > end


def in_work(trial: Trial, started: float, wait: float, in_a_write: bool) -> Moment:
    """Give a moment so long after a run's first job began; then the next write, if so wished."""
    begun: list[float] = []
    left = set(trial.being_written())  # by the kill before

    def reached() -> bool:
        if not begun:
            if any(since > started for since, _ in trial.logs()):
                begun.append(time.monotonic())
            return False
        late = time.monotonic() - begun[0] >= wait
        return late and (not in_a_write or bool(set(trial.being_written()) - left))

    return reached


def newest_log(trial: Trial) -> str:
    """Name the job that began last."""
    return max(trial.logs(), default=(0.0, "the start"))[1]


def damage(bench: Bench) -> str:
    """Cut, empty or flip a bit of every file that a later step reads."""
    trial = bench.whole.copy(bench.place / "damaged")
    refused = recomputed = 0
    for name, step in READERS.items():
        path = trial.results / name
        whole = path.read_bytes()
        place = bench.random.randrange(len(whole))
        flipped = bytearray(whole)
        flipped[place] ^= 1 << bench.random.randrange(8)
        for how, content in (
            ("cut", whole[:place]),
            ("emptied", b""),
            (f"bit {place} flipped", bytes(flipped)),
        ):
            if name in KEPT and how == "emptied":
                continue
            path.write_bytes(content)
            words = [str(trial.results / word) for word in ARGUMENTS[step].split()]
            code, told = trial.step("post", step, *words)
            if name in KEPT:
                if code:
                    raise FaultError(f"{name} {how}: not recomputed:\n{told}")
                recomputed += 1
            elif code != 1 or str(path) not in told or told.count("\n") != 1:
                raise FaultError(f"{name} {how}: not refused in one line, code {code}:\n{told}")
            else:
                refused += 1
            path.write_bytes(whole) if name not in KEPT else None
    trial.must_equal(bench.wanted)
    # by the workflow: refused by name, and well again once the named file is gone
    path = trial.results / "mesh.msh"
    path.write_bytes(path.read_bytes().replace(b"1", b"2", 1))
    code, told = trial.run()
    if not code or f"{path.relative_to(trial.folder)}: changed or damaged" not in told:
        raise FaultError(f"the workflow took a damaged mesh:\n{told}")
    path.unlink()
    trial.finish()
    trial.must_equal(bench.wanted)
    return f"{refused} damaged files refused by name, {recomputed} kept ones computed anew"


def clock(bench: Bench) -> str:
    """Set every result's time a day ahead, as a clock set back leaves it; then edit the case."""
    trial = bench.whole.copy(bench.place / "clock")
    ahead = time.time() + 86400
    for path in trial.results.rglob("*"):
        os.utime(path, (ahead, ahead), follow_symlinks=False)
    trial.finish()
    trial.must_equal(bench.wanted)
    text = trial.case.read_text(encoding="utf-8")
    trial.case.write_text(text.replace("depth: 1000 m", "depth: 1100 m"), encoding="utf-8")
    yesterday = time.time() - 86400
    os.utime(trial.case, (yesterday, yesterday))
    code, told = trial.run("--", "results/minimal/inputs.yaml")  # all that a killed run got done
    if code:
        raise FaultError(told)
    for path in trial.results.glob("inputs.yaml"):
        os.utime(path, (yesterday, yesterday))
    stale = {"tabulate_bondline", "write_report", "write_manifest", "cost_process"} - trial.plan()
    if stale:
        raise FaultError(f"left stale by a clock set back: {', '.join(sorted(stale))}")
    trial.case.write_text(text, encoding="utf-8")
    trial.finish()
    trial.must_equal(bench.wanted)
    return "results a day ahead, an edit from yesterday: nothing stale, results identical"


def disk(bench: Bench) -> str:
    """Let the disk be full at the first, the middle and the last of the files.

    After each a copy is finished where there is room, while the full disk grows to the next size.
    """
    if os.geteuid():
        return "not run: a small disk is mounted by root alone"
    trial = bench.fresh("full")
    size = sum(p.stat().st_size for p in bench.whole.folder.rglob("results/**/*") if p.is_file())
    shares, full = (0.02, 0.1, 0.25, 0.4, 0.6, 0.8, 0.9), 0
    results = trial.folder / "results"
    with mounted(results, "-t", "tmpfs", "-o", f"size={size}", "tmpfs"):
        for share in shares:
            bytes_ = int(share * size) // 4096 * 4096
            held = sum(p.stat().st_size for p in results.rglob("*") if p.is_file())
            if bytes_ < held + 65536:
                continue
            remount(results, f"size={bytes_}")
            code, told = trial.run()
            if not code:
                raise FaultError(f"{share:.0%} of the disk: the run says that all is well")
            if "No space left" not in told and "is the disk full" not in told:
                raise FaultError(f"{share:.0%} of the disk: no word of a full disk:\n{told}")
            if "Traceback" in told:
                raise FaultError(f"{share:.0%} of the disk: a traceback:\n{told}")
            full += 1
            (line,) = [x for x in told.splitlines() if "No space" in x or "disk full" in x][:1]
            roomy = trial.copy(bench.place / f"room-after-{share:.0%}")
            roomy.finish()
            roomy.must_equal(bench.wanted)
            say(f"{share:.0%} of the disk: {line.strip()}; identical once there was room")
        remount(results, f"size={3 * size}")
        trial.finish()
        trial.must_equal(bench.wanted)
    return f"full {full} times, each told; identical once there was room, after each and after all"


def remount(folder: Path, how: str) -> None:
    """Change a mounted file system."""
    subprocess.run(["mount", "-o", f"remount,{how}", str(folder)], check=True)


def readonly(bench: Bench) -> str:
    """Ask for results in a folder that cannot be written to."""
    trial = bench.whole.copy(bench.place / "readonly")
    results = trial.folder / "results"
    trial.results.joinpath("bondline.csv").unlink()

    def refused() -> None:
        code, told = trial.run()
        said = told.partition("Building DAG of jobs...\n")[2] or told
        if code != 1 or "Traceback" in told or "cannot be written to" not in told:
            raise FaultError(f"not refused in one line, code {code}:\n{said}")

    if os.geteuid():
        trial.results.chmod(0o555)
        refused()
        trial.results.chmod(0o755)
    else:
        with mounted(results, "--bind", str(results)):
            remount(results, "bind,ro")
            refused()
    trial.finish()
    trial.must_equal(bench.wanted)
    return "refused in one line; identical once it could be written to"


def two(bench: Bench) -> str:
    """Start a second run in the folder of a first."""
    trial = bench.fresh("two")
    first = trial.start()
    while first.poll() is None and not trial.jobs_begun():
        time.sleep(0.01)
    second = Trial(trial.folder)
    second_told = trial.folder.with_suffix(".second")
    told = trial.told.rename(second_told)  # the first goes on writing there
    code, said = second.run()
    if code == 0 or "locked" not in said:
        raise FaultError(f"the second run was not refused, code {code}:\n{said}")
    if first.wait(LONGEST):
        raise FaultError(f"the first run failed:\n{told.read_text(encoding='utf-8')}")
    trial.must_equal(bench.wanted)
    return "the second was told that the folder is locked; the first ended identical"


FAULTS = {f.__name__: f for f in (damage, clock, readonly, two, disk, kills)}
SHORT = ("clock", "readonly", "kills")


def main() -> int:
    """Try the faults that are asked for."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").partition("\n")[0])
    parser.add_argument("faults", nargs="*", metavar="fault", help=f"{', '.join(FAULTS)} or all")
    parser.add_argument("--kills", type=int, default=2)
    parser.add_argument("--seed", type=int, default=SEED, help="of moments and of bits")
    asked = parser.parse_args()
    names = list(FAULTS) if "all" in asked.faults else asked.faults or list(SHORT)
    if set(names) - set(FAULTS):
        parser.error(f"faults are {', '.join(FAULTS)}")
    with tempfile.TemporaryDirectory(prefix="faults-") as place:
        bench = Bench(Path(place), asked.kills, asked.seed)
        failed = 0
        for name in names:
            start = time.monotonic()
            try:
                said = FAULTS[name](bench)
            except FaultError as failure:
                failed += 1
                said = f"FAILED: {failure}"
            say(f"{name}: {said} ({time.monotonic() - start:.0f} s)")
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
