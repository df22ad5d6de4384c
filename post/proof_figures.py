"""Pictures of a proof test: every gauge over pressure, and emission dive by dive."""

from __future__ import annotations

import math
from collections.abc import Sequence
from io import BytesIO

import matplotlib
import numpy as np
from matplotlib.figure import Figure
from matplotlib.ticker import MaxNLocator

from post.colours import INK, QUIET, SEA
from post.gauge_strains import Prediction
from post.proof_acoustic import Emission, Felicity
from post.proof_read import Measured
from post.sheet import NO_STAMP, STYLE

MICRO = 1e6
COLUMNS = 3
WIDTH, HEIGHT = 9.4, 2.15  # inches, of the page and of one row of pictures
BAND = "#c9dbe9"
BAD = "#b3400e"
MARK = " \u25c0"


def svg(figure: Figure) -> bytes:
    """Write a figure as the bytes of an SVG file."""
    stream = BytesIO()
    with matplotlib.rc_context(STYLE):
        figure.savefig(stream, format="svg", metadata=NO_STAMP)
    return stream.getvalue()


def plot_gauges(
    predictions: Sequence[Prediction],
    full: float,
    slope_band: float,
    measured: Measured | None,
    named: Sequence[str] = (),
) -> Figure:
    """Plot strain against pressure, a picture for each gauge.

    Parameters
    ----------
    predictions : sequence of Prediction
    full : float
        Pressure of the test, MPa.
    slope_band : float
        What the project allows a slope, drawn with the prediction's own uncertainty.
    measured : Measured or None
    named : sequence of str
        Gauges that a finding names: their titles stand out.
    """
    rows = math.ceil(len(predictions) / COLUMNS)
    with matplotlib.rc_context(STYLE):
        figure = Figure(figsize=(WIDTH, HEIGHT * rows + 0.5), layout="constrained")
        axes = figure.subplots(rows, COLUMNS, squeeze=False)
        pressure = np.array([0.0, full])
        for ax, one in zip(axes.flat, predictions, strict=False):
            wide = 1 + np.array([-1, 1]) * (slope_band + one.uncertainty)
            low, high = (MICRO * one.per_MPa * factor * pressure for factor in wide)
            ax.fill_between(pressure, low, high, color=BAND, lw=0, label="allowed")
            ax.plot(pressure, MICRO * one.per_MPa * pressure, color=SEA, lw=1, label="predicted")
            if measured is not None and one.name in measured.strains:
                _dives(ax, measured, one.name)
            mark = one.name in named
            ax.set_title(one.name + MARK * mark, color=BAD if mark else INK)
            ax.yaxis.set_major_locator(MaxNLocator(4))
        for ax in list(axes.flat)[len(predictions) :]:
            ax.remove()
        figure.supxlabel("pressure, MPa")
        figure.supylabel("strain, microstrain")
        handles, labels = axes.flat[0].get_legend_handles_labels()
        figure.legend(handles, labels, loc="outside upper right", ncols=6, frameon=False)
    return figure


def _dives(ax: matplotlib.axes.Axes, measured: Measured, name: str) -> None:
    """Draw the dives of a gauge, early ones pale, the last one in ink."""
    strain, last = MICRO * measured.strains[name], len(measured.dives) - 1
    for number, dive in enumerate(measured.dives):
        rows = slice(dive.first, dive.last + 1)
        ax.plot(
            measured.pressure[rows],
            strain[rows],
            color=INK if number == last else QUIET,
            lw=0.9 if number == last else 0.6,
            alpha=1.0 if number == last else 0.55,
            label={last: "last dive", 0: "dives before"}.get(number),
        )


def plot_emission(
    dives: Sequence[Emission], ratios: Sequence[Felicity], limit: float, onset_hits: int
) -> Figure:
    """Plot hits over pressure by dive, and the Felicity ratio from dive to dive."""
    with matplotlib.rc_context(STYLE):
        figure = Figure(figsize=(WIDTH, 2.9), layout="constrained")
        left, right = figure.subplots(1, 2)
        shades = np.linspace(0.35, 1.0, len(dives))
        for dive, ratio, shade in zip(dives, ratios, shades, strict=True):
            (line,) = left.step(
                dive.pressure, dive.hits, where="post", color=SEA, alpha=float(shade), lw=1.2
            )
            left.annotate(
                f"{ratio.dive}",
                (dive.pressure[-1], dive.hits[-1]),
                xytext=(3, 0),
                textcoords="offset points",
                va="center",
                color=line.get_color(),
            )
        left.axhline(onset_hits, color=QUIET, lw=0.7, ls="--")
        left.set_yscale("symlog", linthresh=onset_hits)
        left.set_ylim(bottom=0)
        left.set_title("Hits of each dive")
        left.set(xlabel="pressure, MPa", ylabel=f"hits (onset at {onset_hits})")
        known = [one for one in ratios if np.isfinite(one.ratio)]
        for bound, marker, words in ((False, "o", "onset"), (True, "^", "no onset: at least")):
            own = [one for one in known if one.bound is bound]
            if own:
                at, value = [one.dive for one in own], [one.ratio for one in own]
                face = "none" if bound else SEA
                right.plot(at, value, marker, mfc=face, mec=SEA, label=words)
        right.axhline(1, color=QUIET, lw=0.7)
        right.axhline(limit, color=BAD, lw=1, ls="--", label="project's limit")
        right.xaxis.set_major_locator(MaxNLocator(integer=True))
        right.set_title("Felicity ratio")
        right.set(xlabel="dive", ylabel="onset over load before")
        right.legend(frameon=False)
    return figure
