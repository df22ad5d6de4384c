"""Published numbers of shell junctions and bonded laps against the closed forms."""

from __future__ import annotations

from dataclasses import replace
from typing import SupportsFloat

import numpy as np
from scipy.optimize import minimize_scalar

from solve.check import Check, Reference
from solve.goland_reissner import SingleLap
from solve.shear_lag_formulas import (
    double_lap,
    double_lap_peel_ratio,
    tubular_lap_axial,
    tubular_lap_torsion,
    volkersen,
    volkersen_thermal_end,
)
from solve.shell_formulas import Shell, cylinder_hemisphere
from solve.shell_spring import LapStress, Tube, shell_spring_lap

_PLATES_AND_SHELLS = "Timoshenko & Woinowsky-Krieger, Theory of Plates and Shells, 1959"
SHELL_TARGET = Reference(
    "Cylinder and hemisphere", "NAFEMS, The Standard Benchmarks, 1990, LE7", "published"
)
FACTORS = Reference("Cylinder and hemisphere", _PLATES_AND_SHELLS, "value from memory")
JUNCTION = Reference("Cylinder and hemisphere", _PLATES_AND_SHELLS, "recomputed")
VOLKERSEN = Reference("Single lap", "Volkersen, Luftfahrtforschung 15 (1938) 41-47", "recomputed")
GOLAND_REISSNER = Reference(
    "Single lap", "Goland & Reissner, J. Appl. Mech. 11 (1944) A17-A27", "recomputed"
)
DOUBLE_LAP = Reference("Double lap", "Hart-Smith, NASA CR-112235, 1973", "recomputed")
TUBULAR_LAP = Reference("Tubular lap", "Adams & Peppiatt, J. Adhesion 9 (1977) 1-18", "recomputed")
SHELL_SPRING = Reference(
    "Tubular lap",
    "model of Lubkin & Reissner, Trans. ASME 78 (1956) 1213-1221",
    "recomputed",
)

SINGLE_LAP = SingleLap(200.0, 12.7, 1.62, 0.25, 70e3, 0.33, 2.8e3, 1e3)
"""Aluminium-like sheets of 1.62 mm, 25.4 mm overlap, 0.25 mm bond, 200 N/mm."""


def joint_checks() -> list[Check]:
    """Check the head junction and single, double and tubular laps."""
    return [*_junction(), *_volkersen(), *_goland_reissner(), *_double_lap(), *_tubular_lap()]


def tubular_lap() -> LapStress:
    """Two tubes of 2 mm, bond of 0.2 mm at 22.1 mm, overlap 30 mm, 20 kN."""
    tube = Tube(70e3, 0.33, 2.0)
    return shell_spring_lap(20e3, 30.0, 22.1, tube, tube, G=1e3, Ea=2.8e3, eta=0.2)


def _junction() -> list[Check]:
    shell = Shell(E=210e3, nu=0.3, thickness=25.0, radius=1000.0)
    equal = cylinder_hemisphere(shell, shell, 1.0)
    b = shell.beta
    axial = minimize_scalar(lambda x: -equal.axial_stress(x / b), bounds=(0, 2), method="bounded")
    hoop = minimize_scalar(lambda x: -equal.hoop_stress(x / b), bounds=(1, 3), method="bounded")
    sphere_widening = 1.0 * shell.radius**2 * (1 - shell.nu) / (2 * shell.E * shell.thickness)
    checks = [
        FACTORS.check("equal shells, axial peak over p a / 2 h", "1", "1.293", -axial.fun / 20),
        # The published hoop peak and its place are off in their last digit (1.0314 at 1.857).
        FACTORS.check(
            "equal shells, hoop peak over p a / h", "1", "1.032", -hoop.fun / 40, digits=1
        ),
        FACTORS.check("equal shells, beta x of the hoop peak", "1", "1.85", hoop.x, digits=1),
        # The target is the rounded 1.293 times 20 MPa.
        SHELL_TARGET.check(
            "axial stress outside, 96.6 mm from the head",
            "MPa",
            "25.86",
            equal.axial_stress(96.6),
            digits=1,
        ),
        JUNCTION.check("equal shells, axial peak over p a / 2 h", "1", "1.29269", -axial.fun / 20),
        JUNCTION.check("equal shells, beta x of the axial peak", "1", "0.7854", axial.x),
        JUNCTION.check("equal shells, hoop peak over p a / h", "1", "1.03142", -hoop.fun / 40),
        JUNCTION.check("equal shells, beta x of the hoop peak", "1", "1.8574", hoop.x),
        JUNCTION.check("equal shells, beta", "1/m", "8.129628", b * 1e3),
        JUNCTION.check("equal shells, edge shear", "N/m", "15375.858", -equal.shear * 1e3),
        JUNCTION.check(
            "equal shells, largest moment", "N", "609.761", -equal.bending_moment(np.pi / 4 / b)
        ),
        JUNCTION.check("cylinder alone", "m", "1.619048e-4", equal.membrane_widening / 1e3),
        JUNCTION.check("hemisphere alone", "m", "6.666667e-5", sphere_widening / 1e3),
        JUNCTION.check("equal shells, junction", "m", "1.142857e-4", equal.displacement(0) / 1e3),
    ]
    cylinder = Shell(E=113.8e3, nu=0.342, thickness=50.0, radius=225.0)
    hemisphere = replace(cylinder, thickness=30.0)
    unequal = cylinder_hemisphere(cylinder, hemisphere, -60.0)
    return checks + [
        JUNCTION.check("unequal shells, beta of cylinder", "1/m", "12.028145", cylinder.beta * 1e3),
        JUNCTION.check("unequal shells, beta of head", "1/m", "15.528268", hemisphere.beta * 1e3),
        JUNCTION.check("unequal shells, edge shear", "N/m", "249377.94", unequal.shear * 1e3),
        JUNCTION.check("unequal shells, edge moment", "N", "4018.498", unequal.moment),
        JUNCTION.check("unequal shells, junction", "mm", "-0.3788256", unequal.displacement(0)),
    ]


