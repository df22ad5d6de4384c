"""Corners: exponents against published formulas, and finite elements against the exponents."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from solve.check import Check, Reference
from solve.cited_materials import isotropic
from solve.corner_decay import EPOXY, TITANIUM, decay_checks
from solve.corners import Exponent, Wedge, corner_exponents
from solve.laminate import Material, ply_material

Floats = NDArray[np.float64]

_TOPIC = "Exponents of corners"
WILLIAMS = Reference(_TOPIC, "Williams, J. Appl. Mech. 19 (1952) 526-528", "recomputed")
BOGY = Reference(_TOPIC, "Bogy, J. Appl. Mech. 35 (1968) 460-466", "recomputed")
BOGY_WEDGES = Reference(_TOPIC, "Bogy, J. Appl. Mech. 38 (1971) 377-386", "recomputed")
DUNDURS = Reference(_TOPIC, "Dundurs, J. Appl. Mech. 36 (1969) 650-652", "recomputed")
WANG_CHOI = Reference(_TOPIC, "Wang & Choi, J. Appl. Mech. 49 (1982) 541-550", "value from memory")

STEEL, ALUMINIUM = isotropic(207e3, 0.3), isotropic(69e3, 0.33)
SMEARED = isotropic(50e3, 0.3)  # a laminate as an isotropic solid


class FreeEdgePly:
    """Graphite-epoxy of Wang & Choi 1982: moduli 20, 2.1, 0.85 Msi and one Poisson's ratio."""

    def compliance(self) -> Floats:
        """Compliance (6, 6), 1/Msi, [11, 22, 33, 23, 13, 12]; not isotropic across the fibre."""
        S = np.diag([1 / 20, 1 / 2.1, 1 / 2.1, 1 / 0.85, 1 / 0.85, 1 / 0.85])
        S[0, 1:3] = S[1:3, 0] = -0.21 / 20
        S[1, 2] = S[2, 1] = -0.21 / 2.1
        return S

    def cte(self) -> Floats:
        """No expansion (3,)."""
        return np.zeros(3)


RIGID = 1e9  # how much stiffer a material is that stands for a rigid one

# Bonded along one face; angles of the first and the second material, degrees.
PAIRS: dict[str, tuple[Material, Material, dict[tuple[int, int], tuple[str, ...]]]] = {
    "epoxy, steel": (
        EPOXY,
        STEEL,
        {
            (90, 90): ("0.6958036",),
            (90, 180): ("0.6737494",),
            (135, 180): ("0.5707472", "0.8323962"),
            (45, 180): ("0.9810517",),
            (90, 270): ("0.5437764", "0.6702537", "0.915"),
            (180, 90): ("0.5101556", "0.0661580"),
        },
    ),
    "epoxy, titanium": (
        EPOXY,
        TITANIUM,
        {
            (90, 90): ("0.7081121",),
            (90, 180): ("0.6700026",),
            (135, 180): ("0.5688626", "0.8234352"),
            (45, 180): ("0.9685116",),
            (90, 270): ("0.5432365", "0.6641519", "0.920"),
            (180, 90): ("0.5174993", "0.0590177"),
            (120, 90): ("0.6136547",),
            (60, 90): ("0.9392619",),
            (45, 90): (),
        },
    ),
    "epoxy, aluminium": (
        EPOXY,
        ALUMINIUM,
        {
            (90, 90): ("0.7251395",),
            (90, 180): ("0.6637822",),
            (45, 180): ("0.9513201",),
            (90, 270): ("0.5424103", "0.6548003"),
        },
    ),
    "epoxy, smeared laminate": (
        EPOXY,
        SMEARED,
        {
            (90, 90): ("0.7406459",),
            (90, 180): ("0.6570915",),
            (45, 180): ("0.9354538",),
            (90, 270): ("0.5415637", "0.6454115"),
        },
    ),
    "smeared laminate, titanium": (
        SMEARED,
        TITANIUM,
        {
            (90, 90): ("0.9543332",),
            (90, 180): ("0.6003827", "0.9659"),
            (45, 180): ("0.7799387",),
            (90, 270): ("0.5254", "0.5621"),
        },
    ),
}


def corner_checks() -> list[Check]:
    """Exponents of corners, then the finite elements' stress towards some."""
    return [*exponent_checks(), *decay_checks()]


