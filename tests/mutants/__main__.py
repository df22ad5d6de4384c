"""Change the formulas and see whether the tests notice: python -m tests.mutants [--fixed].

Prints a line for each mutant as JSON: where, what stood there and what was put there, and how the
tests ended. A seed and a number give the same random sample again.
"""

from __future__ import annotations

import argparse
import json
import sys
import tempfile
from functools import lru_cache
from pathlib import Path

from tests.mutants.fixed import FIXED
from tests.mutants.forked import ROOT, run, warm_up
from tests.mutants.modules import TESTS

UNCHANGED = "geometry/__init__.py"


def main() -> int:
    """Run the mutants asked for; 1 if a fixed one survived, for those of a sample are looked at."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("modules", nargs="*", default=list(TESTS), help="files; all if none")
    parser.add_argument("--fixed", action="store_true", help="the fixed dozen, not a sample")
    parser.add_argument("--number", type=int, default=12, help="mutants a module")
    parser.add_argument("--seed", default="1", help="what the sample is drawn by")
    asked = parser.parse_args()
    warm_up()
    with tempfile.TemporaryDirectory() as scratch:
        if asked.fixed:
            survived = _fixed(Path(scratch))
        else:
            survived = sum(
                _sampled(path, asked.number, asked.seed, Path(scratch)) for path in asked.modules
            )
    return int(asked.fixed and survived > 0)


def _fixed(scratch: Path) -> int:
    """Run the fixed mutants and count those that survive."""
    limit = 10 + 5 * _seconds_unchanged(tuple(dict.fromkeys(m.test for m in FIXED)), scratch)
    survived = 0
    for mutant in FIXED:
        ended = run(mutant.path, mutant.text, [mutant.test], scratch, limit)
        survived += ended.passed
        _say(
            module=mutant.path,
            before=mutant.right,
            after=mutant.wrong,
            killed=not ended.passed,
            by=ended.end,
        )
    return survived


def _sampled(path: str, number: int, seed: str, scratch: Path) -> int:
    """Run a sample of a module's mutants and count those that survive."""
    from tests.mutants.made import sample  # the operators' library, which the fixed ones need not

    limit = 10 + 5 * _seconds_unchanged(TESTS[path], scratch)
    survived = 0
    for mutant in sample((ROOT / path).read_text(), number, f"{seed} {path}"):
        ended = run(path, mutant.text, TESTS[path], scratch, limit)
        survived += ended.passed
        _say(
            module=path,
            operator=mutant.operator,
            line=mutant.line,
            before=mutant.before,
            after=mutant.after,
            killed=not ended.passed,
            by=ended.end,
        )
    return survived


@lru_cache
def _seconds_unchanged(tests: tuple[str, ...], scratch: Path) -> float:
    """Give the processor time of tests on the modules as they stand, which must pass."""
    sound = run(UNCHANGED, (ROOT / UNCHANGED).read_text(), tests, scratch, limit=600)
    _say(tests=tests, ended=sound.end, seconds=round(sound.seconds, 1))
    if not sound.passed:
        sys.exit(f"These tests do not pass as all stands: {tests}")
    return sound.seconds


def _say(**facts: object) -> None:
    print(json.dumps(facts), flush=True)


if __name__ == "__main__":
    sys.exit(main())
