"""The report: self-contained, safe, and saying what the numbers say. Common practice, no
published source."""

from __future__ import annotations

import base64
import copy
import csv
import io
import json
import re
import zlib
from html.parser import HTMLParser

import pandas as pd
import pytest
from plotly.offline import get_plotlyjs

from geometry.case import read_case
from post.interactive import json_block
from post.process_cost import CLEAN, Cost
from post.process_table import costs_to_json
from post.report import render_report
from post.sheet import Shown
from post.summary import summarise
from post.tables import headline_table, input_table, material_table, transfer_table
from post.verified import verified_part
from post.versions import library_versions
from post.wall_report import tube_words
from post.words import joint_words, number, peel_words, shear_words, twist_words
from solve.answer import Answer
from tests.post.ladders import rung

PIXEL = base64.b64decode(
    "iVBORw0KGgoAAAANSUhEUgAAAAEAAAABCAYAAAAfFcSJAAAADUlEQVR42mNk+M9QDwADhgGAWjR9awAAAABJRU5ErkJggg=="
)
NASTY = "<script>alert('x')</script> & \"quotes\""


class Page(HTMLParser):
    """The tags of a page with their attributes, its words without tags, and its scripts."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.words = ""
        self.scripts: list[str] = []
        self.script = False
        self.feed(text)

    def handle_starttag(self, tag, attrs):
        self.tags.append((tag, dict(attrs)))
        self.script = tag == "script"
        self.scripts += [""] * self.script

    def handle_endtag(self, tag):
        self.script = self.script and tag != "script"

    def handle_data(self, data):
        if self.script:
            self.scripts[-1] += data
        else:
            self.words += data

    def data(self, name):
        """Give the data that the page holds under a name."""
        scripts = [a for tag, a in self.tags if tag == "script"]
        (found,) = [i for i, a in enumerate(scripts) if a.get("id") == name]
        return json.loads(self.scripts[found])

    @property
    def text(self):
        return re.sub(r"\s+", " ", self.words)


@pytest.fixture(scope="module")
def summary(answers: tuple[Answer, Answer]):
    return summarise(*answers, "test")


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    """Stand-ins for the figures, which have tests of their own."""
    folder = tmp_path_factory.mktemp("figures")
    shown = [
        Shown("section-whole.png", "section", "Half-section", ""),
        Shown("bondline-inner-peel-shear.png", "bondline", "Inner bond", "Curves."),
        Shown("bondline-end-peel-shear.png", "bondline", "End bond", "Curves."),
        Shown("deformed-duty.png", "deformed", "Deformed", "Filled."),
        Shown("stress-shear.png", "fields", "Shear stress", "Colours."),
    ]
    for each in shown:
        (folder / each.file).write_bytes(PIXEL)
    (folder / "figures.json").write_text(json.dumps([each.__dict__ for each in shown]))
    return folder


@pytest.fixture(scope="module")
def page(answers, table, summary, folder):
    return Page(render_report(answers[0], table, summary, folder, companion=answers[1]))


def test_page_needs_nothing_from_elsewhere(page):
    assert not [tag for tag, _ in page.tags if tag in ("link", "iframe", "object", "base")]
    addresses = [
        value for _, attributes in page.tags for name, value in attributes.items()
        if name in ("src", "href", "srcset", "action", "poster", "data")
    ]  # fmt: skip
    assert len(addresses) > 15
    assert all(value.startswith(("data:", "#")) for value in addresses)
    assert "url(" not in page.words and "@import" not in page.words  # the style sheet
    assert "http" not in page.words
    assert not any("http" in script for script in page.scripts if len(script) < 1e6)  # our own


def test_links_inside_the_page_have_a_target(page):
    ids = {attributes["id"] for _, attributes in page.tags if "id" in attributes}
    targets = [a["href"][1:] for tag, a in page.tags if tag == "a" and a["href"][0] == "#"]
    assert targets and set(targets) <= ids


def test_what_the_process_costs_is_shown_where_it_was_compared(
    answer, table, summary, folder, page
):
    rows = (Cost(CLEAN, "", "", "", "holds", "", rung(depth=4600.0), 0.0, 0.0),)
    told = costs_to_json(answer.case, 3000.0, rows)
    compared = Page(render_report(answer, table, summary, folder, told))
    ids = {attributes.get("id") for _, attributes in compared.tags}
    assert {"process", "process-lost"} <= ids
    assert "4,600 m" in compared.words
    assert "What the process costs" not in page.words


def test_every_picture_is_there_with_words(page, folder):
    pictures = [attributes for tag, attributes in page.tags if tag == "img"]
    assert len(pictures) == 5
    for picture in pictures:
        data = picture["src"].split("base64,")[1]
        assert base64.b64decode(data) == PIXEL
        assert picture["alt"]


def test_a_hostile_title_and_note_stay_words(answer, table, summary, folder):
    nasty = copy.deepcopy(summary) | {"title": NASTY, "note": NASTY}
    html = render_report(answer, table, nasty, folder)
    assert "<script" not in html  # a page without charts has none
    assert Page(html).text.count(NASTY) == 3  # page title, heading, note


def test_no_word_of_a_case_ends_a_script():
    # HTML standard, "Restrictions for contents of script elements": </script and <!-- are read
    # as markup there; neither is left when no < is
    data = {"title": f"</script><!-- {NASTY}"}
    block = json_block("told", data)
    assert block.count("<") == 2 and "&" not in block
    page = Page(f"{block}<p>after</p>")
    assert page.data("told") == data
    assert page.words == "after"
    with pytest.raises(ValueError, match="JSON"):
        json_block("told", [float("nan")])


def test_charting_library_is_in_the_page_once_and_whole(page):
    # the library itself is the outside reference
    large = [script for script in page.scripts if len(script) > 1e6]
    assert len(large) == 1
    assert zlib.decompress(base64.b64decode(large[0])).decode() == get_plotlyjs()


def test_every_headline_shown_is_that_of_the_summary(page, summary):
    shown = ("mean", "first_thickness", "largest")
    duty = [row for row in summary["headlines"] if row["load"] == "duty"]
    rows = [row for row in duty if row["stress"] == "peel" and row["statistic"] in shown]
    rows += [row for row in duty if row["stress"] == "shear" and row["statistic"] in shown[:2]]
    assert len(rows) == 10  # two bonds
    for row in rows:
        text = number(row).split(" at ")[0]
        value, error = (float(x.replace("\u2212", "-")) for x in text.split(" \u00b1 "))
        assert abs(value - row["value"]) <= error  # as written, within its own error
        assert text in page.text, (row["bond"], row["stress"], row["statistic"])


def test_downloads_hold_every_headline_in_full(page, summary):
    links = {a["download"]: a["href"] for tag, a in page.tags if "download" in a}
    text = base64.b64decode(links["headlines.csv"].split("base64,")[1]).decode()
    rows = list(csv.DictReader(io.StringIO(text)))
    assert [float(row["value"]) for row in rows] == [row["value"] for row in summary["headlines"]]
    assert [row["bond"] for row in rows] == [row["bond"] for row in summary["headlines"]]


def test_bondline_download_is_the_table(page, table):
    links = {a["download"]: a["href"] for tag, a in page.tags if "download" in a}
    text = base64.b64decode(links["bondline.csv"].split("base64,")[1]).decode()
    read = pd.read_csv(io.StringIO(text))
    pd.testing.assert_frame_equal(read, table, rtol=1e-5, atol=1e-6, check_dtype=False)


def test_every_table_has_its_download(page):
    tables = [tag for tag, _ in page.tags if tag == "table"]
    downloads = [a["download"] for tag, a in page.tags if "download" in a]
    assert len(downloads) == len(tables) + 1  # bondline.csv is too long to show
    assert len(set(downloads)) == len(downloads)


def test_says_that_strength_is_not_judged_and_that_people_can_be_hurt(page):
    assert "Strength is not judged in this version of the report" in page.text
    for words in (
        "can be hurt or killed",
        "not a certificate",
        "Local codes",
        "classification society",
        "licensed engineer",
        "no bound",
        "without sliding",
        "solvents",
    ):
        assert words in page.text, words


def test_reads_on_a_phone_in_the_dark_and_on_paper(page):
    viewport = [a for tag, a in page.tags if tag == "meta" and a.get("name") == "viewport"]
    assert viewport[0]["content"].startswith("width=device-width")
    for query in ("prefers-color-scheme: dark", "max-width: 40rem", "@media print"):
        assert query in page.words


def test_answer_comes_before_any_other_section(page):
    assert page.text.index("Strength is not judged") < page.text.index("Bond by bond")
    assert page.text.index("Mean peel") < page.text.index("Bond by bond")


def test_sections_come_in_the_order_in_which_a_report_is_read(page):
    ids = [attributes["id"] for _, attributes in page.tags if "id" in attributes]
    order = ("answer", "bondline", "viewer", "cutaway", "wall", "verification", "inputs",
             "materials", "method", "cautions")  # fmt: skip
    places = [ids.index(name) for name in order]
    assert places == sorted(places)
    assert len(ids) == len(set(ids))


def test_every_control_of_a_chart_has_a_name(page):
    # WCAG 2.2, 4.1.2 name, role, value
    labelled = {a["for"] for tag, a in page.tags if tag == "label" and "for" in a}
    controls = [
        a for tag, a in page.tags
        if tag in ("input", "select") and a.get("type") != "checkbox"
    ]  # fmt: skip
    assert len(controls) > 8
    for control in controls:
        assert control["id"] in labelled or control.get("aria-label"), control


def test_without_scripts_the_drawn_figures_stand_in_place(page, answers, table, summary, folder):
    # what is hidden is hidden by a class that only a script sets
    assert ".js .static" in page.words and ".live { display: none; }" in page.words
    bare = Page(render_report(answers[0], table, summary, folder))
    assert not bare.scripts
    assert len([1 for tag, _ in bare.tags if tag == "img"]) == 5


def test_report_tells_what_verification_found_or_that_it_was_not_built():
    rows = pd.DataFrame(
        {
            "part": ["Elements", "Elements", "Sea"],
            "source": ["Lame 1852", "Lame 1852", "TEOS-10"],
            "status": ["published", "recomputed", "published"],
            "passes": ["yes", "no", "yes"],
        }
    )
    told = verified_part(rows, "Own check.")
    assert told["lead"][0].startswith("2 of 3 numbers of the verification page, from 2 sources")
    assert told["table"].rows == (("Elements", "2", "1", "1", "1"), ("Sea", "1", "1", "1", "1"))
    unbuilt = verified_part(None, "Own check.")
    assert "was not built" in unbuilt["lead"][0] and unbuilt["lead"][1] == "Own check."
    assert not re.search(r"\d", unbuilt["lead"][0]) and unbuilt["table"] is None


@pytest.mark.parametrize(
    ("off", "said"),
    [(0.0002, "within 0.001"), (0.234, "to 0.2"), (3.4, "felt up to mid-length")],
)
def test_words_on_the_tube_follow_the_difference(off, said):
    words = tube_words(off)
    assert said in words
    assert ("felt" in words) == (off > 1)


# --- words that follow the numbers -------------------------------------------------------------


def altered(summary, **changes):
    """Give a summary whose duty headlines of the inner bond are changed by stress__statistic."""
    other = copy.deepcopy(summary)
    for row in other["headlines"]:
        key = f"{row['stress']}__{row['statistic']}"
        if row["bond"] == "inner" and row["load"] == "duty" and key in changes:
            row["value"], row["error"] = changes[key]
    return other


@pytest.mark.parametrize(
    ("largest", "smallest", "said", "unsaid"),
    [
        ((5.0, 0.1), (-3.0, 0.1), ["Pulled open by up to 5.0", "Pressed together hardest"], []),
        ((-1.0, 0.1), (-3.0, 0.1), ["Pressed together all along"], ["Pulled open"]),
        ((5.0, 0.1), (2.0, 0.1), ["Pulled open by up to", "Pulled open all along"], ["Pressed"]),
        ((0.05, 0.1), (-3.0, 0.1), ["Nowhere pulled open beyond"], ["Pulled open by"]),
        ((0.05, 0.1), (-0.05, 0.1), ["No peel beyond"], ["Pulled", "Pressed"]),
    ],
)
def test_words_on_peel_follow_the_signs(summary, table, largest, smallest, said, unsaid):
    other = altered(summary, peel__largest=largest, peel__smallest=smallest)
    words = peel_words(other, table, "inner")
    assert all(text in words for text in said), words
    assert not any(text in words for text in unsaid), words


@pytest.mark.parametrize(
    ("largest", "smallest", "said"),
    [
        ((1.0, 0.1), (-9.0, 0.1), ["Strongest, \u22129.0", "back towards s = 0", "in places"]),
        ((9.0, 0.1), (1.0, 0.1), ["Strongest, 9.0", "towards growing s"]),
        ((0.05, 0.1), (-0.05, 0.1), ["No shear beyond"]),
    ],
)
def test_words_on_shear_follow_the_signs(summary, table, largest, smallest, said):
    other = altered(summary, shear__largest=largest, shear__smallest=smallest)
    words = shear_words(other, table, "inner")
    assert all(text in words for text in said), words
    assert ("in places" in words) == ("in places" in said)


def test_words_name_the_bond_that_is_pulled_open_most(summary, table):
    opened = altered(summary, peel__largest=(1e3, 0.1))
    assert (
        "pulled open most in the inner bond: 1000.0 \u00b1 0.1 MPa" in joint_words(opened, table)[0]
    )
    closed = copy.deepcopy(summary)
    for row in closed["headlines"]:
        if row["stress"] == "peel" and row["statistic"] == "largest":
            row["value"] = -1.0
    assert "no bond is pulled open" in joint_words(closed, table)[0]


def test_parts_in_words_add_up_to_the_whole(summary, table):
    # pressure and temperature parts are read from the curves at the place of the headline
    for words in joint_words(summary, table):
        if "(" in words:
            text = re.search(r": (\S+) \u00b1", words).group(1).replace("\u2212", "-")
            whole, digits = float(text), len(text.partition(".")[2])
            parts = [
                float(x.replace("\u2212", "-")) for x in re.findall(r"e ([+\u2212][\d.]+)", words)
            ]
            assert len(parts) == 2
            # each part is rounded to 0.1, the whole to the digits its error leaves
            assert sum(parts) == pytest.approx(whole, abs=0.11 + 0.5 * 10.0**-digits)


def test_twist_is_told_only_where_a_layup_twists(summary, table):
    assert twist_words(summary, table, "inner") == ""
    twisted = copy.deepcopy(summary)
    for statistic, number_ in (("largest", 2.0), ("smallest", -7.0)):
        twisted["headlines"].append(
            {
                "bond": "inner", "stress": "twist_shear", "statistic": statistic, "load": "duty",
                "value": number_, "unit": "MPa", "error": 0.1, "at_s_mm": 0.0,
            }
        )  # fmt: skip
    words = twist_words(twisted, table, "inner")
    assert "\u22127.0 \u00b1 0.1 MPa" in words and "\u2212\u03b8" in words


# --- tables ------------------------------------------------------------------------------------


def test_inputs_show_what_people_wrote(tmp_path):
    case = read_case("cases/lander/case.yaml")
    shown = {row[0]: row[1] for row in input_table(case).rows}
    assert shown["duty.depth"] == "3000 m"
    assert shown["duty.stress_free_temperature"] == "25 \u00b0C"
    assert shown["wall.bore_radius"] == "150 mm"
    assert shown["wall.layup 1"] == "76 \u00d7 [90, 0]\u00b0, 0.19 mm a ply"
    assert shown["joint.bond_thickness.end"] == "1 mm"
    # as cases/lander/case.yaml has them; times of two hours and more in hours
    assert shown["process.bonding.cure 2"] == "temperature 40 \u00b0C, time 8 h"
    assert shown["process.bonding.degassing.pressure"] == "50 mbar"
    assert shown["process.bonding.open_time"] == "4 h"
    assert shown["process.bonding.pot_life"] == "60 min"
    assert shown["process.bonding.mix 1"].endswith("density 1200 kg/m\u00b3")
    assert shown["gauges.pole"].startswith("part head, face outside, radius 0 mm")
    assert shown["proof.pressure"] == "33.5 MPa"


def test_no_input_is_shown_in_a_unit_that_nobody_writes():
    for name in ("lander", "flawed", "tube", "minimal"):
        for row in input_table(read_case(f"cases/{name}/case.yaml")).rows:
            assert not re.search(r"tonne|\d K\b|e-\d|1/K", row[1]), row
    shown = {row[0]: row[1] for row in input_table(read_case("cases/flawed/case.yaml")).rows}
    assert shown["process.filler.cte"] == "0.5 \u00d7 10\u207b\u2076/K"
    assert shown["process.filler.modulus"] == "70 GPa"
    assert shown["process.filler.density"] == "2200 kg/m\u00b3"
    assert shown["flaws 1"].startswith("bond inner, face ring, start 0 mm, length 3 mm")


def test_materials_have_value_unit_basis_and_source():
    case = read_case("cases/lander/case.yaml")
    table = material_table(case)
    text = base64.b64decode(table.href.split("base64,")[1]).decode()
    rows = list(csv.DictReader(io.StringIO(text)))
    assert {row["Card"] for row in rows} == set(case.materials)
    assert all(row["Value"] and row["Basis"] and row["Source"] for row in rows)
    (modulus,) = (r for r in rows if r["Card"] == "carbon-epoxy-im" and r["Property"] == "E1")
    assert (modulus["Value"], modulus["Unit"]) == ("162", "GPa")  # as the card file says
    (density,) = (r for r in rows if r["Card"] == "carbon-epoxy-im" and r["Property"] == "density")
    assert (density["Value"], density["Unit"]) == ("1580", "kg/m\u00b3")


def test_load_transfer_adds_up_to_nil(summary):
    text = base64.b64decode(transfer_table(summary).href.split("base64,")[1]).decode()
    forces = [float(row["axial_kN"]) for row in csv.DictReader(io.StringIO(text))]
    assert abs(sum(forces)) < 1e-6 * max(map(abs, forces))


def test_headline_table_has_a_column_for_each_bond(summary):
    table = headline_table(summary)
    assert table.columns == ("MPa, at duty", "inner bond", "end bond")
    assert [row[0] for row in table.rows][:2] == ["Mean peel", "Mean shear"]


def test_versions_name_the_project_and_what_it_stands_on():
    versions = library_versions()
    assert {"python", "numpy", "scipy", "gmsh", "pyvista"} <= set(versions)
    assert all(re.match(r"\d", version) for version in versions.values())
