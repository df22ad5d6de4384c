"""The figures of an answer: every picture that the report shows, into one folder."""

from __future__ import annotations

import json
from dataclasses import asdict
from pathlib import Path

import pandas as pd

from post.curves import curve_caption, curve_sets, plot_bondline
from post.cutaway import draw_cutaway
from post.deformed import DEFORMED, plot_deformed
from post.drawing import draw_joint
from post.mode_picture import draw_mode
from post.pictures import draw_pictures
from post.sheet import Shown, write
from post.wall_figure import draw_wall
from solve.answer import Answer
from solve.collapse import Collapse

__all__ = ["draw_figures", "plot_bondline", "plot_deformed"]


def draw_figures(
    answer: Answer, table: pd.DataFrame, folder: Path, collapse: Collapse | None = None
) -> list[Shown]:
    """Draw every figure of the report into a folder, with a list of them in ``figures.json``.

    Parameters
    ----------
    answer : Answer
    table : DataFrame
        As from `post.bondline.bondline`.
    folder : Path
        Exists.
    collapse : Collapse, optional
        As from `solve.collapse.solve_collapse`.

    Returns
    -------
    list of Shown
    """
    shown = []
    for view, title in (("whole", "Half-section"), ("joint", "The joint, enlarged")):
        draw_joint(answer.case, answer.section, folder / f"section-{view}.svg", view)
        shown.append(Shown(f"section-{view}.svg", "section", title, ""))
    for bond in answer.section.bonds:
        for stresses in curve_sets(table):
            names = " and ".join(stress.replace("_", " ") for stress in stresses)
            file = f"bondline-{bond.name}-{'-'.join(stresses)}.svg"
            write(plot_bondline(table, bond.name, bond.thickness, stresses), folder / file)
            title = f"{bond.name.capitalize()} bond: {names}"
            shown.append(Shown(file, "bondline", title, curve_caption(bond.thickness)))
    for file, title in (("duty", "Deformed at duty"), ("parts", "Deformed, load by load")):
        write(plot_deformed(answer, file == "parts"), folder / f"deformed-{file}.svg")
        shown.append(Shown(f"deformed-{file}.svg", "deformed", title, DEFORMED))
    shown += draw_pictures(answer, folder)
    shown.append(draw_cutaway(answer, folder))
    shown += draw_wall(answer, folder)
    if collapse is not None:
        shown += draw_mode(answer.case, collapse, folder)
    listing = json.dumps([asdict(each) for each in shown], indent=1, ensure_ascii=False)
    (folder / "figures.json").write_text(listing + "\n", encoding="utf-8")
    return shown
