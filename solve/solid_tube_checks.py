"""Layered tubes with angle plies by finite elements, with u_theta active.

A slice finds the axial strain and the twist from its own reactions; a long tube, loaded on its
end face and read at mid-length, knows nothing of either. Where the recomputed number is printed
it is met to its last digit; the loads for which none is printed are held against the exact tube.
"""

from __future__ import annotations

import numpy as np

from solve.check import Check, Reference
from solve.cited_materials import CARBON_EPOXY
from solve.exact_tube import TubeLayer, TubeSolution, solve_tube
from solve.laminate import ply_material
from solve.solid_tubes import long_tube, slice_tube
from solve.tube_checks import angle_ply_layers, bonded_layers

SLICE = Reference(
    "Layered angle-ply tube, slice",
    "Rousseau, Hyer & Tompkins 1987; Herakovich, Mechanics of Fibrous Composites, 1998",
    "recomputed",
)
LONG = Reference("Layered angle-ply tube, long", SLICE.source, SLICE.status)
BONDED = Reference("Bonded three-layer tube", SLICE.source, SLICE.status)
CROSS_PLY = Reference("Layered angle-ply tube, slice", "common practice", "common practice")

# (case, radius mm, layer, component, printed MPa)
_PRESSED = (
    ("bore, axial stress", 200.0, 0, 2, "-39.0945"),
    ("bore, hoop stress", 200.0, 0, 1, "-504.2586"),
    ("second layer inside, axial stress", 212.5, 1, 2, "-290.5882"),
    ("second layer inside, hoop stress", 212.5, 1, 1, "-142.8026"),
    ("second layer inside, surface shear", 212.5, 1, 3, "-142.5582"),
    ("radial stress at interface 1", 212.5, 1, 0, "-28.7380"),
    ("radial stress at interface 2", 225.0, 1, 0, "-35.0339"),
    ("radial stress at interface 3", 237.5, 3, 0, "-40.3310"),
)
_COOLED = (
    ("bore, hoop stress", 200.0, 0, 1, "56.3417"),
    ("outside, hoop stress", 250.0, 3, 1, "-83.9768"),
    ("radial stress at interface 1", 212.5, 1, 0, "2.0400"),
    ("radial stress at interface 2", 225.0, 1, 0, "2.9278"),
    ("radial stress at interface 3", 237.5, 3, 0, "3.6334"),
)
_BONDED_PRESSED = (
    ("radial stress inside the adhesive", 205.0, 1, 0, "-13.9801"),
    ("radial stress outside the adhesive", 205.25, 1, 0, "-13.9905"),
    ("axial stress of the metal", 202.0, 0, 2, "-920.80"),
)
_BONDED_COOLED = (
    ("radial stress inside the adhesive", 205.0, 1, 0, "2.5105"),
    ("radial stress outside the adhesive", 205.25, 1, 0, "2.5411"),
    ("axial stress of the adhesive", 205.1, 1, 2, "22.853"),
)


def slice_checks() -> list[Check]:
    """Check angle plies in a slice: pressure, cooling, torque, axial force."""
    layers = angle_ply_layers()
    tube = slice_tube(layers, elements=16)
    pressed, cooled = tube.state(pressure=60.0, closed_ends=True), tube.state(dT=-150.0)
    checks = []
    for case, state, texts, rows in (
        (
            "60 MPa outside, closed ends",
            pressed,
            ("-2.43347481e-3", "-8.43703535e-4", "-0.783035116", "-0.791597010"),
            _PRESSED,
        ),
        (
            "cooled by 150 K",
            cooled,
            ("-5.30019871e-4", "-5.62577189e-4", "0.102343680", "-0.148574587"),
            _COOLED,
        ),
    ):
        values = (
            ("axial strain", "1", state["stretch"]),
            ("twist", "rad/m", state["turn"] * 1e3),
            ("displacement of the bore", "mm", tube.displacement(state, 200.0)),
            ("displacement of the outside", "mm", tube.displacement(state, 250.0)),
        )
        checks += [
            SLICE.check(f"{case}, {name}", unit, printed, ours)
            for (name, unit, ours), printed in zip(values, texts, strict=True)
        ]
        checks += [
            SLICE.check(f"{case}, {name}", "MPa", printed, tube.stress(state, r, layer)[component])
            for name, r, layer, component, printed in rows
        ]
    for case, state, exact in (
        ("torque of 10 kN m", tube.state(torque=1e7), solve_tube(layers, torque=1e7)),
        ("axial force of 1 MN", tube.state(force=1e6), solve_tube(layers, axial_force=1e6)),
    ):
        shear = exact.evaluate(212.5, layer=1).stress[3, 0]
        checks += [
            # From the virtual work of a whole slice: ten digits.
            SLICE.near(
                f"{case}, axial strain", "1", exact.axial_strain, state["stretch"], within=1e-9
            ),
            SLICE.near(
                f"{case}, twist", "rad/m", exact.twist * 1e3, state["turn"] * 1e3, within=1e-9
            ),
            # 4 elements of degree 4 through each layer: eight digits.
            SLICE.near(
                f"{case}, surface shear of the second layer inside",
                "MPa",
                shear,
                tube.stress(state, 212.5, 1)[3],
                within=1e-8,
            ),
        ]
    return checks


