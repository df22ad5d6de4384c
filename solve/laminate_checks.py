"""Published numbers of laminates against the smeared repeat unit and the thin plate."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from geometry.layup import Layer, Ply
from solve.check import Check, Reference
from solve.cited_materials import CARBON_EPOXY, CARBON_EPOXY_TEXTBOOK
from solve.laminate import engineering_constants, layer_material, ply_material
from solve.plate import plane_stress_stiffness, plate

SUBLAMINATE = Reference(
    "Smeared repeat unit",
    "Sun & Li, J. Compos. Mater. 22 (1988) 629-639; Chou, Carleone & Hsu 1972",
    "recomputed",
)
QUASI_ISOTROPIC = Reference(
    "Smeared repeat unit", "Tsai & Hahn, Introduction to Composite Materials, 1980", "recomputed"
)
PLATE = Reference(
    "Laminate as a plate", "Kaw, Mechanics of Composite Materials, 2nd ed., 2006", "published"
)
PLATE_RESPONSE = Reference(
    "Laminate as a plate", "Kaw, Mechanics of Composite Materials, 2nd ed., 2006", "recomputed"
)

CARDS = {"carbon-epoxy": CARBON_EPOXY, "textbook": CARBON_EPOXY_TEXTBOOK}

# GPa, 1 and 1e-6/K; directions 1 axial, 2 hoop, 3 radial.
_CONSTANTS = {
    "E_z": ("E1", "GPa", 1e-3),
    "E_t": ("E2", "GPa", 1e-3),
    "E_r": ("E3", "GPa", 1e-3),
    "G_rt": ("G23", "GPa", 1e-3),
    "G_rz": ("G13", "GPa", 1e-3),
    "G_tz": ("G12", "GPa", 1e-3),
    "nu_zt": ("nu12", "1", 1.0),
    "nu_zr": ("nu13", "1", 1.0),
    "nu_tr": ("nu23", "1", 1.0),
}
_UNITS = {
    (0, 90): (
        "68.8326 68.8326 12.559 4.9254 4.9254 6.6 .04496 .38409 .38409",
        "1.6555 1.6555 34.9246",
    ),
    (45, -45): (
        "22.3134 22.3134 12.559 4.9254 4.9254 32.9354 .69041 .12451 .12451",
        "1.6555 1.6555 34.9246",
    ),
    (0, 45, -45, 90): (
        "51.0614 51.0614 12.559 4.9254 4.9254 19.7677 .29154 .28493 .28493",
        "1.6555 1.6555 34.9246",
    ),
    (55, -55): (
        "15.3135 38.7152 12.2759 5.3934 4.5321 29.8548 .40226 .24398 -.01199",
        "9.8422 -3.0023 33.4725",
    ),
    (90, 90, 0): (
        "49.5644 88.0772 12.4963 5.3804 4.5413 6.6 .03513 .39062 .37442",
        "3.4752 .6044 34.6083",
    ),
}


def laminate_checks() -> list[Check]:
    """Check laminates: smeared repeat units, quasi-isotropic unit, textbook plates."""
    return [*_smeared(), *_quasi_isotropic(), *_plate_stiffness(), *_plate_response()]


def repeat_unit(angles: tuple[float, ...], card: str = "carbon-epoxy") -> Layer:
    """Layer whose repeat unit has these angles, in plies of equal thickness."""
    return Layer("unit", 100.0, 0.2 * len(angles), tuple(Ply(card, 0.2, a) for a in angles), 1)


def textbook_plies() -> list[Ply]:
    """[0/30/-45] of 5 mm plies: examples 4.2 and 4.3 of Kaw."""
    return [Ply("textbook", 5.0, angle) for angle in (0, 30, -45)]


def _smeared() -> list[Check]:
    checks = []
    for angles, (constants, expansions) in _UNITS.items():
        name = "/".join(f"{angle:g}" for angle in angles)
        material = layer_material(repeat_unit(angles), CARDS)
        ours = engineering_constants(material)
        checks += [
            SUBLAMINATE.check(f"[{name}] {symbol}", unit, printed, ours[key] * factor)
            for (key, (symbol, unit, factor)), printed in zip(
                _CONSTANTS.items(), constants.split(), strict=True
            )
        ]
        checks += [
            SUBLAMINATE.check(f"[{name}] expansion along {axis}", "1e-6/K", printed, value * 1e6)
            for axis, printed, value in zip(
                "123", expansions.split(), material.cte[[2, 1, 0]], strict=True
            )
        ]
    return checks


def _quasi_isotropic() -> list[Check]:
    ours = engineering_constants(layer_material(repeat_unit((0, 45, -45, 90), "textbook"), CARDS))
    rows = [
        ("E", "GPa", "69.6757", "E_z", 1e-3),
        ("nu", "1", ".29603", "nu_zt", 1.0),
        ("G", "GPa", "26.8804", "G_tz", 1e-3),
    ]
    return [
        QUASI_ISOTROPIC.check(f"quasi-isotropic textbook ply, {name}", unit, printed, ours[key] * f)
        for name, unit, printed, key, f in rows
    ]


def _matrix_checks(
    reference: Reference, claim: str, unit: str, printed: tuple[str, ...], ours: NDArray[np.float64]
) -> list[Check]:
    """One check for each entry on and above the diagonal, row by row."""
    rows, columns = np.triu_indices(3)
    return [
        reference.check(f"{claim}{i + 1}{j + 1}", unit, text, ours[i, j])
        for i, j, text in zip(rows, columns, printed, strict=True)
        if text != "0"
    ]


def _plate_stiffness() -> list[Check]:
    Q = plane_stress_stiffness(ply_material(CARBON_EPOXY_TEXTBOOK, 0)) / 1e3
    turned = plane_stress_stiffness(ply_material(CARBON_EPOXY_TEXTBOOK, 60)) / 1e3
    laminate = plate(textbook_plies(), CARDS)
    A = ("1.739e9", "3.884e8", "5.663e7", "4.533e8", "-1.141e8", "4.525e8")
    B = ("-3.129e6", "9.855e5", "-1.072e6", "1.158e6", "-1.072e6", "9.855e5")
    D = ("3.343e4", "6.461e3", "-5.240e3", "9.320e3", "-5.596e3", "7.663e3")
    return [
        *_matrix_checks(
            PLATE, "example 2.6, Q", "GPa", ("181.8", "2.897", "0", "10.35", "0", "7.17"), Q
        ),
        *_matrix_checks(
            PLATE,
            "example 2.7, Q at 60 degrees, ",
            "GPa",
            ("23.65", "32.46", "20.05", "109.4", "54.19", "36.74"),
            turned,
        ),
        *_matrix_checks(PLATE, "example 4.2, A", "Pa m", A, laminate.A * 1e3),
        *_matrix_checks(PLATE, "example 4.2, B", "Pa m2", B, laminate.B),
        *_matrix_checks(PLATE, "example 4.2, D", "Pa m3", D, laminate.D / 1e3),
    ]


def _plate_response() -> list[Check]:
    laminate = plate(textbook_plies(), CARDS)
    strain, curvature = laminate.deform((1.0, 1.0, 0.0), (0.0, 0.0, 0.0))
    vectors = [
        ("mid strain", "1", ("3.12295e-7", "3.49170e-6", "-7.59845e-7"), strain),
        ("curvature", "1/m", ("2.97144e-5", "-3.28502e-4", "4.10147e-4"), curvature * 1e3),
    ]
    for number, angle, printed in (
        (0, 0, ("3.3513e4", "6.1875e4", "-2.7504e4")),
        (1, 30, ("6.9297e4", "7.3914e4", "3.3808e4")),
    ):
        stress = laminate.Q[number] @ (strain + laminate.faces[number] * curvature) * 1e6
        vectors.append((f"stress on top of the {angle} degree ply", "Pa", printed, stress))
    return [
        PLATE_RESPONSE.check(f"example 4.3, {name}, {axis}", unit, text, value)
        for name, unit, printed, values in vectors
        for axis, text, value in zip(("x", "y", "xy"), printed, values, strict=True)
    ]
