"""Made-up ladders for the tests of what is shown of them."""

from __future__ import annotations

import math

import numpy as np

from post.ladder import Rung

DUTY, REQUIRED = 3000.0, 1.5
UNKNOWN = math.nan


def rung(mode="peel and shear", part="inner bond", depth=4200.0, error=20.0, **others) -> Rung:
    """Give a rung at a depth, m, with a numerical error in m; its verdict follows the rules."""
    ratio, ratio_error = depth / DUTY, error / DUTY
    if math.isnan(depth):
        verdict, why = "not judged", "no strength is given"
    elif ratio - ratio_error < REQUIRED:
        verdict, why = "short", f"first reached at {ratio:.2f} of the duty depth"
    else:
        verdict, why = "holds", f"first reached at {ratio:.2f} of the duty depth"
    values = {
        "mode": mode,
        "part": part,
        "pressure": depth / 99.0,
        "error": error / 99.0,
        "depth": depth,
        "ratio": ratio,
        "ratio_error": ratio_error,
        "r": 150.25,
        "z": 288.5,
        "layer": "",
        "angle": UNKNOWN,
        "strength": "peel 35 MPa, shear 30 MPa",
        "source": "quadratic in peel and shear; common practice, no published source",
        "verdict": verdict,
        "why": why,
    }
    return Rung(**(values | others))


def unconverged(depth=5000.0, error=900.0, mode="Tsai-Wu", part="wall") -> Rung:
    why = "not converged: the numerical error is 18.0 %, the target 1 %"
    return rung(mode, part, depth, error, verdict="not judged", why=why)


def beyond(mode="yield", part="ring") -> Rung:
    return rung(mode, part, math.inf, 0.0, pressure=180.0, why="not reached in any sea")


def unjudged(mode="fibre kinking", part="wall") -> Rung:
    why = "the card of the ply states no shear curve, and the wall no waviness"
    return rung(mode, part, UNKNOWN, 0.0, pressure=UNKNOWN, r=UNKNOWN, z=UNKNOWN, why=why)


def cooled() -> Rung:
    return rung("largest tension", "end bond", 0.0, 0.0, why="the temperature change alone")


TYPICAL = [
    rung(),
    rung("yield of the adhesive", "end bond", 2310.0, 30.0, z=301.0),
    rung("between the fibres (Puck): compression and shear", "wall", 6100.0, 55.0,
         layer="layer 1", angle=-55.0),
    rung("elastic buckling", "head", 9400.0, 0.0, r=UNKNOWN, z=UNKNOWN),
    unconverged(),
    beyond(),
    unjudged(),
    unjudged("between the plies"),
]  # fmt: skip
HOLDING = [rung(depth=5200.0), rung("yield", "ring", 8000.0, 40.0), beyond("yield", "head")]
FEW = [rung(depth=4530.0, error=12.0), cooled(), beyond()]
PARTS = ("inner bond", "outer bond", "end bond", "wall", "ring")
CROWD = [
    rung(f"made-up mode {i}", PARTS[i % 5], float(depth), 15.0 + 3 * i)
    for i, depth in enumerate(4400 + 900 * np.random.default_rng(3).standard_normal(34))
]
CROWD += [beyond(f"made-up mode {i}", PARTS[i % 5]) for i in range(34, 38)]
CROWD += [unjudged(), unconverged()]
SETS = {"typical": TYPICAL, "holding": HOLDING, "few": FEW, "crowd": CROWD,
        "nothing reached": [beyond(), beyond("yield", "head"), unjudged()],
        "far apart": [rung(depth=310.0 * 10), rung("yield", "ring", 10900.0, 90.0),
                      rung(depth=3101.0, part="end bond")]}  # fmt: skip
