"""The proof test held against its prediction, gauge by gauge, and what that speaks for.

Formulation
    Of each dive of each gauge, with the strain over pressure of loading and unloading:

    - slope: straight line through loading, least squares, with its standard error s;
      ratio = slope / predicted slope;
    - nonlinearity: largest distance of a cubic through loading from that line, over its span;
    - hysteresis: largest distance of the cubics through loading and unloading at the same pressure,
      over the same span;
    - zero: mean of strain - slope * pressure over the rows of loading below a tenth of its peak.

    Fits average noise out, where a largest single difference would only show it. What noise leaves
    in a bend, a loop or a zero is told as its error: of a cubic through n rows at its ends, where
    it is least sure, 4 sd / sqrt(n), sd the rows' standard deviation about it.
    A gauge is out of band where |ratio - 1| exceeds the project's band, the prediction's own
    uncertainty and 2 s together. Drift is the zero of the last dive less that of the first, over
    the strain predicted at the test's full pressure; a change of slope likewise.
    Softer joint: the share f of the adhesive's stiffness that fits the slopes best,

        minimise over f   sum of x^2 / (1 + x^2),   x = (slope - predicted(f)) / band,

    a sum to which a single bad gauge adds no more than 1. Where two gauges or more that are out of
    band come into it at that f, a softer (or stiffer) joint explains them; what is out of band
    still, or was made worse, is named on its own.
Source
    No published method is followed, no standard found covers it: the definitions are the project's.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from geometry.gauges import Proof
from post.gauge_strains import Prediction
from post.proof_read import Dive, Measured

Floats = NDArray[np.float64]

LEAST_ROWS = 8  # of a branch
LOW = 0.1  # of a dive's peak: where its zero is read
APART = 1e-6  # of a dive's peak: pressures nearer than this make no line
SHARES = np.geomspace(0.25, 1.25, 401)  # of the adhesive's stiffness


@dataclass(frozen=True)
class DiveResult:
    """One dive of one gauge; see the module. NaN where there are too few rows.

    Attributes
    ----------
    slope, slope_error : float
        Strain per MPa and its standard error.
    ratio, ratio_error : float
        Over the predicted slope.
    nonlinearity, nonlinearity_error, hysteresis, hysteresis_error : float
        Shares of the strain's span.
    zero, zero_error : float
        Strain at no pressure.
    """

    slope: float
    slope_error: float
    ratio: float
    ratio_error: float
    nonlinearity: float
    nonlinearity_error: float
    hysteresis: float
    hysteresis_error: float
    zero: float
    zero_error: float


@dataclass(frozen=True)
class GaugeResult:
    """A gauge over the whole test.

    Attributes
    ----------
    prediction : Prediction
    dives : tuple of DiveResult
    allowed : float
        How far the ratio may be off 1.
    drift, drift_error : float
        Of the zero from first to last dive, over the strain predicted at full pressure.
    slope_change, slope_change_error : float
        Slope of the last dive over that of the first, less 1.
    """

    prediction: Prediction
    dives: tuple[DiveResult, ...]
    allowed: float
    drift: float
    drift_error: float
    slope_change: float
    slope_change_error: float

    @property
    def name(self) -> str:
        """Name of the gauge."""
        return self.prediction.name

    @property
    def last(self) -> DiveResult:
        """Result of the last dive with enough rows."""
        full = [dive for dive in self.dives if np.isfinite(dive.slope)]
        return full[-1] if full else self.dives[-1]

    @property
    def out(self) -> bool:
        """Whether the slope of the last dive is out of band."""
        return abs(self.last.ratio - 1) > self.allowed + 2 * self.last.ratio_error


@dataclass(frozen=True)
class Joint:
    """What the slopes of one dive say of the joint.

    Attributes
    ----------
    share : float
        Of the adhesive's stiffness that fits best.
    explains : tuple of str
        Gauges that are out of band, and in band at that share.
    alone : tuple of str
        Gauges that are out of band whatever the joint does.
    at_bound : bool
        Whether the share is the least or the most that is looked at.
    """

    share: float
    explains: tuple[str, ...]
    alone: tuple[str, ...]
    at_bound: bool

    @property
    def told(self) -> bool:
        """Whether two gauges or more speak for it."""
        return len(self.explains) >= 2


def compare(
    predictions: Sequence[Prediction], measured: Measured, proof: Proof, full_pressure: float
) -> tuple[GaugeResult, ...]:
    """Hold measured strains against predicted ones.

    Parameters
    ----------
    predictions : sequence of Prediction
    measured : Measured
    proof : Proof
        Limits of the project.
    full_pressure : float
        Of the test, MPa.

    Returns
    -------
    tuple of GaugeResult
        Of the gauges that were measured.
    """
    results = []
    for one in predictions:
        if one.name not in measured.strains:
            continue
        strain = measured.strains[one.name]
        dives = tuple(
            _dive(measured.pressure, strain, dive, one.per_MPa) for dive in measured.dives
        )
        full = [dive for dive in dives if np.isfinite(dive.slope)]
        moved = [np.nan] * 4
        if len(full) > 1:
            first, last, whole = full[0], full[-1], abs(one.per_MPa * full_pressure)
            moved = [
                _over(last.zero - first.zero, whole),
                _over(float(np.hypot(last.zero_error, first.zero_error)), whole),
                _over(last.slope, first.slope) - 1,
                _over(float(np.hypot(last.slope_error, first.slope_error)), abs(first.slope)),
            ]
        results.append(GaugeResult(one, dives, proof.slope_band + one.uncertainty, *moved))
    return tuple(results)


def _dive(pressure: Floats, strain: Floats, dive: Dive, predicted: float) -> DiveResult:
    down, up = (_finite(pressure[rows], strain[rows]) for rows in (dive.loading, dive.unloading))
    if len(down[0]) < LEAST_ROWS or np.ptp(down[0]) <= APART * np.abs(down[0]).max():
        return DiveResult(*[np.nan] * 10)
    p, e = down
    (slope, start), covariance = np.polyfit(p, e, 1, cov=True)
    span = float(abs(slope) * np.ptp(p))
    cubic, noise = _cubic(p, e)
    at = np.linspace(p.min(), p.max(), 41)
    bend = np.abs(cubic(at) - (slope * at + start)).max()
    hysteresis = hysteresis_error = np.nan
    if len(up[0]) >= LEAST_ROWS:
        back, back_noise = _cubic(*up)
        hysteresis_error = _over(float(np.hypot(noise, back_noise)), span)
        at = np.linspace(max(p.min(), up[0].min()), min(p.max(), up[0].max()), 41)
        hysteresis = _over(float(np.abs(cubic(at) - back(at)).max()), span)
    low = p <= LOW * p.max()
    zero = float(np.mean(e[low] - slope * p[low])) if low.sum() >= 3 else float(start)
    error = float(np.sqrt(covariance[0, 0]))
    rows = max(int(low.sum()), 1)
    return DiveResult(
        slope=float(slope),
        slope_error=error,
        ratio=_over(float(slope), predicted),
        ratio_error=_over(error, abs(predicted)),
        nonlinearity=_over(float(bend), span),
        nonlinearity_error=_over(noise, span),
        hysteresis=hysteresis,
        hysteresis_error=hysteresis_error,
        zero=zero,
        zero_error=float(noise * np.sqrt(len(p) / rows) / 4),
    )


def _over(value: float, whole: float) -> float:
    """Divide; not a number where a gauge that does not answer leaves nothing to divide by."""
    return value / whole if whole else np.nan


def _cubic(p: Floats, e: Floats) -> tuple[np.polynomial.Polynomial, float]:
    """Fit a cubic, and say how sure it is at its ends."""
    cubic = np.polynomial.Polynomial.fit(p, e, 3)
    left = e - cubic(p)
    return cubic, float(4 * np.sqrt(left @ left / (len(p) - 4) / len(p)))


def _finite(pressure: Floats, strain: Floats) -> tuple[Floats, Floats]:
    there = np.isfinite(strain)
    return pressure[there], strain[there]


def joint_by_dive(results: Sequence[GaugeResult]) -> tuple[Joint, ...]:
    """Fit the joint's stiffness to the slopes of each dive."""
    count = len(results[0].dives) if results else 0
    return tuple(_joint(results, number) for number in range(count))


def _joint(results: Sequence[GaugeResult], number: int) -> Joint:
    known = [one for one in results if np.isfinite(one.dives[number].slope)]
    if not known:
        return Joint(np.nan, (), (), False)
    slopes = np.array([one.dives[number].slope for one in known])
    # (shares, gauges): how far each is off, over what it may be
    predicted = np.stack([one.prediction.softened(SHARES) for one in known], axis=1)
    whole = np.array([one.prediction.per_MPa for one in known])
    band = np.array(
        [
            (one.allowed + 2 * one.dives[number].ratio_error) * abs(one.prediction.per_MPa)
            for one in known
        ]
    )
    off = (slopes - predicted) / band
    best = int(np.argmin(np.sum(off**2 / (1 + off**2), axis=1)))
    before, after = np.abs(slopes - whole) / band, np.abs(off[best])
    explains = [one.name for one, b, a in zip(known, before, after, strict=True) if b > 1 >= a]
    if len(explains) >= 2:
        alone = [one.name for one, a in zip(known, after, strict=True) if a > 1]
    else:
        explains = []
        alone = [one.name for one, b in zip(known, before, strict=True) if b > 1]
    return Joint(float(SHARES[best]), tuple(explains), tuple(alone), best in (0, len(SHARES) - 1))
