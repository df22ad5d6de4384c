"""Published numbers of thick tubes and spheres against the exact tube and the closed forms."""

from __future__ import annotations

import numpy as np

from solve.check import Check, Reference
from solve.cited_materials import CARBON_EPOXY, isotropic
from solve.exact_tube import TubeLayer, TubeSolution, solve_tube
from solve.laminate import ply_material
from solve.thick_wall_formulas import lame_sphere, lekhnitskii_exponent, lekhnitskii_ring

LAME = Reference(
    "Thick cylinder and sphere",
    "Lame 1852; Timoshenko & Goodier, Theory of Elasticity, 1970",
    "recomputed",
)
LEKHNITSKII = Reference(
    "Cylindrically orthotropic tube",
    "Lekhnitskii, Theory of Elasticity of an Anisotropic Body, 1981",
    "recomputed",
)
ANGLE_PLY = Reference(
    "Layered angle-ply tube",
    "Rousseau, Hyer & Tompkins 1987; Herakovich, Mechanics of Fibrous Composites, 1998",
    "recomputed",
)
RADII = (200.0, 225.0, 250.0)


def tube_checks() -> list[Check]:
    """Check thick walls: Lame, Lekhnitskii, angle plies, three bonded layers."""
    return [*_lame(), *_lekhnitskii(), *_angle_ply(), *_bonded()]


def steel_tube() -> TubeSolution:
    """Steel tube 200 to 250 mm, closed ends, 60 MPa outside."""
    layer = TubeLayer(200.0, 250.0, isotropic(200e3, 0.3))
    return solve_tube([layer], outer_pressure=60.0, closed_ends=True)


def angle_ply_layers() -> list[TubeLayer]:
    """[90/+30/-30/90] from 200 to 250 mm in four equal layers."""
    return [
        TubeLayer(inner, inner + 12.5, ply_material(CARBON_EPOXY, angle))
        for inner, angle in zip((200.0, 212.5, 225.0, 237.5), (90, 30, -30, 90), strict=True)
    ]


def bonded_layers() -> list[TubeLayer]:
    """Titanium, 0.25 mm of adhesive, hoop-wound carbon-epoxy."""
    return [
        TubeLayer(200.0, 205.0, isotropic(113.8e3, 0.342, 8.6e-6)),
        TubeLayer(205.0, 205.25, isotropic(3e3, 0.35, 60e-6)),
        TubeLayer(205.25, 250.0, ply_material(CARBON_EPOXY, 90)),
    ]


def _lame() -> list[Check]:
    tube = steel_tube()
    field = tube.evaluate(RADII)
    r, t, z = field.stress[:3]
    mises = np.sqrt(((r - t) ** 2 + (t - z) ** 2 + (z - r) ** 2) / 2)
    rows = {
        "radial stress": ("MPa", r, ("0.0000", "-34.9794", "-60.0000")),
        "hoop stress": ("MPa", t, ("-333.3333", "-298.3539", "-273.3333")),
        "axial stress": ("MPa", z, ("-166.6667", "-166.6667", "-166.6667")),
        "displacement": ("mm", field.displacement, ("-0.283333", "-0.267593", "-0.256667")),
        "von Mises stress": ("MPa", mises, ("288.6751", "228.0890", "184.7521")),
    }
    checks = [
        LAME.check(f"closed cylinder, {name} at r = {radius:g}", unit, printed, ours)
        for name, (unit, values, texts) in rows.items()
        for radius, printed, ours in zip(RADII, texts, values, strict=True)
    ]
    checks.append(
        LAME.check("closed cylinder, axial strain", "1", "-3.33333e-4", tube.axial_strain)
    )
    work = np.pi * 60 * 250 * -tube.face_displacement[-1] + tube.axial_force * tube.axial_strain / 2
    checks.append(LAME.check("closed cylinder, strain energy", "J/m", "14058.627", work))

    sphere = lame_sphere(RADII, 200.0, 250.0, 200e3, 0.3, outer_pressure=60.0)
    rows = {
        "radial stress": ("MPa", sphere.radial, ("0.0000", "-36.5985", "-60.0000")),
        "hoop stress": ("MPa", sphere.hoop, ("-184.4262", "-166.1270", "-154.4262")),
        "displacement": ("mm", sphere.displacement, ("-0.129098", "-0.118473", "-0.112623")),
        "von Mises stress": ("MPa", sphere.mises, ("184.4262", "129.5284", "94.4262")),
    }
    checks += [
        LAME.check(f"sphere, {name} at r = {radius:g}", unit, printed, ours)
        for name, (unit, values, texts) in rows.items()
        for radius, printed, ours in zip(RADII, texts, values, strict=True)
    ]
    return checks


