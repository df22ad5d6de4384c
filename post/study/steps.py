"""The steps of a study, from its file to its page; each reads files and writes files."""

from __future__ import annotations

import os
from collections.abc import Iterable
from concurrent.futures import ProcessPoolExecutor
from functools import cache
from itertools import repeat
from pathlib import Path
from typing import Any

import pandas as pd

from geometry.case import Case, write_case
from geometry.errors import CaseError
from geometry.files import intact, written_aside
from post.study.batches import Kept, Progress, evaluate_batch, points_digest, tell_on_stderr
from post.study.best import search
from post.study.choose import batch_names, batch_size, is_reduced
from post.study.gather import gather
from post.study.models import Model, Row, records
from post.study.plans import count_points, plan_points
from post.study.set_up import NAME, model_in, write_set_up
from post.study.study_file import Study, read_study


def plan(study_file: Path, points: Path) -> None:
    """Write the points of a study; a search plans as it goes and has none."""
    study = read_study(study_file)
    table = pd.DataFrame({"point": pd.Series(dtype=int)})
    if not study.ask.do.best:
        table = plan_points(study.ask.do, study.variables, study.groups, study.ask.seed)
    _write(table, points)


def batch(study_file: Path, points: Path, size: int, number: Path, out: Path) -> None:
    """Evaluate one batch of a study that is cut into batches of `size` points."""
    study = read_study(study_file)
    if study.ask.do.best:
        _write(_search(study_file, study, out), out)
        return
    names = batch_names(study, size)
    if str(number) not in names:
        last = names[-1]
        raise CaseError(
            os.fspath(study_file), "batch", str(number), "is no batch", f"{names[0]} to {last}"
        )
    index = int(str(number))
    own = pd.read_parquet(intact(points)).iloc[index * size : (index + 1) * size]
    kept = Kept(_kept_path(out), points_digest(study.digest_text(), own))
    # what is kept goes when the table stands: a job whose end was not recorded is asked again
    model = model_in(study, points.parent)
    _write(evaluate_batch(model, own, kept, f"{study.name} {number}"), out)


def _kept_path(out: Path) -> Path:
    return out.with_suffix(".kept.jsonl")


@cache
def _model(study_file: Path, folder: Path) -> Model:
    return model_in(read_study(study_file), folder)


def _one(study_file: Path, folder: Path, values: dict[str, Any]) -> Row:
    return next(iter(_model(study_file, folder).rows(pd.DataFrame([values]))))


def set_up(study_file: Path, model: Path) -> None:
    """Set up the reduced model of a study once, for all its batches."""
    write_set_up(read_study(study_file), model)


def _search(study_file: Path, study: Study, out: Path) -> pd.DataFrame:
    """Search for the best design, on every core that the job may use."""
    assert study.ask.do.best is not None
    kept = Kept(_kept_path(out), points_digest(study.digest_text(), pd.DataFrame()))
    known = list(kept.rows)
    total = count_points(study.ask.do, study.variables)
    progress = Progress(study.name, total, len(known), tell_on_stderr)
    # a reduced model shares its set-up among all points and takes every core itself
    workers = 1 if is_reduced(study) else len(os.sched_getaffinity(0))
    with ProcessPoolExecutor(workers) as pool:

        def evaluate(points: pd.DataFrame) -> list[dict[str, Any]]:
            values = list(records(points))
            have = [known[v["point"]] for v in values if int(v["point"]) < len(known)]  # type: ignore[index]
            fresh: Iterable[Row] = pool.map(
                _one, repeat(study_file), repeat(out.parents[1]), values[len(have) :]
            )
            for row in fresh:
                kept.add(row)
                progress.step()
                have.append(row)
            return have

        try:
            table = search(study.ask.do.best, study.variables, study.ask.seed, evaluate)
        finally:
            kept.keep()
    return table


def gather_batches(study_file: Path, size: int, folder: Path, parquet: Path, csv: Path) -> None:
    """Join the batches of a study, each of `size` points, into its table."""
    study = read_study(study_file)
    names = batch_names(study, size)
    parts = [pd.read_parquet(intact(folder / f"{name}.parquet")) for name in names]
    table = gather(parts, study.headlines)
    _write(table, parquet)
    with written_aside(csv) as aside:
        table.to_csv(aside, index=False, float_format="%.8g")
    for name in names:
        _kept_path(folder / f"{name}.parquet").unlink(missing_ok=True)


def page(study_file: Path, parquet: Path, html: Path) -> None:
    """Write the page of a study."""
    from post.study.page import write_page

    write_page(read_study(study_file), study_file, pd.read_parquet(intact(parquet)), html)


def case(study_file: Path, point: Path, case_file: Path) -> None:
    """Write the case file of a point, from which its full report is built."""
    chosen = point_case(study_file, str(point))
    case_file.parent.mkdir(parents=True, exist_ok=True)
    write_case(chosen, case_file)


def point_case(study_file: Path, point: str) -> Case:
    """Give the case of a point.

    Raises
    ------
    CaseError
        When there is no such point, or its values contradict each other.
    """
    study = read_study(study_file)
    if study.ask.do.best:
        stored = Path("results", "studies", study.name, "table.parquet")
        if not stored.is_file():
            raise CaseError(
                str(stored),
                reason="no such file: the points of a search are known after it",
                allowed=f"snakemake results/studies/{study.name}/study.html first",
            )
        table = pd.read_parquet(intact(stored))
    else:
        table = plan_points(study.ask.do, study.variables, study.groups, study.ask.seed)
    if not point.isdecimal() or int(point) >= len(table):
        raise CaseError(
            os.fspath(study_file), "point", point, "is no point", f"0 to {len(table) - 1}"
        )
    values = next(records(table.iloc[[int(point)]]))
    made = study.base.point_case(values)
    return made.model_copy(update={"title": f"{made.title}, point {point} of {study.name}"[:200]})


def run(study_file: Path, folder: Path) -> None:
    """Run a whole study in this process; the workflow runs its batches in parallel."""
    study = read_study(study_file)
    points = folder / "points.parquet"
    plan(study_file, points)
    size = batch_size(study)
    if is_reduced(study):
        set_up(study_file, folder / NAME)
    for name in batch_names(study, size):
        out = folder / "batches" / f"{name}.parquet"
        if not out.is_file():
            batch(study_file, points, size, Path(name), out)
    batches = folder / "batches"
    gather_batches(study_file, size, batches, folder / "table.parquet", folder / "table.csv")
    page(study_file, folder / "table.parquet", folder / "study.html")


def _write(table: pd.DataFrame, path: Path) -> None:
    with written_aside(path) as aside:
        table.to_parquet(aside, index=False)
