"""The exact layered tube: the laws it must meet, its limits and its special exponents.

The published numbers are in the verification table, see test_reference_checks.
"""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from solve.cited_materials import CARBON_EPOXY, CitedPly, isotropic
from solve.exact_tube import TubeField, TubeLayer, TubeSolution, solve_tube
from solve.laminate import Material, ply_material
from solve.thick_wall_formulas import lame_cylinder, lekhnitskii_exponent, lekhnitskii_ring
from solve.tube_checks import angle_ply_layers, bonded_layers
from tests.solve.plies import angles, cards, tubes

LOADS = {
    "inner_pressure": st.floats(0, 100),
    "outer_pressure": st.floats(0, 100),
    "axial_force": st.floats(-1e6, 1e6),
    "torque": st.floats(-1e7, 1e7),
    "dT": st.floats(-200, 100),
}
POINTS, WEIGHTS = np.polynomial.legendre.leggauss(60)


def inside(tube: TubeSolution, number: int) -> tuple[TubeField, np.ndarray]:
    """Fields and weights of a fine quadrature over a layer, not the solver's own."""
    layer = tube.layers[number]
    half = (layer.outer - layer.inner) / 2
    return tube.evaluate(layer.inner + half * (1 + POINTS), number), WEIGHTS * half


def assert_laws_hold(tube: TubeSolution, p_i: float, p_o: float) -> None:
    """Hooke, compatibility, equilibrium, continuity and the two resultants: all there is."""
    force = torque = 0.0
    largest = max(np.abs(inside(tube, n)[0].stress).max() for n in range(len(tube.layers)))
    # Free expansion is the difference of large terms: rounding goes with those.
    thermal = max(
        np.abs(each.material.C @ each.material.cte * tube.dT).max() for each in tube.layers
    )
    allowed = 1e-9 * max(largest, thermal, 1e-6)
    last = None
    for number, layer in enumerate(tube.layers):
        field, weights = inside(tube, number)
        a, b = layer.inner, layer.outer
        ends = tube.evaluate([a, b], number)
        # Hooke.
        elastic = field.strain - layer.material.cte[:, None] * tube.dT
        np.testing.assert_allclose(field.stress, layer.material.C @ elastic, atol=allowed)
        # Strain of u_r = w, u_t = twist r z, u_z = axial_strain z.
        assert ends.displacement[1] - ends.displacement[0] == pytest.approx(
            weights @ field.strain[0], rel=1e-8, abs=1e-10 * np.abs(ends.displacement).max()
        )
        np.testing.assert_allclose(field.strain[1], field.displacement / field.radius, rtol=1e-12)
        assert np.all(field.strain[2] == tube.axial_strain)
        np.testing.assert_allclose(field.strain[3], tube.twist * field.radius, rtol=1e-12)
        assert np.all(field.strain[4:] == 0)
        # Equilibrium of the half ring between a and r: Int_a^r s_t = r s_r(r) - a s_r(a).
        for r, weight_scale in ((b, 1.0), ((a + b) / 2, 0.5)):
            part = tube.evaluate(a + (r - a) / 2 * (1 + POINTS), number).stress[1]
            carried = part @ WEIGHTS * (b - a) / 2 * weight_scale
            radial = tube.evaluate([a, r], number).stress[0] @ [-a, r]
            assert carried == pytest.approx(radial, abs=allowed * b)
        # Continuity and the pressures.
        if last is None:
            assert ends.stress[0, 0] == pytest.approx(-p_i, abs=allowed)
        else:
            assert ends.stress[0, 0] == pytest.approx(last.stress[0, 1], abs=allowed)
            assert ends.displacement[0] == pytest.approx(last.displacement[1], rel=1e-12)
        last = ends
        force += 2 * np.pi * field.stress[2] @ (weights * field.radius)
        torque += 2 * np.pi * field.stress[3] @ (weights * field.radius**2)
    assert last is not None
    assert last.stress[0, 1] == pytest.approx(-p_o, abs=allowed)
    section = np.pi * tube.layers[-1].outer ** 2
    assert force == pytest.approx(tube.axial_force, abs=allowed * section)
    assert torque == pytest.approx(tube.torque, abs=allowed * section * tube.layers[-1].outer)