def _lekhnitskii() -> list[Check]:
    hoop = ply_material(CARBON_EPOXY, 90)
    layer = [TubeLayer(200.0, 250.0, hoop)]
    k = lekhnitskii_exponent(hoop.C)
    check = LEKHNITSKII.check
    checks = [
        check("exponent k, generalised plane strain", "1", "3.1125758", k),
        check("exponent k, plane stress", "1", "3.3844564", np.sqrt(126 / 11)),
    ]

    pressed = solve_tube(layer, outer_pressure=60.0, closed_ends=True)
    cooled = solve_tube(layer, dT=-150.0)
    tables = (
        (
            "60 MPa outside, closed ends",
            pressed,
            "-1.318987e-2",
            ("-0.539576", "-0.420154", "-0.361502"),
            ("0.0000", "-36.9460", "-60.0000"),
            ("-383.1802", "-292.3954", "-248.0394"),
            ("-154.4551", "-167.0144", "-175.1517"),
        ),
        (
            "cooled by 150 K",
            cooled,
            "-3.968661e-3",
            ("0.123377", "0.028579", "-0.062539"),
            ("0.0000", "3.0071", "0.0000"),
            ("59.0201", "-1.9415", "-50.9803"),
            ("0.6874", "0.4001", "-2.0015"),
        ),
    )
    for case, tube, axial_strain, *texts in tables:
        checks.append(check(f"{case}, axial strain", "1", axial_strain, tube.axial_strain))
        field = tube.evaluate(RADII)
        names = ("displacement", "radial stress", "hoop stress", "axial stress")
        values = (field.displacement, *field.stress[:3])
        checks += [
            check(f"{case}, {name} at r = {radius:g}", unit, printed, ours)
            for name, unit, row, text in zip(
                names, ("mm", *["MPa"] * 3), values, texts, strict=True
            )
            for radius, printed, ours in zip(RADII, text, row, strict=True)
        ]

    exact = solve_tube(layer, outer_pressure=60.0, axial_strain=0.0).evaluate(RADII).stress
    closed = lekhnitskii_ring(RADII, 200.0, 250.0, k, outer_pressure=60.0)
    printed_rows = (
        ("0.00000", "-33.24450", "-60.00000"),
        ("-310.53061", "-294.78519", "-310.79252"),
    )
    checks += [
        check(f"no axial strain, {name} stress at r = {radius:g}, {how}", "MPa", printed, ours)
        for how, stress in (("exact tube", exact), ("closed form", closed))
        for name, text, row in zip(("radial", "hoop"), printed_rows, stress, strict=False)
        for radius, printed, ours in zip(RADII, text, row, strict=True)
    ]
    return checks