def exponent_checks() -> list[Check]:
    """Check exponents against the closed forms and determinants of isotropic corners."""
    checks = [
        WILLIAMS.check(
            f"rigid, elastic of Poisson's ratio {nu:.2g}, 90 degrees, free: lambda",
            "1",
            printed,
            in_plane([isotropic(1.0, nu), isotropic(RIGID, 0.3)], (90, 90))[0].value.real,
        )
        # a compressibility of one in ten million stands for none
        for nu, printed in (
            (0.2, "0.7810734"),
            (0.3, "0.7111729"),
            (0.35, "0.6796952"),
            (0.4, "0.6499100"),
            (0.45, "0.6215791"),
            (0.5 - 1e-7, "0.594612"),
        )
    ]
    checks += [
        BOGY.check(
            f"alpha {alpha:g}, beta {beta:g}, both 90 degrees: lambda",
            "1",
            printed,
            in_plane(list(dundurs_pair(alpha, beta)), (90, 90))[0].value.real,
        )
        for alpha, beta, printed in (
            (0.8, 0.2, "0.791627255"),
            (0.5, 0.0, "0.853197399"),
            (0.95, 0.25, "0.724635268"),
        )
    ]
    checks += [*_pair_checks(), *_crack_checks()]
    for claim, first, second, printed in (
        ("+45, -45 degrees", 45.0, -45.0, "-0.0256"),
        ("0, 90 degrees", 0.0, 90.0, "-0.0334"),
    ):
        plies = [ply_material(FreeEdgePly(), angle) for angle in (first, second)]
        strongest = corner_exponents(_wedges(plies, (90, 90), 180.0), closed=False)[0]
        checks.append(
            WANG_CHOI.check(
                f"free edge of plies at {claim}: power of stress", "1", printed, strongest.stress
            )
        )
    return checks


def _pair_checks() -> Iterator[Check]:
    for name, (one, two, table) in PAIRS.items():
        for angles, printed in table.items():
            found = in_plane([one, two], angles)
            ends = "one face apart" if sum(angles) == 360 else "free"
            claim = f"{name}, {angles[0]} and {angles[1]} degrees, {ends}: "
            if angles == (180, 90):
                for part, number, ours in zip(
                    ("real", "imaginary"),
                    printed,
                    (found[0].value.real, found[0].value.imag),
                    strict=True,
                ):
                    yield BOGY_WEDGES.check(f"{claim}lambda, {part} part", "1", number, ours)
            elif not printed:
                count = sum(e.singular for e in found)
                yield BOGY_WEDGES.check(f"{claim}number of lambda below 1", "1", "0", count)
            else:
                for number, exponent in zip(printed, found, strict=False):
                    ordinal = ("first", "second", "third")[printed.index(number)]
                    yield BOGY_WEDGES.check(
                        f"{claim}{ordinal} lambda", "1", number, exponent.value.real
                    )


def _crack_checks() -> Iterator[Check]:
    crack = in_plane([TITANIUM], (360,))[0]
    yield WILLIAMS.check("crack: lambda", "1", "0.500000000", crack.value.real)
    yield WILLIAMS.check("crack: multiplicity of lambda", "1", "2", crack.multiplicity)
    for name, metal, printed in (
        ("steel", STEEL, "0.07224"),
        ("titanium", TITANIUM, "0.07072"),
        ("aluminium", ALUMINIUM, "0.06795"),
    ):
        between = in_plane([EPOXY, metal], (180, 180))[0].value
        claim = f"crack between epoxy and {name}: lambda, "
        yield DUNDURS.check(f"{claim}real part", "1", "0.500000000", between.real)
        yield DUNDURS.check(f"{claim}imaginary part", "1", printed, between.imag)


def in_plane(materials: list[Material], angles: tuple[int, ...]) -> list[Exponent]:
    """In-plane exponents of wedges in a row, free at both ends; angles in degrees."""
    found = corner_exponents(_wedges(materials, angles), closed=False)
    return [exponent for exponent in found if exponent.kind == "in-plane"]


def _wedges(materials: list[Material], angles: tuple[int, ...], start: float = 0.0) -> list[Wedge]:
    faces = start + np.concatenate([[0.0], np.cumsum(angles)])
    return [
        Wedge(material.C, float(a), float(b))
        for material, a, b in zip(materials, faces[:-1], faces[1:], strict=True)
    ]


def dundurs_pair(alpha: float, beta: float) -> tuple[Material, Material]:
    """Make two isotropic materials of given Dundurs parameters (plane strain); the first is stiff.

    With kappa = 3 - 4 nu the first has kappa = 2; what is left follows from
    alpha = (A - 1) / (A + 1) and beta (A + 1) = A (kappa2 - 1) / (kappa2 + 1) - (kappa1 - 1) /
    (kappa1 + 1), A = mu1 (kappa2 + 1) / (mu2 (kappa1 + 1)).
    """
    A = (1 + alpha) / (1 - alpha)
    kappa1 = 2.0
    ratio = (beta * (A + 1) + (kappa1 - 1) / (kappa1 + 1)) / A
    kappa2 = (1 + ratio) / (1 - ratio)
    nu1, nu2 = (3 - kappa1) / 4, (3 - kappa2) / 4
    mu1 = A * (kappa1 + 1) / (kappa2 + 1)
    return isotropic(2 * mu1 * (1 + nu1), nu1), isotropic(2 * (1 + nu2), nu2)
