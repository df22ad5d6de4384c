"""Disbonds on the drawing: a bold line along the face, a number beside it, and a list below."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from matplotlib.axes import Axes
from matplotlib.patheffects import Normal, withStroke
from numpy.typing import NDArray

from geometry.section import Section
from post.colours import FLAW, PAPER, SEA
from post.flaw_place import SEA as AT_SEA
from post.flaw_place import flaw_line, flaw_words, open_to, place_words
from post.sheet import PLAIN, SMALL, View, spread

if TYPE_CHECKING:
    from geometry.case import Case

Floats = NDArray[np.float64]

ROW = 12.0  # a line of the list, points
OFF, BADGE = 17.0, 15.0  # of a number from its line, and the room it takes along it, points


def list_height(case: Case) -> float:
    """Room that the list of disbonds takes, points."""
    return ROW * len(case.flaws) + 4.0 if case.flaws else 0.0


def draw_flaw_lines(ax: Axes, case: Case, section: Section) -> None:
    """Draw every disbond along its face; a flooded one with the sea's colour at its core."""
    for flaw in case.flaws:
        line = flaw_line(section.bond(flaw.bond), flaw)
        casing = [withStroke(linewidth=5.4, foreground=PAPER), Normal()]
        ax.plot(
            line[:, 1], line[:, 0], color=FLAW, lw=3.4, solid_capstyle="butt", zorder=7.2,
            path_effects=casing,
        )  # fmt: skip
        if flaw.flooded and open_to(section, flaw) == AT_SEA:
            ax.plot(line[:, 1], line[:, 0], color=SEA, lw=1.2, solid_capstyle="butt", zorder=7.3)


def number_flaws(ax: Axes, case: Case, section: Section, view: View) -> None:
    """Set a number beside each disbond, on the wall's side, those of a bond apart."""
    mm = view.mm
    for bond in section.bonds:
        own = [i for i, flaw in enumerate(case.flaws) if flaw.bond == bond.name]
        own.sort(key=lambda i: case.flaws[i].start)
        middles = [case.flaws[i].start + case.flaws[i].length / 2 for i in own]
        room = BADGE * mm
        places = spread(middles, [room] * len(own), -np.inf, np.inf)
        for i, middle, place in zip(own, middles, places, strict=True):
            line = flaw_line(bond, case.flaws[i])
            tip = line[len(line) // 2]
            badge = tip + (place - middle) * np.asarray(bond.along)
            badge = badge - OFF * mm * np.asarray(bond.across)
            ax.plot(
                [tip[1], badge[1]], [tip[0], badge[0]], color=FLAW, lw=0.8, zorder=7.1,
                path_effects=[withStroke(linewidth=2.2, foreground=PAPER), Normal()],
            )  # fmt: skip
            _badge(ax, (badge[1], badge[0]), i + 1)


def list_flaws(ax: Axes, case: Case, section: Section, at: tuple[float, float], mm: float) -> None:
    """List the disbonds in words from a place downwards, (z, r) of the drawing."""
    for i, flaw in enumerate(case.flaws):
        level = at[1] - ROW * i * mm
        _badge(ax, (at[0], level), i + 1)
        words = f"{flaw_words(section, flaw)}: {place_words(flaw)}"
        ax.text(at[0] + 10 * mm, level, words, va="center_baseline", size=PLAIN)


def _badge(ax: Axes, at: tuple[float, float], number: int) -> None:
    ax.plot(*at, "o", ms=10.5, mfc=FLAW, mec=PAPER, mew=0.9, zorder=9.5)
    ax.text(
        *at, f"{number}", ha="center", va="center_baseline", color=PAPER, size=SMALL,
        weight="bold", zorder=9.6,
    )  # fmt: skip
