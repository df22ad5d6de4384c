"""A study of 10,000 points over constants, ply angle, temperature and depth, by a reduced model.

    OPENBLAS_NUM_THREADS=1 python benchmarks/reduced_model.py [CASE.yaml]

Prints the size of the basis, the seconds of setting up and of the study on two threads, and the
worst of true error over estimated error among 50 points that are solved in full.
"""

from __future__ import annotations

import sys
import time
from pathlib import Path

import numpy as np

from geometry.case import Case, read_case
from geometry.forms import draw_section
from geometry.mesh import mesh_section
from post.reduced_joint import set_up, study
from post.reduced_points import Place, points_of_fields, set_at
from post.study.headline_names import headline_names
from post.study.measure import measure
from post.study.models import DEGREE, LIGHT
from solve.answer import solve

POINTS = 10_000
CHECKED = 50
THREADS = 2


def bounds_of(case: Case) -> dict[Place, tuple[float, float]]:
    """Choose what varies: shares of the cards' constants, an angle, temperature, depth."""
    ply, ring, paste = case.wall.layup[0].ply, case.ring.material, case.joint.adhesive
    shares = {(paste, "E"): 0.3, (paste, "nu"): 0.05, (ring, "E"): 0.05, (ply, "E1"): 0.1}
    shares |= {(ply, name): 0.2 for name in ("E2", "G12", "G23", "nu23", "nu12")}
    found: dict[Place, tuple[float, float]] = {}
    for (card, name), share in shares.items():
        value = getattr(case.materials[card].elastic, name, None)
        if value is not None:
            place = ("materials", card, "elastic", name, "value")
            found[place] = value.value * (1 - share), value.value * (1 + share)
    last = len(case.wall.layup[0].angles) - 1
    found["wall", "layup", 0, "angles", last] = 0.0, 20.0
    found["duty", "service_temperature"] = 273.15, 293.15
    found["duty", "depth"] = 1000.0, 4000.0
    return found


def main(path: Path) -> None:
    """Set up, study, check."""
    case = read_case(path)
    mesh = mesh_section(draw_section(case), LIGHT)
    bounds = bounds_of(case)
    clock = time.perf_counter
    start = clock()
    joint = set_up(case, bounds, mesh, DEGREE)
    ready = clock()
    draw = np.random.default_rng(1)
    fields = {place: draw.uniform(*ends, POINTS) for place, ends in bounds.items()}
    begun, busy = clock(), time.process_time()
    studied = study(joint, points_of_fields(case, fields), THREADS)
    done, busy = clock(), time.process_time() - busy

    numbers, worst, largest, compared = studied.numbers, (0.0, ""), (0.0, ""), 0
    for row in draw.choice(POINTS, CHECKED, replace=False):
        one = case
        for place, values in fields.items():
            one = set_at(one, place, float(values[row]))
        exact = measure(solve(one, mesh, DEGREE), headline_names(one, "bonds"), "bonds")
        for name, column in numbers.values.items():
            value, found = exact.get(name), float(column[row])
            if not isinstance(value, float) or value == found or np.isnan(value):
                continue
            compared += 1
            worst = max(worst, (abs(found - value) / float(numbers.errors[name][row]), name))
            if name.endswith("pressure") and np.isfinite(value):
                largest = max(largest, (abs(found / value - 1), name))
    print(f"unknowns {joint.basis.model.size}, variables {len(bounds)}, basis {joint.basis.size}")
    print(f"measured ratio {joint.ratio:.1f}")
    print(f"set-up {ready - start:.0f} s")
    print(f"{POINTS} points {done - begun:.1f} s on {THREADS} threads")
    print(f"  {busy:.1f} s of processor time, {studied.full.sum()} points solved in full")
    print(
        f"estimate: median {np.median(numbers.estimate):.1e}, largest {numbers.estimate.max():.1e}"
    )
    print(f"{CHECKED} points in full, {compared} numbers compared:")
    print(f"  worst true over estimated error {worst[0]:.3f} ({worst[1]})")
    print(f"  largest error of a pressure {largest[0]:.1e} of it ({largest[1]})")


if __name__ == "__main__":
    main(Path(sys.argv[1] if len(sys.argv) > 1 else "cases/lander/case.yaml"))
