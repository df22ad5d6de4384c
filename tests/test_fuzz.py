"""Broken input is answered soundly or refused in one line: the short form of ``tests.fuzz``.

Source of the demand: common practice, no published source. What counts as sound stands in
`tests.fuzz.trial`.
"""

from __future__ import annotations

import json
import os
import signal
import time
from pathlib import Path

import pytest

from tests.fuzz import words
from tests.fuzz.__main__ import trial
from tests.fuzz.guard import run_all
from tests.fuzz.inputs import make
from tests.fuzz.trial import Effort, SoundnessError, check_page, check_picture, command

CASES = 500
FEW = Effort(drawn=0.03, solved=0.015)


@pytest.mark.slow
def test_five_hundred_broken_inputs_end_soundly() -> None:
    ends = list(run_all(range(1, CASES + 1), trial(FEW)))
    faults = [f"seed {end.seed}: {end.told.splitlines()[-1]}" for end in ends if end.end == "fault"]
    assert not faults, "; see `python -m tests.fuzz --seed N`:\n" + "\n".join(faults)
    assert [end.seed for end in ends] == list(range(1, CASES + 1))
    # the fuzzer reaches every stage: a quarter or more is taken, and refused
    stages = {(end.kind, end.end) for end in ends}
    refused = sum(end.end == "refused" for end in ends)
    assert CASES / 4 < refused < 3 * CASES / 4
    assert {("case", "solved"), ("case", "drawn"), ("study", "points made")} <= stages
    assert {("proof", "read"), ("proof", "refused"), ("study", "refused")} <= stages


def test_an_input_comes_of_its_seed_alone() -> None:
    assert make(77) == make(77)
    assert make(77) != make(78)


def ended(trial_of_one) -> list[str]:  # noqa: ANN001
    return [(end.told or end.end).splitlines()[-1] for end in run_all([1, 2, 3], trial_of_one, 1.0)]


def test_the_guard_ends_what_hangs_dies_or_eats_memory() -> None:
    def bad(seed: int) -> tuple[str, str]:
        if seed == 1:
            while True:
                pass
        if seed == 2:
            os.kill(os.getpid(), signal.SIGKILL)
        return "case", str(len(bytearray(64 * 1024**3)))

    start = time.monotonic()
    hangs, died, ate = ended(bad)
    assert hangs == "takes more than 1 s of processor time"
    assert died == "died, code -9"
    assert ate == "MemoryError"
    assert time.monotonic() - start < 120


@pytest.mark.parametrize(
    "page",
    [
        f"<p><{words.TAG}>",
        f"<p {words.MARK}=1>",
        f"<p>{words.SUM}",
        "<script>alert(1)</script>",
        '<a href=" JavaScript:x">',
        f"<script>var a = '</script><{words.TAG}>'</script>",
    ],
)
def test_a_page_that_lets_the_input_through_is_a_fault(page: str) -> None:
    with pytest.raises(SoundnessError):
        check_page(page)


def test_words_of_the_input_as_text_are_no_fault(tmp_path: Path) -> None:
    from html import escape

    check_page("".join(f"<p title='{escape(word)}'>{escape(word)}" for word in words.HOSTILE))
    told = json.dumps(words.HOSTILE).replace("<", "\\u003c")
    check_page(f"<script type='application/json'>{told}</script>")
    (tmp_path / "a.svg").write_text("<svg><text>&lt;b</text></svg>")
    check_picture(tmp_path / "a.svg")
    (tmp_path / "a.svg").write_text("<svg><text><b</text>")
    with pytest.raises(SoundnessError, match="not XML"):
        check_picture(tmp_path / "a.svg")


def test_a_traceback_and_a_second_line_are_faults(monkeypatch: pytest.MonkeyPatch) -> None:
    from geometry import case
    from geometry.errors import CaseError

    def breaks(*_: object) -> None:
        raise ZeroDivisionError

    monkeypatch.setattr(case, "read_case", breaks)
    with pytest.raises(ZeroDivisionError):
        command("geometry", "check", "a", "b")

    def rambles(*_: object) -> None:
        raise type("Rambling", (CaseError,), {"__str__": lambda self: "one\ntwo"})("a")

    monkeypatch.setattr(case, "read_case", rambles)
    with pytest.raises(SoundnessError, match="one line"):
        command("geometry", "check", "a", "b")
    with pytest.raises(SoundnessError, match="code 2"):
        command("geometry", "no-such-step")
