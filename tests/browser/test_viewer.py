"""The section viewer and the cut-away of the demo's report in a headless browser.

What the page says of a place is compared with the answer, as `solve.stress` evaluates it. Common
practice, no published source.
"""

from __future__ import annotations

import csv
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import matplotlib.image
import numpy as np
import pytest
from playwright.sync_api import Browser

from geometry.case import read_case
from geometry.mesh import read_mesh
from post.bondline import bond_stress, duty_factors
from post.sampling import displacement_at
from solve.answer import Answer
from solve.answer_file import load_answers
from solve.stress import stress_at
from tests.browser.chromium import PHONE, Opened, opened

pytestmark = pytest.mark.slow

ROWS = {"radial": 0, "hoop": 1, "axial": 2, "shear_rz": 4}
STEPS = 3e-4  # of the largest stress: 32-bit steps of displacements, single precision on top


@pytest.fixture(scope="module")
def report(browser: Browser, page_file) -> Iterator[Opened]:
    with opened(browser, "report", page_file("report")) as one:
        assert one.page.evaluate("hullringViewer.ready().then(Boolean)")
        yield one


@pytest.fixture(scope="module")
def answer(page_file) -> Answer:
    folder = page_file("report").parent
    case, mesh = read_case(folder / "inputs.yaml"), read_mesh(folder / "mesh.msh")
    return load_answers(case, mesh, folder / "answer.npz")[0]


def places(answer: Answer, part: str, count: int = 8) -> np.ndarray:
    """Centres of some elements of a part, (2, count) of (r, z)."""
    mesh = answer.mesh
    inside = [answer.section.regions[name].part == part for name in mesh.regions]
    members = np.flatnonzero(np.array(inside)[mesh.region])
    chosen = members[np.linspace(0, len(members) - 1, count).astype(int)]
    return mesh.points[mesh.triangles[chosen, :3]].mean(axis=1).T


def pressure(report: Opened) -> float:
    return report.page.evaluate("hullringViewer.state().load.pressure")


def state(answer: Answer, unit: dict[str, Any], pressure: float) -> np.ndarray:
    """Pressure as the page has it, and the temperature of the duty."""
    return pressure * unit["pressure"] + duty_factors(answer)["temperature"] * unit["temperature"]


def shown(report: Opened, points: np.ndarray, part: str, key: str) -> np.ndarray:
    return np.array(
        report.page.evaluate(
            "([places, part, key]) => places.map(([r, z]) => "
            "hullringViewer.valueAt(z, r, part, key).value)",
            [points.T.tolist(), part, key],
        )
    )


@pytest.mark.parametrize("part", ["wall", "adhesive", "ring", "head"])
def test_values_are_those_of_the_answer(report, answer, part):
    points = places(answer, part)
    regions = [n for n, region in answer.section.regions.items() if region.part == part]
    wanted = state(answer, stress_at(answer, points, regions), pressure(report))
    for key, row in ROWS.items():
        found = shown(report, points, part, key)
        np.testing.assert_allclose(found, wanted[row], atol=STEPS * np.abs(wanted).max())


def test_peel_and_shear_are_those_of_the_bondline(report, answer):
    for bond in answer.section.bonds:
        points = bond.faces(np.linspace(0.1, 0.9, 5) * bond.length)[1]
        unit = bond_stress(answer, bond, points, "adhesive")
        wanted = state(answer, unit, pressure(report))
        for row, key in enumerate(("peel", "shear")):
            found = shown(report, points, "adhesive", key)
            np.testing.assert_allclose(found, wanted[row], atol=STEPS * np.abs(wanted).max())


def point_at(report: Opened, r: float, z: float) -> str:
    """Say what the page says where the pointer is on a place as it is drawn."""
    picture = report.page.locator("#viewer-picture")
    picture.scroll_into_view_if_needed()
    x, y = report.page.evaluate("([z, r]) => hullringViewer.screenAt(z, r)", [z, r])
    report.page.mouse.move(x, y)
    return report.page.locator("#viewer-tip").inner_text()


def number(words: str) -> float:
    return float(words.split()[0].replace("\u2212", "-"))


