"""Stage times from case file to bondline table, in a warm process.

    python benchmarks/stages.py [CASE.yaml ...]

The first round warms caches and is not counted; of the others the median is shown.
"""

from __future__ import annotations

import sys
import time
from pathlib import Path

import numpy as np

from geometry.case import read_case
from geometry.forms import draw_section
from geometry.mesh import mesh_section
from post.bondline import bondline
from solve.answer import prove, region_materials, solve
from solve.elasticity import assemble, held_unknowns, pressure_load, solve_loads

ROUNDS = 5


def stage_times(path: Path) -> dict[str, float]:
    """Seconds of each stage for one case, with the size of the problem."""
    clock = time.perf_counter
    start = clock()
    case = read_case(path)
    section = draw_section(case)
    drawn = clock()
    mesh = mesh_section(section, case.mesh.level)
    meshed = clock()
    answer = solve(case, mesh)
    solved = clock()
    bondline(answer)
    done = clock()
    return {
        "read and draw": drawn - start,
        "mesh": meshed - drawn,
        "solve and prove": solved - meshed,
        "bondline table": done - solved,
        "mesh to bondline": done - drawn,
    }


def solve_times(path: Path) -> dict[str, float]:
    """Seconds of the parts of the solve."""
    case = read_case(path)
    section = draw_section(case)
    mesh = mesh_section(section, case.mesh.level)
    clock = time.perf_counter
    start = clock()
    system = assemble(mesh, region_materials(case, section), 4)
    assembled = clock()
    loads = np.stack([pressure_load(system), system.temperature], axis=1)
    held = held_unknowns(system)
    loaded = clock()
    u, forces = solve_loads(system, loads, held)
    solved = clock()
    prove(system, region_materials(case, section), loads, held, u, forces, section.outer_radius)
    proved = clock()
    return {
        "assemble": assembled - start,
        "loads": loaded - assembled,
        "factorise and solve": solved - loaded,
        "prove": proved - solved,
        "unknowns": float(len(loads)),
    }


def main() -> None:
    """Print the table."""
    paths = [Path(a) for a in sys.argv[1:]] or sorted(Path("cases").glob("*/case.yaml"))
    for path in paths:
        for measure in (stage_times, solve_times):
            rounds = [measure(path) for _ in range(ROUNDS + 1)][1:]
            for name in rounds[0]:
                print(
                    f"{path.parent.name:12} {name:22} {np.median([r[name] for r in rounds]):10.3f}"
                )


if __name__ == "__main__":
    main()
