"""Where a disbond lies on the section, what it is open to, and its name in words."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from geometry.section import BondLine, Section
from post.outline import drawn_path, edge_path, part_loops
from post.parts import parts_of

if TYPE_CHECKING:
    from geometry.case import Flaw

Floats = NDArray[np.float64]

POINTS = 41
SEA, INSIDE, CLOSED = "sea", "inside", ""


def flaw_line(bond: BondLine, flaw: Flaw) -> Floats:
    """Points (r, z) along a disbond on its face, (n, 2), mm; no longer than the bond."""
    stop = min(flaw.start + flaw.length, bond.length)
    faces = bond.faces(np.linspace(min(flaw.start, bond.length), stop, POINTS))
    return faces[("wall", "middle", "ring").index(flaw.face)].T


def reaches(bond: BondLine, flaw: Flaw) -> tuple[bool, bool]:
    """Say whether a disbond reaches the end of its bond at s = 0, and the other one."""
    near = 1e-6 * bond.length
    return flaw.start <= near, flaw.start + flaw.length >= bond.length - near


def end_open_to(section: Section, bond: BondLine, last: bool) -> str:
    """Tell what the end of a bond is open to: ``sea``, ``inside``, or nothing where it is closed.

    A walk along mid-thickness out of the bond's end leaves the adhesive into the open, or meets
    another part.
    """
    _, mid, _ = bond.faces(np.array([bond.length if last else 0.0]))
    way = np.asarray(bond.along) * (1 if last else -1)
    solid = {part: drawn_path(part_loops(section, part)) for part in parts_of(section)}
    steps = mid[:, 0] + np.outer(np.linspace(0.02, 3.0, 150) * bond.thickness, way)
    glued = solid["adhesive"].contains_points(steps[:, ::-1])
    if glued.all():
        return CLOSED
    out = steps[min(int(np.argmin(glued)) + 1, len(steps) - 1)]  # off the very boundary
    if any(path.contains_point(out[::-1]) for name, path in solid.items() if name != "adhesive"):
        return CLOSED
    away = {
        water: min(
            (_distance(out, edge_path(section, edge)) for edge in section.named.get(water, ())),
            default=np.inf,
        )
        for water in ("wet", "dry")
    }
    return SEA if away["wet"] < away["dry"] else INSIDE


def open_to(section: Section, flaw: Flaw) -> str:
    """Tell what a disbond is open to: ``sea`` before ``inside``, or nothing: it is buried."""
    bond = section.bond(flaw.bond)
    found = {
        end_open_to(section, bond, last)
        for last, reached in zip((False, True), reaches(bond, flaw), strict=True)
        if reached
    }
    return next((water for water in (SEA, INSIDE) if water in found), CLOSED)


def flaw_words(section: Section, flaw: Flaw) -> str:
    """Name a disbond, such as ``disbond 12 mm, flooded``."""
    water = open_to(section, flaw)
    state = {SEA: "flooded" if flaw.flooded else "kept dry", INSIDE: "open to the inside"}
    return f"disbond {flaw.length:.4g} mm, {state.get(water, 'buried')}"


def place_words(flaw: Flaw) -> str:
    """Say where a disbond lies, such as ``outer bond, wall face, s = 0 to 12 mm``."""
    face = "in the adhesive" if flaw.face == "middle" else f"{flaw.face} face"
    stop = flaw.start + flaw.length
    return f"{flaw.bond} bond, {face}, s = {flaw.start:.4g} to {stop:.4g} mm"


def _distance(point: Floats, path: Floats) -> float:
    """Distance of a point from a polygon's sides."""
    start, side = path[:-1], np.diff(path, axis=0)
    share = np.clip(((point - start) * side).sum(axis=1) / (side**2).sum(axis=1), 0, 1)
    return float(np.linalg.norm(point - start - share[:, None] * side, axis=1).min())
