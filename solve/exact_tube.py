"""Exact stresses in a tube of concentric monoclinic layers, the reference for the elements.

Problem
    A long tube of perfectly bonded layers, each homogeneous and monoclinic about the radius (any
    ply angle), under inner and outer pressure, axial force, torque and a uniform change of
    temperature. Far from the ends

        u_r = w(r),    u_t = twist r z,    u_z = axial_strain z.
Formulation
    Radial equilibrium in a layer, with lam^2 = Ctt / Crr and b = C cte,

        Crr (r^2 w'' + r w' - lam^2 w) = (Ctz - Crz) axial_strain r
                                         + (Ct6 - 2 Cr6) twist r^2 + (br - bt) dT r,

    (6 stands for tz) is solved by r^lam, r^-lam and one particular term per load. The two
    homogeneous solutions are combined to be 1 on one face of the layer and 0 on the other, and
    the particular ones to vanish on both, so that the unknowns are the displacements of the
    faces, the axial strain and the twist: thin layers then cost no digits, and continuity of w
    needs no equation. The particular terms are written with

        (x^n - x^lam) / (n - lam) = x^n expm1((lam - n) ln x) / (lam - n),   n = 1, 2,

    which runs smoothly through lam = n, where the textbook form divides by zero and ln x
    appears. The equations left are continuity of the radial stress and the two resultants
    2 pi Int sz r dr, 2 pi Int tz r^2 dr (Gauss's rule; the integrands are smooth powers of r).
Symbols
    w displacement, mm; axial_strain; twist in rad/mm; C in MPa, order [rr, tt, zz, tz, rz, rt].
Source
    C.Q. Rousseau, M.W. Hyer, S.S. Tompkins, Stresses and deformations in angle-ply composite
    tubes, Virginia Tech CCMS-87-04, 1987; C.T. Herakovich, Mechanics of Fibrous Composites,
    Wiley 1998, ch. 10. For one orthotropic layer: S.G. Lekhnitskii, Theory of Elasticity of an
    Anisotropic Body, Mir 1981.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from solve.laminate import Material

Array = NDArray[np.float64]

_GAUSS_POINTS = 40  # error 1e-13 even for a layer ten times as wide outside as inside
_SLACK = 1e-9  # of a radius: two faces closer than this are one


@dataclass(frozen=True, eq=False)
class TubeLayer:
    """One concentric layer of a tube.

    Attributes
    ----------
    inner, outer : float
        Radii, mm.
    material : Material
        In the hull frame.
    """

    inner: float
    outer: float
    material: Material


@dataclass(frozen=True, eq=False)
class TubeField:
    """What the exact solution says at n radii.

    Attributes
    ----------
    radius, displacement : (n,) array
        mm.
    strain, stress : (6, n) array
        [rr, tt, zz, tz, rz, rt]; total strain (thermal part included), stress in MPa.
    """

    radius: Array
    displacement: Array
    strain: Array
    stress: Array


@dataclass(frozen=True, eq=False)
class TubeSolution:
    """Exact solution of a layered tube.

    Attributes
    ----------
    layers : tuple of TubeLayer
        Bore outwards.
    face_displacement : (len(layers) + 1,) array
        Radial displacement of the bore, of each interface and of the outside, mm.
    axial_strain, twist : float
        Uniform axial strain; rotation of the section per length, rad/mm.
    axial_force, torque : float
        Resultants of the section, N and N mm.
    dT : float
        K.
    """

    layers: tuple[TubeLayer, ...]
    face_displacement: Array
    axial_strain: float
    twist: float
    axial_force: float
    torque: float
    dT: float

    def evaluate(self, radius: ArrayLike, layer: int | None = None) -> TubeField:
        """Displacement, strain and stress at the given radii.

        Parameters
        ----------
        radius : (n,) array or float
            mm, within the tube.
        layer : int, optional
            Take every point as belonging to this layer (for the two sides of an interface).
            Left out, a point on an interface belongs to the layer inside it.

        Returns
        -------
        TubeField

        Raises
        ------
        ValueError
            If a radius lies outside the tube or outside the chosen layer.
        """
        radius = np.atleast_1d(np.asarray(radius, dtype=float))
        numbers = range(len(self.layers)) if layer is None else [range(len(self.layers))[layer]]
        inner, outer = self.layers[numbers[0]].inner, self.layers[numbers[-1]].outer
        if radius.min() < inner * (1 - _SLACK) or radius.max() > outer * (1 + _SLACK):
            raise ValueError(f"radius must lie between {inner:g} and {outer:g} mm")
        ends = np.array([self.layers[number].outer for number in numbers])
        owner = np.searchsorted(ends[:-1] * (1 + _SLACK), radius) + numbers[0]

        displacement = np.empty(radius.shape)
        strain, stress = np.zeros((6, radius.size)), np.zeros((6, radius.size))
        for number in np.unique(owner):
            here = owner == number
            w_inner, w_outer = self.face_displacement[number : number + 2]
            amounts = np.array([w_inner, w_outer, self.axial_strain, self.twist, self.dT])
            w, e, s = _unit_fields(self.layers[number], radius[here])
            displacement[here] = amounts @ w
            strain[:4, here] = np.tensordot(amounts, e, axes=1)
            stress[:4, here] = np.tensordot(amounts, s, axes=1)
        return TubeField(radius, displacement, strain, stress)


def solve_tube(
    layers: Sequence[TubeLayer],
    *,
    inner_pressure: float = 0.0,
    outer_pressure: float = 0.0,
    axial_force: float = 0.0,
    closed_ends: bool = False,
    torque: float = 0.0,
    dT: float = 0.0,
    axial_strain: float | None = None,
    twist: float | None = None,
) -> TubeSolution:
    """Solve a layered tube exactly.

    Parameters
    ----------
    layers : sequence of TubeLayer
        Bore outwards, each beginning where the last one ends.
    inner_pressure, outer_pressure : float
        MPa, positive pushing on the surface.
    axial_force : float
        N, tension positive.
    closed_ends : bool
        Add the force of the pressures on closed ends, pi (p_i a^2 - p_o b^2).
    torque : float
        N mm.
    dT : float
        Temperature less the stress-free one, K.
    axial_strain, twist : float, optional
        Prescribe these instead of the force or the torque, which are then results.

    Returns
    -------
    TubeSolution

    Raises
    ------
    ValueError
        If there is no layer, the bore is not positive, or the layers do not follow each other.
    """
    layers = tuple(layers)
    _check(layers)
    count = len(layers)
    stiffness, thermal = np.zeros((count + 3, count + 3)), np.zeros(count + 3)
    for number, layer in enumerate(layers):
        forces = _layer_forces(layer)
        place = np.array([number, number + 1, count + 1, count + 2])
        stiffness[np.ix_(place, place)] += forces[:, :4]
        thermal[place] += forces[:, 4]

    bore, outside = layers[0].inner, layers[-1].outer
    if closed_ends:
        axial_force += np.pi * (inner_pressure * bore**2 - outer_pressure * outside**2)
    load = np.zeros(count + 3)
    load[0] = inner_pressure * bore
    load[count] -= outer_pressure * outside
    load[count + 1 :] = axial_force / (2 * np.pi), torque / (2 * np.pi)

    # One length scale for all unknowns: w, R axial_strain, R^2 twist.
    scale = np.ones(count + 3)
    scale[count + 1 :] = 1 / outside, 1 / outside**2
    answer = np.zeros(count + 3)
    given = np.zeros(count + 3, dtype=bool)
    for unknown, value in ((count + 1, axial_strain), (count + 2, twist)):
        if value is not None:
            given[unknown], answer[unknown] = True, value
    free = ~given
    right = (load - thermal * dT - stiffness @ answer)[free] * scale[free]
    scaled = stiffness[np.ix_(free, free)] * np.outer(scale[free], scale[free])
    answer[free] = np.linalg.solve(scaled, right) * scale[free]

    resultants = 2 * np.pi * (stiffness @ answer + thermal * dT)[count + 1 :]
    return TubeSolution(
        layers,
        answer[: count + 1],
        axial_strain=float(answer[count + 1]),
        twist=float(answer[count + 2]),
        axial_force=float(resultants[0]),
        torque=float(resultants[1]),
        dT=dT,
    )


def _check(layers: tuple[TubeLayer, ...]) -> None:
    """Refuse a stack of layers that is no tube."""
    if not layers:
        raise ValueError("a tube needs at least one layer")
    if layers[0].inner <= 0:
        raise ValueError(f"the bore radius must be positive, not {layers[0].inner:g} mm")
    for number, layer in enumerate(layers, 1):
        if layer.outer <= layer.inner:
            raise ValueError(f"layer {number} ends at {layer.outer:g} mm, inside its beginning")
    for number, (one, two) in enumerate(zip(layers, layers[1:], strict=False), 2):
        if abs(one.outer - two.inner) > _SLACK * one.outer:
            raise ValueError(
                f"layer {number} begins at {two.inner:g} mm, the one inside ends at {one.outer:g}"
            )


def _layer_forces(layer: TubeLayer) -> Array:
    """Give the forces (4, 5) of a layer on (w_inner, w_outer, axial_strain, twist), per radian.

    The columns are unit values of the same four and of dT. The first four are symmetric.
    """
    a, b = layer.inner, layer.outer
    points, weights = np.polynomial.legendre.leggauss(_GAUSS_POINTS)
    r = (a + b) / 2 + (b - a) / 2 * points
    weights = weights * (b - a) / 2
    _, _, faces = _unit_fields(layer, np.array([a, b]))
    _, _, inside = _unit_fields(layer, r)
    return np.stack(
        [
            -a * faces[:, 0, 0],
            b * faces[:, 0, 1],
            inside[:, 2] @ (weights * r),
            inside[:, 3] @ (weights * r**2),
        ]
    )


def _unit_fields(layer: TubeLayer, r: Array) -> tuple[Array, Array, Array]:
    """Fields in a layer under unit w_inner, w_outer, axial_strain, twist and dT.

    Parameters
    ----------
    layer : TubeLayer
    r : (n,) array

    Returns
    -------
    displacement (5, n), strain (5, 4, n), stress (5, 4, n)
        Components [rr, tt, zz, tz].
    """
    a, b, C = layer.inner, layer.outer, layer.material.C[:4, :4]
    thermal = C @ layer.material.cte[:4]
    lam = float(np.sqrt(C[1, 1] / C[0, 0]))
    from_inner, to_outer = np.log1p((r - a) / a), np.log1p((b - r) / r)
    whole = np.log1p((b - a) / a)

    w, slope = np.zeros((5, r.size)), np.zeros((5, r.size))  # slope = r dw/dr
    w[0] = np.sinh(lam * to_outer) / np.sinh(lam * whole)
    w[1] = np.sinh(lam * from_inner) / np.sinh(lam * whole)
    slope[0] = -lam * np.cosh(lam * to_outer) / np.sinh(lam * whole)
    slope[1] = lam * np.cosh(lam * from_inner) / np.sinh(lam * whole)
    for row, power, source in (
        (2, 1, C[1, 2] - C[0, 2]),
        (3, 2, C[1, 3] - 2 * C[0, 3]),
        (4, 1, thermal[0] - thermal[1]),
    ):
        amount = source / C[0, 0] / (power + lam) * b**power
        value, value_slope = _particular(power, lam, -to_outer)
        at_inner = _particular(power, lam, np.array([-whole]))[0]
        w[row] = amount * (value - at_inner * w[0])
        slope[row] = amount * (value_slope - at_inner * slope[0])

    strain = np.zeros((5, 4, r.size))
    strain[:, 0], strain[:, 1] = slope / r, w / r
    strain[2, 2], strain[3, 3] = 1.0, r
    stress = np.einsum("ij,kjn->kin", C, strain)
    stress[4] -= thermal[:, None]
    return w, strain, stress


def _particular(power: int, lam: float, log_x: Array) -> tuple[Array, Array]:
    """(x^power - x^lam) / (power - lam) and x times its derivative, smooth through lam = power."""
    d = lam - power
    ratio = np.expm1(d * log_x) / d if d else log_x
    x_power = np.exp(power * log_x)
    return x_power * ratio, power * x_power * ratio + np.exp(lam * log_x)
