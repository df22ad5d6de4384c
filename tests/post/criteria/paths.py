"""Random strengths and paths of stress for the criteria."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np
from hypothesis import strategies as st

import post.criteria as criteria
from post.criteria.criterion import Criterion
from post.criteria.interlaminar import InterlaminarStrength
from post.criteria.kinking import KinkStrength
from post.criteria.multiplier import Array
from post.criteria.peel_shear import BondStrength
from post.criteria.principal_stress import TensileStrength
from post.criteria.puck import PuckStrength
from post.criteria.raghava import PolymerYield
from post.criteria.strengths import PlyStrength
from post.criteria.void_crushing import VoidStrength
from post.criteria.von_mises import YieldStrength

Generator = np.random.Generator


def ply_strength(g: Generator) -> PlyStrength:
    XT, XC = g.uniform(500, 3000), g.uniform(300, 1800)
    YT, YC, S12 = g.uniform(15, 90), g.uniform(95, 300), g.uniform(30, 130)
    return PlyStrength.transverse(XT, XC, YT, YC, S12, g.uniform(0.3, 0.8) * YC)


def puck_strength(g: Generator) -> PuckStrength:
    S12 = g.uniform(30, 130)
    steep, less = g.uniform(0.1, 0.5), g.uniform(0.5, 1)
    return PuckStrength(S12 * g.uniform(0.3, 1), S12 * g.uniform(1.2, 5), S12, steep, steep * less)


def kink_strength(g: Generator) -> KinkStrength:
    return KinkStrength(
        g.uniform(2000, 8000), g.uniform(30, 90), g.uniform(2, 12), g.uniform(0.2, 5)
    )


def polymer_yield(g: Generator) -> PolymerYield:
    tension = g.uniform(20, 60)
    return PolymerYield(tension, tension * g.uniform(1, 2))


@dataclass(frozen=True)
class Case:
    """A criterion with a way to draw its strengths, and the sizes of stress that matter to it."""

    criterion: Criterion[Any]
    strength: Callable[[Generator], Any]
    sizes: tuple[float, ...]
    convex: bool = True


PLY_SIZES = (900.0, 60.0, 60.0, 40.0, 40.0, 40.0)
BULK_SIZES = (30.0,) * 6

CASES = {
    "maximum stress": Case(criteria.MAXIMUM_STRESS, ply_strength, PLY_SIZES),
    "Tsai-Wu": Case(criteria.TSAI_WU, ply_strength, PLY_SIZES),
    "Hashin": Case(criteria.HASHIN, ply_strength, PLY_SIZES, convex=False),
    "Puck": Case(criteria.PUCK, puck_strength, PLY_SIZES),
    "kinking": Case(criteria.KINKING, kink_strength, PLY_SIZES, convex=False),
    "peel and shear": Case(
        criteria.PEEL_SHEAR,
        lambda g: BondStrength(g.uniform(10, 60), g.uniform(10, 60)),
        (30.0,) * 3,
    ),
    "Raghava": Case(criteria.RAGHAVA, polymer_yield, BULK_SIZES),
    "principal": Case(
        criteria.PRINCIPAL_STRESS, lambda g: TensileStrength(g.uniform(10, 60)), BULK_SIZES
    ),
    "interlaminar": Case(
        criteria.INTERLAMINAR,
        lambda g: InterlaminarStrength(g.uniform(10, 60), g.uniform(10, 60)),
        BULK_SIZES,
    ),
    "void crushing": Case(
        criteria.VOID_CRUSHING, lambda g: VoidStrength(g.uniform(20, 200)), BULK_SIZES
    ),
    "von Mises": Case(
        criteria.VON_MISES, lambda g: YieldStrength(g.uniform(100, 900)), (200.0,) * 6
    ),
}

seeds = st.integers(0, 2**32 - 1)


def draw_paths(case: Case, seed: int, count: int) -> tuple[Array, Array, Any]:
    """Thermal and unit stresses (components, count) and a strength.

    Thermal parts go from none to beyond failure, some oppose the unit part, some components are
    zero, as at free surfaces and in plane states.
    """
    g = np.random.default_rng(seed)
    sizes = np.array(case.sizes)[:, None]
    shape = (len(case.sizes), count)
    unit = sizes * g.normal(size=shape) * 10 ** g.uniform(-3, 1, count)
    thermal = sizes * g.normal(size=shape) * g.uniform(0, 0.7, count)
    opposed = g.random(count) < 0.3
    thermal[:, opposed] = -g.uniform(0, 5, opposed.sum()) * unit[:, opposed]
    unit[g.random(shape) < 0.2] = 0
    thermal[g.random(shape) < 0.2] = 0
    thermal[:, g.random(count) < 0.2] = 0
    return thermal, unit, case.strength(g)
