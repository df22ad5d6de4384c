"""Studies of a case that are finished: which they are, and each in one line.

A report points to them; they are nothing that it needs, so none is run for it.
"""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path

import pandas as pd

from geometry.case_file import read_yaml
from geometry.errors import CaseError
from post.study.models import SOLVED
from post.study.page import ASKED, numeric_headlines, shortfall, span_row
from post.study.study_file import read_study

STUDIES = Path("results", "studies")


def finished_studies(case_file: Path, study_files: Iterable[Path]) -> list[Path]:
    """Pick the studies of a case that have a page.

    Parameters
    ----------
    case_file : Path
    study_files : iterable of Path
        Those that may be; one that cannot be read is none.
    """
    found = []
    for path in study_files:
        if (STUDIES / path.stem / "study.html").is_file() and _case_of(path) == case_file.resolve():
            found.append(path)
    return found


def _case_of(study_file: Path) -> Path | None:
    """Give the case that a study names, or None where it does not say."""
    try:
        tree, _ = read_yaml(study_file)
        return Path(study_file.parent, tree["case"]).resolve()
    except (CaseError, TypeError, KeyError):
        return None


def study_line(study_file: Path) -> dict[str, str] | None:
    """Say a finished study in one line; None where its file or its table do not read any more.

    Returns
    -------
    dict
        ``title, href (from a report's folder), path, headline``.
    """
    folder = STUDIES / study_file.stem
    try:
        study = read_study(study_file)
        table = pd.read_parquet(folder / "table.parquet")
        main = next(iter(numeric_headlines(study, table)), None)
    except (CaseError, OSError, KeyError, ValueError):
        return None
    solved = table[table["status"] == SOLVED]
    words = f"{ASKED[study.ask.do.kind].lower()}, {len(table):,} points"
    if main is not None:
        span = span_row(solved, main, None)
        words += f"; {span['name']} from {span['least']} to {span['largest']} {span['unit']}"
    chance = shortfall(study, table)
    if chance is not None:
        words += f"; {chance.short} of {chance.judged} points fall short"
    return {
        "title": study.ask.title,
        "href": f"../studies/{study_file.stem}/study.html",
        "path": str(folder / "study.html"),
        "headline": words.strip() + ".",
    }
