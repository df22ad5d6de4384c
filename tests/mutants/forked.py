"""Run tests against a changed module in a forked process: libraries are imported once for all.

A new Python spends seconds on importing the libraries; a fork of one that has them starts at once.
The project's own modules are imported in the child, the changed one from the text given, so no
file is ever touched.
"""

from __future__ import annotations

import gc
import importlib
import importlib.abc
import importlib.machinery
import importlib.util
import os
import resource
import sys
import time
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from types import CodeType

import pytest
from hypothesis import Phase, settings

ROOT = Path(__file__).resolve().parents[2]
PACKAGES = ("geometry", "solve", "post", "tests")
LIBRARIES = (
    "numpy",
    "scipy.linalg",
    "scipy.optimize",
    "scipy.sparse.linalg",
    "pandas",
    "pydantic",
    "pint",
    "ruamel.yaml",
    "gsw",
    "skfem",
    "gmsh",
    "meshio",
    "hypothesis.strategies",
    "hypothesis.extra.numpy",
    "_hypothesis_pytestplugin",
)


@dataclass(frozen=True)
class Run:
    """How a run of tests ended: what it says, processor time in s."""

    passed: bool
    end: str
    seconds: float


class _Changed(importlib.machinery.SourceFileLoader):
    """Loads a module from a text in place of its file's."""

    def __init__(self, name: str, path: str, text: str) -> None:
        super().__init__(name, path)
        self.text = text

    def get_code(self, fullname: str) -> CodeType:
        return compile(self.text, self.path, "exec")


class _Finder(importlib.abc.MetaPathFinder):
    def __init__(self, name: str, path: Path, text: str) -> None:
        self.name = name
        self.loader = _Changed(name, str(path), text)

    def find_spec(
        self, fullname: str, path: object = None, target: object = None
    ) -> importlib.machinery.ModuleSpec | None:
        if fullname != self.name:
            return None
        return importlib.util.spec_from_file_location(
            fullname, self.loader.path, loader=self.loader
        )


def warm_up() -> None:
    """Import the libraries that the tests use."""
    for name in LIBRARIES:
        importlib.import_module(name)
    # Settings of the tests' own start from these: a failure is enough, the smallest is not asked.
    found = [Phase.explicit, Phase.reuse, Phase.generate]
    settings.register_profile("mutants", phases=found, deadline=None)
    settings.load_profile("mutants")
    gc.freeze()  # nobody need look through them again


def module_name(path: str) -> str:
    """Give the name by which a file of the project is imported."""
    return path.removesuffix(".py").removesuffix("/__init__").replace("/", ".")


def run(path: str, text: str, tests: Sequence[str], scratch: Path, limit: float = 120.0) -> Run:
    """Run tests on the project with one file's text changed.

    Parameters
    ----------
    path
        The file, from the project's root.
    text
        What to take for its text.
    tests
        Files or names of tests, as pytest takes them.
    scratch
        An existing folder for what pytest prints and keeps.
    limit
        Processor time in s after which the tests count as failed: some changes never end.
    """
    output = scratch / "output.txt"
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    child = os.fork()
    if child == 0:
        code = 70
        try:
            code = _in_child(path, text, tests, output, limit)
        finally:
            os._exit(code)
    code = _wait(child, patience=20 * limit)
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    seconds = after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime
    return Run(code == 0, _end(code, output), seconds)


def _in_child(path: str, text: str, tests: Sequence[str], output: Path, limit: float) -> int:
    log = os.open(output, os.O_WRONLY | os.O_CREAT | os.O_TRUNC)
    os.dup2(log, 1)
    os.dup2(log, 2)
    resource.setrlimit(resource.RLIMIT_CPU, (int(limit) + 1, int(limit) + 5))
    os.chdir(ROOT)
    sys.path.insert(0, str(ROOT))
    os.environ["PYTEST_DISABLE_PLUGIN_AUTOLOAD"] = "1"
    os.environ["HYPOTHESIS_STORAGE_DIRECTORY"] = str(output.parent / "hypothesis")
    # Nothing of the parent's project, where the whole is itself run by pytest.
    for name in [n for n in sys.modules if n.split(".")[0] in PACKAGES]:
        del sys.modules[name]
    sys.meta_path.insert(0, _Finder(module_name(path), ROOT / path, text))
    options = ["-x", "-q", "--no-header", "--tb=no", "-rfE", "-p", "no:cacheprovider"]
    options += ["-p", "_hypothesis_pytestplugin", "-o", "addopts=", "--import-mode=importlib"]
    options += [
        "-p",
        "no:unraisableexception",
        "--hypothesis-seed=0",
        f"--basetemp={output.parent / 'tests'}",
    ]
    return int(pytest.main([*options, *tests]))


def _wait(child: int, patience: float) -> int:
    """Wait for a child, for ever is too long: processor time may stand still on a lock."""
    end = time.monotonic() + patience
    while time.monotonic() < end:
        done, status = os.waitpid(child, os.WNOHANG)
        if done:
            return os.waitstatus_to_exitcode(status)
        time.sleep(0.02)
    os.kill(child, 9)
    return os.waitstatus_to_exitcode(os.waitpid(child, 0)[1])


def _end(code: int, output: Path) -> str:
    """Say how a run ended: the first test that failed, or why there is none."""
    if code == 0:
        return "passed"
    if code < 0:
        return "out of time"
    lines = output.read_text(errors="replace").splitlines()
    failed = [line.split(" - ")[0] for line in lines if line.startswith(("FAILED ", "ERROR "))]
    return failed[0].split(maxsplit=1)[1] if failed else f"not collected ({code})"
