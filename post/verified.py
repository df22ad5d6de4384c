"""What stands behind the numbers, in the report: never older than the code that made them.

The rows are those of the verification page. The workflow hands them over where that page has been
built, and builds it anew first where the code has changed since; where it was never built, the
report says so and tells of no count.
"""

from __future__ import annotations

from typing import Any

import pandas as pd

from post.tables import Cell, Table, table

UNBUILT = (
    "The project compares itself with published values, closed formulas and solutions by other "
    "routes. That page was not built with this report: `snakemake verify` writes it, and the next "
    "report then tells what it found."
)


def verified_part(rows: pd.DataFrame | None, own: str) -> dict[str, Any]:
    """Make what the report says of verification.

    Parameters
    ----------
    rows : DataFrame or None
        ``part, source, status, passes`` of every check of the verification page.
    own : str
        What was checked of this very hull, a sentence.

    Returns
    -------
    dict
        ``lead`` (sentences) and ``table`` (None without rows).
    """
    if rows is None:
        return {"lead": [UNBUILT, own], "table": None}
    held = int((rows["passes"] == "yes").sum())
    seen = rows["source"].nunique()
    told = (
        f"{held:,} of {len(rows):,} numbers of the verification page, from {seen} sources, are "
        "within what may differ from the published or recomputed value."
    )
    return {"lead": [told, own], "table": verified_table(rows)}


def verified_table(rows: pd.DataFrame) -> Table:
    """Count the checks of every part of the verification page."""
    shown: list[list[Cell]] = [
        [
            str(part),
            len(own),
            int((own["passes"] == "yes").sum()),
            int((own["status"] == "published").sum()),
            own["source"].nunique(),
        ]
        for part, own in rows.groupby("part", sort=False)
    ]
    columns = ["Part", "Numbers compared", "Within what may differ", "Seen in print", "Sources"]
    return table("verification", columns, shown)
