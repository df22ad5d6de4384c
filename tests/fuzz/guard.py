"""Trials in a process of their own, which may neither hang nor eat the machine.

The worker is forked, limits its own address space and file sizes, runs trials in turn and tells
of each by a line. Where it says nothing for longer than a trial may take it is ended, where it dies
that is a fault of the input it had; either way the next worker goes on after it.
"""

from __future__ import annotations

import faulthandler
import multiprocessing
import os
import resource
import time
import traceback
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from multiprocessing.connection import Connection
from pathlib import Path

LONGEST = 30.0  # seconds of processor time that a trial may take
SILENT = 600.0  # seconds after which a trial that does not even compute is ended
MEMORY = 4 * 1024**3  # bytes of address space beyond what the worker begins with
FILE = 200 * 1024**2  # bytes of a written file


@dataclass(frozen=True)
class End:
    """How the trial of a seed ended.

    Attributes
    ----------
    seed : int
    kind : str
    end : str
        As `tests.fuzz.trial.try_input` gives it, or ``fault``.
    told : str
        What a fault was.
    seconds : float
        Processor time.
    memory : int
        Largest resident size of the worker so far, bytes.
    """

    seed: int
    kind: str
    end: str
    told: str = ""
    seconds: float = 0.0
    memory: int = 0


Trial = Callable[[int], tuple[str, str]]


def run_all(seeds: Iterable[int], trial: Trial, longest: float = LONGEST) -> Iterator[End]:
    """Run the trials of seeds in turn.

    Parameters
    ----------
    seeds : iterable of int
    trial : callable
        From a seed to kind and end; raises on a fault.
    longest : float
        Processor time after which a trial is taken to hang, s.
    """
    left = list(seeds)
    context = multiprocessing.get_context("fork")
    while left:
        ours, theirs = context.Pipe(duplex=False)
        worker = context.Process(target=_work, args=(left, trial, theirs), daemon=True)
        worker.start()
        theirs.close()
        while left:
            end = _next(ours, worker.pid, longest)
            if end is None:
                break
            left.pop(0)
            yield end
        if left:
            hangs = worker.is_alive() and not ours.poll()
            if hangs:
                worker.kill()
            worker.join()
            told = (
                f"takes more than {longest:g} s of processor time"
                if hangs
                else f"died, code {worker.exitcode}"
            )
            yield End(left.pop(0), "", "fault", told)
        worker.join()


def _next(pipe: Connection, worker: int | None, longest: float) -> End | None:
    """Wait for the end of a trial; None where the worker died or takes too long."""
    begun, first = _spent(worker), time.monotonic()
    try:
        while not pipe.poll(0.5):
            if _spent(worker) - begun > longest or time.monotonic() - first > SILENT:
                return None
        return pipe.recv()
    except (EOFError, OSError):
        return None


def _spent(worker: int | None) -> float:
    """Processor time of a process, s."""
    fields = Path(f"/proc/{worker}/stat").read_text().rpartition(")")[2].split()
    return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")


def _work(seeds: list[int], trial: Trial, pipe: Connection) -> None:
    faulthandler.enable()
    base = _size()
    resource.setrlimit(resource.RLIMIT_AS, (base + MEMORY, base + MEMORY))
    resource.setrlimit(resource.RLIMIT_FSIZE, (FILE, FILE))
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
    for seed in seeds:
        start = time.process_time()
        try:
            kind, end = trial(seed)
            told = ""
        except BaseException:  # whatever comes of an input is a fault of it
            kind, end, told = "", "fault", traceback.format_exc(limit=-12)
        spent = time.process_time() - start
        pipe.send(End(seed, kind, end, told, spent, _resident()))
    pipe.close()


def _size() -> int:
    with open("/proc/self/statm") as file:
        return int(file.read().split()[0]) * os.sysconf("SC_PAGE_SIZE")


def _resident() -> int:
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * 1024
