"""How fast the finite elements converge when they are made smaller.

Problem
    Lame's cylinder (straight sides) and sphere (arcs) with elements halved.
Formulation
    Elements of degree p leave an error of order h^(p+1) in the displacement and h^p in the
    stress, both as mean squares over the volume. An arc is meshed as parabolas through points of
    the arc, whose own error is of order h^4: where p = 4 it is what is left of the displacement.
Source
    P.G. Ciarlet, The Finite Element Method for Elliptic Problems, 1978.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from solve.check import Check, Reference
from solve.solid_wall_checks import PRESSED, steel_slice, steel_sphere
from solve.thick_wall_formulas import ThickWall, lame_sphere
from solve.tube_checks import steel_tube

Floats = NDArray[np.float64]
Field = tuple[Floats, Floats]

RATE = Reference(
    "Order of convergence",
    "Ciarlet, The Finite Element Method for Elliptic Problems, 1978",
    "value from memory",
)
DEGREES = (2, 3, 4)
ARC_ORDER = 4  # of the error of a parabola through three points of an arc
# Two meshes on which the leading term of the error rules and rounding does not yet.
CYLINDER_LEVELS, SPHERE_LEVELS = (2, 3), (3, 4)


def rate_checks() -> list[Check]:
    """Observed orders of displacement and stress on cylinder and sphere."""
    checks = []
    for name, errors, levels in (
        ("cylinder", cylinder_errors, CYLINDER_LEVELS),
        ("sphere", sphere_errors, SPHERE_LEVELS),
    ):
        for degree in DEGREES:
            wanted = (degree + 1, degree)
            if name == "sphere":
                wanted = (min(degree + 1, ARC_ORDER), degree)
            ours = observed_rates(errors, degree, levels)
            checks += [
                # An order is a limit; two meshes see it to about a tenth.
                RATE.near(
                    f"{name}, degree {degree}, {what}", "1", order, rate, within=0.2, relative=False
                )
                for what, order, rate in zip(("displacement", "stress"), wanted, ours, strict=True)
            ]
    return checks


def observed_rates(
    errors: Callable[[int, int], tuple[float, float]], degree: int, levels: tuple[int, int]
) -> tuple[float, float]:
    """Orders of displacement and stress, from the errors on two levels of a mesh."""
    coarse, fine = (np.array(errors(degree, level)) for level in levels)
    displacement, stress = np.log2(coarse / fine)
    return float(displacement), float(stress)


def cylinder_errors(degree: int, level: int) -> tuple[float, float]:
    """Relative errors of displacement and stress of the steel cylinder with closed ends."""
    tube = steel_slice(degree, level)
    return tube.solid.errors(tube.state(pressure=60.0, closed_ends=True), exact_cylinder)


def sphere_errors(degree: int, level: int) -> tuple[float, float]:
    """Relative errors of displacement and stress of the steel sphere."""
    return steel_sphere(degree, level).errors(PRESSED, exact_sphere)


def exact_cylinder(r: Floats, z: Floats) -> Field:
    """Lame's cylinder: displacement (3, e, q) and stress (6, e, q) at r and z (e, q)."""
    tube = steel_tube()
    field = tube.evaluate(r.ravel())
    radial = field.displacement.reshape(r.shape)
    u = np.stack([radial, np.zeros_like(r), tube.axial_strain * z])
    return u, field.stress.reshape(6, *r.shape)


def exact_sphere(r: Floats, z: Floats) -> Field:
    """Lame's sphere, as `exact_cylinder`."""
    radius = np.hypot(r, z)
    wall: ThickWall = lame_sphere(radius, 200.0, 250.0, 200e3, 0.3, outer_pressure=60.0)
    c, s, zero = r / radius, z / radius, np.zeros_like(r)
    stress = [
        wall.radial * c * c + wall.hoop * s * s,
        wall.hoop,
        wall.radial * s * s + wall.hoop * c * c,
        zero,
        (wall.radial - wall.hoop) * s * c,
        zero,
    ]
    u = [wall.displacement * c, zero, wall.displacement * s]
    return np.stack(u), np.stack(stress)
