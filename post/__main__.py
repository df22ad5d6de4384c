"""The steps from unit solutions to tables, figures and the report."""

from __future__ import annotations

import json
import sys
from pathlib import Path
from typing import Any

import pandas as pd

from geometry.case import read_case
from geometry.commands import run
from geometry.errors import CaseError
from geometry.files import intact, naming, note_digest, written_aside
from geometry.mesh import MeshError, read_mesh
from post.bondline import bondline
from post.collapse import collapse_rung, collapse_summary
from post.converge import judge_to_target
from post.flaw_maps import flaw_maps
from post.flaws import flaw_results, flaw_rungs
from post.headline import headline_table
from post.ladder_table import ladder_table, rungs_from_json
from post.ladder_text import ladder_text
from post.life_summary import life_part
from post.manifest_steps import check_manifest, check_report, compare, manifest
from post.plain_data import plain
from post.strengths import strengths
from post.summary import judgement, summarise
from post.verdict import by_depth
from post.verification_stored import compare_verification
from solve.answer import Answer, SolveError
from solve.answer_file import load_answers, load_finer, load_kept, save_finer, save_kept
from solve.collapse import load_collapse
from solve.disbond_file import load_disbonds

NO_FILE = "-"  # in place of a file that is not there


def _answers(inputs: Path, mesh_file: Path, answer_file: Path) -> tuple[Answer, Answer]:
    return load_answers(read_case(intact(inputs)), read_mesh(mesh_file), answer_file)


def _json(path: Path) -> dict[str, Any]:
    told: dict[str, Any] = json.loads(intact(path).read_text(encoding="utf-8"))
    return told


def tables(
    inputs: Path,
    mesh_file: Path,
    answer_file: Path,
    buckling_file: Path,
    flaws_file: Path,
    csv: Path,
    parquet: Path,
    ladder: Path,
    summary: Path,
    kept: Path,
) -> None:
    """Write the bondline table, the depth ladder, the summary and the finer answers it took."""
    answer, companion = _answers(inputs, mesh_file, answer_file)
    table = bondline(answer)
    with written_aside(csv) as aside:
        table.to_csv(aside, index=False, float_format="%.8g")
    with written_aside(parquet) as aside:
        table.to_parquet(aside, index=False)
    strong = strengths(answer.case)
    rungs, finer, level = judge_to_target(
        answer, companion, strong, answer.case.mesh.target, load_finer(answer, kept)
    )
    save_finer(answer, finer, kept)
    disbonds = load_disbonds(flaws_file)
    flaws = flaw_results(answer.case, disbonds)
    collapse = load_collapse(buckling_file)
    collapsed = collapse_rung(answer.case, collapse, answer.case.mesh.target)
    rungs = by_depth([*rungs, collapsed, *flaw_rungs(answer.case, flaws)])
    with written_aside(ladder) as aside:
        ladder_table(rungs).to_csv(aside, index=False)
    told = summarise(answer, companion, summary.parent.name) | judgement(answer, rungs, strong)
    told["mesh"]["ladder_level"] = level
    told["buckling"] = collapse_summary(answer.case, collapse)
    told |= life_part(answer, companion, strong, disbonds, flaws)
    told |= {"flaws": plain(flaws), "flaw_map": plain(flaw_maps(answer.case, disbonds))}
    with written_aside(summary) as aside:
        text = json.dumps(told, indent=1, allow_nan=False)
        aside.write_text(text + "\n", encoding="utf-8")


def headline(summary: Path) -> None:
    """Print the depth ladder and the headline table."""
    told = _json(summary)
    print(ladder_text(rungs_from_json(told["ladder"]), told["verdict"]["required_ratio"]))
    print()
    print(headline_table(told))


def draw(inputs: Path, drawing: Path) -> None:
    """Draw the section, without a mesh."""
    from geometry.forms import draw_section
    from post.drawing import draw_joint

    case = read_case(intact(inputs))
    with written_aside(drawing) as aside:
        draw_joint(case, draw_section(case), aside)


def fields(inputs: Path, mesh_file: Path, answer_file: Path, vtu: Path) -> None:
    """Write displacement, strain and stress in VTK's open format."""
    from post.fields import write_fields

    answer, _ = _answers(inputs, mesh_file, answer_file)
    with written_aside(vtu) as aside:
        write_fields(answer, aside)


def figures(
    inputs: Path,
    mesh_file: Path,
    answer_file: Path,
    buckling_file: Path,
    parquet: Path,
    folder: Path,
) -> None:
    """Draw all figures of the report into a folder."""
    from post.figures import draw_figures

    answer, _ = _answers(inputs, mesh_file, answer_file)
    table, collapse = pd.read_parquet(intact(parquet)), load_collapse(buckling_file)
    with naming(folder):
        folder.mkdir(parents=True, exist_ok=True)
        draw_figures(answer, table, folder, collapse)
        for figure in folder.glob("[!.]*"):
            note_digest(figure)


