"""Pictures of stress fields on the deformed joint, rendered off screen.

Formulation
    Elements are sampled and rendered one by one (`post.sampling`); nothing is averaged across an
    interface. One picture shows one stress component throughout.
    Signed stresses share one map, white at zero, with limits that hold `HELD` of an area: at
    sharp corners elastic stress has no bound, and must not set the scale.
Frame
    z to the right, r upwards. Stresses as in `solve.elements`; at duty, MPa.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import matplotlib
import numpy as np
from matplotlib.axes import Axes
from matplotlib.cm import ScalarMappable
from matplotlib.collections import LineCollection
from matplotlib.colors import Normalize
from matplotlib.figure import Figure
from matplotlib.patches import Rectangle
from numpy.typing import NDArray

from geometry.section import BondLine
from post.bondline import duty_factors
from post.colours import INK, QUIET, signed_map
from post.outline import Window, joint_window
from post.sampling import Samples, displacement_at, part_lines, render, sample
from post.sheet import LARGE, PLAIN, PNG_DPI, SMALL, STYLE, WIDTH, Shown, blank, write
from solve.answer import Answer

Floats = NDArray[np.float64]

HELD = 0.98  # share of the area that the colour limits hold
CLOSE = 5.0  # half width of a close-up, bond thicknesses


@dataclass(frozen=True)
class Field:
    """One picture: a stress of every sample, what it is, and where its limits come from."""

    key: str
    title: str
    words: str
    weight: tuple[float, float, float, float]  # of rr, tt, zz, rz
    limits_from: str  # "bond" or "joint"


def draw_pictures(answer: Answer, folder: Path) -> list[Shown]:
    """Draw every stress picture of an answer as PNG into a folder.

    Parameters
    ----------
    answer : Answer
    folder : Path

    Returns
    -------
    list of Shown
    """
    samples = sample(answer)
    shown = []
    for field in fields_of(answer):
        file = f"stress-{field.key}.png"
        figure, limit = picture(answer, samples, field)
        write(figure, folder / file)
        shown.append(Shown(file, "fields", field.title, caption(field, limit, samples.scale)))
    return shown


def fields_of(answer: Answer) -> list[Field]:
    """List the pictures that suit the bonds of an answer."""
    bonds = answer.section.bonds
    found = []
    groups: dict[tuple[float, float], list[BondLine]] = {}
    for bond in bonds:
        direction = (round(abs(bond.across[0]), 6), round(abs(bond.across[1]), 6))
        groups.setdefault(direction, []).append(bond)
    for group in groups.values():
        nr, nz = group[0].across
        names = " and ".join(b.name for b in group)
        component = "\u03c3_r" if nz == 0 else "\u03c3_z" if nr == 0 else "normal to the slope"
        found.append(
            Field(
                f"peel-{'-'.join(b.name for b in group)}",
                f"Peel stress of the {names} bond" + ("s" if len(group) > 1 else ""),
                f"Stress across the {names} bond ({component}), shown throughout the joint. "
                "Orange pulls open, blue presses together.",
                (nr * nr, 0.0, nz * nz, 2 * nr * nz),
                "bond",
            )
        )
    if bonds[0].name == "scarf":
        (ar, az), (nr, nz) = bonds[0].along, bonds[0].across
        words = "Shear along the scarf, positive where the ring is dragged towards growing s."
        weight = (ar * nr, 0.0, az * nz, ar * nz + az * nr)
    else:
        words = "\u03c4_rz, the shear along every bond of this joint; its sign is that of r and z."
        weight = (0.0, 0.0, 0.0, 1.0)
    found.append(Field("shear", "Shear stress", words, weight, "bond"))
    for key, words, weight in (
        ("hoop", "\u03c3_\u03b8, around the hull.", (0.0, 1.0, 0.0, 0.0)),
        ("radial", "\u03c3_r, through the wall.", (1.0, 0.0, 0.0, 0.0)),
        ("axial", "\u03c3_z, along the hull.", (0.0, 0.0, 1.0, 0.0)),
    ):
        words += " Orange is tension, blue compression; in the wall that of its smeared layup."
        found.append(Field(key, f"{key.capitalize()} stress", words, weight, "joint"))
    return found


def caption(field: Field, limit: float, scale: float) -> str:
    """Say in words what a picture shows."""
    where = "the adhesive" if field.limits_from == "bond" else "the picture"
    return (
        f"{field.words} Duty. Deformed, movement \u00d7 {scale:g}. The colours end at "
        f"\u00b1{limit:g} MPa, which holds {100 * HELD:g} % of the area of {where}; beyond it the "
        "end colour stays. At sharp corners elastic stress has no bound, so no peak is read there."
    )


def values_of(field: Field, stress: Floats) -> Floats:
    """Reduce stresses (6, ...) to the one that a picture shows."""
    rr, tt, zz, rz = field.weight
    return np.asarray(rr * stress[0] + tt * stress[1] + zz * stress[2] + rz * stress[4])


def limit_of(answer: Answer, samples: Samples, field: Field, values: Floats) -> float:
    """Colour limit: holds `HELD` of the area of the bonds or of the joint's picture."""
    regions = answer.section.regions
    if field.limits_from == "bond":
        chosen = [regions[name].part == "adhesive" for name in answer.mesh.regions]
        here = np.array(chosen)[answer.mesh.region]
    else:
        z0, z1, r0, r1 = joint_window(answer.section)
        middle = samples.points.mean(axis=1)
        here = (middle[:, 0] >= z0) & (middle[:, 0] <= z1)
        here &= (middle[:, 1] >= r0) & (middle[:, 1] <= r1)
    size = np.abs(values[here]).ravel()
    weight = np.repeat(samples.area[here], values.shape[1])
    order = np.argsort(size)
    held = np.cumsum(weight[order]) / weight.sum()
    limit = float(size[order][np.searchsorted(held, HELD)])
    if limit <= 0:
        return 1.0
    step = 10.0 ** (np.floor(np.log10(limit)) - 1)
    return float(round(np.ceil(limit / step) * step, 12))


