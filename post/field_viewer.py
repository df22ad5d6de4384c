"""The answer itself, packed into a page, for the section viewer.

Problem
    A reader points at a place of the section and asks for a stress there, at a depth they chose.
    The page must answer as the solution does, and stay small.
Formulation
    The page gets what the answer is made of: the mesh, the displacements at the unknowns per MPa
    and per kelvin, the shape functions, and rows that make a stress of a strain
    (`post.field_quantities`). The browser evaluates the same polynomials as `solve.stress`, in
    each element by itself: nothing is averaged, and no value is read off a picture.
Size
    Arrays go as whole multiples of a step, 32 bits a number, differences from number to number,
    byte by byte, deflated, in base64. The step is 2**-31 of the largest number: where 32-bit
    floating point would spoil a strain (a small difference of large displacements), this keeps
    it to some 1e-5 of the largest stress. An answer of more than `MOST_UNKNOWNS` goes with
    displacements of a lower degree on the same mesh; the page says so.
Colours
    Signed quantities have the map of `post.colours`, others one of its sides. Limits are chosen in
    the browser: the largest value outside the neighbourhoods of corners
    (`solve.section_corners`), as inside them elastic stress may have no bound.
Units
    mm, MPa, K.
"""

from __future__ import annotations

import base64
import zlib
from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from post.bondline import duty_factors
from post.colours import FILL, signed_map
from post.field_quantities import Quantity, bond_of, list_quantities
from post.outline import Window, extent, joint_window
from post.parts import material_words
from solve.answer import Answer
from solve.elasticity import couples_twist
from solve.elements import ALL, ELEMENTS, IN_PLANE, make_space

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

MOST_UNKNOWNS = 250_000  # numbers of one load; lander's answer has 164 438
END_VIEW = 5.0  # half width of the view of a bond's end, bond thicknesses
MAP_STEPS = 255


def field_data(
    answer: Answer, corners: Sequence[Mapping[str, Any]], most: int = MOST_UNKNOWNS
) -> dict[str, Any]:
    """Pack an answer for the section viewer.

    Parameters
    ----------
    answer : Answer
    corners : sequence of mapping
        Corners of the section with ``point`` and ``radius``, as the summary has them.
    most : int
        Most numbers of displacement of one load.

    Returns
    -------
    dict
        Of what JSON has.
    """
    mesh = answer.mesh
    twist = couples_twist(answer.materials)
    degree, dofs, moved = _displacements(answer, most, 3 if twist else 2)
    order = np.argsort(mesh.region, kind="stable")
    kept = ALL if twist else IN_PLANE
    names = {name: number for number, name in enumerate(mesh.regions)}
    return {
        "degree": degree,
        "whole_degree": answer.space.degree,
        "points": packed(mesh.points.T),
        "corners": packed(answer.space.corners[order].T),
        "dofs": packed(dofs[order].T),
        "counts": np.bincount(mesh.region, minlength=len(names)).tolist(),
        "regions": [_region(answer, name) for name in mesh.regions],
        "shapes": {"2": monomials(2), str(degree): monomials(degree)},
        "displacement": {
            load: packed(u[:, [0, 1, 2] if twist else [0, 2]].T) for load, u in moved.items()
        },
        "strains": list(kept),
        "duty": duty_factors(answer),
        "corner_places": [[*corner["point"], corner["radius"]] for corner in corners],
        "quantities": [_quantity(q, names, kept) for q in list_quantities(answer)],
        "views": views(answer),
        "half_view": END_VIEW * max(bond.thickness for bond in answer.section.bonds),
        "fills": FILL,
        "maps": colour_maps(),
    }


def viewer_part(answer: Answer, data: dict[str, Any]) -> dict[str, Any]:
    """Say what the viewer's template asks for.

    Parameters
    ----------
    answer : Answer
    data : dict
        As from `field_data`.

    Returns
    -------
    dict
        ``materials``, a line that names them by part, and ``thinned``: the degree of the packed
        displacements where it is lower than the answer's, else None.
    """
    words = material_words(answer.case, answer.section)
    return {
        "materials": "; ".join(
            f"{part} {material}" for part, material in words.items()
        ).capitalize(),
        "thinned": data["degree"] if data["degree"] < answer.space.degree else None,
    }


def packed(array: Floats | Ints) -> dict[str, Any]:
    """Pack an array: whole multiples of a step, differences, byte planes, deflated, base64."""
    flat = np.ascontiguousarray(array).ravel()
    step = 1.0
    if flat.dtype.kind == "f":
        step = float(np.abs(flat).max(initial=0.0)) / (2**31 - 1) or 1.0
    whole = np.rint(flat / step).astype(np.int64)
    if np.abs(whole).max(initial=0) >= 2**31:
        raise ValueError("a number does not fit 32 bits")
    # a difference wraps around at 32 bits, and so does the browser's sum
    difference = np.diff(whole, prepend=0).astype(np.uint32)
    planes = difference.astype("<u4").view(np.uint8).reshape(-1, 4).T.tobytes()
    return {
        "shape": list(array.shape),
        "step": step,
        "data": base64.b64encode(zlib.compress(planes, 9)).decode(),
    }


