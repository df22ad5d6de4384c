"""The points of a study.

Formulation
    Every plan is made as shares in the unit cube, column by variable, and turned into values by
    the variables' spreads; correlated groups are joined in between. The same seed gives the same
    points, whatever the batches.
    - grid: every combination, the last variable fastest.
    - sample: scrambled Sobol' sequence or Latin hypercube (`scipy.stats.qmc`).
    - sensitivity: Morris' trajectories, or Saltelli's scheme for Sobol' indices (`SALib`).
Source
    I.M. Sobol', USSR Comput. Math. Math. Phys. 7 (1967) 86-112; M.D. McKay, R.J. Beckman & W.J.
    Conover, Technometrics 21 (1979) 239-245; M.D. Morris, Technometrics 33 (1991) 161-174;
    A. Saltelli, Comput. Phys. Commun. 145 (2002) 280-297 (values from memory).
"""

from __future__ import annotations

import itertools
import math
import warnings
from collections.abc import Sequence
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from post.study.ask import Do
from post.study.spreads import Choices, Group, Variable, correlate

Floats = NDArray[np.float64]

MORRIS_LEVELS = 4
INSIDE = 1e-9  # shares of a sequence stay so far from 0 and 1


def count_points(do: Do, variables: Sequence[Variable]) -> int:
    """How many points a plan has (the most, for a search)."""
    if do.sample:
        return do.sample.points
    if do.sensitivity:
        more = 1 if do.sensitivity.method == "morris" else 2
        return do.sensitivity.repeats * (len(variables) + more)
    if do.best:
        return do.best.population * (do.best.generations + 1)
    return math.prod(len(variable.spread.levels()) for variable in variables)


def problem(variables: Sequence[Variable]) -> dict[str, Any]:
    """Describe the unit cube as the sensitivity library asks for it."""
    return {
        "num_vars": len(variables),
        "names": [variable.name for variable in variables],
        "bounds": [[0.0, 1.0]] * len(variables),
    }


def shares(do: Do, variables: Sequence[Variable], seed: int) -> Floats:
    """Points in the unit cube, (n, k); not for grid and best.

    Parameters
    ----------
    do : Do
    variables : sequence of k Variable
    seed : int
    """
    if do.sample:
        from scipy.stats import qmc  # takes as long to load as two points to solve

        rng = np.random.default_rng(seed)
        if do.sample.sequence == "sobol":
            engine: Any = qmc.Sobol(len(variables), rng=rng)
        else:
            engine = qmc.LatinHypercube(len(variables), rng=rng)
        with warnings.catch_warnings():
            warnings.filterwarnings("ignore", "The balance properties")
            u = engine.random(do.sample.points)
        return np.asarray(np.clip(u, INSIDE, 1 - INSIDE))
    assert do.sensitivity is not None
    repeats = do.sensitivity.repeats
    if do.sensitivity.method == "morris":
        from SALib.sample import morris

        return np.asarray(morris.sample(problem(variables), repeats, MORRIS_LEVELS, seed=seed))
    from SALib.sample import sobol

    return np.asarray(sobol.sample(problem(variables), repeats, calc_second_order=False, seed=seed))


def values_at(
    u: Floats, variables: Sequence[Variable], groups: Sequence[Group] = ()
) -> pd.DataFrame:
    """Turn shares into a table of values, one row a point, one column a variable."""
    joined = correlate(u, [variable.name for variable in variables], groups)
    columns = {v.name: v.spread.at(joined[:, i]) for i, v in enumerate(variables)}
    return pd.DataFrame(columns)


def plan_points(
    do: Do, variables: Sequence[Variable], groups: Sequence[Group], seed: int
) -> pd.DataFrame:
    """Make the points of a grid, a sample or a sensitivity study.

    Returns
    -------
    DataFrame
        ``point`` from 0, then a column for each variable in inside units.
    """
    if do.grid:
        rows = itertools.product(*(variable.spread.levels() for variable in variables))
        table = pd.DataFrame(list(rows), columns=[variable.name for variable in variables])
    else:
        table = values_at(shares(do, variables, seed), variables, groups)
    table.insert(0, "point", np.arange(len(table)))
    return table


def is_even(variable: Variable) -> bool:
    """Whether a grid's values of a variable are ordered numbers, so that a curve joins them."""
    return variable.numeric and not (
        isinstance(variable.spread, Choices) and len(variable.spread.values) < 2
    )
