"""The depth ladder in the report: verdict, picture, tables of rungs, strengths and corners."""

from __future__ import annotations

import base64
import math
from collections.abc import Mapping, Sequence
from typing import Any

from post.ladder import Rung
from post.ladder_figure import depth_with_error, ladder_svg, standing
from post.ladder_table import ladder_table, rungs_from_json
from post.tables import Cell, Table, csv_address, table
from post.verdict import by_depth, has_number, is_judged, modes, overall, place_words, ratio_words
from post.words import MINUS

FIRST = 6  # rungs on the first screen
SIGNS = {"short": "\u25bc", "holds": "\u25cf", "not converged": "\u25a1"}  # as in the picture
CAPTION = (
    "Each mode at the depth where it is first reached, with its numerical error; shaded: from duty "
    "to required depth."
)


def ladder_part(
    summary: Mapping[str, Any], duty_depth: float, required_ratio: float
) -> dict[str, Any] | None:
    """Make what the report shows of the ladder.

    Parameters
    ----------
    summary : mapping
        With the rungs as ``ladder``; ``strengths`` and ``corners`` may be absent.
    duty_depth : float
        m.
    required_ratio : float

    Returns
    -------
    dict or None
        ``verdict, source, caption, first, more, reasons, all``; None where there are no rungs.
    """
    rungs = by_depth(rungs_from_json(summary.get("ladder") or []))
    if not rungs:
        return None
    picture = base64.b64encode(ladder_svg(rungs, duty_depth, required_ratio)).decode()
    top = [rung for rung in rungs if has_number(rung)][:FIRST]
    rest = len(rungs) - len(top)
    return {
        "verdict": overall(rungs, required_ratio),
        "source": f"data:image/svg+xml;base64,{picture}",
        "caption": CAPTION,
        "first": first_table(top, required_ratio),
        "more": f"{modes(rest)} more in the whole table." if rest else "",
        "reasons": [(name_words(rung), reason_words(rung)) for rung in top],
        "all": full_table(rungs, required_ratio),
    }


def name_words(rung: Rung) -> str:
    """Name a rung."""
    return f"{rung.part}: {rung.mode}"


def reason_words(rung: Rung) -> str:
    """Say what a rung's verdict stands on."""
    place = place_words(rung)
    pieces = [
        f"Where: {place}" if place else "",
        f"Verdict: {rung.why}" if rung.why else "",
        f"Strength: {rung.strength}" if rung.strength and has_number(rung) else "",
        f"Criterion: {rung.source}" if rung.source else "",
        f"Next in line: {rung.runner_up}" if rung.runner_up else "",
    ]
    return " ".join(f"{piece.rstrip('.')}." for piece in pieces if piece)


def verdict_words(rung: Rung, required_ratio: float) -> str:
    """Give the verdict of a rung with the sign of its mark."""
    if not has_number(rung):
        return rung.verdict if not is_judged(rung) else "not judged"
    stands = standing(rung, required_ratio)
    return f"{SIGNS[stands]} {stands}"


def first_table(rungs: Sequence[Rung], required_ratio: float) -> Table:
    """Tabulate the top rows of the ladder; the download is that of the whole."""
    rows = [
        [
            name_words(rung),
            depth_with_error(rung),
            ratio_words(rung, required_ratio),
            verdict_words(rung, required_ratio),
        ]
        for rung in rungs
    ]
    columns = ["What fails", "First reached at", "Ratio to duty", "Verdict"]
    return table("ladder-first", columns, rows)


def full_table(rungs: Sequence[Rung], required_ratio: float) -> Table:
    """Tabulate the whole ladder; the CSV is ``ladder.csv``."""
    rows = [
        [
            name_words(rung),
            depth_with_error(rung),
            _pressure(rung),
            ratio_words(rung, required_ratio),
            verdict_words(rung, required_ratio),
            rung.why,
            place_words(rung),
            rung.strength if has_number(rung) else "",
            rung.source,
            rung.runner_up,
        ]
        for rung in rungs
    ]
    columns = (
        "What fails",
        "First reached at",
        "MPa",
        "Ratio to duty",
        "Verdict",
        "Why",
        "Where",
        "Strength used",
        "Criterion",
        "Next in line",
    )
    shown = table("ladder", columns, rows)
    text = ladder_table(rungs).to_csv(index=False)
    return Table(shown.name, shown.columns, shown.rows, csv_address(text))


