"""The bond modes of the ladder over many points, each with strengths of its own.

Formulation
    The criteria and their closed forms are those of `post.criteria`; stresses come divided by a
    strength where that lets one criterion serve all points. The largest tension needs eigenvalues
    at every place; as its body is convex, a place that has not failed at a pressure already found
    elsewhere lies no lower, and Sylvester's minors of T - stress tell that without eigenvalues.
Order of arrays
    Components, then points, then places.
Units
    MPa.
Source
    As each criterion; J.J. Sylvester's test of a positive definite form (value from memory).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from types import SimpleNamespace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from post.criteria import PEEL_SHEAR, PRINCIPAL_STRESS, RAGHAVA, VOID_CRUSHING
from post.criteria.criterion import Criterion
from post.criteria.principal_stress import TensileStrength

Floats = NDArray[np.float64]
Strength = tuple[Floats, ...]

FAR = 1e5  # times the strength: a multiplier beyond it counts as never
SAME = 1e-12  # as in `post.criteria.least`


@dataclass(frozen=True)
class Mode:
    """A bond mode.

    Attributes
    ----------
    name : str
    traction : bool
        Whether it judges peel and shears, not the whole stress.
    criterion : Criterion
    takes : dict of str to str
        The criterion's strengths and their names in `post.reduced_points.STRENGTHS`.
    search : callable
        From thermal and unit stress (c, n, w) and strengths (n,) to the least multiplier (n,).
    """

    name: str
    traction: bool
    criterion: Criterion[Any]
    takes: dict[str, str]
    search: Callable[[Mode, Floats, Floats, Strength], Floats]

    def strength(self, strengths: dict[str, Floats]) -> Strength | None:
        """Take its strengths; None where it is not judged."""
        found = tuple(strengths[name] for name in self.takes.values())
        return None if any(np.isnan(one).any() for one in found) else found

    def least(self, thermal: Floats, unit: Floats, strength: Strength) -> Floats:
        """Least multiplier of each point over its places."""
        return self.search(self, thermal, unit, strength)

    def _columns(self, strength: Strength) -> SimpleNamespace:
        """Strengths as the criterion asks them, but columns."""
        return SimpleNamespace(**dict(zip(self.takes, strength, strict=True)))


def _everywhere(mode: Mode, thermal: Floats, unit: Floats, strength: Strength) -> Floats:
    columns = mode._columns(tuple(one[:, None] for one in strength))
    return np.asarray(mode.criterion.multipliers(thermal, unit, columns)[0].min(axis=1))


def _where_needed(mode: Mode, thermal: Floats, unit: Floats, strength: Strength) -> Floats:
    tension = TensileStrength(1.0)
    T, U = thermal / strength[0][:, None], unit / strength[0][:, None]
    n = T.shape[1]
    best = np.full(n, np.inf)
    left = np.arange(n)
    while left.size:
        reach = np.minimum(best[left], FAR * strength[0][left])[:, None] * (1 - SAME)
        whole = T.shape[1] == left.size
        start, towards = (T, U) if whole else (T[:, left], U[:, left])
        room = _least_minor(start + reach * towards)
        at = room.argmin(axis=1)
        unsafe = np.take_along_axis(room, at[:, None], axis=1)[:, 0] <= 0
        left, at = left[unsafe], at[unsafe]
        if not left.size:
            break
        found = mode.criterion.multipliers(T[:, left, at], U[:, left, at], tension)[0]
        lower = found < best[left]
        best[left[lower]] = found[lower]
        left = left[lower & (found > 0)]
    return best


def _least_minor(stress: Floats) -> Floats:
    """Least leading minor of 1 - stress, (n, w): above zero where no principal stress reaches 1."""
    rr, tt, zz, tz, rz, rt = stress
    a, b, c = 1 - rr, 1 - tt, 1 - zz
    second = a * b - rt * rt
    third = c * second - a * tz * tz - b * rz * rz - 2 * rt * rz * tz
    return np.asarray(np.minimum(np.minimum(a, second), third))


MODES = (
    Mode("peel-and-shear", True, PEEL_SHEAR, {"tension": "tension", "shear": "shear"}, _everywhere),
    Mode(
        "yield-of-the-adhesive",
        False,
        RAGHAVA,
        {"tension": "yield_tension", "compression": "yield_compression"},
        _everywhere,
    ),
    Mode("largest-tension", False, PRINCIPAL_STRESS, {"tension": "tensile"}, _where_needed),
    Mode("void-crushing", False, VOID_CRUSHING, {"crushing": "crushing"}, _everywhere),
)
