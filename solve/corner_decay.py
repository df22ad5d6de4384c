"""How the finite elements' stress grows towards the corners of a whole joint.

Problem
    Near a corner stress goes as a power of the distance that angles and materials alone decide
    (`solve.corners`). Do section, mesh and elements of a joint make the same of it?
Formulation
    The slope of a stress over the distance, both as logarithms, on a ray from the corner. A
    uniform stress and weaker powers stand beside the strongest; on the middle of a wedge, shear
    in a bond and stress across a notch hold little of them under the sea's pressure.
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from geometry.case import parse_case
from geometry.forms import draw_section
from geometry.layup import Layer, Ply
from geometry.section import Section
from geometry.sizes import Grading
from solve.check import Check, Reference
from solve.cited_materials import CARBON_EPOXY, isotropic
from solve.elasticity import pressure_load
from solve.laminate import Material, layer_material
from solve.section_corners import CornerWedge, SectionCorner, section_corners
from solve.solid import build, solve_solid
from solve.stress import Solved, stress_at

Floats = NDArray[np.float64]

_TOPIC = "Stress towards corners"
WILLIAMS = Reference(_TOPIC, "Williams, J. Appl. Mech. 19 (1952) 526-528", "recomputed")
BOGY = Reference(_TOPIC, "Bogy, J. Appl. Mech. 38 (1971) 377-386", "recomputed")
TING = Reference(_TOPIC, "formulation of Ting, Anisotropic Elasticity, 1996", "recomputed")

TITANIUM, EPOXY = isotropic(113.8e3, 0.342), isotropic(3e3, 0.35)
LAMINATE = layer_material(
    Layer("wall", 50.0, 6.0, tuple(Ply("ply", 0.2, a) for a in (90.0, 90.0, 0.0)), 10),
    {"ply": CARBON_EPOXY},
)

# Far beyond what a case needs: a thousandth of the bond is to hold some elements.
TOWARDS_CORNERS = Grading(bond_corner=2e-4, metal_corner=2e-4, growth=1.0)


def decay_checks() -> list[Check]:
    """Check how the stress of a whole joint grows towards three of its corners.

    A wall of 6 mm, a butt joint with a bond of 1 mm, a ring whose bore is the smaller and whose
    seat carries a flat end, under the pressure of the sea.
    """
    section, materials = _butt_joint()
    system = build(section, dict(materials), grading=TOWARDS_CORNERS)
    solid = solve_solid(system, dict(materials), {"pressure": pressure_load(system)})
    corners = {
        tuple(sorted((w.part, round(w.angle)) for w in corner.wedges)): corner
        for corner in section_corners(section, materials)
        if corner.point[0] < 53
    }
    places = (
        # reference, wedges, wedge looked into, component, lambda, reach, words
        (
            BOGY,
            (("adhesive", 90), ("ring", 180)),
            "adhesive",
            "shear",
            0.6700026,
            1.0,
            "titanium, straight, and epoxy, 90 degrees",
        ),
        (
            TING,
            (("adhesive", 90), ("wall", 90)),
            "adhesive",
            "shear",
            None,
            1.0,
            "laminate, 90 degrees, and epoxy, 90 degrees",
        ),
        (
            TING,
            (("adhesive", 90), ("wall", 90)),
            "wall",
            "shear",
            None,
            1.0,
            "laminate, 90 degrees, and epoxy, 90 degrees, in the laminate",
        ),
        (
            WILLIAMS,
            (("ring", 270),),
            "ring",
            "opening",
            0.5444837,
            6.0,
            "titanium, 270 degrees",
        ),
    )
    checks = []
    for reference, key, part, component, exponent, reach, words in places:
        corner = corners[key]
        wedge = next(w for w in corner.wedges if w.part == part)
        wanted = corner.unbounded[0].stress if exponent is None else exponent - 1
        slope = stress_slope(solid, corner, wedge, "pressure", component, reach)
        # What does not grow towards the corner still counts at a hundredth of the way.
        checks.append(
            reference.near(
                f"{words}: power of distance with which {component} stress goes",
                "1",
                wanted,
                slope,
                within=0.01,
                relative=False,
            )
        )
    return checks


def stress_slope(
    solved: Solved,
    corner: SectionCorner,
    wedge: CornerWedge,
    load: str,
    component: str,
    reach: float,
) -> float:
    """Power of the distance with which a stress goes along the middle of a wedge.

    Parameters
    ----------
    solved : Solved
    corner : SectionCorner
    wedge : CornerWedge
        One of its wedges.
    load : str
        Of the unit solutions.
    component : str
        ``opening`` (across the ray) or ``shear`` (along it).
    reach : float
        Thickness of the bond or length of the seat, mm: the ray is read between a thousandth
        and a hundredth of it.

    Returns
    -------
    float
        Slope of the straight line through the logarithms.
    """
    angle = np.radians((wedge.start + wedge.end) / 2)
    along, across = (
        np.array([np.cos(angle), np.sin(angle)]),
        np.array([-np.sin(angle), np.cos(angle)]),
    )
    distance = np.geomspace(1e-3, 1e-2, 11) * reach
    points = np.asarray(corner.point)[:, None] + along[:, None] * distance
    rr, _, zz, _, rz, _ = stress_at(solved, points, wedge.regions)[load]
    n, m = across, across if component == "opening" else along
    stress = n[0] * m[0] * rr + n[1] * m[1] * zz + (n[0] * m[1] + n[1] * m[0]) * rz
    return float(np.polyfit(np.log(distance), np.log(np.abs(stress)), 1)[0])


def _butt_joint() -> tuple[Section, Mapping[str, Material]]:
    """Draw a butt joint and give it the materials of this module in place of its cards'."""
    case = parse_case(
        {
            "title": "Butt joint for corners",
            "duty": {
                "pressure": "1 MPa",
                "stress_free_temperature": "20 degC",
                "service_temperature": "20 degC",
            },
            "wall": {
                "bore_radius": "50 mm",
                "half_length": "30 mm",
                "layup": [
                    {
                        "ply": "carbon-epoxy-im",
                        "thickness": "0.2 mm",
                        "angles": [90, 90, 0],
                        "repeats": 10,
                    }
                ],
            },
            "joint": {"form": "butt", "adhesive": "epoxy-paste", "bond_thickness": "1 mm"},
            "ring": {
                "material": "titanium-6al-4v",
                "web": "6 mm",
                "inner_radius": "48 mm",
                "outer_radius": "60 mm",
            },
            "head": {"form": "flat", "material": "titanium-6al-4v", "thickness": "6 mm"},
        }
    )
    section = draw_section(case)
    by_part = {"wall": LAMINATE, "adhesive": EPOXY, "ring": TITANIUM, "head": TITANIUM}
    return section, {name: by_part[region.part] for name, region in section.regions.items()}
