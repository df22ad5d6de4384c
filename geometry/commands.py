"""What the three packages' command lines have in common."""

from __future__ import annotations

import os
import sys
from collections.abc import Callable, Mapping
from pathlib import Path

Step = Callable[..., None]
Refusals = tuple[type[Exception], ...]


def run(package: str, steps: Mapping[str, tuple[Step, str]], refusals: Refusals) -> int:
    """Run the step that the command line names.

    Parameters
    ----------
    package : str
        For the usage line.
    steps : mapping of str to (function, usage)
        Functions take as many paths as their usage names.
    refusals : tuple of exception types
        Errors whose text is for the user: shown as one line, without a traceback.

    Returns
    -------
    int
        Exit code.
    """
    words = sys.argv[1:]
    step, usage = steps.get(words[0], (None, "")) if words else (None, "")
    if step is None or len(words) - 1 != len(usage.split()):
        lines = [f"  python -m {package} {name} {use}".rstrip() for name, (_, use) in steps.items()]
        print("\n".join(["usage:", *lines]), file=sys.stderr)
        return 2
    try:
        step(*(Path(word) for word in words[1:]))
    except refusals as error:
        print(_told(error), file=sys.stderr)
        return 1
    return 0


def _told(error: Exception) -> str:
    """Say an error in one line; one of the system's names its file first, as ours do."""
    if isinstance(error, OSError) and error.filename is not None and error.strerror:
        return f"{os.fspath(error.filename)}: {error.strerror}"
    return str(error)
