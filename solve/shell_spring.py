"""Tubular lap under axial force: two bending shells on shear and peel springs.

Problem
    A tube slides over another one, bonded over the length l; the inner tube (1) is pulled at
    x < 0, the outer one (2) at x > l. Both bend, and the bond peels.
Formulation
    Thin shells of one common radius R with the springs
    tau = (G/eta)(u2i - u1o), s = (Ea/eta)(w2 - w1), u1o = u1 - t1/2 w1', u2i = u2 + t2/2 w2':

        N' = -f,   N = E t / (1 - nu^2) (u' + nu w / R),
        V' = (E t w / R + nu N) / R - q,   D w'' = M,   M' = -V + f t / 2

    with f = tau, q = s on tube 1 and f = -tau, q = -s on tube 2 (tau acts on the surface that the
    bond touches: the sign of f t / 2 is that of tau on both). Twelve linear equations
    y' = A y with constant A; beyond the lap each tube is semi-infinite, so its edge obeys the
    relation of a decaying bending wave; the two free edges carry nothing. Between neighbouring
    points y is carried on by the matrix exponential of A, so that the answer is exact at them.
Symbols
    u axial and w radial displacement, mm; N, V forces per edge length, N/mm; M moment, N.
    y = (u, w, w', N, V, M) of tube 1, then of tube 2.
Source
    Model of J.L. Lubkin, E. Reissner, Trans. ASME 78 (1956) 1213-1221.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import sparse
from scipy.linalg import expm

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Tube:
    """A thin tube of the lap: E (MPa), nu, thickness (mm)."""

    E: float
    nu: float
    thickness: float

    @property
    def bending(self) -> float:
        """D = E t^3 / (12 (1 - nu^2)), N mm."""
        return self.E * self.thickness**3 / 12 / (1 - self.nu**2)


@dataclass(frozen=True, eq=False)
class LapStress:
    """Bond stresses along the lap.

    Attributes
    ----------
    x : (n,) array
        From the end at which the inner tube is loaded, mm.
    shear, peel : (n,) array
        MPa.
    """

    x: Array
    shear: Array
    peel: Array


def shell_spring_lap(
    force: float,
    overlap: float,
    radius: float,
    inner: Tube,
    outer: Tube,
    *,
    G: float,
    Ea: float,
    eta: float,
    intervals: int = 120,
) -> LapStress:
    """Shear and peel of a tubular lap under axial force.

    Parameters
    ----------
    force : float
        N, tension positive.
    overlap, radius : float
        l and the common radius R, mm.
    inner, outer : Tube
        Tube 1, loaded at x = 0, and tube 2, loaded at x = l.
    G, Ea, eta : float
        Bond: shear and peel modulus, MPa; thickness, mm.
    intervals : int
        Number of equal steps between the points of the answer.

    Returns
    -------
    LapStress
    """
    A, tau, s = _system(radius, inner, outer, G / eta, Ea / eta)
    step = expm(A * overlap / intervals)
    pull = force / (2 * np.pi * radius)

    unit = np.eye(12)
    wave_1, level_1 = _far_tube(inner, radius, pull, first=0, towards=-1)
    wave_2, level_2 = _far_tube(outer, radius, pull, first=6, towards=1)
    start = np.vstack([unit[[0, 3, 9, 10, 11]], wave_1])  # u1; N1, N2; V2, M2; tube 1 goes on
    finish = np.vstack([unit[[3, 4, 5]], wave_2])  # N1, V1, M1; tube 2 goes on

    carry = sparse.kron(sparse.eye(intervals, intervals + 1), step) - sparse.kron(
        sparse.eye(intervals, intervals + 1, k=1), unit
    )
    rest = sparse.csr_array((7, 12 * intervals))
    matrix = sparse.vstack(
        [
            sparse.hstack([start, rest]),
            carry,
            sparse.hstack([rest[:5], finish]),
        ]
    )
    right = np.zeros(12 * (intervals + 1))
    right[:7] = 0, pull, 0, 0, 0, *level_1
    right[-2:] = level_2
    y = sparse.linalg.spsolve(matrix.tocsc(), right).reshape(-1, 12)
    return LapStress(np.linspace(0, overlap, intervals + 1), y @ tau, y @ s)


def _system(
    radius: float, inner: Tube, outer: Tube, shear_spring: float, peel_spring: float
) -> tuple[Array, Array, Array]:
    """Matrix A of y' = A y, and the rows that give tau and s from y."""
    tau, s = np.zeros(12), np.zeros(12)
    tau[[0, 2]] = -1, inner.thickness / 2
    tau[[6, 8]] = 1, outer.thickness / 2
    s[[1, 7]] = -1, 1
    tau, s = tau * shear_spring, s * peel_spring

    A = np.zeros((12, 12))
    for tube, first, side in ((inner, 0, 1.0), (outer, 6, -1.0)):
        u, w, slope, N, V, M = range(first, first + 6)
        hoop = tube.E * tube.thickness / radius
        A[u, N], A[u, w] = (1 - tube.nu**2) / (tube.E * tube.thickness), -tube.nu / radius
        A[w, slope] = 1
        A[slope, M] = 1 / tube.bending
        A[N] = -side * tau
        A[V] = -side * s
        A[V, w] += hoop / radius
        A[V, N] += tube.nu / radius
        A[M] = tau * tube.thickness / 2
        A[M, V] -= 1
    return A, tau, s


def _far_tube(
    tube: Tube, radius: float, pull: float, *, first: int, towards: int
) -> tuple[Array, Array]:
    """Rows and right sides that say: from here the tube goes on for ever, pulled by `pull`.

    What is left of d = w - w_far, w_far = -nu R pull / (E t), decays as e^(-b |x|) (cos, sin):
    d'' + 2 b d' + 2 b^2 d = 0 towards +x, with the sign of odd terms turned towards -x. Hence
    M + 2 b D d' + 2 b^2 D d = 0 and, once more differentiated, V + 2 b^2 D d' + 4 b^3 D d = 0.
    """
    D = tube.bending
    b = (3 * (1 - tube.nu**2)) ** 0.25 / np.sqrt(radius * tube.thickness)
    rows = np.zeros((2, 12))
    w, slope, V, M = first + 1, first + 2, first + 4, first + 5
    rows[0, [w, slope, M]] = 2 * b**2 * D, 2 * b * D * towards, 1
    rows[1, [w, slope, V]] = 4 * b**3 * D * towards, 2 * b**2 * D, 1
    w_far = -tube.nu * radius * pull / (tube.E * tube.thickness)
    return rows, rows[:, w] * w_far
