"""The charts of a study page.

Response curves of a grid, dots of a sample, rows of effects, the front of a search, and all
columns side by side.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from html import escape
from typing import Any

import numpy as np
import pandas as pd

from post.study.headline_names import unit_of, words_of
from post.study.models import SOLVED
from post.study.spreads import Choices, Variable
from post.study.svg import HEIGHT, Chart, around, number, rows_chart

MOST_DOTS = 600
MOST_LINES = 150


def with_unit(words: str, unit: str) -> str:
    """Put a unit behind words."""
    return f"{words}, {unit}" if unit else words


def axis_of(table: pd.DataFrame, variable: Variable) -> tuple[Any, Chart]:
    """Places of a variable's values, and an empty chart with its axis."""
    name = with_unit(variable.name, variable.unit)
    column = table[variable.name]
    if variable.numeric:
        return column.astype(float), Chart(around(column.astype(float)), (0, 1), name, "")
    assert isinstance(variable.spread, Choices)
    order = {value: float(i) for i, value in enumerate(variable.spread.values)}
    marks = [(place, str(value)) for value, place in order.items()]
    return column.map(order), Chart((-0.5, len(order) - 0.5), (0, 1), name, "", marks)


def _records(table: pd.DataFrame) -> list[dict[str, Any]]:
    return [dict(zip(table.columns, row, strict=True)) for row in table.to_numpy(object).tolist()]


def _held(table: pd.DataFrame, *headlines: str) -> pd.DataFrame:
    """Points that were solved and whose headlines are finite numbers."""
    keep = (table["status"] == SOLVED).to_numpy()
    for name in headlines:
        keep = keep & np.isfinite(table[name].to_numpy(float))
    return table.iloc[np.flatnonzero(keep)]


def _thinned(table: pd.DataFrame, most: int) -> pd.DataFrame:
    return (
        table.iloc[np.unique(np.linspace(0, len(table) - 1, most).astype(int))]
        if len(table) > most
        else table
    )


def response(
    table: pd.DataFrame,
    variable: Variable,
    others: Sequence[Variable],
    headline: str,
    required: float | None,
) -> str:
    """Curves of a headline over one variable, one for each setting of the others."""
    held = _held(table, headline)
    places, chart = axis_of(held, variable)
    chart.y = around([*held[headline], *([required] if required is not None else [])])
    chart.up = with_unit(words_of(headline), unit_of(headline))
    drawn = held.assign(_at=places).sort_values("_at")
    names = [other.name for other in others]
    groups = [g for _, g in drawn.groupby(names, sort=False)] if names else [drawn]
    for group in groups[:MOST_LINES]:
        look = "curve" if len(groups) == 1 else "curve thin"
        chart.line(zip(group["_at"], group[headline], strict=True), look)
    if len(groups) > 1:
        mean = drawn.groupby("_at")[headline].mean()
        chart.line(zip(mean.index, mean, strict=True), "curve mean")
    for _, row in (drawn if len(groups) == 1 else drawn.iloc[:0]).iterrows():
        words = f"point {row['point']}: {row[headline]:.4g}"
        chart.dot(row["_at"], row[headline], words)
    if required is not None:
        chart.level(required, "required")
    return chart.svg(f"{words_of(headline)} over {variable.name}")


def scatter(table: pd.DataFrame, variable: Variable, headline: str, required: float | None) -> str:
    """Dots of a headline over one variable."""
    held = _held(table, headline)
    held = _thinned(held, MOST_DOTS)
    places, chart = axis_of(held, variable)
    chart.y = around([*held[headline], *([required] if required is not None else [])])
    chart.up = with_unit(words_of(headline), unit_of(headline))
    for point, x, y in zip(held["point"], places, held[headline], strict=True):
        chart.dot(x, y, f"point {point}: {y:.4g}", "dot faint", 2.5)
    if required is not None:
        chart.level(required, "required")
    return chart.svg(f"{words_of(headline)} over {variable.name}")


def histogram(values: Sequence[float], headline: str, required: float | None) -> str:
    """How often values of a headline occur."""
    known = np.array([v for v in values if math.isfinite(v)])
    counts, edges = np.histogram(known, bins=min(30, max(5, int(np.sqrt(known.size)))))
    ends = around([*edges, *([required] if required is not None else [])], 0.03)
    chart = Chart(
        ends, (0, 1.08 * counts.max()), with_unit(words_of(headline), unit_of(headline)), "points"
    )
    for count, low, high in zip(counts, edges[:-1], edges[1:], strict=True):
        words = f"{low:.4g} to {high:.4g}: {count} points"
        chart.bar((low + high) / 2, 0.94 * (high - low), count, words)
    if required is not None:
        chart.upright(required, f"required {number(round(required, 3))}")
    return chart.svg(f"Distribution of {words_of(headline)}")


def tornado(correlations: pd.DataFrame, headline: str) -> str:
    """Rank correlations, the strongest first."""
    order = correlations.reindex(correlations["correlation"].abs().sort_values().index[::-1])
    rows = [
        (
            r["variable"],
            [
                (
                    r["correlation"],
                    r["low"],
                    r["high"],
                    "bar" if r["correlation"] > 0 else "bar cold",
                )
            ],
        )
        for r in _records(order)
    ]
    return rows_chart(
        rows, "rank correlation", f"Rank correlations of {words_of(headline)}", (-1.0, 1.0)
    )


