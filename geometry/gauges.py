"""Strain gauges of a proof test, and the limits the test is held to.

A gauge sits on a bare surface of wall, ring or head: outside is what the sea wets, inside what
stays dry. Its place is given by z, or by its radius where the surface lies square to the axis.
The limits are settings of a project: no standard found covers hulls of this kind at these
pressures.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, Any, Literal

from pydantic import Field

from geometry import bounds
from geometry.errors import refusal, refuse
from geometry.fields import Name, Part
from geometry.units import Quantity

if TYPE_CHECKING:
    from geometry.case import Case

Share = Annotated[float, Quantity("share", "0.01 %", "100 %", "3 %")]


class Gauge(Part):
    """A strain gauge."""

    part: Literal["wall", "ring", "head"]
    """Part it is glued to: wall, ring or head."""
    face: Literal["outside", "inside"]
    """Side of the hull: outside or inside."""
    z: Annotated[float, Quantity("length", "0 mm", "100 m", "0 mm")] | None = None
    """Distance from mid-length along the axis, such as 200 mm; or radius in its place."""
    radius: Annotated[float, Quantity("length", "0 mm", "10 m", "0 mm")] | None = None
    """Distance from the axis, such as 0 mm for the pole of a head; or z in its place."""
    direction: Literal["hoop", "axial", "meridional"]
    """Direction it measures in: hoop, axial, or meridional (along the surface, in its section)."""


class Proof(Part):
    """Limits of the proof test: settings of this project, of no standard."""

    pressure: Annotated[float, Quantity("pressure", "0.001 MPa", "250 MPa", "33 MPa")] | None = None
    """Highest gauge pressure of the test, such as 33 MPa; that of the duty where not given."""
    slope_band: Share = 0.05
    """How far a measured slope may be off the predicted one, beside the prediction's own error."""
    drift_limit: Share = 0.02
    """How far a gauge's zero may move from first to last dive, as a share of its full strain."""
    nonlinearity_limit: Share = 0.03
    """How far a strain may bend away from a straight line, as a share of its full strain."""
    hysteresis_limit: Share = 0.03
    """How far loading and unloading may lie apart, as a share of the full strain."""
    felicity_limit: Annotated[float, Field(strict=True, ge=0.5, le=1)] = 0.95
    """Least Felicity ratio, a plain number such as 0.95."""
    onset_hits: Annotated[int, Field(strict=True, ge=1, le=1_000_000)] = 10
    """Hits in a dive from which on emission counts as significant."""


def name_gauges(tree: Any) -> Any:
    """Refuse names of gauges that columns of a table could not carry."""
    if isinstance(tree, dict) and "pressure" in tree:
        raise refusal("is the name of the pressure's column", "another name", field="pressure")
    return tree


def check_gauges(case: Case) -> None:
    """Refuse gauges without one place, on a head that is not there, and axial ones on it."""
    for name, gauge in case.gauges.items():
        if (gauge.z is None) == (gauge.radius is None):
            reason = "has no place, or two"
            refuse(case, f"gauges.{name}", "", "z, or radius in its place", reason)
        if gauge.part != "head":
            continue
        if case.head.form == "none":
            refuse(case, f"gauges.{name}.part", "head", "wall, ring", "there is no head")
        if gauge.direction == "axial":
            refuse(case, f"gauges.{name}.direction", "axial", "hoop, meridional", "runs off a head")


Gauges = Annotated[dict[Name, Gauge], Field(max_length=bounds.GAUGES)]