def picture(answer: Answer, samples: Samples, field: Field) -> tuple[Figure, float]:
    """Draw one stress: the joint, and close-ups of the ends of its bonds.

    Returns
    -------
    figure : Figure
    limit : float
        End of the colour scale, MPa.
    """
    values = values_of(field, samples.stress)
    limit = limit_of(answer, samples, field, values)
    places = bond_ends(answer, samples)
    window = _around(joint_window(answer.section, 0.25), places)
    gap, bar, title = 10.0, 46.0, 40.0
    wide = WIDTH - 2 * gap
    tall = min(wide * (window[3] - window[2]) / (window[1] - window[0]), 300.0)
    close = min((wide - gap * (len(places) - 1)) / len(places), 170.0)
    height = title + tall + 22 + close + 10 + bar
    with matplotlib.rc_context(STYLE):
        figure = blank(height)
        figure.text(gap / WIDTH, 1 - 8 / height, field.title, va="top", size=LARGE, weight="bold")
        figure.text(
            gap / WIDTH,
            1 - 23 / height,
            f"duty; movement \u00d7 {samples.scale:g}",
            va="top",
            size=SMALL,
            color=QUIET,
        )
        bottom = height - title - tall
        main = figure.add_axes((gap / WIDTH, bottom / height, wide / WIDTH, tall / height))
        _panel(main, answer, samples, values, limit, window, (wide, tall))
        row = gap + (wide - len(places) * close - gap * (len(places) - 1)) / 2
        for number, (place, half) in enumerate(places, 1):
            z, r = place
            box = (z - half, z + half, r - half, r + half)
            ax = figure.add_axes((row / WIDTH, (bar + 10) / height, close / WIDTH, close / height))
            _panel(ax, answer, samples, values, limit, box, (close, close))
            for spine in ax.spines.values():
                spine.set_visible(True)
            figure.text(
                row / WIDTH,
                (bar + 14 + close) / height,
                f"{number}: {2 * half:.3g} mm wide",
                size=SMALL,
                va="bottom",
            )
            main.add_patch(
                Rectangle((z - half, r - half), 2 * half, 2 * half, fill=False, ec=INK, lw=0.6)
            )
            main.annotate(
                str(number),
                (z + half, r + half),
                (2, 1),
                textcoords="offset points",
                size=SMALL,
                bbox={"fc": "white", "ec": "none", "pad": 0.6, "alpha": 0.85},
            )
            row += close + gap
        scale_bar = figure.add_axes((0.2, 30 / height, 0.6, 10 / height))
        mappable = ScalarMappable(Normalize(-limit, limit), signed_map())
        colourbar = figure.colorbar(
            mappable, cax=scale_bar, orientation="horizontal", extend="both"
        )
        colourbar.set_label(f"{field.title}, MPa", size=PLAIN, labelpad=2)
        colourbar.set_ticks([-limit, -limit / 2, 0.0, limit / 2, limit])
        colourbar.ax.tick_params(labelsize=PLAIN, length=3, width=0.6)
    return figure, limit


