"""Order, limit and error of a number that is known on three meshes.

Problem
    A number f1, f2, f3 on a fine, a medium and a coarse mesh. How fast does it converge, where
    to, and how far is it from there?
Formulation
    f = f0 + c h^p. With r21, r32 the ratios of element sizes, the order p solves

        (f3 - f2) / (f2 - f1) = r21^p (r32^p - 1) / (r21^p - 1),

    whose right side grows with p: one root, for equal ratios ln[(f3 - f2)/(f2 - f1)] / ln r. Then

        f0 = f1 + (f1 - f2) / (r21^p - 1),
        index = `SAFETY` |(f1 - f2) / f1| / (r21^p - 1).

    A singular point shows by an order below zero: its stress runs away, and there is no limit.
Symbols
    p order; f0 limit; h element size; index: the grid convergence index, a share of the number.
Source
    P.J. Roache, J. Fluids Eng. 116 (1994) 405-413; for unequal ratios I.B. Celik et al., J. Fluids
    Eng. 130 (2008) 078001.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.optimize import brentq

SAFETY = 1.25  # Roache's factor where three meshes are known
STEEPEST = 50.0  # orders beyond this are not looked for


@dataclass(frozen=True)
class Convergence:
    """What three meshes say.

    Attributes
    ----------
    order : float
        Observed order p.
    limit : float
        f0, in the unit of the numbers; NaN unless the order is above zero.
    fine_index, coarse_index : float
        Grid convergence index of the fine and of the medium mesh, shares of f1 and f2; infinite
        unless the order is above zero.
    """

    order: float
    limit: float
    fine_index: float
    coarse_index: float


def observed_order(
    fine: float, medium: float, coarse: float, ratio: float = 2.0, coarse_ratio: float | None = None
) -> float:
    """Observed order of convergence.

    Parameters
    ----------
    fine, medium, coarse : float
    ratio, coarse_ratio : float
        Element size of the medium over the fine mesh and of the coarse over the medium one, both
        above 1; the second is as the first if left out.

    Raises
    ------
    ValueError
        If the numbers do not move on in one direction, or a ratio is not above 1.
    """
    coarse_ratio = ratio if coarse_ratio is None else coarse_ratio
    if not (ratio > 1 and coarse_ratio > 1):
        raise ValueError(f"ratios of element sizes are above 1, not {ratio:g} and {coarse_ratio:g}")
    steps = coarse - medium, medium - fine
    if not steps[0] * steps[1] > 0:
        raise ValueError(f"{coarse:g}, {medium:g}, {fine:g} do not move on in one direction")
    log_21, log_32 = np.log(ratio), np.log(coarse_ratio)

    def miss(p: float) -> float:
        grown = np.expm1(p * log_32) / -np.expm1(-p * log_21) if p else log_32 / log_21
        return float(np.log(grown) - np.log(steps[0] / steps[1]))

    bound = STEEPEST / min(1.0, log_21, log_32)
    return float(brentq(miss, -bound, bound, xtol=1e-14))


def convergence(
    fine: float, medium: float, coarse: float, ratio: float = 2.0, coarse_ratio: float | None = None
) -> Convergence:
    """Order, limit and grid convergence indices; arguments as of `observed_order`."""
    coarse_ratio = ratio if coarse_ratio is None else coarse_ratio
    order = observed_order(fine, medium, coarse, ratio, coarse_ratio)
    if order <= 0:
        return Convergence(order, np.nan, np.inf, np.inf)
    gain, coarse_gain = ratio**order - 1, coarse_ratio**order - 1
    return Convergence(
        order=order,
        limit=fine + (fine - medium) / gain,
        fine_index=SAFETY * abs((fine - medium) / fine) / gain,
        coarse_index=SAFETY * abs((medium - coarse) / medium) / coarse_gain,
    )
