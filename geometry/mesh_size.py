"""How many triangles a mesh will have, told before it is made.

Formulation
    A face that is meshed row by row has two triangles for each pair of divisions of its sides. A
    free face has about `FREE` for each division of its outline: 3.6 to 9.1 were counted on fifty
    odd joints at four levels, where free faces are a small part of the mesh.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from numpy.typing import NDArray

from geometry import bounds
from geometry.errors import refuse
from geometry.section import Section
from geometry.sizes import Grading, divide_edges

if TYPE_CHECKING:
    import numpy as np

    from geometry.case import Case

FREE = 6.5  # triangles for each division of a free face's outline
REMEDY = "a lower mesh.level, fewer layers, thicker bonds or shorter overlaps make fewer"


def count_triangles(section: Section, divisions: Sequence[NDArray[np.float64]]) -> int:
    """Count the triangles that a section will have, near enough to refuse it.

    Parameters
    ----------
    section : Section
    divisions : sequence of (k,) arrays
        Of its edges, as `geometry.sizes.divide_edges` gives them.
    """
    parts = [len(t) - 1 for t in divisions]
    total = 0.0
    for face in section.faces:
        if face.sides and all(len(side) == 1 for side in face.sides):
            one, two = (parts[abs(face.sides[i][0]) - 1] for i in (0, 1))
            total += 2 * one * two
        else:
            total += FREE * sum(parts[abs(signed) - 1] for signed in face.loop)
    return round(total)


def check_size(case: Case, section: Section) -> None:
    """Refuse a case whose mesh is larger than can be solved.

    Raises
    ------
    CaseError
        It names the bound.
    """
    level = case.mesh.level
    count = count_triangles(section, divide_edges(section, level, Grading()))
    if count > bounds.TRIANGLES:
        refuse(
            case,
            "mesh.level",
            f"{level}",
            f"up to {bounds.TRIANGLES:,} triangles; {REMEDY}",
            f"makes a mesh of about {count:,} triangles",
        )
