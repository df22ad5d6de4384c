"""The section viewer's data: what a browser unpacks is the answer. Common practice, no published
source, where a test names none. The page itself is opened in tests/browser."""

from __future__ import annotations

import base64
import json
import zlib

import numpy as np
import pytest

from geometry.forms import draw_section
from geometry.mesh import mesh_section
from post.bondline import bond_stress, duty_factors
from post.field_quantities import bond_of, list_quantities
from post.field_viewer import field_data, monomials, packed, viewer_part, views
from solve.answer import solve
from solve.as_made import wall_cards
from solve.laminate import ply_stresses
from solve.stress import strain_at, stress_at
from tests.joints import joint_case


def unpacked(pack):
    """Read an array as RFC 4648 (base64) and RFC 1950 (zlib) say, and as the module's words do."""
    planes = np.frombuffer(zlib.decompress(base64.b64decode(pack["data"])), np.uint8)
    bits = planes.reshape(4, -1).astype(np.uint32)
    steps = bits[0] | bits[1] << 8 | bits[2] << 16 | bits[3] << 24
    whole = np.cumsum(steps, dtype=np.uint32).view(np.int32)
    return (whole * pack["step"]).reshape(pack["shape"])


@pytest.fixture(scope="module")
def data(answer):
    # through JSON, as the page has it: its numbers and its keys
    return json.loads(json.dumps(field_data(answer, []), allow_nan=False))


class Reader:
    """Evaluates packed data at reference points, from the module's words alone."""

    def __init__(self, data):
        self.data = data
        self.points, self.corners, self.dofs = (
            unpacked(data[k]) for k in ("points", "corners", "dofs")
        )
        self.corners, self.dofs = self.corners.astype(int), self.dofs.astype(int)
        self.moved = {load: unpacked(pack) for load, pack in data["displacement"].items()}
        self.region = np.repeat(np.arange(len(data["counts"])), data["counts"])

    def shape(self, degree, x, y):
        told = self.data["shapes"][str(degree)]
        a, b = np.array(told["powers"]).T
        c = np.array(told["coefficients"])
        slope_x = np.where(a > 0, a * x ** np.maximum(a - 1, 0), 0) * y**b
        slope_y = np.where(b > 0, b * y ** np.maximum(b - 1, 0), 0) * x**a
        return c @ (x**a * y**b), c @ slope_x, c @ slope_y

    def state(self, element, x, y, load):
        """Place (r, z), movement and strain of one element."""
        value, by_x, by_y = self.shape(2, x, y)
        nodes = self.points[:, self.corners[:, element]]
        place, jacobian = nodes @ value, np.stack([nodes @ by_x, nodes @ by_y], axis=1)
        value, by_x, by_y = self.shape(self.data["degree"], x, y)
        u = np.zeros((3, len(value)))
        u[[0, 1, 2] if len(self.moved[load]) == 3 else [0, 2]] = self.moved[load][
            :, self.dofs[:, element]
        ]
        (rr, rz), (tr, tz), (zr, zz) = np.stack([u @ by_x, u @ by_y], axis=1) @ np.linalg.inv(
            jacobian
        )
        move = u @ value
        # S. Timoshenko & J.N. Goodier, Theory of Elasticity, 3rd ed., 1970, ch. 12
        strain = [rr, move[0] / place[0], zz, tz, rz + zr, tr - move[1] / place[0]]
        return place, move, np.array(strain)

    def value(self, key, element, x, y):
        """A quantity at duty; None where it is not defined."""
        quantity = next(q for q in self.data["quantities"] if q["key"] == key)
        rows = quantity["rows"].get(str(self.region[element]))
        if rows is None:
            return None
        duty = self.data["duty"]
        states = [(duty[load], *self.state(element, x, y, load)[1:]) for load in duty]
        move, strain = (sum(s[0] * s[k] for s in states) for k in (1, 2))
        if quantity["kind"] == "movement":
            return np.linalg.norm(np.array(rows) @ move) if len(rows) > 1 else rows[0] @ move
        rows = np.array(rows)
        sums = rows[:, :-1] @ strain[self.data["strains"]] - rows[:, -1] * duty["temperature"]
        if quantity["kind"] == "linear":
            return sums[0]
        stress = sums[[0, 5, 4, 5, 1, 3, 4, 3, 2]].reshape(3, 3)
        deviator = stress - np.trace(stress) / 3 * np.eye(3)
        return np.sqrt(1.5 * np.sum(deviator**2))  # R. von Mises, 1913, by the deviator


def places(reader, count=60):
    """Elements of every region with a reference point inside each."""
    rng = np.random.default_rng(7)
    for region in range(len(reader.data["counts"])):
        members = np.flatnonzero(reader.region == region)
        for element in rng.choice(members, min(count, len(members)), replace=False):
            x, y, _ = rng.dirichlet([2, 2, 2])
            yield int(element), float(x), float(y)


