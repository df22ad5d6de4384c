"""Disbonds on the drawing: where they are, named for what they are, legible. Common practice, no
published source."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from matplotlib.colors import to_hex
from matplotlib.figure import Figure

from geometry.case import Case
from geometry.forms import draw_section
from post.colours import FLAW, SEA
from post.drawing import joint_figure
from post.flaw_place import end_open_to, flaw_words, open_to
from post.sheet import text_boxes
from tests.joints import FORMS, joint_case
from tests.post.test_drawing import assert_legible

# what the ends s = 0 and s = length of each bond are open to, read off the forms' definitions
ENDS = {
    "butt": {"end": ("inside", "sea")},
    "inner-lap": {"inner": ("inside", ""), "end": ("sea", "")},
    "outer-lap": {"end": ("inside", ""), "outer": ("sea", "")},
    "socket": {"inner": ("inside", ""), "end": ("", ""), "outer": ("sea", "")},
    "scarf": {"scarf": ("inside", "sea")},
}
FLAWS: dict[str, list[tuple[str, str, float, float]]] = {
    "butt": [("end", "wall", 0, 5), ("end", "ring", 6, 1), ("end", "middle", 7.5, 0.5)],
    "inner-lap": [("inner", "wall", 0, 12), ("inner", "ring", 13, 1), ("end", "middle", 0, 3)],
    "outer-lap": [("outer", "wall", 0, 12), ("outer", "ring", 13, 1), ("end", "middle", 5, 3)],
    "socket": [("outer", "wall", 0, 12), ("inner", "ring", 14, 6), ("end", "middle", 5, 3)],
    "scarf": [("scarf", "wall", 0, 12), ("scarf", "ring", 30, 2), ("scarf", "middle", 33, 2)],
}


def flawed(form: str, **changes: Any) -> Case:
    flaws = [
        {"bond": bond, "face": face, "start": f"{start} mm", "length": f"{length} mm"}
        for bond, face, start, length in FLAWS[form]
    ]
    return joint_case(form, flaws=flaws, **changes)


def drawing(case: Case, view: str = "both") -> Figure:
    return joint_figure(case, draw_section(case), view)


@pytest.mark.parametrize("fillet", ["0 mm", "1 mm"])
@pytest.mark.parametrize("form", FORMS)
def test_ends_of_bonds_are_open_where_the_form_says(form, fillet):
    section = draw_section(joint_case(form, joint__squeeze_out=fillet))
    found = {
        bond.name: tuple(end_open_to(section, bond, last) for last in (False, True))
        for bond in section.bonds
    }
    assert found == ENDS[form]


def test_a_disbond_is_named_for_what_it_is_open_to():
    case = flawed("socket")
    section = draw_section(case)
    assert [flaw_words(section, flaw) for flaw in case.flaws] == [
        "disbond 12 mm, flooded",
        "disbond 6 mm, buried",
        "disbond 3 mm, buried",
    ]
    dry = case.flaws[0].model_copy(update={"flooded": False})
    assert flaw_words(section, dry) == "disbond 12 mm, kept dry"
    inner = case.flaws[1].model_copy(update={"start": 0.0})
    assert flaw_words(section, inner) == "disbond 6 mm, open to the inside"
    far = case.flaws[2].model_copy(update={"start": 0.0, "length": 100.0})  # from corner to corner
    assert open_to(section, far) == ""


@pytest.mark.parametrize("form", FORMS)
def test_each_disbond_is_a_line_of_its_length_on_its_face(form):
    case = flawed(form)
    section = draw_section(case)
    for view in ("whole", "joint"):
        lines = [
            line.get_xydata()
            for line in drawing(case, view).axes[0].lines
            if to_hex(line.get_color()) == FLAW and line.get_linewidth() > 2
        ]
        assert len(lines) == len(case.flaws)
        for line, flaw in zip(lines, case.flaws, strict=True):
            bond = section.bond(flaw.bond)
            ends = np.array([line[0], line[-1]])[:, ::-1] - np.asarray(bond.start)
            assert ends @ np.asarray(bond.along) == pytest.approx(
                [flaw.start, flaw.start + flaw.length], abs=1e-9
            )
            side = {"wall": -0.5, "middle": 0.0, "ring": 0.5}[flaw.face] * bond.thickness
            assert ends @ np.asarray(bond.across) == pytest.approx([side, side], abs=1e-9)


def test_a_flooded_disbond_has_the_sea_at_its_core():
    for flooded, cores in ((True, 1), (False, 0)):
        case = flawed("outer-lap")
        first = case.flaws[0].model_copy(update={"flooded": flooded})
        case = case.model_copy(update={"flaws": (first, *case.flaws[1:])})
        lines = drawing(case, "joint").axes[0].lines
        found = [li for li in lines if to_hex(li.get_color()) == SEA and li.get_zorder() > 7]
        assert len(found) == cores


@pytest.mark.parametrize("form", FORMS)
def test_numbers_and_list_collide_with_nothing(form):
    figure = drawing(flawed(form))
    assert_legible(figure)
    words = [text for text, _ in text_boxes(figure)]
    for number in ("1", "2", "3"):
        assert words.count(number) == 2  # at the disbond, and in the list


def test_many_disbonds_keep_apart():
    flaws = [
        {"bond": "outer", "face": "wall", "start": f"{i} mm", "length": "0.5 mm"} for i in range(12)
    ]
    assert_legible(drawing(joint_case("outer-lap", flaws=flaws)))