def test_pointing_says_the_value_the_place_and_the_material(report, answer):
    page = report.look()
    page.select_option("#viewer-quantity", "hoop")
    page.get_by_role("button", name="Joint", exact=True).click()
    r, z = answer.case.wall.bore_radius + 5.3, answer.case.wall.half_length - 4.7
    said = point_at(report, r, z)
    wanted = shown(report, np.array([[r], [z]]), "wall", "hoop")[0]
    # the pointer stands on whole pixels: some tenths of a millimetre at most
    assert number(said) == pytest.approx(wanted, rel=0.02)
    assert "MPa" in said and "Wall" in said and answer.case.wall.layup[0].ply in said
    assert f"z {z:.1f}"[:5] in said and f"r {r:.1f}"[:5] in said


def test_pointing_at_the_magnified_picture_finds_the_place_as_made(report, answer):
    page = report.look()
    page.select_option("#viewer-quantity", "axial")
    page.get_by_role("button", name="Whole section").click()
    page.locator("#viewer-factor").fill("6")
    factor = page.evaluate("hullringViewer.view().factor")
    assert factor > 1
    assert str(factor) in page.inner_text("#viewer-factor-words")
    r, z = answer.case.wall.bore_radius + 12, 0.6 * answer.case.wall.half_length
    unit = displacement_at(answer, np.array([[r], [z]]), "wall")
    move = state(answer, unit, pressure(report))[0]
    said = point_at(report, r + factor * move[0], z + factor * move[2])
    place = said.split("\n")[1].replace("z ", "").replace("r ", "").replace(" mm", "")
    # whole pixels: half a millimetre at this zoom
    assert [float(x) for x in place.split(", ")] == pytest.approx([z, r], abs=1.0)
    page.locator("#viewer-factor").fill("0")


def test_values_follow_the_depth(report, answer):
    page = report.look()
    bond = answer.section.bonds[0]
    points = bond.faces(np.array([0.5 * bond.length]))[1]
    page.locator("#depth-slider").evaluate(
        "slider => { slider.value = slider.max / 4; slider.dispatchEvent(new Event('input')); }"
    )
    duty = duty_factors(answer)["pressure"]
    page.wait_for_function(
        "duty => Math.abs(hullringViewer.state().load.pressure / duty - 1) > .1", arg=duty
    )
    unit = bond_stress(answer, bond, points, "adhesive")
    wanted = state(answer, unit, pressure(report))[0, 0]
    assert shown(report, points, "adhesive", "peel")[0] == pytest.approx(wanted, abs=1e-2)
    assert wanted != pytest.approx(state(answer, unit, duty)[0, 0], rel=0.05)
    page.locator("#depth-duty").click()
    page.wait_for_function(
        "duty => Math.abs(hullringViewer.state().load.pressure / duty - 1) < 1e-3", arg=duty
    )


def test_every_quantity_is_drawn_and_has_its_table(report):
    page = report.look()
    keys = page.locator("#viewer-quantity option").evaluate_all("all => all.map(one => one.value)")
    assert {"peel", "shear", "hoop", "mises", "ply1_fibre", "move"} <= set(keys)
    for key in keys:
        page.select_option("#viewer-quantity", key)
        assert page.locator("#viewer-extremes tbody tr").count() > 0
        assert page.evaluate("hullringViewer.view().limit") > 0
        unit = page.inner_text("#viewer-unit")
        assert unit == ("mm" if key.startswith("move") else "MPa")
    assert report.said == []


def test_highest_and_lowest_lie_outside_the_corners_and_within_the_colours(report, answer):
    page = report.look()
    page.select_option("#viewer-quantity", "radial")
    limit = page.evaluate("hullringViewer.view().limit")
    cells = page.locator("#viewer-extremes td:nth-child(2), #viewer-extremes td:nth-child(4)")
    found = [number(text) for text in cells.all_inner_texts()]
    assert max(abs(value) for value in found) <= limit * 1.001
    # at the corners the answer has more: they do not eat the colours
    assert np.nanmax(np.abs(page.evaluate("[...hullringViewer.state().values]"))) > 1.5 * limit


def test_keys_and_buttons_move_the_picture(report):
    page = report.look()

    def view() -> dict[str, float]:
        return page.evaluate("hullringViewer.view()")

    page.get_by_role("button", name="Joint", exact=True).click()
    before = view()
    for name in ("Zoom in", "Move right"):
        page.get_by_role("group", name="Move the picture").get_by_role("button", name=name).click()
    assert view()["mm"] == pytest.approx(before["mm"] / 1.5)
    assert view()["z"] > before["z"]
    page.locator("#viewer-picture").focus()
    page.keyboard.press("ArrowLeft")
    page.keyboard.press("-")
    assert view()["mm"] == pytest.approx(before["mm"])
    assert view()["z"] == pytest.approx(before["z"])
    page.keyboard.press("0")
    assert view()["mm"] > 2 * before["mm"]


