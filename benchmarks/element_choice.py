"""Triangles or quadrilaterals, and of which degree: error per unknown and per second.

    python benchmarks/element_choice.py

Problem
    A butt joint without head, flush, so that every face is a rectangle and both families run on
    the same lines: wall 150 to 165 mm, 60 mm long, bond 1 mm, ring 20 mm; a change of temperature.
    Lines are graded geometrically to the four corners of the bond, as the project's meshes are.
Formulation
    scikit-fem's elements of degree 2 to 4 on triangles (each rectangle split in two) and of
    degree 2 to 5 on quadrilaterals; the same whole-array B^T C B products, the same solver.
Measure
    Error of the peel and shear at mid-thickness beyond half a thickness from the ends (relative
    to the largest of each), of the mean peel, and of the energy, against quadrilaterals of degree
    7 on lines graded four times as strongly; unknowns; seconds of assembly and of solution.
"""

from __future__ import annotations

import time
from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray
from skfem import (
    Basis,
    Element,
    ElementQuadP,
    ElementTriP2,
    ElementTriP3,
    ElementTriP4,
    MeshQuad,
    MeshTri,
)

from solve.linear import factorise, places, sum_of_elements

Floats = NDArray[np.float64]

BORE, OUTSIDE, END, FLOOR, TOP = 150.0, 165.0, 60.0, 61.0, 81.0


def isotropic(E: float, nu: float) -> Floats:
    """Stiffness for [rr, tt, zz, rz]."""
    lame, G = E * nu / ((1 + nu) * (1 - 2 * nu)), E / (2 * (1 + nu))
    C = np.diag([2 * G, 2 * G, 2 * G, G])
    C[:3, :3] += lame
    return C


# hoop-stiff wall (a [90/90/0] carbon-epoxy unit, rounded), paste, titanium; invented for the test
WALL = np.linalg.inv(
    np.array(
        [
            [1 / 12500, -0.374 / 88000, -0.391 / 49600, 0],
            [-0.374 / 88000, 1 / 88000, -0.035 / 49600, 0],
            [-0.391 / 49600, -0.035 / 49600, 1 / 49600, 0],
            [0, 0, 0, 1 / 4540],
        ]
    )
)
EXPANSION = 1e-6 * np.array([[34.6, 0.6, 3.5, 0], [60, 60, 60, 0], [8.6, 8.6, 8.6, 0]])
MATERIALS = [WALL, isotropic(3000, 0.35), isotropic(110300, 0.31)]


def graded(start: float, stop: float, hot: list[float], first: float, growth: float) -> Floats:
    """Lines between two places, size first + growth * distance from the nearest hot place."""
    x = np.linspace(start, stop, 20001)
    size = first + growth * np.min(np.abs(x[:, None] - np.array(hot)), axis=1)
    total = np.concatenate([[0], np.cumsum((1 / size[1:] + 1 / size[:-1]) / 2 * np.diff(x))])
    count = max(2, 2 * int(np.ceil(total[-1] / 2)))
    return np.interp(np.linspace(0, total[-1], count + 1), total, x)


def lines(first: float, growth: float) -> tuple[Floats, Floats]:
    """Lines of constant r and of constant z."""
    r = graded(BORE, OUTSIDE, [BORE, OUTSIDE], first, growth)
    z = [
        graded(0, END, [END], first, growth),
        graded(END, FLOOR, [END, FLOOR], first, growth),
        graded(FLOOR, TOP, [FLOOR], first, growth),
    ]
    return r, np.unique(np.concatenate(z).round(12))