@given(layers=tubes(), **LOADS)
def test_every_law_of_elasticity_holds(
    layers: list[TubeLayer],
    inner_pressure: float,
    outer_pressure: float,
    axial_force: float,
    torque: float,
    dT: float,
) -> None:
    # Source: Rousseau, Hyer & Tompkins 1987: the field equations the solution rests on. Meeting
    # them all at every radius makes the answer the exact one.
    tube = solve_tube(
        layers,
        inner_pressure=inner_pressure,
        outer_pressure=outer_pressure,
        axial_force=axial_force,
        torque=torque,
        dT=dT,
    )
    section = np.pi * layers[-1].outer ** 2  # 1e-9 of 1 MPa on it
    assert tube.axial_force == pytest.approx(axial_force, rel=1e-9, abs=1e-9 * section)
    assert tube.torque == pytest.approx(torque, rel=1e-9, abs=1e-9 * section * layers[-1].outer)
    assert_laws_hold(tube, inner_pressure, outer_pressure)


@given(
    st.floats(1.0, 500.0),
    st.floats(1e-3, 2.0),
    st.floats(1e3, 4e5),
    st.floats(0.0, 0.49),
    st.floats(0, 100),
    st.floats(0, 100),
    st.sampled_from(["closed", "open", "held"]),
)
def test_isotropic_tube_is_lames_cylinder(
    a: float, relative: float, E: float, nu: float, p_i: float, p_o: float, ends: str
) -> None:
    # Source: Lame 1852; Timoshenko & Goodier 1970.
    b = a * (1 + relative)
    how = {"closed": {"closed_ends": True}, "open": {}, "held": {"axial_strain": 0.0}}[ends]
    layers = [TubeLayer(a, b, isotropic(E, nu))]
    tube = solve_tube(layers, inner_pressure=p_i, outer_pressure=p_o, **how)
    r = np.linspace(a, b, 5)
    exact = lame_cylinder(r, a, b, E, nu, inner_pressure=p_i, outer_pressure=p_o, ends=ends)
    ours = tube.evaluate(r)
    # Equal pressures on a thin wall cancel: 1e-9 of the pressures' own hoop stress is left.
    scale = (p_i + p_o) / relative + 1e-9
    np.testing.assert_allclose(ours.stress[0], exact.radial, atol=1e-9 * scale)
    np.testing.assert_allclose(ours.stress[1], exact.hoop, atol=1e-9 * scale)
    np.testing.assert_allclose(ours.stress[2], exact.axial, atol=1e-9 * scale)
    np.testing.assert_allclose(ours.displacement, exact.displacement, atol=1e-9 * scale * b / E)


@given(cards(), st.sampled_from([0, 90]), st.floats(0.01, 1.0), st.floats(0, 90), st.floats(0, 90))
def test_orthotropic_tube_is_lekhnitskiis_ring(
    card: CitedPly, angle: int, relative: float, p_i: float, p_o: float
) -> None:
    # Source: Lekhnitskii, Anisotropic Plates, 1968, ring with e0 = 0.
    material, a, b = ply_material(card, angle), 100.0, 100.0 * (1 + relative)
    r, k = np.linspace(a, b, 5), lekhnitskii_exponent(material.C)
    radial, hoop = lekhnitskii_ring(r, a, b, k, inner_pressure=p_i, outer_pressure=p_o)
    tube = solve_tube(
        [TubeLayer(a, b, material)], inner_pressure=p_i, outer_pressure=p_o, axial_strain=0.0
    )
    ours = tube.evaluate(r).stress
    scale = (p_i + p_o + 1e-6) / relative
    np.testing.assert_allclose(ours[0], radial, atol=1e-10 * scale)
    np.testing.assert_allclose(ours[1], hoop, atol=1e-10 * scale)


def with_exponent(lam: float) -> Material:
    """Change the hoop stiffness of a turned ply until sqrt(Ctt / Crr) is lam."""
    C = ply_material(CARBON_EPOXY, 30).C.copy()
    C[1, 1] = lam**2 * C[0, 0]
    return Material(C, ply_material(CARBON_EPOXY, 30).cte)


@pytest.mark.parametrize("resonance", [1, 2])
@pytest.mark.parametrize("off", [0.0, 1e-16, -1e-15, 1e-12, 1e-9, -1e-8, 1e-6, -1e-4, 1e-2])
def test_laws_hold_through_the_special_exponents(resonance: int, off: float) -> None:
    # Source: Herakovich 1998, ch. 10: at lam = 1 and lam = 2 the textbook terms divide by zero.
    material = with_exponent(resonance + off)
    assert np.linalg.eigvalsh(material.C).min() > 0
    layers = [TubeLayer(100.0, 140.0, material), TubeLayer(140.0, 150.0, isotropic(70e3, 0.33))]
    tube = solve_tube(layers, outer_pressure=60.0, closed_ends=True, torque=1e7, dT=-100.0)
    assert_laws_hold(tube, 0.0, 60.0)


