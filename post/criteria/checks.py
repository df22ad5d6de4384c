"""Published numbers of strengths and criteria, for the verification page.

The strengths are those of the cited publications and stand apart from the project's cards, so
that a change of a card cannot move a reference. The numbers come from the cited formulas by a
second route, in plane stress; ours are those of the full criteria in three dimensions.
"""

from __future__ import annotations

import numpy as np

from post.criteria import hashin, kinking, puck, tsai_wu
from post.criteria.kinking import KinkStrength
from post.criteria.multiplier import Array
from post.criteria.puck import CFRP_SLOPES, GFRP_SLOPES, PuckStrength
from post.criteria.shells import sphere_buckling_pressure
from post.criteria.strengths import PlyStrength
from solve.check import Check, Reference

WITHIN = 1e-5

TSAI_WU = Reference("Tsai-Wu", "Tsai & Wu, J. Compos. Mater. 5 (1971) 58-80", "recomputed")
HASHIN = Reference("Hashin", "Hashin, J. Appl. Mech. 47 (1980) 329-334", "recomputed")
PUCK = Reference(
    "Puck, between the fibres",
    "Puck & Schuermann, Compos. Sci. Technol. 58 (1998) 1045-1067",
    "recomputed",
)
ARGON = Reference("Fibre kinking", "Argon 1972", "recomputed")
PLASTIC = Reference("Fibre kinking", "Budiansky, Comput. Struct. 16 (1983) 3-12", "recomputed")
FLECK = Reference(
    "Fibre kinking",
    "Budiansky & Fleck, J. Mech. Phys. Solids 41 (1993) 183-211",
    "recomputed",
)
ZOELLY = Reference("Buckling of a sphere", "Zoelly 1915", "recomputed")

# Soden, Hinton & Kaddour, Compos. Sci. Technol. 58 (1998) 1011-1022: XT, XC, YT, YC, S12, MPa
LAMINAE = {
    "carbon-epoxy, first lamina": (PlyStrength.transverse(1950, 1480, 48, 200, 79), CFRP_SLOPES),
    "carbon-epoxy, second lamina": (PlyStrength.transverse(1500, 900, 27, 200, 80), CFRP_SLOPES),
    "glass-epoxy, third lamina": (PlyStrength.transverse(1140, 570, 35, 114, 72), GFRP_SLOPES),
    "glass-epoxy, fourth lamina": (PlyStrength.transverse(1280, 800, 40, 145, 73), GFRP_SLOPES),
}
FIRST, SECOND, THIRD, FOURTH = LAMINAE

# lamina, (s11, s22, s12) MPa, Tsai-Wu index and reserve, Hashin's modes, Puck's mode and exposure
STATES = (
    (FIRST, (-400, -50, 20), -0.466732, 3.807509, (0, 0.073046, 0, 0.126592), "C", 0.288303),
    (FIRST, (500, 20, 40), 0.559822, 1.429887, (0.322115, 0, 0.429980, 0), "A", 0.691925),
    (FIRST, (0, -100, 60), 0.035164, 1.414940, (0.576831, 0, 0, 0.826831), "C", 0.672362),
    (SECOND, (500, 20, 40), 0.810656, 1.150077, (0.361111, 0, 0.798697, 0), "A", 0.910132),
    (THIRD, (-400, -50, 20), -0.081925, 2.030811, (0, 0.492459, 0, 0.269527), "C", 0.470766),
    (FOURTH, (0, -100, 60), 0.589342, 1.124870, (0.675549, 0, 0, 1.151173), "C", 0.858057),
)

COEFFICIENTS = {
    "F1": -1.628552e-4,
    "F2": 1.583333e-2,
    "F11": 3.465003e-7,
    "F22": 1.041667e-4,
    "F66": 1.602307e-4,
    "F12": -3.003905e-6,
}

# waviness deg, exponent: compressive strength MPa for G = 5 GPa, tY = 60 MPa
KINKING = {
    (1, 5): 1736.827,
    (2, 3): 1280.892,
    (2, 5): 1170.630,
    (2, 10): 1156.180,
    (3, 5): 905.042,
    (4, 5): 746.771,
}