def report(
    inputs: Path,
    mesh_file: Path,
    answer_file: Path,
    parquet: Path,
    summary: Path,
    folder: Path,
    costs: Path,
    changed: Path,
    studies: Path,
    verified: Path,
    page: Path,
) -> None:
    """Write the report as one self-contained page.

    `studies` are files with commas between, `verified` is the verification page's table; a dash
    stands for none.
    """
    from post.report import write_report
    from post.study.finished import study_line

    answer, companion = _answers(inputs, mesh_file, answer_file)
    headlines, told, tried = (_json(path) for path in (summary, costs, changed))
    lines = [study_line(Path(file)) for file in str(studies).split(",") if file != NO_FILE]
    tried["studies"] = [line for line in lines if line]
    for figure in folder.glob("[!.]*"):
        intact(figure)
    with written_aside(page) as aside:
        write_report(
            answer,
            pd.read_parquet(intact(parquet)),
            headlines,
            folder,
            aside,
            told,
            companion,
            pd.read_csv(intact(verified)) if str(verified) != NO_FILE else None,
            changes=tried,
        )


def compare_cases(names: Path, results: Path, page: Path, csv: Path) -> None:
    """Compare cases side by side; `names` are those of their folders of results, with commas."""
    from post.compare_page import write_comparison

    write_comparison([results / name for name in str(names).split(",")], page, csv)


def changes(case_file: Path, buckling_file: Path, changed: Path, csv: Path) -> None:
    """Try single changes of a case, each by itself."""
    from post.change_trials import try_changes
    from post.changes_table import trials_table, trials_to_json

    trials = try_changes(read_case(case_file), load_collapse(buckling_file))
    with written_aside(csv) as aside:
        trials_table(trials).to_csv(aside, index=False, float_format="%.8g")
    with written_aside(changed) as aside:
        told = json.dumps(trials_to_json(trials), indent=1, allow_nan=False)
        aside.write_text(told + "\n", encoding="utf-8")


def process(
    case_file: Path, mesh_file: Path, answer_file: Path, costs: Path, csv: Path, kept: Path
) -> None:
    """Compare the clean joint with each fact of the process alone and with all of them."""
    from post.judge import duty_depth
    from post.process_cost import Ladders, process_cost
    from post.process_table import costs_table, costs_to_json

    answer, companion = _answers(case_file, mesh_file, answer_file)
    ladders = Ladders(kept=load_kept(answer, kept))
    ladders.remember(answer, companion)
    rows = process_cost(answer.case, ladders)
    save_kept(answer, ladders.solved(), kept)
    with written_aside(csv) as aside:
        costs_table(rows).to_csv(aside, index=False)
    told = costs_to_json(answer.case, duty_depth(answer), rows)
    with written_aside(costs) as aside:
        aside.write_text(json.dumps(told, indent=1, allow_nan=False) + "\n", encoding="utf-8")


def versions(target: Path) -> None:
    """Write the versions of the project and of the libraries it stands on."""
    from post.versions import library_versions

    with written_aside(target) as aside:
        aside.write_text(json.dumps(library_versions(), indent=1) + "\n", encoding="utf-8")


def verify(page: Path, csv: Path) -> None:
    """Write the verification page and its table."""
    from post.verification import write_verification

    write_verification(page, csv)


def sheet(inputs: Path, summary: Path, page: Path) -> None:
    """Write the bond sheet; with the tolerable disbonds where a summary is there."""
    from post.bond_sheet import write_sheet

    told = _json(summary) if summary.exists() else None
    write_sheet(read_case(intact(inputs)), told, page)


def gauges(inputs: Path, mesh_file: Path, answer_file: Path, csv: Path, page: Path) -> None:
    """Predict what the gauges of a proof test read: table and page."""
    from post.gauge_strains import predict
    from post.gauge_table import gauge_table
    from post.proof_page import write_prediction

    answer, companion = _answers(inputs, mesh_file, answer_file)
    predictions = predict(answer, companion)
    with written_aside(csv) as aside:
        gauge_table(answer.case, predictions).to_csv(aside, index=False, float_format="%.8g")
    write_prediction(answer.case, predictions, page)


def proof(inputs: Path, gauges_file: Path, folder: Path, page: Path, csv: Path) -> None:
    """Compare a proof test with its prediction: page and table."""
    from post.gauge_table import read_gauge_table
    from post.proof_page import write_proof

    write_proof(read_case(intact(inputs)), read_gauge_table(intact(gauges_file)), folder, page, csv)


def invent_proof(inputs: Path, gauges_file: Path, folder: Path) -> None:
    """Write the tables of an invented proof test, with its truth, into a folder."""
    from post.gauge_table import full_pressure, read_gauge_table
    from post.proof_demo import write_demo

    write_demo(read_gauge_table(gauges_file), full_pressure(read_case(inputs)), folder)


def sizing(case_file: Path, page: Path, csv: Path) -> None:
    """Size the wall of every material: page and table."""
    from post.sizing_page import write_sizing

    write_sizing(read_case(case_file), page, csv)


def layups(case_file: Path, page: Path, csv: Path) -> None:
    """Compare the named layups of a case: page and table."""
    from post.layups_page import write_layups

    write_layups(read_case(case_file), page, csv)


