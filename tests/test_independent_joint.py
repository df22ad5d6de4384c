"""A whole joint against an independent solution by a general-purpose finite element library.

Source: ngsolve and netgen (J. Schoeberl, Comput. Visual. Sci. 1 (1997) 41-52), polynomials of
order 6 with geometric refinement towards every corner (Guo & Babuska 1986): geometry composed in
words, mesh, weak form, ply stiffness and traction along the bonds are all its own. The figures,
and how far the reference itself moves, are recorded for all forms in
benchmarks/independent_joint.md.
"""

from __future__ import annotations

import numpy as np
import pytest

pytest.importorskip(
    "ngsolve",
    reason="ngsolve, the independent solver, cannot be loaded (its wheel wants libquadmath0)",
    exc_type=ImportError,
)
pytest.importorskip(
    "netgen.occ", reason="netgen was built without its geometry kernel", exc_type=ImportError
)

from benchmarks import independent_joint as compare  # noqa: E402
from benchmarks.joints import JOINTS  # noqa: E402
from benchmarks.reference_joint import Reference, solve_reference  # noqa: E402
from solve.answer import Answer  # noqa: E402

pytestmark = pytest.mark.slow

# Asked of the project are 0.2 % on displacements and 0.5 % on mid-bond stresses at duty, and 1 %
# of local values. Recorded for this joint (benchmarks/independent_joint.md) are 0.012 % on
# displacements, 0.02 % on means and 0.22 % locally; the reference of the test is one order lower.
DISPLACEMENT = 5e-4  # of the largest; largest in error at the head's re-entrant seat
MEAN = 1e-3  # of the mean, over the bond and over its first and last thickness
LOCAL = {"duty": 3e-3, "pressure": 3e-3, "temperature": 3e-3}  # of the bond's largest

Solved = tuple[Answer, Reference, compare.Profile, compare.Profile]


@pytest.fixture(scope="module")
def lander() -> Solved:
    """Solve the lander's socket by both: root radius, squeeze-out, tapered lips, hemisphere."""
    answer = compare.solve_ours(JOINTS["lander (socket)"]())
    reference = solve_reference(answer.case, order=6, levels=8, fineness=1.5)
    theirs = compare.reference_profile(answer, reference)
    return answer, reference, compare.our_profile(answer), theirs


def test_drawings_agree(lander: Solved) -> None:
    answer, reference, _, _ = lander
    # both are exact; 2e-5 is what 400 chords leave of the area of a half-turn's arc
    assert compare.area_error(answer, reference) < 2e-5
    assert compare.line_offset(answer, reference) < 1e-9


@pytest.mark.parametrize("load", compare.LOADS)
def test_displacements_agree(lander: Solved, load: str) -> None:
    _, _, ours, theirs = lander
    found = compare.differences(ours, theirs)[load]
    assert found["displacement"][0] < DISPLACEMENT, found


@pytest.mark.parametrize("load", compare.LOADS)
def test_mean_bond_stresses_agree(lander: Solved, load: str) -> None:
    _, _, ours, theirs = lander
    found = compare.differences(ours, theirs)[load]
    assert found["mean"][0] < MEAN, found
    assert found["edge_mean"][0] < MEAN, found


@pytest.mark.parametrize("load", compare.LOADS)
@pytest.mark.parametrize("bond", ["inner", "end", "outer"])
def test_mid_bond_profiles_agree(lander: Solved, bond: str, load: str) -> None:
    _, _, ours, theirs = lander
    for row in range(2):
        ref = theirs.line[bond, load][row]
        error = np.abs(ours.line[bond, load][row] - ref) / np.abs(ref).max()
        assert error.max() < LOCAL[load], (compare.NAMES[row], ours.s[bond][error.argmax()])


def test_twist_shear_is_nil_in_a_balanced_wall(lander: Solved) -> None:
    _, _, ours, theirs = lander
    for line in (ours.line, theirs.line):
        assert max(np.abs(stress[2]).max() for stress in line.values()) == 0.0
