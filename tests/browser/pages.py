"""Every page that the project makes, made cheaply: the templates are the real ones.

The report and the bond sheet are those of the workflow's tests. Numbers of the others that take
long are made up, as in the tests of what these pages say: here it is how they behave in a browser.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from geometry.case import read_case
from post import compare_page, layups_page, sizing_page, verification
from post.criteria.checks import criteria_checks
from post.life_checks import life_checks
from post.proof_demo import write_demo
from post.proof_page import write_prediction, write_proof
from post.sizing import as_built, options, size_wall
from tests.post import test_compare, test_layups, test_proof, test_sizing
from tests.post.ladders import CROWD, HOLDING, TYPICAL
from tests.post.study import test_page

LANDER = Path(__file__).parents[2] / "cases/lander/case.yaml"


def write_layups(page: Path) -> None:
    """Write the comparison of layups, of made-up ladders."""
    names = ("as in the case", "cross-ply", "hoop-biased")
    ladders = (TYPICAL, HOLDING, CROWD)
    found = [test_layups.made(name, *each) for name, each in zip(names, ladders, strict=True)]
    page.write_text(layups_page.render(test_layups.CASE, found), encoding="utf-8")


def write_sizing(page: Path) -> None:
    """Write the sizes of walls of every third material, their buckling by the formula."""
    case, solid = test_sizing.CASE, test_sizing.as_formula
    found = [size_wall(case, option, solid) for option in options(case)[::3]]
    page.write_text(sizing_page.render(case, found, as_built(case, solid)), encoding="utf-8")


def write_gauges(page: Path) -> None:
    """Write what the gauges of a proof test should read."""
    write_prediction(read_case(LANDER), test_proof.GAUGES, page)


def write_test(page: Path) -> None:
    """Write the page of an invented proof test in which much goes wrong."""
    write_demo(test_proof.GAUGES, test_proof.FULL, page.parent)
    csv = page.with_suffix(".csv")
    write_proof(read_case(LANDER), test_proof.GAUGES, page.parent, page, csv)


def write_comparison(page: Path) -> None:
    """Write the comparison of two coarse joints."""
    folders = [page.parent / name for name in test_compare.CASES]
    for folder, case in zip(folders, test_compare.CASES.values(), strict=True):
        test_compare.keep_results(case, folder)
    compare_page.write_comparison(folders, page, page.with_suffix(".csv"))


def write_verification(page: Path) -> None:
    """Write the verification page, of the checks that take no time."""
    parts = [
        verification.Part("Failure criteria", "Strengths.", tuple(criteria_checks())),
        verification.Part("Life", "Growth and sums.", tuple(life_checks())),
    ]
    page.write_text(verification.render(parts), encoding="utf-8")


def study(do: str) -> Callable[[Path], None]:
    """Give what writes a small study, its numbers made up."""

    def write(page: Path) -> None:
        _, table, html = test_page.made(page.parent, f"do: {do}")
        page.write_text(html, encoding="utf-8")
        table.to_csv(page.with_suffix(".csv"), index=False, float_format="%.8g")

    return write


BUILT = {"report": "report.html", "bond sheet": "bond_sheet.html"}
"""Pages of the workflow's tests, by their files."""

WRITTEN: dict[str, Callable[[Path], None]] = {
    "study, a sample": study("{sample: {points: 24}}"),
    "study, indices": study("{sensitivity: {method: sobol, repeats: 4}}"),
    "study, a search": study("{best: {least: [mass], most: [first_failure.depth]}}"),
    "layups": write_layups,
    "sizing": write_sizing,
    "gauges": write_gauges,
    "proof test": write_test,
    "comparison": write_comparison,
    "verification": write_verification,
}
"""Pages that are written here, by what writes them."""

NAMES = (*BUILT, *WRITTEN)