def cross_ply_checks() -> list[Check]:
    """Check that cross plies leave u_theta alone."""
    layers = [
        TubeLayer(inner, inner + 12.5, ply_material(CARBON_EPOXY, angle))
        for inner, angle in zip((200.0, 212.5, 225.0, 237.5), (90, 0, 90, 0), strict=True)
    ]
    turn = slice_tube(layers, elements=4).state(pressure=60.0, closed_ends=True)["turn"]
    return [
        CROSS_PLY.near(
            "a cross-ply wall feels no twist under pressure",
            "rad/m",
            0.0,
            turn * 1e3,
            within=1e-12,
            relative=False,
        )
    ]


def long_tube_checks() -> list[Check]:
    """Check angle plies at the middle of a long tube loaded at its end."""
    layers, height = angle_ply_layers(), 10.0
    tube = long_tube(layers, 1200.0)
    points = np.array([[200.0, 250.0], [height, height]])
    cases: tuple[tuple[str, dict[str, float], TubeSolution], ...] = (
        (
            "60 MPa outside, closed ends",
            {"pressure": 60.0},
            solve_tube(layers, outer_pressure=60.0, closed_ends=True),
        ),
        ("cooled by 150 K", {"temperature": -150.0}, solve_tube(layers, dT=-150.0)),
        ("torque of 10 kN m", {"torque": 1e7}, solve_tube(layers, torque=1e7)),
        ("axial force of 1 MN", {"force": 1e6}, solve_tube(layers, axial_force=1e6)),
    )
    checks = []
    for case, weights, exact in cases:
        u = tube.motion(weights, points)
        faces = exact.face_displacement
        values = (
            ("axial strain", "1", exact.axial_strain, u[2, 0] / height),
            ("twist", "rad/m", exact.twist * 1e3, u[1, 0] / height / 200.0 * 1e3),
            ("displacement of the bore", "mm", faces[0], u[0, 0]),
            ("displacement of the outside", "mm", faces[-1], u[0, 1]),
        )
        checks += [
            # What the even traction on the end face leaves at mid-length, 24 wall thicknesses
            # away, is below a millionth.
            LONG.near(f"{case}, {name}", unit, published, ours, within=1e-6)
            for name, unit, published, ours in values
        ]
    return checks


def bonded_tube_checks() -> list[Check]:
    """Check metal, adhesive and hoop plies bonded to each other."""
    tube = slice_tube(bonded_layers(), elements=16)
    checks = []
    for case, state, strain, rows in (
        (
            "cooled by 100 K",
            tube.state(dT=-100.0),
            "-1.907995e-3",
            _BONDED_COOLED,
        ),
        (
            "60 MPa outside, closed ends",
            tube.state(pressure=60.0, closed_ends=True),
            "-6.347572e-3",
            _BONDED_PRESSED,
        ),
    ):
        checks.append(BONDED.check(f"{case}, axial strain", "1", strain, state["stretch"]))
        checks += [
            BONDED.check(f"{case}, {name}", "MPa", printed, tube.stress(state, r, layer)[component])
            for name, r, layer, component, printed in rows
        ]
    return checks
