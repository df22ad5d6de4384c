"""Where the gauges of a case sit on the drawn section.

Formulation
    A gauge lies where the wet (outside) or the dry (inside) outline of its part passes its z, or
    its radius. Where it passes more than once the outermost place counts outside and the innermost
    inside. The tangent of the outline there is the meridional direction; it is also the axial one
    where the surface runs along the axis, and an axial gauge elsewhere is refused.
Units
    mm.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import brentq

from geometry.case import Case
from geometry.errors import refuse
from geometry.gauges import Gauge
from geometry.section import TOLERANCE, Edge, Point, Section

SAMPLES = np.linspace(0.0, 1.0, 33)
AXIAL = 1e-6  # largest slope of a surface that still runs along the axis


@dataclass(frozen=True)
class Spot:
    """A gauge on the section.

    Attributes
    ----------
    name : str
    gauge : Gauge
    point : (r, z)
    tangent : (r, z)
        Unit vector along the surface, its larger component positive.
    """

    name: str
    gauge: Gauge
    point: Point
    tangent: Point


def spots(case: Case, section: Section) -> tuple[Spot, ...]:
    """Find every gauge of a case on its section.

    Raises
    ------
    CaseError
        Where a gauge's surface does not pass its place, or is not bare there.
    """
    return tuple(_spot(case, section, name, gauge) for name, gauge in case.gauges.items())


def _spot(case: Case, section: Section, name: str, gauge: Gauge) -> Spot:
    axis, wanted = (1, gauge.z) if gauge.z is not None else (0, gauge.radius)
    assert wanted is not None  # the reading of the case has made sure
    edges = bare_edges(section, gauge)
    found = [spot for edge in edges for spot in _crossings(section, edge, axis, wanted)]
    field = f"gauges.{name}.{'z' if axis else 'radius'}"
    if not found:
        spans = [section.edge_points(edge, SAMPLES)[:, axis] for edge in edges]
        refuse(case, field, "", _spans(spans), f"finds no bare {gauge.part} {gauge.face}")
    outermost = max if gauge.face == "outside" else min
    point, tangent = outermost(found, key=lambda one: one[0][1 - axis])
    if gauge.direction == "axial" and abs(tangent[0]) > AXIAL:
        refuse(
            case,
            f"gauges.{name}.direction",
            "axial",
            "hoop, meridional",
            "the surface slopes there",
        )
    return Spot(name, gauge, point, tangent)


def bare_edges(section: Section, gauge: Gauge) -> list[Edge]:
    """Edges of a gauge's part on its side of the hull."""
    own = {
        abs(signed) - 1
        for face in section.faces
        if section.regions[face.region].part == gauge.part
        for signed in face.loop
    }
    side = section.named.get("wet" if gauge.face == "outside" else "dry", ())
    return [section.edges[number] for number in side if number in own]


def _crossings(section: Section, edge: Edge, axis: int, wanted: float) -> list[tuple[Point, Point]]:
    """Points and tangents where an edge passes a coordinate."""

    def off(t: float) -> float:
        return float(section.edge_points(edge, np.array([t]))[0, axis]) - wanted

    values = section.edge_points(edge, SAMPLES)[:, axis] - wanted
    if np.all(np.abs(values) < TOLERANCE):
        return []  # it runs square to the coordinate: no place on it is meant
    at = {float(t) for t, value in zip(SAMPLES, values, strict=True) if abs(value) < TOLERANCE}
    for i in np.flatnonzero(values[:-1] * values[1:] < 0):
        low, high = SAMPLES[i], SAMPLES[i + 1]
        if not at & {float(low), float(high)}:
            at.add(float(brentq(off, low, high, xtol=1e-14)))
    found = []
    for t in sorted(at):
        step = 1e-5
        ends = np.clip([t - step, t + step], 0, 1)
        (a, b), here = section.edge_points(edge, ends), section.edge_points(edge, np.array([t]))[0]
        along = (b - a) / np.hypot(*(b - a))
        along = along * (1 if along[np.argmax(np.abs(along))] > 0 else -1)
        found.append(((float(here[0]), float(here[1])), (float(along[0]), float(along[1]))))
    return found


def _spans(spans: list[NDArray[np.float64]]) -> str:
    """Write the stretches that edges cover, those that touch as one."""
    joined: list[list[float]] = []
    for low, high in sorted((float(one.min()), float(one.max())) for one in spans):
        if joined and low <= joined[-1][1] + TOLERANCE:
            joined[-1][1] = max(joined[-1][1], high)
        elif high - low > TOLERANCE:
            joined.append([low, high])
    return ", ".join(f"{a:.6g} to {b:.6g} mm" for a, b in joined) or "no such surface"
