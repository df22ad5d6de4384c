"""Buckling of the section's elements against elasticity, shells and rings.

Tubes are held round at their ends and pressed evenly along their length (their prestress is that
of a long tube), as the references have them. A half length is modelled; n waves around are found
by the scan, not given.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from geometry.layup import Layer, Ply
from geometry.mesh import JointMesh
from geometry.section import Outline
from geometry.sizes import Grading
from solve.buckling import Mode, SecondVariation, lowest_modes, scan, second_variation
from solve.check import Check, Reference
from solve.cited_materials import CARBON_EPOXY, isotropic
from solve.collapse import HULL
from solve.elasticity import pressure_load
from solve.elements import Space
from solve.exact_tube import TubeLayer
from solve.laminate import Material, layer_material, ply_material
from solve.motions import ALIKE, OPPOSITE
from solve.solid import Solid, build, make_section, rectangle, solve_solid
from solve.solid_tubes import slice_tube

ELASTICITY = Reference(
    "Tubes under hydrostatic pressure, three-dimensional elasticity",
    "Kardomateas 1993; Kardomateas & Chung 1994 (the problem)",
    "recomputed",
)
LONG = Reference("Long tube under lateral pressure", ELASTICITY.source, "recomputed")
SPHERE = Reference("Sphere", "Zoelly 1915", "value from memory")
RING = Reference(
    "Ring", "Timoshenko & Gere, Theory of Elastic Stability, 1961", "value from memory"
)
STIFFENED = Reference(
    "Tube between deep rings", "von Mises 1929, a tube held round at its ends", "recomputed"
)


@dataclass(frozen=True)
class Pressed:
    """A tube under one MPa: what of a solution a second variation is made of."""

    mesh: JointMesh
    space: Space
    materials: dict[str, Material]
    displacement: dict[str, NDArray[np.float64]]


def pressed_tube(
    layers: Sequence[TubeLayer], length: float, elements: float = 1, closed_ends: bool = True
) -> Pressed:
    """Press a tube of which half is modelled, the same all along its length.

    Parameters
    ----------
    layers : sequence of TubeLayer
    length : float
        Of the whole tube, mm.
    elements : float
        Wall thickness over element length; each layer has at least one element through it.
    closed_ends : bool
        Whether the sea presses on the ends too.
    """
    tube = slice_tube(layers, elements=elements, height=length / 2)
    solid = tube.solid
    state = tube.state(pressure=1.0, closed_ends=closed_ends)
    u = sum((w * solid.displacement[load] for load, w in state.items()), np.zeros(3))
    return Pressed(solid.mesh, solid.space, solid.materials, {"pressure": np.asarray(u)})


def held_round(tube: Pressed) -> SecondVariation:
    """Second variation of a tube whose ends are held round."""
    return second_variation(tube, kept_round=("closure",))


def single(radius: float, thickness: float, material: Material) -> list[TubeLayer]:
    """Wall of one material by its mean radius, mm."""
    return [TubeLayer(radius - thickness / 2, radius + thickness / 2, material)]


def stacked(angles: Sequence[float], radius: float, thickness: float) -> list[TubeLayer]:
    """Wall of equal plies by its mean radius, mm."""
    faces = radius + thickness * (np.arange(len(angles) + 1) / len(angles) - 0.5)
    return [
        TubeLayer(inner, outer, ply_material(CARBON_EPOXY, angle))
        for inner, outer, angle in zip(faces[:-1], faces[1:], angles, strict=True)
    ]


def angle_plies(angle: float) -> Material:
    """Smear many thin plies of +angle and -angle."""
    plies = (Ply("ply", 0.5, angle), Ply("ply", 0.5, -angle))
    return layer_material(Layer("wall", 0.0, 1.0, plies, 1), {"ply": CARBON_EPOXY})


def elasticity_checks() -> list[Check]:
    """Check tubes of isotropic and laminated walls, thin to thick."""
    cases: tuple[tuple[str, list[TubeLayer], float, str, int], ...] = (
        ("isotropic, R/t = 50", single(150, 3, isotropic(71e3, 0.33)), 450.0, "1.254691", 4),
        ("isotropic, R/t = 20", single(200, 10, isotropic(113.8e3, 0.342)), 600.0, "20.578222", 3),
        ("isotropic, R/t = 6.7", single(200, 30, isotropic(113.8e3, 0.342)), 600.0, "343.11", 3),
        ("carbon [90/0/90], R/t = 17", stacked((90, 0, 90), 150, 9), 450.0, "18.4130", 3),
        ("carbon [+-55], R/t = 17.5", single(175, 10, angle_plies(55.0)), 500.0, "11.8426", 3),
    )
    checks = []
    for name, layers, length, printed, waves in cases:
        critical = scan(held_round(pressed_tube(layers, length))).critical
        checks += [
            # the reference is itself an eigenvalue of elements through the wall: its last digit
            ELASTICITY.check(
                f"{name}, buckling pressure", "MPa", printed, critical.pressure, digits=1
            ),
            ELASTICITY.check(f"{name}, waves around", "1", str(waves), critical.waves),
        ]
    tube = pressed_tube(single(150, 3, isotropic(71e3, 0.33)), 15000.0, 1 / 16, closed_ends=False)
    mode = lowest_modes(held_round(tube), 2, ALIKE)[0]
    checks.append(LONG.check("L/R = 100, buckling pressure", "MPa", "0.159395", mode.pressure))
    return checks


def hemisphere(radius: float, thickness: float, material: Material) -> Solid:
    """Solve half a sphere (mean radius, mm) on its plane of symmetry."""
    a, b = radius - thickness / 2, radius + thickness / 2
    corners = ((a, 0.0), (b, 0.0), (0.0, b), (0.0, a))
    outline = Outline("head", corners, ((1, (0.0, 0.0)), (3, (0.0, 0.0))))
    section = make_section([outline], {"head": "head"}, thickness=thickness)
    grading = Grading(arc=5.0, free=4.0)
    system = build(section, {"head": material}, grading=grading)
    return solve_solid(system, {"head": material}, {"pressure": pressure_load(system)})


def sphere_checks() -> list[Check]:
    """Check a sphere: whichever way its poles lie, its least pressure is the same."""
    E, nu, radius, thickness = 113.8e3, 0.342, 200.0, 1.0
    zoelly = 2 * E * (thickness / radius) ** 2 / np.sqrt(3 * (1 - nu**2))
    system = second_variation(hemisphere(radius, thickness, isotropic(E, nu)))
    # in a sphere of R/t = 200, thickness and the whole number of its waves count half a percent;
    # the sea presses on the outer radius, Zoelly's on the mean one
    outside = (1 + thickness / radius / 2) ** 2

    def least(waves: int) -> float:
        found = (lowest_modes(system, waves, kind)[0].pressure for kind in (ALIKE, OPPOSITE))
        return min(found) * outside

    return [
        SPHERE.near(f"n = {waves}, buckling pressure", "MPa", zoelly, least(waves), within=5e-3)
        for waves in (0, 1, 2)
    ]


def ring_mode(waves: int, follows: bool) -> Mode:
    """Buckle a narrow ring of R/t = 200, E = 200 GPa."""
    radius, thickness = 100.0, 0.5
    ring = pressed_tube(
        single(radius, thickness, isotropic(2e5, 0.3)), thickness, closed_ends=False
    )
    return lowest_modes(second_variation(ring, follows=follows), waves, ALIKE)[0]


def ring_checks() -> list[Check]:
    """Check a ring in a fluid, n^2 - 1, and under a dead pressure, n^2."""
    checks = []
    for waves, follows, factor in ((2, True, 3), (3, True, 8), (2, False, 4), (3, False, 9)):
        unit = 2e5 * 0.5**3 / 12 / 100.0**3  # E I / R^3 for a width of 1
        pressure = ring_mode(waves, follows).pressure * (1 + 0.5 / 200.0) / unit
        what = "fluid pressure" if follows else "dead pressure"
        checks.append(
            # the thickness of the ring counts of the order of t/R = 0.005
            RING.near(f"{what}, n = {waves}, p R^3 / (E I)", "1", factor, pressure, within=5e-3)
        )
    return checks


def stiffened_checks() -> list[Check]:
    """Check that deep thin rings do what ends held round do, and little more."""
    radius, thickness, length, deep = 150.0, 3.0, 450.0, 60.0
    outside, end = radius + thickness / 2, length / 2
    section = make_section(
        [
            rectangle("tube", (radius - thickness / 2, outside), (0.0, end)),
            rectangle("web", (radius - deep, outside), (end, end + thickness)),
        ],
        {"tube": "wall", "web": "ring"},
        thickness=thickness,
        closure_z=end + thickness,
    )
    materials = dict.fromkeys(("tube", "web"), isotropic(71e3, 0.33))
    system = build(section, materials, grading=HULL, degree=3)
    solid = solve_solid(system, materials, {"pressure": pressure_load(system)})
    critical = scan(second_variation(solid)).critical
    return [
        # a web as thick as the wall stops some of its turning too: a few percent
        STIFFENED.near("buckling pressure", "MPa", 1.260920, critical.pressure, within=0.05),
        STIFFENED.check("waves around", "1", "4", critical.waves),
    ]


GROUPS = (elasticity_checks, sphere_checks, ring_checks, stiffened_checks)


def buckling_checks() -> list[Check]:
    """Tubes, spheres, rings and a tube between rings, in that order."""
    return [check for group in GROUPS for check in group()]
