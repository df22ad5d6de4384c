"""What the gauges of a proof test should read, and how far the prediction may be off.

Formulation
    The strain per MPa at a gauge's place, from the unit solution of the sea's pressure: hoop e_tt,
    axial e_zz, meridional t . e . t along the surface. A gauge is zeroed before the test at the
    temperature of the test: no thermal strain enters; what one kelvin of a whole and even change
    would read is told beside it.
    Two things make the prediction uncertain, and are told apart:

    - numerical error: how far the value moves from the coarser companion to the answer;
    - tolerance of bond thickness and offset of the ring, where the case states them: least and
      most of the bounds of `post.process_facts`, as shifts found on meshes like the companion's.

    Not in it: the scatter of elastic constants, gauge factors and placing; the test's slope band
    (`geometry.gauges.Proof`) is for those.
    What a softer bond would read is found by softening the adhesive to shares of its stiffness.
Units
    Strain per MPa and per K; shares of stiffness.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from geometry.case import Case
from geometry.forms import draw_section
from geometry.mesh import mesh_section
from post.gauge_places import Spot, spots
from post.process_facts import offset, tolerance
from solve.answer import Answer, solve
from solve.stress import strain_at

Floats = NDArray[np.float64]
SOFTENED = (0.5, 0.25)  # shares of the adhesive's stiffness


@dataclass(frozen=True)
class Prediction:
    """What one gauge should read.

    Attributes
    ----------
    name, part, face, direction : str
    r, z : float
        Place, mm.
    per_MPa : float
        Strain per MPa.
    per_K : float
        Strain per K of the whole hull, thermal expansion included.
    error : float
        Numerical error of `per_MPa`.
    low, high : float
        Shifts of `per_MPa` by tolerance and offset, at most and at least 0.
    softer : tuple of float
        Strain per MPa with the adhesive at the shares `SOFTENED` of its stiffness.
    """

    name: str
    part: str
    face: str
    direction: str
    r: float
    z: float
    per_MPa: float
    per_K: float
    error: float
    low: float
    high: float
    softer: tuple[float, ...]

    def band(self, pressure: float) -> tuple[float, float]:
        """Least and most strain that the prediction allows at a pressure, MPa."""
        low = self.per_MPa + self.low - self.error
        return low * pressure, (self.per_MPa + self.high + self.error) * pressure

    @property
    def uncertainty(self) -> float:
        """Largest error of `per_MPa`, as a share of it."""
        return (self.error + max(-self.low, self.high)) / abs(self.per_MPa)

    def softened(self, stiffness: ArrayLike) -> Floats:
        """Strain per MPa with the adhesive at shares of its stiffness.

        A parabola in the logarithm of the share, through the shares that were solved.
        """
        at = np.log2([1.0, *SOFTENED])
        through = np.polyfit(at, [self.per_MPa, *self.softer], len(SOFTENED))
        return np.asarray(np.polyval(through, np.log2(stiffness)), float)


def predict(answer: Answer, companion: Answer) -> tuple[Prediction, ...]:
    """Predict what every gauge of a case reads.

    Parameters
    ----------
    answer, companion : Answer
        Of the case, and of the same case on a coarser mesh.

    Returns
    -------
    tuple of Prediction
        In the case's order.

    Raises
    ------
    CaseError
        Where a gauge finds no place.
    """
    case = answer.case
    if not case.gauges:
        return ()
    places = spots(case, answer.section)
    fine, thermal = (gauge_strains(answer, places, load) for load in ("pressure", "temperature"))
    coarse = gauge_strains(companion, places, "pressure")
    shifts = [np.zeros(len(places))]
    for _, bound in _bounds(case):
        section = draw_section(bound)
        moved = solve(bound, mesh_section(section, case.mesh.level - 1))
        shifts.append(gauge_strains(moved, spots(bound, section), "pressure") - coarse)
    softer = [
        gauge_strains(solve(with_softer_bond(case, share), companion.mesh), places, "pressure")
        for share in SOFTENED
    ]
    return tuple(
        Prediction(
            name=spot.name,
            part=spot.gauge.part,
            face=spot.gauge.face,
            direction=spot.gauge.direction,
            r=spot.point[0],
            z=spot.point[1],
            per_MPa=float(fine[i]),
            per_K=float(thermal[i]),
            error=float(abs(fine[i] - coarse[i])),
            low=float(min(shift[i] for shift in shifts)),
            high=float(max(shift[i] for shift in shifts)),
            softer=tuple(float(fine[i] + one[i] - coarse[i]) for one in softer),
        )
        for i, spot in enumerate(places)
    )


def _bounds(case: Case) -> tuple[tuple[str, Case], ...]:
    """Cases that bound what thickness tolerance and offset can do."""
    by, aside = case.process.bond_thickness_tolerance, case.process.ring_offset
    return (*(tolerance(case, by) if by else ()), *(offset(case, aside) if aside else ()))


def gauge_strains(answer: Answer, places: Sequence[Spot], load: str) -> Floats:
    """Give the unit strains that gauges at places read, shape (n,)."""
    found = np.empty(len(places))
    for i, spot in enumerate(places):
        regions = [n for n, one in answer.section.regions.items() if one.part == spot.gauge.part]
        rr, tt, zz, _, rz, _ = strain_at(answer, np.array(spot.point)[:, None], regions)[load][:, 0]
        along_r, along_z = spot.tangent
        found[i] = (
            tt
            if spot.gauge.direction == "hoop"
            else along_r**2 * rr + along_z**2 * zz + along_r * along_z * rz
        )
    return found


def with_softer_bond(case: Case, share: float) -> Case:
    """Scale every modulus of the adhesive's card by a share."""
    card = case.materials[case.joint.adhesive]
    moduli = {
        name: value.model_copy(update={"value": share * value.value})
        for name, value in card.elastic
        if name[0] in "EG"
    }
    softer = card.model_copy(update={"elastic": card.elastic.model_copy(update=moduli)})
    return case.model_copy(update={"materials": {**case.materials, card.name: softer}})