def sobol_bars(indices: pd.DataFrame, headline: str) -> str:
    """First-order and total indices with their intervals."""
    order = indices.sort_values("total", ascending=False)
    rows = [
        (
            r["variable"],
            [
                (
                    r["first"],
                    r["first"] - r["first_interval"],
                    r["first"] + r["first_interval"],
                    "bar",
                ),
                (
                    r["total"],
                    r["total"] - r["total_interval"],
                    r["total"] + r["total_interval"],
                    "bar cold",
                ),
            ],
        )
        for r in _records(order)
    ]
    high = max(1.0, *(order["total"] + order["total_interval"]).fillna(0))
    low = min(0.0, *(order["first"] - order["first_interval"]).fillna(0))
    return rows_chart(
        rows, "share of the variance", f"Sobol' indices of {words_of(headline)}", (low, high)
    )


def morris_bars(effects: pd.DataFrame, headline: str) -> str:
    """Mean absolute effects with their intervals, and the spread of effects."""
    order = effects.sort_values("mu_star", ascending=False)
    rows = [
        (
            r["variable"],
            [
                (
                    r["mu_star"],
                    r["mu_star"] - r["mu_star_interval"],
                    r["mu_star"] + r["mu_star_interval"],
                    "bar",
                ),
                (r["sigma"], math.nan, math.nan, "bar cold"),
            ],
        )
        for r in _records(order)
    ]
    high = float(
        np.nanmax([*(order["mu_star"] + order["mu_star_interval"]), *order["sigma"], 1e-9])
    )
    across = with_unit("effect over the whole range", unit_of(headline))
    return rows_chart(rows, across, f"Morris' effects on {words_of(headline)}", (0.0, 1.03 * high))


def trade_off(table: pd.DataFrame, across: str, up: str) -> str:
    """Two aims of every design that was tried, the front in front."""
    held = _held(table, across, up)
    chart = Chart(
        around(held[across]),
        around(held[up]),
        with_unit(words_of(across), unit_of(across)),
        with_unit(words_of(up), unit_of(up)),
    )
    front = held[held["best"]].sort_values(across)
    chart.line(zip(front[across], front[up], strict=True), "curve thin")
    for best, look, size in ((False, "dot faint", 2.5), (True, "dot", 4.0)):
        for _, row in held[held["best"] == best].iterrows():
            words = f"design {row['point']}: {row[across]:.4g}, {row[up]:.4g}"
            chart.dot(row[across], row[up], words, look, size)
    return chart.svg(f"{words_of(up)} against {words_of(across)}")


def descent(table: pd.DataFrame, headline: str, largest: bool) -> str:
    """One aim of every design in the order of the search, and the best so far."""
    held = _held(table, headline)
    chart = Chart(
        around(held["point"]),
        around(held[headline]),
        "design, in the order of the search",
        with_unit(words_of(headline), unit_of(headline)),
    )
    for point, y, best in zip(held["point"], held[headline], held["best"], strict=True):
        look, size = ("dot", 5.0) if best else ("dot faint", 2.5)
        chart.dot(point, y, f"design {point}: {y:.4g}", look, size)
    return chart.svg(f"{words_of(headline)} in the search for the {'most' if largest else 'least'}")


def parallel(
    table: pd.DataFrame, variables: Sequence[Variable], headlines: Sequence[str], chosen: str
) -> str:
    """Every point as a line over all columns; the better half of a headline stands out."""
    held = _thinned(_held(table, *headlines), MOST_LINES)
    columns: list[tuple[str, Any, str, str]] = []
    for variable in variables:
        places, chart = axis_of(held, variable)
        low, high = (number(float(f"{v:.3g}")) for v in (places.min(), places.max()))
        if chart.x_ticks:
            low, high = chart.x_ticks[0][1], chart.x_ticks[-1][1]
        columns.append((variable.name, places.to_numpy(float), low, high))
    for name in headlines:
        values = held[name].to_numpy(float)
        if len(values):
            ends = (f"{values.min():.4g}", f"{values.max():.4g}")
            columns.append((words_of(name), values, *ends))
    if len(held) < 2 or len(columns) < 2:
        return ""
    edge, step, top, bottom = 85.0, 165.0, 46.0, HEIGHT - 26
    scaled = []
    for _, values, _, _ in columns:
        span = np.ptp(values)
        scaled.append(np.full(len(values), 0.5) if span == 0 else (values - values.min()) / span)
    good = held["best"].to_numpy(bool) if "best" in held else None
    if good is None:
        order = held[chosen].to_numpy(float)
        good = order >= np.quantile(order, 0.8)
    lines = []
    for i in sorted(range(len(held)), key=lambda j: bool(good[j])):
        points = " ".join(
            f"{edge + step * c:.0f},{bottom - (bottom - top) * scaled[c][i]:.1f}"
            for c in range(len(columns))
        )
        look = "curve" if good[i] else "curve faint"
        lines.append(f'<polyline points="{points}" class="{look}"/>')
    for c, (name, _, low, high) in enumerate(columns):
        x = edge + step * c
        first, _, last = name.rpartition(".") if "." in name else name.rpartition(", ")
        above = first[-28:]
        lines.append(
            f'<line x1="{x:.0f}" x2="{x:.0f}" y1="{top}" y2="{bottom}" class="pole"/>'
            f'<text x="{x:.0f}" y="14" class="tick">{escape(above)}</text>'
            f'<text x="{x:.0f}" y="27" class="tick strong">{escape(last)}</text>'
            f'<text x="{x:.0f}" y="41" class="tick">{escape(high)}</text>'
            f'<text x="{x:.0f}" y="{bottom + 15}" class="tick">{escape(low)}</text>'
        )
    wide = 2 * edge + step * (len(columns) - 1)
    return (
        f'<svg class="chart poles" style="min-width:{0.75 * wide:.0f}px" '
        f'viewBox="0 0 {wide:g} {HEIGHT:g}" role="img" '
        f'aria-label="Every point over all columns">{"".join(lines)}</svg>'
    )
