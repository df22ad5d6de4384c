"""Which cases a comparison is asked for: names of folders under cases/, or paths to case files."""

from __future__ import annotations

from pathlib import Path

from geometry.errors import CaseError, nearest_spelling

FEWEST, MOST = 2, 6
FIELD = "cases"


def case_files(asked: str, folder: Path) -> dict[str, Path]:
    """Find the files of the cases asked for.

    Parameters
    ----------
    asked : str
        Names or paths, with commas between.
    folder : Path
        Holds a folder for each case of a name.

    Returns
    -------
    dict of str to Path
        By the name that each has among the results, in the order asked for.

    Raises
    ------
    CaseError
        When one is not known, two have one name, or there are too few or too many.
    """
    words = [word.strip() for word in asked.split(",") if word.strip()]
    if not FEWEST <= len(words) <= MOST:
        raise _refuse(asked, f"names {len(words)} cases", f"{FEWEST} to {MOST}")
    known = sorted(path.parent.name for path in folder.glob("*/case.yaml"))
    found: dict[str, Path] = {}
    for word in words:
        path = folder / word / "case.yaml" if word in known else Path(word)
        if not path.is_file():
            allowed = f"{', '.join(known)}, or paths to case files"
            raise _refuse(word, "is no case", allowed, nearest_spelling(word, known))
        name = path.resolve().parent.name
        if name in found:
            raise _refuse(word, "has the name of another", "cases in folders of different names")
        found[name] = path
    return found


def _refuse(value: str, reason: str, allowed: str, nearest: str = "") -> CaseError:
    return CaseError("--config", FIELD, value, reason, allowed, nearest)
