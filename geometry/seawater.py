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
import numpy as np
from numpy.typing import NDArray

if TYPE_CHECKING:
    from geometry.case import Case

Floats = NDArray[np.float64]

MPA_PER_DBAR = 0.01
SALINITY = 35.16504  # g/kg, of the standard ocean
TONNE_PER_MM3 = 1e-12  # of one kg/m^3


def pressure_at(depth: float, latitude: float) -> float:
    """Gauge pressure, MPa, at a depth in m and a latitude in degrees."""
    return float(gsw.p_from_z(-depth, latitude)) * MPA_PER_DBAR


def depth_at(pressure: float, latitude: float) -> float:
    """Depth, m, at which the sea has a gauge pressure in MPa, at a latitude in degrees."""
    return -float(gsw.z_from_p(pressure / MPA_PER_DBAR, latitude))


def pressures_at(depths: Floats, latitudes: Floats) -> Floats:
    """Gauge pressures of many depths, as `pressure_at`."""
    return np.asarray(gsw.p_from_z(-depths, latitudes)) * MPA_PER_DBAR


def depths_at(pressures: Floats, latitudes: Floats) -> Floats:
    """Depths of many pressures, as `depth_at`; what is not finite or not above 0 stays as it is."""
    at = np.array(pressures, float)
    sea = np.isfinite(at) & (at > 0)
    at[sea] = -np.asarray(gsw.z_from_p(at[sea] / MPA_PER_DBAR, latitudes[sea]))
    return at


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
