"""A nearly incompressible adhesive does not lock: closed forms of what confines it.

Sources beside each check. Fourth-order displacements on triangles are known not to lock (L.R.
Scott & M. Vogelius, RAIRO Modél. Math. Anal. Numér. 19 (1985) 111-143, value from memory); lower
orders do, which the last check shows.
"""

from __future__ import annotations

import numpy as np
import pytest

from geometry.sizes import Grading
from solve.answer import DEGREE
from solve.constrained_layer import apparent_modulus
from solve.exact_tube import TubeLayer, solve_tube
from solve.laminate import Material
from solve.solid import Held, build, make_section, rectangle, solve_solid
from solve.solid_tubes import slice_tube

NU = 0.499


def isotropic(E: float, nu: float) -> Material:
    lame, G = E * nu / ((1 + nu) * (1 - 2 * nu)), E / (2 * (1 + nu))
    C = np.diag([2 * G] * 3 + [G] * 3)
    C[:3, :3] += lame
    return Material(C, np.array([6e-5, 6e-5, 6e-5, 0, 0, 0]))


def pressed_disc(E: float, nu: float, radius: float, thickness: float, degree: int) -> float:
    """Apparent modulus of the upper half of a disc, between mid-plane and rigid plate."""
    half = thickness / 2
    section = make_section(
        [rectangle("disc", (0.0, radius), (0.0, half))],
        {"disc": "wall"},
        thickness=thickness,
        closure_z=half,
    )
    material = {"disc": isotropic(E, nu)}
    system = build(section, material, grading=Grading(wall=0.5), degree=degree)
    held = [
        Held("closure", "r"),
        Held("closure", "z", {"press": lambda r, z: np.full_like(r, -half)}),
    ]
    solid = solve_solid(system, material, {"press": None}, held)
    force, _ = solid.resultant({"press": 1.0}, "closure")
    return -force / (np.pi * radius**2)


@pytest.mark.parametrize("nu", [0.45, 0.49, NU, 0.4998])
def test_a_thin_disc_between_rigid_plates_is_as_stiff_as_the_closed_form(nu: float) -> None:
    # the closed form leaves out terms of t / a and G / K; see solve.constrained_layer
    radius, thickness = 60.0, 1.0
    G_over_K = 3 * (1 - 2 * nu) / (2 * (1 + nu))
    ours = pressed_disc(3.0, nu, radius, thickness, DEGREE)
    theirs = apparent_modulus(3.0, nu, radius, thickness)
    assert ours == pytest.approx(theirs, rel=thickness / radius + 4 / 3 * G_over_K)


def test_without_shear_of_the_layer_the_closed_form_tends_to_published_limits() -> None:
    # incompressible: E a^2 / (2 t^2) for a wide disc, Gent & Lindley 1959 (value from memory)
    assert apparent_modulus(3.0, 0.5 - 1e-9, 20.0, 1.0) == pytest.approx(3 * 20**2 / 2, rel=1e-4)
    # very wide: the bulk modulus
    assert apparent_modulus(3.0, 0.49, 1e5, 1.0) == pytest.approx(3 / (3 * 0.02), rel=1e-3)


def test_linear_elements_would_have_locked() -> None:
    # that the check above can see locking at all
    theirs = apparent_modulus(3.0, 0.4998, 60.0, 1.0)
    assert pressed_disc(3.0, 0.4998, 60.0, 1.0, degree=1) > 1.2 * theirs  # 1.25


def test_a_confined_layer_in_a_tube_is_exact() -> None:
    # exact layered tube (Rousseau, Hyer & Tompkins 1987): steel, adhesive of nu = 0.499, steel
    steel, soft = isotropic(200e3, 0.3), isotropic(2.0, NU)
    layers = [
        TubeLayer(50.0, 60.0, steel),
        TubeLayer(60.0, 61.0, soft),
        TubeLayer(61.0, 75.0, steel),
    ]
    ours = slice_tube(layers, elements=8)
    state = ours.state(pressure=10.0, closed_ends=True)
    exact = solve_tube(layers, outer_pressure=10.0, closed_ends=True)
    for layer, radius in ((0, 55.0), (1, 60.5), (2, 70.0)):
        theirs = exact.evaluate([radius], layer).stress[:, 0]
        stress = ours.stress(state, radius, layer)
        assert stress[:3] == pytest.approx(theirs[:3], rel=1e-6, abs=1e-6 * np.abs(theirs).max())
