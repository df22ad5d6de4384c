"""Single changes as files and as the report shows them: sentences, bars, table."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Any

import pandas as pd
from markupsafe import Markup

from post.change_trials import Trial, Trials
from post.changes_chart import by_field, draw_changes, gain, signed
from post.ladder import Rung
from post.plain_data import numbers, plain
from post.study.models import SOLVED
from post.tables import Cell, Table, csv_address, table
from post.verdict import depth_words, governing, has_number
from post.words import MINUS

NOT_A_PROMISE = (
    "Each is one change by itself, by linear elasticity. Effects of several do not simply add, nor "
    "go on beyond the step, and nothing here says what a change costs to make, or what it does to "
    "surfaces, cure or corrosion. Before any is taken, put it in the case file and read its report."
)

ALIKE = 0.03  # first failures closer than this share may change places between two meshes
NOT_THE_LADDERS = (
    " No change here is held against that first failure of the ladder: as in studies, the joint is "
    "tried without its flaws. What the flaws need comes first."
)


def trials_to_json(trials: Trials) -> dict[str, Any]:
    """Turn the trials into plain data of strict JSON."""
    told: dict[str, Any] = plain(trials)
    return told


def trials_from_json(told: Mapping[str, Any]) -> Trials:
    """Read back what `trials_to_json` made."""
    read = numbers(told)
    rows = tuple(Trial(**row) for row in read["rows"])
    return Trials(Trial(**read["base"]), rows, read["error"], read["checked"])


def trials_table(trials: Trials) -> pd.DataFrame:
    """One row per change, the case itself first; numbers are NaN where there is none."""
    base = trials.base
    return pd.DataFrame(
        [
            {
                "change": row.field,
                "step": row.step,
                "from_to": row.values,
                "status": row.status,
                "first_failure_depth_m": row.depth,
                "deeper_by_m": gain(row, base.depth),
                "error_m": trials.error if row is not base else 0.0,
                "ratio": row.ratio,
                "fails_first": row.first,
                "mass_kg": row.mass,
                "heavier_by_kg": row.mass - base.mass,
                "weight_in_water_N": row.weight_in_water,
                "buoyancy_lost_N": row.weight_in_water - base.weight_in_water,
                "why": row.why,
            }
            for row in (base, *trials.rows)
        ]
    )


def changes_part(
    told: Mapping[str, Any] | None, ladder: Sequence[Rung], required: float
) -> dict[str, Any] | None:
    """Make what the report shows of single changes; None where none was tried.

    Parameters
    ----------
    told : mapping or None
        As from `trials_to_json`, with ``studies`` as from `post.study.finished.study_line`.
    ladder : sequence of Rung
        That of the report.
    required : float
        Ratio that is asked for.
    """
    if told is None:
        return None
    trials, studies = trials_from_json(told), told.get("studies", [])
    if trials.base.status != SOLVED:
        why = f"No change was tried: the case itself could not be solved here ({trials.base.why})."
        return {"words": [why], "picture": "", "all": None, "caution": "", "studies": studies}
    return {
        "words": [*change_words(trials, required), base_words(trials, ladder)],
        "picture": Markup(draw_changes(trials)) if math.isfinite(trials.base.depth) else "",
        "all": shown_table(trials),
        "caution": f"{error_words(trials)} {NOT_A_PROMISE}",
        "studies": studies,
    }


def change_words(trials: Trials, required: float) -> list[str]:
    """Say which change helps most, what comes next, and what is required."""
    base = trials.base
    if not math.isfinite(base.depth):
        return ["No sea reaches a first failure as the case is: there is no depth to gain."]
    solved = [row for row in trials.rows if row.status == SOLVED and not math.isnan(row.depth)]
    helping = sorted(
        (row for row in solved if gain(row, base.depth) > trials.error), key=lambda r: -r.depth
    )
    words = [_best(helping, len(solved), trials)]
    best_of = {row.field: row for row in reversed(helping)}
    following = [row for row in helping if best_of[row.field] is row][1:3]
    if following:
        words.append(
            "Next: " + "; ".join(f"{_named(r)}, {_gain(r, base)}" for r in following) + "."
        )
    words.append(_required(solved, base, required))
    return [" ".join(words)]


def _best(helping: Sequence[Trial], count: int, trials: Trials) -> str:
    base = trials.base
    if not helping:
        within = f" (\u00b1 {max(1, math.ceil(trials.error)):,} m)"
        return (
            f"None of {count} single changes deepens first failure by more than the numerical "
            f"error{within if math.isfinite(trials.error) else ''}."
        )
    best = helping[0]
    then = "still first" if best.first == base.first else "then first"
    if math.isinf(best.depth):
        return f"Of {count} single changes, {_named(best)} helps most: no sea breaks it then."
    return (
        f"Of {count} single changes, {_named(best)} deepens first failure most: "
        f"{_gain(best, base)} to {math.floor(best.depth):,} m ({best.first} {then})"
        f"{_weight(best, base)}."
    )


def _required(solved: Sequence[Trial], base: Trial, required: float) -> str:
    """Say which changes cross what is required."""
    if base.ratio < required:
        enough = [row for row in solved if row.ratio >= required]
        if not enough:
            return f"None of them alone reaches the required ratio, {required:g}."
        if len(enough) == 1:
            return f"Only {_named(enough[0])} reaches the required ratio, {required:g}, by itself."
        return f"{len(enough)} of them reach the required ratio, {required:g}, each by itself."
    lost = sorted((r for r in solved if r.ratio < required), key=lambda row: row.depth)
    if not lost:
        return f"None of them falls below the required ratio, {required:g}."
    worst = f"{_named(lost[0])} the farthest ({lost[0].ratio:.2f})"
    if len(lost) == 1:
        return f"One falls below the required ratio, {required:g}: {_named(lost[0])}."
    return f"{len(lost)} of them fall below the required ratio, {required:g}, {worst}."


def base_words(trials: Trials, ladder: Sequence[Rung]) -> str:
    """Say how the case itself stands here beside the report's ladder."""
    base, first = trials.base, governing(ladder)
    here = "no sea reaches a first failure"
    if math.isfinite(base.depth):
        here = f"{base.first} at {math.floor(base.depth):,} m"
    start = f"The case as it is, on the light mesh of these trials: {here}"
    if first is None:
        return f"{start}. The depth ladder has no first failure to hold it against."
    if f"{first.part}: {first.mode}" == base.first and first.depth > 0:
        apart = f"{100 * (base.depth / first.depth - 1):+.1f} %".replace("-", MINUS)
        return (
            f"{start}; the depth ladder, on a finer one, has it at {depth_words(first)} ({apart})."
        )
    same = [r for r in ladder if has_number(r) and f"{r.part}: {r.mode}" == base.first]
    on_ladder = "; ".join(f"{r.part}, {r.mode}, at {depth_words(r)}" for r in (first, *same[:1]))
    alike = base.depth * (1 - ALIKE) <= first.depth <= base.depth * (1 + ALIKE)
    return f"{start}. The depth ladder has {on_ladder}." + ("" if alike else NOT_THE_LADDERS)


