"""Seconds to judge every ply of a 600-ply wall at 2000 points each.

    python benchmarks/criteria.py [POINTS]

The wall is cross-ply under pressure, with thermal stresses from its cure: of the plies' stresses
the shape is that of a thick tube, rising towards one end, with scatter; a second wall has all
points alike, which leaves a search nothing to pass over. Last, the load factor of every point is
found, not only the least, at every hundredth point.
"""

from __future__ import annotations

import sys
import time

import numpy as np

from post.criteria import HASHIN, KINKING, MAXIMUM_STRESS, PUCK, TSAI_WU
from post.criteria.kinking import KinkStrength
from post.criteria.least import least_multiplier
from post.criteria.multiplier import Array
from post.criteria.puck import PuckStrength
from post.criteria.strengths import PlyStrength

PLIES, POINTS = 600, 2000
THIN = 100
PLY = PlyStrength.transverse(1950, 1480, 48, 200, 79)
JUDGED = (
    (MAXIMUM_STRESS, PLY),
    (TSAI_WU, PLY),
    (HASHIN, PLY),
    (PUCK, PuckStrength(48, 200, 79, 0.35, 0.30)),
    (KINKING, KinkStrength(6600, 70, 5, 1.5)),
)


def wall_stresses(points: int, scatter: float) -> tuple[Array, Array]:
    """Thermal part, and part of 1 MPa of pressure, of every ply: (6, PLIES, points), MPa."""
    generator = np.random.default_rng(1)
    shape = (PLIES, points)
    hoop = (np.arange(PLIES) % 3 > 0)[:, None]  # two hoop plies to one axial ply
    depth = np.linspace(0, 1, PLIES)[:, None]
    end = np.exp(-np.linspace(0, 8, points))
    fibre = np.where(hoop, -11.0 - 2 * (1 - depth), -9.0) * (1 - 0.3 * end)
    across = np.where(hoop, -0.8, -1.0) * (1 + 0.4 * end)
    radial = -depth * (1 + 0.2 * end)
    shear = 0.9 * end * (depth * (1 - depth))
    zero = np.zeros(shape)
    unit = np.stack(
        [fibre + zero, across + zero, radial + zero, zero, shear * ~hoop + zero, shear + zero]
    )
    cold = np.stack([zero - 25, zero + 22, zero, zero, zero, zero])
    noise = 1 + scatter * generator.standard_normal((6, *shape))
    return cold * (2 - noise), unit * noise


def main() -> None:
    """Print the seconds of each criterion."""
    points = int(sys.argv[1]) if len(sys.argv) > 1 else POINTS
    for title, scatter in (("scattered", 0.05), ("all but alike", 1e-6)):
        thermal, unit = wall_stresses(points, scatter)
        print(f"{title}: {PLIES} plies, {points} points")
        total = 0.0
        for criterion, strength in JUDGED:
            wall, own = time.perf_counter(), time.process_time()
            found = least_multiplier(criterion, thermal, unit, strength)
            wall, own = time.perf_counter() - wall, time.process_time() - own
            total += own
            first = min(found, key=lambda least: least.multiplier)
            print(
                f"  least  {criterion.name:16} {wall:7.3f} s ({own:.3f} s of processor)"
                f"  {first.multiplier:9.4f} MPa, {first.mode}"
            )
        print(f"  least, together {total:.3f} s of processor")
        for criterion, strength in JUDGED:
            wall, own = time.perf_counter(), time.process_time()
            criterion.multipliers(thermal[..., ::THIN], unit[..., ::THIN], strength)
            wall, own = time.perf_counter() - wall, time.process_time() - own
            print(f"  1/{THIN}  {criterion.name:16} {wall:7.3f} s ({own:.3f} s of processor)")


if __name__ == "__main__":
    main()