def _angle_ply() -> list[Check]:
    layers = angle_ply_layers()
    pressed = solve_tube(layers, outer_pressure=60.0, closed_ends=True)
    cooled = solve_tube(layers, dT=-150.0)
    checks = []
    for case, tube, texts in (
        (
            "[90/30/-30/90], 60 MPa outside, closed ends",
            pressed,
            ("-2.43347481e-3", "-8.43703535e-4", "-0.783035116", "-0.791597010"),
        ),
        (
            "[90/30/-30/90], cooled by 150 K",
            cooled,
            ("-5.30019871e-4", "-5.62577189e-4", "0.102343680", "-0.148574587"),
        ),
    ):
        quantities = (
            ("axial strain", "1", tube.axial_strain),
            ("twist", "rad/m", tube.twist * 1e3),
            ("displacement of the bore", "mm", tube.face_displacement[0]),
            ("displacement of the outside", "mm", tube.face_displacement[-1]),
        )
        checks += [
            ANGLE_PLY.check(f"{case}, {name}", unit, printed, ours)
            for (name, unit, ours), printed in zip(quantities, texts, strict=True)
        ]

    bore = pressed.evaluate(200.0, layer=0).stress[:, 0]
    second = pressed.evaluate(212.5, layer=1).stress[:, 0]
    c, s = np.cos(np.pi / 6), np.sin(np.pi / 6)
    fibre = np.array(
        [[c * c, s * s, 2 * c * s], [s * s, c * c, -2 * c * s], [-c * s, c * s, c * c - s * s]]
    )
    in_ply = fibre @ second[[2, 1, 3]]
    faces = np.array([212.5, 225.0, 237.5])
    values = [
        ("pressed, bore, axial stress", "-39.0945", bore[2]),
        ("pressed, bore, hoop stress", "-504.2586", bore[1]),
        ("pressed, second layer inside, axial stress", "-290.5882", second[2]),
        ("pressed, second layer inside, hoop stress", "-142.8026", second[1]),
        ("pressed, second layer inside, surface shear", "-142.5582", second[3]),
        ("pressed, second layer inside, fibre stress", "-377.1008", in_ply[0]),
        ("pressed, second layer inside, stress across fibres", "-56.2900", in_ply[1]),
        ("pressed, second layer inside, shear in ply axes", "-7.2860", in_ply[2]),
        ("cooled, bore, hoop stress", "56.3417", cooled.evaluate(200.0).stress[1, 0]),
        ("cooled, outside, hoop stress", "-83.9768", cooled.evaluate(250.0).stress[1, 0]),
    ]
    for state, tube, printed_row in (
        ("pressed", pressed, ("-28.7380", "-35.0339", "-40.3310")),
        ("cooled", cooled, ("2.0400", "2.9278", "3.6334")),
    ):
        radial = tube.evaluate(faces).stress[0]
        values += [
            (f"{state}, radial stress at interface {number}", printed, ours)
            for number, printed, ours in zip((1, 2, 3), printed_row, radial, strict=True)
        ]
    return checks + [
        ANGLE_PLY.check(f"[90/30/-30/90] {claim}", "MPa", printed, ours)
        for claim, printed, ours in values
    ]


def _bonded() -> list[Check]:
    cooled = solve_tube(bonded_layers(), dT=-100.0)
    pressed = solve_tube(bonded_layers(), outer_pressure=60.0, closed_ends=True)
    faces = np.array([205.0, 205.25])
    values: list[tuple[str, str, str, float]] = [
        ("cooled by 100 K, axial strain", "1", "-1.907995e-3", cooled.axial_strain),
        ("pressed, axial strain", "1", "-6.347572e-3", pressed.axial_strain),
        (
            "cooled, axial stress of the adhesive",
            "MPa",
            "22.853",
            cooled.evaluate(205.1).stress[2, 0],
        ),
        (
            "pressed, axial stress of the metal",
            "MPa",
            "-920.80",
            pressed.evaluate(202.0).stress[2, 0],
        ),
    ]
    for state, tube, texts in (
        ("cooled", cooled, ("2.5105", "2.5411")),
        ("pressed", pressed, ("-13.9801", "-13.9905")),
    ):
        values += [
            (f"{state}, radial stress {where} the adhesive", "MPa", printed, ours)
            for where, printed, ours in zip(
                ("inside", "outside"), texts, tube.evaluate(faces).stress[0], strict=True
            )
        ]
    return [
        ANGLE_PLY.check(f"metal, adhesive and hoop layers, {claim}", unit, printed, ours)
        for claim, unit, printed, ours in values
    ]
