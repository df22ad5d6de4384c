"""The page of a study: what was asked, what came out, how sure it is, and every point."""

from __future__ import annotations

import base64
import math
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
from markupsafe import Markup

from geometry.files import written_aside
from geometry.seawater import depth_at, duty_pressure
from post.pages import page_templates
from post.study import charts, indices
from post.study.choose import is_reduced
from post.study.gather import relative_errors
from post.study.headline_names import unit_of, words_of
from post.study.models import SOLVED
from post.study.probability import Chance, chance_below
from post.study.study_file import Study

MOST_CHARTS = 3  # headlines that are drawn
MOST_ROWS = 500
MOST_CSV = 6_000_000  # bytes of the table within the page
ASKED = {
    "grid": "Every combination of the values",
    "sample": "Points drawn at random, evenly spread",
    "sensitivity": "Which field matters how much",
    "best": "The best design",
}


def write_page(study: Study, study_file: Path, table: pd.DataFrame, html: Path) -> None:
    """Write the page as one self-contained file."""
    with written_aside(html) as aside:
        aside.write_text(render(study, study_file, table), encoding="utf-8")


def render(study: Study, study_file: Path, table: pd.DataFrame) -> str:
    """Fill in the page."""
    environment = page_templates()
    solved = table[table["status"] == SOLVED]
    numeric = numeric_headlines(study, table)
    refusals = table.loc[table["status"] != SOLVED, "reason"].map(
        lambda reason: str(reason).partition("; allowed")[0]
    )
    csv = table.to_csv(index=False, float_format="%.8g").encode()
    errors = relative_errors(solved, numeric)
    shown = table_rows(study, table)
    return environment.get_template("study.html.j2").render(
        study=study,
        study_file=study_file,
        asked=ASKED[study.ask.do.kind],
        counts={name: int(n) for name, n in table["status"].value_counts().items()},
        reasons=refusals.value_counts().head(8).items(),
        reduced=is_reduced(study) and not study.ask.do.best,
        checked=int(table["checked"].sum()) if "checked" in table else 0,
        worst=max(errors.values(), default=None),
        spans=[span_row(solved, name, errors.get(name)) for name in numeric],
        varied=[(v.name, v.unit, spread_words(v.spread)) for v in study.variables],
        first_modes=first_modes(solved),
        chance=shortfall(study, table),
        required=study.case.duty.required_ratio,
        figures=figures(study, table, numeric),
        words=words_of,
        columns=shown[0],
        rows=shown[1],
        total=len(table),
        csv=f"data:text/csv;charset=utf-8;base64,{base64.b64encode(csv).decode()}"
        if len(csv) < MOST_CSV
        else "table.csv",
    )


def numeric_headlines(study: Study, table: pd.DataFrame) -> list[str]:
    """Headlines that are numbers and known at one point at least."""
    return [
        name
        for name in study.headlines
        if not name.endswith(".mode") and np.isfinite(table[name].astype(float)).any()
    ]


def required_of(study: Study, headline: str) -> float | None:
    """Give what the duty asks of a depth or ratio; None where it does not, or depth varies."""
    duty = study.case.duty
    if headline.endswith(".ratio"):
        return duty.required_ratio
    if headline.endswith(".depth") and not any(n.startswith("duty.") for n in study.names):
        whole = duty.depth
        if whole is None:
            whole = depth_at(duty_pressure(study.case), duty.latitude)
        return duty.required_ratio * whole
    return None


def shortfall(study: Study, table: pd.DataFrame) -> Chance | None:
    """Probability of not reaching the required depth, of a sample."""
    if not study.ask.do.sample:
        return None
    if "first_failure.ratio" in table:
        return chance_below(table["first_failure.ratio"], study.case.duty.required_ratio)
    least = required_of(study, "first_failure.depth")
    if "first_failure.depth" in table and least is not None:
        return chance_below(table["first_failure.depth"], least)
    return None


def span_row(solved: pd.DataFrame, name: str, error: float | None) -> dict[str, Any]:
    """Say a headline's spread in a table row."""
    values = solved[name].to_numpy(float)
    known = values[~np.isnan(values)]
    return {
        "name": words_of(name),
        "unit": unit_of(name),
        "least": short(float(known.min())),
        "median": short(float(np.median(known))),
        "largest": short(float(known.max())),
        "error": "" if error is None else f"{100 * error:.2g} %",
    }


def short(value: object) -> str:
    """Write a value for a table."""
    if not isinstance(value, float):
        return str(value)
    if math.isnan(value):
        return "\u2013"
    if math.isinf(value):
        return "no sea" if value > 0 else "\u2013"
    return f"{value:,.0f}" if abs(value) >= 1000 else f"{value:.4g}"


def spread_words(spread: Any) -> str:
    """Say how a field is spread."""
    kind = type(spread).__name__
    if kind == "Choices":
        return "one of " + ", ".join(short(v) for v in spread.values)
    if kind == "Normal":
        return (
            f"normal, mean {short(spread.mean)}, standard deviation {short(spread.sd)}, "
            f"from {short(spread.low)} to {short(spread.high)}"
        )
    if kind == "Triangular":
        return f"triangular, {short(spread.low)}, {short(spread.mode)}, {short(spread.high)}"
    return f"even, {short(spread.low)} to {short(spread.high)}"