def criteria_checks() -> list[Check]:
    """Tsai-Wu, Hashin, Puck, kinking and the sphere's buckling, in that order."""
    return [
        *_tsai_wu_checks(),
        *_hashin_checks(),
        *_puck_checks(),
        *_kinking_checks(),
        ZOELLY.near(
            "perfect sphere, E 113.8 GPa, nu 0.342, t/R 0.03",
            "MPa",
            125.85339,
            sphere_buckling_pressure(113.8e3, 0.342, 6.0, 200.0, knock_down=1.0),
            within=WITHIN,
        ),
    ]


def plane_stress(s11: float, s22: float, s12: float) -> Array:
    """Stress in ply axes [11, 22, 33, 23, 13, 12]."""
    return np.array([s11, s22, 0.0, 0.0, 0.0, s12])


def puck_strength(lamina: str) -> PuckStrength:
    """Strengths between the fibres of a cited lamina."""
    ply, slopes = LAMINAE[lamina]
    return PuckStrength(ply.YT, ply.YC, ply.S12, *slopes)


def _state(lamina: str, state: tuple[float, float, float]) -> str:
    return f"{lamina}, s11 {state[0]}, s22 {state[1]}, s12 {state[2]} MPa"


def _tsai_wu_checks() -> list[Check]:
    ours = vars(tsai_wu.coefficients(LAMINAE[FIRST][0]))
    checks = [
        TSAI_WU.near(
            f"{FIRST}, {name}",
            "1/MPa" if len(name) == 2 else "1/MPa^2",
            value,
            ours[name],
            within=WITHIN,
        )
        for name, value in COEFFICIENTS.items()
    ]
    for lamina, state, index, reserve, *_ in STATES:
        ply, stress = LAMINAE[lamina][0], plane_stress(*state)
        checks += [
            TSAI_WU.near(
                f"index, {_state(lamina, state)}",
                "1",
                index,
                tsai_wu.index(stress, ply),
                within=WITHIN,
                relative=False,
            ),
            TSAI_WU.near(
                f"load factor to failure, {_state(lamina, state)}",
                "1",
                reserve,
                tsai_wu.multiplier(0 * stress, stress, ply),
                within=WITHIN,
            ),
        ]
    return checks


def _hashin_checks() -> list[Check]:
    checks = []
    for lamina, state, _, _, indices, *_ in STATES:
        ours = hashin.mode_indices(plane_stress(*state), LAMINAE[lamina][0])
        checks += [
            HASHIN.near(
                f"{mode}, {_state(lamina, state)}", "1", index, value, within=WITHIN, relative=False
            )
            for mode, index, value in zip(hashin.MODES, indices, ours, strict=True)
            if index or value
        ]
    return checks


def _puck_checks() -> list[Check]:
    strength = puck_strength(FIRST)
    constants = (
        ("resistance across the fibres RA", "MPa", 77.3057, strength.RA),
        ("slope across the fibres", "1", 0.293566, strength.slope_across),
        ("shear where modes B and C meet", "MPa", 99.5253, strength.shear_at_corner),
    )
    checks = [
        PUCK.near(f"{FIRST}, {claim}", unit, value, ours, within=WITHIN)
        for claim, unit, value, ours in constants
    ]
    for lamina, state, *_, mode, exposure in STATES:
        stress, strength = plane_stress(*state), puck_strength(lamina)
        found = str(puck.mode(stress, strength))
        checks.append(
            PUCK.near(
                f"exposure in mode {mode}, {_state(lamina, state)}",
                "1",
                exposure,
                puck.index(stress, strength) if found == mode else float("nan"),
                within=WITHIN,
            )
        )
    return checks


def _kinking_checks() -> list[Check]:
    shared = "G 5 GPa, tY 60 MPa"
    checks = [
        ARGON.near(
            f"rigid, perfectly plastic, 2 deg, {shared}",
            "MPa",
            1718.873,
            kinking.argon_strength(60.0, 2.0),
            within=WITHIN,
        ),
        PLASTIC.near(
            f"elastic, perfectly plastic, 2 deg, {shared}",
            "MPa",
            1279.138,
            kinking.perfectly_plastic_strength(5000.0, 60.0, 2.0),
            within=WITHIN,
        ),
    ]
    compression = np.array([-1.0, 0, 0, 0, 0, 0])
    for (waviness, exponent), value in KINKING.items():
        strength = KinkStrength(5000.0, 60.0, exponent, waviness)
        checks.append(
            FLECK.near(
                f"Ramberg-Osgood, n {exponent}, {waviness} deg, {shared}",
                "MPa",
                value,
                kinking.multiplier(0 * compression, compression, strength),
                within=WITHIN,
            )
        )
    return checks
