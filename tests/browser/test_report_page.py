"""The report answers to the reader with the numbers of its own tables.

Every number that a slider, a picker or the pointer brings up is computed here once more, from the
files beside the page: the bondline's parts, the ladder, the fields. The pressure of a depth is that
of TEOS-10 (IOC, SCOR & IAPSO 2010, as the package gsw has it). The rest is common practice, no
published source.
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterator
from pathlib import Path
from xml.etree import ElementTree

import gsw
import numpy as np
import pandas as pd
import pytest
import pyvista
from playwright.sync_api import Browser, Page

from geometry.case import Case, read_case
from tests.browser.chromium import Opened, opened

pytestmark = pytest.mark.slow

STRESSES = {"peel": "Largest peel", "shear": "Strongest shear"}
NUMBER = r"\u2212?\d[\d,]*(?:\.\d+)?"


@pytest.fixture(scope="module")
def report(browser: Browser, page_file) -> Iterator[Opened]:
    with opened(browser, "report", page_file("report")) as one:
        one.page.wait_for_selector(".js-plotly-plot .main-svg")
        yield one


@pytest.fixture
def page(report: Opened) -> Page:
    report.look()
    report.page.click("#depth-duty")
    return report.page


@pytest.fixture(scope="module")
def case(report: Opened) -> Case:
    return read_case(report.path.with_name("inputs.yaml"))


@pytest.fixture(scope="module")
def bondline(report: Opened) -> pd.DataFrame:
    return pd.read_parquet(report.path.with_name("bondline.parquet"))


def sea(case: Case, depth: float) -> float:
    """Pressure at a depth, MPa."""
    return float(gsw.p_from_z(-depth, case.duty.latitude)) / 100


def line(
    bondline: pd.DataFrame, bond: str, stress: str, share: float, place: str = "mid/adhesive"
) -> tuple[np.ndarray, np.ndarray]:
    """Give a stress along a bond: the pressure part times a share of the duty's, and warmth."""
    where, side = place.split("/")
    own = bondline.query("bond == @bond and place == @where and side == @side").sort_values("s_mm")
    pressure, temperature = (own[own["load"] == load] for load in ("pressure", "temperature"))
    column = f"{stress}_MPa"
    return pressure["s_mm"].to_numpy(), share * pressure[column].to_numpy() + temperature[
        column
    ].to_numpy()


def number(text: str) -> float:
    """Read a number as the page writes it."""
    return float(text.replace("\u2212", "-").replace(",", ""))


def half_unit(text: str) -> float:
    """Half a unit of the last digit of a number in print, and a hair."""
    return 0.501 * 10.0 ** -len(text.partition(".")[2])


def cell(page: Page, row: str, bond: str) -> list[str]:
    """Give the numbers of a cell of the table of headlines: value, error, place."""
    table = page.locator("#headlines table")
    heads = table.locator("thead th").all_inner_texts()
    column = heads.index(f"{bond} bond") - 1
    words = table.locator("tbody tr", has_text=row).locator("td").nth(column).inner_text()
    return re.findall(NUMBER, words)


def dive(page: Page, depth: float) -> None:
    """Type a depth."""
    page.fill("#depth-number", f"{depth:g}")
    page.keyboard.press("Enter")


def test_the_scripts_fill_the_table_at_duty_as_it_was_printed(report: Opened, page: Page) -> None:
    words = "[...document.querySelectorAll('#headlines tbody td')].map(e => e.textContent.trim())"
    live = page.evaluate(words)
    browser = page.context.browser
    assert browser is not None
    context = browser.new_context(java_script_enabled=False)
    try:
        plain = context.new_page()
        plain.goto(report.path.resolve().as_uri())
        printed = plain.locator("#headlines tbody td").all_text_contents()
    finally:
        context.close()
    assert len(live) > 6
    assert live == [each.strip() for each in printed]


@pytest.mark.parametrize("share_of_depth", [1.0, 0.5, 1.5])
def test_extremes_at_a_depth_are_those_of_pressure_and_temperature_parts(
    page: Page, case: Case, bondline: pd.DataFrame, share_of_depth: float
) -> None:
    assert case.duty.depth is not None
    depth = share_of_depth * case.duty.depth
    dive(page, depth)
    share = sea(case, depth) / sea(case, case.duty.depth)
    for bond in bondline["bond"].unique():
        for stress, row in STRESSES.items():
            s, value = line(bondline, bond, stress, share)
            at = value.argmax() if stress == "peel" else np.abs(value).argmax()
            shown, _, place = cell(page, row, bond)
            assert abs(number(shown) - value[at]) < half_unit(shown)
            assert abs(number(place) - s[at]) < half_unit(place)


