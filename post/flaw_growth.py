"""Energy release rate along the growth of a disbond."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from geometry.case import Case
from post.flaw_results import GrowthCurve
from post.flaw_tips import directions, loads_at, stretches_of
from post.toughness import toughness
from solve.energy_release import Disbonded, Pair, moved
from solve.joint_disbonds import Disbonds


def growth_curve(
    case: Case,
    disbonds: Disbonds,
    number: int,
    pressures: Sequence[float],
    lengths: Sequence[float] | None = None,
) -> GrowthCurve:
    """Follow a flaw's energy release rate as it grows, the others as they are.

    A flaw with two tips grows at both, element by element, until one of them has no way on.

    Parameters
    ----------
    case : Case
    disbonds : Disbonds
    number : int
        Place in the case's list.
    pressures : sequence of float
        MPa.
    lengths : sequence of float, optional
        Longest lengths wanted, mm; all that the bond has room for by default. The lengths given
        back are those at the corners of elements, up to the largest.

    Returns
    -------
    GrowthCurve
    """
    reduced = disbonds.flaws
    companion = disbonds.companion
    if reduced is None or companion is None:
        raise ValueError("the case has no flaws")
    stretches = stretches_of(case, reduced)
    flaw = case.flaws[number]
    tough, _ = toughness(case, flaw.face)
    ways = directions(reduced, stretches[number])
    path = reduced.paths[stretches[number].path]
    most = max(lengths) if lengths is not None and len(lengths) else math.inf
    states = [list(stretches)]
    while ways:
        state = list(states[-1])
        room = Disbonded(reduced, {}).room
        if min(room(state, number, way) for way in ways) == 0:
            break
        for way in ways:
            state[number] = moved(state[number], way, 1)
        if path.size(state[number].first, state[number].last) > most * (1 + 1e-9):
            break
        states.append(state)
    G = np.zeros((len(pressures), len(states)))
    limit = np.full_like(G, math.nan)
    for i, pressure in enumerate(pressures):
        disbonded = Pair(reduced, companion, loads_at(case, float(pressure)))
        for j, state in enumerate(states):
            tips = [disbonded.tip(state, number, way) for way in ways]
            if not tips:
                continue
            limits = [tough.limit(tip) if tough else math.nan for tip in tips]
            nearer = max(
                range(len(tips)), key=lambda k: tips[k].G / limits[k] if tough else tips[k].G
            )
            G[i, j], limit[i, j] = tips[nearer].G, limits[nearer]
    found = np.array([path.size(state[number].first, state[number].last) for state in states])
    return GrowthCurve(found, np.asarray(pressures, float), G, limit)