def first_modes(solved: pd.DataFrame) -> list[tuple[str, int]]:
    """Which mode goes first, at how many points."""
    if "first_failure.mode" not in solved:
        return []
    return [(str(k), int(n)) for k, n in solved["first_failure.mode"].value_counts().items()]


def figures(study: Study, table: pd.DataFrame, numeric: list[str]) -> list[dict[str, Any]]:
    """Sections of charts: a heading, a sentence, and the drawings."""
    do = study.ask.do
    drawn = [n for n in numeric if n != "first_failure.ratio" or len(numeric) == 1][:MOST_CHARTS]
    main = drawn[0] if drawn else None
    if main is None:
        return []
    made: list[dict[str, Any]] = []

    def add(heading: str, text: str, drawings: list[str]) -> None:
        drawings = [d for d in drawings if d]
        if drawings:
            made.append({"heading": heading, "text": text, "charts": [Markup(d) for d in drawings]})

    if do.best:
        _best_figures(study, table, add)
    if do.grid:
        for name in drawn:
            add(
                f"Response: {words_of(name)}",
                "One line for each setting of the other fields; the thick line is their mean.",
                [
                    charts.response(
                        table,
                        v,
                        [o for o in study.variables if o is not v],
                        name,
                        required_of(study, name),
                    )
                    for v in study.variables
                ],
            )
    if do.sensitivity:
        _effect_figures(study, table, drawn, add)
    if do.sample:
        for name in drawn:
            found = indices.rank_correlations(table, name, study.variables)
            if len(found):
                add(
                    f"What moves {words_of(name)}",
                    "Spearman's rank correlation with its 95 % interval: 1 where the number rises "
                    "whenever the field does, -1 where it falls.",
                    [charts.tornado(found, name)],
                )
    if do.sample or do.sensitivity:
        add(
            f"Distribution: {words_of(main)}",
            "Over all points that were solved.",
            [charts.histogram(table[main].tolist(), main, required_of(study, main))],
        )
        text = "Every dot is a point."
        if len(table) > charts.MOST_DOTS:
            text = f"Every dot is a point; {charts.MOST_DOTS} of {len(table):,} are drawn."
        drawings = [
            charts.scatter(table, v, main, required_of(study, main)) for v in study.variables
        ]
        add(f"Fields and {words_of(main)}", text, drawings)
    if do.best:
        aims = [*do.best.least, *do.best.most]
        drawn = [*aims, *(name for name in drawn if name not in aims)][:MOST_CHARTS]
    marked = "the best designs" if do.best else f"the fifth with the most {words_of(main)}"
    add(
        "All columns side by side",
        f"A line is a point; those drawn strongly are {marked}.",
        [charts.parallel(table, study.variables, drawn, main)],
    )
    return made


def _best_figures(study: Study, table: pd.DataFrame, add: Any) -> None:
    best = study.ask.do.best
    assert best is not None
    aims = [*best.least, *best.most]
    if len(aims) == 2:
        add(
            "Trade-off",
            "Every dot is a design that was tried. No other beats those on the line in both aims "
            "and holds every limit.",
            [charts.trade_off(table, *aims)],
        )
    else:
        text = "Every dot is a design that was tried; the large one is the best that holds."
        add("Search", text, [charts.descent(table, aims[0], bool(best.most))])


def _effect_figures(study: Study, table: pd.DataFrame, drawn: list[str], add: Any) -> None:
    ask = study.ask.do.sensitivity
    assert ask is not None
    for name in drawn:
        values = table[name].to_numpy(float)
        if ask.method == "sobol":
            found, whole = indices.sobol_indices(
                values, study.variables, ask.repeats, study.ask.seed
            )
            add(
                f"What moves {words_of(name)}",
                "Sobol' indices with their 95 % bootstrap intervals: the share of the variance "
                "that goes with a field alone (upper bar), and in any company (lower bar). "
                f"{whole} of {ask.repeats} blocks are complete.",
                [charts.sobol_bars(found, name)],
            )
        else:
            found, whole = indices.morris_effects(
                values, study.variables, study.ask.do, study.ask.seed
            )
            add(
                f"What moves {words_of(name)}",
                "Morris' effects: their mean size with its 95 % bootstrap interval (upper bar), "
                "and their standard deviation (lower bar), which is large where a field acts in a "
                f"bend or with others. {whole} of {ask.repeats} trajectories are complete.",
                [charts.morris_bars(found, name)],
            )


def table_rows(study: Study, table: pd.DataFrame) -> tuple[list[str], list[list[str]]]:
    """Columns and rows of the page's own table; the best first, then in order."""
    columns = ["point", *study.names, "status", *study.headlines]
    shown = table.sort_values("best", ascending=False, kind="stable") if "best" in table else table
    shown = shown.iloc[:MOST_ROWS]
    rows = []
    for values, status, reason in zip(
        shown[columns].itertuples(index=False, name=None),
        shown["status"],
        shown["reason"],
        strict=True,
    ):
        cells = [short(value) for value in values]
        if status != SOLVED:
            cells[columns.index("status")] = f"{status}: {reason}"
        rows.append(cells)
    return columns, rows
