"""What is done with an input, and what counts as a sound end of it.

An input ends soundly when every command that it is given to either does its work, and what it
made passes the checks below, or says one line and ends with code 1. Commands run as from the
command line, in a folder of their own.

Checks
    - a case that was taken is read back equal from what was written;
    - pictures are well-formed XML, pages hold no element, attribute or result of a template that
      came out of the input, and run no script of its;
    - points of a study are finite;
    - a solution passes its own proofs, and is finite.
"""

from __future__ import annotations

import contextlib
import io
import runpy
import sys
import tempfile
import warnings
from dataclasses import dataclass
from functools import cache
from html.parser import HTMLParser
from pathlib import Path
from xml.etree import ElementTree

import numpy as np
import pandas as pd

from geometry.case import Case, read_case, write_case
from geometry.errors import CaseError
from geometry.forms import draw_section
from geometry.mesh import MeshError, mesh_section
from solve.answer import SolveError, solve
from tests.fuzz import mutate, words
from tests.fuzz.inputs import Input, full_case

LONGEST_LINE = 2000  # characters of what a command says
COARSEST = -1


class SoundnessError(Exception):
    """What should not have come of an input."""


@dataclass(frozen=True)
class Effort:
    """How much of the later stages a trial does, as shares of the inputs that are taken."""

    drawn: float = 0.7
    solved: float = 0.2

    def takes(self, share: float, seed: int) -> bool:
        """Whether an input goes through a stage: the same answer for the same seed."""
        return (seed * 0.6180339887498949) % 1.0 < share


def try_input(given: Input, effort: Effort) -> str:
    """Run a trial in an empty folder.

    Returns
    -------
    str
        How it ended: ``refused``, or the last stage that it passed.

    Raises
    ------
    SoundnessError
    """
    with tempfile.TemporaryDirectory(prefix="fuzz-") as name:
        folder = Path(name) / "inside"
        folder.mkdir()
        with contextlib.chdir(folder):
            first = given.write(Path())
            end = {"case": _case, "study": _study, "proof": _proof}[given.kind](
                first, given.seed, effort
            )
        outside = {path.name for path in Path(name).iterdir()} - {"inside"}
        escaped = [path for path in Path(name).rglob("*") if "escaped" in path.name]
        if outside or escaped:
            raise SoundnessError(f"wrote outside its folder: {outside or escaped}")
    return end


def command(*line: str) -> bool:
    """Run a command of the project; whether it did its work.

    Raises
    ------
    SoundnessError
        When it refuses in another way than by one line.
    """
    package, *rest = line
    out, err = io.StringIO(), io.StringIO()
    saved = sys.argv
    sys.argv = [package, *rest]
    code: object = None
    try:
        with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
            with warnings.catch_warnings(record=True):
                warnings.simplefilter("always")
                runpy.run_module(f"{package}.__main__", run_name="__main__")
    except SystemExit as end:
        code = end.code
    finally:
        sys.argv = saved
    said = err.getvalue()
    if code not in (0, 1):
        raise SoundnessError(f"{' '.join(line[:2])} ended with code {code!r}")
    if code == 0:
        return True
    text = said.removesuffix("\n")
    if not text or "\n" in text or not text.isprintable() or len(text) > LONGEST_LINE:
        raise SoundnessError(f"{' '.join(line[:2])} does not refuse in one line: {text[:300]!r}")
    command.last = text  # type: ignore[attr-defined]
    return False


def _case(path: Path, seed: int, effort: Effort) -> str:
    if not command("geometry", "check", str(path), "inputs.yaml"):
        if Path("inputs.yaml").exists():
            raise SoundnessError("a refused case leaves a result behind")
        return "refused"
    if not effort.takes(effort.drawn, seed):
        return "read"
    case = read_case(path)
    if read_case("inputs.yaml") != case:
        raise SoundnessError("the case is not read back as it was written")
    _made(command("post", "sheet", "inputs.yaml", "none.json", "sheet.html"))
    check_page(Path("sheet.html").read_text(encoding="utf-8"))
    if effort.takes(effort.drawn / 2, seed):
        _made(command("post", "draw", "inputs.yaml", "section.svg"))
        check_picture(Path("section.svg"))
    if not effort.takes(effort.solved, seed):
        return "drawn"
    return solved(case)


def solved(case: Case) -> str:
    """Mesh and solve a case at the coarsest level; how that ended."""
    try:
        section = draw_section(case)
        answer = solve(case, mesh_section(section, COARSEST), section=section)
    except (MeshError, SolveError) as error:
        if not str(error).isprintable():
            raise SoundnessError(f"not one line: {error}") from error
        return "not solved: " + type(error).__name__
    if not all(np.isfinite(u).all() for u in answer.displacement.values()):
        raise SoundnessError("a solution that is not finite")
    return "solved"


