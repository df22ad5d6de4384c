"""Elastic buckling of a hull: the pressure at which its round shape ceases to be stable.

Problem
    Find the least sea pressure p > 0 at which some motion of n waves around costs no energy.
Formulation
    On the section's axisymmetric state, linear in pressure and temperature, the second variation
        v . (K + dT K_T + p (K_p + S)) v,
    K stiffness, K_T and K_p prestress of one kelvin and one MPa (`solve.harmonics`), S the sea
    that follows the surface (`solve.follower`), first vanishes for the largest 1/p of
        -(K_p + S) v = (1/p) (K + dT K_T) v,
    which Lanczos finds from one factorisation for each n. The temperature stays while p grows.
    Displacements before buckling are taken as small, and so is their change with p.
    Supports: `solve.motions`.
Symbols
    n waves around, an integer; p MPa; dT K; v amplitudes (u, v, w) as in `solve.harmonics`.
Units
    mm, N, MPa, K.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import sparse
from scipy.sparse.linalg import LinearOperator, eigsh

from geometry.mesh import JointMesh
from solve.answer import SolveError
from solve.elements import Space
from solve.follower import sea_pressure
from solve.harmonics import ByWaves, prestress, real_form, stiffness
from solve.linear import factorise
from solve.motions import free_motions, symmetries
from solve.stress import Solved

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

RESIDUAL = 1e-4  # of an eigenvector: 1e-8 of its pressure
BEYOND, WORSE = 3, 0.05  # when a scan ends
MOST_WAVES = 60


@dataclass(frozen=True)
class SecondVariation:
    """Second variation of a hull's energy on its axisymmetric state.

    Attributes
    ----------
    mesh : JointMesh
    space : Space
    elastic : ByWaves
        With the prestress of the temperature change, N/mm.
    load : ByWaves
        Of one MPa: prestress and following sea, N/mm.
    kept_round : tuple of str
        Edges on which u_r = u_theta = 0.
    """

    mesh: JointMesh
    space: Space
    elastic: ByWaves
    load: ByWaves
    kept_round: tuple[str, ...] = ()

    @property
    def couples(self) -> bool:
        """Whether amplitudes are complex."""
        return self.elastic.is_complex or self.load.is_complex


@dataclass(frozen=True)
class Mode:
    """One mode of buckling.

    Attributes
    ----------
    waves : int
        Around the hull.
    symmetry : str
        ``alike``, ``opposite`` or ``either`` (`solve.motions`).
    pressure : float
        MPa; infinite where the sea never brings it about.
    shape : (n, 3) array
        Amplitudes (u, v, w) at the scalar unknowns, the largest 1; complex where a layup couples.
    """

    waves: int
    symmetry: str
    pressure: float
    shape: NDArray[np.inexact]


def second_variation(
    solved: Solved,
    change: float = 0.0,
    *,
    follows: bool = True,
    kept_round: Iterable[str] = (),
) -> SecondVariation:
    """Assemble the second variation on a solved axisymmetric state.

    Parameters
    ----------
    solved : Solved
        With the load ``pressure`` (per MPa) and, for a change of temperature, ``temperature``.
    change : float
        Temperature change, K.
    follows : bool
        Whether the sea follows the surface; a dead pressure otherwise.
    kept_round : iterable of str
        Edges on which u_r = u_theta = 0.
    """
    mesh, space = solved.mesh, solved.space
    elastic, load = stiffness(mesh, space, solved.materials), prestress(solved, "pressure")
    if change:
        elastic = elastic.plus(prestress(solved, "temperature"), change)
    if follows:
        load = load.plus(sea_pressure(mesh, space))
    return SecondVariation(mesh, space, elastic, load, tuple(kept_round))


def lowest_modes(
    system: SecondVariation, waves: int, symmetry: str, count: int = 1
) -> tuple[Mode, ...]:
    """Find the modes of n waves that the least pressures bring about.

    Parameters
    ----------
    system : SecondVariation
    waves : int
    symmetry : str
        One of `solve.motions.symmetries`.
    count : int

    Returns
    -------
    tuple of Mode
        Least pressure first.

    Raises
    ------
    SolveError
        When a mode does not satisfy its equation.
    """
    basis = free_motions(
        system.mesh,
        system.space,
        waves,
        symmetry,
        couples=system.couples,
        kept_round=system.kept_round,
    )
    elastic, load = (
        (basis.T @ (real_form(part.at(waves)) if system.couples else part.at(waves)) @ basis)
        for part in (system.elastic, system.load)
    )
    # the residual below guards what refinement would
    solve = factorise(sparse.tril(elastic, format="csc"), refined=False)
    inverse = LinearOperator(elastic.shape, matvec=solve, dtype=float)
    start = np.random.default_rng(0).standard_normal(elastic.shape[0])
    found, vectors = eigsh(-load, k=count, M=elastic, Minv=inverse, which="LA", v0=start, tol=1e-9)
    modes = []
    for one, v in sorted(zip(found, vectors.T, strict=True), key=lambda pair: -pair[0]):
        rest = load @ v + one * (elastic @ v)
        # in the norm of the elastic energy, in which the error of 1/p is the square of it
        off = np.sqrt(abs(rest @ solve(rest)) / (v @ elastic @ v)) / abs(one)
        if not off <= RESIDUAL:
            raise SolveError(
                f"the buckling mode of {waves} waves is off by {off:.1e}, "
                f"allowed {RESIDUAL:.0e}: the solution is not used"
            )
        shape = _amplitudes(system, basis @ v)
        modes.append(Mode(waves, symmetry, 1 / one if one > 0 else np.inf, shape))
    return tuple(modes)


def _amplitudes(system: SecondVariation, v: Floats) -> NDArray[np.inexact]:
    """Shape amplitudes, the largest 1 and positive."""
    parts = v.reshape(-1, system.space.size, 3)
    shape = parts[0] if len(parts) == 1 else parts[0] + 1j * parts[1]
    largest = shape.ravel()[np.argmax(np.abs(shape))]
    return np.asarray(shape / (largest if len(parts) == 1 else abs(largest)))


@dataclass(frozen=True)
class Scan:
    """The least pressure of each number of waves and each symmetry.

    Attributes
    ----------
    modes : tuple of Mode
        By waves, then symmetry.
    """

    modes: tuple[Mode, ...]

    @property
    def critical(self) -> Mode:
        """The mode of the least pressure."""
        return min(self.modes, key=lambda mode: mode.pressure)

    @property
    def least(self) -> dict[int, float]:
        """Least pressure of each number of waves, MPa."""
        found: dict[int, float] = {}
        for mode in self.modes:
            found[mode.waves] = min(found.get(mode.waves, np.inf), mode.pressure)
        return found


def scan(system: SecondVariation, most: int = MOST_WAVES) -> Scan:
    """Find the least pressure over all numbers of waves.

    From n = 0 on, until `BEYOND` numbers in a row beyond the best one are worse than it by at
    least `WORSE`: the minimum is then bracketed on both sides.

    Raises
    ------
    SolveError
        When it is not bracketed at `most` waves.
    """
    modes: list[Mode] = []
    for waves in range(most + 1):
        for symmetry in symmetries(waves, system.couples):
            modes += lowest_modes(system, waves, symmetry)
        least = Scan(tuple(modes)).least
        best = min(least.values())
        beyond = [pressure > (1 + WORSE) * best for pressure in least.values()]
        if waves > 2 and np.isfinite(best) and all(beyond[-BEYOND:]):
            return Scan(tuple(modes))
    raise SolveError(f"no least buckling pressure up to {most} waves around the hull")
