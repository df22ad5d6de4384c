"""What is found of disbonds: each one of a case, and how long one may be anywhere.

Frame and units
    s runs along a bond from its open edge (`geometry.section.BondLine`), mm. Energy release rates
    are N/mm, which is kJ/m^2; pressures MPa.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from geometry.case import Flaw

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class TipResult:
    """One end of a disbond.

    Attributes
    ----------
    s, r, z : float
        Where it is, mm.
    direction : int
        +1 where growth goes towards growing s, -1 where it goes back.
    G : float
        Total energy release rate at duty.
    G_I, G_II, G_III : float
        Its shares by opening, shearing in the section and shearing around the hull, closed over
        `closure_length`; they add up to G.
    limit : float
        Toughness at that mix of modes; NaN where a constant is missing.
    closure_length : float
        Length over which the modes are told apart, mm.
    pressure : float
        Least pressure at which it grows; infinite where no sea does it, NaN where not judged.
    error : float
        Numerical error of that pressure.
    stable : bool or None
        Whether growth stops by itself when that pressure is held; None where it does not grow.
    why : str
        Why there is no pressure, or what is said of the growth; may be empty.
    """

    s: float
    r: float
    z: float
    direction: int
    G: float
    G_I: float
    G_II: float
    G_III: float
    limit: float
    closure_length: float
    pressure: float
    error: float
    stable: bool | None
    why: str


@dataclass(frozen=True)
class FlawResult:
    """One disbond of a case, the others present.

    Attributes
    ----------
    number : int
        Place in the case's list, from 0.
    flaw : Flaw
    flooded : bool
        Whether the sea stands in it.
    tips : tuple of TipResult
        One of a disbond open at an edge, two of a buried one; none where the whole bond is off.
    closed_share : float
        Share of its length in contact at duty.
    overlap : float
        Largest interpenetration of its faces at duty, mm.
    opening : float
        Largest gap between its faces at duty, mm.
    """

    number: int
    flaw: Flaw
    flooded: bool
    tips: tuple[TipResult, ...]
    closed_share: float
    overlap: float
    opening: float


@dataclass(frozen=True)
class GrowthCurve:
    """Energy release rate along the growth of a disbond.

    Attributes
    ----------
    lengths : (n,) array
        Of the disbond, mm, ascending.
    pressures : (p,) array
    G, limit : (p, n) arrays
        Of the tip nearer to its limit; limit is NaN where a constant is missing.
    """

    lengths: Floats
    pressures: Floats
    G: Floats
    limit: Floats


@dataclass(frozen=True)
class FlawMap:
    """The longest disbond that holds, along one face of one bond.

    Attributes
    ----------
    bond, face : str
    kind : str
        ``edge``: open at the edge where s starts or ends; ``buried``: centred at s.
    s : (n,) array
        Centre of a buried disbond; the open edge of an edge disbond.
    longest : (n,) array
        mm; 0 where none that the mesh can tell holds.
    limited_by : tuple of str
        ``tip at s = 12.0 mm``, or ``end of the bond`` where as long a disbond as the bond lets
        there be still holds.
    pressure : float
        Asked for: at the required depth.
    """

    bond: str
    face: str
    kind: str
    s: Floats
    longest: Floats
    limited_by: tuple[str, ...]
    pressure: float
