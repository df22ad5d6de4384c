"""One run in a folder at a time, and no trace of a run that was killed.

Problem
    Snakemake locks a folder by files in `.snakemake/locks`. A run that is killed leaves them, and
    the next one is refused until the user unlocks the folder by hand.
Formulation
    Every run holds a shared lock of the system on one file for as long as it lives; the system
    drops it with the process, however that ends. A run that gets the lock for itself alone knows
    that no other lives, so what is left in `.snakemake/locks` is stale and goes. Where the file
    tells of another machine nothing is removed: some network disks lock on each machine alone.
"""

from __future__ import annotations

import fcntl
import socket
from pathlib import Path
from typing import BinaryIO

_held: list[BinaryIO] = []  # until the process ends


def clear_stale_locks(folder: Path) -> bool:
    """Remove the locks of runs that were killed, and mark this process as a run.

    Parameters
    ----------
    folder : Path
        Snakemake's own folder, `.snakemake` where the workflow runs.

    Returns
    -------
    bool
        Whether no other run lives, as far as this machine can tell.
    """
    locks = folder / "locks"
    here = socket.gethostname().encode()
    try:
        folder.mkdir(exist_ok=True)
        file = (folder / "running").open("a+b")
        _held.append(file)
        try:
            fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            fcntl.flock(file, fcntl.LOCK_SH)
            return False
        file.seek(0)
        if file.read() in (b"", here):
            for stale in locks.glob("*.lock"):
                stale.unlink(missing_ok=True)
        if not any(locks.glob("*.lock")):
            file.truncate(0)
            file.write(here)
            file.flush()
        fcntl.flock(file, fcntl.LOCK_SH)
    except OSError:  # a disk without locks: Snakemake's own stay as they are
        return False
    return True
