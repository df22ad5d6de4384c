"""Sea depth, pressure and density against published values and the trade's rule of thumb."""

from __future__ import annotations

from geometry.seawater import TONNE_PER_MM3, density_at, depth_at, pressure_at
from solve.check import Check, Reference

_TOPIC = "Sea depth and pressure"
UNESCO = Reference(_TOPIC, "Fofonoff & Millard, Unesco Tech. Pap. Mar. Sci. 44, 1983", "published")
TOOLBOX = Reference(_TOPIC, "TEOS-10 toolbox, check value of p_from_z", "published")
TEOS_10 = Reference(
    _TOPIC,
    "IOC, SCOR & IAPSO, The international thermodynamic equation of seawater, 2010",
    "recomputed",
)
PRACTICE = Reference(_TOPIC, "common practice, no published source", "common practice")

PSI = 0.45359237 * 9.80665 / 25.4**2  # MPa


def sea_checks() -> list[Check]:
    """Check depth, gauge pressure and density."""
    densities = {0: "1028.10702", 20: "1037.42036", 40: "1046.31497", 100: "1070.63328"}
    table = {1000: "10.10637", 3000: "30.46392", 6000: "61.34981", 10935: "113.01614"}
    return [
        # Another equation of state and another gravity formula: 1.1 parts in 10,000 apart.
        UNESCO.near(
            "depth of 10,000 dbar at 30 degrees", "m", 9712.653, depth_at(100, 30), within=1.5e-4
        ),
        # Releases of the toolbox differ in the seventh digit.
        TOOLBOX.near(
            "pressure at 10 m and 4 degrees",
            "dbar",
            10.0557267,
            pressure_at(10, 4) * 100,
            within=1e-6,
        ),
        *(
            TEOS_10.near(
                f"gauge pressure at {depth:,} m and 45 degrees",
                "MPa",
                float(printed),
                pressure_at(depth, 45),
                within=1e-6,
            )
            for depth, printed in table.items()
        ),
        *(
            TEOS_10.check(
                f"density of the standard ocean, 0 degC, at {pressure} MPa",
                "kg/m^3",
                printed,
                density_at(pressure) / TONNE_PER_MM3,
            )
            for pressure, printed in densities.items()
        ),
        # 'About' is taken as 2 %.
        PRACTICE.near(
            "4,000 m are about 6,000 psi", "psi", 6000, pressure_at(4000, 45) / PSI, within=0.02
        ),
    ]
