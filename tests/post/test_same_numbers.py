"""Folders compare by what their files hold; expected numbers are recomputed by hand."""

import json
import math

import numpy as np
import pandas as pd
import pytest

from post.same_numbers import differences


@pytest.fixture
def folders(tmp_path):
    both = tmp_path / "a", tmp_path / "b"
    for folder in both:
        folder.mkdir()
        np.savez(folder / "x.npz", u=np.array([100.0, 1e-9, np.nan]), name=np.array("one"))
        (folder / "x.json").write_text(json.dumps({"p": [1.0, {"q": 4.0}], "word": "infinite"}))
        pd.DataFrame({"s": [0.0, 8.0], "bond": ["end", None]}).to_csv(folder / "x.csv")
        (folder / "versions.json").write_text(json.dumps({"python": folder.name}))
        (folder / "report.html").write_text(folder.name)
    return both


def test_the_same_numbers_are_no_distance_apart(folders):
    assert differences(*folders) == {"x.csv": 0, "x.json": 0, "x.npz": 0}


def test_a_difference_is_of_the_largest_in_its_array(folders):
    np.savez(folders[1] / "x.npz", u=np.array([100.0, 2e-9, np.nan]), name=np.array("one"))
    assert differences(*folders)["x.npz"] == pytest.approx(1e-9 / 100)


def test_a_number_of_json_and_a_column_stand_for_themselves(folders):
    (folders[1] / "x.json").write_text(json.dumps({"p": [1.0, {"q": 5.0}], "word": "infinite"}))
    pd.DataFrame({"s": [0.0, 8.4], "bond": ["end", None]}).to_csv(folders[1] / "x.csv")
    found = differences(*folders)
    assert found["x.json"] == pytest.approx(1 / 5)
    assert found["x.csv"] == pytest.approx(0.4 / 8.4)


@pytest.mark.parametrize(
    "told",
    [
        {"p": [1.0, {"q": 4.0}], "word": "undefined"},
        {"p": [1.0, {"q": 4.0}], "word": 7.0},
        {"p": [1.0, {"r": 4.0}], "word": "infinite"},
        {"p": [1.0], "word": "infinite"},
    ],
)
def test_what_is_no_number_must_be_equal(folders, told):
    (folders[1] / "x.json").write_text(json.dumps(told))
    assert differences(*folders)["x.json"] == math.inf


def test_a_missing_file_and_another_shape_are_infinitely_far(folders):
    (folders[1] / "x.csv").unlink()
    np.savez(folders[1] / "x.npz", u=np.zeros(2), name=np.array("one"))
    assert differences(*folders) == {"x.csv": math.inf, "x.json": 0, "x.npz": math.inf}


def test_residuals_are_left_out(folders):
    for folder, residual in zip(folders, (1e-13, 3e-13), strict=True):
        (folder / "x.json").write_text(json.dumps({"p": 1.0, "proofs": [{"value": residual}]}))
        proofs = {"proofs": np.array(f"[{residual}]"), "coarser_proofs": np.array(residual)}
        np.savez(folder / "x.npz", u=np.ones(2), **proofs)
    assert set(differences(*folders).values()) == {0}


def test_nothing_to_compare_is_said(tmp_path):
    with pytest.raises(FileNotFoundError, match="no results to compare"):
        differences(tmp_path, tmp_path)
