"""How time and memory of one joint grow with its unknowns, beside a peer on the same mesh.

    python -m benchmarks.scaling [CASE.yaml] > benchmarks/scaling.md

Problem
    Does the solve stay as fast as a general-purpose library's when the mesh grows?
Formulation
    The case is meshed at levels that give about 50,000 to 1,000,000 unknowns. Each size runs in
    processes of its own, two threads, ours and the peer's in turn, one round to warm up and three
    after it in each; the best of all rounds counts, and the ratios of the pairs show how far the
    machine disturbed them (one process of one round beyond 500,000). Measured: meshing, assembly,
    factorisation with both unit solutions, bondline table, largest memory. The growth exponent is
    the slope of log time over log unknowns between the first size and each.
    The peer is ngsolve on the same triangles (straight sides, where ours are curved) with the same
    degree, weak form and loads, static condensation and its sparse Cholesky factor, two threads.
    Time to an error: the relative error of the peel and shear means of all bonds against the
    finest size, over the time from mesh to bondline table.
"""

from __future__ import annotations

import json
import math
import os
import platform
import resource
import subprocess
import sys
import time
from pathlib import Path
from typing import Any

import numpy as np

from geometry.case import Case, read_case
from geometry.forms import draw_section
from geometry.mesh import JointMesh, mesh_section
from geometry.sizes import Grading

ROOT = Path(__file__).parents[1]
DEMO = ROOT / "cases" / "lander" / "case.yaml"
SIZES = (50_000, 100_000, 200_000, 400_000, 1_000_000)
THREADS = 2
MANY = 500_000
PAIRS = 5  # of processes, where they are not MANY


def mesh_of(case: Case, wanted: int) -> JointMesh:
    """Mesh a case so that degree 4 has about the wanted unknowns: 16 a triangle, in two ways."""
    section = draw_section(case)
    size = 1.0
    for _ in range(5):
        grading = Grading()
        scaled = Grading(
            bond_corner=grading.bond_corner * size,
            metal_corner=grading.metal_corner * size,
            open_edge=grading.open_edge * size,
            growth=grading.growth * size,
            wall=grading.wall * size,
            free=grading.free * size,
        )
        mesh = mesh_section(section, 1, None, scaled)
        found = 16 * len(mesh.triangles)
        if abs(found / wanted - 1) < 0.05:
            break
        size *= math.sqrt(found / wanted)
    return mesh


def ours(case: Case, wanted: int) -> dict[str, float]:
    """Seconds of our stages."""
    from post.bondline import bondline, line_mean
    from solve.answer import Answer, region_materials
    from solve.answer import solve as solve_answer
    from solve.elasticity import assemble, held_unknowns, pressure_load, solve_loads

    section = draw_section(case)
    clock = time.perf_counter
    start = clock()
    mesh = mesh_of(case, wanted)
    meshing = clock() - start
    materials = region_materials(case, section)
    best: dict[str, float] = {}
    for _ in range(1 if wanted > MANY else 4):
        start = clock()
        system = assemble(mesh, materials, 4)
        loads = np.stack([pressure_load(system), system.temperature], axis=1)
        assembled = clock()
        solve_loads(system, loads, held_unknowns(system))
        solved = clock()
        row = {"assemble": assembled - start, "factorise and solve": solved - assembled}
        best = min((best, row), key=lambda r: sum(r.values())) if best else row
    answer: Answer = solve_answer(case, mesh)
    start = clock()
    bondline(answer)
    best["bondline table"] = clock() - start
    means = [line_mean(answer, b, 0.0, b.length)["pressure"][:2] for b in section.bonds]
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1e6
    return {
        "unknowns": float(len(loads)),
        "mesh (with trials)": meshing,
        **best,
        "GB": peak,
        "means": np.ravel(means).tolist(),
    }


