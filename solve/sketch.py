"""Norms in a space of many unknowns from a few numbers: a random sketch.

Problem
    An error estimate needs the dual norm |r| = sqrt(r . K^-1 r) of residuals r, thousands of
    them, each a different combination of many vectors; the bounds of stresses need the same norm
    of the functionals that give them. A solve for each is too dear.
Formulation
    With a square root of the reference stiffness, K = Q^T Q (Q = the root of the material
    stiffness times the strain operator), and G of k columns of independent normal numbers,
        S = K^-1 Q^T G    gives    |r|^2 = |Q K^-1 r|^2,   S^T r = G^T Q K^-1 r.
    Every |S^T r|^2 / |r|^2 is distributed as chi-squared with k degrees of freedom, whatever r is,
    as long as it does not depend on G. So |r| <= |S^T r| / sqrt(c) but for a chance `CHANCE`, c
    being the quantile of that chance. k solves, once.
Source
    O. Balabanov, A. Nouy, Adv. Comput. Math. 45 (2019) 2969-3019 (value from memory); the
    distribution is that of a sum of squares of normal numbers.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from solve.affine import Affine
from solve.elasticity import assemble, solve_loads
from solve.laminate import Material

Floats = NDArray[np.float64]

COLUMNS = 128
CHANCE = 1e-6  # that one norm is larger than its bound
AT_A_TIME = 16  # columns: bounds the memory of the normal numbers


def sketch(
    model: Affine, materials: dict[str, Material], seed: int, columns: int = COLUMNS
) -> Floats:
    """Draw S for a reference stiffness.

    Parameters
    ----------
    model : Affine
    materials : dict of str to Material
        Of the reference, by region.
    seed : int
    columns : int
        k.

    Returns
    -------
    (n, k) array
        Zero at held unknowns, scaled so that ``norms`` of it are bounds.
    """
    draw = np.random.default_rng(seed)
    kept = list(model.kept)
    by_group = {model.region_group[region]: material for region, material in materials.items()}
    root = {
        g.name: np.linalg.cholesky(by_group[g.name].C[np.ix_(kept, kept)]) for g in model.groups
    }
    loads = np.empty((model.size, columns))
    scale = np.sqrt(model.volume)[:, None, None]
    for first in range(0, columns, AT_A_TIME):
        part = slice(first, min(first + AT_A_TIME, columns))
        normal = draw.standard_normal((len(model.volume), len(kept), part.stop - first))
        for g in model.groups:
            normal[g.rows] = np.matmul(root[g.name], normal[g.rows])
        normal *= scale
        loads[:, part] = model.strain.T @ normal.reshape(-1, part.stop - first)
    system = assemble(model.mesh, materials, model.space.degree, model.twist)
    found, _ = solve_loads(system, loads, model.held)
    from scipy.stats import chi2  # slow to load, and the full solves do not need it

    return np.asarray(found / np.sqrt(chi2.ppf(CHANCE, columns)))


def norms(sketched: Floats) -> Floats:
    """Bounds of norms from sketches (k, ...), over the first axis."""
    return np.asarray(np.sqrt(np.einsum("k...,k...->...", sketched, sketched)))
