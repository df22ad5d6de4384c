"""Growth of a disbond over dives.

Problem
    A dive loads the tip of a disbond and lets go again. How far does it creep on, and after how
    many dives is it longer than the bond can bear?
Formulation
    Growth per dive da/dN = rate * (range of G / 1 kJ/m^2)^m, none where the range is below the
    threshold. The range of a dive is the largest less the smallest G on its way down, from the
    temperature change alone at the surface to the full pressure.
    Dives to several depths make a mission: growth per mission is the sum over its dives, so their
    order within it does not count, and a disbond that some dives no longer grow is grown by the
    others. Missions from length a to b are the integral of da / growth per mission.
    Between two lengths at which G is known the range goes as a power of the length. Each such piece
    is integrated in closed form in the logarithm of the length, so a growth of many decades keeps
    its digits, and whatever power law G follows is met exactly. Pieces are cut where a range passes
    the threshold.
Units
    mm, N/mm (which is kJ/m^2).
Source
    Power law: P. Paris & F. Erdogan, J. Basic Eng. 85 (1963) 528-533, there of the stress intensity
    (value from memory); of G with adhesives it is common practice, no published source.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]

PIECES = 64  # between two given lengths, where several ranges add up


@dataclass(frozen=True)
class GrowthLaw:
    """What a dive adds to a disbond.

    Attributes
    ----------
    rate : float
        Growth per dive at a range of 1 kJ/m^2, mm.
    exponent : float
    threshold : float
        Range below which nothing grows, N/mm.
    """

    rate: float
    exponent: float
    threshold: float


@dataclass(frozen=True)
class Growth:
    """How a disbond grows from the first length on.

    Attributes
    ----------
    lengths : (n,) array
        Ascending, mm.
    missions : (n,) array
        Missions until each length; infinite from where nothing grows on.
    start, end : (n - 1,) array
        Growth per mission at the two ends of each piece between lengths, mm.
    """

    lengths: Floats
    missions: Floats
    start: Floats
    end: Floats

    @property
    def stops(self) -> float:
        """Length at which nothing grows on, mm; infinite where the last length is grown to."""
        return math.inf if math.isfinite(self.missions[-1]) else float(self.lengths[self._last])

    @property
    def missions_until_stop(self) -> float:
        """Missions until nothing grows on; infinite where the last length is grown to."""
        return math.inf if math.isfinite(self.missions[-1]) else float(self.missions[self._last])

    @property
    def _last(self) -> int:
        """Place of the last length that is grown to."""
        return int(np.flatnonzero(np.isfinite(self.missions))[-1])

    def until(self, length: float) -> float:
        """Missions until a length; 0 when it is that long already, NaN beyond the last length."""
        if length <= self.lengths[0]:
            return 0.0
        if length > self.lengths[-1] * (1 + 1e-12):
            return math.nan
        i = min(int(np.searchsorted(self.lengths, length)), len(self.lengths) - 1) - 1
        a, b = self.lengths[i : i + 2]
        if not (self.start[i] > 0 and self.end[i] > 0):
            return math.inf
        there = self.start[i] * (length / a) ** (self._power(i))
        return float(self.missions[i] + _piece(a, min(length, b), self.start[i], there))

    def after(self, missions: float) -> float:
        """Length after a number of missions, mm; infinite beyond the last length."""
        if missions >= self.missions[-1]:
            return math.inf
        i = int(np.searchsorted(self.missions, missions, side="right")) - 1
        a, rest = self.lengths[i], missions - self.missions[i]
        if not (self.start[i] > 0 and self.end[i] > 0):
            return float(a)
        grown, power = rest * self.start[i] / a, 1.0 - self._power(i)
        x = grown * power
        return float(a * math.exp(grown if abs(x) < 1e-12 else math.log1p(x) / power))

    def _power(self, i: int) -> float:
        """Power of the length with which the growth goes in a piece."""
        a, b = self.lengths[i : i + 2]
        return math.log(self.end[i] / self.start[i]) / math.log(b / a)


def grow(
    lengths: ArrayLike, ranges: ArrayLike, law: GrowthLaw, dives: Sequence[float] = (1.0,)
) -> Growth:
    """Integrate the growth of a disbond along its length.

    Parameters
    ----------
    lengths : (n,) array_like
        Ascending, above nought, mm; the first is the disbond as it is.
    ranges : (n,) or (d, n) array_like
        Range of G of a dive, of each kind of dive, by length; N/mm.
    law : GrowthLaw
    dives : sequence of float
        Dives of each kind in a mission.

    Returns
    -------
    Growth
        On a finer row of lengths, which holds the given ones.

    Raises
    ------
    ValueError
        Where lengths do not ascend from above nought, or ranges do not fit them.
    """
    given = np.asarray(lengths, float)
    of_kind = np.atleast_2d(np.asarray(ranges, float))
    if given.ndim != 1 or len(given) < 2 or given[0] <= 0 or np.any(np.diff(given) <= 0):
        raise ValueError("lengths must ascend from above nought")
    if of_kind.shape != (len(dives), len(given)):
        raise ValueError("there must be a range for every length and kind of dive")
    fine = _finer(given, of_kind, law.threshold)
    # from the right of each length and from its left: they differ where a range jumps a threshold
    middle = np.sqrt(fine[:-1] * fine[1:])
    grows = _between(middle, given, of_kind) >= law.threshold
    at = _between(fine, given, of_kind)
    counts = np.asarray(dives, float)[:, None]
    rate = law.rate * at**law.exponent
    left = np.sum(counts * np.where(grows, rate[:, :-1], 0.0), axis=0)
    right = np.sum(counts * np.where(grows, rate[:, 1:], 0.0), axis=0)
    missions = np.cumsum(_piece(fine[:-1], fine[1:], left, right))
    return Growth(fine, np.concatenate([[0.0], missions]), left, right)


def _between(at: Floats, lengths: Floats, ranges: Floats) -> Floats:
    """Ranges (d, n) between lengths, as powers of the length; nought beside a nought."""
    with np.errstate(divide="ignore", invalid="ignore"):
        logs = np.log(np.maximum(ranges, 0.0))
        x, nodes = np.log(at), np.log(lengths)
        piece = np.clip(np.searchsorted(nodes, x, side="right") - 1, 0, len(nodes) - 2)
        share = np.clip((x - nodes[piece]) / (nodes[piece + 1] - nodes[piece]), 0.0, 1.0)
        between = logs[:, piece] * (1 - share) + logs[:, piece + 1] * share
        # at a given length its own range, also beside one of nought
        between = np.where(share == 1, logs[:, piece + 1], between)
        between = np.where(share == 0, logs[:, piece], between)
    return np.asarray(np.exp(np.nan_to_num(between, nan=-np.inf)))


def _finer(lengths: Floats, ranges: Floats, threshold: float) -> Floats:
    """Give lengths, those at which a range passes the threshold, and some in between."""
    x = np.log(lengths)
    cuts = [lengths]
    if len(ranges) > 1:  # one power law alone is integrated exactly
        shares = np.arange(1, PIECES) / PIECES
        cuts.append(np.exp(x[:-1, None] + shares * np.diff(x)[:, None]).ravel())
    if threshold > 0:
        with np.errstate(divide="ignore", invalid="ignore"):
            over = np.log(np.maximum(ranges, 0.0) / threshold)
            share = over[:, :-1] / (over[:, :-1] - over[:, 1:])
        passes = np.isfinite(share) & (share > 0) & (share < 1)
        cuts.append(np.exp(x[:-1] + share * np.diff(x))[passes])
    return np.unique(np.concatenate(cuts))


def _piece(a: ArrayLike, b: ArrayLike, left: ArrayLike, right: ArrayLike) -> Floats:
    """Integral of da / rate from a to b, the rate a power of the length between its end values.

    With rate = left (x / a)^k it is a / left * (e^((1 - k) t) - 1) / (1 - k), t = ln(b / a).
    """
    a, b, left, right = (np.asarray(x, float) for x in (a, b, left, right))
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        t = np.log(b / a)
        grown = (1.0 - np.log(right / left) / t) * t
        share = np.where(np.abs(grown) < 1e-12, 1.0, np.expm1(grown) / grown)
        found = a / left * t * share
    return np.asarray(np.where((left > 0) & (right > 0), found, np.inf))