def _made(done: bool) -> None:
    if not done:
        raise SoundnessError(f"a case that was taken is refused later: {command.last}")  # type: ignore[attr-defined]


def _study(path: Path, seed: int, effort: Effort) -> str:
    if not command("post", "study_plan", str(path), "points.parquet"):
        return "refused"
    table = pd.read_parquet("points.parquet")
    numbers = table.select_dtypes("number").to_numpy(float)
    if not np.isfinite(numbers).all():
        raise SoundnessError("a point of the study is not a finite number")
    if table.empty:  # a search has its points when it has ended
        return "planned"
    if not effort.takes(effort.drawn, seed):
        return "planned"
    for point in {0, len(table) - 1}:
        if command("post", "study_case", str(path), str(point), f"point-{point}.yaml"):
            read_case(f"point-{point}.yaml")
    return "points made"


@cache
def _proof_inputs() -> tuple[Case, bytes, bytes]:
    """Give the case with gauges, its file, and an invented table of what they should read."""
    from post.gauge_strains import Prediction
    from post.gauge_table import gauge_table

    with tempfile.TemporaryDirectory() as name:
        path = Path(name, "case.yaml")
        path.write_text(mutate.dump(full_case()), encoding="utf-8")
        case = read_case(path)
        write_case(case, path)
        predicted = [
            Prediction(
                name=name,
                part=gauge.part,
                face=gauge.face,
                direction=gauge.direction,
                r=100.0,
                z=0.0,
                per_MPa=-3e-5,
                per_K=1e-5,
                error=1e-7,
                low=-1e-7,
                high=1e-7,
                softer=(-3.1e-5, -3.3e-5),
            )
            for name, gauge in case.gauges.items()
        ]
        table = gauge_table(case, predicted).to_csv(index=False)
        return case, path.read_bytes(), table.encode()


def _proof(path: Path, seed: int, effort: Effort) -> str:
    case, inputs, gauges = _proof_inputs()
    Path("inputs.yaml").write_bytes(inputs)
    Path("gauges.csv").write_bytes(gauges)
    if not effort.takes(effort.drawn / 2, seed):
        return _tables_read(path, case)
    if not command("post", "proof", "inputs.yaml", "gauges.csv", ".", "proof.html", "proof.csv"):
        return "refused"
    check_page(Path("proof.html").read_text(encoding="utf-8"))
    return "drawn"


def _tables_read(path: Path, case: Case) -> str:
    """Read and judge the tables, without page and figures."""
    from post.gauge_table import full_pressure, read_gauge_table
    from post.proof import compare
    from post.proof_acoustic import felicity, read_emission
    from post.proof_read import read_strains

    predicted = read_gauge_table(Path("gauges.csv"))
    try:
        measured = read_strains(Path("strain.csv"), list(case.gauges))
        compare(predicted, measured, case.proof, full_pressure(case))
        if path.name == "acoustic.csv":
            felicity(read_emission(path), case.proof.onset_hits)
    except CaseError:
        return "refused"
    return "read"


class _Page(HTMLParser):
    """Elements, attributes and texts of a page."""

    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.faults: list[str] = []
        self.open: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.open.append(tag)
        if tag.startswith(words.TAG) or any(words.MARK in name for name, _ in attrs):
            self.faults.append(f"<{tag} {attrs}> came out of the input")
        if any((value or "").strip().lower().startswith("javascript:") for _, value in attrs):
            self.faults.append(f"<{tag} {attrs}> runs a script")

    def handle_data(self, data: str) -> None:
        if words.SUM in data:
            self.faults.append("a template of the input was run")
        if (
            self.open
            and self.open[-1] == "script"
            and "alert(1)" in data.replace("\\u003c", "<")[:9]
        ):
            self.faults.append("a script of the input would be run")


def check_page(text: str) -> None:
    """Refuse a page into which the input put more than text."""
    page = _Page()
    page.feed(text)
    page.close()
    if page.faults:
        raise SoundnessError(page.faults[0])


def check_picture(path: Path) -> None:
    """Refuse a picture that is no XML, or holds what the input put there."""
    try:
        root = ElementTree.parse(path).getroot()
    except ElementTree.ParseError as error:
        raise SoundnessError(f"the picture is not XML: {error}") from None
    for element in root.iter():
        if words.TAG in str(element.tag) or any(words.MARK in key for key in element.attrib):
            raise SoundnessError(f"<{element.tag}> came out of the input")
        if element.tag.endswith("}script"):
            raise SoundnessError("a script in the picture")