def _pressure(rung: Rung) -> str:
    if math.isnan(rung.pressure):
        return ""
    if math.isinf(rung.pressure):
        return "none"
    if rung.error == 0 or not math.isfinite(rung.error):
        return f"{rung.pressure:.1f}"
    return f"{rung.pressure:.1f} \u00b1 {max(math.ceil(10 * rung.error - 1e-9), 1) / 10:.1f}"


def strengths_table(strengths: Sequence[Mapping[str, Any]]) -> Table | None:
    """Tabulate every strength used, with what is taken off the card's value; None without any.

    Parameters
    ----------
    strengths : sequence of mapping
        ``part, card, name, card_value, unit, basis, source, factors``; each factor has ``factor``,
        ``reason`` and ``evidence``.
    """
    if not strengths:
        return None
    columns = (
        "Part",
        "Card",
        "Strength",
        "Card value",
        "Used",
        "Unit",
        "What is taken off",
        "Evidence it needs",
        "Basis",
        "Source",
    )
    shown: list[list[Cell]] = []
    full: list[list[Cell]] = []
    for row in strengths:
        factors = row.get("factors") or ()
        used = row["card_value"] * math.prod(_factor(one) for one in factors)
        taken = "; ".join(_factor_words(one) for one in factors if _factor(one) != 1)
        before: list[Cell] = [row["part"], row["card"] or "the case", row["name"]]
        needs = ". ".join(one["needs"] for one in factors if _needs(one))
        after: list[Cell] = [row["unit"], taken or "nothing", needs, row["basis"], row["source"]]
        shown.append([*before, _amount(row["card_value"]), _amount(used), *after])
        all_factors = "; ".join(_factor_words(one) for one in factors)
        full.append([*before, row["card_value"], used, row["unit"], all_factors, *after[2:]])
    return table("strengths", columns, shown, (columns, full))


def _amount(value: float) -> str:
    return f"{value:.4g}".replace("-", MINUS)


def _factor(one: Any) -> float:
    return float(one["factor"] if isinstance(one, Mapping) else one)


def _needs(one: Any) -> bool:
    return isinstance(one, Mapping) and bool(one.get("needs"))


def _factor_words(one: Any) -> str:
    """Write a factor with its reason and evidence."""
    if not isinstance(one, Mapping):
        return f"\u00d7 {one:.3g}"
    reason, evidence = str(one["reason"]), str(one["evidence"])
    told = reason if evidence in reason else f"{reason}, {evidence}"
    return f"\u00d7 {one['factor']:.3g} ({told})"


def corners_table(corners: Sequence[Mapping[str, Any]]) -> Table | None:
    """Tabulate the corners at which stress is not judged; None without any.

    Parameters
    ----------
    corners : sequence of mapping
        ``point`` (r, z), ``words``, ``exponents`` (powers of the distance, numbers or words), and
        ``radius``, mm.
    """
    if not corners:
        return None
    columns = ("r, mm", "z, mm", "What meets", "Stress goes as distance to the power", "Radius, mm")
    shown: list[list[Cell]] = []
    full: list[list[Cell]] = []
    for corner in corners:
        (r, z), words = corner["point"], str(corner["words"])
        place, colon, rest = words.partition(": ")
        meets = rest.partition("; ")[0] if colon and place.startswith("r = ") else words
        powers = [
            one if isinstance(one, str) else f"{one:.4f}".replace("-", MINUS)
            for one in corner["exponents"]
        ]
        ends: list[Cell] = [meets, ", ".join(powers) or "bounded"]
        shown.append([f"{r:.2f}", f"{z:.2f}", *ends, f"{corner['radius']:.3g}"])
        full.append([r, z, *ends, corner["radius"]])
    return table("corners", columns, shown, (columns, full))
