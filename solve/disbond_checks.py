"""Energy release rates of beams, plates, laps, tubes and a penny crack, and faces in contact.

Every row goes through the mesh, the reduction, the contact and the energies that judge the bonds
of a joint. Where the published formula is a beam's or a thin plate's, the row says what it leaves
out and by how much the numbers may differ for that.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from solve.check import Check, Reference
from solve.cited_materials import isotropic
from solve.disbond import Reduced, Stretch, flooding
from solve.disbond_solids import blister, cantilever, notched, overlap, penny, two_tubes
from solve.energy_release import Disbonded, Pair
from solve.solid_disbonds import CutSolid

Floats = NDArray[np.float64]

_BEAMS = "Energy release rate: beams"
DCB = Reference(_BEAMS, "double cantilever of ASTM D5528, simple beams", "recomputed")
MOMENTS = Reference(
    _BEAMS, "double cantilever under moments, G = 12 M^2 / (b^2 E h^3), exact", "recomputed"
)
ENF = Reference(_BEAMS, "end-notched flexure of ASTM D7905, simple beams", "recomputed")
BLISTER = Reference(
    "Energy release rate: plates",
    "clamped circular plate, Timoshenko & Woinowsky-Krieger 1959",
    "recomputed",
)
PENNY = Reference(
    "Energy release rate: cracks", "I.N. Sneddon, Proc. R. Soc. A 187 (1946) 229", "recomputed"
)
LONG = Reference(
    "Energy release rate: long overlaps",
    "balance of energy of two bars, steady growth",
    "recomputed",
)
TUBES = Reference(
    "Energy release rate: flooded tubes",
    "Lame's tubes in plane strain, steady growth",
    "recomputed",
)
ROUTES = Reference("Energy release rate: two routes", "closure against energy", "recomputed")
FIT = Reference("Faces in contact", "Lame's press fit in plane strain", "recomputed")


def disbond_checks() -> list[Check]:
    """Check beams, plates, crack, overlap, tubes and press fit, in that order."""
    return [check for group in GROUPS for check in group()]


def _release(solid: CutSolid, length: float, loads: dict[str, float]) -> tuple[float, float, float]:
    """G, and its shares of mode I and II, of a disbond from an end of the path, N/mm."""
    stretch = Stretch(0, 0, solid.reduced.paths[0].corner(length))
    tip = Disbonded(solid.reduced, loads).tip([stretch], 0, 1)
    return tip.G, tip.G_I / tip.G, tip.G_II / tip.G


def beam_checks() -> list[Check]:
    """Check beams that open and beams that shear."""
    h, a, E = 1.5, 50.0, 120e3
    beam = cantilever(h, 80.0, size=h / 4)
    G, opening, _ = _release(beam, a, {"force": 40.0 / 25})
    moment = 100.0
    bent, _, _ = _release(beam, a, {"moment": moment})
    # beyond simple beams the arms are 0.673 h longer (Kanninen 1973, Williams 1989; from memory)
    longer = (1 + 0.673 * h / a) ** 2
    checks = [
        MOMENTS.near("arms bent apart", "N/mm", 12 * moment**2 / (E * h**3), bent, within=1e-3),
        DCB.near(
            "arms pulled apart, on 0.673 h longer arms",
            "J/m\u00b2",
            189.62963 * longer,
            1e3 * G,
            within=5e-3,
        ),
        DCB.near("share that opens", "1", 1.0, opening, within=1e-3),
    ]
    sheared = notched()
    G, _, shearing = _release(sheared, 30.0, {"force": 600.0 / 25})
    # simple beams leave out shear, and that the tip gives way: less than 2 % at a = 20 h
    checks += [
        ENF.near("three-point bending, simple beams", "J/m\u00b2", 720.0, 1e3 * G, within=2e-2),
        ENF.near("share that shears", "1", 1.0, shearing, within=1e-3),
    ]
    return checks


def plate_checks() -> list[Check]:
    """Check the blister as its plate becomes thin."""
    E, nu, a, p = 3e3, 0.35, 20.0, 1e-3
    ratios = []
    for t in (0.8, 0.4):
        reduced = blister(a, t, size=t / 4).reduced
        path = reduced.paths[0]
        stretch = Stretch(0, 0, path.corner(a), flooded=True)
        G = Disbonded(reduced, {"pressure": p}).total([stretch], 0, 1)
        D = E * t**3 / (12 * (1 - nu**2))
        ratios.append(G / (p**2 * a**4 / (128 * D)))
    # a thick plate gives way at its rim and by shear; to first order in t / a both add to G
    thin = 2 * ratios[1] - ratios[0]
    return [
        BLISTER.near(
            "pressurised blister over p^2 a^4 / (128 D), drawn to no thickness from t/a = 1/25, "
            "1/50",
            "1",
            1.0,
            thin,
            within=1e-2,
        ),
    ]


def _drawn(a: float, elements: int, loads: dict[str, float]) -> float:
    """G of the penny crack as flaws of a case are judged, N/mm."""
    cubic, plain = (penny(a, elements=elements, degree=degree).reduced for degree in (3, 2))
    return Pair(cubic, plain, loads).total([Stretch(0, 0, cubic.paths[0].corner(a))], 0, 1)


def crack_checks() -> list[Check]:
    """Check the penny crack in a block twelve times as large."""
    found = [_release(penny(20.0, elements=n), 20.0, {"pressure": 10.0}) for n in (8, 16)]
    coarse, fine = (1e3 * G for G, _, _ in found)
    return [
        # where G changes along growth its error is of the first order in the elements' length
        PENNY.near(
            "pulled by 10 MPa, 16 elements along it", "J/m\u00b2", 744.84513, fine, within=1e-2
        ),
        # the block's finite size adds about a thousandth
        PENNY.near(
            "pulled by 10 MPa, drawn to elements of no length",
            "J/m\u00b2",
            744.84513,
            2 * fine - coarse,
            within=2e-3,
        ),
        PENNY.near(
            "pulled by 10 MPa, drawn from quadratic and cubic elements",
            "J/m\u00b2",
            744.84513,
            1e3 * _drawn(20.0, 16, {"pressure": 10.0}),
            within=2e-3,
        ),
        PENNY.near("share that opens", "1", 1.0, found[1][1], within=1e-3),
    ]


def overlap_checks() -> list[Check]:
    """Check steady growth along a long overlap, pulled and cooled."""
    solid = overlap()
    pulled, _, shearing = _release(solid, 80.0, {"force": 500.0})
    cooled, _, _ = _release(solid, 80.0, {"temperature": -100.0})
    return [
        # the glue carries 0.03 % of the axial force, which the balance of two bars leaves out
        LONG.near("pulled by 500 kN/m", "J/m\u00b2", 151.34030, 1e3 * pulled, within=1e-3),
        LONG.near("cooled by 100 K", "J/m\u00b2", 180.62655, 1e3 * cooled, within=1e-3),
        LONG.near("share that shears", "1", 1.0, shearing, within=1e-6),
    ]


def tube_checks() -> list[Check]:
    """Check a long flooded disbond between tubes, and one that is shut, by Lame's formulas."""
    reduced = two_tubes(2400.0, size=5.0).reduced
    path = reduced.paths[0]
    stretch = Stretch(0, 0, path.corner(1200.0), flooded=True)
    flooded = Disbonded(reduced, {"pressure": 60.0}).total([stretch], 0, 1)
    shut = Disbonded(reduced, {"pressure": 60.0}).total([Stretch(0, 0, stretch.last)], 0, 1)
    return [
        TUBES.near(
            "flooded between tubes at 60 MPa", "J/m\u00b2", 32500.66, 1e3 * flooded, within=1e-3
        ),
        TUBES.near(
            "dry and pressed shut by 60 MPa",
            "J/m\u00b2",
            0.0,
            1e3 * shut,
            within=1e-3,
            relative=False,
        ),
    ]


