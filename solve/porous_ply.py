"""Round pores along axis 1 of a ply with three planes of symmetry.

Formulation
    As in `solve.micromechanics`, where the matrix is transversely isotropic and closed forms
    exist. Here the strain in a pore comes from Hill's tensor of a long cylinder in the ply itself,

        P = mean over the directions n across axis 1 of the symmetric part of n (n.C.n)^-1 n
        A = (I - P C)^-1,   C* = (1 - f) C ((1 - f) I + f A)^-1

    with the mean over a circle by equal steps, which converges as fast as any power of their
    number. Stress and strain as vectors of six with tensor shear times sqrt(2), so that tensors
    multiply as matrices.
Symbols
    C stiffness, MPa; f share of pores; components [11, 22, 33, 23, 13, 12].
Source
    L.J. Walpole, Adv. Appl. Mech. 21 (1981) 169-242; J.R. Willis, J. Mech. Phys. Solids 25 (1977)
    185-202; Y. Benveniste, Mech. Mater. 6 (1987) 147-157 (values from memory; the tests hold it to
    the closed forms of Chen, Dvorak & Benveniste 1992).
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

STEPS = 256  # directions on the half circle
_PAIRS = np.array([(0, 0), (1, 1), (2, 2), (1, 2), (0, 2), (0, 1)])
_SHEAR = np.sqrt(np.array([1.0, 1.0, 1.0, 2.0, 2.0, 2.0]))


def porous_compliance(S: Array, share: float) -> Array:
    """Compliance of a ply with pores along axis 1.

    Parameters
    ----------
    S : (6, 6) array
        Of the ply without pores, 1/MPa, [11, 22, 33, 23, 13, 12], engineering shear.
    share : float
        Of pores in the volume, below 1.

    Returns
    -------
    (6, 6) array
        1/MPa, the same order.

    Raises
    ------
    ValueError
        When the share is negative or nothing is left.
    """
    if not 0 <= share < 1:
        raise ValueError(f"a share of pores of {share} is not in 0 to 1")
    C: Array = np.asarray(np.linalg.inv(S) * np.outer(_SHEAR, _SHEAR), dtype=np.float64)
    unit = np.eye(6)
    A = np.linalg.inv(np.asarray(unit - _hill(C) @ C, dtype=np.float64))
    made = (1 - share) * C @ np.linalg.inv((1 - share) * unit + share * A)
    S_ = np.linalg.inv(made) * np.outer(_SHEAR, _SHEAR)
    return np.asarray((S_ + S_.T) / 2, dtype=np.float64)


def _hill(C: Array) -> Array:
    """Hill's tensor of a cylinder along axis 1, (6, 6)."""
    i, j = _PAIRS.T
    full = np.empty((3, 3, 3, 3))
    tensor = C / np.outer(_SHEAR, _SHEAR)
    for row in range(6):
        for column in range(6):
            for a, b in {(i[row], j[row]), (j[row], i[row])}:
                for c, d in {(i[column], j[column]), (j[column], i[column])}:
                    full[a, b, c, d] = tensor[row, column]
    angle = np.pi * np.arange(STEPS) / STEPS
    n = np.stack([0 * angle, np.cos(angle), np.sin(angle)])
    inverse = np.linalg.inv(np.einsum("jn,ijkl,ln->nik", n, full, n))
    mean = np.einsum("nik,jn,ln->ijkl", inverse, n, n) / STEPS
    mean = (mean + mean.transpose(1, 0, 2, 3)) / 2
    mean = (mean + mean.transpose(0, 1, 3, 2)) / 2
    return np.asarray(
        mean[i[:, None], j[:, None], i[None], j[None]] * np.outer(_SHEAR, _SHEAR), dtype=np.float64
    )
