"""The wall's stress through its thickness as a drawn figure, for paper and for the download."""

from __future__ import annotations

from pathlib import Path

import matplotlib
import numpy as np
from matplotlib.figure import Figure

from post.bondline import duty_factors
from post.colours import INK
from post.sheet import LARGE, PLAIN, SMALL, STYLE, WIDTH, Shown, blank, write
from post.wall_profile import COMPONENTS, WORDS, PlyProfile, Station, ply_profiles, stations
from solve.answer import Answer

DRAWN = ("11", "22", "12")
ANGLES = ("#0a5c9e", "#c8641a", "#3c8d5a", "#7c4fa0", "#8a6d1f", "#a3155f", "#4d6a78")
CAPTION = (
    "Stress in every ply's own axes at duty, from the bore outwards; a line for each ply, none "
    "across the faces between plies, where stress jumps. From smeared layers, each ply's own "
    "stress recovered."
)
PANEL = 96.0  # height of a panel, points


def draw_wall(answer: Answer, folder: Path) -> list[Shown]:
    """Draw the profiles of every station as SVG into a folder."""
    shown: list[Shown] = []
    for station in stations(answer):
        file = f"wall-{len(shown) + 1}.svg"
        write(plot_wall(answer, station), folder / file)
        title = f"Wall through its thickness: {station.words} (z = {station.z:.0f} mm)"
        shown.append(Shown(file, "wall", title, CAPTION))
    return shown


def plot_wall(answer: Answer, station: Station) -> Figure:
    """Plot stress over the radius at a station, a panel for each component."""
    plies, factors = ply_profiles(answer, station.z), duty_factors(answer)
    colours = ply_colours(plies)
    height = 46.0 + (PANEL + 14) * len(DRAWN) + 26.0
    with matplotlib.rc_context(STYLE):
        figure = blank(height)
        for i, key in enumerate(DRAWN):
            bottom = 40 + (PANEL + 14) * (len(DRAWN) - 1 - i)
            ax = figure.add_axes(
                (62 / WIDTH, bottom / height, (WIDTH - 78) / WIDTH, PANEL / height)
            )
            row = COMPONENTS.index(key)
            for one in plies:
                stress = sum(factors[load] * one.unit[load][row] for load in factors)
                name = ply_name(one)
                ax.plot(one.r, stress, color=colours[name], lw=1.6, solid_capstyle="butt")
            ax.axhline(0, color=INK, lw=0.7)
            ax.set_xlim(answer.case.wall.bore_radius, answer.case.wall.outer_radius)
            ax.set_title(f"{WORDS[key]}, MPa", size=PLAIN, pad=3, weight="normal")
            ax.tick_params(labelsize=PLAIN, length=3, width=0.6, labelbottom=key == DRAWN[-1])
            ax.margins(y=0.12)
            if not any(np.any(one.unit[load][row]) for one in plies for load in factors):
                ax.set_ylim(-1, 1)
        figure.axes[-1].set_xlabel("radius, mm")
        figure.text(
            8 / WIDTH, 1 - 6 / height, f"{station.words.capitalize()}, z = {station.z:.0f} mm",
            va="top", size=LARGE, weight="bold",
        )  # fmt: skip
        lines = [figure.axes[0].plot([], [], color=c, lw=1.6)[0] for c in colours.values()]
        figure.legend(
            lines, list(colours), loc="upper right", ncols=4, frameon=False, fontsize=SMALL,
            bbox_to_anchor=(1 - 8 / WIDTH, 1 - 1 / height), handlelength=1.6, columnspacing=1.2,
        )  # fmt: skip
    return figure


def ply_name(one: PlyProfile) -> str:
    """Name what plies of one card at one angle have in common."""
    return f"{one.ply.angle:g}\u00b0".replace("-", "\u2212")


def ply_colours(plies: list[PlyProfile]) -> dict[str, str]:
    """Give each angle of the wall a colour of its own, as far as there are any."""
    names = dict.fromkeys(ply_name(one) for one in plies)
    return {name: ANGLES[i % len(ANGLES)] for i, name in enumerate(names)}
