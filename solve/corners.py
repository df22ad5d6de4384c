"""Exponents of the stress at a corner where bonded wedges of elastic materials meet.

Problem
    Near a corner displacement goes as rho**lambda and stress as rho**(lambda - 1). Which lambda
    between 0 and 1, where stress has no bound, do the angles and the materials allow? The
    materials may be anisotropic in any way; the corner is an edge on a ring, so that close to it
    all three displacements depend on (r, z) alone (generalised plane strain).
Formulation
    u = rho**lambda f(angle), traction on the ray at that angle lambda rho**(lambda - 1) g(angle).
    With the ray's unit vectors n along and m across it, i, k = r, z, t, and

        Q = C[i a k b] n_a n_b    R = C[i a k b] n_a m_b    T = C[i a k b] m_a m_b

    Hooke's law and equilibrium are one equation of first order, d(f, g) = lambda N (f, g), with

        N = [[-T^-1 R', T^-1], [R T^-1 R' - Q, -R T^-1]]

    the fundamental elasticity matrix at that angle. N of all angles commute, which makes the
    solution across a wedge a power, with no restriction on the material (isotropic ones, whose
    N has no full set of eigenvectors, included):

        (f, g)(b) = exp(lambda M) (f, g)(a)    M = log(cos(b - a) + sin(b - a) N(a))

    Bonded faces share f and g; free faces have g = 0. A lambda is a root of the determinant of
    these conditions. Divided by exp(lambda trace(M) / 2) the determinant is even in lambda and
    real for real lambda, and no root lies on the imaginary axis, as strain energy is positive:
    `solve.strip_roots` counts the roots and finds as many.
What is left out
    lambda = 0 (translations, and forces on the edge) and the rotation at lambda = 1. Further
    solutions at lambda = 1 have a uniform stress and are listed.
Sources
    T.C.T. Ting, Anisotropic Elasticity, 1996 (N and its powers; from memory, derived again
    above); M.L. Williams, J. Appl. Mech. 19 (1952) 526-528; D.B. Bogy, J. Appl. Mech. 38 (1971)
    377-386; V.L. Hein & F. Erdogan, Int. J. Fract. Mech. 7 (1971) 317-330.
"""

from __future__ import annotations

import warnings
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import expm, logm
from scipy.special import cosdg, sindg

from solve.strip_roots import strip_roots

Floats = NDArray[np.float64]
Complexes = NDArray[np.complex128]

HIGHEST = 1.2  # largest real part that is listed
STEEPEST = 3.0  # largest imaginary part that is looked for
ANGLE_TOLERANCE = 1e-6  # degrees: wedges nearer than this touch
AT_ONE = 1e-7  # how near to 1 counts as 1
UNCOUPLED = 1e-10  # of the largest stiffness: couplings below this are none

# Components [rr, tt, zz, tz, rz, rt] of the pairs of r, z, t, in that order.
_COMPONENT = np.array([[0, 4, 5], [4, 2, 3], [5, 3, 1]])
_IN_PLANE, _OUT_OF_PLANE, _ALL = [0, 1], [2], [0, 1, 2]


@dataclass(frozen=True, eq=False)
class Wedge:
    """A wedge of one material.

    Attributes
    ----------
    C : (6, 6) array
        Stiffness in the hull frame, [rr, tt, zz, tz, rz, rt], in any unit common to a corner.
    start, end : float
        Angles of its faces, degrees, from the r axis towards the z axis; start < end.
    """

    C: Floats
    start: float
    end: float


@dataclass(frozen=True)
class Exponent:
    """A lambda.

    Attributes
    ----------
    value : complex
        Of a conjugate pair the one with a positive imaginary part.
    kind : str
        ``in-plane`` (u_r, u_z), ``antiplane`` (u_t), or ``coupled`` where all three move together.
    multiplicity : int
    """

    value: complex
    kind: str
    multiplicity: int = 1

    @property
    def singular(self) -> bool:
        """Whether stress has no bound."""
        return self.value.real < 1 - AT_ONE

    @property
    def stress(self) -> float:
        """Power of the distance with which stress goes."""
        return self.value.real - 1


