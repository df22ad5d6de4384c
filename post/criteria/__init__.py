"""Failure criteria: each a small module with an `index` and a `multiplier`.

Stresses are what `post.criteria.multiplier` says. The criteria below are the same functions with
their names, modes and sources, for code that goes through several of them.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import TypeVar

import numpy as np
from numpy.typing import ArrayLike, NDArray

from post.criteria import (
    hashin,
    interlaminar,
    kinking,
    maximum_stress,
    peel_shear,
    principal_stress,
    puck,
    raghava,
    tsai_wu,
    void_crushing,
    von_mises,
)
from post.criteria.criterion import Criterion
from post.criteria.multiplier import Array

S = TypeVar("S")


def _single(
    name: str,
    source: str,
    mode: str,
    index: Callable[[ArrayLike, S], Array],
    multiplier: Callable[[ArrayLike, ArrayLike, S], Array],
    safe: Callable[[Array, Array, S], NDArray[np.bool_]] | None = None,
) -> Criterion[S]:
    """Make a criterion of one mode from functions that know no modes."""
    return Criterion(
        name,
        source,
        (mode,),
        lambda stress, strength: index(stress, strength)[None],
        lambda thermal, unit, strength: multiplier(thermal, unit, strength)[None],
        safe,
    )


MAXIMUM_STRESS = Criterion(
    "maximum stress",
    "common practice, no published source",
    maximum_stress.MODES,
    maximum_stress.mode_indices,
    maximum_stress.mode_multipliers,
)
TSAI_WU = _single(
    "Tsai-Wu",
    "Tsai & Wu, J. Compos. Mater. 5 (1971) 58-80",
    "ply",
    tsai_wu.index,
    tsai_wu.multiplier,
)
HASHIN = Criterion(
    "Hashin",
    "Hashin, J. Appl. Mech. 47 (1980) 329-334",
    hashin.MODES,
    hashin.mode_indices,
    hashin.mode_multipliers,
)
PUCK = _single(
    "Puck",
    "Puck & Schuermann, Compos. Sci. Technol. 58 (1998) 1045-1067",
    "between the fibres",
    puck.index,
    puck.multiplier,
    puck.safe,
)
KINKING = _single(
    "kinking",
    "Budiansky & Fleck, J. Mech. Phys. Solids 41 (1993) 183-211",
    "fibre kinking",
    kinking.index,
    kinking.multiplier,
    kinking.safe,
)
PEEL_SHEAR = _single(
    "peel and shear",
    "common practice, no published source",
    "bond",
    peel_shear.index,
    peel_shear.multiplier,
)
RAGHAVA = _single(
    "Raghava",
    "Raghava, Caddell & Yeh, J. Mater. Sci. 8 (1973) 225-232",
    "adhesive yield",
    raghava.index,
    raghava.multiplier,
)
PRINCIPAL_STRESS = _single(
    "largest principal stress",
    "Rankine",
    "adhesive tension",
    principal_stress.index,
    principal_stress.multiplier,
)
INTERLAMINAR = _single(
    "interlaminar",
    "Brewer & Lagace, J. Compos. Mater. 22 (1988) 1141-1155",
    "delamination",
    interlaminar.index,
    interlaminar.multiplier,
)
VOID_CRUSHING = _single(
    "void crushing",
    "Hill, The Mathematical Theory of Plasticity, 1950 (value from memory)",
    "void crushing",
    void_crushing.index,
    void_crushing.multiplier,
)
VON_MISES = _single(
    "von Mises",
    "von Mises 1913",
    "metal yield",
    von_mises.index,
    von_mises.multiplier,
)

__all__ = [
    "HASHIN",
    "INTERLAMINAR",
    "KINKING",
    "MAXIMUM_STRESS",
    "PEEL_SHEAR",
    "PRINCIPAL_STRESS",
    "PUCK",
    "RAGHAVA",
    "TSAI_WU",
    "VOID_CRUSHING",
    "VON_MISES",
    "Criterion",
]
