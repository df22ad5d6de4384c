"""Acoustic emission of a proof test: Kaiser effect and Felicity ratio, dive by dive.

Formulation
    Felicity ratio of a dive: the load at which emission becomes significant again, over the
    highest load of all dives before. The Kaiser effect holds where it is 1 or more: silence up to
    what was borne before. Emission counts as significant from the pressure on at which the dive
    has `onset_hits` hits, a setting of the project. A dive that stays below that has no onset: its
    highest pressure then bounds the ratio from below, and a ratio bounded so fails no limit.
    Hits are cumulative; each dive counts from its own first row.
Source
    Definition: ASTM E1316 (terminology; from memory). Vessels of fibre composites: ASTM E1067/
    E1067M (to 1.73 MPa of inner pressure), E1118/E1118M (pipe, below 35 MPa), E2478 (damage and
    Felicity ratio on beams). None of them covers thick hulls at these outer pressures: the limit is
    a setting of the project.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from geometry.errors import CaseError
from post.proof_read import PASSED_OVER, pressures, read_table, split_dives

Floats = NDArray[np.float64]
READING = 1e-3  # of a pressure: nearer than this two readings are the same


@dataclass(frozen=True)
class Emission:
    """Hits of one dive, on the way down.

    Attributes
    ----------
    pressure : (n,) array
        MPa, rising as measured, to its highest.
    hits : (n,) array
        Since the start of the dive.
    """

    pressure: Floats
    hits: Floats


@dataclass(frozen=True)
class Felicity:
    """Felicity ratio of a dive.

    Attributes
    ----------
    dive : int
        From 1.
    highest : float
        Highest pressure of the dive, MPa.
    before : float
        Highest pressure of all dives before, MPa; NaN for the first.
    onset : float
        MPa; NaN where there was none.
    ratio : float
        NaN for the first dive. Without an onset the bound `highest / before`.
    bound : bool
        Whether `ratio` is a bound from below.
    """

    dive: int
    highest: float
    before: float
    onset: float
    ratio: float
    bound: bool

    @property
    def kaiser(self) -> bool | None:
        """Whether the Kaiser effect holds; None for the first dive and where it is not known."""
        if np.isnan(self.ratio) or (self.bound and self.ratio < 1):
            return None
        return bool(self.ratio >= 1 - READING)

    def below(self, limit: float) -> bool:
        """Whether the ratio is known to be below a limit."""
        return bool(not self.bound and self.ratio < limit)


def read_emission(path: Path) -> tuple[Emission, ...]:
    """Read pressure and cumulative hits, dive by dive.

    Parameters
    ----------
    path : Path
        Columns ``pressure [unit]`` and ``hits``; ``dive`` numbers the dives where the pressure
        between them was not written down.

    Returns
    -------
    tuple of Emission

    Raises
    ------
    CaseError
        When it is no such table, or the hits fall within a dive.
    """
    table = read_table(path)
    for name in table.columns:
        if name not in ("pressure", "hits", "dive", *PASSED_OVER):
            raise CaseError(str(path), name, "", "is no column here", "dive, pressure, hits")
    if "hits" not in table.columns:
        raise CaseError(str(path), "hits", "", "is missing", "a column of cumulative hits")
    pressure, hits = pressures(path, table), table.columns["hits"]
    if "dive" in table.columns:
        number = table.columns["dive"]
        spans = [np.flatnonzero(number == one) for one in np.unique(number[~np.isnan(number)])]
    else:
        spans = [np.arange(one.first, one.last + 1) for one in split_dives(pressure)]
    found = []
    for rows in spans:
        down = rows[: int(np.argmax(pressure[rows])) + 1]
        counted = hits[down]
        if np.isnan(counted).any() or np.any(np.diff(counted) < 0):
            line = table.lines[int(down[0])]
            reason = "has gaps or falls in the dive that begins here"
            raise CaseError(str(path), "hits", "", reason, "hits that add up", line=line)
        if not pressure[down].max() > 0:
            line = table.lines[int(down[0])]
            reason = "does not rise in the dive that begins here"
            raise CaseError(str(path), "pressure", "", reason, "pressures above 0", line=line)
        found.append(Emission(pressure[down], counted - counted[0]))
    if not found:
        raise CaseError(str(path), "pressure", reason="has no dive", allowed="pressures that rise")
    return tuple(found)


def felicity(dives: Sequence[Emission], onset_hits: int) -> tuple[Felicity, ...]:
    """Find the Felicity ratio of every dive.

    Parameters
    ----------
    dives : sequence of Emission
        In the order of time.
    onset_hits : int
        Hits from which on emission counts as significant.
    """
    found, before = [], np.nan
    for number, dive in enumerate(dives, 1):
        highest = float(dive.pressure.max())
        loud = np.flatnonzero(dive.hits >= onset_hits)
        onset = float(dive.pressure[loud[0]]) if len(loud) else np.nan
        reached = highest if np.isnan(onset) else onset
        found.append(
            Felicity(number, highest, before, onset, reached / before, bool(np.isnan(onset)))
        )
        before = float(np.fmax(before, highest))
    return tuple(found)


def trend(ratios: Sequence[Felicity]) -> tuple[float, float]:
    """Change of the ratio from dive to dive, and its standard error.

    A straight line through the ratios with an onset, by least squares; NaN for fewer than three.
    """
    known = [(one.dive, one.ratio) for one in ratios if not one.bound and np.isfinite(one.ratio)]
    if len(known) < 3:
        return np.nan, np.nan
    dive, ratio = np.array(known, float).T
    centred = dive - dive.mean()
    slope = float(centred @ ratio / (centred @ centred))
    left = ratio - ratio.mean() - slope * centred
    return slope, float(np.sqrt(left @ left / (len(dive) - 2) / (centred @ centred)))
