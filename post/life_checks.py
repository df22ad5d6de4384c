"""Growth over dives and the sum of dives against closed forms and hand arithmetic."""

from __future__ import annotations

import numpy as np

from post.growth import GrowthLaw, grow
from post.life import dives_to_failure, miner_damage
from solve.check import Check, Reference

PARIS = Reference(
    "Growth of a disbond over dives",
    "power law of Paris & Erdogan, J. Basic Eng. 85 (1963) 528, integrated by hand",
    "recomputed",
)
MINER = Reference(
    "Dives to several depths", "M.A. Miner, J. Appl. Mech. 12 (1945) A159-A164", "recomputed"
)
PRACTICE = Reference(
    "Dives to several depths", "common practice, no published source", "common practice"
)

LAW = GrowthLaw(rate=0.01, exponent=4.0, threshold=0.1)
FIRST, LAST = 10.0, 40.0
SAME = 1e-9  # closed forms on both sides


def life_checks() -> list[Check]:
    """Check growth, threshold, stress-life and Miner's sum."""
    a = np.geomspace(FIRST, LAST, 7)
    rising = grow(a, 0.02 * a, LAW)
    even = grow(a, np.full_like(a, 0.3), LAW)
    root = grow(a, 0.3 * (a / FIRST) ** 0.25, LAW)
    falling = grow(a, 0.1 * 25 / a, LAW)
    shares = np.array([0.7, 0.6])
    lives = dives_to_failure(shares, 0.1)
    return [
        # (10^-3 - 40^-3) / (3 * 0.01 * 0.02^4)
        PARIS.near("dives, G as the length", "1", 205078.125, rising.until(LAST), within=SAME),
        # 30 / (0.01 * 0.3^4)
        PARIS.near("dives, G constant", "1", 30 / 8.1e-5, even.until(LAST), within=SAME),
        # the growth goes as the length: 10 ln 4 / (0.01 * 0.3^4)
        PARIS.near(
            "dives, G as the fourth root",
            "1",
            13.862943611198906 / 8.1e-5,
            root.until(LAST),
            within=SAME,
        ),
        # 10 / (3 * 0.01 * 0.02^4 * 10^4) (1 - 20^-3 / 10^-3), read back
        PARIS.near(
            "length after the dives that double it",
            "mm",
            20.0,
            rising.after((1e-3 - 20.0**-3) / 4.8e-9),
            within=SAME,
        ),
        # G falls to the threshold at 25 mm
        PARIS.near(
            "length at which a falling G leaves off growing",
            "mm",
            25.0,
            falling.after(1e12),
            within=SAME,
        ),
        # 1 - 0.1 log10 N
        PRACTICE.near(
            "dives at 0.7 of the strength, a tenth lost a decade",
            "1",
            1000.0,
            lives[0],
            within=SAME,
        ),
        # 200 / 1000 + 3000 / 10000
        MINER.near(
            "damage of 200 dives at 0.7 and 3000 at 0.6",
            "1",
            0.5,
            miner_damage([200, 3000], lives),
            within=SAME,
        ),
    ]
