"""What a criterion is: a name, its modes, and its two functions."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Generic, TypeVar

import numpy as np
from numpy.typing import ArrayLike, NDArray

from post.criteria.multiplier import Array

S = TypeVar("S")


@dataclass(frozen=True)
class Criterion(Generic[S]):
    """A failure criterion, for those that go through several of them.

    Attributes
    ----------
    name : str
    source : str
    modes : tuple of str
        One name or several.
    indices : callable
        indices(stress, strength), (modes, ...); failure where 1 or above.
    multipliers : callable
        multipliers(thermal, unit, strength), (modes, ...).
    safe : callable, optional
        safe(thermal, end, strength), (n,) of bool, for criteria of one mode whose multiplier is
        dear: True only where no failure lies between two stresses (components, n).
    """

    name: str
    source: str
    modes: tuple[str, ...]
    indices: Callable[[ArrayLike, S], Array]
    multipliers: Callable[[ArrayLike, ArrayLike, S], Array]
    safe: Callable[[Array, Array, S], NDArray[np.bool_]] | None = None
