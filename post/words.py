"""The answer in plain words, made from the numbers by rules, so that it cannot contradict them.

A stress whose size is not above its numerical error is called nil. Places are named by the ends
of the bond they are near: "at" an end within one bond thickness, "near" it within a fifth of the
length.
"""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd

from post.curves import ends_in_words
from post.headline import value_with_error

Row = dict[str, Any]
MINUS = "\u2212"


def number(row: Row) -> str:
    """Write a headline with its error, and with its place where it has one; no unit."""
    return value_with_error(row).replace("+-", "\u00b1").replace("-", MINUS)


def value(row: Row) -> str:
    """Write a headline with its error and unit, without its place."""
    return f"{number({**row, 'at_s_mm': None})} {row['unit']}"


def rows_by_key(summary: dict[str, Any]) -> dict[tuple[str, str, str, str], Row]:
    """Headlines of a summary by bond, stress, statistic and load."""
    return {
        (row["bond"], row["stress"], row["statistic"], row["load"]): row
        for row in summary["headlines"]
    }


def bonds_in_order(summary: dict[str, Any]) -> list[str]:
    """Names of the bonds, as the summary has them."""
    return list(dict.fromkeys(row["bond"] for row in summary["headlines"]))


def place(table: pd.DataFrame, bond: str, s: float) -> str:
    """Say where along a bond a place is."""
    own = table[(table["bond"] == bond) & (table["place"] == "mid")]
    length = float(own["s_mm"].max())
    thickness = float(own["thickness_mm"].median())
    start, end = (words.removesuffix(" (open edge)") for words in ends_in_words(table, bond))
    near = start if s < length / 2 else end
    away = min(s, length - s)
    if away <= thickness:
        where = f"at the {near}"
    elif away <= length / 5:
        where = f"near the {near}"
    elif abs(s / length - 0.5) < 0.05:
        where = "about half way along"
    else:
        where = f"{100 * s / length:.0f} % of the way from the {start}"
    return f"at s = {s:.2f} mm, {where}"


def causes(table: pd.DataFrame, bond: str, stress: str, s: float) -> str:
    """Say how much of a stress pressure and temperature bring, at a place at mid-thickness."""
    own = table[(table["bond"] == bond) & (table["place"] == "mid")]
    parts = []
    for load in ("pressure", "temperature"):
        line = own[own["load"] == load].sort_values("s_mm")
        part = float(np.interp(s, line["s_mm"], line[f"{stress}_MPa"]))
        parts.append(f"{load} {part:+.1f}")
    return f"({', '.join(parts)} MPa)".replace("-", MINUS)


def is_nil(row: Row) -> bool:
    """Say whether a headline is no larger than its error."""
    return bool(abs(row["value"]) <= row["error"])


def peel_words(summary: dict[str, Any], table: pd.DataFrame, bond: str) -> str:
    """Say what peel does along a bond."""
    rows = rows_by_key(summary)
    high, low, mean = (rows[bond, "peel", k, "duty"] for k in ("largest", "smallest", "mean"))
    if is_nil(high) and is_nil(low):
        return "No peel beyond the numerical error."
    pieces = []
    if high["value"] > high["error"]:
        pieces.append(
            f"Pulled open by up to {value(high)} {place(table, bond, high['at_s_mm'])} "
            f"{causes(table, bond, 'peel', high['at_s_mm'])}."
        )
    elif is_nil(high):
        pieces.append("Nowhere pulled open beyond the numerical error.")
    else:
        pieces.append(
            f"Pressed together all along; least, {value(high)}, "
            f"{place(table, bond, high['at_s_mm'])}."
        )
    if low["value"] < -low["error"]:
        pieces.append(
            f"Pressed together hardest, {value(low)}, {place(table, bond, low['at_s_mm'])} "
            f"{causes(table, bond, 'peel', low['at_s_mm'])}."
        )
    elif not is_nil(low):
        pieces.append(f"Pulled open all along; least, {value(low)}.")
    pieces.append(f"Mean along the bond {value(mean)}.")
    return " ".join(pieces)


def strongest(summary: dict[str, Any], bond: str, stress: str = "shear") -> Row:
    """Headline of the largest shear of a bond at duty, whichever way it acts."""
    rows = rows_by_key(summary)
    both = [rows[bond, stress, k, "duty"] for k in ("largest", "smallest")]
    return max(both, key=lambda row: abs(row["value"]))


def shear_words(summary: dict[str, Any], table: pd.DataFrame, bond: str) -> str:
    """Say what shear does along a bond."""
    rows = rows_by_key(summary)
    top, mean = strongest(summary, bond), rows[bond, "shear", "mean", "duty"]
    if is_nil(top):
        return "No shear beyond the numerical error."
    other = rows[bond, "shear", "smallest" if top["value"] > 0 else "largest", "duty"]
    both_ways = top["value"] * other["value"] < 0 and not is_nil(other)
    way = "towards growing s" if top["value"] > 0 else "back towards s = 0"
    text = (
        f"Strongest, {value(top)}, {place(table, bond, top['at_s_mm'])} "
        f"{causes(table, bond, 'shear', top['at_s_mm'])}: the ring is dragged {way} there"
    )
    text += ", in places the other way." if both_ways else "."
    return f"{text} Mean along the bond {value(mean)}."


def twist_words(summary: dict[str, Any], table: pd.DataFrame, bond: str) -> str:
    """Say what shear around the hull does along a bond; empty where no layup twists."""
    rows = rows_by_key(summary)
    if (bond, "twist_shear", "largest", "duty") not in rows:
        return ""
    top = strongest(summary, bond, "twist_shear")
    if is_nil(top):
        return "No twist shear beyond the numerical error."
    way = "+" if top["value"] > 0 else MINUS
    return (
        f"Strongest, {value(top)}, {place(table, bond, top['at_s_mm'])}: the ring is dragged "
        f"round towards {way}\u03b8 there."
    )


def joint_words(summary: dict[str, Any], table: pd.DataFrame) -> list[str]:
    """Say which bond is pulled open most and which is sheared most."""
    rows = rows_by_key(summary)
    bonds = bonds_in_order(summary)
    opened = max((rows[b, "peel", "largest", "duty"] for b in bonds), key=lambda row: row["value"])
    sheared = max((strongest(summary, bond) for bond in bonds), key=lambda row: abs(row["value"]))
    if opened["value"] > opened["error"]:
        first = (
            f"The adhesive is pulled open most in the {opened['bond']} bond: {value(opened)} "
            f"{place(table, opened['bond'], opened['at_s_mm'])} "
            f"{causes(table, opened['bond'], 'peel', opened['at_s_mm'])}."
        )
    else:
        first = "At mid-thickness no bond is pulled open: peel presses the joint together."
    if is_nil(sheared):
        return [first, "No bond is sheared beyond the numerical error."]
    second = (
        f"It is sheared most in the {sheared['bond']} bond: {value(sheared)} "
        f"{place(table, sheared['bond'], sheared['at_s_mm'])} "
        f"{causes(table, sheared['bond'], 'shear', sheared['at_s_mm'])}."
    )
    twisted = [b for b in bonds if (b, "twist_shear", "largest", "duty") in rows]
    if not twisted:
        return [first, second]
    tops = [strongest(summary, bond, "twist_shear") for bond in twisted]
    top = max(tops, key=lambda row: abs(row["value"]))
    third = (
        f"The wall's layup twists: around the hull the adhesive is sheared most in the "
        f"{top['bond']} bond, {value(top)} {place(table, top['bond'], top['at_s_mm'])}."
    )
    return [first, second, third]