def corner_exponents(wedges: Sequence[Wedge], *, closed: bool) -> tuple[Exponent, ...]:
    """Exponents of a corner with a real part up to `HIGHEST`.

    Parameters
    ----------
    wedges : sequence of Wedge
        In order of their angles, each starting where the one before ends.
    closed : bool
        Whether the last wedge is bonded to the first (together they fill 360 degrees); otherwise
        the first and the last face are free.

    Returns
    -------
    tuple of Exponent
        By rising real part. Imaginary parts are sought up to `STEEPEST`.

    Raises
    ------
    ValueError
        When the wedges do not follow each other, or overlap.
    RootError
        When not every exponent that the argument principle counts can be found.
    """
    _check_angles(wedges, closed)
    largest = max(float(np.abs(w.C).max()) for w in wedges)
    coupling = max(float(np.abs(w.C[np.ix_([0, 2, 4], [3, 5])]).max()) for w in wedges)
    found: list[Exponent] = []
    if coupling > UNCOUPLED * largest:
        found += _exponents(_Fan.of(wedges, _ALL, closed), "coupled")
    else:
        found += _exponents(_Fan.of(wedges, _IN_PLANE, closed), "in-plane")
        found += _exponents(_Fan.of(wedges, _OUT_OF_PLANE, closed), "antiplane")
    return tuple(sorted(found, key=lambda e: (e.value.real, e.value.imag, e.kind)))


def fundamental_matrix(C: Floats, angle: float, components: Sequence[int] = _ALL) -> Floats:
    """N of the module's formulation.

    Parameters
    ----------
    C : (6, 6) array
        Stiffness, [rr, tt, zz, tz, rz, rt].
    angle : float
        Degrees from r towards z.
    components : sequence of int
        Those of u_r, u_z, u_t that move.

    Returns
    -------
    (2 n, 2 n) array
        For n components.
    """
    c, s = float(cosdg(angle)), float(sindg(angle))
    along, across = np.array([c, s]), np.array([-s, c])
    pairs = _COMPONENT[np.asarray(components)][:, :2]  # (i, a)
    full = C[pairs[:, :, None, None], pairs[None, None]]  # (i, a, k, b)
    Q, R, T = (
        np.einsum("iakb,a,b->ik", full, one, two)
        for one, two in ((along, along), (along, across), (across, across))
    )
    inverse = np.linalg.inv(T)
    return np.block([[-inverse @ R.T, inverse], [R @ inverse @ R.T - Q, -R @ inverse]])


def wedge_logarithm(wedge: Wedge, components: Sequence[int] = _ALL) -> Floats:
    """M of the module's formulation, in pieces of a wedge over which the logarithm is unique."""
    pieces = int(np.ceil((wedge.end - wedge.start) / 90))
    turn = (wedge.end - wedge.start) / pieces
    total = np.zeros((2 * len(components), 2 * len(components)))
    for number in range(pieces):
        N = fundamental_matrix(wedge.C, wedge.start + number * turn, components)
        with warnings.catch_warnings():
            # of an error of 2e-13 and more, which materials a thousand times stiffer in one
            # direction than in another can have
            warnings.simplefilter("ignore", RuntimeWarning)
            total += np.real(logm(float(cosdg(turn)) * np.eye(len(N)) + float(sindg(turn)) * N))
    return total


def _check_angles(wedges: Sequence[Wedge], closed: bool) -> None:
    if not wedges or any(w.end - w.start < ANGLE_TOLERANCE for w in wedges):
        raise ValueError("a corner needs wedges, each of them with its end beyond its start")
    for one, two in zip(wedges[:-1], wedges[1:], strict=True):
        if abs(two.start - one.end) > ANGLE_TOLERANCE:
            raise ValueError(f"a wedge starts at {two.start}, the one before ends at {one.end}")
    total = wedges[-1].end - wedges[0].start
    if total > 360 + ANGLE_TOLERANCE or (closed and total < 360 - ANGLE_TOLERANCE):
        raise ValueError(f"the wedges fill {total} degrees")


