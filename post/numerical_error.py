"""The numerical error of a number that is known on two meshes.

Formulation
    error = `SAFETY` * |fine - coarse|, the coarse mesh of twice the element size: the index of
    two grids with the order taken as one, for which 2^1 - 1 = 1.
Source
    P.J. Roache, J. Fluids Eng. 116 (1994) 405-413.
"""

from __future__ import annotations

import math

SAFETY = 3.0  # Roache's factor where only two meshes are known


def two_grid_error(fine: float, coarse: float) -> float:
    """Estimate the numerical error of `fine` from its movement.

    Parameters
    ----------
    fine, coarse : float
        The same number on a mesh and on one of twice the element size.

    Returns
    -------
    float
        In the unit of the numbers, not negative; 0 where both are infinite (never reached on
        either mesh), infinity where one of them is.
    """
    if math.isinf(fine) and fine == coarse:
        return 0.0
    return SAFETY * abs(fine - coarse)
