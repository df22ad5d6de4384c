"""Beams, a plate, a cracked block, a long overlap and tubes, each cut along one line.

Published problems for `solve.disbond_checks`. Beams lie along z at `BEAM_RADIUS`; their forces are
those of a unit width.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from solve.cited_materials import isotropic
from solve.elasticity import System
from solve.laminate import Material
from solve.solid_disbonds import (
    BEAM_RADIUS,
    Block,
    CutSolid,
    Line,
    at_corner,
    heated,
    pushed,
    reduce_solid,
)
from solve.substructure import Load

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]


def whole_width(radius: float = BEAM_RADIUS) -> float:
    """Circumference: forces of a whole ring over those of a unit width."""
    return float(2 * np.pi * radius)


def cantilever(
    h: float, length: float, *, size: float, moments: bool = False, E: float = 120e3
) -> CutSolid:
    """Two arms of height h, held together beyond the disbond and pulled apart at their ends.

    Loads ``force``: 1 N/mm of width on each arm; ``moment``: 1 N mm/mm.
    """
    R, material = BEAM_RADIUS, isotropic(E, 0.0)
    blocks = [
        Block("near", (R - h, R), (0.0, length), material),
        Block("far", (R, R + h), (0.0, length), material),
    ]

    def loads(system: System) -> dict[str, Load]:
        def pull(x: Floats, normal: Floats) -> Floats:
            return np.stack([np.sign(x[0] - R) / h, np.zeros_like(x[0])])

        def bend(x: Floats, normal: Floats) -> Floats:
            arm = np.where(x[0] > R, x[0] - R - h / 2, x[0] - R + h / 2)
            # the arms open: the inner faces are stretched
            return np.stack([np.zeros_like(arm), -12 / h**3 * arm * np.sign(x[0] - R)])

        return {
            "force": pushed(system, "closure", pull),
            "moment": pushed(system, "closure", bend),
        }

    def held(system: System) -> Ints:
        held = system.unknowns(system.space.edge_dofs["symmetry"], "z").ravel()
        return np.unique(np.concatenate([held, at_corner(system, (R, 0.0), "r")]))

    line = Line((R, length), (R, 0.0), (1.0, 0.0), ("far",))
    return reduce_solid(blocks, line, size=size, loads=loads, held=held, closure_z=length)


def notched(h: float = 1.5, half: float = 50.0, E: float = 120e3) -> CutSolid:
    """Beam of height 2 h on two supports, pressed at mid-span; load ``force``, 1 N/mm of width.

    The faces that have come apart press on each other above the support.
    """
    R, material = BEAM_RADIUS, isotropic(E, 0.0)
    blocks = [
        Block("near", (R - h, R), (0.0, 2 * half), material),
        Block("far", (R, R + h), (0.0, 2 * half), material),
    ]

    def loads(system: System) -> dict[str, Load]:
        force = np.zeros(system.components * system.space.size)
        force[at_corner(system, (R + h, half), "r")] = -whole_width()

        def press(members: Ints) -> Floats:
            # the corner belongs to the far part alone
            return force * np.isin(np.arange(len(force)), system.rows[members])

        return {"force": press}

    def held(system: System) -> Ints:
        return np.unique(
            np.concatenate(
                [
                    at_corner(system, (R - h, 0.0), "r"),
                    at_corner(system, (R - h, 2 * half), "r"),
                    at_corner(system, (R - h, 0.0), "z"),
                ]
            )
        )

    line = Line((R, 2 * half), (R, 0.0), (1.0, 0.0), ("far",))
    return reduce_solid(blocks, line, size=h / 3, loads=loads, held=held, closure_z=2 * half)


def blister(a: float, t: float, *, size: float, E: float = 3e3, nu: float = 0.35) -> CutSolid:
    """Plate on a block a thousand times as stiff, from the axis to 2 a; flooded where it is off."""
    stiff = isotropic(1e3 * E, nu)
    blocks = [
        Block("block", (0.0, 2 * a), (0.0, 2 * t), stiff),
        Block("plate", (0.0, 2 * a), (2 * t, 3 * t), isotropic(E, nu)),
    ]
    line = Line((0.0, 2 * t), (2 * a, 2 * t), (0.0, 1.0), ("plate",))
    return reduce_solid(blocks, line, size=size, loads=no_loads)


def no_loads(system: System) -> dict[str, Load]:
    """Load a solid with nothing but what floods its disbond."""
    return {"pressure": lambda members: np.zeros(system.components * system.space.size)}


def penny(a: float, *, elements: int, far: float = 12.0, degree: int = 3) -> CutSolid:
    """Round block with a crack amid it, pulled by 1 MPa (load ``pressure``)."""
    material = isotropic(3e3, 0.35)
    R, H = far * a, far * a
    size = a / elements
    inner = 2 * a
    blocks = [
        Block("below", (0.0, inner), (H - a, H), material),
        Block("above", (0.0, inner), (H, H + a), material),
        Block("low", (0.0, R), (0.0, H - a), material),
        Block("high", (0.0, R), (H + a, 2 * H), material),
        Block("beside", (inner, R), (H - a, H + a), material),
    ]

    def loads(system: System) -> dict[str, Load]:
        return {"pressure": pushed(system, "closure", lambda x, normal: normal)}

    line = Line((0.0, H), (inner, H), (0.0, 1.0), ("above",))
    return reduce_solid(
        blocks,
        line,
        size=size,
        loads=loads,
        degree=degree,
        closure_z=2 * H,
        graded=("low", "high", "beside"),
    )


def overlap(length: float = 200.0) -> CutSolid:
    """Two guided bars, glued, the first pulled where they are apart (load ``force``, 1 N/mm)."""
    R, t1, eta, t2 = BEAM_RADIUS, 5.0, 0.25, 10.0
    blocks = [
        Block("near", (R - t1, R), (0.0, length), isotropic(113.8e3, 0.0, 9.6e-6)),
        Block("glue", (R, R + eta), (0.0, length), isotropic(2e3, 0.0)),
        Block("far", (R + eta, R + eta + t2), (0.0, length), isotropic(126e3, 0.0)),
    ]

    def loads(system: System) -> dict[str, Load]:
        def pull(x: Floats, normal: Floats) -> Floats:
            return np.stack([np.zeros_like(x[0]), np.where(x[0] < R, 1 / t1, 0.0)])

        return {"force": pushed(system, "closure", pull), "temperature": heated(system)}

    def held(system: System) -> Ints:
        bottom = system.unknowns(system.space.edge_dofs["symmetry"], "z").ravel()
        guided = system.unknowns(np.arange(system.space.size), "r")
        return np.unique(np.concatenate([bottom, guided]))

    line = Line((R, length), (R, 0.0), (1.0, 0.0), ("glue", "far"))
    return reduce_solid(blocks, line, size=1.0, loads=loads, held=held, closure_z=length)


def two_tubes(
    length: float, *, size: float, materials: tuple[Material, Material] | None = None
) -> CutSolid:
    """Tube in tube, in plane strain, wet outside and at the upper end, dry inside."""
    inner, outer = materials or (isotropic(113.8e3, 0.342), isotropic(60e3, 0.3))
    blocks = [
        Block("inner", (200.0, 210.0), (0.0, length), inner),
        Block("outer", (210.0, 250.0), (0.0, length), outer),
    ]

    def loads(system: System) -> dict[str, Load]:
        def press(x: Floats, normal: Floats) -> Floats:
            return np.where(np.abs(x[0] - 250.0) < 1e-6, -1.0, 0.0) * normal

        return {"pressure": pushed(system, "wet", press), "temperature": heated(system)}

    def held(system: System) -> Ints:
        return system.unknowns(np.arange(system.space.size), "z")

    line = Line((210.0, length), (210.0, 0.0), (1.0, 0.0), ("outer",))
    return reduce_solid(blocks, line, size=size, loads=loads, held=held, closure_z=length)
