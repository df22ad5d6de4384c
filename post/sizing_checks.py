"""The trade's word on carbon and titanium, beside what a wall of each comes to.

What makes it so: a cross-ply of intermediate-modulus carbon-epoxy whose typical strengths count
0.8 and that is wet (0.9), against titanium at its A-basis yield in full; first ply against first
yield; walls of about a tenth of the bore's radius, closed ends, no temperature, 30 MPa of sea for
the water's density: 3.5 times. A quasi-isotropic wall comes to 3.0, a hoop-biased one to 4.6,
the cross-ply without both knock-downs to 4.9. Buckling is left out; where it governs, carbon
gains less.
"""

from __future__ import annotations

from geometry.case import Case, parse_case
from post.layups import CROSS_PLY, NAMED_LAYUPS
from post.plain_wall import wall_strength
from post.sized import Option, specific_strength
from post.sizing import with_wall
from post.strengths import strengths
from solve.check import Check, Reference

PRACTICE = Reference(
    "Strength over net weight in water", "common practice, no published source", "common practice"
)
ABOUT = 0.2  # what 'about' is taken as
CARBON, TITANIUM = "carbon-epoxy-im", "titanium-6al-4v"


def bare_hull() -> Case:
    """Make an invented hull of 300 mm bore at 30 MPa that knows no temperature change."""
    block = {"ply": CARBON, "thickness": "0.19 mm", "angles": [90, 0], "repeats": 40}
    return parse_case(
        {
            "title": "Invented hull",
            "duty": {
                "pressure": "30 MPa",
                "stress_free_temperature": "2 degC",
                "service_temperature": "2 degC",
            },
            "wall": {"bore_radius": "150 mm", "half_length": "300 mm", "layup": [block]},
            "joint": {"form": "butt", "adhesive": "epoxy-paste", "bond_thickness": "1 mm"},
            "ring": {"material": TITANIUM, "web": "20 mm"},
            "head": {"form": "none"},
            "knock_downs": [{"on": "wall", "factor": 0.9, "reason": "wet"}],
        }
    )


def carbon_over_titanium(angles: tuple[float, ...] = NAMED_LAYUPS[CROSS_PLY]) -> float:
    """Strength over net weight in water of a carbon wall over that of a titanium one."""
    hull = bare_hull()
    materials = hull.materials
    found = []
    for name, unit, step in ((CARBON, angles, 0.19), (TITANIUM, (0.0,), 0.1)):
        option = Option(name, materials[name], unit, step)
        case = with_wall(hull, option, round(15.0 / option.unit))
        found.append(specific_strength(case, wall_strength(case, strengths(case)).pressure))
    return found[0] / found[1]


def sizing_checks() -> list[Check]:
    """Check carbon against titanium."""
    return [
        PRACTICE.near(
            "wet cross-ply carbon wall is about three times a titanium one",
            "1",
            3.0,
            carbon_over_titanium(),
            within=ABOUT,
        )
    ]
