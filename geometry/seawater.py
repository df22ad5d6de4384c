"""Sea depth, pressure and density.

Formulation
    TEOS-10: gauge pressure of a standard ocean (absolute salinity 35.16504 g/kg, 0 degC) above
    a depth, with gravity at the latitude.
Source
    IOC, SCOR and IAPSO 2010, The international thermodynamic equation of seawater, through the
    `gsw` library.
Units
    Depth m, latitude degrees, pressure MPa (gauge: the sea surface is 0), density tonne/mm^3.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import gsw

if TYPE_CHECKING:
    from geometry.case import Case

MPA_PER_DBAR = 0.01
SALINITY = 35.16504  # g/kg, of the standard ocean
TONNE_PER_MM3 = 1e-12  # of one kg/m^3


def pressure_at(depth: float, latitude: float) -> float:
    """Gauge pressure, MPa, at a depth in m and a latitude in degrees."""
    return float(gsw.p_from_z(-depth, latitude)) * MPA_PER_DBAR


def depth_at(pressure: float, latitude: float) -> float:
    """Depth, m, at which the sea has a gauge pressure in MPa, at a latitude in degrees."""
    return -float(gsw.z_from_p(pressure / MPA_PER_DBAR, latitude))


def density_at(pressure: float) -> float:
    """Density of the standard ocean at 0 degC, tonne/mm^3, at a gauge pressure in MPa."""
    return float(gsw.rho(SALINITY, 0.0, pressure / MPA_PER_DBAR)) * TONNE_PER_MM3


def duty_pressure(case: Case) -> float:
    """Gauge pressure of a case's duty, MPa."""
    duty = case.duty
    if duty.pressure is not None:
        return duty.pressure
    assert duty.depth is not None  # one of the two, checked on reading
    return pressure_at(duty.depth, duty.latitude)
