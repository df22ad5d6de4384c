"""Invented joints of every form for the comparison with an independent solution.

Each is the full form with most of its details, in another material, head and proportion: no such
hull exists.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

from geometry.case import Case, parse_case, read_case

ROOT = Path(__file__).resolve().parents[1]
CROSS_PLY = [
    {"ply": "carbon-epoxy-im", "thickness": "0.19 mm", "angles": [90, 90, 0], "repeats": 27}
]
UNBALANCED = [
    {"ply": "carbon-epoxy-hs", "thickness": "0.2 mm", "angles": [90, 90, 0], "repeats": 10},
    {"ply": "carbon-epoxy-hs", "thickness": "0.2 mm", "angles": [30, 75], "repeats": 15},
    {"ply": "glass-epoxy-a", "thickness": "0.25 mm", "angles": [90, 0], "repeats": 6},
]


def joint(
    form: str,
    *,
    gap: float | dict[str, float] = 1.0,
    overlap: dict[str, float] | None = None,
    squeeze: float = 0.0,
    lip: dict[str, float] | None = None,
    tip: dict[str, float] | None = None,
    web: float = 20.0,
    root: float = 0.0,
    chamfer: float = 0.0,
    ring: dict[str, float] | None = None,
    head: dict[str, Any] | None = None,
    layup: list[dict[str, Any]] | None = None,
    resolve: dict[str, int] | None = None,
    bore: float = 150.0,
    half_length: float = 300.0,
    metal: str = "titanium-6al-4v",
    pressure: float = 30.0,
    adhesive: tuple[float, float] | None = None,
) -> Case:
    """Make a case from lengths in mm, as a case file would hold it.

    `adhesive` is modulus, MPa, and Poisson's ratio of another than the common one.
    """

    def mm(sizes: dict[str, float] | None) -> dict[str, str]:
        return {key: f"{value} mm" for key, value in (sizes or {}).items()}

    head = {"form": "hemisphere", "thickness": 10.0} if head is None else head
    cap = {
        key: value if isinstance(value, str) else f"{value} mm" for key, value in head.items()
    } | ({} if head["form"] == "none" else {"material": metal})
    return parse_case(
        {
            "title": f"Invented {form} joint",
            "duty": {
                "pressure": f"{pressure} MPa",
                "stress_free_temperature": "60 degC",
                "service_temperature": "2 degC",
            },
            "wall": {
                "bore_radius": f"{bore} mm",
                "half_length": f"{half_length} mm",
                "layup": layup or CROSS_PLY,
                "edge_chamfer": f"{chamfer} mm",
                "resolve_plies": resolve or {},
            },
            "joint": {
                "form": form,
                "adhesive": "some-adhesive" if adhesive else "epoxy-paste",
                "bond_thickness": mm(gap) if isinstance(gap, dict) else f"{gap} mm",
                "overlap": mm(overlap),
                "squeeze_out": f"{squeeze} mm",
            },
            "ring": {
                "material": metal,
                "lip": mm(lip),
                "lip_tip": mm(tip),
                "web": f"{web} mm",
                "root_radius": f"{root} mm",
                **mm(ring),
            },
            "head": cap,
            "materials": {"some-adhesive": isotropic_card(*adhesive)} if adhesive else {},
        }
    )


def isotropic_card(modulus: float, nu: float) -> dict[str, Any]:
    """Give the card of an invented adhesive."""
    elastic = {"symmetry": "isotropic", "E": f"{modulus} MPa", "nu": nu, "cte": "60e-6 /K"}
    return {"kind": "adhesive", "source": "invented", "basis": "assumed", "elastic": elastic}


def both(value: float) -> dict[str, float]:
    """Give both sides the same length."""
    return {"inner": value, "outer": value}


def demo(name: str) -> Case:
    """Give a demo without voids: the independent solution takes the cards as they are."""
    case = read_case(ROOT / "cases" / name / "case.yaml")
    return case.model_copy(update={"wall": case.wall.model_copy(update={"voids": None})})


NONE = {"form": "none"}

JOINTS: dict[str, Callable[[], Case]] = {
    "lander (socket)": lambda: demo("lander"),
    "tube (inner-lap)": lambda: demo("tube"),
    "minimal (butt)": lambda: demo("minimal"),
    "butt, wide ring, fillets, no head": lambda: joint(
        "butt", squeeze=1.0, ring={"inner_radius": 145.0, "outer_radius": 171.0}, head=NONE
    ),
    "butt, chamfer, flat head": lambda: joint(
        "butt", gap=0.5, chamfer=1.0, squeeze=0.5, head={"form": "flat", "thickness": 35.0}
    ),
    "inner-lap, unbalanced, no head": lambda: joint(
        "inner-lap",
        overlap={"inner": 35.0},
        lip={"inner": 10.0},
        tip={"inner": 3.0},
        squeeze=1.0,
        root=1.5,
        chamfer=0.5,
        layup=UNBALANCED,
        head=NONE,
    ),
    "outer-lap, two bond thicknesses": lambda: joint(
        "outer-lap",
        gap={"outer": 0.6, "end": 1.2},
        overlap={"outer": 45.0},
        lip={"outer": 10.0},
        tip={"outer": 4.0},
        squeeze=0.6,
        root=0.5,
    ),
    "socket, everything": lambda: joint(
        "socket",
        overlap={"inner": 30.0, "outer": 40.0},
        lip=both(12.0),
        tip=both(4.0),
        squeeze=1.0,
        root=2.0,
        chamfer=1.0,
        ring={"inner_radius": 135.0, "outer_radius": 181.0},
    ),
    "socket, unbalanced, plies": lambda: joint(
        "socket",
        overlap=both(30.0),
        lip=both(10.0),
        tip=both(4.0),
        squeeze=0.5,
        root=1.0,
        layup=UNBALANCED,
        resolve={"innermost": 2, "outermost": 2},
        head={"form": "flat", "thickness": 40.0},
    ),
    "socket, sharp, wiped": lambda: joint(
        "socket", overlap=both(40.0), lip=both(10.0), gap=0.5, head=NONE
    ),
    "scarf, flush, no head": lambda: joint("scarf", overlap={"inner": 80.0}, head=NONE),
    "scarf, blunt, fillet": lambda: joint(
        "scarf",
        overlap={"inner": 70.0},
        lip={"inner": 4.0},
        squeeze=1.0,
        ring={"outer_radius": 172.0},
    ),
    "scarf, outer tongue, unbalanced": lambda: joint(
        "scarf",
        gap=0.5,
        overlap={"outer": 60.0},
        layup=UNBALANCED,
        head={"form": "flat", "thickness": 40.0},
    ),
}