def fit_pressure(reduced: Reduced, loads: dict[str, float]) -> tuple[float, float]:
    """Mean and largest deviation of what the faces of a whole path press with, MPa."""
    path = reduced.paths[0]
    stretch = Stretch(0, 0, path.elements)
    at, found = Disbonded(reduced, loads).solve([stretch])
    normal = reduced.normal(at)
    weight = np.zeros(reduced.starts[-1])
    np.add.at(weight, reduced.elements(stretch)[:, :, 0], flooding(path, reduced.degree))
    pressure = found.force[normal] / weight[at][normal]
    mean = float(found.force[normal].sum() / weight.sum())
    return mean, float(np.abs(pressure - mean).max())


def fit_checks() -> list[Check]:
    """Check the pressure of a press fit: the inner tube is warmer by 100 K."""
    E1, nu1, E2, nu2, cte = 113.8e3, 0.342, 60e3, 0.3, 8.6e-6
    solid = two_tubes(40.0, size=2.5, materials=(isotropic(E1, nu1, cte), isotropic(E2, nu2)))
    a, c, b = 200.0, 210.0, 250.0
    # plane strain: E' = E / (1 - nu^2), nu' = nu / (1 - nu), expansion (1 + nu) cte
    stiff = [(E / (1 - nu**2), nu / (1 - nu)) for E, nu in ((E1, nu1), (E2, nu2))]
    within = ((c**2 + a**2) / (c**2 - a**2) - stiff[0][1]) / stiff[0][0]
    without = ((b**2 + c**2) / (b**2 - c**2) + stiff[1][1]) / stiff[1][0]
    wanted = (1 + nu1) * cte * 100.0 / (within + without)
    mean, most = fit_pressure(solid.reduced, {"temperature": 100.0})
    return [
        FIT.near(
            "pressure of a tube 100 K warmer than the one around it",
            "MPa",
            wanted,
            mean,
            within=1e-6,
        ),
        FIT.near(
            "largest deviation along the faces",
            "MPa",
            0.0,
            most,
            within=1e-3 * wanted,
            relative=False,
        ),
    ]


def route_checks() -> list[Check]:
    """Check G by closing the next element against two whole solves with doubled nodes.

    The whole solves know nothing of the reduction: the solid is solved twice, for a disbond and
    for one that is an element longer.
    """
    checks = []
    for name, load, solid in (
        ("arms pulled apart", {"force": 1.6}, cantilever(1.5, 24.0, size=0.375)),
        ("long overlap, pulled", {"force": 500.0}, overlap(60.0)),
        ("long overlap, cooled", {"temperature": -100.0}, overlap(60.0)),
    ):
        corner = solid.reduced.paths[0].elements // 2
        work, area, _ = Disbonded(solid.reduced, load).closure([Stretch(0, 0, corner)], 0, 1)
        before, after = (solid.whole_energy(load, corner + step) for step in (0, 1))
        checks.append(
            ROUTES.near(name, "N/mm", (before - after) / area, work.sum() / area, within=1e-5)
        )
    return checks


GROUPS = (
    beam_checks,
    plate_checks,
    crack_checks,
    overlap_checks,
    tube_checks,
    fit_checks,
    route_checks,
)
