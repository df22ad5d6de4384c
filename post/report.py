"""The report: one page that holds everything and needs nothing else.

The page is made of a template, the tables of `post.tables`, the sentences of `post.words` and the
figures of `post.figures`; the charts that answer to the reader come with `post.interactive`.
Pictures, downloads, data and scripts are inside the page: it has no link to anywhere, and opens
from disk, on a phone and on paper. Without scripts it shows everything but those charts.
"""

from __future__ import annotations

import base64
import json
from pathlib import Path
from typing import Any
from urllib.parse import quote

import pandas as pd
from markupsafe import Markup, escape

from geometry.seawater import depth_at
from post.bondline_data import bondline_data
from post.changes_table import changes_part
from post.collapse_report import hull_part
from post.field_viewer import field_data, viewer_part
from post.flaw_report import flaws_part
from post.interactive import json_block, own_script, plotly_script
from post.ladder_report import corners_table, ladder_part, strengths_table
from post.ladder_table import rungs_from_json
from post.manifest import provenance
from post.pages import page_templates
from post.process_table import process_part
from post.tables import (
    Table,
    csv_address,
    headline_table,
    input_table,
    material_table,
    parts_table,
    proof_table,
    transfer_table,
    wall_table,
)
from post.verified import verified_part
from post.versions import library_versions
from post.wall_profile import wall_data
from post.wall_report import wall_part
from post.words import bonds_in_order, joint_words, peel_words, shear_words, twist_words
from solve.answer import Answer

KINDS = {".png": "image/png"}
SVG_SAFE = " !$'()*+,/:;=?@[]|"  # stay as they are in the address of an SVG
FORMS = {
    "butt": "The wall's end face is bonded to the ring (butt joint).",
    "inner-lap": "The wall's bore and end face are bonded to the ring's inner lip and web.",
    "outer-lap": "The wall's outside and end face are bonded to the ring's outer lip and web.",
    "socket": "The wall's end is bonded into a groove of the ring, on both sides and at its end.",
    "scarf": "The wall's end is tapered and bonded to a tapered tongue of the ring (scarf joint).",
}
SCRIPTS = (  # each needs those before it
    "charts.js",
    "save.js",
    "depth.js",
    "headlines.js",
    "bondline.js",
    "wall.js",
    "gestures.js",
    "field.js",
    "section_picture.js",
    "viewer.js",
    "cutaway.js",
)
STATISTICS = {
    "mean": "mean",
    "first_thickness": "first-thickness",
    "last_thickness": "last-thickness",
    "largest": "largest",
    "smallest": "smallest",
}
HEADS = {
    "hemisphere": "A hemisphere closes the ring.",
    "flat": "A flat plate closes the ring.",
    "none": "No head is modelled: the end-cap load acts evenly on the ring's end face.",
}


def write_report(
    answer: Answer,
    table: pd.DataFrame,
    summary: dict[str, Any],
    folder: Path,
    path: Path,
    process: dict[str, Any] | None = None,
    companion: Answer | None = None,
    verification: pd.DataFrame | None = None,
    changes: dict[str, Any] | None = None,
) -> None:
    """Write the report of an answer.

    Parameters
    ----------
    answer : Answer
    table : DataFrame
        As from `post.bondline.bondline`.
    summary : dict
        As from `post.summary.summarise`.
    folder : Path
        The figures, as `post.figures.draw_figures` left them.
    path : Path
        The HTML file.
    process : dict, optional
        As from `post.process_table.costs_to_json`.
    companion : Answer, optional
        On the coarser mesh, for the numerical error at any depth; without it the page has no
        charts that answer to the reader.
    verification : DataFrame, optional
        Rows of the verification page.
    changes : dict, optional
        As from `post.changes_table.trials_to_json`, with finished studies under ``studies``.
    """
    page = render_report(answer, table, summary, folder, process, companion, verification, changes)
    path.write_text(page, encoding="utf-8")


def render_report(
    answer: Answer,
    table: pd.DataFrame,
    summary: dict[str, Any],
    folder: Path,
    process: dict[str, Any] | None = None,
    companion: Answer | None = None,
    verification: pd.DataFrame | None = None,
    changes: dict[str, Any] | None = None,
) -> str:
    """Make the text of the page that `write_report` writes."""
    environment = page_templates()
    environment.filters["cell"] = number_cell
    case = answer.case
    wall = wall_part(answer)
    ladder = ladder_part(summary, duty_depth(answer, summary), case.duty.required_ratio)
    page = environment.get_template("report.html.j2")
    return page.render(
        summary=summary,
        case=case,
        joint=[FORMS[case.joint.form], HEADS[case.head.form]],
        loads=load_words(answer, summary),
        answer=joint_words(summary, table),
        sure=sure_words(summary),
        ladder=ladder,
        strengths=strengths_table(summary.get("strengths") or ()) if ladder else None,
        corners=corners_table(summary.get("corners") or ()),
        process=process_part(
            process,
            summary.get("as_made") or (),
            rungs_from_json(summary.get("ladder") or []),
            len(case.flaws),
        ),
        changes=changes_part(
            changes, rungs_from_json(summary.get("ladder") or []), case.duty.required_ratio
        ),
        hull=hull_part(summary),
        flaws=flaws_part(case, answer.section, summary),
        bonds=[
            {
                "name": bond,
                "peel": peel_words(summary, table, bond),
                "shear": shear_words(summary, table, bond),
                "twist": twist_words(summary, table, bond),
            }
            for bond in bonds_in_order(summary)
        ],
        figures=read_figures(folder),
        tables=report_tables(answer, summary),
        bondline=csv_address(table.to_csv(index=False, float_format="%.6g")),
        versions=library_versions(),
        wall=wall,
        verified=verified_part(verification, wall["check"]),
        provenance=provenance(answer),
        live=live_part(answer, companion, table, summary) if companion else None,
    )