@pytest.mark.parametrize(("resonance", "given_motion"), [(1, "axial_strain"), (2, "twist")])
def test_particular_term_at_resonance_is_the_logarithmic_one(
    resonance: int, given_motion: str
) -> None:
    # Source: the limit of the textbook terms, "recomputed": (Ctz - Crz) / (2 Crr) e0 r ln r at
    # lam = 1, (Ct6 - 2 Cr6) / (4 Crr) g0 r^2 ln r at lam = 2. What is left of w after taking
    # them off must be A r^lam + B r^-lam.
    material = with_exponent(resonance)
    motion = {"axial_strain": 0.0, "twist": 0.0} | {given_motion: 1e-3}
    tube = solve_tube([TubeLayer(100.0, 150.0, material)], **motion)
    r, C = np.linspace(100, 150, 11), material.C
    w = tube.evaluate(r).displacement
    source = {1: C[1, 2] - C[0, 2], 2: C[1, 3] - 2 * C[0, 3]}[resonance]
    rest = w - source / (2 * resonance * C[0, 0]) * 1e-3 * r**resonance * np.log(r)
    basis = np.stack([r**resonance, r**-resonance * 1e4**resonance], axis=1)
    amounts = np.linalg.lstsq(basis, rest, rcond=None)[0]
    np.testing.assert_allclose(basis @ amounts, rest, atol=1e-11 * np.abs(rest).max())
    assert np.abs(w).max() > 1e-4


@given(tubes(), st.floats(-50, 50), st.floats(-50, 50), st.floats(-1e6, 1e6), st.floats(-1e7, 1e7))
def test_strain_energy_is_the_work_of_the_loads(
    layers: list[TubeLayer], p_i: float, p_o: float, force: float, torque: float
) -> None:
    # Source: Clapeyron: 2 U = sum of load times displacement, without change of temperature.
    tube = solve_tube(
        layers, inner_pressure=p_i, outer_pressure=p_o, axial_force=force, torque=torque
    )
    energy = 0.0
    for number in range(len(layers)):
        field, weights = inside(tube, number)
        density = np.einsum("in,in->n", field.stress, field.strain) / 2
        energy += 2 * np.pi * density @ (weights * field.radius)
    w = tube.face_displacement
    work = 2 * np.pi * (p_i * layers[0].inner * w[0] - p_o * layers[-1].outer * w[-1])
    work += force * tube.axial_strain + torque * tube.twist
    assert energy >= 0
    assert energy == pytest.approx(work / 2, rel=1e-8, abs=1e-12)


def test_answers_add_up() -> None:
    # Source: linearity.
    layers = angle_ply_layers()
    parts = ({"outer_pressure": 60.0}, {"axial_force": -1e6}, {"torque": 1e7}, {"dT": -150.0})
    together = solve_tube(layers, **{k: v for part in parts for k, v in part.items()})
    r = np.linspace(200, 250, 9)
    summed = sum(solve_tube(layers, **part).evaluate(r).stress for part in parts)
    np.testing.assert_allclose(together.evaluate(r).stress, summed, rtol=1e-9, atol=1e-9)


def test_closed_ends_add_the_force_on_the_end_caps() -> None:
    layers = angle_ply_layers()
    closed = solve_tube(layers, inner_pressure=5, outer_pressure=60, closed_ends=True)
    cap = np.pi * (5 * 200.0**2 - 60 * 250.0**2)
    assert closed.axial_force == pytest.approx(cap, rel=1e-12)
    by_hand = solve_tube(layers, inner_pressure=5, outer_pressure=60, axial_force=cap)
    np.testing.assert_allclose(closed.face_displacement, by_hand.face_displacement, rtol=1e-12)


def test_prescribed_stretch_and_twist_give_back_force_and_torque() -> None:
    layers = angle_ply_layers()
    loaded = solve_tube(layers, outer_pressure=60, axial_force=-2e6, torque=3e7, dT=-80)
    driven = solve_tube(
        layers, outer_pressure=60, dT=-80, axial_strain=loaded.axial_strain, twist=loaded.twist
    )
    assert driven.axial_force == pytest.approx(-2e6, rel=1e-10)
    assert driven.torque == pytest.approx(3e7, rel=1e-10)
    np.testing.assert_allclose(driven.face_displacement, loaded.face_displacement, rtol=1e-11)