def _volkersen() -> list[Check]:
    balanced = volkersen(200.0, 25.4, 1e3, 0.25, 70e3 * 1.62, 70e3 * 1.62)
    uneven = volkersen(200.0, 25.4, 1e3, 0.25, 70e3 * 1.62, 126e3 * 3)
    thermal = volkersen_thermal_end(23e-6 * -100, 25.4, 1e3, 0.25, 70e3 * 1.62, 126e3 * 3)
    check = VOLKERSEN.check
    return [
        check("balanced, rate w", "1/m", "265.606358", balanced.rate * 1e3),
        check("balanced, w l / 2", "1", "3.373201", balanced.rate * balanced.overlap / 2),
        check("balanced, mean shear", "MPa", "7.8740", balanced.mean),
        check("balanced, end shear", "MPa", "26.6231", balanced.shear(12.7)),
        check("balanced, mid shear", "MPa", "1.8231", balanced.shear(0.0)),
        check("unbalanced, shear at the soft sheet's end", "MPa", "33.0315", uneven.shear(-12.7)),
        check("unbalanced, shear at the other end", "MPa", "10.1699", uneven.shear(12.7)),
        # Cut, not rounded, in the recomputation: 214.1387.
        check("unbalanced, rate w", "1/m", "214.138", uneven.rate * 1e3, digits=1),
        check("unbalanced, end shear on cooling", "MPa", "42.5912", abs(thermal)),
    ]


def _goland_reissner() -> list[Check]:
    lap, check = SINGLE_LAP, GOLAND_REISSNER.check
    end = lap.half_overlap
    return [
        check("bending u2 c", "1", "0.380633", lap.bending_rate),
        check("moment factor k", "1", "0.493232", lap.moment_factor),
        check("shear factor k'", "1", "0.265505", lap.shear_factor),
        check("shear rate beta", "1", "0.860565", lap.shear_rate),
        check("peel rate L", "1", "8.754579", lap.peel_rate),
        check("largest shear", "MPa", "35.9240", lap.shear(end)),
        check("largest peel", "MPa", "42.6382", lap.peel(end)),
        check("edge shear V0", "N/m", "6773.50", lap.edge_shear * 1e3),
        check("edge moment M0", "N", "79.9035", lap.edge_moment),
    ]


def _double_lap() -> list[Check]:
    lap = double_lap(400.0, 25.0, 800.0, 0.2, 70e3 * 2, 70e3 * 4)
    peel = double_lap_peel_ratio(2.2e3, 0.2, 70e3, 0.33, 2.0)
    return [
        DOUBLE_LAP.check("balanced, rate", "1/m", "239.045722", lap.rate * 1e3),
        DOUBLE_LAP.check("balanced, largest shear", "MPa", "24.0262", lap.shear(12.5)),
        DOUBLE_LAP.check("peel over shear at the end", "1", "0.957399", peel),
    ]


def _tubular_lap() -> list[Check]:
    areas = np.pi * np.diff(np.array([[20.0, 22.0], [22.2, 24.2]]) ** 2)[:, 0]
    inertias = np.pi / 2 * np.diff(np.array([[20.0, 22.0], [22.2, 24.2]]) ** 4)[:, 0]
    torsion = tubular_lap_torsion(500e3, 30.0, 22.1, 1e3, 0.2, *(27e3 * inertias))
    axial = tubular_lap_axial(20e3, 30.0, 22.1, 1e3, 0.2, *(70e3 * areas))
    checks = []
    for name, lap, texts in (
        ("torsion", torsion, ("433.08478", "5.43106", "40.50845", "30.05511")),
        ("axial force", axial, ("267.59292", "4.80105", "20.24206", "18.32494")),
    ):
        rows: tuple[tuple[str, str, SupportsFloat], ...] = (
            ("rate w", "1/m", lap.rate * 1e3),
            ("mean shear", "MPa", lap.mean),
            ("shear where the inner tube is loaded", "MPa", lap.shear(-15.0)),
            ("shear where the outer tube is loaded", "MPa", lap.shear(15.0)),
        )
        checks += [
            TUBULAR_LAP.check(f"{name}, {claim}", unit, printed, ours)
            for (claim, unit, ours), printed in zip(rows, texts, strict=True)
        ]

    bond = tubular_lap()
    shear = bond.shear / axial.mean
    return checks + [
        SHELL_SPRING.check("shells, shear over mean, inner tube's end", "1", "3.5316", shear[0]),
        SHELL_SPRING.check("shells, shear over mean, outer tube's end", "1", "3.1499", shear[-1]),
        SHELL_SPRING.check("shells, peel, inner tube's end", "MPa", "14.224", bond.peel[0]),
        SHELL_SPRING.check("shells, peel, outer tube's end", "MPa", "7.831", bond.peel[-1]),
    ]
