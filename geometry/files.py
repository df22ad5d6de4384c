"""Writing files so that a file is either whole or absent, and reading them only as written.

Formulation
    A file is written beside its place and renamed into it: a reader, and a run that comes after a
    kill, see the old file, the new one or none. The digest of what was written stands in a folder
    `.digests` beside the file. A step reads its inputs through `intact`, so that a file which a
    disk, a copy or an editor has changed since is refused by name instead of believed. The old
    digest goes first and the new one comes last: whatever a kill leaves, no whole file has a wrong
    one. A file without a digest (your own, or one copied alone) is read as it is.
"""

from __future__ import annotations

import errno
import os
import re
from collections.abc import Iterator
from contextlib import contextmanager
from hashlib import sha256
from pathlib import Path

DIGESTS = ".digests"


class DamagedFileError(OSError):
    """A file is not as the step that made it wrote it; the text says which and what to do."""

    def __init__(self, path: Path, how: str = "changed or damaged since it was written") -> None:
        super().__init__(errno.EBADMSG, f"{how}; delete it and run again", str(path))


@contextmanager
def written_aside(path: Path, digested: bool = True) -> Iterator[Path]:
    """Give a path to write to; on success the file takes its place, on failure it is removed.

    Parameters
    ----------
    path : Path
        Where the file is to stand. Its folder is made.
    digested : bool
        Whether to leave its digest beside it: for files that a later step reads.

    Yields
    ------
    Path
        Beside it, with the same suffix.

    Raises
    ------
    OSError
        When it cannot be written, with the name of the file that was to be.
    """
    aside = path.with_name(f".{path.stem}.{os.getpid()}.part{path.suffix}")
    try:
        with naming(path, aside):
            path.parent.mkdir(parents=True, exist_ok=True)
            _sweep(path)
            yield aside
            digest = file_digest(aside) if digested else None
            digest_place(path).unlink(missing_ok=True)
            os.replace(aside, path)
            if digest:
                note_digest(path, digest)
    finally:
        aside.unlink(missing_ok=True)


@contextmanager
def naming(path: Path, *others: Path) -> Iterator[None]:
    """Name the file in errors of writing it: a full disk does not say whom it failed.

    Raises
    ------
    OSError
        In place of one that names no file, or one of the `others`; the rest pass.
    """
    try:
        yield
    except OSError as error:
        if error.filename not in (None, *map(str, (path, *others))):
            raise  # it is about another file
        told = error.strerror or str(error)
        raise OSError(error.errno or errno.EIO, f"cannot be written: {told}", str(path)) from error


def intact(path: Path) -> Path:
    """Give a path back if its file is as it was written, or has no digest.

    Raises
    ------
    DamagedFileError
        When the file differs from its digest.
    """
    written = written_digest(path)
    if written is not None and path.is_file() and file_digest(path) != written:
        raise DamagedFileError(path)
    return path


def note_digest(path: Path, digest: str | None = None) -> None:
    """Leave the digest of a file beside it; half of one counts as none."""
    note = digest_place(path)
    note.parent.mkdir(exist_ok=True)
    note.write_text((digest or file_digest(path)) + "\n", encoding="ascii")


def written_digest(path: Path) -> str | None:
    """Give the digest that a file had when it was written, if it is known."""
    try:
        text = digest_place(path).read_text(encoding="ascii").strip()
    except (OSError, UnicodeDecodeError):
        return None
    return text if re.fullmatch("[0-9a-f]{64}", text) else None


def file_digest(path: Path) -> str:
    """Give the SHA-256 of a file's bytes, in hexadecimal digits."""
    return sha256(path.read_bytes()).hexdigest()


def digest_place(path: Path) -> Path:
    """Say where the digest of a file stands."""
    return path.parent / DIGESTS / path.name


def _sweep(path: Path) -> None:
    """Remove what killed writers of the same file left beside it."""
    pattern = re.compile(rf"\.{re.escape(path.stem)}\.(\d+)\.part{re.escape(path.suffix)}")
    for other in path.parent.glob(".*.part*"):
        match = pattern.fullmatch(other.name)
        if match and not Path("/proc", match[1]).exists():
            other.unlink(missing_ok=True)