def test_a_place_can_be_typed(report, answer):
    page = report.look()
    page.select_option("#viewer-quantity", "hoop")
    r, z = answer.case.wall.bore_radius + 3, 10.0
    page.fill("#viewer-z", str(z))
    page.fill("#viewer-r", str(r))
    said = page.inner_text("#viewer-value")
    wanted = shown(report, np.array([[r], [z]]), "wall", "hoop")[0]
    assert number(said) == pytest.approx(wanted, rel=1e-3)
    page.fill("#viewer-r", "1")
    assert page.inner_text("#viewer-value") == "not in the section"


def test_picture_and_table_are_saved(report, tmp_path: Path):
    page = report.look()
    page.select_option("#viewer-quantity", "mises")
    for name, file in (("Save picture", "section-mises.png"), ("Save table", "section-mises.csv")):
        with page.expect_download() as waiting:
            page.locator("#viewer").get_by_role("button", name=name).click()
        assert waiting.value.suggested_filename == file
        waiting.value.save_as(tmp_path / file)
    image = matplotlib.image.imread(tmp_path / "section-mises.png")
    assert (np.ptp(image[..., :3], axis=2) > 0.1).mean() > 0.01
    rows = list(csv.DictReader((tmp_path / "section-mises.csv").open()))
    assert {row["part"] for row in rows} == {"ring", "head"}
    assert all(0 <= float(row["lowest"]) < float(row["highest"]) for row in rows)


def coloured(report: Opened, picture: str) -> np.ndarray:
    """Count the pixels of a picture that are drawn on, and their mean colour."""
    return np.array(
        report.page.evaluate(
            """async picture => {
                await new Promise(done => requestAnimationFrame(() => setTimeout(done, 300)));
                const canvas = document.querySelector(picture);
                const copy = new OffscreenCanvas(canvas.width, canvas.height);
                const read = copy.getContext("2d", { willReadFrequently: true });
                read.drawImage(canvas, 0, 0);
                const { data } = read.getImageData(0, 0, canvas.width, canvas.height);
                const sum = [0, 0, 0, 0];
                for (let i = 0; i < data.length; i += 4)
                    if (data[i + 3]) {
                        sum[0] += 1;
                        for (let c = 0; c < 3; c++) sum[c + 1] += data[i + c];
                    }
                return [sum[0] / canvas.width / canvas.height,
                    ...sum.slice(1).map(x => x / sum[0])];
            }""",
            picture,
        )
    )


def test_the_cut_away_turns_and_takes_the_colours_of_the_viewer(report):
    page = report.look()
    assert page.evaluate("hullringCutaway.ready()")
    page.locator("#cutaway-picture").scroll_into_view_if_needed()
    assert not page.locator("#cutaway .still").is_visible()
    first = coloured(report, "#cutaway-picture")
    assert 0.15 < first[0] < 0.8
    eye = page.evaluate("hullringCutaway.view()")
    page.get_by_role("button", name="Turn left").click()
    page.locator("#cutaway-picture").focus()
    page.keyboard.press("ArrowUp")
    turned = page.evaluate("hullringCutaway.view()")
    assert turned[1] == eye[1] - 15 and turned[2] > eye[2]
    page.select_option("#cutaway-colour", "quantity")
    page.select_option("#viewer-quantity", "hoop")
    blue = coloured(report, "#cutaway-picture")
    # the sea presses the hull together: compression, blue
    assert blue[3] - blue[1] > first[3] - first[1] + 20
    assert "Hoop stress" in page.inner_text("#cutaway-words")
    page.select_option("#cutaway-colour", "part")


def test_both_fit_a_phone(report):
    page = report.look(PHONE)
    for picture in ("#viewer-picture", "#cutaway-picture"):
        page.locator(picture).scroll_into_view_if_needed()
        box = page.locator(picture).bounding_box()
        assert box is not None and box["x"] >= 0 and box["x"] + box["width"] <= PHONE[0]
        assert coloured(report, picture)[0] > 0.05
    assert report.said == [] and report.asked == []
