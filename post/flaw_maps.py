"""How long a disbond may be, everywhere along the bonds.

Formulation
    The longest disbond that holds at a place is found by doubling its length until one does not
    hold at either tip, and halving between; in the last element G over toughness goes straight.
    Every shorter one that was tried holds. It is told less what a disbond of the mesh acts shorter
    (`solve.energy_release.SHIFT`). Each disbond is alone in the joint.
Units
    mm, N/mm, MPa, K.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from geometry.case import Case
from post.flaw_life import required_pressure
from post.flaw_results import FlawMap
from post.flaw_tips import directions, loads_at
from post.toughness import Toughness, toughness
from solve.disbond import Stretch
from solve.energy_release import SHIFT, Disbonded
from solve.joint_disbonds import Disbonds

Floats = NDArray[np.float64]

WHOLE = "end of the bond"
POSITIONS = 60  # of buried disbonds over all bonds


def flaw_maps(case: Case, disbonds: Disbonds) -> list[FlawMap]:
    """Find the longest disbond that holds at the required depth, everywhere.

    Parameters
    ----------
    case : Case
    disbonds : Disbonds

    Returns
    -------
    list of FlawMap
        Edge and buried ones of every face; none where a toughness is missing.
    """
    pressure = required_pressure(case)
    total = sum(float(np.ptp(one.paths[0].s)) for one in disbonds.faces)
    maps = []
    for reduced in disbonds.faces:
        path = reduced.paths[0]
        tough, _ = toughness(case, path.face)
        if tough is None:
            continue
        disbonded = Disbonded(reduced, loads_at(case, pressure))
        # three faces share the positions of a bond
        count = max(2, round(3 * POSITIONS * float(np.ptp(path.s)) / total))
        for places, kind in ((_edges(path.open_ends), "edge"), (None, "buried")):
            longest, limited, s = [], [], []
            for place in _centres(path.s, count) if places is None else places:
                size, by = _longest(disbonded, place, kind, tough)
                s.append(
                    float(path.s[place])
                    if kind == "buried"
                    else (max(float(path.s[0]), 0.0) if place == 0 else float(path.s[-1]))
                )
                longest.append(size)
                limited.append(by)
            if s:
                maps.append(
                    FlawMap(
                        path.bond,
                        path.face,
                        kind,
                        np.array(s),
                        np.array(longest),
                        tuple(limited),
                        pressure,
                    )
                )
    return maps


def _edges(opens: tuple[bool, bool]) -> list[int]:
    return [place for place, is_open in zip((0, -1), opens, strict=True) if is_open]


def _centres(s: Floats, count: int) -> list[int]:
    """Corners at which buried disbonds are centred, evenly along the bond."""
    inside = np.flatnonzero(s >= 0)[2:-2]
    wanted = np.linspace(0, len(inside) - 1, min(count, len(inside)))
    return [int(i) for i in np.unique(inside[np.round(wanted).astype(int)])]


def _longest(disbonded: Disbonded, place: int, kind: str, tough: Toughness) -> tuple[float, str]:
    """Find the longest disbond that holds at a place, mm, and what limits it."""
    reduced = disbonded.reduced
    path = reduced.paths[0]
    n = path.elements

    def stretch(half: int) -> Stretch:
        if kind == "edge" and place == 0:
            return Stretch(0, 0, under + half, path.wet_ends[0])
        if kind == "edge":
            return Stretch(0, n - half, n, path.wet_ends[1])
        return Stretch(0, place - half, place + half)

    def size(half: int) -> float:
        one = stretch(half)
        return path.size(one.first, one.last) if half else 0.0

    under = int(np.sum(path.s < -1e-9)) if kind == "edge" and place == 0 else 0
    # a disbond from edge to edge would leave nothing
    most = (
        n - under - all(path.open_ends)
        if kind == "edge"
        else min(place - path.open_ends[0], n - path.open_ends[1] - place)
    )

    def use(half: int) -> tuple[float, str]:
        """Give G over toughness at the worse tip, and where that is."""
        one = stretch(half)
        found = []
        for way in directions(reduced, one):
            tip = disbonded.tip([one], 0, way)
            at = path.s[one.last if way > 0 else one.first]
            found.append((tip.G / tough.limit(tip), f"tip at s = {at:.1f} mm"))
        return max(found, default=(0.0, ""))

    def holds(half: int) -> bool:
        one = stretch(half)
        ways = directions(reduced, one)
        # below the toughness of every mix there is no need to tell modes apart
        if all(disbonded.total([one], 0, way) < tough.least for way in ways):
            return True
        return use(half)[0] < 1

    good, bad = 0, 0
    step = 1
    while not bad:
        tried = min(step, most)
        if tried <= good:
            return size(good), WHOLE
        if not holds(tried):
            bad = tried
        else:
            good, step = tried, 2 * step
    while bad - good > 1:
        middle = (good + bad) // 2
        if holds(middle):
            good = middle
        else:
            bad = middle
    high, by = use(bad)
    if not good:
        return 0.0, by
    low, _ = use(good)
    found = size(good) + (1 - low) / (high - low) * (size(bad) - size(good))
    # the mesh's disbond acts as if it were shorter at each tip
    one = stretch(good)
    tips = [one.last - 1 if way > 0 else one.first for way in directions(reduced, one)]
    shorter = SHIFT[reduced.degree] * float(np.diff(path.s)[tips].sum())
    return max(found - shorter, 0.0), by