def peer(case: Case, wanted: int) -> dict[str, float]:
    """Seconds of the peer on the same triangles."""
    import ngsolve as ngs
    from netgen.meshing import Element1D, Element2D, FaceDescriptor, Mesh, MeshPoint, Pnt

    from solve.answer import region_materials

    section = draw_section(case)
    mesh = mesh_of(case, wanted)
    materials = region_materials(case, section)
    corners = mesh.triangles[:, :3]
    used, renumbered = np.unique(corners, return_inverse=True)
    other = Mesh(dim=2)
    ids = [other.Add(MeshPoint(Pnt(*mesh.points[i], 0.0))) for i in used]
    for i, name in enumerate(mesh.regions):
        other.Add(FaceDescriptor(surfnr=i + 1, domin=i + 1, bc=i + 1))
        other.SetMaterial(i + 1, name)
    for region, (a, b, c) in zip(mesh.region, renumbered.reshape(-1, 3), strict=True):
        x = mesh.points[used[[a, b, c]]]
        turned = np.linalg.det(np.stack([x[1] - x[0], x[2] - x[0]])) < 0
        three = [ids[a], ids[c], ids[b]] if turned else [ids[a], ids[b], ids[c]]
        other.Add(Element2D(int(region) + 1, three))
    number = {int(node): i for i, node in enumerate(used)}
    names = [n for n in ("wet", "symmetry", "axis", "closure") if n in mesh.edges]
    for bc, name in enumerate(names):
        for line in mesh.edges[name]:
            ends = [ids[number[int(n)]] for n in line[:2]]
            other.Add(Element1D(ends, index=bc + 1))
        other.SetBCName(bc, name)
    grid = ngs.Mesh(other)
    ngs.SetNumThreads(THREADS)
    weight = 2 * np.pi * ngs.x

    def run() -> tuple[float, float, int]:
        clock = time.perf_counter
        start = clock()
        space = ngs.FESpace([ngs.H1(grid, order=4, dirichlet=e) for e in ("axis", "symmetry")])
        u, v = space.TnT()

        def strain(w: Any) -> Any:
            (rr, rz), (zr, zz) = ((ngs.grad(w[i])[0], ngs.grad(w[i])[1]) for i in (0, 1))
            return ngs.CoefficientFunction((rr, w[0] / ngs.x, zz, rz + zr))

        plane = np.ix_([0, 1, 2, 4], [0, 1, 2, 4])
        C = grid.MaterialCF(
            {n: ngs.CF(tuple(m.C[plane].ravel()), dims=(4, 4)) for n, m in materials.items()}
        )
        free = grid.MaterialCF(
            {n: ngs.CF(tuple((m.C @ m.cte)[[0, 1, 2, 4]])) for n, m in materials.items()}
        )
        form = ngs.BilinearForm(space, symmetric=True, condense=True)
        form += ngs.InnerProduct(C * strain(u), strain(v)) * weight * ngs.dx
        normal = ngs.specialcf.normal(2)
        pressure, temperature = ngs.LinearForm(space), ngs.LinearForm(space)
        pressure += -weight * (normal[0] * v[0] + normal[1] * v[1]) * ngs.ds("wet")
        temperature += ngs.InnerProduct(free, strain(v)) * weight * ngs.dx
        with ngs.TaskManager():
            form.Assemble()
            pressure.Assemble()
            temperature.Assemble()
            assembled = clock()
            inverse = form.mat.Inverse(space.FreeDofs(True), inverse="sparsecholesky")
            for right in (pressure, temperature):
                field = ngs.GridFunction(space)
                f = right.vec
                f.data += form.harmonic_extension_trans * f
                field.vec.data = inverse * f
                field.vec.data += form.harmonic_extension * field.vec
                field.vec.data += form.inner_solve * f
        return assembled - start, clock() - assembled, space.ndof

    rounds = [run() for _ in range(1 if wanted > MANY else 4)]
    assembly, solving, unknowns = min(rounds, key=lambda row: row[0] + row[1])
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1e6
    return {
        "unknowns": float(unknowns),
        "assemble": assembly,
        "factorise and solve": solving,
        "GB": peak,
    }


def measured(path: Path, who: str, wanted: int) -> dict[str, Any]:
    """Measure in a process of its own."""
    threads = {
        name: str(THREADS)
        for name in ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS")
    }
    done = subprocess.run(
        [sys.executable, "-m", "benchmarks.scaling", "--one", who, str(wanted), str(path)],
        cwd=ROOT,
        env=os.environ | threads,
        capture_output=True,
        text=True,
    )
    if done.returncode:
        raise SystemExit(done.stderr)
    found: dict[str, Any] = json.loads(done.stdout.splitlines()[-1])
    return found


def both(row: dict[str, Any]) -> float:
    """Seconds from a mesh to its displacements."""
    return float(row["assemble"] + row["factorise and solve"])


def main() -> None:
    """Print the page."""
    if sys.argv[1:2] == ["--one"]:
        who, wanted, path = sys.argv[2], int(sys.argv[3]), Path(sys.argv[4])
        print(json.dumps({"ours": ours, "peer": peer}[who](read_case(path), wanted)))
        return
    path = Path(sys.argv[1]) if sys.argv[1:] else DEMO
    rows, ratios = [], []
    for n in SIZES:
        pairs = [
            (measured(path, "ours", n), measured(path, "peer", n))
            for _ in range(1 if n > MANY else PAIRS)
        ]
        rows.append(tuple(min(side, key=both) for side in zip(*pairs, strict=True)))
        ratios.append(sorted(both(mine) / both(other) for mine, other in pairs))
    print("# Stage times over the number of unknowns\n")
    print(f"Made by `python -m benchmarks.scaling` of {path.parent.name}, {os.cpu_count()} cores")
    print(f"({platform.machine()}), Python {platform.python_version()}; seconds, two threads.\n")
    columns = "unknowns, assemble, factorise and solve, both, peer: unknowns, assemble,"
    columns += " factorise and solve, both, ours / peer, of the pairs, bondline table, GB, growth"
    print(f"| {columns.replace(', ', ' | ')} |")
    print("|" + "---|" * 13)
    first = rows[0][0]
    for (mine, other), pairs in zip(rows, ratios, strict=True):
        a, b = mine["assemble"], mine["factorise and solve"]
        c, d = other["assemble"], other["factorise and solve"]
        grown = math.log(mine["unknowns"] / first["unknowns"])
        growth = f"{math.log((a + b) / both(first)) / grown:.2f}" if grown else ""
        cells = [f"{mine['unknowns']:,.0f}", a, b, a + b, f"{other['unknowns']:,.0f}", c, d, c + d]
        cells += [
            (a + b) / (c + d),
            f"{pairs[0]:.2f} to {pairs[-1]:.2f}",
            mine["bondline table"],
            mine["GB"],
            growth,
        ]
        print("| " + " | ".join(x if isinstance(x, str) else f"{x:.2f}" for x in cells) + " |")
    finest = np.array(rows[-1][0]["means"])
    print("\nError of the means of peel and shear (largest over the bonds, of the largest mean):\n")
    for mine, _ in rows[:-1]:
        error = np.abs(np.array(mine["means"]) - finest).max() / np.abs(finest).max()
        spent = both(mine) + mine["bondline table"]
        print(f"- {mine['unknowns']:,.0f} unknowns: {100 * error:.4f} % in {spent:.2f} s")


if __name__ == "__main__":
    main()
