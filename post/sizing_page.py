"""The page that compares wall materials, and its table."""

from __future__ import annotations

import base64
import math
from collections.abc import Sequence
from pathlib import Path

from markupsafe import Markup

from geometry.case import Case
from geometry.files import written_aside
from geometry.seawater import density_at, duty_pressure
from post.flaw_life import required_pressure
from post.pages import page_templates
from post.sized import NotSized, Sized, shown, sized_only, sizing_table
from post.sizing import as_built, size_walls
from post.sizing_chart import draw_sizing
from post.sizing_words import (
    CAUTIONS,
    TITANIUM,
    buoyancy_words,
    governing_words,
    own_words,
    strength_words,
)
from solve.shell_buckling import KNOCK_DOWN


def write_sizing(case: Case, page: Path, csv: Path) -> None:
    """Size the wall of every material and write page and table.

    Parameters
    ----------
    case : Case
    page : Path
        One self-contained HTML file.
    csv : Path
        One row per material.
    """
    found, own = size_walls(case), as_built(case)
    with written_aside(csv) as aside:
        sizing_table(found).to_csv(aside, index=False, float_format="%.8g")
    with written_aside(page) as aside:
        aside.write_text(render(case, found, own), encoding="utf-8")


def render(case: Case, found: Sequence[Sized | NotSized], own: Sized) -> str:
    """Fill in the page; `own` is the case's own wall."""
    held = sized_only(found)
    known = [one for one in held if not math.isnan(one.net)]
    titanium = next((one for one in held if one.option.card.name == TITANIUM), None)
    table = sizing_table(found)
    text = base64.b64encode(table.to_csv(index=False, float_format="%.8g").encode()).decode()
    environment = page_templates()
    environment.filters["shown"] = shown
    wall = case.wall
    return environment.get_template("sizing.html.j2").render(
        title=case.title,
        note=case.note,
        bore=f"{2 * wall.bore_radius:.4g} mm",
        length=f"{2 * wall.half_length:.4g} mm",
        required=f"{required_pressure(case):.1f} MPa",
        water=f"{1e12 * density_at(duty_pressure(case)):,.0f} kg/m\u00b3",
        out_of_round=wall.out_of_roundness,
        knock_down=f"{KNOCK_DOWN:g}",
        held=held,
        none=[one for one in found if isinstance(one, NotSized)],
        titanium=titanium,
        chart=Markup(draw_sizing(known)) if known else "",
        answer=buoyancy_words(case, found),
        strength=strength_words(found),
        governing=governing_words(found),
        own=own_words(own),
        cautions=CAUTIONS,
        everything=f"data:text/csv;charset=utf-8;base64,{text}",
    )
