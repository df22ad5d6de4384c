"""The cut-away: three quarters of the hull, revolved from the section, as a picture and in words.

The page draws the same with templates/cutaway.js, for the reader to turn; this is the picture for
paper and for pages without scripts, seen from the same side.
Frame
    x along the hull, z upwards, y away from the reader, whose quarter is cut away.
"""

from __future__ import annotations

import os

# asked for at once, the renderer does not complain of a missing display first
os.environ.setdefault("VTK_DEFAULT_OPENGL_WINDOW", "vtkEGLRenderWindow")

from pathlib import Path
from typing import Any

import matplotlib
import numpy as np
import pyvista
from matplotlib.figure import Figure
from matplotlib.patches import Patch
from numpy.typing import NDArray

from geometry.case import Case
from geometry.section import Section
from post.colours import FILL, INK
from post.outline import edge_path, extent
from post.parts import material_words, parts_of
from post.sheet import PLAIN, PNG_DPI, STYLE, WIDTH, Shown, blank, write
from solve.answer import Answer

Floats = NDArray[np.float64]

TURN = np.radians(np.linspace(180.0, 450.0, 91))  # what is left of the hull
CUTS = (90.0, 180.0)  # the upright and the level cut, degrees
ROUND, UP = 65.0, 24.0  # of the reader's eye: from the hull's axis, from the level, degrees
TALL, BELOW = 310.0, 24.0  # the picture and its key, points
HEADS = {
    "hemisphere": "a hemisphere closes it",
    "flat": "a flat plate closes it",
    "none": "no head is modelled",
}


def draw_cutaway(answer: Answer, folder: Path) -> Shown:
    """Draw the cut-away as PNG into a folder.

    Parameters
    ----------
    answer : Answer
    folder : Path

    Returns
    -------
    Shown
    """
    case, section = answer.case, answer.section
    write(cutaway_figure(answer), folder / "cutaway.png")
    return Shown("cutaway.png", "cutaway", "Cut-away", cutaway_words(case, section))


def cutaway_words(case: Case, section: Section) -> str:
    """Say what the cut-away shows, for who does not see it."""
    wall = case.wall
    bonds = [f"{bond.name} bond {bond.thickness:.3g} mm" for bond in section.bonds]
    return (
        "Half the hull, from mid-length to its end, the quarter towards you cut away. The wall "
        f"has a bore of {2 * wall.bore_radius:.4g} mm, is {wall.thickness:.3g} mm thick and ends "
        f"{wall.half_length:.4g} mm from mid-length, bonded to the ring ({', '.join(bonds)}); "
        f"{HEADS[case.head.form]}."
    )


def cutaway_figure(answer: Answer) -> Figure:
    """Put the rendered cut-away and the key of its colours on a sheet."""
    height = TALL + BELOW
    pixels = (round(WIDTH / 72 * PNG_DPI), round(TALL / 72 * PNG_DPI))
    with matplotlib.rc_context(STYLE):
        figure = blank(height)
        ax = figure.add_axes((0, BELOW / height, 1, TALL / height))
        ax.imshow(render_cutaway(answer, pixels), aspect="auto", interpolation="nearest")
        ax.set_axis_off()
        words = material_words(answer.case, answer.section)
        key = [
            Patch(fc=FILL[part], ec=INK, lw=0.5, label=f"{part}: {material}")
            for part, material in words.items()
        ]
        figure.legend(
            handles=key, loc="lower center", ncols=len(key), frameon=False, fontsize=PLAIN - 1
        )
    return figure


def render_cutaway(answer: Answer, pixels: tuple[int, int]) -> NDArray[np.uint8]:
    """Render the cut-away off screen.

    Parameters
    ----------
    answer : Answer
    pixels : (int, int)
        Width and height.

    Returns
    -------
    (height, width, 3) array
    """
    plotter: Any = pyvista.Plotter(off_screen=True, window_size=list(pixels))
    plotter.set_background("white")
    for part in parts_of(answer.section):
        look = {"color": FILL[part], "ambient": 0.45, "diffuse": 0.55, "specular": 0.0}
        for angle in CUTS:
            # a cut shows its colour as it is
            plotter.add_mesh(cut_face(answer, part, angle), color=FILL[part], lighting=False)
        for surface in surfaces(answer.section, part):
            plotter.add_mesh(surface, **look)
    # on the outline and between parts, not between the pieces that a part is meshed in
    owners = _owners(answer.section)
    borders = [edge for edge, parts in owners.items() if len(parts) == 1 or len(set(parts)) == 2]
    for angle in CUTS:
        for edge in borders:
            points = revolved(edge_path(answer.section, edge), np.radians(angle))
            plotter.add_mesh(pyvista.lines_from_points(points), color=INK, line_width=2)
    z0, z1, _, r1 = extent(answer.section)
    around, above = np.radians(ROUND), np.radians(UP)
    back = np.array(
        [np.cos(above) * np.cos(around), -np.cos(above) * np.sin(around), np.sin(above)]
    )
    centre = np.array([(z0 + z1) / 2, 0.0, 0.0])
    plotter.camera.focal_point = tuple(centre)
    plotter.camera.position = tuple(centre + 4.2 * max(z1 - z0, 1.2 * r1) * back)
    plotter.camera.up = (0.0, 0.0, 1.0)
    plotter.camera.view_angle = 20.0
    plotter.reset_camera(render=False)
    plotter.camera.zoom(1.6)
    plotter.enable_anti_aliasing("ssaa")
    image = plotter.screenshot(return_img=True)
    plotter.close()
    return np.asarray(image[..., :3], np.uint8)


def revolved(points: Floats, angle: float | Floats) -> Floats:
    """Turn (n, 2) places (r, z) about the axis by an angle, radians; (n, 3) of (x, y, z)."""
    r, z = points[:, 0], points[:, 1]
    return np.stack([z, r * np.cos(angle), r * np.sin(angle)], axis=1)


def cut_face(answer: Answer, part: str, angle: float) -> Any:
    """Make the cut through a part at an angle, degrees, of the mesh's triangles (PolyData)."""
    mesh = answer.mesh
    wanted = [i for i, name in enumerate(mesh.regions) if answer.section.regions[name].part == part]
    triangles: Any = mesh.triangles[np.isin(mesh.region, wanted), :3]
    return pyvista.PolyData.from_regular_faces(revolved(mesh.points, np.radians(angle)), triangles)


def surfaces(section: Section, part: str) -> list[Any]:
    """Make what is seen of a part's surface: its edges on the outline, revolved (grids)."""
    found: list[Any] = []
    for edge, parts in _owners(section).items():
        path = edge_path(section, edge)
        if parts != [part] or path[:, 0].max() < 1e-9:
            continue
        sheet = np.stack([revolved(path, angle) for angle in TURN])
        found.append(pyvista.StructuredGrid(*(sheet[..., i, None] for i in range(3))))
    return found


def _owners(section: Section) -> dict[int, list[str]]:
    """List the parts on both sides of each edge, or the one where it is on the outline."""
    owners: dict[int, list[str]] = {}
    for face in section.faces:
        for signed in face.loop:
            owners.setdefault(abs(signed) - 1, []).append(section.regions[face.region].part)
    return owners
