"""What the bondline carries: peel, shear and the rest along each bond.

Frame
    s runs along the bond from its open edge (`geometry.section.BondLine`); n is the unit normal
    from the wall to the ring. peel = n . stress . n, positive where the joint is pulled open;
    shear = s . stress . n, positive where the ring is dragged towards growing s relative to the
    wall; twist_shear = theta . stress . n.
Places
    Mid-thickness, and both faces of the adhesive. At a face each side has its own stress: the
    traction (peel and shears) is common to both, the rest jumps. At the ends of a face elastic
    stress has no bounded value: a number there belongs to the mesh, not to the joint. Judge at
    mid-thickness.
Loads
    ``pressure`` and ``temperature`` are the two parts of the duty state, ``duty`` is their sum.
Units
    mm and MPa.
"""

from __future__ import annotations

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from geometry.seawater import duty_pressure
from geometry.section import BondLine
from solve.answer import Answer
from solve.stress import stress_at

Floats = NDArray[np.float64]

STRESSES = ("peel", "shear", "twist_shear", "hoop", "axial", "radial")
PLACES = (
    # place, whose stress, which of BondLine.faces, part of the section
    ("mid", "adhesive", 1, "adhesive"),
    ("wall face", "adhesive", 0, "adhesive"),
    ("wall face", "wall", 0, "wall"),
    ("ring face", "adhesive", 2, "adhesive"),
    ("ring face", "ring", 2, "ring"),
)
FIRST_STEP = 0.02  # of the bond's thickness: the first step from an edge
GAUSS = 6  # points per panel of the line integrals


def duty_factors(answer: Answer) -> dict[str, float]:
    """How much of each unit load the duty state holds: MPa of pressure, K of temperature."""
    duty = answer.case.duty
    return {
        "pressure": duty_pressure(answer.case),
        "temperature": duty.service_temperature - duty.stress_free_temperature,
    }


def stations(bond: BondLine) -> Floats:
    """Places along a bond for the table, dense towards both ends, (n,) mm."""
    first = FIRST_STEP * bond.thickness
    steps = np.geomspace(first, bond.length / 2, 60)
    inner = np.linspace(0, bond.length, 81)
    return np.unique(np.round(np.concatenate([inner, steps, bond.length - steps]), 9))


def bond_stress(answer: Answer, bond: BondLine, points: Floats, part: str) -> dict[str, Floats]:
    """Evaluate unit stresses of one part at points, in the bond's frame.

    Parameters
    ----------
    answer : Answer
    bond : BondLine
    points : (2, n) array of (r, z)
    part : str
        ``adhesive``, ``wall`` or ``ring``.

    Returns
    -------
    dict of str to (6, n) array
        Rows as `STRESSES`, MPa per unit load; NaN outside the part.
    """
    regions = [name for name, region in answer.section.regions.items() if region.part == part]
    return in_bond_frame(bond, stress_at(answer, points, regions))


def in_bond_frame(bond: BondLine, unit: dict[str, Floats]) -> dict[str, Floats]:
    """Turn unit stresses (6, n), [rr, tt, zz, tz, rz, rt], into rows as `STRESSES`."""
    (ar, az), (nr, nz) = bond.along, bond.across
    result = {}
    for load, (rr, tt, zz, tz, rz, rt) in unit.items():
        result[load] = np.stack(
            [
                nr * nr * rr + 2 * nr * nz * rz + nz * nz * zz,
                ar * nr * rr + (ar * nz + az * nr) * rz + az * nz * zz,
                nr * rt + nz * tz,
                tt,
                zz,
                rr,
            ]
        )
    return result


def bondline(answer: Answer) -> pd.DataFrame:
    """Tabulate the bondlines at duty.

    Parameters
    ----------
    answer : Answer

    Returns
    -------
    DataFrame
        One row per bond, load, place, side and s: ``bond, load, place, side, s_mm, r_mm, z_mm,
        thickness_mm`` and the stresses of `STRESSES` in MPa (``peel_MPa`` and so on). Rows whose
        point lies outside its part (the trimmed ends of a scarf) are left out.
    """
    factors = duty_factors(answer)
    tables: list[pd.DataFrame] = []
    for bond in answer.section.bonds:
        s = stations(bond)
        faces = bond.faces(s)
        thickness = np.hypot(*(faces[2] - faces[0]))
        for place, side, face, part in PLACES:
            unit = bond_stress(answer, bond, faces[face], part)
            scaled = {load: factor * unit[load] for load, factor in factors.items()}
            scaled["duty"] = sum(scaled.values(), start=np.zeros_like(unit["pressure"]))
            for load, stress in scaled.items():
                table = pd.DataFrame(
                    {
                        "bond": bond.name,
                        "load": load,
                        "place": place,
                        "side": side,
                        "s_mm": s,
                        "r_mm": faces[face][0],
                        "z_mm": faces[face][1],
                        "thickness_mm": thickness,
                    }
                )
                for name, row in zip(STRESSES, stress, strict=True):
                    table[f"{name}_MPa"] = row
                tables.append(table.iloc[np.flatnonzero(np.isfinite(stress).all(axis=0))])
    return pd.concat(tables, ignore_index=True)


def line_mean(answer: Answer, bond: BondLine, start: float, stop: float) -> dict[str, Floats]:
    """Mean stresses at mid-thickness between two places along a bond.

    Parameters
    ----------
    answer : Answer
    bond : BondLine
    start, stop : float
        mm along the bond.

    Returns
    -------
    dict of str to (6,) array
        (1 / (stop - start)) * integral over s of each of `STRESSES`, per unit load.
    """
    s, weight = panels(bond, start, stop)
    unit = bond_stress(answer, bond, bond.faces(s)[1], "adhesive")
    return {load: stress @ weight / (stop - start) for load, stress in unit.items()}


def panels(bond: BondLine, start: float, stop: float) -> tuple[Floats, Floats]:
    """Gauss points and weights between two places, panels growing from the bond's ends."""
    cuts = stations(bond)
    cuts = np.concatenate([[start], cuts[(cuts > start + 1e-9) & (cuts < stop - 1e-9)], [stop]])
    x, w = np.polynomial.legendre.leggauss(GAUSS)
    half = np.diff(cuts)[:, None] / 2
    middle = (cuts[1:] + cuts[:-1])[:, None] / 2
    return (middle + half * x).ravel(), (half * w).ravel()
