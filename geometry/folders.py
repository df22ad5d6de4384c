"""Names of result folders: of a case's folder or a study's file, and nothing that leads elsewhere.

A name becomes part of paths and of the commands that the workflow runs.
"""

from __future__ import annotations

import re
from pathlib import Path

from geometry import bounds
from geometry.errors import CaseError

FOLDER = rf"\w[\w.-]{{0,{bounds.FOLDER - 1}}}"
TAKEN = ("studies", "verification", "logs")  # folders of results that belong to no case


def case_name(case_file: Path) -> str:
    """Give the name of a case's results: that of the folder that its file is in.

    Raises
    ------
    CaseError
        When that is no name for a folder of results.
    """
    name = case_file.resolve().parent.name
    if name in TAKEN:
        raise CaseError(str(case_file), "folder", name, "is taken", "another name for its folder")
    return _checked(case_file, "folder", name)


def study_name(study_file: Path) -> str:
    """Give the name of a study's results: that of its file, without the ending.

    Raises
    ------
    CaseError
        When that is no name for a folder of results.
    """
    return _checked(study_file, "name", study_file.stem)


def _checked(path: Path, field: str, name: str) -> str:
    if not re.fullmatch(FOLDER, name):
        allowed = f"letters, digits and '_', then also '.' and '-', up to {bounds.FOLDER} of them"
        raise CaseError(str(path), field, name, "is no name for a folder of results", allowed)
    return name
