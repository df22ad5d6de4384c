"""Buckling of cylinders under outside pressure against numbers recomputed from the formulas.

The allowed difference is that of a closed form. How far the formulas lie above three-dimensional
elasticity is a property of the formulas and no check of ours; `shell_buckling.cautions` has it.
"""

from __future__ import annotations

from itertools import pairwise

import numpy as np

from solve.check import Check, Reference
from solve.cited_materials import CARBON_EPOXY, isotropic
from solve.exact_tube import TubeLayer
from solve.laminate import ply_material
from solve.shell_buckling import (
    long_tube_buckling,
    orthotropic_buckling,
    orthotropic_pressures,
    oval_ring_yield,
    von_mises_buckling,
    windenburg_trilling,
)

WITHIN = 1e-5
_TOPIC = "Buckling of a cylinder"
WINDENBURG = Reference(_TOPIC, "Windenburg & Trilling, Trans. ASME 56 (1934) 819-825", "recomputed")
VON_MISES = Reference(_TOPIC, "von Mises 1929, translated as EMB Rep. 309", "recomputed")
SP_8007 = Reference(_TOPIC, "NASA SP-8007, 1968", "recomputed")
TIMOSHENKO = Reference(
    "Collapse of an oval ring",
    "Timoshenko & Gere, Theory of Elastic Stability, 1961, art. 7.5",
    "recomputed",
)

# E MPa, nu, R, t, L mm: Windenburg & Trilling, von Mises (n), SP-8007 (n), MPa
ISOTROPIC = (
    ((207e3, 0.3, 203.2, 1.27, 406.4), 0.301089, (0.299808, 7), (0.303231, 7)),
    ((71e3, 0.33, 150.0, 3.0, 450.0), 1.287555, (1.260920, 4), (1.291270, 4)),
    ((113.8e3, 0.342, 200.0, 10.0, 600.0), 20.909208, (20.847142, 3), (21.362260, 3)),
    ((113.8e3, 0.342, 200.0, 30.0, 600.0), None, (374.42, 3), (380.75, 2)),
)
# angles, R, t, L mm: SP-8007, MPa, and n
LAMINATES = (
    ((90, 0, 90), 150.0, 9.0, 450.0, 21.7739, 3),
    ((55, -55), 175.0, 10.0, 500.0, 13.3839, 3),
    ((90, 30, -30, 90, 90, -30, 30, 90), 150.0, 8.0, 600.0, 10.8080, 3),
)
AROUND = {2: 24.34681, 3: 21.77386, 4: 35.33369, 5: 54.78851, 6: 78.94452}


def tube(E: float, nu: float, radius: float, thickness: float) -> tuple[TubeLayer, ...]:
    """Make an isotropic tube of a mid radius."""
    return (TubeLayer(radius - thickness / 2, radius + thickness / 2, isotropic(E, nu)),)


def laminate(angles: tuple[float, ...], radius: float, thickness: float) -> tuple[TubeLayer, ...]:
    """Make a tube of equal plies of a mid radius."""
    faces = np.linspace(radius - thickness / 2, radius + thickness / 2, len(angles) + 1)
    return tuple(
        TubeLayer(float(inner), float(outer), ply_material(CARBON_EPOXY, angle))
        for (inner, outer), angle in zip(pairwise(faces), angles, strict=True)
    )


def shell_buckling_checks() -> list[Check]:
    """Check isotropic tubes, laminates and the oval ring."""
    return [*_isotropic(), *_laminates(), *_oval_ring()]


def _isotropic() -> list[Check]:
    checks = []
    for (E, nu, R, t, L), simple, (mises, n), (orthotropic, n_orthotropic) in ISOTROPIC:
        what = f"E {E / 1e3:g} GPa, nu {nu:g}, R {R:g}, t {t:g}, L {L:g} mm"
        if simple is not None:
            ours = windenburg_trilling(E, nu, t, R, L)
            checks.append(WINDENBURG.near(what, "MPa", simple, ours, within=WITHIN))
        for reference, wanted, waves, found in (
            (VON_MISES, mises, n, von_mises_buckling(E, nu, t, R, L)),
            (SP_8007, orthotropic, n_orthotropic, orthotropic_buckling(tube(E, nu, R, t), L)),
        ):
            ours = found.pressure if found.around == waves else float("nan")
            checks.append(
                reference.near(f"{what}, {waves} waves", "MPa", wanted, ours, within=WITHIN)
            )
    E, nu, R, t, L = 71e3, 0.33, 150.0, 3.0, 15000.0
    what = f"E 71 GPa, nu 0.33, R {R:g}, t {t:g} mm, lateral pressure, L = 100 R"
    shell = orthotropic_buckling(tube(E, nu, R, t), L, lateral=True).pressure
    ours = von_mises_buckling(E, nu, t, R, L, lateral=True).pressure
    return checks + [
        VON_MISES.check(what, "MPa", "0.159487", ours),
        SP_8007.check(f"{what}: a third above the long tube", "MPa", "0.212598", shell),
        VON_MISES.check("the same without end", "MPa", "0.159354", long_tube_buckling(E, nu, t, R)),
    ]


def _laminates() -> list[Check]:
    checks = []
    for angles, R, t, L, wanted, n in LAMINATES:
        found = orthotropic_buckling(laminate(angles, R, t), L)
        ours = found.pressure if found.around == n else float("nan")
        what = f"[{'/'.join(map(str, angles))}], R {R:g}, t {t:g}, L {L:g} mm, {n} waves"
        checks.append(SP_8007.near(what, "MPa", wanted, ours, within=WITHIN))
    pressures = orthotropic_pressures(laminate((90, 0, 90), 150.0, 9.0), 450.0, 1, list(AROUND))
    return checks + [
        SP_8007.near(
            f"[90/0/90], R 150, t 9, L 450 mm, at {n} waves", "MPa", wanted, ours, within=WITHIN
        )
        for (n, wanted), ours in zip(AROUND.items(), pressures, strict=True)
    ]


def _oval_ring() -> list[Check]:
    # 276 MPa, E 210 GPa, nu 0.3, R / t = 50, w / t = 0.1: the fibre's stress met by bisection of
    # p R / t + 6 p R w / (t^2 (1 - p / p_c)) = 276, with p_c = E / (4 (1 - nu^2)) (t / R)^3
    critical = long_tube_buckling(210e3, 0.3, 1.0, 50.0)
    return [
        TIMOSHENKO.check(
            "276 MPa, E 210 GPa, nu 0.3, R/t 50, out of round by t/10",
            "MPa",
            "0.437690",
            oval_ring_yield(276.0, critical, 1.0, 50.0, 0.1),
        )
    ]
