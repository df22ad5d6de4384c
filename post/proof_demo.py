"""A proof test that never was: measurements made from the predictions with a known truth.

The truth is written into the tables as notes, first among them that they are invented. Strains
follow the predicted slopes with the adhesive at a share of its stiffness, under noise; one gauge
may drift, evenly with time. Emission starts where its Felicity ratio says, with a few stray hits
below.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from geometry.files import written_aside
from post.gauge_strains import Prediction

Floats = NDArray[np.float64]
INVENTED = "invented: made by a program, no such test was run"


@dataclass(frozen=True)
class Truth:
    """What an invented proof test is made of.

    Attributes
    ----------
    stiffness : tuple of float
        Share of the adhesive's stiffness, of each dive.
    peaks : tuple of float
        Highest pressure of each dive over that of the test.
    drift : dict of str to float
        By gauge: strain added from one dive to the next.
    scale : dict of str to float
        By gauge: what its reading is multiplied by.
    bend : dict of str to float
        By gauge: share of its strain at full pressure that a parabola takes off at half of it.
    loop : dict of str to float
        By gauge: how far unloading lies off loading, at the middle, as a share of full strain.
    ratios : tuple of float
        Felicity ratio of every dive but the first.
    noise : float
        Standard deviation of every strain.
    rows : int
        Of each branch.
    seed : int
    """

    stiffness: tuple[float, ...] = (1.0,) * 5
    peaks: tuple[float, ...] = (0.6, 0.8, 1.0, 1.0, 1.0)
    drift: dict[str, float] = field(default_factory=dict)
    scale: dict[str, float] = field(default_factory=dict)
    bend: dict[str, float] = field(default_factory=dict)
    loop: dict[str, float] = field(default_factory=dict)
    ratios: tuple[float, ...] = (1.02, 1.01, 1.0, 1.0)
    noise: float = 1.5e-6
    rows: int = 40
    seed: int = 1


# what the tables that come with the demo are made of
ILL = Truth(
    stiffness=(0.6, 0.57, 0.54, 0.51, 0.48),
    drift={"web-hoop": -14e-6},
    ratios=(0.99, 0.97, 0.93, 0.9),
)


def invent_strains(
    predictions: Sequence[Prediction], full: float, truth: Truth
) -> tuple[Floats, dict[str, Floats]]:
    """Make pressures, MPa, and strains by gauge.

    Parameters
    ----------
    predictions : sequence of Prediction
    full : float
        Pressure of the test, MPa.
    truth : Truth
    """
    random = np.random.default_rng(truth.seed)
    down = np.linspace(0, 1, truth.rows)
    shape = np.concatenate([down, down[-2::-1]])  # down and up, the peak once
    going_up = np.concatenate([np.zeros(truth.rows), np.ones(truth.rows - 1)])
    pressure = np.concatenate([peak * full * shape for peak in truth.peaks])
    back = np.tile(going_up, len(truth.peaks))
    top = np.repeat(truth.peaks, len(shape)) * full
    stiffness = np.repeat(truth.stiffness, len(shape))
    time = np.arange(len(pressure)) / len(shape)  # in dives
    strains = {}
    for one in predictions:
        strain = one.softened(stiffness) * pressure
        whole = one.per_MPa * full
        x = pressure / top
        strain = strain + 4 * truth.bend.get(one.name, 0.0) * whole * x * (x - 1)
        strain = strain + 4 * truth.loop.get(one.name, 0.0) * whole * x * (1 - x) * back
        strain = strain * truth.scale.get(one.name, 1.0) + truth.drift.get(one.name, 0.0) * time
        strains[one.name] = strain + truth.noise * random.standard_normal(len(pressure))
    return pressure + 0.002 * full * random.standard_normal(len(pressure)) * (pressure > 0), strains


def invent_hits(full: float, truth: Truth) -> list[tuple[int, float, int]]:
    """Make rows of dive, pressure in MPa and cumulative hits of the whole test."""
    random = np.random.default_rng(truth.seed + 1000)
    rows, hits, before = [], 0, 0.0
    ratios = (0.4, *truth.ratios)  # a first dive is loud from early on
    for number, (peak, ratio) in enumerate(zip(truth.peaks, ratios, strict=True), 1):
        top = peak * full
        onset = ratio * (before or top)
        stray = np.sort(random.uniform(0, min(onset, top), 4))
        for p in np.linspace(0, top, 4 * truth.rows):
            loud = max(0.0, p - onset) / full
            # ten hits come within 0.2 % of full pressure after the onset
            own = int(np.sum(stray <= p)) + int(6 + 4000 * loud if p >= onset else 0)
            rows.append((number, float(p), hits + own))
        hits, before = rows[-1][2], max(before, top)
    return rows


def write_demo(
    predictions: Sequence[Prediction], full: float, folder: Path, truth: Truth = ILL
) -> None:
    """Write `strain.csv` and `acoustic.csv` of an invented proof test into a folder."""
    pressure, strains = invent_strains(predictions, full, truth)
    notes = [f"# {line}" for line in truth_words(truth)]
    names = list(strains)
    lines = [*notes, ", ".join(["pressure [MPa]", *(f"{name} [microstrain]" for name in names)])]
    for i, p in enumerate(pressure):
        lines.append(", ".join([f"{p:.3f}", *(f"{1e6 * strains[name][i]:.1f}" for name in names)]))
    with written_aside(folder / "strain.csv") as aside:
        aside.write_text("\n".join(lines) + "\n", encoding="utf-8")
    heard = [*notes, "dive, pressure [MPa], hits"]
    heard += [f"{dive}, {p:.3f}, {hits}" for dive, p, hits in invent_hits(full, truth)]
    with written_aside(folder / "acoustic.csv") as aside:
        aside.write_text("\n".join(heard) + "\n", encoding="utf-8")


def truth_words(truth: Truth) -> list[str]:
    """Say what an invented test is made of, first that it is invented."""
    told = [INVENTED]
    shares = ", ".join(f"{100 * share:g}" for share in truth.stiffness)
    told.append(f"truth: the adhesive has {shares} % of its stiffness in the dives in turn")
    told += [
        f"truth: {name} drifts by {1e6 * by:g} microstrain a dive"
        for name, by in truth.drift.items()
    ]
    told += [f"truth: {name} reads {by:g} times the strain" for name, by in truth.scale.items()]
    told.append(f"truth: Felicity ratios {', '.join(f'{one:g}' for one in truth.ratios)}")
    return told
