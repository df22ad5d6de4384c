"""Three-dimensional stiffness of plies and of a smeared repeat unit.

Problem
    A wall of many thin plies is meshed as a few layers. Each layer needs the constants of the
    homogeneous solid that answers as its repeat unit does, and afterwards every ply of the unit
    needs its own stress back.
Formulation
    Split the six components into the in-surface ones I = (tt, zz, tz) and the out-of-surface
    ones O = (rr, rz, rt). Bonded thin plies share the strains of I and the stresses of O, so
    Hooke's law of each ply is written with those six as givens (`_swap`)

        (stress_I, strain_O) = P (strain_I, stress_O) + t dT

    and P and t may then be averaged over the thickness as they stand. Swapping back gives the
    stiffness. Nothing is approximated but that the unit is thin against its radius and against
    the length over which the load varies.
Symbols
    C stiffness, MPa; cte thermal expansion, 1/K, engineering shear; stress = C (strain - cte dT).
    Components [rr, tt, zz, tz, rz, rt]; ply axes 1 along the fibre, 2 across it in the surface,
    3 along the radius, components [11, 22, 33, 23, 13, 12].
Source
    P.C. Chou, J. Carleone, C.M. Hsu, J. Compos. Mater. 6 (1972) 80-93; C.T. Sun, S. Li,
    J. Compos. Mater. 22 (1988) 629-639 (the same averages, written component by component).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Protocol

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import cosdg, sindg

if TYPE_CHECKING:
    from geometry.layup import Layer

Array = NDArray[np.float64]

# Tensor indices of the six components, in the frames (r, t, z) and (1, 2, 3).
_HULL_PAIRS = np.array([(0, 0), (1, 1), (2, 2), (1, 2), (0, 2), (0, 1)])
_PLY_PAIRS = np.array([(0, 0), (1, 1), (2, 2), (1, 2), (0, 2), (0, 1)])
_IN_SURFACE = np.array([1, 2, 3])
_OUT_OF_SURFACE = np.array([0, 4, 5])


class Elastic(Protocol):
    """What is asked of a material card: its constants in ply axes."""

    def compliance(self) -> Array:
        """Compliance (6, 6), 1/MPa, [11, 22, 33, 23, 13, 12], engineering shear."""

    def cte(self) -> Array:
        """Thermal expansion (3,) along 1, 2, 3, 1/K."""


@dataclass(frozen=True, eq=False)
class Material:
    """A homogeneous elastic solid in the hull frame.

    Attributes
    ----------
    C : (6, 6) array
        Stiffness, MPa, order [rr, tt, zz, tz, rz, rt], engineering shear.
    cte : (6,) array
        Thermal expansion, 1/K, same order, engineering shear.
    """

    C: Array
    cte: Array


def ply_material(card: Elastic, angle: float) -> Material:
    """Turn the constants of a card about the radius into the hull frame.

    Parameters
    ----------
    card : Elastic
        Elastic constants and expansion in ply axes.
    angle : float
        Fibre direction from the hull axis, degrees, positive from z towards theta.

    Returns
    -------
    Material
        Monoclinic about the radius; isotropic cards come out unchanged.
    """
    C, cte = _ply_axes(card)
    to_ply, to_hull = _strain_rotation(angle), _strain_rotation(angle, inverse=True)
    turned = to_ply.T @ C @ to_ply
    return Material((turned + turned.T) / 2, to_hull @ cte)


def layer_material(layer: Layer, cards: Mapping[str, Elastic]) -> Material:
    """Smear the repeat unit of a layer into the solid that answers as it does.

    Parameters
    ----------
    layer : Layer
        Its `plies` are the repeat unit.
    cards : mapping of str to Elastic
        Holds every card that the plies name.

    Returns
    -------
    Material
        Exact effective stiffness and expansion (Chou, Carleone & Hsu 1972; Sun & Li 1988). A unit
        of a single ply gives that ply; the order of plies within the unit has no effect.
    """
    if len({(ply.card, ply.angle) for ply in layer.plies}) == 1:
        return ply_material(cards[layer.plies[0].card], layer.plies[0].angle)
    C, cte = _stack(layer, cards)
    thickness = np.array([ply.thickness for ply in layer.plies])
    P, t = _mixed(C, cte)
    P, t = np.average(P, axis=0, weights=thickness), np.average(t, axis=0, weights=thickness)

    smeared = _swap(P)
    i, o = _IN_SURFACE, _OUT_OF_SURFACE
    expansion = np.empty(6)
    expansion[i] = -np.linalg.solve(P[np.ix_(i, i)], t[i])
    expansion[o] = t[o] + P[np.ix_(o, i)] @ expansion[i]
    return Material((smeared + smeared.T) / 2, expansion)


def ply_stresses(
    layer: Layer, cards: Mapping[str, Elastic], strain: ArrayLike, dT: ArrayLike
) -> Array:
    """Give every ply of a smeared layer its own stress back, in its own axes.

    Parameters
    ----------
    layer : Layer
    cards : mapping of str to Elastic
    strain : (6, ...) array
        Total strain of the smeared layer at any number of points, [rr, tt, zz, tz, rz, rt].
    dT : float or array that broadcasts against the points
        Temperature less the stress-free one, K.

    Returns
    -------
    (n_ply, 6, ...) array
        MPa, [11, 22, 33, 23, 13, 12] of each ply of the unit. Their thickness average, turned to
        the hull frame, is the stress of the smeared layer; the out-of-surface ones equal it.
    """
    strain = np.asarray(strain, dtype=float)
    dT = np.broadcast_to(np.asarray(dT, dtype=float), strain.shape[1:])
    smeared = layer_material(layer, cards)
    C, cte = _stack(layer, cards)
    P, t = _mixed(C, cte)

    given = strain.copy()
    mechanical = strain - np.multiply.outer(smeared.cte, dT)
    given[_OUT_OF_SURFACE] = np.tensordot(smeared.C[_OUT_OF_SURFACE], mechanical, axes=1)

    stresses = np.empty((len(layer.plies), *strain.shape))
    for number, ply in enumerate(layer.plies):
        rest = np.tensordot(P[number], given, axes=1)
        rest += np.multiply.outer(t[number], dT)
        ply_strain = strain.copy()
        ply_strain[_OUT_OF_SURFACE] = rest[_OUT_OF_SURFACE]
        C_ply, cte_ply = _ply_axes(cards[ply.card])
        free = np.multiply.outer(cte_ply, dT)
        in_ply_axes = np.tensordot(_strain_rotation(ply.angle), ply_strain, axes=1)
        stresses[number] = np.tensordot(C_ply, in_ply_axes - free, axes=1)
    return stresses


def engineering_constants(material: Material) -> dict[str, float]:
    """Moduli and Poisson ratios of a material along the hull frame, for reports.

    Parameters
    ----------
    material : Material

    Returns
    -------
    dict of str to float
        ``E_z, E_t, E_r, G_tz, G_rz, G_rt`` in MPa and ``nu_zt, nu_zr, nu_tr, nu_tz, nu_rz, nu_rt``
        with nu_ij = -strain_j / strain_i under stress_i.
    """
    S = np.linalg.inv(material.C)
    place = {"r": 0, "t": 1, "z": 2}
    constants = {f"E_{i}": 1 / S[place[i], place[i]] for i in "ztr"}
    constants |= {f"G_{ij}": 1 / S[k, k] for ij, k in (("tz", 3), ("rz", 4), ("rt", 5))}
    constants |= {
        f"nu_{i}{j}": -S[place[j], place[i]] / S[place[i], place[i]]
        for i, j in ("zt", "zr", "tr", "tz", "rz", "rt")
    }
    return {name: float(value) for name, value in constants.items()}


def _ply_axes(card: Elastic) -> tuple[Array, Array]:
    """Stiffness (6, 6) and expansion (6,) of a card in its own axes."""
    cte = np.zeros(6)
    cte[:3] = card.cte()
    return np.asarray(np.linalg.inv(card.compliance()), dtype=np.float64), cte


def _stack(layer: Layer, cards: Mapping[str, Elastic]) -> tuple[Array, Array]:
    """Stiffness (n, 6, 6) and expansion (n, 6) of the plies of a unit, in the hull frame."""
    plies = [ply_material(cards[ply.card], ply.angle) for ply in layer.plies]
    return np.stack([ply.C for ply in plies]), np.stack([ply.cte for ply in plies])


def _strain_rotation(angle: float, inverse: bool = False) -> Array:
    """Matrix (6, 6) that takes engineering strains from the hull frame to ply axes, or back."""
    c, s = float(cosdg(angle)), float(sindg(angle))  # exact at right angles
    Q = np.array([[0, s, c], [0, c, -s], [1, 0, 0]])  # rows: axes 1, 2, 3 in (r, t, z)
    new, old = (_HULL_PAIRS, _PLY_PAIRS) if inverse else (_PLY_PAIRS, _HULL_PAIRS)
    if inverse:
        Q = Q.T
    (i, j), (k, m) = new.T[:, :, None], old.T[:, None, :]
    shear_is_doubled = np.where(i == j, 1.0, 2.0)
    rotation: Array = shear_is_doubled * (Q[i, k] * Q[j, m] + Q[i, m] * Q[j, k]) / 2
    return rotation


def _swap(C: Array) -> Array:
    """Exchange strains and stresses of the out-of-surface components in y = C x.

    Parameters
    ----------
    C : (..., 6, 6) array

    Returns
    -------
    (..., 6, 6) array
        P with (y_I, x_O) = P (x_I, y_O), all in the usual component order. Its own inverse.
    """
    i, o = _IN_SURFACE, _OUT_OF_SURFACE
    compliance = np.linalg.inv(C[..., o[:, None], o])
    carried = C[..., i[:, None], o] @ compliance
    P = np.empty_like(C)
    P[..., o[:, None], o] = compliance
    P[..., i[:, None], o] = carried
    P[..., o[:, None], i] = -compliance @ C[..., o[:, None], i]
    P[..., i[:, None], i] = C[..., i[:, None], i] - carried @ C[..., o[:, None], i]
    return P


def _mixed(C: Array, cte: Array) -> tuple[Array, Array]:
    """P (n, 6, 6) and t (n, 6) of Hooke's law with in-surface strains as givens."""
    P = _swap(C)
    in_surface = cte.copy()
    in_surface[:, _OUT_OF_SURFACE] = 0
    return P, cte - in_surface - np.einsum("nij,nj->ni", P, in_surface)
