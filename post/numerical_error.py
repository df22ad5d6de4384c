"""The numerical error of a number that is known on two meshes.

Formulation
    error = `SAFETY` * |fine - coarse|, the coarse mesh of twice the element size: the index of
    two grids with the order taken as one, for which 2^1 - 1 = 1.
Floor
    Two meshes can agree by chance. So an error is never shown smaller than a share of the number
    that even a good mesh was seen to move by: a thousandth for means over a length, three for
    stress at a point, whose place may change with the mesh (tests judge the demos and every form
    on a finer mesh against it).
Source
    P.J. Roache, J. Fluids Eng. 116 (1994) 405-413.
"""

from __future__ import annotations

import math

SAFETY = 3.0  # Roache's factor where only two meshes are known
MEAN_FLOOR = 1e-3  # of a mean over a length: its error is not shown smaller
POINT_FLOOR = 3e-3  # the same of a number read at a point


def two_grid_error(fine: float, coarse: float, floor: float = 0.0) -> float:
    """Estimate the numerical error of `fine` from its movement.

    Parameters
    ----------
    fine, coarse : float
        The same number on a mesh and on one of twice the element size.
    floor : float
        Least error, as a share of `fine`.

    Returns
    -------
    float
        In the unit of the numbers, not negative; 0 where both are infinite (never reached on
        either mesh), infinity where one of them is.
    """
    if math.isinf(fine) and fine == coarse:
        return 0.0
    if math.isinf(fine):
        return math.inf
    return max(SAFETY * abs(fine - coarse), floor * abs(fine))
