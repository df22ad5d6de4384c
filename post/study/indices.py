"""How much each variable matters: Morris' effects, Sobol' indices, rank correlations.

Formulation
    - Sobol': share of the variance that goes with x_i alone (first order) and with x_i in any
      company (total), by Saltelli's and Jansen's estimators, with bootstrap intervals (`SALib`).
    - Morris: mean of the absolute effects mu*, and their standard deviation sigma, of steps in the
      unit cube; mu* has a bootstrap interval.
    - A sample: Spearman's rank correlation, with the interval of Fisher's z under the variance
      (1 + rho^2 / 2) / (n - 3).
    A point that was refused takes its whole block of Saltelli, or its whole trajectory, with it:
    the estimators need them complete. How many were left is part of the result.
Source
    A. Saltelli et al., Comput. Phys. Commun. 181 (2010) 259-270; F. Campolongo, J. Cariboni &
    A. Saltelli, Environ. Model. Softw. 22 (2007) 1509-1518; D.G. Bonett & T.A. Wright,
    Psychometrika 65 (2000) 23-28 (values from memory).
"""

from __future__ import annotations

import warnings
from collections.abc import Sequence

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from scipy import stats

from post.study.ask import Do
from post.study.plans import MORRIS_LEVELS, problem, shares
from post.study.spreads import Variable

Floats = NDArray[np.float64]

CONFIDENCE = 0.95
RESAMPLES = 500


def sobol_indices(
    values: Floats, variables: Sequence[Variable], repeats: int, seed: int
) -> tuple[pd.DataFrame, int]:
    """Sobol' indices of one headline.

    Parameters
    ----------
    values : (repeats * (k + 2),) array
        In the order of the plan; NaN where a point was refused.
    variables : sequence of k Variable
    repeats, seed : int

    Returns
    -------
    table : DataFrame
        ``variable, first, first_interval, total, total_interval``; intervals are half widths at
        `CONFIDENCE`. Zeros where the headline does not vary, NaN where too few blocks are left.
    blocks : int
        Complete blocks.
    """
    from SALib.analyze import sobol

    blocks = values.reshape(repeats, len(variables) + 2)
    whole = blocks[np.isfinite(blocks).all(axis=1)]
    names = [variable.name for variable in variables]
    columns = ("first", "first_interval", "total", "total_interval")
    if len(whole) < 8 or np.ptp(whole) == 0:
        fill = 0.0 if len(whole) >= 8 else np.nan
        return pd.DataFrame({"variable": names, **dict.fromkeys(columns, fill)}), len(whole)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # of its own use of pandas
        found = sobol.analyze(
            problem(variables),
            whole.ravel(),
            calc_second_order=False,
            num_resamples=RESAMPLES,
            conf_level=CONFIDENCE,
            seed=seed,
        )
    keys = ("S1", "S1_conf", "ST", "ST_conf")
    return pd.DataFrame(
        {"variable": names, **{c: found[k] for c, k in zip(columns, keys, strict=True)}}
    ), len(whole)


def morris_effects(
    values: Floats, variables: Sequence[Variable], do: Do, seed: int
) -> tuple[pd.DataFrame, int]:
    """Morris' effects of one headline, in its own unit per whole range of a variable.

    Returns
    -------
    table : DataFrame
        ``variable, mu_star, mu_star_interval, mu, sigma``.
    trajectories : int
        Complete ones.
    """
    from SALib.analyze import morris

    k = len(variables)
    u = shares(do, variables, seed).reshape(-1, k + 1, k)
    y = values.reshape(-1, k + 1)
    whole = np.isfinite(y).all(axis=1)
    names = [variable.name for variable in variables]
    columns = ("mu_star", "mu_star_interval", "mu", "sigma")
    if whole.sum() < 3:
        return pd.DataFrame({"variable": names, **dict.fromkeys(columns, np.nan)}), int(whole.sum())
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        found = morris.analyze(
            problem(variables),
            u[whole].reshape(-1, k),
            y[whole].ravel(),
            num_resamples=RESAMPLES,
            conf_level=CONFIDENCE,
            num_levels=MORRIS_LEVELS,
            seed=seed,
        )
    keys = ("mu_star", "mu_star_conf", "mu", "sigma")
    table = {c: np.asarray(found[k], float) for c, k in zip(columns, keys, strict=True)}
    return pd.DataFrame({"variable": names, **table}), int(whole.sum())


def rank_correlations(
    table: pd.DataFrame, headline: str, variables: Sequence[Variable]
) -> pd.DataFrame:
    """Rank correlations of a headline with every numeric variable of a sample.

    Returns
    -------
    DataFrame
        ``variable, correlation, low, high``.
    """
    rows = []
    z = stats.norm.ppf((1 + CONFIDENCE) / 2)
    for variable in variables:
        if not variable.numeric:
            continue
        x, y = table[variable.name].to_numpy(float), table[headline].to_numpy(float)
        known = np.isfinite(x) & np.isfinite(y)
        x, y = x[known], y[known]
        if len(x) < 5 or np.ptp(x) == 0 or np.ptp(y) == 0:
            continue
        rho = float(stats.spearmanr(x, y).statistic)
        half = z * np.sqrt((1 + rho**2 / 2) / (len(x) - 3))
        middle = np.arctanh(np.clip(rho, -1 + 1e-12, 1 - 1e-12))
        rows.append((variable.name, rho, np.tanh(middle - half), np.tanh(middle + half)))
    return pd.DataFrame(rows, columns=["variable", "correlation", "low", "high"])
