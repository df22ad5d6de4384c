"""Elements of one length along bonds, for disbonds whose tip may lie anywhere.

Problem
    The energy of a disbond changes with its length by far less than the energy itself. What the
    mesh gets wrong cancels between two lengths when all elements along the bond are alike.
Formulation
    Edges along a bond and its fillets are divided evenly, edges through it into rows of one
    height. Places that must be corners of elements cut an edge in pieces; beside them elements are
    of the length asked for there, alike on both sides, and grow with the distance.
Units
    mm.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from geometry.section import BondLine, Section

if TYPE_CHECKING:
    from geometry.sizes import Grading

Floats = NDArray[np.float64]
Mark = tuple[float, float]  # place and length of elements there, as shares of an edge

ALIKE = 3.0  # elements on either side of a mark that are alike
GROWTH = 0.25  # of the length of elements per distance beyond
SAMPLES = 4000  # places at which the length is added up


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
    placed: dict[int, list[Mark]] = {}
    along: set[int] = set()
    for bond in section.bonds if grading.bond_step > 0 else ():
        step = grading.bond_step * bond.thickness
        if grading.bond_most > 0:
            step = max(step, bond.length / grading.bond_most)
        for name, edges in section.named.items():
            region, _, part = name.partition("|")
            if region not in (bond.region, f"fillet-{bond.name}") and not (
                bond.name == "end" and region.startswith("fillet-end")
            ):
                continue
            for number in edges:
                along.add(number)
                length = section.edge_length(section.edges[number])
                count = int(np.ceil(finer * length / step - 1e-6))
                top = leader[number]
                counts[top] = max(counts.get(top, 1), count)
                marks = [(s, h) for b, f, s, h in grading.marks if b == bond.name and f == part]
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
    return {top: _divide(count, placed.get(top, []), finer) for top, count in counts.items()}


def _shares(
    section: Section, bond: BondLine, number: int, marks: list[Mark], flipped: bool
) -> list[Mark]:
    """Put marks as shares of the leading edge; those beyond its ends still shorten elements."""
    edge = section.edges[number]
    ends = (section.points[[edge.start, edge.end]] - bond.start) @ np.asarray(bond.along)
    span = float(ends[1] - ends[0])
    shares = [(float(s - ends[0]) / span, h / abs(span)) for s, h in marks]
    return [(1 - x if flipped else x, h) for x, h in shares]


def _mark_middle(
    section: Section,
    grading: Grading,
    leader: list[int],
    flipped: list[bool],
    placed: dict[int, list[Mark]],
) -> None:
    """Place marks on the mid-thickness line, half way between both faces of a row."""
    for bond in section.bonds:
        marks = [(s, h) for b, f, s, h in grading.marks if b == bond.name and f == "middle"]
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
                span = float(last - first)
                placed.setdefault(top, []).extend(
                    (float(s - first) / span, h / abs(span)) for s, h in marks
                )


def _is_along(section: Section, bond: BondLine, number: int) -> bool:
    return any(number in section.named.get(f"{bond.region}|{p}", ()) for p in ("wall", "ring"))


def _divide(count: int, marks: list[Mark], finer: float) -> Floats:
    """Divide an edge into elements of an even length, with corners at marks and shorter there."""
    inside = sorted({round(x, 12) for x, _ in marks if 1e-6 < x < 1 - 1e-6})
    cuts = [0.0, *(x for i, x in enumerate(inside) if i == 0 or x - inside[i - 1] > 1e-6), 1.0]
    pieces = []
    for low, high in zip(cuts[:-1], cuts[1:], strict=True):
        x = np.linspace(low, high, SAMPLES + 1)
        length = np.full_like(x, 1.0 / count)
        for place, h in marks:
            h /= finer
            away = np.maximum(np.abs(x - place) - ALIKE * h, 0.0)
            length = np.minimum(length, h + GROWTH * away)
        total = np.concatenate([[0.0], np.cumsum((1 / length[1:] + 1 / length[:-1]) / 2)])
        total *= (high - low) / SAMPLES
        number = max(1, int(np.ceil(total[-1] - 1e-6)))
        piece = np.interp(np.linspace(0, total[-1], number + 1), total, x)
        piece[[0, -1]] = low, high
        pieces.append(piece[:-1])
    return np.concatenate([*pieces, [1.0]])
