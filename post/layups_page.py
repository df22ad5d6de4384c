"""The page that compares layups, and its table."""

from __future__ import annotations

import base64
import math
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from markupsafe import Markup

from geometry.case import Case
from geometry.files import written_aside
from geometry.seawater import depth_at
from post.ladder import Rung
from post.layups import Judged, differs, judge_layups, layups_table
from post.layups_chart import draw_layups, key_mark, letters
from post.layups_words import (
    CAUTIONS,
    deepest_words,
    governing_words,
    layup_words,
    ratio_text,
    trade_words,
    twin_words,
)
from post.pages import page_templates
from post.verdict import depth_words, has_number, is_unconverged


@dataclass(frozen=True)
class Cell:
    """A mode of a layup in the table: its ratio in words, how it stands, and two marks."""

    words: str
    hint: str
    verdict: str
    governs: bool
    best: bool


@dataclass(frozen=True)
class Row:
    """A mode of all layups."""

    mark: Markup
    part: str
    mode: str
    cells: tuple[Cell, ...]


def write_layups(case: Case, page: Path, csv: Path) -> None:
    """Compare the named layups of a case and write page and table.

    Parameters
    ----------
    case : Case
    page : Path
        One self-contained HTML file.
    csv : Path
        One row per layup and mode.
    """
    found = judge_layups(case, case.mesh.level)
    with written_aside(csv) as aside:
        layups_table(found).to_csv(aside, index=False, float_format="%.8g")
    with written_aside(page) as aside:
        aside.write_text(render(case, found), encoding="utf-8")


def rows(found: Sequence[Judged]) -> list[Row]:
    """Lay the ladders side by side, one row per mode."""
    result = []
    for (part, mode), letter in letters(found).items():
        rungs = [one.by_mode.get((part, mode)) for one in found]
        best = _best(rungs)
        cells = tuple(
            _cell(one, rung, i in best)
            for i, (one, rung) in enumerate(zip(found, rungs, strict=True))
        )
        result.append(Row(Markup(key_mark(part, letter)), part, mode, cells))
    return result


def _best(rungs: Sequence[Rung | None]) -> set[int]:
    """Layups that no other one surpasses in a mode; none where all are alike."""
    there = {i: rung for i, rung in enumerate(rungs) if rung is not None and has_number(rung)}
    best = {
        i for i, rung in there.items() if all(differs(other, rung) <= 0 for other in there.values())
    }
    return set() if len(best) == len(there) else best


def _cell(one: Judged, rung: Rung | None, best: bool) -> Cell:
    if rung is None or not has_number(rung):
        why = "" if rung is None else rung.why
        return Cell("not judged", why, "not judged", False, False)
    words = ratio_text(rung, one.case.duty.required_ratio)
    verdict = "not converged" if is_unconverged(rung) else rung.verdict
    hint = f"{rung.mode}: {depth_words(rung)}; {rung.why}"
    return Cell(words, hint, verdict, rung is one.first, best)


def render(case: Case, found: Sequence[Judged]) -> str:
    """Fill in the page."""
    duty = case.duty
    depth = duty.depth
    if depth is None:
        assert duty.pressure is not None
        depth = depth_at(duty.pressure, duty.latitude)
    table = layups_table(found)
    text = base64.b64encode(table.to_csv(index=False, float_format="%.8g").encode()).decode()
    environment = page_templates()
    return environment.get_template("layups.html.j2").render(
        title=case.title,
        note=case.note,
        duty=f"{math.floor(depth):,} m",
        required=f"{duty.required_ratio:g}",
        thickness=f"{case.wall.thickness:.4g} mm",
        level=case.mesh.level,
        found=found,
        rows=rows(found),
        chart=Markup(draw_layups(found, depth, duty.required_ratio)),
        deepest=deepest_words(found),
        governing=governing_words(found),
        layups=[layup_words(one) for one in found] + twin_words(found),
        trades=trade_words(found),
        cautions=CAUTIONS,
        everything=f"data:text/csv;charset=utf-8;base64,{text}",
    )
