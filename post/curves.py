"""Curves of a bond: stresses along s, at mid-thickness and at both faces.

Sign and place of every stress are those of `post.bondline`.
"""

from __future__ import annotations

import matplotlib
import pandas as pd
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from post.colours import DASH, FILL, INK, LINE, LOADS, QUIET
from post.sheet import LARGE, PLAIN, SMALL, STYLE, WIDTH, blank

CURVES = (("peel", "shear"), ("hoop", "axial"))
WORDS = {
    "peel": "Peel",
    "shear": "Shear",
    "hoop": "Hoop",
    "axial": "Axial",
    "radial": "Radial",
    "twist_shear": "Twist shear",
}
SENSE = {
    "peel": ("pulled open", "pressed together"),
    "shear": ("ring dragged towards growing s", "ring dragged towards s = 0"),
    "hoop": ("tension", "compression"),
    "axial": ("tension", "compression"),
    "twist_shear": ("ring dragged round towards +\u03b8", "towards \u2212\u03b8"),
}
LOAD_WORDS = {"duty": "duty", "pressure": "pressure part", "temperature": "temperature part"}
FACES = (("wall face", "#7c4fa0"), ("ring face", "#3c8d5a"))
PANEL = 132.0  # height of a panel, points


def curve_sets(table: pd.DataFrame) -> list[tuple[str, ...]]:
    """List the stresses to plot together; twist shear only where a layup twists."""
    return [*CURVES, *([("twist_shear",)] if table["twist_shear_MPa"].abs().max() > 0 else [])]


def curve_caption(thickness: float) -> str:
    """Say what the curves of a bond show."""
    return (
        "Thick lines: in the adhesive at mid-thickness; thin lines: at its two faces, at duty. "
        f"Shaded: the first and last {thickness:.3g} mm, one bond thickness. Towards the very ends "
        "of a face the elastic stress has no bound and depends on the mesh, so the thin lines are "
        "cut off by the axes there; judge at mid-thickness and by the means over the shaded bands."
    )


def ends_in_words(table: pd.DataFrame, bond: str) -> tuple[str, str]:
    """Name the places where s begins and where it ends.

    Parameters
    ----------
    table : DataFrame
        Of all bonds, as from `post.bondline.bondline`.
    bond : str
    """
    if bond == "scarf":
        return "tip of the tongue (open edge)", "tip of the wall (open edge)"
    if bond != "end":
        return "tip of the lip (open edge)", "bottom of the groove"
    bonds = set(table["bond"])
    own = table[table["bond"] == bond].sort_values("s_mm")
    grows = own["r_mm"].iloc[-1] > own["r_mm"].iloc[0]
    inside = "corner at the bore" if "inner" in bonds else "bore side (open edge)"
    outside = "corner outside" if "outer" in bonds else "outside (open edge)"
    return (inside, outside) if grows else (outside, inside)


def plot_bondline(
    table: pd.DataFrame,
    bond: str,
    thickness: float,
    stresses: tuple[str, ...] = CURVES[0],
) -> Figure:
    """Plot stresses of a bond along s, a panel each.

    Parameters
    ----------
    table : DataFrame
        As from `post.bondline.bondline`.
    bond : str
    thickness : float
        Of the bond, mm.
    stresses : tuple of str
        Of ``peel``, ``shear``, ``twist_shear``, ``hoop``, ``axial``, ``radial``.

    Returns
    -------
    Figure
    """
    own = table[(table["bond"] == bond) & (table["side"] == "adhesive")]
    with matplotlib.rc_context(STYLE):
        height = 62.0 + (PANEL + 16) * len(stresses) + 34.0
        figure = blank(height)
        axes = [
            figure.add_axes(
                (
                    58 / WIDTH,
                    (50 + (PANEL + 16) * (len(stresses) - 1 - i)) / height,
                    (WIDTH - 74) / WIDTH,
                    PANEL / height,
                )
            )
            for i in range(len(stresses))
        ]
        for ax, stress in zip(axes, stresses, strict=True):
            _panel(ax, own, stress, thickness)
            if ax is not axes[-1]:
                ax.tick_params(labelbottom=False)
        lines, words = axes[0].get_legend_handles_labels()
        lines, words = lines[2:] + lines[:2], words[2:] + words[:2]  # the faces last
        figure.legend(
            lines,
            words,
            loc="upper left",
            bbox_to_anchor=(50 / WIDTH, 1 - 20 / height),
            ncols=len(words),
            frameon=False,
            fontsize=SMALL,
            handlelength=2.2,
            columnspacing=1.3,
        )
        names = " and ".join(stress.replace("_", " ") for stress in stresses)
        figure.text(
            8 / WIDTH,
            1 - 6 / height,
            f"{bond.capitalize()} bond: {names} along s",
            va="top",
            size=LARGE,
            weight="bold",
        )
        start, end = ends_in_words(table, bond)
        axes[-1].set_xlabel("s, mm")
        for x, side, text in (
            (58, "left", f"\u2190 {start}"),
            (WIDTH - 16, "right", f"{end} \u2192"),
        ):
            figure.text(x / WIDTH, 10 / height, text, ha=side, va="bottom", size=SMALL, color=QUIET)
    return figure


def _panel(ax: Axes, own: pd.DataFrame, stress: str, thickness: float) -> None:
    column = f"{stress}_MPa"
    mid = own[own["place"] == "mid"]
    for face, colour in FACES:
        line = own[(own["place"] == face) & (own["load"] == "duty")].sort_values("s_mm")
        ax.plot(line["s_mm"], line[column], color=colour, lw=0.8, label=f"duty, {face}", zorder=3)
    for load in LOADS:
        line = mid[mid["load"] == load].sort_values("s_mm")
        ax.plot(
            line["s_mm"],
            line[column],
            color=LINE[load],
            ls=DASH[load],
            lw=2.0 if load == "duty" else 1.4,
            label=LOAD_WORDS[load],
            zorder=4,
        )
    length = float(mid["s_mm"].max())
    band = min(thickness, length / 2)
    for start, stop in ((0.0, band), (length - band, length)):
        ax.axvspan(start, stop, color=FILL["adhesive"], alpha=0.22, lw=0, zorder=0)
    ax.axhline(0, color=INK, lw=0.7, zorder=2)
    ax.set_xlim(0, length)
    # the faces' ends have no bounded value: the axis follows mid-thickness
    low, high = min(0.0, float(mid[column].min())), max(0.0, float(mid[column].max()))
    room = 0.14 * (high - low or 1.0)
    ax.set_ylim(low - room, high + room)
    ax.set_ylabel(f"{WORDS[stress]} stress, MPa")
    up, down = SENSE.get(stress, ("tension", "compression"))
    for y, va, text in ((0.97, "top", f"\u2191 {up}"), (0.03, "bottom", f"\u2193 {down}")):
        ax.text(
            0.985, y, text, transform=ax.transAxes, ha="right", va=va, size=SMALL, color=QUIET,
            bbox={"fc": "white", "ec": "none", "pad": 1.0, "alpha": 0.8}, zorder=5,
        )  # fmt: skip
    ax.tick_params(labelsize=PLAIN, length=3, width=0.6)