def bond_ends(answer: Answer, samples: Samples) -> list[tuple[tuple[float, float], float]]:
    """Centres (deformed z, r) and half widths of close-ups: the ends of the bonds, each once."""
    factors = duty_factors(answer)
    found: list[tuple[Floats, float]] = []
    for bond in answer.section.bonds:
        half = CLOSE * bond.thickness
        for s in (0.0, bond.length):
            inward = min(0.02 * bond.thickness, bond.length / 2)
            _, mid, _ = bond.faces(np.array([s + inward if s == 0 else s - inward]))
            unit = displacement_at(answer, mid, "adhesive")
            u = np.sum([factors[k] * unit[k][0] for k in factors], axis=0)
            if not np.all(np.isfinite(u)):
                u = np.zeros(3)
            place = mid[::-1, 0] + samples.scale * np.array([u[2] - samples.shift, u[0]])
            if all(np.max(np.abs(place - other)) > 0.6 * max(half, size) for other, size in found):
                found.append((place, half))
    return [((float(p[0]), float(p[1])), half) for p, half in found]


def _around(window: Window, places: list[tuple[tuple[float, float], float]]) -> Window:
    """Widen a window, up and down, until it holds the frames of the close-ups."""
    z0, z1, r0, r1 = window
    air = 0.03 * (z1 - z0)
    low = min(r - half for (_, r), half in places)
    high = max(r + half for (_, r), half in places)
    return z0, z1, min(r0, low - air / 2), max(r1, high + air)


def _panel(
    ax: Axes,
    answer: Answer,
    samples: Samples,
    values: Floats,
    limit: float,
    window: Window,
    size: tuple[float, float],
) -> None:
    """Fill axes with a window of the field and draw the lines between parts over it."""
    z0, z1, r0, r1 = window
    mm = max((z1 - z0) / size[0], (r1 - r0) / size[1])
    half = (mm * size[0] / 2, mm * size[1] / 2)
    centre = ((z0 + z1) / 2, (r0 + r1) / 2)
    box = (centre[0] - half[0], centre[0] + half[0], centre[1] - half[1], centre[1] + half[1])
    pixels = (round(size[0] / 72 * PNG_DPI), round(size[1] / 72 * PNG_DPI))
    ax.imshow(
        render(samples.points, values, limit, box, pixels),
        extent=box,
        origin="upper",
        aspect="auto",
        interpolation="nearest",
        zorder=1,
    )
    ax.add_collection(LineCollection(part_lines(answer, samples), colors=INK, lw=0.6, zorder=2))
    ax.set_xlim(box[:2])
    ax.set_ylim(box[2:])
    ax.set_xticks([])
    ax.set_yticks([])
    ax.grid(False)
    for spine in ax.spines.values():
        spine.set_visible(False)
        spine.set_linewidth(0.6)
