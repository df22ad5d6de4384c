"""Elements of one length along bonds, for disbonds whose tip may lie anywhere.

Problem
    The energy of a disbond changes with its length by far less than the energy itself. What the
    mesh gets wrong cancels between two lengths when all elements along the bond are alike.
Formulation
    Edges along a bond and its fillets are divided evenly, edges through it into rows of one
    height. Places that must be corners of elements move the corners beside them smoothly: the
    corner's position as a function of its number is a monotone cubic through them.
Units
    mm.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import PchipInterpolator

from geometry.section import BondLine, Section

if TYPE_CHECKING:
    from geometry.sizes import Grading

Floats = NDArray[np.float64]


def even_divisions(
    section: Section, level: int, grading: Grading, leader: list[int], flipped: list[bool]
) -> dict[int, Floats]:
    """Divide the edges of bonds evenly.

    Parameters
    ----------
    section : Section
    level : int
        Lengths and heights go as 2**(1 - level).
    grading : Grading
        With `bond_step` and `bond_rows`; nothing is divided where both are 0.
    leader, flipped : lists
        Classes of edges that are divided alike: the edge that stands for each edge's class, and
        whether the edge runs against it.

    Returns
    -------
    dict of int to (k,) array
        By leading edge, fractions of its length.
    """
    finer = 2.0 ** (level - 1)
    counts: dict[int, int] = {}
    placed: dict[int, list[float]] = {}
    along: set[int] = set()
    for bond in section.bonds if grading.bond_step > 0 else ():
        for name, edges in section.named.items():
            region, _, part = name.partition("|")
            if region not in (bond.region, f"fillet-{bond.name}") and not (
                bond.name == "end" and region.startswith("fillet-end")
            ):
                continue
            for number in edges:
                along.add(number)
                length = section.edge_length(section.edges[number])
                count = int(np.ceil(finer * length / (grading.bond_step * bond.thickness) - 1e-6))
                top = leader[number]
                counts[top] = max(counts.get(top, 1), count)
                marks = [s for b, face, s in grading.marks if b == bond.name and face == part]
                placed.setdefault(top, []).extend(
                    _shares(section, bond, number, marks, flipped[number])
                )
    if grading.bond_step > 0:
        _mark_middle(section, grading, leader, flipped, placed)
    if grading.bond_rows > 0:
        rows = max(1, round(finer * grading.bond_rows))
        regions = {bond.region for bond in section.bonds}
        for face in section.faces:
            if face.region in regions and face.sides:
                for side in face.sides:
                    for signed in side:
                        if abs(signed) - 1 not in along:
                            counts[leader[abs(signed) - 1]] = rows
    return {top: _divide(count, placed.get(top, [])) for top, count in counts.items()}


def _shares(
    section: Section, bond: BondLine, number: int, marks: list[float], flipped: bool
) -> list[float]:
    """Fractions, along the leading edge, of the marks that lie inside an edge."""
    edge = section.edges[number]
    ends = (section.points[[edge.start, edge.end]] - bond.start) @ np.asarray(bond.along)
    shares = [(s - ends[0]) / (ends[1] - ends[0]) for s in marks]
    return [1 - x if flipped else x for x in shares if 1e-6 < x < 1 - 1e-6]


def _mark_middle(
    section: Section,
    grading: Grading,
    leader: list[int],
    flipped: list[bool],
    placed: dict[int, list[float]],
) -> None:
    """Place marks on the mid-thickness line, half way between both faces of a row."""
    for bond in section.bonds:
        marks = [s for b, face, s in grading.marks if b == bond.name and face == "middle"]
        for face in section.faces if marks else ():
            if face.region != bond.region or any(len(side) != 1 for side in face.sides):
                continue
            ends: dict[int, list[Floats]] = {}
            for signed in face.loop:
                number = abs(signed) - 1
                edge = section.edges[number]
                if not _is_along(section, bond, number):
                    continue
                reach = (section.points[[edge.start, edge.end]] - bond.start) @ np.asarray(
                    bond.along
                )
                ends.setdefault(leader[number], []).append(
                    reach[::-1] if flipped[number] else reach
                )
            for top, reaches in ends.items():
                first, last = np.mean(reaches, axis=0)
                shares = [(s - first) / (last - first) for s in marks]
                placed.setdefault(top, []).extend(x for x in shares if 1e-6 < x < 1 - 1e-6)


def _is_along(section: Section, bond: BondLine, number: int) -> bool:
    return any(number in section.named.get(f"{bond.region}|{p}", ()) for p in ("wall", "ring"))


def _divide(count: int, shares: list[float]) -> Floats:
    """Divide an edge into about `count` alike elements, with corners at given fractions."""
    marks = sorted({round(x, 12) for x in shares})
    marks = [x for i, x in enumerate(marks) if i == 0 or x - marks[i - 1] > 1e-6]
    if not marks:
        return np.linspace(0.0, 1.0, count + 1)
    numbers, at = [0], 0
    for x in marks:
        at = max(at + 1, round(count * x))
        numbers.append(at)
    count = max(count, at + 1)
    smooth = PchipInterpolator([*numbers, count], [0.0, *marks, 1.0])
    fractions = np.asarray(smooth(np.arange(count + 1)), float)
    fractions[[0, -1]] = 0.0, 1.0
    fractions[numbers[1:]] = marks
    return fractions
