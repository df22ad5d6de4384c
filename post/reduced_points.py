"""The points of a study that a reduced model can take: constants, duty and strengths as arrays.

Problem
    Ten thousand cases take longer to build and check than to solve. What varies linearly in the
    stiffness, and what only judges stress, can be taken as columns.
Formulation
    A place is the way to a value through a case: ``("materials", "paste", "elastic", "E",
    "value")``, ``("wall", "layup", 0, "angles", 1)``, ``("duty", "depth")``. Constants and angles
    go through `solve.many_materials`; strengths are lowered by the knock-downs of the case, point
    by point where one varies. Values are taken as they are: whoever varies a field checks its
    bounds, once.
Units
    As inside a case; pressure MPa, temperature change K.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray
from pydantic import BaseModel

from geometry.case import Case
from geometry.seawater import duty_pressure, pressures_at
from post.strengths import strengths
from solve.affine import Materials
from solve.many_materials import Varied, can_vary, materials_of_cases, vary
from solve.reduced import pick

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Place = tuple[str | int, ...]

DUTY = ("depth", "pressure", "latitude", "stress_free_temperature", "service_temperature")
STRENGTHS = ("tension", "shear", "yield_tension", "yield_compression", "tensile", "crushing")


@dataclass(frozen=True, eq=False)
class Points:
    """n points of one joint.

    Attributes
    ----------
    materials : mapping of str to Material
        By group (`solve.affine`), (n, 6, 6) and (n, 6).
    pressure, change, latitude : (n,) arrays
        At duty: MPa, K, degrees.
    strengths : dict of str to (n,) array
        `STRENGTHS`, MPa; NaN where not judged.
    """

    materials: Materials
    pressure: Floats
    change: Floats
    latitude: Floats
    strengths: dict[str, Floats]

    @property
    def count(self) -> int:
        """Number of points."""
        return len(self.pressure)

    def pick(self, rows: Ints) -> Points:
        """Take some of the points."""
        return Points(
            pick(self.materials, rows),
            self.pressure[rows],
            self.change[rows],
            self.latitude[rows],
            {name: value[rows] for name, value in self.strengths.items()},
        )


def is_linear(place: Place) -> bool:
    """Whether a reduced model can take values at a place."""
    if place[0] == "duty":
        return place[1] in DUTY
    if place[0] == "wall":
        return len(place) == 5 and place[1] == "layup" and place[3] == "angles"
    if place[0] == "materials":
        return place[2] in ("elastic", "strengths")
    return place[0] == "knock_downs" and place[-1] == "factor"


def points_of_cases(cases: list[Case]) -> Points:
    """Take points from whole cases of one section."""
    return Points(
        materials=materials_of_cases(cases),
        pressure=np.array([duty_pressure(case) for case in cases]),
        change=np.array(
            [c.duty.service_temperature - c.duty.stress_free_temperature for c in cases]
        ),
        latitude=np.array([case.duty.latitude for case in cases]),
        strengths=_stacked([_strengths(case) for case in cases]),
    )


def points_of_fields(case: Case, fields: Mapping[Place, Floats]) -> Points:
    """Take points from columns of values.

    Parameters
    ----------
    case : Case
        Everything that does not vary.
    fields : mapping of Place to (n,) array
        At least one.

    Raises
    ------
    ValueError
        For a place that a reduced model cannot take.
    """
    wrong = [place for place in fields if not is_linear(place)]
    if wrong:
        raise ValueError(f"{'.'.join(map(str, wrong[0]))} does not enter linearly")
    fields = {place: np.asarray(values, float) for place, values in fields.items()}
    n = len(next(iter(fields.values())))
    elastic = {p: v for p, v in fields.items() if p[0] == "wall" or p[2:3] == ("elastic",)}
    if can_vary(case) or not elastic:
        constants = {(str(p[1]), str(p[3])): v for p, v in elastic.items() if p[0] != "wall"}
        angles = {(int(p[2]), int(p[4])): v for p, v in elastic.items() if p[0] == "wall"}
        materials = (
            vary(case, Varied(constants, angles), n)
            if can_vary(case)
            else _spread(materials_of_cases([case]), n)
        )
    else:
        materials = materials_of_cases(_copies(case, elastic, n))
    weakening = {p: v for p, v in fields.items() if p[0] != "duty" and p not in elastic}
    of = (
        [_strengths(one) for one in _copies(case, weakening, n)]
        if weakening
        else [_strengths(case)] * n
    )
    duty = {name: fields[("duty", name)] for name in DUTY if ("duty", name) in fields}

    def column(name: str) -> Floats:
        return duty.get(name, np.full(n, getattr(case.duty, name), float))

    latitude = column("latitude")
    pressure = column("pressure")
    if "depth" in duty or case.duty.depth is not None:
        pressure = pressures_at(column("depth"), latitude)
    change = column("service_temperature") - column("stress_free_temperature")
    return Points(materials, pressure, change, latitude, _stacked(of))


def set_at(part: Any, way: Place, value: float) -> Any:
    """Set a value in a case without checking it, leaving the case as it was."""
    if not way:
        return value
    key, rest = way[0], way[1:]
    if isinstance(part, BaseModel):
        return part.model_copy(update={str(key): set_at(getattr(part, str(key)), rest, value)})
    if isinstance(part, dict):
        return {**part, key: set_at(part[key], rest, value)}
    return (*part[: int(key)], set_at(part[int(key)], rest, value), *part[int(key) + 1 :])


def _copies(case: Case, fields: Mapping[Place, Floats], n: int) -> list[Case]:
    copies = []
    for row in range(n):
        one = case
        for place, values in fields.items():
            one = set_at(one, place, float(values[row]))
        copies.append(one)
    return copies


def _spread(materials: Materials, n: int) -> Materials:
    return pick(materials, np.zeros(n, np.int64))


def _strengths(case: Case) -> tuple[float, ...]:
    """Give the strengths of the adhesive in the order of `STRENGTHS`."""
    of = strengths(case)
    bond, yields = of.bond, of.yield_
    return (
        bond.tension if bond else np.nan,
        bond.shear if bond else np.nan,
        yields.tension if yields else np.nan,
        yields.compression if yields else np.nan,
        of.tensile.tension if of.tensile else np.nan,
        of.void.crushing if of.void else np.nan,
    )


def _stacked(rows: list[tuple[float, ...]]) -> dict[str, Floats]:
    return dict(zip(STRENGTHS, np.array(rows, float).T.copy(), strict=True))
