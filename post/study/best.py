"""The best design of a study: one aim by differential evolution, two by non-dominated sorting.

Formulation
    The search runs in the unit cube; every design that it asks for goes through the same model as
    a point of any other study, a population at a time, and is a row of the table. A design that
    was asked for before is not solved again: so a search that was stopped goes through what it
    has in a moment and takes the same way. A limit that is broken, or a design that cannot be
    built, comes after every design that holds, by how much it breaks (Deb's rule).
Source
    R. Storn & K. Price, J. Global Optim. 11 (1997) 341-359, through `scipy.optimize`; K. Deb,
    Comput. Methods Appl. Mech. Eng. 186 (2000) 311-338 (feasible first); `post.study.front`.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from post.study.ask import Best
from post.study.front import first_front, search_front
from post.study.plans import values_at
from post.study.spreads import Variable

Floats = NDArray[np.float64]
EvaluatePoints = Callable[[pd.DataFrame], list[dict[str, Any]]]
"""From points to their rows."""

UNBUILT = 1e9  # violation of a design that cannot be built
BROKEN = 1e12  # an aim beyond those of designs that hold


def aims_of(best: Best, rows: Sequence[Mapping[str, Any]]) -> tuple[Floats, Floats]:
    """Aims to be made small, (n, m), and violations, (n,), of rows.

    A violation is the sum over limits of how far each is broken, as a share of the limit.
    """
    signs = [(name, 1.0) for name in best.least] + [(name, -1.0) for name in best.most]
    aims, violation = np.zeros((len(rows), len(signs))), np.zeros(len(rows))
    for i, row in enumerate(rows):
        wanted = [*(name for name, _ in signs), *best.subject_to]
        values = [row.get(name, math.nan) for name in wanted]
        if row["status"] != "solved" or any(math.isnan(float(v)) for v in values):
            aims[i], violation[i] = BROKEN, UNBUILT
            continue
        aims[i] = [sign * min(max(float(row[name]), -BROKEN), BROKEN) for name, sign in signs]
        for name, limit in best.subject_to.items():
            value = float(row[name])
            for bound, over in ((limit.at_least, -1.0), (limit.at_most, 1.0)):
                if bound is not None and over * (value - bound) > 0:
                    share = over * (value - bound) / (abs(bound) or 1.0)
                    violation[i] += min(share, UNBUILT / 10)
    return aims, violation


def search(
    best: Best, variables: Sequence[Variable], seed: int, evaluate: EvaluatePoints
) -> pd.DataFrame:
    """Search for the best designs.

    Parameters
    ----------
    best : Best
    variables : sequence of Variable
    seed : int
    evaluate : callable
        Takes points with their numbers.

    Returns
    -------
    DataFrame
        Every design that was tried, in order, each once; ``best`` tells the chosen ones.
    """
    tried: dict[tuple[Any, ...], int] = {}
    rows: list[dict[str, Any]] = []

    def at(u: Floats) -> tuple[Floats, Floats]:
        points = values_at(u, variables)
        keys = list(points.itertuples(index=False, name=None))
        new = [key for key in dict.fromkeys(keys) if key not in tried]
        for key in new:
            tried[key] = len(tried)
        if new:
            fresh = pd.DataFrame(new, columns=points.columns)
            fresh.insert(0, "point", [tried[key] for key in new])
            found = evaluate(fresh)
            rows.extend(
                {**dict(zip(fresh.columns, (tried[key], *key), strict=True)), **row}
                for key, row in zip(new, found, strict=True)
            )
        return aims_of(best, [rows[tried[key]] for key in keys])

    k = len(variables)
    if len(best.least) + len(best.most) == 2:
        rng = np.random.default_rng(seed)
        search_front(at, k, best.population, best.generations, rng)
    else:
        from scipy.optimize import differential_evolution

        def penalised(u: Floats) -> Floats:
            aims, violation = at(np.atleast_2d(u.T))
            return np.asarray(np.where(violation > 0, BROKEN * (1 + violation), aims[:, 0]))

        differential_evolution(
            penalised,
            [(0.0, 1.0)] * k,
            maxiter=best.generations,
            init=_start(best.population, k, seed),
            rng=np.random.default_rng(seed),
            tol=0.0,
            polish=False,
            updating="deferred",
            vectorized=True,
        )
    table = pd.DataFrame(rows)
    aims, violation = aims_of(best, rows)
    table["best"] = first_front(aims, violation)
    return table


def _start(population: int, k: int, seed: int) -> Floats:
    from scipy.stats import qmc

    engine = qmc.LatinHypercube(k, rng=np.random.default_rng(seed))
    return np.asarray(engine.random(max(population, 5)))