def error_words(trials: Trials) -> str:
    """Say what the shaded band is, and where it comes from."""
    if not math.isfinite(trials.error):
        return "The numerical error of these differences is not known."
    tried = "the change that helps most" if trials.checked == 1 else "the changes that help most"
    return (
        "Shaded: the numerical error of a difference, "
        f"\u00b1 {max(1, math.ceil(trials.error)):,} m, from the case and {tried} on a mesh of "
        "half the element size."
    )


def shown_table(trials: Trials) -> Table:
    """Tabulate the changes for the report, in the order of the bars."""
    base = trials.base
    shown: list[list[Cell]] = [_cells(base, trials)]
    for _, of_field in by_field(trials.rows, base.depth):
        shown += [_cells(row, trials) for row in of_field]
    columns = (
        "Change",
        "From, to",
        "First failure at",
        "Deeper by",
        "Ratio to duty",
        "What goes first",
        "Mass",
        "Weight in water",
    )
    made = table("changes", columns, shown)
    text = trials_table(trials).to_csv(index=False, float_format="%.8g")
    return Table(made.name, made.columns, made.rows, csv_address(text))


def _cells(row: Trial, trials: Trials) -> list[Cell]:
    base = trials.base
    if row.status != SOLVED:
        return [row.name, row.values, "", "", "", f"cannot be built: {row.why}", "", ""]
    change = gain(row, base.depth)
    deeper = ""
    if row is not base and math.isfinite(change):
        error = max(1, math.ceil(trials.error - 1e-9)) if math.isfinite(trials.error) else 0
        deeper = signed(change, " m") + (f" \u00b1 {error:,} m" if error else "")
    at = "not reached" if not math.isfinite(row.depth) else f"{math.floor(row.depth):,} m"
    ratio = f"{row.ratio:.2f}" if math.isfinite(row.ratio) else ""
    if row is base:
        mass = f"{row.mass:.1f} kg" if math.isfinite(row.mass) else "not known"
        weight = signed(row.weight_in_water, " N") if math.isfinite(row.mass) else "not known"
        return [row.name, "", at, "", ratio, row.first, mass, weight]
    mass = weight = ""
    if math.isfinite(row.mass - base.mass):
        mass = signed(row.mass - base.mass, " kg", 1)
        weight = signed(row.weight_in_water - base.weight_in_water, " N")
    return [row.name, row.values, at, deeper, ratio, row.first, mass, weight]


def _weight(row: Trial, base: Trial) -> str:
    """Say what a change adds in mass; nothing where it adds none that is worth a word."""
    heavier = row.mass - base.mass
    if not abs(heavier) >= 0.05:
        return ""
    return f", for {abs(heavier):.1f} kg {'more' if heavier > 0 else 'less'}"


def _named(row: Trial) -> str:
    return row.name if row.step in row.values else f"{row.name} ({row.values})"


def _gain(row: Trial, base: Trial) -> str:
    if math.isinf(row.depth):
        return "no sea breaks it then"
    return f"{100 * gain(row, base.depth) / base.depth:+.1f} %".replace("-", MINUS)
