"""The page of a comparison: one self-contained file, and its table."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import numpy as np
from markupsafe import Markup

from geometry.files import written_aside
from post.bondline import STRESSES
from post.compare import (
    Compared,
    Row,
    compare_words,
    differing,
    headline_rows,
    input_rows,
    limit_words,
    read_compared,
)
from post.compare_chart import COLOURS, DASHES, bondline_charts, ladders_chart, legend, line_of
from post.curves import SENSE, WORDS
from post.interactive import json_block, own_script, plotly_script, rounded
from post.pages import page_templates
from post.tables import table


def write_comparison(folders: Sequence[Path], page: Path, listed: Path) -> None:
    """Read the results of several cases and write their comparison.

    Parameters
    ----------
    folders : sequence of Path
        One folder of results for each case.
    page : Path
        One self-contained HTML file.
    listed : Path
        CSV: headlines and inputs, a column for each case.
    """
    cases = [read_compared(folder) for folder in folders]
    with written_aside(listed) as aside:
        rows = [["headline", *_flat(row)] for row in headline_rows(cases)]
        rows += [["input", *_flat(row)] for row in input_rows(cases)]
        heads = ("kind", "what", *(one.name for one in cases))
        aside.write_text(_csv(heads, rows), encoding="utf-8")
    with written_aside(page) as aside:
        aside.write_text(render_comparison(cases), encoding="utf-8")


def _flat(row: Row) -> list[str]:
    return [row[0], *row[1]]


def _csv(heads: Sequence[str], rows: Sequence[Sequence[str]]) -> str:
    stream = io.StringIO()
    writer = csv.writer(stream, lineterminator="\n")
    writer.writerows([heads, *rows])
    return stream.getvalue()


def render_comparison(cases: Sequence[Compared]) -> str:
    """Fill in the page."""
    inputs, heads = input_rows(cases), headline_rows(cases)
    names = [one.name for one in cases]
    bonds = _bonds(cases)
    data = comparison_data(cases, bonds)
    get = table("comparison", ["what", *names], [_flat(row) for row in [*heads, *inputs]])
    first = [row for row in heads if "bond, " not in row[0]]
    return (
        page_templates()
        .get_template("compare.html.j2")
        .render(
            names=names,
            titles=[one.case.title for one in cases],
            keys=[Markup(legend(i)) for i in range(len(cases))],
            words=compare_words(cases),
            limits=[(one.name, one.verdict.word, limit_words(one)) for one in cases],
            headlines=first,
            stresses=[row for row in heads if row not in first],
            differing=differing(inputs),
            inputs=inputs,
            ladders=Markup(ladders_chart(cases)),
            bonds=[
                {
                    "name": bond,
                    "charts": [Markup(svg) for svg in bondline_charts(cases, bond)],
                    "without": [one.name for one in cases if line_of(one, bond).empty],
                }
                for bond in bonds
            ],
            data=data,
            get=get.href,
            library=plotly_script(),
            block=json_block("compare-data", data),
            scripts=[own_script("charts.js"), own_script("compare.js")],
        )
    )


def _bonds(cases: Sequence[Compared]) -> list[str]:
    known = {name for one in cases for name in one.bondline["bond"].unique()}
    return [name for name in ("inner", "end", "outer", "scarf") if name in known]


def comparison_data(cases: Sequence[Compared], bonds: Sequence[str]) -> dict[str, Any]:
    """Make what the page's script draws: every stress along every bond, by case."""
    twisted = any(np.any(one.bondline["twist_shear_MPa"]) for one in cases)
    return {
        "cases": [
            {"name": one.name, "colour": COLOURS[i].removeprefix("--"), "dash": _dash(DASHES[i])}
            for i, one in enumerate(cases)
        ],
        "stresses": [
            {
                "key": key,
                "words": WORDS[key],
                "sense": list(SENSE.get(key, ("tension", "compression"))),
            }
            for key in STRESSES
            if key != "twist_shear" or twisted
        ],
        "bonds": [
            {
                "name": bond,
                "lines": [
                    {
                        "case": i,
                        "s": rounded(line["s_mm"]),
                        **{key: rounded(line[f"{key}_MPa"], 5) for key in STRESSES},
                    }
                    for i, one in enumerate(cases)
                    if not (line := line_of(one, bond)).empty
                ],
            }
            for bond in bonds
        ],
    }


def _dash(dash: str) -> str:
    """Write a dash of SVG as the charting library takes it."""
    return "solid" if dash == "none" else re.sub(r"(\d+)", r"\1px", dash).replace(" ", ",")