def solve(mesh: MeshTri | MeshQuad, element: Element, degree: int) -> dict[str, float | Floats]:
    """Solve for one kelvin."""
    start = time.perf_counter()
    basis = Basis(mesh, element, intorder=2 * degree)
    r = basis.global_coordinates().value[0]
    centre = mesh.p[:, mesh.t].mean(axis=1)[1]
    region = np.digitize(centre, [END, FLOOR])
    value = np.stack([b[0].value for b in basis.basis])
    grad = np.stack([b[0].grad for b in basis.basis])  # (k, 2, e, q)
    k, _, e, q = grad.shape
    B = np.zeros((e, q, 4, 2, k))
    B[:, :, 0, 0] = grad[:, 0].transpose(1, 2, 0)
    B[:, :, 1, 0] = (np.broadcast_to(value, (k, e, q)) / r).transpose(1, 2, 0)
    B[:, :, 2, 1] = B[:, :, 3, 0] = grad[:, 1].transpose(1, 2, 0)
    B[:, :, 3, 1] = B[:, :, 0, 0]
    B = B.reshape(e, q, 4, 2 * k)
    C = np.stack(MATERIALS)[region][:, None]
    CB = np.matmul(C, B) * (2 * np.pi * r * basis.dx)[:, :, None, None]
    K = np.matmul(B.reshape(e, q * 4, -1).transpose(0, 2, 1), CB.reshape(e, q * 4, -1))
    dofs = basis.element_dofs.T
    rows = np.concatenate([2 * dofs, 2 * dofs + 1], axis=1)
    n = 2 * basis.N
    expansion = np.stack([C @ a for C, a in zip(MATERIALS, EXPANSION, strict=True)])[region]
    force = np.einsum("eqsn,es,eq->en", B, expansion, 2 * np.pi * r * basis.dx, optimize=True)
    load = np.bincount(rows.ravel(), force.ravel(), minlength=n)
    held = 2 * basis.get_dofs(lambda x: np.abs(x[1]) < 1e-9).flatten() + 1
    free = np.setdiff1d(np.arange(n), held)
    assembled = time.perf_counter()
    u = np.zeros(n)
    own = places(rows, free, n)
    u[free] = factorise(sum_of_elements(own, K, len(free)), own)(load[free])
    done = time.perf_counter()
    peel, shear = middle_line(mesh, element, basis, u)
    return {
        "unknowns": n,
        "energy": float(u @ load),
        "peel": peel,
        "shear": shear,
        "assemble": assembled - start,
        "solve": done - assembled,
    }


S = np.linspace(BORE + 0.5, OUTSIDE - 0.5, 301) + 1e-4


def middle_line(
    mesh: MeshTri | MeshQuad, element: Element, basis: Basis, u: Floats
) -> tuple[Floats, Floats]:
    """Peel and shear at mid-thickness; the mean of the values just below and above the line."""
    result = np.zeros((2, len(S)))
    low, high = mesh.p[:, mesh.t].min(axis=1), mesh.p[:, mesh.t].max(axis=1)
    quads = isinstance(mesh, MeshQuad)
    for z in (END + 0.5 - 1e-6, END + 0.5 + 1e-6):
        x = np.stack([S, np.full_like(S, z)])
        if quads:
            inside = np.all((x[:, :, None] >= low[:, None]) & (x[:, :, None] < high[:, None]), 0)
            cells = inside.argmax(axis=1)
            xi = mesh.mapping().invF(x[:, :, None], tind=cells, newton_tol=1e-9)
        else:
            cells = mesh.element_finder()(*x)
            xi = mesh.mapping().invF(x[:, :, None], tind=cells)
        strain = np.zeros((4, len(S)))
        for a in range(basis.element_dofs.shape[0]):
            field = element.gbasis(mesh.mapping(), xi, a, tind=cells)[0]
            dofs = basis.element_dofs[a, cells]
            dr, dz, v = field.grad[0, :, 0], field.grad[1, :, 0], field.value[:, 0]
            strain += np.stack(
                [
                    dr * u[2 * dofs],
                    v / S * u[2 * dofs],
                    dz * u[2 * dofs + 1],
                    dz * u[2 * dofs] + dr * u[2 * dofs + 1],
                ]
            )
        stress = MATERIALS[1] @ strain
        result += stress[[2, 3]] / 2
    return result[0], result[1]


def main() -> None:
    """Print the table."""
    families: list[tuple[str, int, Callable[[int], Element]]] = [
        ("triangle", 2, lambda p: ElementTriP2()),
        ("triangle", 3, lambda p: ElementTriP3()),
        ("triangle", 4, lambda p: ElementTriP4()),
        *[("quadrilateral", p, ElementQuadP) for p in (2, 3, 4, 5)],
    ]
    exact = solve(MeshQuad.init_tensor(*lines(0.002, 0.4)), ElementQuadP(7), 7)
    print("element       degree growth unknowns  energy    peel   shear    mean   assemble solve")
    for name, degree, make in families:
        for growth in (1.2, 0.6, 0.3):
            mesh = MeshQuad.init_tensor(*lines(0.02, growth))
            if name == "triangle":
                mesh = mesh.to_meshtri()
            ours = solve(mesh, make(degree), degree)
            row = [abs(ours["energy"] / exact["energy"] - 1)]
            for key in ("peel", "shear"):
                row.append(np.abs(ours[key] - exact[key]).max() / np.abs(exact[key]).max())
            row.append(abs(ours["peel"].mean() / exact["peel"].mean() - 1))
            print(
                f"{name:13} {degree:6d} {growth:6.1f} {ours['unknowns']:8d} "
                + " ".join(f"{x:7.1e}" for x in row)
                + f" {ours['assemble']:8.2f} {ours['solve']:6.2f}"
            )


if __name__ == "__main__":
    main()
