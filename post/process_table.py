"""What the process costs, as files and as the report shows it."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

import pandas as pd

from geometry.case import Case
from post.ladder import Rung
from post.ladder_figure import depth_with_error
from post.plain_data import numbers, plain
from post.process_cost import CLEAN, TOGETHER, Cost, Hit, cost_of
from post.process_figure import draw_costs
from post.tables import Cell, Table, csv_address, table
from post.verdict import depth_words, ratio_words
from post.words import MINUS

FLAWED = "as stated, with flaws"


def costs_to_json(case: Case, duty_depth: float, rows: Sequence[Cost]) -> dict[str, Any]:
    """Turn the rows into plain data of strict JSON."""
    told = {"duty_depth_m": duty_depth, "required_ratio": case.duty.required_ratio}
    return {**told, "rows": plain(tuple(rows))}


def costs_from_json(rows: Sequence[Mapping[str, Any]]) -> tuple[Cost, ...]:
    """Read rows back from what `costs_to_json` made."""
    costs = []
    for row in numbers(rows):
        first = None if row["first"] is None else Rung(**row["first"])
        hit = None if row["hit"] is None else Hit(**row["hit"])
        costs.append(Cost(**{**row, "first": first, "hit": hit}))
    return tuple(costs)


def costs_table(rows: Sequence[Cost]) -> pd.DataFrame:
    """One row per joint; numbers are NaN where there is none."""
    nothing = math.nan
    return pd.DataFrame(
        [
            {
                "joint": row.name,
                "stated": row.stated,
                "bound": row.bound,
                "verdict": row.verdict,
                "part": row.first.part if row.first else "",
                "mode": row.first.mode if row.first else "",
                "first_failure_pressure_MPa": row.first.pressure if row.first else nothing,
                "error_MPa": row.first.error if row.first else nothing,
                "first_failure_depth_m": row.first.depth if row.first else nothing,
                "ratio": row.first.ratio if row.first else nothing,
                "ratio_error": row.first.ratio_error if row.first else nothing,
                "cost_m": row.loss,
                "cost_error_m": row.loss_error,
                "hardest_hit_part": row.hit.part if row.hit else "",
                "hardest_hit_mode": row.hit.mode if row.hit else "",
                "hardest_hit_ratio_clean": row.hit.before if row.hit else nothing,
                "hardest_hit_ratio": row.hit.after if row.hit else nothing,
                "why": row.why,
            }
            for row in rows
        ]
    )


def process_part(
    told: Mapping[str, Any] | None,
    made: Sequence[Mapping[str, Any]],
    ladder: Sequence[Rung] = (),
    flaws: int = 0,
) -> Any:
    """Make what the report shows of the process; None where nothing was compared.

    Parameters
    ----------
    told : mapping or None
        As from `costs_to_json`.
    made : sequence of mapping
        Constants that the process changed, as `solve.as_made.Made`.
    ladder : sequence of Rung
        That of the report: all facts but the bounds, with flaws and the hull's buckling.
    flaws : int
        How many the case states; with any, the ladder stands as a row of its own.
    """
    if told is None:
        return None
    rows, name = costs_from_json(told["rows"]), "process"
    required = float(told["required_ratio"])
    if flaws and ladder and rows[0].first is not None:
        stated = "1 flaw" if flaws == 1 else f"{flaws} flaws"
        on = "the depth ladder above: flaws, the hull's buckling, all but tolerance and offset"
        row = cost_of(FLAWED, stated, on, "", ladder, (rows[0].first,), required)
        rows, name = (*rows, replace(row, hit=None)), "process-and-flaws"
    return {
        "words": process_words(rows),
        "picture": draw_costs(rows, float(told["duty_depth_m"]), required),
        "costs": shown_table(rows, required, name),
        "made": made_table(made),
    }


def process_words(rows: Sequence[Cost]) -> str:
    """Say what the process costs in one sentence."""
    whole, together = rows[0].first, next((row for row in rows if row.name == TOGETHER), None)
    if whole is None or together is None or together.first is None:
        return "No depth of first failure stands for the clean joint, or for all facts together."
    start = f"The clean joint first fails at {depth_words(whole)}"
    if not together.told:
        return f"{start}; all that the case states together costs no more than the numerical error."
    way = "costs" if together.loss > 0 else "gains"
    alone = [row for row in rows[1:] if row.name not in (TOGETHER, FLAWED)]
    facts = [row for row in alone if row.loss > 0 and row.told]
    most = max(facts, key=lambda row: row.loss, default=None)
    much = f" The dearest by itself: {most.name}, {_metres(most)}." if most else ""
    return (
        f"{start}; all that the case states together {way} {_metres(together)}, "
        f"down to {depth_words(together.first)}.{much}"
        if together.loss > 0
        else f"{start}; all that the case states together {way} {_metres(together)}.{much}"
    )


def shown_table(rows: Sequence[Cost], required: float, name: str = "process") -> Table:
    """Tabulate the rows for the report, under the name of the file that holds them."""
    shown: list[list[Cell]] = []
    for row in rows:
        first, hit = row.first, row.hit
        notes = [note for note in (row.bound and f"worse: {row.bound}", row.why) if note]
        shown.append(
            [
                row.name,
                row.stated,
                depth_with_error(first) if first else "",
                ratio_words(first, required) if first else "",
                cost_words(row),
                row.verdict,
                f"{first.part}: {first.mode}" if first else "",
                f"{hit.part}: {hit.mode}, {hit.before:.2f} \u2192 {hit.after:.2f}" if hit else "",
                "; ".join([row.acts_on, *notes]) if row.acts_on else "; ".join(notes),
            ]
        )
    columns = (
        "Joint",
        "As stated",
        "First failure at",
        "Ratio to duty",
        "Costs",
        "Verdict",
        "What goes first",
        "What it costs most, ratio",
        "What it changes",
    )
    made = table(name, columns, shown)
    text = costs_table(rows).to_csv(index=False)
    return Table(made.name, made.columns, made.rows, csv_address(text))


def cost_words(row: Cost) -> str:
    """Write a cost with its error."""
    if row.name == CLEAN or row.verdict == "not judged":
        return ""
    if math.isnan(row.loss):  # one of the two is reached in no sea
        return "no sea reached it clean" if row.first is not None else "nothing"
    if row.loss == 0:
        return "nothing"
    if not row.told:
        return f"within \u00b1 {_up(row.loss_error):,} m"
    return _metres(row) if row.loss > 0 else f"gains {_metres(row)}"


def _metres(row: Cost) -> str:
    return f"{abs(row.loss):,.0f} \u00b1 {_up(row.loss_error):,} m"


def _up(error: float) -> int:
    return max(1, math.ceil(error - 1e-9))


def made_table(made: Sequence[Mapping[str, Any]]) -> Table | None:
    """Tabulate what the process made of the cards; None where it changed none."""
    if not made:
        return None
    shown: list[list[Cell]] = []
    for row in made:
        unit, factor = {"MPa": ("GPa", 1e-3), "1/K": ("10\u207b\u2076/K", 1e6)}.get(
            row["unit"], (row["unit"], 1.0)
        )
        if row["unit"] == "tonne/mm^3":
            unit, factor = "kg/m\u00b3", 1e12
        numbers_ = [
            f"{row[key] * factor:.4g}".replace("-", MINUS) for key in ("on_card", "as_made")
        ]
        shown.append([row["card"], row["constant"], *numbers_, unit, row["how"]])
    columns = ("Card", "Constant", "On the card", "As made", "Unit", "By")
    full = [
        [row[key] for key in ("card", "constant", "on_card", "as_made", "unit", "how")]
        for row in made
    ]
    return table("as-made", columns, shown, (columns, full))
