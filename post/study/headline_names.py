"""Names of the numbers that a study can report, and their units.

first_failure.depth, .ratio, .pressure, .mode   the first of the modes judged
BOND.MODE.depth, .pressure                      a rung, such as inner.peel-and-shear.depth
wall.MODE.depth and so on                       with modes: all
BOND.STRESS.STATISTIC                           at duty: peel or shear; mean, first_thickness,
                                                last_thickness, largest, smallest
mass, weight_in_water                           of the whole housing, both halves
"""

from __future__ import annotations

from collections.abc import Iterable

from geometry.case import Case
from geometry.case_checks import BONDS

FIRST = ("depth", "ratio", "pressure", "mode")
BOND_MODES = ("peel-and-shear", "yield-of-the-adhesive", "largest-tension")
OTHER_MODES = {
    "wall": (
        "maximum-stress",
        "tsai-wu",
        "hashin",
        "between-the-fibres",
        "fibre-kinking",
        "between-the-plies",
        "yield",
    ),
    "ring": ("yield",),
    "head": ("yield", "elastic-buckling"),
}
STRESSES = ("peel", "shear")
STATISTICS = ("mean", "first_thickness", "last_thickness", "largest", "smallest")
WEIGHTS = ("mass", "weight_in_water")


def slug(mode: str) -> str:
    """Short name of a mode: without the sub-mode after its colon or in brackets."""
    return mode.partition(":")[0].partition(" (")[0].strip().casefold().replace(" ", "-")


def headline_names(case: Case, modes: str) -> list[str]:
    """Every headline that a case can have."""
    return names_of_bonds(BONDS[case.joint.form], modes)


def names_of_bonds(bonds: Iterable[str], modes: str) -> list[str]:
    """Every headline of a joint with these bonds."""
    bonds = list(bonds)
    names = [f"first_failure.{name}" for name in FIRST]
    names += [f"{b}.{m}.{n}" for b in bonds for m in BOND_MODES for n in ("depth", "pressure")]
    if modes == "all":
        names += [
            f"{part}.{mode}.{name}"
            for part, of_part in OTHER_MODES.items()
            for mode in of_part
            for name in ("depth", "pressure")
        ]
    names += [f"{b}.{s}.{n}" for b in bonds for s in STRESSES for n in STATISTICS]
    return [*names, *WEIGHTS]


def default_headlines(case: Case) -> tuple[str, ...]:
    """First failure, each bond's depths, mass and weight in water."""
    bonds = BONDS[case.joint.form]
    return (
        *(f"first_failure.{name}" for name in ("depth", "ratio", "mode")),
        *(f"{bond}.{mode}.depth" for bond in bonds for mode in BOND_MODES),
        *WEIGHTS,
    )


def unit_of(name: str) -> str:
    """Give the unit of a headline; empty for a ratio or a name."""
    last = name.rpartition(".")[2]
    if name in WEIGHTS:
        return "kg" if name == "mass" else "N"
    return {"depth": "m", "pressure": "MPa", "ratio": "", "mode": ""}.get(last, "MPa")


def words_of(name: str) -> str:
    """Say a headline in words."""
    return name.replace("_", " ").replace("-", " ").replace(".", ", ")
