"""The headline table for the terminal."""

from __future__ import annotations

from typing import Any

import pandas as pd

SHOWN = (
    ("peel", "mean", "mean peel"),
    ("peel", "first_thickness", "peel, first thickness"),
    ("peel", "largest", "largest peel"),
    ("shear", "mean", "mean shear"),
    ("shear", "first_thickness", "shear, first thickness"),
    ("shear", "largest", "largest shear"),
    ("shear", "smallest", "smallest shear"),
)


def headline_table(summary: dict[str, Any]) -> str:
    """Lay out the headlines of a summary as text.

    Parameters
    ----------
    summary : dict
        As from `post.summary.summarise`.

    Returns
    -------
    str
        One row per number, one column per bond, MPa with its numerical error.
    """
    cells: dict[str, dict[str, str]] = {}
    for row in summary["headlines"]:
        for stress, statistic, words in SHOWN:
            if (row["stress"], row["statistic"], row["load"]) == (stress, statistic, "duty"):
                cells.setdefault(f"{row['bond']} bond", {})[words] = value_with_error(row)
    table = pd.DataFrame(cells, index=[words for _, _, words in SHOWN])
    loads = summary["loads"]
    depth = f"{loads['depth_m']:g} m, " if loads["depth_m"] else ""
    return "\n".join(
        [
            f"{summary['title']} ({summary['form']})",
            f"{depth}{loads['pressure_MPa']:.2f} MPa, {loads['temperature_change_K']:+.0f} K",
            "Mid-thickness, MPa, tension positive; +- is the numerical error, not a tolerance:",
            "",
            table.to_string(),
            "",
            "Linear elastic analysis; not a certificate.",
        ]
    )


def value_with_error(row: dict[str, Any]) -> str:
    """Write a headline as value, error and place."""
    digits = 2 if row["error"] < 0.05 else 1 if row["error"] < 0.5 else 0
    error = max(row["error"], 0.5 * 10.0**-digits)  # no less than the digits shown
    text = f"{row['value']:.{digits}f} +- {error:.{digits}f}"
    if row["at_s_mm"] is not None:
        text += f" at {row['at_s_mm']:.2f} mm"
    return text