def test_means_grow_with_the_pressure(page: Page, case: Case, bondline: pd.DataFrame) -> None:
    assert case.duty.depth is not None
    duty = case.duty.depth
    for bond in bondline["bond"].unique():
        for row in ("Mean peel", "Mean shear"):
            found, doubt = {}, {}
            for depth in (0.0, duty / 2, duty):
                dive(page, depth)
                shown = cell(page, row, bond)[0]
                found[depth], doubt[depth] = number(shown), half_unit(shown)
            share = sea(case, duty / 2) / sea(case, duty)
            expected = found[0.0] + share * (found[duty] - found[0.0])
            assert abs(found[duty / 2] - expected) < sum(doubt.values())
            assert found[duty] != found[0.0]


def test_the_slider_moves_by_keyboard_and_tells_the_pressure(page: Page, case: Case) -> None:
    slider = page.locator("#depth-slider")
    step, most = (float(slider.get_attribute(name) or "") for name in ("step", "max"))
    before = float(slider.input_value())
    slider.focus()
    page.keyboard.press("ArrowRight")
    assert float(slider.input_value()) == pytest.approx(before + step, abs=step)
    assert float(page.input_value("#depth-number")) > before
    page.keyboard.press("End")
    assert float(slider.input_value()) == pytest.approx(most, abs=step)
    for depth in (0.0, 1234.0, 3000.0, most):
        dive(page, depth)
        shown = page.inner_text("#depth-pressure").split()[0]
        assert abs(number(shown) - sea(case, depth)) < half_unit(shown)
    page.click("#depth-required")
    assert case.duty.depth is not None
    assert float(page.input_value("#depth-number")) == case.duty.required_ratio * case.duty.depth


def test_modes_that_a_depth_reaches_are_those_of_the_ladder(report: Opened, page: Page) -> None:
    ladder = pd.read_csv(report.path.with_name("ladder.csv"))["first_failure_depth_m"]
    depths = sorted(ladder[ladder.notna() & (ladder > 0) & np.isfinite(ladder)])
    known = int((ladder <= 0).sum())
    assert len(depths) > 3
    for reached in (0, 1, 3):
        dive(page, round((([0.0, *depths])[reached] + depths[reached]) / 2))
        count = known + reached
        words = {0: "no mode reached", 1: "1 mode reached"}
        assert page.inner_text("#depth-count") == words.get(count, f"{count} modes reached")


def test_what_the_pointer_reads_in_a_chart_is_the_table(page: Page, bondline: pd.DataFrame) -> None:
    for bond in bondline["bond"].unique():
        chart = page.locator(f"#bondline-chart-{bond}")
        chart.scroll_into_view_if_needed()
        box = chart.bounding_box()
        assert box is not None
        x, y = chart.evaluate(
            "one => { const { xaxis: x, yaxis: y } = one._fullLayout;"
            "return [x._offset + x._length * 0.37, y._offset + y._length / 2]; }"
        )
        page.mouse.move(box["x"] + x - 4, box["y"] + y)
        page.mouse.move(box["x"] + x, box["y"] + y)
        hover = chart.locator(".hoverlayer text")
        hover.first.wait_for()
        title, *told = hover.all_text_contents()
        s, whole = line(bondline, bond, "peel", 1.0)
        _, warm = line(bondline, bond, "peel", 0.0)
        at = np.abs(s - number(re.findall(NUMBER, title)[0])).argmin()
        expected = {"whole": whole, "pressure part": whole - warm, "temperature part": warm}
        assert len(told) == len(expected)
        for words in told:
            name, _, shown = words.partition(" : peel ")
            shown = shown.removesuffix(" MPa")
            assert abs(number(shown) - expected[name][at]) < half_unit(shown)
        page.mouse.move(0, 0)


