"""The stored table and the regenerated one: what counts as the same. Bounds are our own."""

from pathlib import Path

import pandas as pd
import pytest

from post.verification_stored import compare_verification, moved

STORED = Path(__file__).parents[2] / "benchmarks" / "verification.csv"
COLUMNS = """part topic check source status unit published ours difference allowed difference_of
passes""".split()
ABSOLUTE = ["P", "T", "pull", "S", "published", "MPa", "10", "10.1", "0.1", "0.5", "MPa", "yes"]
RELATIVE = ["P", "T", "push", "S", "published", "mm", "-4", "-4", "0", "0.01", "published", "yes"]


def table(*rows):
    return pd.DataFrame([list(row) for row in rows], columns=COLUMNS)


def changed(row, **words):
    return [words.get(name, value) for name, value in zip(COLUMNS, row, strict=True)]


BOTH = table(ABSOLUTE, RELATIVE)


# a fifth of 0.5 MPa, and a fifth of 1 % of 4 mm
@pytest.mark.parametrize(
    ("row", "near", "far"),
    [(ABSOLUTE, ("10.2", "10.0"), ("10.21", "9.99")), (RELATIVE, ("-4.0079",), ("-3.9919", "nan"))],
)
def test_ours_may_move_by_a_fifth_of_what_may_differ(row, near, far):
    for ours in near:
        assert list(moved(table(row), table(changed(row, ours=ours)))) == []
    for ours in far:
        (line,) = moved(table(row), table(changed(row, ours=ours)))
        assert line == f"P: T: {row[2]}: ours was {row[7]}, is {ours}"


@pytest.mark.parametrize("column", ["unit", "published", "allowed", "difference_of", "passes"])
def test_a_row_that_says_something_else_is_named(column):
    (line, *_) = moved(BOTH, table(changed(ABSOLUTE, **{column: "7"}), RELATIVE))
    assert line == f"P: T: pull: {column} was {ABSOLUTE[COLUMNS.index(column)]}, is 7"


def test_rows_that_came_or_went_are_named():
    assert list(moved(BOTH, table(ABSOLUTE))) == ["P: T: push: gone"]
    assert list(moved(table(RELATIVE), BOTH)) == ["P: T: pull: not stored"]
    assert list(moved(BOTH, table(ABSOLUTE, ABSOLUTE, RELATIVE))) == ["P: T: pull: not stored"]


def test_their_order_does_not_count():
    assert list(moved(BOTH, table(RELATIVE, ABSOLUTE))) == []


def test_the_stored_table_is_whole_and_passes():
    stored = pd.read_csv(STORED, dtype=str, keep_default_na=False)
    assert list(stored.columns) == COLUMNS
    assert len(stored) > 500
    assert set(stored["passes"]) == {"yes"}
    assert list(moved(stored, stored)) == []


def test_the_command_fails_where_a_row_has_moved(tmp_path, capsys):
    new = pd.read_csv(STORED, dtype=str, keep_default_na=False)
    compare_verification(STORED, STORED)
    assert f"{len(new)} rows as stored" in capsys.readouterr().out
    new.loc[0, "ours"] = "1e9"
    new.to_csv(tmp_path / "new.csv", index=False)
    with pytest.raises(OSError, match=r"ours was .*, is 1e9\n1 rows are not those"):
        compare_verification(STORED, tmp_path / "new.csv")
