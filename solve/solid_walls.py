"""Curved walls by finite elements: a hollow sphere, a cylinder with its dome, a tapered cylinder.

Problem
    Sections with arcs, drawn as published and solved with the elements that solve joints.
Units
    mm, N, MPa, K.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from geometry.section import Outline, Point, Section
from geometry.sizes import Grading
from solve.answer import DEGREE
from solve.elasticity import edge_traction
from solve.laminate import Material
from solve.solid import Held, Solid, build, make_section, solve_solid

Floats = NDArray[np.float64]
ORIGIN = (0.0, 0.0)
RINGS, LARGEST_RING = 7, 200.0  # of small elements about the target of LE11; mm


def hollow_sphere(
    inner: float,
    outer: float,
    material: Material,
    *,
    elements: int = 2,
    degree: int = DEGREE,
    level: int = 1,
) -> Solid:
    """Solve a quarter of a hollow sphere for ``outside``, one MPa of outer pressure.

    Parameters
    ----------
    inner, outer : float
        Radii, mm.
    material : Material
    elements : int
        Through the wall, at level 1.
    degree, level : int
    """
    outline = Outline(
        "wall",
        ((inner, 0.0), (outer, 0.0), (0.0, outer), (0.0, inner)),
        arcs=((1, ORIGIN), (3, ORIGIN)),
    )
    section = make_section([outline], {"wall": "wall"}, thickness=outer - inner)
    materials = {"wall": material}
    grading = Grading(wall=1 / elements)
    system = build(section, materials, grading=grading, level=level, degree=degree)
    load = edge_traction(system, "wet", lambda x, normal: -normal)
    return solve_solid(system, materials, {"outside": load})


def domed_cylinder(
    radius: float, thickness: float, length: float, material: Material, *, elements: int = 2
) -> Solid:
    """Solve a cylinder with a hemispherical dome for pressure on either face.

    Parameters
    ----------
    radius, thickness, length : float
        Mid radius, wall and length of the cylinder, mm; z = length at the dome's edge.
    material : Material
    elements : int
        Through the wall.

    Returns
    -------
    Solid
        Loads ``inside`` (1 MPa in the bore) and ``outside`` (1 MPa drawing at the outer face).
    """
    a, b = radius - thickness / 2, radius + thickness / 2
    top = (0.0, length)
    outlines = [
        Outline("cylinder", ((a, 0.0), (b, 0.0), (b, length), (a, length))),
        Outline(
            "dome",
            ((a, length), (b, length), (0.0, length + b), (0.0, length + a)),
            arcs=((1, top), (3, top)),
        ),
    ]
    section = make_section(outlines, {"cylinder": "wall", "dome": "wall"}, thickness=thickness)
    materials = {"cylinder": material, "dome": material}
    system = build(section, materials, grading=Grading(wall=1 / elements))
    loads = {
        "inside": edge_traction(system, "dry", lambda x, normal: -normal),
        "outside": edge_traction(system, "wet", lambda x, normal: normal),
    }
    return solve_solid(system, materials, loads)


def tapered_section() -> Section:
    """Section of NAFEMS LE11: cylinder, taper and sphere; its metres are thousands of mm.

    The target is read at (1000, 0), where the slope of the temperature across the held plane makes
    displacements of the kind d^2 log d, d the distance from there: rings of small elements
    follow it.
    """
    at_30, at_45 = 1400.0 * np.array([np.cos(np.pi / 6), 0.5]), 1000.0 * np.sqrt(0.5)
    target = (1000.0, 0.0)

    def ends(d: float) -> tuple[Point, Point]:
        """Where the circle of radius d about the target meets the plane and the inner arc."""
        turn = 2 * np.arcsin(d / 2000)
        return (1000.0 + d, 0.0), (float(1000 * np.cos(turn)), float(1000 * np.sin(turn)))

    foot, top = ends(LARGEST_RING)
    outlines = [
        Outline(
            "solid",
            (
                foot,
                (1400.0, 0.0),
                (float(at_30[0]), float(at_30[1])),
                (1000.0, 1390.0),
                (1000.0, 1790.0),
                (at_45, 1790.0),
                (at_45, at_45),
                top,
            ),
            arcs=((1, ORIGIN), (6, ORIGIN), (7, target)),
        )
    ]
    for _ in range(RINGS):
        inner_foot, inner_top = ends((foot[0] - 1000.0) / 3)
        outlines.append(
            Outline(
                "solid",
                (inner_foot, foot, top, inner_top),
                arcs=((1, target), (2, ORIGIN), (3, target)),
            )
        )
        foot, top = inner_foot, inner_top
    outlines.append(Outline("solid", (target, foot, top), arcs=((1, target), (2, ORIGIN))))
    return make_section(outlines, {"solid": "ring"}, thickness=400.0, closure_z=1790.0)


def tapered_cylinder(material: Material, *, level: int = 1, degree: int = DEGREE) -> Solid:
    """Solve NAFEMS LE11 for ``heat``: r + z in metres, K; both end planes keep their height."""
    materials = {"solid": material}
    system = build(
        tapered_section(),
        materials,
        grading=Grading(),
        level=level,
        degree=degree,
        rise=lambda r, z: (r + z) / 1000,
    )
    return solve_solid(system, materials, {"heat": system.temperature}, [Held("closure", "z")])
