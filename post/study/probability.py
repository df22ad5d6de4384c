"""How often a sample falls short, and how sure that is.

Formulation
    k of n points fall short. The estimate is k / n; the interval of Clopper and Pearson covers the
    true probability at least as often as it says, whatever that probability is. It speaks of the
    sampling alone: spreads that are assumed stay assumed.
Source
    C.J. Clopper & E.S. Pearson, Biometrika 26 (1934) 404-413, through `scipy.stats.binomtest`.
"""

from __future__ import annotations

from dataclasses import dataclass

import pandas as pd
from scipy import stats

CONFIDENCE = 0.95


@dataclass(frozen=True)
class Chance:
    """A probability from counts.

    Attributes
    ----------
    short, judged : int
        Points that fall short, of those that were judged.
    estimate, low, high : float
        Probability and the bounds of its interval.
    left_out : int
        Points without a number.
    """

    short: int
    judged: int
    estimate: float
    low: float
    high: float
    left_out: int = 0


def chance(short: int, judged: int, left_out: int = 0) -> Chance:
    """Probability from k of n, with its interval of Clopper and Pearson at `CONFIDENCE`."""
    interval = stats.binomtest(short, judged).proportion_ci(CONFIDENCE, method="exact")
    return Chance(
        short, judged, short / judged, float(interval.low), float(interval.high), left_out
    )


def chance_below(values: pd.Series[float], least: float) -> Chance | None:
    """Probability that a headline stays below a value; None without a single number."""
    known = values.dropna()
    if known.empty:
        return None
    return chance(int((known < least).sum()), len(known), len(values) - len(known))
