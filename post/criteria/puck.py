"""Puck's inter-fibre failure, with its search for the plane on which it happens.

Problem
    A ply breaks between its fibres on a plane that holds the fibre direction. Only the stresses on
    that plane matter, and pressure on it holds it together.
Formulation
    On the plane whose normal is turned by the angle th from 2 towards 3,

        sn = s22 c^2 + s33 s^2 + 2 s23 s c,  tn = (s33 - s22) s c + s23 (c^2 - s^2),
        t1 = s12 c + s13 s

    and the share of the way to failure is, with q = (q_across tn^2 + q_along t1^2)/(tn^2 + t1^2),

        sn >= 0: sqrt[(1/YT - q)^2 sn^2 + (tn/RA)^2 + (t1/S12)^2] + q sn
        sn < 0:  sqrt[(tn/RA)^2 + (t1/S12)^2 + (k sn)^2] + k sn

    The index is the largest over all planes. Mode A: the plane is pulled open; B: it is pressed
    shut and stands across the ply; C: it is pressed shut and slants.
Symbols
    Slopes p of the failure curve at sn = 0, along and across the fibre, in tension (+) and
    compression (-): q_along = p_along(+)/S12, k = p_along(-)/S12. Across, the usual coupling
    p_across / RA = p_along(-) / S12 holds on both sides, q_across = k, with
    RA = S12 / (2 p_along(-)) (sqrt(1 + 2 p_along(-) YC / S12) - 1).
First crossing
    The index grows with the stress in proportion. With q held constant a plane's body is convex,
    and so is the meeting of all planes' bodies; q changes little from across to along. The tests
    find the body convex over all that `PuckStrength` takes, YT <= S12 and p(-) <= p(+) <= 0.5, as
    in every common ply: then a path leaves it once, and subadditivity brackets where,

        (1 - index(thermal)) / index(unit) <= x <= (1 + index(-thermal)) / index(unit).

Source
    A. Puck & H. Schuermann, Compos. Sci. Technol. 58 (1998) 1045-1067; slopes: A. Puck, J. Kopp &
    M. Knops, Compos. Sci. Technol. 62 (2002) 371-378.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import ArrayLike, NDArray

from post.criteria.crossing import Where, bracketed_root
from post.criteria.multiplier import NEVER, Array, on_path, require_positive, stress_array

BOUND_STEP, SEARCH_STEP = 10.0, 5.0  # degrees between the planes looked at first
BOUNDING = np.deg2rad(np.arange(-90.0, 90.0, BOUND_STEP))
SEARCHED = np.deg2rad(np.arange(-90.0, 90.0, SEARCH_STEP))
GOLDEN = (np.sqrt(5) - 1) / 2
NARROWINGS = 24  # leaves 1e-6 rad, hence 1e-12 of the index, which is flat at its largest
BLOCK = 4096
STEEPEST = 0.5

CFRP_SLOPES = (0.35, 0.30)
"""p_along(+), p_along(-) for carbon fibre, Puck, Kopp & Knops 2002 (value from memory)."""
GFRP_SLOPES = (0.30, 0.25)
"""p_along(+), p_along(-) for glass fibre, Puck, Kopp & Knops 2002 (value from memory)."""


@dataclass(frozen=True)
class PuckStrength:
    """Strengths between the fibres, MPa, and slopes.

    Attributes
    ----------
    YT, YC, S12 : float
        MPa.
    slope_tension, slope_compression : float
        p_along(+) and p_along(-), pure numbers.

    Raises
    ------
    ValueError
        Also where YT > S12 or not p(-) <= p(+) <= 0.5: the body may then be dented, and neither
        the search for the plane nor the first crossing would be sure.
    """

    YT: float
    YC: float
    S12: float
    slope_tension: float
    slope_compression: float

    def __post_init__(self) -> None:
        require_positive(self)
        if self.YT > self.S12:
            raise ValueError(f"PuckStrength.YT = {self.YT} must be no more than S12 = {self.S12}")
        if not self.slope_compression <= self.slope_tension <= STEEPEST:
            raise ValueError(
                f"PuckStrength.slope_tension = {self.slope_tension} must be no less than "
                f"slope_compression = {self.slope_compression} and no more than {STEEPEST}"
            )

    @cached_property
    def RA(self) -> float:
        """Resistance of a plane against shear across the fibres, MPa."""
        p = self.slope_compression
        return float(self.S12 / (2 * p) * (np.sqrt(1 + 2 * p * self.YC / self.S12) - 1))

    @property
    def slope_across(self) -> float:
        """p_across, a pure number."""
        return self.slope_compression * self.RA / self.S12

    @property
    def shear_at_corner(self) -> float:
        """Shear s12 at which modes B and C meet in plane stress, MPa."""
        return float(self.S12 * np.sqrt(1 + 2 * self.slope_across))


def index(stress: ArrayLike, strength: PuckStrength) -> Array:
    """Stress exposure: the largest over all planes, shape (...).

    Parameters
    ----------
    stress : (6, ...) array
        MPa, ply axes [11, 22, 33, 23, 13, 12].
    strength : PuckStrength

    Returns
    -------
    (...) array
        Grows with the stress in proportion.
    """
    return fracture_plane(stress, strength)[0]


def fracture_plane(stress: ArrayLike, strength: PuckStrength) -> tuple[Array, Array]:
    """Largest exposure and the plane it is found on.

    Parameters
    ----------
    stress : (6, ...) array
        MPa, ply axes.
    strength : PuckStrength

    Returns
    -------
    exposure, angle : (...) arrays
        The angle of the plane's normal from 2 towards 3, degrees, from -90 to 90.
    """
    s = stress_array(stress)
    shape = s.shape[1:]
    s = s.reshape(6, -1)
    exposure, angle = np.empty(s.shape[1]), np.empty(s.shape[1])
    for start in range(0, s.shape[1], BLOCK):
        part = slice(start, start + BLOCK)
        exposure[part], angle[part] = _search(s[:, part], strength)
    return exposure.reshape(shape), np.rad2deg(angle).reshape(shape)


def mode(stress: ArrayLike, strength: PuckStrength) -> NDArray[np.str_]:
    """Mode in which a ply breaks between its fibres: A, B or C (see the module), shape (...)."""
    s = stress_array(stress)
    _, angle = fracture_plane(s, strength)
    normal = _on_plane(_across(s), np.deg2rad(angle))[0]
    return np.where(normal >= 0, "A", np.where(np.abs(angle) < 0.1, "B", "C"))


@on_path
def multiplier(thermal: Array, unit: Array, strength: PuckStrength) -> Array:
    """First crossing, shape (...).

    Parameters
    ----------
    thermal, unit : (6, ...) arrays
        MPa, ply axes.
    strength : PuckStrength
    """
    T, U = thermal.reshape(6, -1), unit.reshape(6, -1)
    before, rate = index(T, strength), index(U, strength)
    x = np.where(before >= 1, 0.0, np.inf)
    at = np.flatnonzero((before < 1) & (rate > 1 / NEVER))
    T, U, before, rate = T[:, at], U[:, at], before[at], rate[at]

    def excess(factor: Array, where: Where) -> Array:
        return index(T[:, where] + factor * U[:, where], strength) - 1

    everything = np.arange(len(at))
    low = (1 - before) / rate * (1 - 1e-9)
    high = (1 + index(-T, strength)) / rate * (1 + 1e-9)
    low[excess(low, everything) >= 0] = 0  # within rounding of the start
    while (short := np.flatnonzero(excess(high, everything) < 0)).size:
        high[short] *= 2
    x[at] = bracketed_root(excess, low, high)
    return x.reshape(thermal.shape[1:])


def safe(thermal: Array, end: Array, strength: PuckStrength) -> NDArray[np.bool_]:
    """Whether the straight path between two stresses is known to be free of failure.

    Parameters
    ----------
    thermal, end : (6, n) arrays
        MPa, ply axes.
    strength : PuckStrength

    Returns
    -------
    (n,) array of bool
        True only where no failure lies between. By three bounds of growing cost; all are convex
        along the path, so that the ends speak for what lies between.
    """
    free = (_crude(_across(thermal), strength) < 1) & (_crude(_across(end), strength) < 1)
    for bound in (_bound, index):
        left = np.flatnonzero(~free)
        left = left[bound(end[:, left], strength) < 1]
        free[left[bound(thermal[:, left], strength) < 1]] = True
    return free


def _across(s: Array) -> Array:
    """Mean and half difference of s22 and s33; s23, s12, s13: (5, ...), MPa."""
    return np.stack([0.5 * (s[1] + s[2]), 0.5 * (s[1] - s[2]), s[3], s[5], s[4]])


def _on_plane(across: Array, angle: Array) -> tuple[Array, Array, Array]:
    """Stresses sn, tn, t1 on planes; angle in radians, broadcast against the points."""
    mean, half, s23, s12, s13 = across
    c, s = np.cos(angle), np.sin(angle)
    c2, s2 = (c - s) * (c + s), 2 * s * c
    return mean + (half * c2 + s23 * s2), s23 * c2 - half * s2, s12 * c + s13 * s


def _exposure(
    across: Array, angle: Array, strength: PuckStrength, *, largest: bool = False
) -> Array:
    """Exposure of planes; with `largest`, its convex bound that holds q at its larger end."""
    normal, tn, t1 = _on_plane(across, angle)
    k = strength.slope_compression / strength.S12
    q_along = strength.slope_tension / strength.S12
    tn *= tn
    t1 *= t1
    shear = tn / strength.RA**2 + t1 / strength.S12**2
    opening = np.maximum(normal, 0)
    pressed = k * np.minimum(normal, 0)
    if largest:
        slope = np.asarray(max(k, q_along))
    else:
        total = tn + t1
        slope = np.full(total.shape, k)
        np.divide(k * tn + q_along * t1, total, out=slope, where=total > 0)
    pulled = (1 / strength.YT - slope) * opening
    root = np.sqrt(shear + pulled * pulled + pressed * pressed)
    # under pressure root + pressed subtracts like numbers; shear / (root - pressed) does not
    out: Array = root + slope * opening
    np.divide(shear, root - pressed, out=out, where=pressed < 0)
    return out


def _crude(across: Array, strength: PuckStrength) -> Array:
    """Bound on the exposure without looking at planes, convex in the stress.

    sqrt(a^2 + b^2) <= a + b takes the pull out of the root; tn is at most the radius of Mohr's
    circle, sn at most its right end, t1 at most the length of (s12, s13).
    """
    radius, shear = _radii(across)
    pull = np.maximum(across[0] + radius, 0) / strength.YT  # q <= 1/YT, so |1/YT - q| + q = 1/YT
    return np.asarray(np.hypot(radius / strength.RA, shear / strength.S12) + pull)


def _radii(across: Array) -> tuple[Array, Array]:
    return np.hypot(across[1], across[2]), np.hypot(across[3], across[4])


def _slack(across: Array, strength: PuckStrength, step: float) -> Array:
    """How much any plane may exceed the looked-at ones, for convex exposures.

    A plane's stresses turn on Mohr's circle by twice its angle. The plane that matters lies
    between two neighbours h apart; some mean of their stresses is its own with the part that
    turns shortened by at most 1 - cos h. Convexity and subadditivity then bound the loss by
    1 - cos h times the exposure of the part that turns, and that by its crude bound.
    """
    turning = across.copy()
    turning[0] = 0
    return np.asarray((1 - np.cos(np.deg2rad(step))) * _crude(turning, strength))


def _bound(stress: Array, strength: PuckStrength) -> Array:
    """Convex bound on the index from the looked-at planes, shape (n,)."""
    out = np.empty(stress.shape[1])
    for start in range(0, stress.shape[1], BLOCK):
        across = _across(stress[:, start : start + BLOCK])
        seen = _exposure(across, BOUNDING[:, None], strength, largest=True).max(axis=0)
        out[start : start + BLOCK] = seen + _slack(across, strength, BOUND_STEP)
    return out


def _search(stress: Array, strength: PuckStrength) -> tuple[Array, Array]:
    """Largest exposure and its angle in radians; stress (6, n).

    Every range between neighbouring planes that can hold the largest exposure (see `_slack`) is
    refined by golden section, cut where the normal stress changes sign: the exposure has a kink
    there, and may have a peak on either side. So is the surrounding of the plane with the largest
    pull, where tn passes through zero: if t1 is small there, q rises to q_along within a narrow
    range of angles.
    """
    across = _across(stress)
    seen = _exposure(across, SEARCHED[:, None], strength)
    best = seen.max(axis=0)
    angle = SEARCHED[seen.argmax(axis=0)]
    higher = np.maximum(seen, np.roll(seen, -1, axis=0))
    plane, point = np.nonzero(higher + _slack(across, strength, SEARCH_STEP) >= best)
    centre, narrow, pulled = _largest_pull(across)
    half = np.deg2rad(SEARCH_STEP / 2)
    point = np.concatenate([point, pulled])
    centre = np.concatenate([SEARCHED[plane] + half, centre])
    reach = np.concatenate([np.full(len(plane), half), narrow])
    low, high, piece = _pieces(across[:, point], centre, reach)
    point = point[piece]
    across = across[:, point]

    left, right = high - GOLDEN * (high - low), low + GOLDEN * (high - low)
    at_left, at_right = (_exposure(across, x, strength) for x in (left, right))
    for _ in range(NARROWINGS):
        rising = at_right > at_left
        low, high = np.where(rising, left, low), np.where(rising, high, right)
        new = np.where(rising, low + GOLDEN * (high - low), high - GOLDEN * (high - low))
        value = _exposure(across, new, strength)
        left, right = np.where(rising, right, new), np.where(rising, new, left)
        at_left, at_right = (
            np.where(rising, at_right, value),
            np.where(rising, value, at_left),
        )
    value = np.maximum(at_left, at_right)
    found = np.where(at_left > at_right, left, right)
    order = np.argsort(value)  # of two peaks at a point, the higher is written last
    order = order[value[order] > best[point[order]]]
    best[point[order]] = value[order]
    angle[point[order]] = (found[order] + np.pi / 2) % np.pi - np.pi / 2
    return best, angle


def _largest_pull(across: Array) -> tuple[Array, Array, NDArray[np.intp]]:
    """Planes of largest pull around which q changes quickly.

    Returns
    -------
    angle, reach : (m,) arrays
        Radians; |tn| = |t1| at about half the reach from the angle.
    point : (m,) array of int
    """
    mean, half, s23, s12, s13 = across
    radius = np.hypot(half, s23)
    angle = 0.5 * np.arctan2(s23, half)
    t1 = np.abs(s12 * np.cos(angle) + s13 * np.sin(angle))
    point = np.flatnonzero((mean + radius > 0) & (t1 < radius * np.deg2rad(2 * SEARCH_STEP)))
    return angle[point], t1[point] / radius[point], point


def _pieces(across: Array, centre: Array, reach: Array) -> tuple[Array, Array, NDArray[np.intp]]:
    """Cut ranges of angles where the normal stress changes sign; also whose piece each is."""
    mean, half, s23 = across[:3]
    radius = np.hypot(half, s23)
    share = np.divide(-mean, radius, out=np.full(mean.shape, 2.0), where=radius > np.abs(mean))
    pull, aside = 0.5 * np.arctan2(s23, half), 0.5 * np.arccos(np.minimum(share, 1))
    edges = [-reach, reach]
    for zero in (pull - aside, pull + aside):
        off = (zero - centre + np.pi / 2) % np.pi - np.pi / 2
        edges.append(np.where(share <= 1, np.clip(off, -reach, reach), reach))
    cuts = np.sort(edges, axis=0)
    number, piece = np.nonzero(cuts[1:] > cuts[:-1])
    return centre[piece] + cuts[number, piece], centre[piece] + cuts[number + 1, piece], piece