def monomials(degree: int) -> dict[str, Any]:
    """Shape functions of a degree as coefficients of monomials.

    Returns
    -------
    dict
        ``powers`` (k, 2) of x and y, and ``coefficients`` (k, k): shape function i is
        sum_j coefficients[i][j] x**powers[j][0] y**powers[j][1].
    """
    places = np.asarray(ELEMENTS[degree]().doflocs, float)
    powers = [(i, j) for i in range(degree + 1) for j in range(degree + 1 - i)]
    values = np.stack([places[:, 0] ** i * places[:, 1] ** j for i, j in powers], axis=1)
    return {"powers": powers, "coefficients": np.linalg.inv(values).T.round(9).tolist()}


def views(answer: Answer) -> list[dict[str, Any]]:
    """Name the windows (z from, z to, r from, r to) that are one click away."""
    section = answer.section
    found: list[tuple[str, Window]] = [
        ("Whole section", extent(section)),
        ("Joint", joint_window(section)),
    ]
    for bond in section.bonds:
        half = END_VIEW * bond.thickness
        for s in (0.0, bond.length):
            r, z = np.asarray(bond.start) + s * np.asarray(bond.along)
            box = (float(z) - half, float(z) + half, float(r) - half, float(r) + half)
            found.append((f"{bond.name.capitalize()} bond, s = {s:.4g} mm", box))
    return [{"name": name, "box": [float(x) for x in box]} for name, box in found]


def colour_maps() -> dict[str, str]:
    """Colours of signed and of other quantities, low to high, three bytes each, in base64."""
    signed = signed_map()(np.linspace(0, 1, MAP_STEPS))[:, :3]
    plain = signed_map()(np.linspace(0.5, 1, MAP_STEPS))[:, :3]
    return {
        name: base64.b64encode((255 * colours).round().astype(np.uint8).tobytes()).decode()
        for name, colours in (("signed", signed), ("plain", plain))
    }


def _displacements(
    answer: Answer, most: int, components: int
) -> tuple[int, Ints, dict[str, Floats]]:
    """Degree, unknowns of the elements and displacements, of as high a degree as there is room."""
    space = answer.space
    degree, dofs, moved = space.degree, space.dofs, answer.displacement
    whole = ELEMENTS[degree]()
    for lower in range(degree - 1, 0, -1):
        if len(next(iter(moved.values()))) * components <= most:
            break
        thin = make_space(answer.mesh, lower)
        at = np.asarray(ELEMENTS[lower]().doflocs, float).T
        value = np.stack([whole.lbasis(at, i)[0] for i in range(space.dofs.shape[1])])
        moved = {}
        for load, u in answer.displacement.items():
            moved[load] = np.zeros((thin.size, 3))
            moved[load][thin.dofs] = np.einsum("mki,kq->mqi", u[space.dofs], value)
        degree, dofs = lower, thin.dofs
    return degree, dofs, moved


def _region(answer: Answer, name: str) -> dict[str, Any]:
    section = answer.section
    region = section.regions[name]
    layer = section.layers.get(region.material)
    told: dict[str, Any] = {"name": name, "part": region.part, "words": region.part}
    if layer is not None:
        cards = " + ".join(dict.fromkeys(ply.card for ply in layer.plies))
        angles = [f"{ply.angle:g}" for ply in layer.plies]
        shown = "/".join(angles if len(angles) <= 8 else [*angles[:7], "\u2026"])
        told["material"] = f"{cards} [{shown}]"
        return told
    told["material"] = region.material
    bond = bond_of(section, name)
    if bond is not None:
        told["words"] = f"{bond.name} bond" + (", fillet" if name.startswith("fillet") else "")
        told["start"] = [float(x) for x in bond.start]
        told["along"] = [float(x) for x in bond.along]
    elif region.part == "adhesive":
        told["words"] = "adhesive, corner between bonds"
    return told


def _quantity(
    quantity: Quantity, regions: dict[str, int], strains: tuple[int, ...]
) -> dict[str, Any]:
    columns = slice(None) if quantity.kind == "movement" else [*strains, 6]
    return {
        name: getattr(quantity, name)
        for name in ("key", "group", "name", "symbol", "unit", "words", "signed", "kind")
    } | {
        "rows": {
            regions[name]: [[float(f"{x:.12g}") for x in row] for row in rows[:, columns]]
            for name, rows in quantity.rows.items()
        }
    }
