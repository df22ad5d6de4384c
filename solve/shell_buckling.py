"""Buckling of a cylinder under outside pressure by shell formulas, and collapse of an oval ring.

Problem
    At what sea pressure does a tube between stiff ends buckle, and at what lesser one does a tube
    that is not quite round reach its strength?
Formulation
    Isotropic, hydrostatic pressure, simply supported ends a length L apart, l = pi R / L:

        Windenburg & Trilling   p = 2.42 E / (1 - nu^2)^(3/4) (t/D)^2.5 / (L/D - 0.45 sqrt(t/D))
        von Mises               p = (E t / R) / (n^2 - 1 + l^2 / 2) {l^4 / (n^2 + l^2)^2
                                    + t^2 / (12 R^2 (1 - nu^2)) (n^2 - 1 + l^2)^2}, least of all n
        long tube               p = E t^3 / (4 (1 - nu^2) R^3)

    Orthotropic (NASA SP-8007), m half waves along, n waves around, x = m pi / L, y = n / R:

        p = R / (n^2 + (x R)^2 / 2) det(3x3) / det(2x2),    lateral pressure alone: R / n^2

    with the shell's symmetric matrix below. The knock-down for imperfections is `KNOCK_DOWN`.

    Oval ring (Timoshenko & Gere): bending grows as 1 / (1 - p / p_c), so the outermost fibre is at

        p R / t + 6 p R w / (t^2 (1 - p / p_c)),    w the largest deviation of the radius.
Where they overestimate
    SP-8007's terms are those of a shallow shell, stated for n of 4 and more: at n = 2 a long tube
    comes out a third too strong. None of them knows shear through the thickness or the radial
    stress: see `cautions`. All are elastic and, but for the oval ring, of a perfect shape.
Symbols
    R radius of the middle surface, D = 2 R, t thickness, mm; E, MPa; pressures, MPa, at R.
Source
    D.F. Windenburg, C. Trilling, Trans. ASME 56 (1934) 819-825; R. von Mises 1929, translated by
    D.F. Windenburg, EMB Rep. 309 (value from memory); NASA SP-8007, 1968 and its revision
    NASA/SP-8007-2020 (equations from memory); S. Timoshenko, J.M. Gere, Theory of Elastic
    Stability, 2nd ed., 1961, art. 7.5 (value from memory).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from solve.exact_tube import TubeLayer
from solve.plate import Plate, plane_stress_stiffness

Array = NDArray[np.float64]

KNOCK_DOWN = 0.75  # NASA SP-8007's factor for pressure (value from memory)
LEAST_WAVES = 4  # around, from which on SP-8007's equations are stated
THICK = 0.05  # of t / R: from here on the solid is some percent below, see `cautions`
SOFT = 0.2  # of G_rt / E_t: an isotropic wall has 0.38
MOST_ALONG, MOST_AROUND = 12, 60  # half waves along and whole waves around that are scanned


@dataclass(frozen=True)
class Buckle:
    """Least pressure of a scan over waves.

    Attributes
    ----------
    pressure : float
        MPa.
    along, around : int
        Half waves along, whole waves around.
    """

    pressure: float
    along: int
    around: int


def wall_plate(layers: Sequence[TubeLayer]) -> Plate:
    """Take the layers of a wall, bore outwards, as a flat plate about its mid-thickness."""
    middle = (layers[0].inner + layers[-1].outer) / 2
    faces = np.array([layers[0].inner, *(layer.outer for layer in layers)]) - middle
    return Plate(faces, np.stack([plane_stress_stiffness(layer.material) for layer in layers]))


def windenburg_trilling(
    E: float, nu: float, thickness: float, radius: float, length: float
) -> float:
    """Elastic buckling pressure of a thin tube of middling length, MPa.

    Raises
    ------
    ValueError
        If the tube is so short that the formula has no answer.
    """
    diameter = 2 * radius
    slender = length / diameter - 0.45 * np.sqrt(thickness / diameter)
    if slender <= 0:
        raise ValueError("the tube is too short for Windenburg and Trilling's formula")
    factor = 2.42 * E / (1 - nu**2) ** 0.75
    return float(factor * (thickness / diameter) ** 2.5 / slender)


def von_mises_buckling(
    E: float, nu: float, thickness: float, radius: float, length: float, *, lateral: bool = False
) -> Buckle:
    """Least elastic buckling pressure over the waves around, one half wave along.

    Parameters
    ----------
    E, nu : float
        MPa, 1.
    thickness, radius, length : float
        mm.
    lateral : bool
        Pressure on the side alone: without its pull on the ends.

    Returns
    -------
    Buckle
    """
    n = np.arange(2, MOST_AROUND + 1)
    rate = (np.pi * radius / length) ** 2
    share = n**2 - 1 + (0 if lateral else rate / 2)
    membrane = (rate / (n**2 + rate)) ** 2
    bending = thickness**2 / (12 * radius**2 * (1 - nu**2)) * (n**2 - 1 + rate) ** 2
    pressures = E * thickness / radius / share * (membrane + bending)
    least = int(pressures.argmin())
    return Buckle(float(pressures[least]), 1, int(n[least]))


def long_tube_buckling(E: float, nu: float, thickness: float, radius: float) -> float:
    """Elastic buckling pressure of a long tube, far from its ends, MPa."""
    return E * thickness**3 / (4 * (1 - nu**2) * radius**3)


def orthotropic_pressures(
    wall: Sequence[TubeLayer],
    length: float,
    along: ArrayLike,
    around: ArrayLike,
    *,
    lateral: bool = False,
) -> Array:
    """Elastic buckling pressure of every pair of waves by NASA SP-8007, without knock-down.

    Parameters
    ----------
    wall : sequence of TubeLayer
        Bore outwards.
    length : float
        Between stiff ends, mm.
    along, around : arrays that broadcast
        m half waves along, n whole waves around, n of 1 and more.
    lateral : bool
        Pressure on the side alone.

    Returns
    -------
    array
        MPa.
    """
    plate, R = wall_plate(wall), (wall[0].inner + wall[-1].outer) / 2
    A, B, D = plate.A, plate.B, plate.D
    x, y = np.broadcast_arrays(np.pi * np.asarray(along) / length, np.asarray(around) / R)
    twist = B[0, 1] + 2 * B[2, 2]
    u = (
        A[0, 0] * x**2 + A[2, 2] * y**2,
        (A[0, 1] + A[2, 2]) * x * y,
        A[0, 1] * x / R + B[0, 0] * x**3 + twist * x * y**2,
    )
    v = (
        A[1, 1] * y**2 + A[2, 2] * x**2,
        twist * x**2 * y + A[1, 1] * y / R + B[1, 1] * y**3,
    )
    w = (
        D[0, 0] * x**4
        + (2 * D[0, 1] + 4 * D[2, 2]) * x**2 * y**2
        + D[1, 1] * y**4
        + A[1, 1] / R**2
        + 2 * B[1, 1] * y**2 / R
        + 2 * B[0, 1] * x**2 / R
    )
    rows = [[u[0], u[1], u[2]], [u[1], v[0], v[1]], [u[2], v[1], w]]
    whole = np.moveaxis(np.array(rows), (0, 1), (-2, -1))
    stiff = np.linalg.det(whole) / np.linalg.det(whole[..., :2, :2])
    n = y * R
    share = n**2 if lateral else n**2 + (x * R) ** 2 / 2
    return np.asarray(R / share * stiff)


def orthotropic_buckling(
    wall: Sequence[TubeLayer], length: float, *, lateral: bool = False
) -> Buckle:
    """Scan the waves for the least pressure; parameters as of `orthotropic_pressures`."""
    along, around = np.arange(1, MOST_ALONG + 1), np.arange(2, MOST_AROUND + 1)
    pressures = orthotropic_pressures(wall, length, along[:, None], around, lateral=lateral)
    m, n = np.unravel_index(int(pressures.argmin()), pressures.shape)
    return Buckle(float(pressures[m, n]), int(along[m]), int(around[n]))


def cautions(wall: Sequence[TubeLayer], buckle: Buckle) -> tuple[str, ...]:
    """Say why the orthotropic formula may be too high for a wall.

    Against three-dimensional elasticity (recomputed) it was 3 to 4 % too high for isotropic walls
    of t/R 0.02 and 0.05, 11 % at 0.15, and 13 to 18 % for carbon-epoxy walls of 0.06.

    Parameters
    ----------
    wall : sequence of TubeLayer
    buckle : Buckle
        Of `orthotropic_buckling`.

    Returns
    -------
    tuple of str
        Empty where no reason is known.
    """
    thickness, radius = wall[-1].outer - wall[0].inner, (wall[-1].outer + wall[0].inner) / 2
    found = []
    if buckle.around < LEAST_WAVES:
        found.append(f"{buckle.around} waves around, stated for {LEAST_WAVES} and more")
    if thickness / radius > THICK:
        found.append(f"thick wall, t/R {thickness / radius:.2f}")
    hoop = 1 / (np.linalg.inv(wall_plate(wall).A)[1, 1] * thickness)
    give = sum((one.outer - one.inner) * np.linalg.inv(one.material.C)[5, 5] for one in wall)
    soft = thickness / give / hoop
    if soft < SOFT:
        found.append(f"soft shear through the thickness, {soft:.3f} of the hoop modulus")
    return tuple(found)


def oval_ring_yield(
    strength: float, critical: float, thickness: float, radius: float, out_of_roundness: float
) -> float:
    """Pressure at which the outermost fibre of an oval ring yields, MPa.

    The lesser root of p^2 - [s t / R + (1 + 6 w / t) p_c] p + p_c s t / R = 0.

    Parameters
    ----------
    strength : float
        s, MPa.
    critical : float
        p_c at which the round ring buckles, MPa. With a finite tube's own pressure in its place
        all of its resistance counts as bending, which errs on the safe side.
    thickness, radius : float
        mm.
    out_of_roundness : float
        w, mm, in the ring's own mode.
    """
    squash = strength * thickness / radius
    middle = squash + (1 + 6 * out_of_roundness / thickness) * critical
    root = np.sqrt(middle**2 - 4 * squash * critical)
    return float(2 * squash * critical / (middle + root))