def live_part(
    answer: Answer, companion: Answer, table: pd.DataFrame, summary: dict[str, Any]
) -> dict[str, Any]:
    """Make what the page needs to answer to the reader: library, data and scripts."""
    rungs = rungs_from_json(summary.get("ladder") or [])
    bonds = bondline_data(answer, companion, table, duty_depth(answer, summary), rungs)
    wall = wall_data(answer)
    fields = field_data(answer, summary.get("corners") or ())
    return {
        "library": plotly_script(),
        "bondline": bonds,
        "wall": wall,
        "viewer": viewer_part(answer, fields),
        "blocks": [
            json_block("bondline-data", bonds),
            json_block("wall-data", wall),
            json_block("field-data", fields),
        ],
        "scripts": [own_script(file) for file in SCRIPTS],
    }


def report_tables(answer: Answer, summary: dict[str, Any]) -> dict[str, Table]:
    """Make every table of the page, by what it is."""
    return {
        "headlines": headline_table(summary),
        "parts": parts_table(summary),
        "transfer": transfer_table(summary),
        "proofs": proof_table(summary),
        "inputs": input_table(answer.case),
        "materials": material_table(answer.case),
        "wall": wall_table(answer),
    }


def read_figures(folder: Path) -> dict[str, list[dict[str, str]]]:
    """Read the figures of a folder, by group, with their data addresses.

    Raises
    ------
    OSError
        When a figure that the listing names is not there.
    """
    groups: dict[str, list[dict[str, str]]] = {}
    for shown in json.loads((folder / "figures.json").read_text(encoding="utf-8")):
        file = folder / shown["file"]
        shown["source"] = picture_address(file)
        groups.setdefault(shown["group"], []).append(shown)
    return groups


def picture_address(file: Path) -> str:
    """Turn a picture into a data address; the text of an SVG stays text, which is shorter.

    Returns
    -------
    str
        Fit for an attribute in double quotes as it is: nothing in it ends one or begins a tag.
    """
    if file.suffix != ".svg":
        data = base64.b64encode(file.read_bytes()).decode()
        return f"data:{KINDS[file.suffix]};base64,{data}"
    text = " ".join(file.read_text(encoding="utf-8").split())
    if "'" not in text:
        text = text.replace('"', "'")
    return Markup(f"data:image/svg+xml,{quote(text, safe=SVG_SAFE)}")  # noqa: S704


def duty_depth(answer: Answer, summary: dict[str, Any]) -> float:
    """Depth of the duty, m: as given, or that of its pressure."""
    loads = summary["loads"]
    if loads["depth_m"] is not None:
        return float(loads["depth_m"])
    return depth_at(loads["pressure_MPa"], answer.case.duty.latitude)


def load_words(answer: Answer, summary: dict[str, Any]) -> str:
    """Say what the joint bears at duty."""
    loads, duty = summary["loads"], answer.case.duty
    depth = loads["depth_m"]
    about = "" if depth is not None else "about "
    depth = duty_depth(answer, summary)
    change = loads["temperature_change_K"]
    warmth = f"{'cooling' if change < 0 else 'warming'} by {abs(change):.4g} K"
    return (
        f"Duty: sea pressure {loads['pressure_MPa']:.2f} MPa ({about}{depth:.0f} m at latitude "
        f"{duty.latitude:g}\u00b0), an end-cap load of {loads['axial_load_kN']:.0f} kN, and "
        f"{warmth} from the stress-free temperature."
    )


def sure_words(summary: dict[str, Any]) -> str:
    """Say how good the solution is, as a solution."""
    duty = [row for row in summary["headlines"] if row["load"] == "duty"]
    worst = max(duty, key=lambda row: row["error"])
    held = [row for row in summary["proofs"] if row["value"] <= row["allowed"]]
    checks = f"{len(held)} of {len(summary['proofs'])} checks of the solve hold."
    what = f"{STATISTICS[worst['statistic']]} {worst['stress'].replace('_', ' ')}"
    return (
        f"How sure: the largest numerical error among the headlines is "
        f"{max(worst['error'], 0.005):.2f} MPa ({worst['bond']} bond, {what}). {checks} "
        "How well the model is your joint, its materials and its workmanship is another question."
    )


def number_cell(text: str) -> Markup:
    """Lay a number with its error and place out in a table cell."""
    number, plus_minus, rest = text.partition(" \u00b1 ")
    if not plus_minus:
        return escape(text)
    error, at, place = rest.partition(" at ")
    cell = Markup("<b>{}</b> <small>\u00b1 {}</small>").format(number, error)
    return cell + Markup("<br><small>at s = {}</small>").format(place) if at else cell
