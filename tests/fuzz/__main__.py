"""Break inputs and see what comes of them: ``python -m tests.fuzz --cases 10000``.

Every input comes of a seed alone. A fault is told with its seed, its files are saved, and
``python -m tests.fuzz --seed N`` does that one again. Ends with code 1 where there was a fault.
"""

from __future__ import annotations

import argparse
import sys
import time
from collections import Counter
from collections.abc import Sequence
from pathlib import Path

from tests.fuzz.guard import End, run_all
from tests.fuzz.inputs import make
from tests.fuzz.trial import Effort, try_input

SAVED = Path("results/fuzz")
TOLD = 500  # inputs between lines of progress


def main(words: Sequence[str] | None = None) -> int:
    """Run the command."""
    parser = argparse.ArgumentParser(prog="python -m tests.fuzz", description=__doc__)
    parser.add_argument("--cases", type=int, default=500, help="how many inputs (500)")
    parser.add_argument("--first", type=int, default=1, help="first seed (1)")
    parser.add_argument("--seed", type=int, help="this one alone")
    parser.add_argument("--drawn", type=float, default=0.7, help="share that is drawn")
    parser.add_argument("--solved", type=float, default=0.2, help="share that is solved")
    parser.add_argument("--saved", type=Path, default=SAVED, help="folder for inputs with faults")
    chosen = parser.parse_args(words)
    effort = Effort(chosen.drawn, chosen.solved)
    if chosen.seed is not None:
        given = make(chosen.seed)
        given.write(chosen.saved / str(chosen.seed))
        print(f"{chosen.saved / str(chosen.seed)}: {try_input(given, effort)}")
        return 0
    start = time.monotonic()
    ends = []
    for end in run_all(range(chosen.first, chosen.first + chosen.cases), trial(effort)):
        ends.append(end)
        if len(ends) % TOLD == 0:
            print(f"{len(ends):,} of {chosen.cases:,}", file=sys.stderr, flush=True)
        if end.end == "fault":
            save(end, chosen.saved)
            print(f"seed {end.seed}: {end.told.splitlines()[-1]}", file=sys.stderr, flush=True)
    print(report(ends, time.monotonic() - start))
    return int(any(end.end == "fault" for end in ends))


def trial(effort: Effort):  # noqa: ANN201
    """Give the function that tries a seed."""

    def one(seed: int) -> tuple[str, str]:
        given = make(seed)
        return given.kind, try_input(given, effort)

    return one


def save(end: End, folder: Path) -> None:
    """Save the input of a fault, and what was told of it."""
    make(end.seed).write(folder / str(end.seed))
    (folder / str(end.seed) / "fault.txt").write_text(end.told, encoding="utf-8")


def report(ends: Sequence[End], seconds: float) -> str:
    """Say how many inputs ended how."""
    counts = Counter((end.kind or make(end.seed).kind, end.end) for end in ends)
    slowest = max(ends, key=lambda end: end.seconds)
    lines = ["| input | end | number |", "| --- | --- | ---: |"]
    lines += [f"| {kind} | {end} | {n:,} |" for (kind, end), n in sorted(counts.items())]
    lines += [
        "",
        f"{len(ends):,} inputs, seeds {ends[0].seed} to {ends[-1].seed}, in {seconds:.0f} s; "
        f"longest {slowest.seconds:.1f} s of processor time (seed {slowest.seed}); "
        f"largest memory {max(end.memory for end in ends) / 1024**2:.0f} MB.",
    ]
    return "\n".join(lines)


if __name__ == "__main__":
    sys.exit(main())
