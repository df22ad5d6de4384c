"""Fibre kinking: compression along fibres that lie a little astray.

Problem
    Compression turns a fibre that lies at an angle further, until the matrix between the fibres
    can no longer hold it: a kink band forms far below the strength of the fibre itself.
Formulation
    Turned into the frame of the fibre, which lies astray by phi and turns by the matrix's shear
    strain g more, stresses ask the matrix for the shear (small angles)

        shear + c (phi + g),   c = s_across - s11.

    The matrix gives t(g), by Ramberg and Osgood g/gY = t/tY + (3/7) (t/tY)^n, gY = tY/G. There is
    balance if some g has t(g) >= shear + c (phi + g), hence failure where the drive

        shear + c phi >= max over g of [t(g) - c g]
                       = tY (1 - 1/n) (1 - y) [(7/3n) (1 - y)/y]^(1/(n-1))

    with y = c/G; nothing is left to give at y >= 1, and c <= 0 cannot kink. The index is drive
    over resistance. Without shear this is the closed form of Budiansky and Fleck,

        s11 = -G / {1 + n (3/7)^(1/n) [(phi/gY)/(n - 1)]^((n-1)/n)}.

    A fibre may lie astray in any plane, so shear = sqrt(s12^2 + s13^2), against either sign, and
    s_across is the largest normal stress across the fibre. Both are taken together though they
    may stand in different planes, which errs to the safe side, by no more than a change of
    s_across by the difference of the two principal stresses across the fibre. The matrix's shear
    curve is not changed by the pressure across the fibre, and the kink band stands square.
First crossing
    The body is not convex: a little compression lets much shear pass. But c and shear are convex
    along a path and the resistance is convex in c, which bounds the index on any stretch from its
    ends (see `_between`): `first_crossing` walks with that bound and passes over nothing.
Source
    A.S. Argon, in Treatise on Materials Science and Technology 1 (1972) 79-114 (c = tY/phi);
    B. Budiansky, Comput. Struct. 16 (1983) 3-12; B. Budiansky & N.A. Fleck, J. Mech. Phys. Solids
    41 (1993) 183-211. The form with shear is their balance of the band, put as a bound on c and
    shear together.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from post.criteria.crossing import Where, first_crossing
from post.criteria.multiplier import Array, on_path, require_positive, stress_array


@dataclass(frozen=True)
class KinkStrength:
    """Shear curve of a ply, and how far its fibres lie astray.

    Attributes
    ----------
    G12 : float
        Shear modulus at the start, MPa.
    shear_yield : float
        tY of the Ramberg-Osgood curve, MPa: there the strain is 10/7 of the elastic one.
    exponent : float
        n of the curve, above 1.
    waviness : float
        Angle by which fibres lie astray, degrees.
    """

    G12: float
    shear_yield: float
    exponent: float
    waviness: float

    def __post_init__(self) -> None:
        require_positive(self, zero=("waviness",))
        if self.exponent <= 1:
            raise ValueError(f"KinkStrength.exponent = {self.exponent} must be above 1")


def shear_yield_through(G12: float, exponent: float, stress: float, strain: float) -> float:
    """Find tY of the Ramberg-Osgood curve that passes through a measured point.

    Parameters
    ----------
    G12 : float
        MPa.
    exponent : float
    stress : float
        Shear stress of the point, such as the strength S12, MPa.
    strain : float
        Its engineering shear strain; beyond the elastic stress / G12.

    Returns
    -------
    float
        MPa.

    Raises
    ------
    ValueError
        When the strain is no larger than the elastic one.
    """
    plastic = G12 * strain - stress
    if plastic <= 0:
        raise ValueError(f"shear strain {strain} must be above the elastic {stress / G12:.4g}")
    return float((3 / 7 * stress**exponent / plastic) ** (1 / (exponent - 1)))


def argon_strength(shear_yield: float, waviness: float) -> float:
    """Compressive strength for a rigid, perfectly plastic matrix, MPa; waviness in degrees."""
    return float(shear_yield / np.deg2rad(waviness))


def perfectly_plastic_strength(G12: float, shear_yield: float, waviness: float) -> float:
    """Compressive strength for an elastic, perfectly plastic matrix, MPa (Budiansky 1983)."""
    return float(G12 / (1 + np.deg2rad(waviness) * G12 / shear_yield))


def compressive_strength(strength: KinkStrength) -> float:
    """Compressive strength without shear, MPa (Budiansky & Fleck 1993)."""
    n = strength.exponent
    astray = np.deg2rad(strength.waviness) * strength.G12 / strength.shear_yield
    softened = n * (3 / 7) ** (1 / n) * (astray / (n - 1)) ** ((n - 1) / n)
    return float(strength.G12 / (1 + softened))


def index(stress: ArrayLike, strength: KinkStrength) -> Array:
    """Drive over resistance, shape (...).

    Parameters
    ----------
    stress : (6, ...) array
        MPa, ply axes [11, 22, 33, 23, 13, 12].
    strength : KinkStrength

    Returns
    -------
    (...) array
        0 without compression along the fibre, infinity where the compression exceeds G12. It
        grows faster than the stress.
    """
    return _index(*_loads(stress_array(stress)), strength)


@on_path
def multiplier(thermal: Array, unit: Array, strength: KinkStrength) -> Array:
    """First crossing, shape (...).

    Parameters
    ----------
    thermal, unit : (6, ...) arrays
        MPa, ply axes.
    strength : KinkStrength
    """
    T, U = thermal.reshape(6, -1), unit.reshape(6, -1)

    def bound(low: Array, high: Array, where: Where) -> Array:
        T_here, U_here = T[:, where], U[:, where]
        return _between(T_here + low * U_here, T_here + high * U_here, strength)

    return first_crossing(bound, T.shape[1]).reshape(thermal.shape[1:])


def safe(thermal: Array, end: Array, strength: KinkStrength) -> NDArray[np.bool_]:
    """Whether the straight path between two stresses (6, n) is known to be free of failure."""
    return _between(thermal, end, strength) < 1


def _between(start: Array, end: Array, strength: KinkStrength) -> Array:
    """Bound on the index between two stresses, below 1 only where the index is throughout.

    The lesser of two, each the index itself where the stresses are the same. The larger c and the
    larger shear of the ends, taken together, bound it from afar. Close by, the resistance, convex
    in c, lies above its tangent at the mean c; drive less tangent is convex along the path, hence
    largest at an end.
    """
    (c0, shear0), (c1, shear1) = _loads(start), _loads(end)
    far = _index(np.maximum(c0, c1), np.maximum(shear0, shear1), strength)
    middle = np.clip(0.5 * (c0 + c1), 1e-9 * strength.G12, strength.G12)
    resistance, strain = _resistance(middle, strength)
    turn = np.deg2rad(strength.waviness) + strain
    with np.errstate(over="ignore", invalid="ignore"):
        ask = np.maximum(shear0 + turn * c0, shear1 + turn * c1) - strain * middle
        near = ask / np.maximum(resistance, 1e-300)
    near = np.where(np.maximum(c0, c1) < strength.G12, near, np.inf)  # no resistance is left
    return np.asarray(np.fmin(far, near))


def _loads(s: Array) -> tuple[Array, Array]:
    """Give c = s_across - s11 and the shear along the fibre, MPa."""
    across = 0.5 * (s[1] + s[2]) + np.hypot(0.5 * (s[1] - s[2]), s[3])
    return across - s[0], np.hypot(s[4], s[5])


def _index(c: Array, shear: Array, strength: KinkStrength) -> Array:
    resistance, _ = _resistance(c, strength)
    with np.errstate(over="ignore"):
        drive = shear + c * np.deg2rad(strength.waviness)
        out = drive / np.maximum(resistance, 1e-300)
    out = np.where(c >= strength.G12, np.inf, out)
    return np.where(c > 0, out, 0.0)


def _resistance(c: Array, strength: KinkStrength) -> tuple[Array, Array]:
    """Largest t(g) - c g, MPa, and the strain g at which it is reached: its slope against c."""
    n = strength.exponent
    y = np.clip(c / strength.G12, 1e-300, 1)
    with np.errstate(over="ignore"):
        stretch = (7 / (3 * n) * (1 - y) / y) ** (1 / (n - 1))  # t / tY
        resistance = strength.shear_yield * (1 - 1 / n) * (1 - y) * stretch
        strain = strength.shear_yield / strength.G12 * stretch * (1 + (1 - y) / (n * y))
    return resistance, strain
