"""The page of the demo's invented proof test; its truth stands in the tables themselves."""

from __future__ import annotations

from pathlib import Path

import pandas as pd
import pytest

from geometry.case import read_case
from geometry.errors import CaseError
from post.proof_demo import ILL, truth_words, write_demo
from post.proof_page import write_proof
from post.proof_read import read_strains
from tests.post.test_proof import FULL, GAUGES

LANDER = Path("cases/lander/case.yaml")


def test_the_demo_s_tables_say_their_truth() -> None:
    measured = read_strains(LANDER.parent / "proof/strain.csv", list(read_case(LANDER).gauges))
    assert list(measured.notes) == truth_words(ILL)
    assert len(measured.dives) == 5
    assert measured.strains.keys() == read_case(LANDER).gauges.keys()


def test_the_page_names_the_drifted_gauge_and_the_soft_joint(tmp_path: Path) -> None:
    write_demo(GAUGES, FULL, tmp_path)
    page, csv = tmp_path / "proof.html", tmp_path / "proof.csv"
    write_proof(read_case(LANDER), GAUGES, tmp_path, page, csv)
    text = page.read_text("utf-8")
    assert "Invented: made by a program, no such test was run." in text
    assert "A softer joint: the adhesive at about 48 % of its stiffness" in text
    assert "web-hoop: its zero drifted by" in text
    assert "Emission came back early" in text
    assert "No standard found covers thick composite hulls" in text
    assert "Not measured: pole" in text  # a gauge of the case that the table has no column for
    table = pd.read_csv(csv)
    assert len(table) == 5 * len(GAUGES)
    hull = table[(table["gauge"] == "hull-hoop") & (table["dive"] == 5)].iloc[0]
    assert f"<td>{hull['slope_ratio']:.3f} \u00b1" in text


def test_a_folder_without_strains_is_refused(tmp_path: Path) -> None:
    with pytest.raises(CaseError, match="strain.csv"):
        write_proof(
            read_case(LANDER), GAUGES, tmp_path, tmp_path / "page.html", tmp_path / "page.csv"
        )
