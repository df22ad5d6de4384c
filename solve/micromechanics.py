"""What voids and hard particles do to an adhesive, and voids to a ply.

Problem
    An adhesive holds bubbles and a filler, a wall holds pores. What are their constants then, and
    at which pressure is a bubble crushed?
Formulation
    Spheres in an isotropic matrix, by Mori and Tanaka: each inclusion sees the mean strain of the
    matrix around it. With the bulk modulus K, the shear modulus G and the share f of each kind,

        a = 3 K / (3 K + 4 G),  b = 6 (K + 2 G) / (5 (3 K + 4 G))       of the matrix
        A_i = 1 / (1 + a (K_i / K - 1))                                 dilute concentration
        K* = sum(f_i K_i A_i) / sum(f_i A_i)                            the matrix with A = 1

    and G* alike with b. Expansion: alpha* K* = sum(f_i K_i A_i alpha_i) / sum(f_i A_i), which for
    one kind of inclusion is Levin's exact relation. For one kind the moduli are the bound of
    Hashin and Shtrikman. Voids have K = G = 0 and leave the expansion as it is.

    Long round pores along the fibres of a transversely isotropic ply, by the same scheme in
    Hill's moduli (k plane-strain bulk, m and p shear across and along, E1, nu12):

        k* = (1 - f) k m / (m + f k),  m* = (1 - f) k m / (k + f (k + 2 m)),
        p* = p (1 - f) / (1 + f),      E1* = (1 - f) E1,   nu12* = nu12

    where 1/k = 2 (1 - nu23) / E2 - 4 nu12^2 / E1, m = G23, p = G12. The modulus along the fibre
    is that of the solid share (rule of mixtures) without being asked to be. Assumed: pores are
    round and run along the fibres, as the gas between tows does; flat pores between plies cost
    more through the thickness.

    A spherical pore under a pressure P far away carries 1.5 P around its wall and yields there
    first at P = 2/3 Y; the hollow sphere of which it is the share f of the volume yields there at
    2/3 Y (1 - f) and gives way altogether at 2/3 Y ln(1/f). The pore holds gas of no pressure.
Units
    MPa, 1/K, tonne/mm^3; shares as fractions of the whole volume.
Source
    T. Mori, K. Tanaka, Acta Metall. 21 (1973) 571-574; Y. Benveniste, Mech. Mater. 6 (1987)
    147-157; V.M. Levin, Mech. Solids 2 (1967) 58-61; T. Chen, G.J. Dvorak, Y. Benveniste, J. Appl.
    Mech. 59 (1992) 539-546 (aligned cylinders); R. Hill, The Mathematical Theory of Plasticity,
    1950, ch. V (hollow sphere); S.P. Timoshenko, J.N. Goodier, Theory of Elasticity, 3rd ed. 1970
    (thick sphere) (values from memory; the tests derive each by another route).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

AT_A_PORE = 1.5  # hoop stress at a small spherical pore, over the pressure far away


@dataclass(frozen=True)
class Solid:
    """An isotropic solid; all nought for a void.

    Attributes
    ----------
    E : float
        Young's modulus, MPa.
    nu : float
    cte : float
        1/K.
    density : float
        tonne/mm^3; NaN where it is not known.
    """

    E: float
    nu: float
    cte: float = 0.0
    density: float = math.nan

    @property
    def bulk(self) -> float:
        """Bulk modulus, MPa."""
        return self.E / (3 * (1 - 2 * self.nu))

    @property
    def shear(self) -> float:
        """Shear modulus, MPa."""
        return self.E / (2 * (1 + self.nu))


VOID = Solid(0.0, 0.0, 0.0, 0.0)


@dataclass(frozen=True)
class PlyConstants:
    """A transversely isotropic ply: MPa, nu12 = -strain_2 / strain_1 under stress_1."""

    E1: float
    E2: float
    G12: float
    nu12: float
    nu23: float

    @property
    def G23(self) -> float:
        """Shear modulus across the fibres, MPa."""
        return self.E2 / (2 * (1 + self.nu23))


def with_spheres(matrix: Solid, spheres: Sequence[tuple[float, Solid]]) -> Solid:
    """Mori-Tanaka constants of a matrix with spheres of several kinds.

    Parameters
    ----------
    matrix : Solid
    spheres : sequence of (float, Solid)
        Each kind's share of the whole volume, and what it is made of; `VOID` for voids.

    Returns
    -------
    Solid
        Its density is the mean over the volume.

    Raises
    ------
    ValueError
        When a share is negative or no matrix is left.
    """
    shares = [share for share, _ in spheres]
    left = 1.0 - math.fsum(shares)
    if min(shares, default=0.0) < 0 or left <= 0:
        raise ValueError(f"shares {shares} leave no matrix, or are negative")
    K, G = matrix.bulk, matrix.shear
    a = 3 * K / (3 * K + 4 * G)
    b = 6 * (K + 2 * G) / (5 * (3 * K + 4 * G))
    parts = [(left, matrix), *spheres]
    bulk = [f / (1 + a * (one.bulk / K - 1)) for f, one in parts]
    shear = [f / (1 + b * (one.shear / G - 1)) for f, one in parts]
    carried = [weight * one.bulk for weight, (_, one) in zip(bulk, parts, strict=True)]
    K_ = math.fsum(carried) / math.fsum(bulk)
    G_ = math.fsum(w * one.shear for w, (_, one) in zip(shear, parts, strict=True))
    G_ /= math.fsum(shear)
    cte = math.fsum(c * one.cte for c, (_, one) in zip(carried, parts, strict=True))
    return Solid(
        E=9 * K_ * G_ / (3 * K_ + G_),
        nu=(3 * K_ - 2 * G_) / (2 * (3 * K_ + G_)),
        cte=cte / math.fsum(carried),
        density=math.fsum(f * one.density for f, one in parts),
    )


def with_pores_along(ply: PlyConstants, share: float) -> PlyConstants:
    """Mori-Tanaka constants of a ply with round pores along its fibres.

    Parameters
    ----------
    ply : PlyConstants
    share : float
        Of pores in the volume, below 1.

    Returns
    -------
    PlyConstants
        Expansion is that of the ply without pores.

    Raises
    ------
    ValueError
        When the share is negative or nothing is left.
    """
    if not 0 <= share < 1:
        raise ValueError(f"a share of pores of {share} is not in 0 to 1")
    f, left = share, 1 - share
    axial = 4 * ply.nu12**2 / ply.E1
    k = 1 / (2 * (1 - ply.nu23) / ply.E2 - axial)
    m = ply.G23
    k_ = left * k * m / (m + f * k)
    m_ = left * k * m / (k + f * (k + 2 * m))
    E1 = left * ply.E1
    E2 = 4 / (1 / k_ + 1 / m_ + 4 * ply.nu12**2 / E1)
    return PlyConstants(E1, E2, ply.G12 * left / (1 + f), ply.nu12, E2 / (2 * m_) - 1)


def first_yield_at_a_pore(yield_: float, share: float = 0.0) -> float:
    """Pressure around a hollow sphere at which its inner wall first yields.

    Parameters
    ----------
    yield_ : float
        Yield stress of the solid, MPa.
    share : float
        Of the void in the sphere's volume; 0 for a pore by itself.

    Returns
    -------
    float
        MPa.
    """
    return yield_ / AT_A_PORE * (1 - share)


def crushing_pressure(yield_: float, share: float) -> float:
    """Pressure around a hollow sphere at which all of it yields and the void is crushed.

    Parameters
    ----------
    yield_ : float
        Yield stress of the solid, MPa.
    share : float
        Of the void in the sphere's volume, above 0.

    Returns
    -------
    float
        MPa; 2/3 Y ln(1/f).
    """
    return yield_ / AT_A_PORE * math.log(1 / share)


def net_section(share: float) -> float:
    """Least share of solid in a plane cut, of spherical voids in a cubic array.

    The plane goes through the voids' middles: 1 - pi (3 f / (4 pi))^(2/3), about 1 - 1.21 f^(2/3).
    L. Nicolais, M. Narkis, Polym. Eng. Sci. 11 (1971) 194-199 (value from memory).
    """
    return 1 - math.pi * math.pow(3 * share / (4 * math.pi), 2 / 3)