@dataclass(frozen=True, eq=False)
class _Fan:
    """The conditions at a corner for some of the displacements.

    Attributes
    ----------
    logarithms : list of (2 d, 2 d) array
        M of each wedge, with stress in units of that wedge's stiffness.
    stiffness : list of float
        That unit.
    closed : bool
    """

    logarithms: list[Floats]
    stiffness: list[float]
    closed: bool

    @classmethod
    def of(cls, wedges: Sequence[Wedge], components: Sequence[int], closed: bool) -> _Fan:
        """Make the conditions for some of u_r, u_z, u_t."""
        units = [float(np.abs(wedge.C).max()) for wedge in wedges]
        scaled = [Wedge(w.C / unit, w.start, w.end) for w, unit in zip(wedges, units, strict=True)]
        return cls([wedge_logarithm(wedge, components) for wedge in scaled], units, closed)

    @property
    def at_zero(self) -> int:
        """Multiplicity of lambda = 0: translations and, in a closed corner, forces on the edge."""
        size = len(self.logarithms[0])
        return size if self.closed else size // 2

    def matrix(self, exponents: Complexes) -> Complexes:
        """Conditions on f and g of all faces, (k, n, n) for k exponents.

        Unknowns are f, g of face 0, 1, ...; g is in units of the softer neighbour, so that the
        matrix stays well scaled between materials of very different stiffness.
        """
        count, size = len(self.logarithms), len(self.logarithms[0])
        half = size // 2
        soft = [min(pair) for pair in zip(self.stiffness[:-1], self.stiffness[1:], strict=True)]
        outer = min(self.stiffness[0], self.stiffness[-1])
        units = [outer, *soft, outer]
        faces = count if self.closed else count + 1
        A = np.zeros((len(exponents), count * size, faces * size), complex)
        for i, (M, own) in enumerate(zip(self.logarithms, self.stiffness, strict=True)):
            rows, j = slice(i * size, (i + 1) * size), (i + 1) % faces
            left, right = (np.repeat([1.0, units[k] / own], half) for k in (i, i + 1))
            across = expm(exponents[:, None, None] * M)
            A[:, rows, i * size : (i + 1) * size] += across * left
            A[:, rows, j * size : (j + 1) * size] -= np.diag(right)
        if self.closed:
            return A
        keep = np.ones(faces * size, bool)
        keep[half:size] = keep[-half:] = False  # free faces
        return A[:, :, keep]

    def at_one(self) -> int:
        """Count the independent solutions at lambda = 1."""
        A = self.matrix(np.array([1.0 + 0j]))[0]
        sizes = np.linalg.svd(A / np.abs(A).max(axis=1, keepdims=True), compute_uv=False)
        return int(np.sum(sizes < 1e-11 * sizes[0]))

    def log_determinant(self, exponents: Complexes, at_one: int) -> Complexes:
        """Logarithm of the even determinant without its known roots, up to a constant."""
        phase, size = np.linalg.slogdet(self.matrix(exponents))
        trace = sum(float(np.trace(M)) for M in self.logarithms)
        known = self.at_zero * np.log(exponents) + at_one * np.log(exponents**2 - 1)
        return np.asarray(np.log(phase) + size - exponents * trace / 2 - known)


def _exponents(fan: _Fan, kind: str) -> list[Exponent]:
    at_one = fan.at_one()
    roots = strip_roots(lambda x: fan.log_determinant(x, at_one), HIGHEST, STEEPEST)
    uniform = at_one + sum(n for root, n in roots if abs(root - 1) < AT_ONE)
    uniform -= kind != "antiplane"  # the rotation
    exponents = [Exponent(root, kind, n) for root, n in roots if abs(root - 1) >= AT_ONE]
    return exponents + [Exponent(1 + 0j, kind, uniform)] * (uniform > 0)
