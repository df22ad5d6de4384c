"""Published numbers of voids and particles against Mori-Tanaka, and pores under pressure."""

from __future__ import annotations

import math

from solve.check import Check, Reference
from solve.micromechanics import (
    VOID,
    PlyConstants,
    Solid,
    crushing_pressure,
    first_yield_at_a_pore,
    with_pores_along,
    with_spheres,
)
from solve.thick_wall_formulas import lame_sphere

_TOPIC = "Voids and particles"
MORI_TANAKA = Reference(
    _TOPIC,
    "Mori & Tanaka, Acta Metall. 21 (1973) 571-574; Benveniste, Mech. Mater. 6 (1987) 147-157",
    "recomputed",
)
MACKENZIE = Reference(_TOPIC, "Mackenzie, Proc. Phys. Soc. B 63 (1950) 2-11", "recomputed")
LEVIN = Reference(_TOPIC, "Levin, Mech. Solids 2 (1967) 58-61", "recomputed")
KIRSCH = Reference(_TOPIC, "Kirsch 1898: a round hole in a plate", "recomputed")
HASHIN_ROSEN = Reference(
    _TOPIC, "Hashin & Rosen, J. Appl. Mech. 31 (1964) 223-232: bulk modulus", "recomputed"
)
HOLLOW_SPHERE = Reference(
    "Pore under pressure", "Timoshenko & Goodier, Theory of Elasticity: thick sphere", "recomputed"
)
HILL = Reference(
    "Pore under pressure", "Hill, The Mathematical Theory of Plasticity, 1950", "recomputed"
)

EPOXY = Solid(3.0, 0.35, 60e-6)  # GPa
GLASS = Solid(73.0, 0.22, 5e-6)
# share: K, G, E in GPa, nu
VOIDS = {
    0.01: ("3.22738", "1.09065", "2.94070", ".34814"),
    0.02: ("3.12600", "1.07054", "2.88255", ".34631"),
    0.05: ("2.84644", "1.01218", "2.71475", ".34104"),
    0.10: ("2.44898", ".92105", "2.45534", ".33290"),
    0.20: ("1.83908", ".75881", "2.00119", ".31864"),
}
PARTICLES = {
    0.10: ("3.80537", "1.35587", "3.63580", ".34076"),
    0.20: ("4.38002", "1.65604", "4.41206", ".33211"),
    0.30: ("5.09482", "2.03282", "5.38258", ".32392"),
}
ISOTROPIC_PLY = PlyConstants(3.0, 3.0, 3.0 / 2.7, 0.35, 0.35)
DILUTE = 1e-7


def micromechanics_checks() -> list[Check]:
    """Check moduli and expansion with voids and particles, and the pressures on a pore."""
    rows = []
    for what, kind, printed in (("voids", VOID, VOIDS), ("glass", GLASS, PARTICLES)):
        for share, values in printed.items():
            made = with_spheres(EPOXY, [(share, kind)])
            ours = (made.bulk, made.shear, made.E, made.nu)
            for name, unit, text, mine in zip(
                ("K", "G", "E", "nu"), ("GPa", "GPa", "GPa", "1"), values, ours, strict=True
            ):
                claim = f"{name} with {100 * share:g} % {what}"
                rows.append(MORI_TANAKA.check(claim, unit, text, mine))
    few = with_spheres(EPOXY, [(DILUTE, VOID)])
    rows += [
        # the slopes of a dilute dispersion, exact for few voids
        MACKENZIE.near(
            f"loss of {name} for each share of voids, dilute",
            "1",
            slope,
            (1 - mine / whole) / DILUTE,
            within=1e-5,
        )
        for name, slope, mine, whole in (
            ("K", 1 + 3 * EPOXY.bulk / (4 * EPOXY.shear), few.bulk, EPOXY.bulk),
            (
                "G",
                5 * (3 * EPOXY.bulk + 4 * EPOXY.shear) / (9 * EPOXY.bulk + 8 * EPOXY.shear),
                few.shear,
                EPOXY.shear,
            ),
        )
    ]
    glassy = with_spheres(EPOXY, [(0.2, GLASS)])
    levin = EPOXY.cte + (GLASS.cte - EPOXY.cte) * (1 / glassy.bulk - 1 / EPOXY.bulk) / (
        1 / GLASS.bulk - 1 / EPOXY.bulk
    )
    rows.append(
        LEVIN.near(
            "expansion with 20 % glass", "1e-6/K", 1e6 * levin, 1e6 * glassy.cte, within=1e-9
        )
    )
    return [*rows, *_pores_along(), *_pressures()]


def _pores_along() -> list[Check]:
    holed = with_pores_along(ISOTROPIC_PLY, DILUTE)
    E, nu, f = 3.0, 0.35, 0.1
    plane = (1 - nu**2) / E

    def bulk(ply: PlyConstants) -> float:
        return 1 / (2 * (1 - ply.nu23) / ply.E2 - 4 * ply.nu12**2 / ply.E1)

    compliance = (1 / bulk(holed) + 1 / holed.G23) / 4
    k, m = bulk(ISOTROPIC_PLY), ISOTROPIC_PLY.G23
    assemblage = k - f / (1 / k - (1 - f) / (k + m))
    tenth = with_pores_along(ISOTROPIC_PLY, f)
    return [
        # in plane strain a few round holes add three times their share to the compliance
        KIRSCH.near(
            "compliance gained across few round pores, over their share",
            "1",
            3.0,
            (compliance / plane - 1) / DILUTE,
            within=1e-5,
        ),
        HASHIN_ROSEN.near(
            "bulk modulus across 10 % round pores", "GPa", assemblage, bulk(tenth), within=1e-12
        ),
    ]


def _pressures() -> list[Check]:
    share, crushed = 0.02, crushing_pressure(1.0, 0.02)
    inner = share ** (1 / 3)
    wall = lame_sphere(inner, inner, 1.0, 3000.0, 0.35, outer_pressure=1.0)
    # s_tt - s_rr = Y throughout, so dp/dr = 2 Y / r from the pore to the outside
    steps = 20000
    radii = [inner + (1 - inner) * (i + 0.5) / steps for i in range(steps)]
    limit = math.fsum(2 / r for r in radii) * (1 - inner) / steps
    return [
        HOLLOW_SPHERE.near(
            "pressure of first yield, 2 % void, over the yield stress",
            "1",
            1 / abs(wall.hoop - wall.radial),
            first_yield_at_a_pore(1.0, share),
            within=1e-12,
        ),
        HILL.near(
            "crushing pressure, 2 % void, over the yield stress", "1", limit, crushed, within=1e-7
        ),
    ]
