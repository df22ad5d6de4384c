"""The section as a drawing: parts, materials, loads and key dimensions, made without a mesh.

Two views at equal axes, z right and r up: the whole half-section, and the joint enlarged
(`post.enlarged`).
"""

from __future__ import annotations

import textwrap
from pathlib import Path
from typing import TYPE_CHECKING

import matplotlib
import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import Rectangle

from geometry.section import Section
from post.colours import FILL, HATCH, INK, QUIET, SEA
from post.enlarged import draw_enlarged, joint_view
from post.flaw_drawing import draw_flaw_lines
from post.outline import extent, joint_window, outward
from post.parts import ARROW, fill_parts, load_words, material_words, press
from post.sheet import (
    LARGE,
    PLAIN,
    SMALL,
    STYLE,
    TITLE,
    WIDTH,
    View,
    blank,
    dimension,
    text_width,
    write,
)

if TYPE_CHECKING:
    from geometry.case import Case

LEGEND_ROW = 15.0  # points


def draw_joint(case: Case, section: Section, path: Path, view: str = "both") -> None:
    """Draw a section as SVG (or PNG, by the path's suffix).

    Parameters
    ----------
    case : Case
    section : Section
        As from `geometry.forms.draw_section(case)`.
    path : Path
    view : str
        ``both``, or ``whole`` or ``joint`` alone.
    """
    write(joint_figure(case, section, view), path)


def joint_figure(case: Case, section: Section, view: str = "both") -> Figure:
    """Make the drawing that `draw_joint` writes."""
    with matplotlib.rc_context(STYLE):
        views = {"whole": _whole_view(case, section), "joint": joint_view(case, section)}
        if view != "both":
            views = {view: views[view]}
        figure = blank(sum(v.height for v in views.values()))
        above = sum(v.height for v in views.values())
        for name, each in views.items():
            above -= each.height
            ax = each.place(figure, above)
            (_draw_whole if name == "whole" else draw_enlarged)(ax, case, section, each)
    return figure


def _whole_view(case: Case, section: Section) -> View:
    rows = len(_legend_rows(case, section))
    right = 110.0 if "closure" in section.named else 28.0
    return View(extent(section), 92.0, right, 50.0 + LEGEND_ROW * rows, TITLE + 26.0 + ARROW, 230.0)


def _legend_rows(case: Case, section: Section) -> list[list[tuple[str, str]]]:
    """Parts and words of the legend, in rows that fit the sheet."""
    rows: list[list[tuple[str, str]]] = [[]]
    used = 0.0
    for part, name in material_words(case, section).items():
        words = textwrap.shorten(f"{part}: {name}", 80, placeholder=" ...")
        width = 30 + text_width(words)
        if rows[-1] and used + width > WIDTH - 24:
            rows.append([])
            used = 0.0
        rows[-1].append((part, words))
        used += width
    return rows


def _draw_whole(ax: Axes, case: Case, section: Section, view: View) -> None:
    mm = view.mm
    _, z1, _, r1 = view.window
    left, right = ax.get_xlim()
    bottom, top = ax.get_ylim()
    fill_parts(ax, section)
    press(ax, section, "wet", view, SEA)
    draw_flaw_lines(ax, case, section)

    wall, length = case.wall, case.wall.half_length
    ax.plot([-12 * mm, z1 + 14 * mm], [0, 0], color=INK, lw=0.8, dashes=(12, 3, 2, 3), zorder=1)
    ax.plot([0, 0], [-6 * mm, r1 + (ARROW + 6) * mm], color=INK, lw=0.8, dashes=(7, 3), zorder=1)
    # beside the line that the dimension of the half length brings down from the wall's end
    start = 10 * mm if length > 100 * mm else length + 6 * mm
    ax.text(start, -5 * mm, "axis of revolution", ha="left", va="top", size=SMALL)
    level = r1 + (ARROW + 9) * mm
    ax.text(0, level, "plane of symmetry at mid-length", ha="left", va="bottom", size=SMALL)
    words = load_words(case)
    ax.text(
        max(z1, text_width(words + "plane of symmetry at mid-length") * mm),
        level,
        words,
        ha="right",
        va="bottom",
        color=SEA,
        size=PLAIN,
    )
    dimension(ax, (0, 0), (length, 0), -26, f"half length {length:.5g} mm", mm)
    dimension(ax, (0, 0), (0, wall.bore_radius), -16, f"bore radius\n{wall.bore_radius:.5g} mm", mm)
    if wall.bore_radius / mm > 40 and length / mm > 80:
        ax.text(
            length / 2,
            wall.bore_radius / 2,
            "dry inside",
            ha="center",
            va="center",
            color=QUIET,
            size=PLAIN,
        )
    if "closure" in section.named:
        press(ax, section, "closure", view, INK)
        ring = np.vstack([path for path, _ in outward(section, "closure")])
        ax.text(
            z1 + (ARROW + 7) * mm,
            ring[:, 0].mean(),
            "end-cap load,\nspread evenly",
            ha="left",
            va="center",
            size=SMALL,
        )
    z0, w1, r0, q1 = joint_window(section)
    ax.add_patch(
        Rectangle(
            (z0, r0), w1 - z0, q1 - r0, fill=False, ec=QUIET, lw=0.7, ls=(0, (2, 2)), zorder=6
        )
    )
    ax.text(
        left + 8 * mm,
        top - 6 * mm,
        "Half-section (dotted frame: enlarged view)",
        va="top",
        size=LARGE,
        weight="bold",
    )
    for number, row in enumerate(_legend_rows(case, section)):
        level = bottom + (LEGEND_ROW * (len(_legend_rows(case, section)) - number) - 5) * mm
        at = left + 12 * mm
        for part, words in row:
            ax.add_patch(
                Rectangle(
                    (at, level - 4 * mm),
                    15 * mm,
                    9 * mm,
                    fc=FILL[part],
                    ec="#5d6b76",
                    hatch=HATCH[part] * 2,
                    lw=0.5,
                )
            )
            ax.text(at + 19 * mm, level, words, va="center_baseline", size=PLAIN)
            at += (30 + text_width(words)) * mm
