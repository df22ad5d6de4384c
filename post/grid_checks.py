"""Order, limit and index of grid convergence against published examples."""

from __future__ import annotations

from post.grid_convergence import convergence
from solve.check import Check, Reference

_TOPIC = "Grid convergence"
ROACHE = Reference(
    _TOPIC, "NPARC Alliance, Examining Spatial (Grid) Convergence; Roache 1994", "recomputed"
)
CELIK = Reference(
    _TOPIC, "Celik et al., J. Fluids Eng. 130 (2008) 078001, Table 1, first column", "recomputed"
)


def grid_checks() -> list[Check]:
    """Check three grids that halve, and three that do not."""
    even = convergence(0.97050, 0.96854, 0.96178)
    asymptotic = even.coarse_index / (2**even.order * even.fine_index)
    uneven = convergence(6.063, 5.972, 5.863, 1.5, 1.333)
    return [
        ROACHE.check("order of three halved grids", "1", "1.786170", even.order),
        ROACHE.check("their limit", "1", "0.971300", even.limit),
        ROACHE.check("index of the fine grid", "%", "0.103083", 100 * even.fine_index),
        ROACHE.check("index of the medium grid", "%", "0.356249", 100 * even.coarse_index),
        ROACHE.check("medium over fine index and 2^p", "1", "1.002024", asymptotic),
        CELIK.check("order of grids in the ratios 1.5 and 1.333", "1", "1.5372", uneven.order),
        CELIK.check("their limit", "1", "6.16820", uneven.limit),
        CELIK.check("their index", "%", "2.169", 100 * uneven.fine_index),
    ]