def test_positive_twist_comes_from_positive_torque() -> None:
    # Source: Saint-Venant: torque = G J twist, J = pi / 2 (b^4 - a^4).
    G = 70e3 / 2.66
    tube = solve_tube([TubeLayer(50.0, 60.0, isotropic(70e3, 0.33))], torque=1e6)
    assert tube.twist == pytest.approx(1e6 / (G * np.pi / 2 * (60.0**4 - 50.0**4)), rel=1e-12)


@given(cards(), angles, st.floats(0.05, 0.95))
def test_cutting_a_layer_in_two_changes_nothing(card: CitedPly, angle: float, cut: float) -> None:
    material = ply_material(card, angle)
    middle = 100.0 + 20.0 * cut
    whole = [TubeLayer(100.0, 120.0, material)]
    halves = [TubeLayer(100.0, middle, material), TubeLayer(middle, 120.0, material)]
    load = {"outer_pressure": 60.0, "closed_ends": True, "torque": 1e6, "dT": -100.0}
    one, two = solve_tube(whole, **load), solve_tube(halves, **load)
    r = np.linspace(100, 120, 7)
    np.testing.assert_allclose(
        two.evaluate(r).stress,
        one.evaluate(r).stress,
        atol=1e-9 * np.abs(one.evaluate(r).stress).max(),
    )


@pytest.mark.parametrize("thickness", [1e-1, 1e-3, 1e-5])
def test_thin_bond_keeps_all_laws(thickness: float) -> None:
    metal, adhesive, wall = bonded_layers()
    layers = [
        metal,
        TubeLayer(205.0, 205.0 + thickness, adhesive.material),
        TubeLayer(205.0 + thickness, 250.0, wall.material),
    ]
    tube = solve_tube(layers, outer_pressure=60.0, closed_ends=True, dT=-100.0)
    bare = solve_tube(
        [metal, TubeLayer(205.0, 250.0, wall.material)],
        outer_pressure=60.0,
        closed_ends=True,
        dT=-100.0,
    )
    # A bond of no thickness is no bond: its effect is of the order of its thickness.
    assert tube.axial_strain == pytest.approx(bare.axial_strain, rel=10 * thickness / 50)
    radial = tube.evaluate([205.0, 205.0 + thickness], layer=1).stress[0]
    assert radial[0] == pytest.approx(radial[1], abs=20 * thickness + 1e-6)
    assert radial[0] == pytest.approx(tube.evaluate(205.0, layer=0).stress[0, 0], abs=1e-7)


def test_interface_belongs_to_the_layer_inside_unless_asked() -> None:
    tube = solve_tube(bonded_layers(), outer_pressure=60.0)
    at_face = tube.evaluate([205.0, 205.25])
    np.testing.assert_array_equal(at_face.stress[:, :1], tube.evaluate(205.0, layer=0).stress)
    np.testing.assert_array_equal(at_face.stress[:, 1:], tube.evaluate(205.25, layer=1).stress)
    assert abs(at_face.stress[1, 0] - tube.evaluate(205.0, layer=1).stress[1, 0]) > 100


@pytest.mark.parametrize("radius", [199.9, 250.1])
def test_radius_outside_the_tube_is_refused(radius: float) -> None:
    tube = solve_tube(bonded_layers(), outer_pressure=60.0)
    with pytest.raises(ValueError, match="between 200 and 250 mm"):
        tube.evaluate(radius)


def test_radius_outside_the_chosen_layer_is_refused() -> None:
    tube = solve_tube(bonded_layers(), outer_pressure=60.0)
    with pytest.raises(ValueError, match="between 200 and 205 mm"):
        tube.evaluate(206.0, layer=0)


@pytest.mark.parametrize(
    ("radii", "message"),
    [
        ([], "at least one layer"),
        ([(0.0, 10.0)], "bore radius must be positive"),
        ([(10.0, 10.0)], "layer 1 ends at 10 mm"),
        ([(10.0, 20.0), (21.0, 30.0)], "layer 2 begins at 21 mm"),
    ],
)
def test_layers_that_are_no_tube_are_refused(
    radii: list[tuple[float, float]], message: str
) -> None:
    steel = isotropic(200e3, 0.3)
    with pytest.raises(ValueError, match=message):
        solve_tube([TubeLayer(a, b, steel) for a, b in radii])
