"""A thin soft disc between rigid plates: how stiff it is when it can hardly change its volume.

Problem
    A disc of radius a and thickness t, bonded to rigid plates on both faces, is pressed by them.
    Near nu = 1/2 it can only give way sideways, by shear: elements that lock see it as far too
    stiff, up to the bulk modulus.
Formulation
    With the parabolic sideways motion of a thin layer, its pressure obeys

        p'' + p' / r - beta^2 p = -12 G e / t^2,   beta^2 = 12 G / (K t^2),   p(a) = 0,

    e the mean strain across, and the apparent modulus, mean pressure over e, is

        K (1 - 2 I1(x) / (x I0(x))),   x = beta a.

    What it leaves out is of the order of t / a, from the free edge, and of G / K.
Symbols
    G shear modulus, K bulk modulus, MPa; I0, I1 modified Bessel functions.
Source
    A.N. Gent & P.B. Lindley, Proc. Inst. Mech. Engrs 173 (1959) 111-122, for K infinite; M.S.
    Chalhoub & J.M. Kelly, Int. J. Solids Struct. 26 (1990) 743-760, with K (values from memory;
    the solution of the equation recomputed).
"""

from __future__ import annotations

import math

from scipy.special import ive


def apparent_modulus(E: float, nu: float, radius: float, thickness: float) -> float:
    """Apparent modulus of a thin constrained disc, MPa; E in MPa, lengths in mm."""
    G, K = E / (2 * (1 + nu)), E / (3 * (1 - 2 * nu))
    x = math.sqrt(12 * G / K) * radius / thickness
    return K * float(1 - 2 * ive(1, x) / (x * ive(0, x)))