@pytest.mark.parametrize("kind", [np.float64, np.int64])
def test_packed_arrays_come_back(kind):
    rng = np.random.default_rng(3)
    array = (rng.normal(size=(3, 50)) * 1e6).astype(kind)
    pack = packed(array)
    # rounding to whole steps: half a step at most, and none for whole numbers
    most = 0.5000001 * pack["step"] if kind is np.float64 else 0.0
    assert np.abs(unpacked(pack) - array).max() <= most
    assert pack["step"] <= np.abs(array).max() / 2**31 * 1.001 or kind is np.int64


def test_an_array_of_zeros_and_an_empty_one_come_back():
    assert (unpacked(packed(np.zeros(4))) == 0).all()
    assert unpacked(packed(np.zeros((2, 0)))).shape == (2, 0)


def test_a_number_beyond_32_bits_is_refused():
    with pytest.raises(ValueError, match="32 bits"):
        packed(np.array([2**31]))


@pytest.mark.parametrize("degree", [1, 2, 3, 4])
def test_shape_functions_are_one_at_their_own_place_and_sum_to_one(degree):
    # P.G. Ciarlet, The Finite Element Method for Elliptic Problems, 1978, section 2.2: the
    # principal lattice, places at multiples of 1 / degree.
    told = monomials(degree)
    powers, coefficients = np.array(told["powers"]), np.array(told["coefficients"])

    def at(x, y):
        return coefficients @ (x ** powers[:, 0] * y ** powers[:, 1])

    values = np.array(
        [at(i / degree, j / degree) for i in range(degree + 1) for j in range(degree + 1 - i)]
    )
    assert np.allclose(np.sort(values, axis=1)[:, :-1], 0, atol=1e-9)
    assert np.allclose(values.max(axis=1), 1)
    assert at(0.21, 0.33).sum() == pytest.approx(1, abs=1e-9)


@pytest.mark.parametrize(
    ("key", "row"), [("radial", 0), ("hoop", 1), ("axial", 2), ("shear_rz", 4)]
)
def test_hull_stresses_of_the_page_are_those_of_the_answer(data, answer, key, row):
    reader = Reader(data)
    factors = duty_factors(answer)
    found, wanted = [], []
    for element, x, y in places(reader, 12):
        place, _, _ = reader.state(element, x, y, "pressure")
        name = answer.mesh.regions[reader.region[element]]
        unit = stress_at(answer, place[:, None], [name])
        found.append(reader.value(key, element, x, y))
        wanted.append(sum(factors[k] * unit[k][row, 0] for k in factors))
    # 32-bit steps: 2**-31 of displacements of 0.1 mm over elements of 0.02 mm is 2e-9 of strain,
    # and places move by 1e-7 mm
    np.testing.assert_allclose(found, wanted, atol=1e-4 * np.abs(wanted).max())


def test_peel_and_shear_of_the_page_are_those_of_the_bondline(data, answer):
    reader = Reader(data)
    factors = duty_factors(answer)
    compared = 0
    for element, x, y in places(reader, 25):
        bond = bond_of(answer.section, answer.mesh.regions[reader.region[element]])
        if bond is None:
            assert reader.value("peel", element, x, y) is None
            continue
        place, _, _ = reader.state(element, x, y, "pressure")
        unit = bond_stress(answer, bond, place[:, None], "adhesive")
        for row, key in enumerate(("peel", "shear")):
            wanted = sum(factors[k] * unit[k][row, 0] for k in factors)
            assert reader.value(key, element, x, y) == pytest.approx(wanted, abs=2e-3)
            compared += 1
    assert compared >= 100  # two bonds, 25 places, two stresses


def test_plies_of_the_page_have_the_stress_that_is_recovered_for_them(data, answer):
    reader = Reader(data)
    factors = duty_factors(answer)
    cards = wall_cards(answer.case)
    quantities = {(q["group"], q["name"]): q["key"] for q in data["quantities"]}
    for element, x, y in places(reader, 10):
        layer = answer.section.layers.get(answer.mesh.regions[reader.region[element]])
        if layer is None:
            continue
        place, _, _ = reader.state(element, x, y, "pressure")
        unit = strain_at(answer, place[:, None], [layer.name])
        strain = sum(factors[k] * unit[k][:, 0] for k in factors)
        stresses = ply_stresses(layer, cards, strain, factors["temperature"])
        for ply, stress in zip(layer.plies, stresses, strict=True):
            along = {0: ", along the hull", 90: ", around the hull"}[ply.angle]
            for row, name in ((0, "Stress along the fibre"), (1, "Stress across the fibre")):
                key = quantities[f"Plies at {ply.angle:g}\u00b0{along}", name]
                found = reader.value(key, element, x, y)
                assert found == pytest.approx(stress[row], abs=1e-4 * np.abs(stresses).max())


