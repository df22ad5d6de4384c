"""Names of result folders lead nowhere else and cannot end a command."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from geometry.errors import CaseError
from geometry.folders import FOLDER, case_name, study_name

HOSTILE = [
    *("a b", "a;b", "$(touch x)", "`x`", "a&b", "a|b", "a>b", "a'b", 'a"b', "a\nb", "*", "{name}"),
    *("-rf", ".hidden", "..", "x" * 101, "a\\b", "\u202ea", "a\x1bb", "{{7*7}}", "<b>"),
]


@pytest.mark.parametrize("name", HOSTILE)
def test_a_hostile_folder_or_study_is_refused_in_one_line(name: str) -> None:
    with pytest.raises(CaseError) as refused:
        case_name(Path("/anywhere", name, "case.yaml")) if name != ".." else study_name(Path(".."))
    assert str(refused.value).isprintable() and "; allowed: letters" in str(refused.value)
    with pytest.raises(CaseError):
        study_name(Path("/anywhere", f"{name}.yaml"))


@pytest.mark.parametrize("name", ["studies", "verification", "logs"])
def test_folders_of_other_results_are_not_a_case(name: str) -> None:
    with pytest.raises(CaseError, match="is taken"):
        case_name(Path("/anywhere", name, "case.yaml"))


def test_a_case_in_a_folder_that_is_linked_has_the_name_of_the_folder(tmp_path: Path) -> None:
    (tmp_path / "mine").mkdir()
    assert case_name(tmp_path / "mine" / ".." / "mine" / "case.yaml") == "mine"
    assert case_name(Path("cases/lander/case.yaml")) == "lander"
    assert study_name(Path("studies/joint.yaml")) == "joint"


@given(st.text(min_size=1, max_size=20))
def test_whatever_is_taken_is_one_plain_part_of_a_path(name: str) -> None:
    if re.fullmatch(FOLDER, name):
        assert Path("results", name).parts == ("results", name)
        assert not set(name) & set(" \t\n/\\;&|<>$`'\"*?[]{}()!#~=%")
