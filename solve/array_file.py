"""Files of arrays: read whole and as written, or refused by name."""

from __future__ import annotations

from hashlib import sha256
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from geometry.files import DamagedFileError, intact

Arrays = dict[str, NDArray[Any]]


def read_arrays(path: Path) -> Arrays:
    """Read every array of an npz file.

    The archive's own checks speak for a file that was copied without its digest.

    Raises
    ------
    DamagedFileError
        When it is not as it was written, or no such archive.
    """
    try:
        with np.load(intact(path), allow_pickle=False) as stored:
            return {name: stored[name] for name in stored.files}
    except Exception as error:  # of a damaged archive the reader may raise anything
        if isinstance(error, OSError) and error.filename is not None:
            raise
        raise DamagedFileError(path, "is no whole archive of arrays") from error


def arrays_digest(*arrays: NDArray[Any]) -> str:
    """Digest numbers to the last bit, in order; their shapes too."""
    digest = sha256()
    for array in arrays:
        digest.update(f"{array.dtype.str} {array.shape} ".encode())
        digest.update(np.ascontiguousarray(array).tobytes())
    return digest.hexdigest()