def test_pickers_choose_what_is_drawn_and_read(page: Page, bondline: pd.DataFrame) -> None:
    bond = bondline["bond"].iloc[0]
    length = bondline.query("bond == @bond")["s_mm"].max()
    page.locator(f"#bondline-s-{bond}").fill("500")
    for place in page.locator("#bondline-place option").all():
        value = place.get_attribute("value")
        page.select_option("#bondline-place", value)
        s, peel = line(bondline, bond, "peel", 1.0, str(value))
        read = page.inner_text(f"#bondline-read-{bond}")
        shown = re.search(rf"peel ({NUMBER}) MPa", read).group(1)
        assert abs(number(shown) - np.interp(length / 2, s, peel)) < half_unit(shown)
        assert place.inner_text() in page.inner_text(f"#bondline-about-{bond}")
    sets = page.locator("#bondline-stresses option").all()
    assert len(sets) > 1
    for one in sets:
        page.select_option("#bondline-stresses", one.get_attribute("value"))
        titles = page.locator(f"#bondline-chart-{bond} .infolayer text").all_text_contents()
        for word in re.findall(r"peel|shear|hoop|axial|radial", one.inner_text(), re.IGNORECASE):
            assert any(word.lower() in title.lower() for title in titles)
    page.select_option("#bondline-stresses", index=0)
    page.select_option("#bondline-place", index=0)


def test_the_wall_shows_the_strongest_of_its_table(page: Page) -> None:
    table = [
        [number(each) for each in re.findall(NUMBER, row.locator("td").nth(1).inner_text())]
        for row in page.locator("#wall table tbody tr").all()
    ]
    stations = page.locator("#wall-station option").count()
    angles = len(table) // stations
    page.select_option("#wall-component", index=0)
    for station in range(stations):
        page.select_option("#wall-station", index=station)
        about = page.inner_text("#wall-about")
        shown = number(re.search(rf"Strongest: ({NUMBER})", about).group(1))
        ends = np.concatenate(table[station * angles : (station + 1) * angles])
        assert shown == ends[np.abs(ends).argmax()]


def test_values_in_the_section_are_those_of_the_fields(report: Opened, page: Page) -> None:
    page.evaluate("async () => { await hullringViewer.ready(); }")
    grid = pyvista.read(report.path.with_name("fields.vtu"))
    region = np.repeat(grid.cell_data["region"], 6)  # each triangle has six points of its own
    stress, movement = grid.point_data["stress_duty_MPa"], grid.point_data["displacement_duty_mm"]
    names = ["radial", "hoop", "axial", None, "shear_rz", None]
    rng = np.random.default_rng(1)
    for i in rng.choice(len(region), 60, replace=False):
        z, r, _ = grid.points[i]
        same = (region == region[i]) & (np.hypot(*(grid.points[:, :2] - (z, r)).T) < 1e-6)
        part = next(
            name[3:]
            for name in grid.cell_data
            if name in ("in_wall", "in_ring", "in_head", "in_adhesive")
            and grid.cell_data[name][i // 6]
        )
        for row, key in enumerate(names):
            if key is None:
                continue
            found = page.evaluate(f"hullringViewer.valueAt({z}, {r}, '{part}', '{key}')")
            assert found["unit"] == "MPa"
            size = np.abs(stress[:, row]).max()
            assert np.abs(stress[same, row] - found["value"]).min() < 1e-3 * size
        for key, row in (("move_z", 0), ("move_r", 1)):
            found = page.evaluate(f"hullringViewer.valueAt({z}, {r}, '{part}', '{key}')")
            assert found["value"] == pytest.approx(movement[i, row], abs=2e-4)


def test_pictures_and_tables_made_by_scripts_can_be_saved(page: Page, tmp_path: Path) -> None:
    def saved(click) -> tuple[str, bytes]:
        with page.expect_download() as waiting:
            click()
        waiting.value.save_as(tmp_path / "saved")
        return waiting.value.suggested_filename, (tmp_path / "saved").read_bytes()

    chart = page.locator(".js-plotly-plot").first
    chart.scroll_into_view_if_needed()
    name, data = saved(chart.locator(".modebar-btn").first.click)
    assert name.endswith(".svg")
    assert ElementTree.fromstring(data).tag.endswith("svg")
    page.evaluate("async () => { await hullringViewer.ready(); }")
    name, data = saved(page.locator("#viewer [data-do=save]").click)
    assert name.endswith(".png")
    assert data.startswith(b"\x89PNG")
    button = page.locator("#viewer [data-do=table]")
    if button.count():
        name, data = saved(button.click)
        rows = list(csv.reader(io.StringIO(data.decode())))
        assert name.endswith(".csv")
        assert len(rows) > 1
