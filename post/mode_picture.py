"""The shape in which the hull buckles, in three dimensions, and its pressure over the waves.

Formulation
    The wet surface, revolved, with the amplitudes of the mode (`solve.harmonics`):
        u_r = Re(u e^(i n t))    u_theta = Re(-i v e^(i n t))    u_z = Re(w e^(i n t))
    Both halves are shown. The other half moves as the symmetry says: u, v, -w where the halves
    are alike, -u, -v, w where they are opposite, and their conjugates where a layup couples.
    An eigenvector has no size: the largest motion is drawn as `SHARE` of the hull's radius.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import matplotlib
import numpy as np
import pyvista
from matplotlib.figure import Figure
from numpy.typing import NDArray

from geometry.case import Case
from geometry.seawater import depth_at, duty_pressure, pressure_at
from post.collapse import collapse_summary, waves_words
from post.colours import INK, PAPER, QUIET, SEA, signed_map
from post.sheet import LARGE, PNG_DPI, SMALL, STYLE, WIDTH, Shown, blank, write
from solve.collapse import Collapse
from solve.motions import ALIKE, EITHER, OPPOSITE, positions

Floats = NDArray[np.float64]

SHARE = 0.12  # of the largest radius
AROUND = 181  # points around
SIDE, CUT, GAP, TITLE = 190.0, 130.0, 10.0, 36.0  # picture, cut, room and head, points
LINES = {ALIKE: "-", OPPOSITE: (0, (5, 2)), EITHER: "-"}
MARKS = {ALIKE: "o", OPPOSITE: "s", EITHER: "o"}
NAMES = {ALIKE: "both halves alike", OPPOSITE: "halves opposite", EITHER: "least of both kinds"}


def draw_mode(case: Case, collapse: Collapse, folder: Path) -> list[Shown]:
    """Draw the critical mode and the scan into a folder.

    Parameters
    ----------
    case : Case
    collapse : Collapse
    folder : Path

    Returns
    -------
    list of Shown
    """
    duty = case.duty
    pressure = duty_pressure(case)
    depth = duty.depth if duty.depth is not None else depth_at(pressure, duty.latitude)
    required = pressure, pressure_at(duty.required_ratio * depth, duty.latitude)
    told = collapse_summary(case, collapse)
    critical = collapse.at_duty.critical
    words = waves_words(critical.waves, critical.symmetry)
    write(mode_figure(collapse, f"{words}, {critical.pressure:.1f} MPa"), folder / "mode.png")
    write(scan_figure(told, required), folder / "mode-scan.svg")
    return [
        Shown(
            "mode.png",
            "hull",
            "The shape in which the hull buckles",
            f"Wet surface of the whole hull, {words}, and a cut across it where it "
            "moves most (dashed: before). Orange moves outwards, blue inwards. A mode tells the "
            "shape, not how far it goes: it is drawn large.",
        ),
        Shown(
            "mode-scan.svg",
            "hull",
            "Buckling pressure by number of waves",
            "Pressure of the perfect hull times the knock-down, for each number of waves around; "
            "its least counts.",
        ),
    ]


def revolved(collapse: Collapse) -> tuple[pyvista.PolyData, float]:
    """Revolve the wet surface with its mode.

    Returns
    -------
    surface : PolyData
        Moved points, with the array ``out``: movement along the radius, 1 at most.
    size : float
        Largest radius, mm.
    """
    mode = collapse.at_duty.critical
    place = positions(collapse.mesh, collapse.space)
    sides = collapse.space.edge_dofs["wet"]
    size = float(place[0, sides].max())
    halves = [(place[:, sides], mode.shape[sides])]
    sign = np.array([-1, -1, 1]) if mode.symmetry == OPPOSITE else np.array([1, 1, -1])
    halves.append(
        (place[:, sides] * np.array([1, -1])[:, None, None], mode.shape[sides].conj() * sign)
    )
    turn = np.linspace(0, 2 * np.pi, AROUND)
    phase = np.exp(1j * mode.waves * turn)
    points, out = [], []
    for (r, z), shape in halves:
        u, v, w = (np.multiply.outer(shape[..., i], phase) for i in range(3))
        radial, around, along = u.real, (-1j * v).real, w.real
        points.append(
            np.stack([r[..., None] + 0 * turn, 0 * radial + turn, z[..., None] + 0 * turn])
        )
        out.append(np.stack([radial, around, along]))
    (r, t, z), motion = np.concatenate(points, axis=1), np.concatenate(out, axis=1)
    motion = motion / np.linalg.norm(motion, axis=0).max()
    scale = SHARE * size
    radial, around = r + scale * motion[0], scale * motion[1]
    x = np.stack(
        [
            radial * np.cos(t) - around * np.sin(t),
            radial * np.sin(t) + around * np.cos(t),
            z + scale * motion[2],
        ],
        axis=-1,
    )
    m, k, a = x.shape[:3]
    number = np.arange(m * k * a).reshape(m, k, a)
    faces = np.stack(
        [number[:, :-1, :-1], number[:, 1:, :-1], number[:, 1:, 1:], number[:, :-1, 1:]], axis=-1
    )
    surface = pyvista.PolyData.from_regular_faces(x.reshape(-1, 3), faces.reshape(-1, 4))
    surface["out"] = motion[0].ravel() / max(float(np.abs(motion[0]).max()), 1e-30)
    return surface, size


def mode_image(collapse: Collapse, pixels: tuple[int, int]) -> NDArray[np.uint8]:
    """Render the mode, (height, width, 3)."""
    surface, size = revolved(collapse)
    smooth = surface.clean(tolerance=1e-6 * size, absolute=True).compute_normals(
        split_vertices=True, feature_angle=40.0, auto_orient_normals=False, consistent_normals=True
    )
    plotter: Any = pyvista.Plotter(off_screen=True, window_size=list(pixels))
    plotter.set_background(PAPER)
    plotter.enable_anti_aliasing("ssaa")
    plotter.add_mesh(
        smooth,
        scalars="out",
        cmap=signed_map(),
        clim=(-1.3, 1.3),  # short of the darkest ends: light and shade must stay visible
        n_colors=511,
        smooth_shading=True,
        ambient=0.35,
        diffuse=0.75,
        specular=0.15,
        show_scalar_bar=False,
    )
    plotter.camera_position = [(2.4, 1.0, 1.0), (0.0, 0.0, 0.0), (0.0, 1.0, 0.0)]
    plotter.reset_camera()
    plotter.camera.zoom(1.75)
    image = plotter.screenshot(return_img=True)
    plotter.close()
    return np.asarray(image[..., :3], np.uint8)


def mode_figure(collapse: Collapse, words: str) -> Figure:
    """Draw the mode on a sheet: the hull, and a cut across it where it moves most."""
    height = SIDE + TITLE + GAP
    wide = WIDTH - 3 * GAP - CUT
    pixels = (round(wide / 72 * PNG_DPI), round(SIDE / 72 * PNG_DPI))
    with matplotlib.rc_context(STYLE):
        figure = blank(height)
        title = "The shape in which the hull buckles"
        figure.text(GAP / WIDTH, 1 - 8 / height, title, va="top", size=LARGE, weight="bold")
        place = (GAP / WIDTH, 1 - 22 / height)
        figure.text(*place, words, va="top", size=SMALL, color=QUIET)
        ax = figure.add_axes((GAP / WIDTH, GAP / height, wide / WIDTH, SIDE / height))
        ax.set_axis_off()
        ax.imshow(mode_image(collapse, pixels), aspect="auto", interpolation="nearest")
        left, low = (2 * GAP + wide) / WIDTH, (GAP + (SIDE - CUT) / 2) / height
        ax = figure.add_axes((left, low, CUT / WIDTH, CUT / height))
        z, before, after = cut(collapse)
        ax.set_axis_off()
        ax.set_aspect("equal")
        ax.plot(*before, color=QUIET, lw=0.8, ls=(0, (4, 2)))
        ax.plot(*after, color=SEA, lw=1.5)
        ax.text(0, 0, f"cut at\nz = {z:.0f} mm", ha="center", va="center", size=SMALL)
    return figure


def cut(collapse: Collapse) -> tuple[float, Floats, Floats]:
    """Height z, mm, of the wet point that moves most, and its circle before and after, (2, k)."""
    mode = collapse.at_duty.critical
    nodes = np.unique(collapse.space.edge_dofs["wet"])
    most = nodes[int(np.argmax(np.linalg.norm(mode.shape[nodes, :2], axis=1)))]
    r, z = positions(collapse.mesh, collapse.space)[:, most]
    turn = np.linspace(0, 2 * np.pi, AROUND)
    u, v = (mode.shape[most, i] * np.exp(1j * mode.waves * turn) for i in (0, 1))
    scale = SHARE * r / np.linalg.norm(mode.shape[most, :2])
    radial, around = r + scale * u.real, scale * (-1j * v).real
    before = r * np.stack([np.cos(turn), np.sin(turn)])
    after = np.stack(
        [
            radial * np.cos(turn) - around * np.sin(turn),
            radial * np.sin(turn) + around * np.cos(turn),
        ]
    )
    return float(z), before, after


def scan_figure(told: dict[str, Any], required: tuple[float, float]) -> Figure:
    """Draw the pressures used over the number of waves."""
    height = 250.0
    rows = [row for row in told["scan"] if row["used_MPa"] is not None]
    kinds = [kind for kind in NAMES if any(row["symmetry"] == kind for row in rows)]
    least, best = told["critical"]["used_MPa"], told["critical"]["waves"]
    with matplotlib.rc_context(STYLE):
        figure = blank(height)
        title = "Buckling pressure by number of waves, knocked down"
        figure.text(GAP / WIDTH, 1 - 8 / height, title, va="top", size=LARGE, weight="bold")
        ax = figure.add_axes((58 / WIDTH, 40 / height, 1 - 76 / WIDTH, 1 - 86 / height))
        for kind, colour in zip(kinds, (SEA, "#c8641a", INK), strict=False):
            own = [(row["waves"], row["used_MPa"]) for row in rows if row["symmetry"] == kind]
            ax.plot(
                *zip(*own, strict=True),
                color=colour,
                ls=LINES[kind],
                marker=MARKS[kind],
                ms=4,
                lw=1.2,
                label=NAMES[kind],
            )
        for pressure, words, dash in zip(
            required, ("duty", "required"), ("-", (0, (4, 2))), strict=True
        ):
            ax.axhline(pressure, color=QUIET, lw=0.8, ls=dash, label=f"{words} {pressure:.1f} MPa")
        depth = told["critical"]["depth_m"]
        note = f"{least:.1f} MPa" + (
            f"\n{depth:,.0f} m" if depth is not None else "\ndeeper than any sea"
        )
        ax.annotate(
            note,
            (best, least),
            (0, 9),
            textcoords="offset points",
            size=SMALL,
            va="bottom",
            ha="center",
            bbox={"fc": PAPER, "ec": "none", "pad": 1.0},
        )
        ax.set_xlabel("waves around the hull, n")
        ax.set_ylabel("sea pressure, MPa")
        ax.set_ylim(0, 1.1 * max(row["used_MPa"] for row in rows))
        ax.set_xticks(sorted({row["waves"] for row in rows}))
        ax.legend(frameon=False, fontsize=SMALL, loc="lower left", bbox_to_anchor=(0, 1), ncols=5)
    return figure