def study_plan(study: Path, points: Path) -> None:
    """Write the points of a study."""
    from post.study.steps import plan

    plan(study, points)


def study_set_up(study: Path, model: Path) -> None:
    """Set up the reduced model of a study."""
    from post.study.steps import set_up

    set_up(study, model)


def _count(word: Path, step: str, name: str, least: int = 1) -> int:
    """Read a number off the command line."""
    text = str(word)
    if not (text.isascii() and text.isdecimal() and int(text) >= least):
        raise CaseError(step, name, text, "is no such number", f"a whole number from {least} on")
    return int(text)


def study_batch(study: Path, points: Path, size: Path, batch: Path, out: Path) -> None:
    """Evaluate one batch of a study, of so many points."""
    from post.study.steps import batch as evaluate

    evaluate(study, points, _count(size, "study_batch", "size"), batch, out)


def study_gather(study: Path, size: Path, batches: Path, parquet: Path, csv: Path) -> None:
    """Join the batches of a study, each of so many points, into its table."""
    from post.study.steps import gather_batches

    gather_batches(study, _count(size, "study_gather", "size"), batches, parquet, csv)


def study_page(study: Path, parquet: Path, html: Path) -> None:
    """Write the page of a study."""
    from post.study.steps import page

    page(study, parquet, html)


def study_case(study: Path, point: Path, case_file: Path) -> None:
    """Write the case file of a point of a study."""
    from post.study.steps import case

    case(study, point, case_file)


def study_schema(schema_file: Path) -> None:
    """Write the JSON Schema of study files, for editors."""
    from post.study.schema import study_schema as made

    with written_aside(schema_file, digested=False) as aside:
        aside.write_text(json.dumps(made(), indent=2) + "\n", encoding="utf-8")


def study_run(study: Path, folder: Path) -> None:
    """Run a whole study in this process, without the workflow."""
    from post.study.steps import run as run_study

    run_study(study, folder)


if __name__ == "__main__":
    steps = "INPUTS.yaml MESH.msh ANSWER.npz"
    judged = "LADDER.csv SUMMARY.json"
    sys.exit(
        run(
            "post",
            {
                "draw": (draw, "INPUTS.yaml SECTION.svg"),
                "bondline": (
                    tables,
                    f"{steps} BUCKLING.npz FLAWS.npz BONDLINE.csv BONDLINE.parquet LADDER.csv "
                    "SUMMARY.json FINER.npz",
                ),
                "headline": (headline, "SUMMARY.json"),
                "fields": (fields, f"{steps} FIELDS.vtu"),
                "figures": (figures, f"{steps} BUCKLING.npz BONDLINE.parquet FIGURES"),
                "report": (
                    report,
                    f"{steps} BONDLINE.parquet SUMMARY.json FIGURES PROCESS.json CHANGES.json "
                    "STUDIES VERIFICATION.csv REPORT.html",
                ),
                "process": (
                    process,
                    "CASE.yaml MESH.msh ANSWER.npz PROCESS.json PROCESS.csv PROCESS.npz",
                ),
                "changes": (changes, "CASE.yaml BUCKLING.npz CHANGES.json CHANGES.csv"),
                "compare_cases": (compare_cases, "NAMES RESULTS COMPARE.html COMPARE.csv"),
                "sheet": (sheet, "INPUTS.yaml SUMMARY.json BOND_SHEET.html"),
                "gauges": (gauges, f"{steps} GAUGES.csv GAUGES.html"),
                "proof": (proof, "INPUTS.yaml GAUGES.csv FOLDER PROOF.html PROOF.csv"),
                "invent-proof": (invent_proof, "INPUTS.yaml GAUGES.csv FOLDER"),
                "versions": (versions, "VERSIONS.json"),
                "manifest": (manifest, "FOLDER MANIFEST.json"),
                "check_manifest": (check_manifest, "FOLDER"),
                "check_report": (check_report, "REPORT.html MANIFEST.json"),
                "compare": (compare, "FOLDER FOLDER"),
                "verify": (verify, "VERIFICATION.html VERIFICATION.csv"),
                "compare_verification": (compare_verification, "STORED.csv VERIFICATION.csv"),
                "layups": (layups, "CASE.yaml LAYUPS.html LAYUPS.csv"),
                "sizing": (sizing, "CASE.yaml SIZING.html SIZING.csv"),
                "study_plan": (study_plan, "STUDY.yaml POINTS.parquet"),
                "study_set_up": (study_set_up, "STUDY.yaml REDUCED.pickle"),
                "study_batch": (study_batch, "STUDY.yaml POINTS.parquet SIZE BATCH OUT.parquet"),
                "study_gather": (study_gather, "STUDY.yaml SIZE BATCHES TABLE.parquet TABLE.csv"),
                "study_page": (study_page, "STUDY.yaml TABLE.parquet STUDY.html"),
                "study_case": (study_case, "STUDY.yaml POINT CASE.yaml"),
                "study_schema": (study_schema, "SCHEMA.json"),
                "study_run": (study_run, "STUDY.yaml FOLDER"),
            },
            (CaseError, MeshError, SolveError, OSError),
        )
    )
