"""Roots of an analytic function in a strip, none missed.

Problem
    Find the roots with 0 < Re < a and |Im| < b of a function that is even, real on the real axis
    and has no roots on the imaginary axis, with their multiplicities.
Formulation
    The argument principle along a quarter of the rectangle |Re| < a, |Im| < b: as the function is
    even and real, the argument turns by pi for each root on the right half. The path is refined
    until the argument turns little between neighbours. The roots themselves are those of Taylor
    polynomials about the centres of tiles, taken from values on circles, row by row from the real
    axis outwards until as many are found as were counted. A multiple root comes out of its
    polynomial scattered by the n-th root of the noise; their product is x**n to the noise itself.
Source
    L.M. Delves & J.N. Lyness, Math. Comput. 21 (1967) 543-560 (count, then find; from memory).
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

Complexes = NDArray[np.complex128]
LogFunction = Callable[[Complexes], Complexes]

TILE = 0.19  # side of the squares searched; 1 is amid one, and 1/2 on no side
DISC = 0.15  # radius of the Taylor polynomials, beyond the corners of a square
SAMPLES = 32  # on a circle
STEP = 0.04  # along the path of the argument principle, before refinement
LARGEST_TURN = 0.7  # of the argument between neighbours on the path, radians
NOISE = 1e-15  # of the function's values
SAME = 1e-13  # coefficients of (x - mean)**n below which n roots are one n-fold root


class RootError(ArithmeticError):
    """The roots found are not as many as the argument principle counts."""


def strip_roots(log: LogFunction, highest: float, steepest: float) -> list[tuple[complex, int]]:
    """Find the roots in a strip.

    Parameters
    ----------
    log : callable
        Logarithm of the function, of (k,) arguments, up to a constant and whole turns.
    highest, steepest : float
        Largest real and imaginary part.

    Returns
    -------
    list of (complex, int)
        Roots and multiplicities; of a conjugate pair the one with a positive imaginary part.

    Raises
    ------
    RootError
        When count and search cannot be brought together.
    """
    limit, count = _count(log, highest, steepest)
    for shift in (0.0, 0.031):  # a root on the side of a tile may go missing
        roots = _search(log, limit, steepest, count, shift)
        if sum(n * (2 if root.imag else 1) for root, n in roots) == count:
            return [(root, n) for root, n in roots if root.real <= highest]
    raise RootError(f"{count} roots were counted, {roots} found")


def _count(log: LogFunction, highest: float, steepest: float) -> tuple[float, int]:
    """Count the roots between the imaginary axis and a limit, by the argument principle.

    Returns
    -------
    limit : float
        At least `highest`.
    count : int
        Both of a conjugate pair count.
    """
    for limit in highest + np.array([0.0, 0.013, 0.031]):
        corners = np.array([limit, limit + 1j * steepest, 1j * steepest])
        path = np.concatenate(
            [
                a + (b - a) * np.linspace(0, 1, int(np.ceil(abs(b - a) / STEP)), endpoint=False)
                for a, b in zip(corners[:-1], corners[1:], strict=True)
            ]
            + [corners[-1:]]
        )
        argument = log(path).imag
        for _ in range(14):
            turn = (np.diff(argument) + np.pi) % (2 * np.pi) - np.pi
            wide = np.flatnonzero(np.abs(turn) > LARGEST_TURN)
            if not wide.size:
                # a quarter of the way round, and half of the roots are to the right
                half_turns = float(turn.sum() / np.pi)
                if abs(half_turns - round(half_turns)) < 1e-3:
                    return float(limit), round(half_turns)
                break
            between = (path[wide] + path[wide + 1]) / 2
            path = np.insert(path, wide + 1, between)
            argument = np.insert(argument, wide + 1, log(between).imag)
    raise RootError("the roots cannot be counted: one of them lies on the path around them")


def _search(
    log: LogFunction, limit: float, steepest: float, count: int, shift: float
) -> list[tuple[complex, int]]:
    """Find roots row by row, from the real axis outwards, until as many are found as counted."""
    columns = np.arange(1 - 5 * TILE + shift, limit + TILE / 2, TILE)
    found: list[tuple[complex, int]] = []
    missing = count
    for height in np.arange(0, steepest + TILE / 2, TILE):
        if missing <= 0:
            break
        roots = np.concatenate([_roots_in_tile(log, column + 1j * height) for column in columns])
        roots = roots[(roots.real > 0) & (roots.real < limit) & (roots.imag < steepest)]
        for root, multiplicity in _merge(list(roots)):
            if root.imag >= 0:
                found.append((root, multiplicity))
                missing -= multiplicity * (2 if root.imag else 1)
    return found


def _roots_in_tile(log: LogFunction, centre: complex) -> Complexes:
    """Roots inside the square around a point, those of the Taylor polynomial about it."""
    circle = np.exp(2j * np.pi * (np.arange(SAMPLES) + 0.5) / SAMPLES)
    logarithm = log(centre + DISC * circle)
    values = np.exp(logarithm - logarithm.real.max())
    powers = np.arange(SAMPLES)
    terms = np.fft.fft(values) / SAMPLES * np.exp(-1j * np.pi * powers / SAMPLES)
    if centre.imag == 0:
        terms = terms / np.exp(1j * np.angle(terms[np.argmax(np.abs(terms))]))
        terms = terms.real  # real on the real axis, up to one constant
    last = np.flatnonzero(np.abs(terms) > NOISE * np.abs(terms).max())[-1]
    offset = DISC * np.roots(terms[: last + 1][::-1])
    inside = (np.abs(offset.real) < TILE / 2) & (np.abs(offset.imag) < TILE / 2)
    return np.asarray(centre + offset[inside], complex)


def _merge(roots: list[complex]) -> list[tuple[complex, int]]:
    """Join roots that rounding alone keeps apart; of a multiple root the mean is exact."""
    merged = []
    while roots:
        near = sorted(roots, key=lambda root: abs(root - roots[0]))
        for multiplicity in range(min(6, len(near)), 0, -1):
            group = near[:multiplicity]
            mean = complex(np.mean(group))
            if np.all(np.abs(np.poly(np.array(group) - mean)[1:]) < SAME):
                break
        roots = near[multiplicity:]
        merged.append((complex(mean.real) if abs(mean.imag) < 1e-9 else mean, multiplicity))
    return merged
