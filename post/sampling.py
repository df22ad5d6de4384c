"""The deformed section sampled element by element, and rendered off screen.

Formulation
    Every element is sampled on its own lattice of `ORDER` steps, so that a curved element and a
    stress of higher order look smooth and nothing is averaged across a side between elements,
    least of all across an interface.
Frame
    Drawing coordinates: z to the right, r upwards. Stresses as in `solve.elements`, at duty, MPa.
"""

from __future__ import annotations

import os

# asked for at once, the renderer does not complain of a missing display first
os.environ.setdefault("VTK_DEFAULT_OPENGL_WINDOW", "vtkEGLRenderWindow")

from dataclasses import dataclass
from typing import Any

import numpy as np
import pyvista
from numpy.typing import NDArray

from post.bondline import duty_factors
from post.colours import signed_map
from post.outline import Window, joint_window
from post.sheet import nice
from solve.answer import Answer
from solve.elements import reference_basis
from solve.stress import locate, node_fields

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

ORDER = 4  # lattice steps along a side of an element
MOVED = 0.045  # of the joint's picture: how far its points are drawn to move against each other
AROUND = "#e9edf0"  # beside the section, so that white is zero stress and nothing else


@dataclass(frozen=True)
class Samples:
    """The deformed section sampled for pictures.

    Attributes
    ----------
    points : (m, q, 2) array
        Deformed (z, r), mm.
    stress : (6, m, q) array
        At duty, MPa.
    area : (m,) array
        Of each element, mm^2.
    scale : float
        Magnification of the movement.
    shift : float
        Axial movement left out, mm.
    """

    points: Floats
    stress: Floats
    area: Floats
    scale: float
    shift: float


def lattice(order: int) -> tuple[Floats, Ints]:
    """Points of a triangle's lattice and the small triangles between them.

    Returns
    -------
    xi : (2, q) array
    triangles : (order**2, 3) int array
    """
    place: dict[tuple[int, int], int] = {}
    for j in range(order + 1):
        for i in range(order + 1 - j):
            place[i, j] = len(place)
    small = [(place[i, j], place[i + 1, j], place[i, j + 1]) for i, j in place if i + j < order]
    small += [
        (place[i + 1, j], place[i + 1, j + 1], place[i, j + 1])
        for i, j in place
        if i + j < order - 1
    ]
    return np.array(list(place)).T / order, np.array(small)


def sample(answer: Answer) -> Samples:
    """Sample position, movement and stress of every element at duty."""
    xi, _ = lattice(ORDER)
    factors = duty_factors(answer)
    fields = node_fields(answer, xi)
    moved, stress = (np.sum([factors[k] * fields[k][i] for k in factors], axis=0) for i in (0, 1))
    shape, slope = reference_basis(2, xi)
    nodes = answer.mesh.points[answer.space.corners]
    place = np.einsum("mki,kq->mqi", nodes, shape)
    dx = np.einsum("mki,jkq->mqij", nodes, slope)
    area = np.abs(np.linalg.det(dx)).mean(axis=1) / 2

    z0, z1, r0, r1 = joint_window(answer.section)
    near = (place[..., 1] >= z0) & (place[..., 1] <= z1) & (place[..., 0] >= r0)
    near &= place[..., 0] <= r1
    u = np.stack([moved[2], moved[0]], axis=-1)  # along z, along r
    shift = float((u[near][:, 0].min() + u[near][:, 0].max()) / 2)
    u[..., 0] -= shift
    scale = nice(MOVED * max(z1 - z0, r1 - r0) / float(np.linalg.norm(u[near], axis=1).max()))
    return Samples(place[..., ::-1] + scale * u, stress, area, scale, shift)


def displacement_at(answer: Answer, points: Floats, part: str) -> dict[str, Floats]:
    """Evaluate unit displacements at points of a part.

    Parameters
    ----------
    answer : Answer
    points : (2, n) array of (r, z)
    part : str

    Returns
    -------
    dict of str to (n, 3) array
        (u_r, u_theta, u_z), mm per MPa and mm per K; NaN outside the part.
    """
    mesh, space = answer.mesh, answer.space
    wanted = [i for i, name in enumerate(mesh.regions) if answer.section.regions[name].part == part]
    members = np.flatnonzero(np.isin(mesh.region, wanted))
    point, element, xi = locate(mesh, space.corners, members, points)
    value, _ = reference_basis(space.degree, xi)
    found = {}
    for load, u in answer.displacement.items():
        at = np.full((points.shape[1], 3), np.nan)
        at[point] = np.einsum("nki,kn->ni", u[space.dofs[element]], value)
        found[load] = at
    return found


def part_lines(answer: Answer, samples: Samples) -> list[Floats]:
    """Outline and interfaces of the parts, deformed, as (n, 2) lines of (z, r)."""
    space = answer.space
    factors = duty_factors(answer)
    u = np.sum([factors[k] * answer.displacement[k] for k in factors], axis=0)
    t = np.linspace(0, 1, space.degree + 1)
    shape = np.stack([(1 - t) * (1 - 2 * t), t * (2 * t - 1), 4 * t * (1 - t)])
    lines: list[Floats] = []
    for name, dofs in space.edge_dofs.items():
        place = np.einsum("nki,kq->nqi", answer.mesh.points[space.edge_nodes[name]], shape)
        moved = u[dofs][..., [2, 0]] - np.array([samples.shift, 0.0])
        lines += list(place[..., ::-1] + samples.scale * moved)
    return lines


def render(
    points: Floats, values: Floats, limit: float, box: Window, pixels: tuple[int, int]
) -> NDArray[np.uint8]:
    """Render sampled elements inside a box.

    Parameters
    ----------
    points : (m, q, 2) array
        Drawing coordinates of each element's lattice of `ORDER` steps.
    values : (m, q) array
    limit : float
        Colours run from -limit to limit.
    box : (left, right, bottom, top)
    pixels : (width, height)

    Returns
    -------
    (height, width, 3) array
    """
    _, small = lattice(ORDER)
    low, high = points.min(axis=1), points.max(axis=1)
    seen = (high[:, 0] >= box[0]) & (low[:, 0] <= box[1])
    seen &= (high[:, 1] >= box[2]) & (low[:, 1] <= box[3])
    flat = points[seen].reshape(-1, 2)
    per_element = points.shape[1] * np.arange(int(seen.sum()))[:, None, None]
    triangles = (per_element + small).reshape(-1, 3)
    surface = pyvista.PolyData.from_regular_faces(
        np.column_stack([flat, np.zeros(len(flat))]), triangles
    )
    surface["stress"] = values[seen].ravel()
    plotter: Any = pyvista.Plotter(off_screen=True, window_size=list(pixels))
    plotter.set_background(AROUND)
    plotter.add_mesh(
        surface,
        scalars="stress",
        cmap=signed_map(),
        clim=(-limit, limit),
        n_colors=511,
        lighting=False,
        show_scalar_bar=False,
    )
    z, r = (box[0] + box[1]) / 2, (box[2] + box[3]) / 2
    plotter.camera.parallel_projection = True
    plotter.camera.focal_point = (z, r, 0.0)
    plotter.camera.position = (z, r, 1000.0)
    plotter.camera.up = (0.0, 1.0, 0.0)
    plotter.camera.parallel_scale = (box[3] - box[2]) / 2
    plotter.camera.clipping_range = (1.0, 2000.0)
    image = plotter.screenshot(return_img=True)
    plotter.close()
    return np.asarray(image[..., :3], np.uint8)
