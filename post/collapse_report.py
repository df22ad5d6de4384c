"""The hull as a whole in the report: sentences and the table of the scan."""

from __future__ import annotations

from typing import Any

from post.collapse import HALVES, waves_words
from post.tables import Cell, Table, table


def hull_part(summary: dict[str, Any]) -> dict[str, Any] | None:
    """Make what the report says of the hull's collapse.

    Parameters
    ----------
    summary : dict
        With ``buckling`` as from `post.collapse.collapse_summary`.

    Returns
    -------
    dict or None
        ``lead`` (sentences), ``table`` and ``mesh`` (words); None where nothing was scanned.
    """
    told = summary.get("buckling")
    if not told:
        return None
    critical = told["critical"]
    if critical["elastic_MPa"] is None:
        return None
    depth = critical["depth_m"]
    reached = "deeper than any sea" if depth is None else f"{depth:,.0f} m"
    where = "a bond" if critical["part"] == "adhesive" else f"the {critical['part']}"
    words = waves_words(critical["waves"], critical["symmetry"])
    lead = [
        f"The perfect hull buckles elastically at {critical['elastic_MPa']:.1f} \u00b1 "
        f"{max(critical['error_MPa'], 0.05):.1f} MPa with {words}, most in {where}.",
        f"Knocked down by {critical['knock_down']:g} ({critical['reason']}, "
        f"{critical['evidence']}) that is {critical['used_MPa']:.1f} MPa: {reached}.",
    ]
    plain = critical["without_temperature_MPa"]
    if plain is not None and told["temperature_change_K"]:
        share = 100 * (critical["elastic_MPa"] / plain - 1)
        change = f"{abs(share):.2g} % {'higher' if share > 0 else 'lower'}"
        if abs(share) < 0.1:
            change = "higher or lower by less than 0.1 %"
        lead.append(f"The stress of the temperature change makes it {change}.")
    shell = told["shell"]
    lead.append(
        f"Shell formulas for the wall alone, its whole length between stiff ends, give "
        f"{shell['elastic_MPa']:.1f} MPa (n = {shell['waves']}), "
        f"{shell['elastic_MPa'] / critical['elastic_MPa']:.2f} times that of the hull."
    )
    return {
        "lead": lead,
        "table": scan_table(told),
        "mesh": f"{told['triangles']} triangles of degree {told['degree']}",
    }


def scan_table(told: dict[str, Any]) -> Table:
    """Tabulate the least pressure of each number of waves and each symmetry."""
    columns = (
        "Waves around, n",
        "Halves",
        "Perfect hull, MPa",
        "Without temperature, MPa",
        "Knocked down, MPa",
        "Depth, m",
    )
    shown: list[list[Cell]] = []
    full: list[list[Cell]] = []
    for row in told["scan"]:
        halves = HALVES.get(row["symmetry"], "either way").removeprefix("both halves ")
        name = [str(row["waves"]), halves.removeprefix("the halves ")]
        numbers = [row[key] for key in ("elastic_MPa", "without_temperature_MPa", "used_MPa")]
        words = ["none" if number is None else f"{number:.1f}" for number in numbers]
        depth = row["depth_m"]
        shown.append([*name, *words, "beyond any sea" if depth is None else f"{depth:,.0f}"])
        full.append([row["waves"], row["symmetry"], *numbers, depth])
    return table("buckling", columns, shown, (columns, full))