def test_von_mises_and_movement_of_the_page_are_those_of_the_answer(data, answer):
    reader = Reader(data)
    factors = duty_factors(answer)
    for element, x, y in places(reader, 10):
        name = answer.mesh.regions[reader.region[element]]
        at = reader.state(element, x, y, "pressure")
        mises = reader.value("mises", element, x, y)
        if answer.section.regions[name].part not in ("ring", "head"):
            assert mises is None
        else:
            unit = stress_at(answer, at[0][:, None], [name])
            rr, tt, zz, tz, rz, rt = sum(factors[k] * unit[k][:, 0] for k in factors)
            # in components, S. Timoshenko & J.N. Goodier 1970 (value from memory)
            squares = ((rr - tt) ** 2 + (tt - zz) ** 2 + (zz - rr) ** 2) / 2
            wanted = np.sqrt(squares + 3 * (tz**2 + rz**2 + rt**2))
            assert mises == pytest.approx(wanted, rel=1e-3)
        moved = sum(factors[k] * reader.state(element, x, y, k)[1] for k in factors)
        assert reader.value("move", element, x, y) == pytest.approx(np.linalg.norm(moved))
        assert reader.value("move_r", element, x, y) == pytest.approx(moved[0], abs=1e-12)


def test_a_wall_that_twists_shows_its_twist():
    layup = [{"ply": "carbon-epoxy-im", "thickness": "0.19 mm", "angles": [30], "repeats": 54}]
    case = joint_case("butt", wall__layup=layup)
    section = draw_section(case)
    answer = solve(case, mesh_section(section, -1), degree=2, section=section)
    data = json.loads(json.dumps(field_data(answer, [])))
    keys = {q["key"] for q in data["quantities"]}
    assert {"twist_shear", "shear_tz", "shear_rt", "ply1_in_plane"} <= keys
    assert data["strains"] == [0, 1, 2, 3, 4, 5]
    reader = Reader(data)
    factors = duty_factors(answer)
    for element, x, y in places(reader, 5):
        place, _, _ = reader.state(element, x, y, "pressure")
        name = answer.mesh.regions[reader.region[element]]
        unit = stress_at(answer, place[:, None], [name])
        wanted = sum(factors[k] * unit[k][:, 0] for k in factors)
        for key, row in (("shear_tz", 3), ("shear_rt", 5)):
            found = reader.value(key, element, x, y)
            assert found == pytest.approx(wanted[row], abs=1e-4 * np.abs(wanted).max())


def test_a_large_answer_goes_with_a_lower_degree_and_the_page_says_so(answer):
    many = 2 * answer.space.size
    whole = field_data(answer, [], many)
    assert whole["degree"] == answer.space.degree
    assert viewer_part(answer, whole)["thinned"] is None
    thin = field_data(answer, [], many - 1)
    assert thin["degree"] == answer.space.degree - 1
    assert viewer_part(answer, thin)["thinned"] == thin["degree"]
    # at the corners of elements the movement is the answer's own
    full, less = Reader(whole), Reader(thin)
    for element in (0, 50, 500):
        for x, y in ((0.0, 0.0), (1.0, 0.0), (0.0, 1.0)):
            one, other = (r.state(element, x, y, "pressure")[1] for r in (full, less))
            np.testing.assert_allclose(other, one, atol=1e-9 * np.abs(full.moved["pressure"]).max())


def test_views_hold_the_ends_of_every_bond(answer):
    found = {view["name"]: view["box"] for view in views(answer)}
    assert {"Whole section", "Joint"} <= set(found)
    for bond in answer.section.bonds:
        for s in (0.0, bond.length):
            z0, z1, r0, r1 = found[f"{bond.name.capitalize()} bond, s = {s:.4g} mm"]
            r, z = np.asarray(bond.start) + s * np.asarray(bond.along)
            assert z0 < z < z1 and r0 < r < r1
            assert z1 - z0 == pytest.approx(10 * bond.thickness)


def test_every_quantity_has_words_a_unit_and_its_own_key(answer):
    listed = list_quantities(answer)
    assert len({q.key for q in listed}) == len(listed)
    assert len({(q.group, q.name, q.symbol) for q in listed}) == len(listed)
    for quantity in listed:
        assert quantity.unit in ("MPa", "mm") and quantity.words.endswith(".")
        assert quantity.rows, quantity.key


def test_the_data_of_a_coarse_joint_are_small(data):
    # two loads, two components, four bytes a number, and a third more in base64: an upper bound
    unknowns = data["displacement"]["pressure"]["shape"][1]
    assert len(json.dumps(data)) < 2 * 2 * unknowns * 4 * 4 / 3 * 1.5 + 30_000
