"""The fields of an answer as a file of VTK's open XML format (``.vtu``).

Frame of the file
    x is z (along the hull), y is r (out from the axis), so that a viewer shows the section as the
    drawings do. Vectors are (u_z, u_r, u_theta), a right-handed frame. Strain and stress keep the
    project's order [rr, tt, zz, tz, rz, rt] (t is theta, engineering shear strains), as their
    components are named.
Formulation
    Quadratic triangles. Every triangle has its own six points, so that strain and stress jump
    where they jump: nothing is averaged. Displacement is the same in all copies of a point.
    Values at the six points are those of the solution's own polynomials.
Arrays
    ``displacement_duty_mm``, ``strain_duty``, ``stress_duty_MPa`` at duty; the same per MPa of
    pressure (``displacement_per_MPa_mm``, ``strain_per_MPa``, ``stress_per_MPa_MPa``) and per
    kelvin (``displacement_per_K_mm``, ``strain_per_K``, ``stress_per_K_MPa``). Strain is total,
    thermal strain included. Cell arrays: ``region`` numbers the regions; ``in_NAME`` is 1 in the
    part or region of that name and 0 elsewhere (``in_adhesive``, ``in_bond-inner``, ``in_ring``),
    numbers rather than texts because not every reader of the format takes texts.
Units
    mm, MPa, K.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pyvista
from numpy.typing import NDArray
from vtkmodules.vtkIOXML import vtkXMLUnstructuredGridWriter

from post.bondline import duty_factors
from solve.answer import Answer
from solve.elements import COMPONENTS, kinematics, reference_basis
from solve.stress import element_stress, strain_from_gradients

Floats = NDArray[np.float64]

# reference coordinates of a quadratic triangle's points: corners, then amid 0-1, 1-2, 2-0
SIX = np.array([[0, 1, 0, 0.5, 0.5, 0], [0, 0, 1, 0, 0.5, 0.5]], dtype=float)
LOAD_ENDINGS = {"pressure": "per_MPa", "temperature": "per_K"}
QUANTITIES = {"displacement": "_mm", "strain": "", "stress": "_MPa"}


def write_fields(answer: Answer, path: Path) -> None:
    """Write displacement, strain and stress at duty and of the unit loads.

    Parameters
    ----------
    answer : Answer
    path : Path
        A ``.vtu`` file.
    """
    writer = vtkXMLUnstructuredGridWriter()
    writer.SetInputData(fields_grid(answer))
    writer.SetDataModeToBinary()
    writer.WriteToOutputStringOn()  # on a full disk VTK's own file ends the process without a word
    writer.Write()
    path.write_text(writer.GetOutputString(), encoding="ascii")


def fields_grid(answer: Answer) -> pyvista.UnstructuredGrid:
    """Make the grid that `write_fields` writes."""
    mesh, space = answer.mesh, answer.space
    kin = kinematics(mesh.points, space.corners, space.degree, SIX)
    value, _ = reference_basis(space.degree, SIX)
    arrays: dict[str, Floats] = {}
    for load, u in answer.displacement.items():
        own = u[space.dofs]
        strain = strain_from_gradients(kin, own)
        for quantity, array in (
            ("displacement", np.einsum("mki,kq->imq", own, value)[[2, 0, 1]]),
            ("strain", strain),
            ("stress", element_stress(answer, load, strain, mesh.region)),
        ):
            arrays[f"{quantity}_{LOAD_ENDINGS[load]}{QUANTITIES[quantity]}"] = array
    for quantity, unit in QUANTITIES.items():
        arrays[f"{quantity}_duty{unit}"] = sum(
            (
                factor * arrays[f"{quantity}_{LOAD_ENDINGS[load]}{unit}"]
                for load, factor in duty_factors(answer).items()
            ),
            start=np.zeros(1),
        )

    corners = mesh.points[space.corners]  # (m, 6, 2) of (r, z)
    points = np.zeros((corners.shape[0] * 6, 3))
    points[:, :2] = corners.reshape(-1, 2)[:, ::-1]
    count = len(corners)
    cells = np.column_stack([np.full(count, 6), np.arange(6 * count).reshape(count, 6)])
    kinds = np.full(count, pyvista.CellType.QUADRATIC_TRIANGLE, np.uint8)
    grid = pyvista.UnstructuredGrid(cells.ravel(), kinds, points)
    for name, array in arrays.items():
        grid.point_data[name] = array.reshape(array.shape[0], -1).T
        labels = COMPONENTS if array.shape[0] == 6 else ("z", "r", "theta")
        for i, label in enumerate(labels):
            grid.GetPointData().GetArray(name).SetComponentName(i, label)
    grid.cell_data["region"] = mesh.region
    parts = np.array([answer.section.regions[name].part for name in mesh.regions])[mesh.region]
    for part in np.unique(parts):
        grid.cell_data[f"in_{part}"] = (parts == part).astype(np.uint8)
    for number, name in enumerate(mesh.regions):
        grid.cell_data[f"in_{name}"] = (mesh.region == number).astype(np.uint8)
    return grid
