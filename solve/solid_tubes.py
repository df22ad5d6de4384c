"""Layered tubes by finite elements: a thin slice, and a long tube.

Problem
    The exact tube of `solve.exact_tube`, by the elements that solve joints.
Formulation
    The slice is short and its upper face moves as the cross-section of a long tube does:
    u_z = e0 z, u_theta = g0 r z, u_r free. One unit solution each of pressure, temperature, e0
    and g0; the axial force and the torque on the face, found from the reactions, then give the
    e0 and g0 that a load calls for. Nothing of the exact solution goes in.
    The long tube is loaded by tractions on its end face that are even over all layers, and is
    read near mid-length: by Saint-Venant's principle it has become the long tube of theory there.
Symbols
    e0 axial strain; g0 twist, rad/mm; loads ``pressure`` (1 MPa outside), ``temperature`` (1 K),
    ``stretch`` (e0 = 1), ``turn`` (g0 = 1/mm), ``force`` (1 N), ``torque`` (1 N mm).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from geometry.section import Section
from geometry.sizes import Grading
from solve.answer import DEGREE
from solve.elasticity import edge_traction, pressure_load
from solve.exact_tube import TubeLayer
from solve.solid import Held, Solid, build, make_section, rectangle, solve_solid, torque_load

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Slice:
    """A solved slice of a tube.

    Attributes
    ----------
    solid : Solid
    layers : tuple of TubeLayer
    height : float
        mm.
    """

    solid: Solid
    layers: tuple[TubeLayer, ...]
    height: float

    def state(
        self,
        *,
        pressure: float = 0.0,
        dT: float = 0.0,
        force: float = 0.0,
        torque: float = 0.0,
        closed_ends: bool = False,
    ) -> dict[str, float]:
        """Weights of the unit solutions that balance the given loads.

        Parameters
        ----------
        pressure : float
            Outside, MPa.
        dT : float
            K.
        force, torque : float
            N and N mm.
        closed_ends : bool
            Add the force of the pressure on closed ends.

        Returns
        -------
        dict of str to float
            Those of ``stretch`` and ``turn`` are e0 and g0.
        """
        given = {"pressure": pressure, "temperature": dT}
        wanted = np.array([force, torque])
        if closed_ends:
            wanted[0] -= pressure * np.pi * self.layers[-1].outer ** 2
        of = self.solid.resultant
        flexible = np.array([of({motion: 1.0}, "closure") for motion in ("stretch", "turn")]).T
        e0, g0 = np.linalg.solve(flexible, wanted - np.array(of(given, "closure")))
        return given | {"stretch": float(e0), "turn": float(g0)}

    def displacement(self, state: dict[str, float], radius: float) -> float:
        """Radial displacement at a radius, mm."""
        return float(self.solid.motion(state, np.array([[radius], [self.height / 3]]))[0, 0])

    def stress(self, state: dict[str, float], radius: float, layer: int) -> Floats:
        """Stress (6,) at a radius within a layer, MPa."""
        place = np.array([[radius], [self.height / 3]])
        return self.solid.stress(state, place, _name(layer))[:, 0]


def _name(layer: int) -> str:
    return f"layer-{layer + 1}"


def tube_section(layers: Sequence[TubeLayer], height: float) -> Section:
    """Section of a tube; its end face is the edge ``closure``."""
    return make_section(
        [rectangle(_name(i), (la.inner, la.outer), (0.0, height)) for i, la in enumerate(layers)],
        {_name(i): "wall" for i in range(len(layers))},
        thickness=layers[-1].outer - layers[0].inner,
        closure_z=height,
    )


def slice_tube(
    layers: Sequence[TubeLayer],
    *,
    elements: float = 8,
    height: float | None = None,
    degree: int = DEGREE,
    level: int = 1,
) -> Slice:
    """Solve a slice for pressure, temperature, stretch and turn.

    Parameters
    ----------
    layers : sequence of TubeLayer
        Bore outwards.
    elements : float
        Through the wall (each layer has at least one), at level 1; below 1, elements are longer
        than the wall is thick.
    height : float, optional
        mm; by default two elements.
    degree, level : int
    """
    wall = layers[-1].outer - layers[0].inner
    height = 2 * wall / elements if height is None else height
    section = tube_section(layers, height)
    materials = {_name(i): layer.material for i, layer in enumerate(layers)}
    grading = Grading(wall=1 / elements)
    system = build(section, materials, grading=grading, level=level, degree=degree, twist=True)
    held = [
        Held("closure", "z", {"stretch": lambda r, z: z}),
        Held("closure", "t", {"turn": lambda r, z: r * z}),
    ]
    loads = {
        "pressure": edge_traction(system, "wet", lambda x, normal: -normal),
        "temperature": system.temperature,
        "stretch": None,
        "turn": None,
    }
    return Slice(solve_solid(system, materials, loads, held), tuple(layers), height)


def long_tube(layers: Sequence[TubeLayer], half_length: float, *, elements: float = 4) -> Solid:
    """Solve a long tube for closed-end pressure, temperature, axial force and torque.

    Parameters
    ----------
    layers : sequence of TubeLayer
    half_length : float
        mm; the tube is held at its mid-length plane and loaded at its end.
    elements : float
        Through the wall; below 1, elements are longer than the wall is thick.
    """
    section = tube_section(layers, half_length)
    materials = {_name(i): layer.material for i, layer in enumerate(layers)}
    system = build(section, materials, grading=Grading(wall=1 / elements), twist=True)
    a, b = layers[0].inner, layers[-1].outer
    area = np.pi * (b**2 - a**2)

    loads = {
        "pressure": pressure_load(system),
        "temperature": system.temperature,
        "force": edge_traction(system, "closure", lambda x, normal: normal / area),
        "torque": torque_load(system, "closure"),
    }
    return solve_solid(system, materials, loads)
