"""From case files to reports: which step reads what, and nothing else.

`snakemake` builds the demo's report; `snakemake --config case=PATH/case.yaml` or
`snakemake results/NAME/report.html` that of any case; `snakemake results/studies/NAME/study.html`
the study of studies/NAME.yaml; `snakemake results/NAME/layups.html` the
comparison of layups; `snakemake results/NAME/sizing.html` that of wall materials; `snakemake
results/NAME/gauges.html` what the gauges of a proof test should read, `snakemake
results/NAME/proof.html` what they read in the tables under `proof/` beside the case file; `snakemake
verify` the verification page; `snakemake compare --config cases=A,B,C` sets cases side by side.

Three things decide what an edit reruns. A step's files, by time and content. The sources of the
packages that the step runs, as a digest, because an edited module is no file of any rule. And the
part of the case that the step depends on, as a digest: a file's time says nothing once a clock was
set back, and for mesh and solve, which read the case file itself, the digest stands in its place:
unit solutions know neither depth nor strength, so a deeper dive or a knock-down meshes and solves
nothing anew.
"""

import os
import sys
from functools import cache
from hashlib import sha256
from pathlib import Path
from shutil import disk_usage

from geometry.case import Case, read_case
from geometry.depends import (
    buckled_part,
    costed_part,
    exchanged_part,
    flawed_part,
    meshed_part,
    solved_part,
)
from geometry.errors import CaseError
from geometry.folders import FOLDER, case_name, study_name
from geometry.forms import draw_section
from geometry.mesh_size import check_size
from geometry.sources import source_digest
from post.results import RESULTS
from post.run_lock import clear_stale_locks

SMALL_DISK = 20_000_000  # bytes: about what a case writes
DEMO = "cases/lander/case.yaml"
GUIDE_PICTURES = (
    "report-first bondline section-viewer cutaway changes flaw-map study bond-sheet".split()
)

# The steps run with the Python that runs this file, also when its folder is not on the path.
os.environ.update(PATH=os.pathsep.join([str(Path(sys.executable).parent), os.getenv("PATH", "")]))
# They draw without a screen: asked for EGL at once, VTK does not complain of a missing display.
os.environ.setdefault("PYVISTA_OFF_SCREEN", "true")
os.environ.setdefault("VTK_DEFAULT_OPENGL_WINDOW", "vtkEGLRenderWindow")
# Jobs share the cores: a second level of threads, in small matrix products, only costs time.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

# A run that was killed leaves locks; those of a run that lives stay.
if workflow.is_main_process:
    clear_stale_locks(Path(".snakemake"))


def compared_cases(asked):
    """Find the files of the cases that are to be compared, by name."""
    from post.compare_names import case_files

    try:
        return case_files(asked, Path("cases")) if asked else {}
    except CaseError as error:
        sys.exit(str(error))


chosen_case = Path(str(config.get("case", DEMO)))
compared = compared_cases(str(config.get("cases", "")))
chosen_study = Path(str(config.get("study", "studies/joint.yaml")))
try:
    chosen_name = case_name(chosen_case)
    study_name(chosen_study)
except CaseError as error:
    sys.exit(str(error))
chosen_points = config.get("points_a_batch")

for folder in (Path("."), Path("results"), Path("results", chosen_name)):
    if folder.is_dir() and not os.access(folder, os.W_OK):
        sys.exit(f"{folder.resolve()}: cannot be written to")


@cache
def checked_case(path):
    """Read and draw a case before any rule runs; a broken one ends the workflow in one line."""
    try:
        case = read_case(path)
        check_size(case, draw_section(case))
    except CaseError as error:
        sys.exit(str(error))
    return case


def case_file(wildcards):
    """Give the checked case file of a name: the chosen one, or the one under cases/."""
    path = Path("cases", wildcards.name, "case.yaml")
    path = compared.get(wildcards.name, chosen_case if wildcards.name == chosen_name else path)
    checked_case(path)
    return path


@cache
def checked_study(name):
    """Read a study before any rule runs: the chosen one, or the one under studies/."""
    from post.study.study_file import read_study

    path = chosen_study if chosen_study.stem == name else Path("studies", f"{name}.yaml")
    try:
        return path, read_study(path)
    except CaseError as error:
        sys.exit(str(error))


def study_file(wildcards):
    """Give the checked file of a study."""
    return checked_study(wildcards.study)[0]


def study_digest(wildcards):
    """Digest what decides a study's points and what is found at them."""
    return sha256(checked_study(wildcards.study)[1].digest_text().encode()).hexdigest()


def points_a_batch(wildcards):
    """Say how many points of a study one job takes: as its file, the run or one machine has it."""
    from post.study.choose import batch_size

    try:
        return batch_size(checked_study(wildcards.study)[1], chosen_points)
    except CaseError as error:
        sys.exit(str(error))


def study_batches(wildcards):
    """List the batches of a study."""
    from post.study.choose import batch_names

    names = batch_names(checked_study(wildcards.study)[1], points_a_batch(wildcards))
    return [f"results/studies/{wildcards.study}/batches/{name}.parquet" for name in names]


def reduced_model(wildcards):
    """Name the reduced model that a study's batches load; none where every point is solved."""
    from post.study.choose import is_reduced

    reduced = is_reduced(checked_study(wildcards.study)[1])
    return f"results/studies/{wildcards.study}/reduced.pickle" if reduced else []


def set_up_digest(wildcards):
    """Digest what decides a study's reduced model, which its points do not."""
    from post.study.set_up import set_up_digest as digest

    return digest(checked_study(wildcards.study)[1])


def batch_threads(wildcards):
    """Give a study of one batch every core: its reduced model or its search shares them."""
    return workflow.cores if len(study_batches(wildcards)) == 1 else 1


def finished_studies_of(wildcards):
    """List the files of the studies of a case that have a page: none is run for a report."""
    pages = sorted(Path("results/studies").glob("*/study.html"))
    if not pages:
        return []
    from post.study.finished import finished_studies

    files = (Path("studies", f"{page.parent.name}.yaml") for page in pages)
    files = [chosen_study if file.stem == chosen_study.stem else file for file in files]
    return finished_studies(Path(case_file(wildcards)), files)


def study_tables(wildcards):
    """Digest what the finished studies of a case found."""
    digest = sha256()
    for file in finished_studies_of(wildcards):
        digest.update(Path("results/studies", file.stem, "table.csv").read_bytes())
    return digest.hexdigest()


def proof_folder(wildcards):
    """Give the folder of measurements of a proof test: beside the case file."""
    return Path(case_file(wildcards)).parent / "proof"


def proof_tables(wildcards):
    """Give what was measured: strains, and emission where it was heard."""
    folder = proof_folder(wildcards)
    heard = folder / "acoustic.csv"
    return [folder / "strain.csv", *([heard] if heard.exists() else [])]


def verified_numbers(wildcards):
    """Give the table of the verification page if it was built; the rule keeps it up to date."""
    return [path for path in ["results/verification/verification.csv"] if Path(path).exists()]


def compared_results(wildcards):
    """List what a comparison reads of each case."""
    if not compared:
        sys.exit("compare: no cases are named; allowed: --config cases=A,B with names under cases/")
    parts = ("inputs.yaml", "summary.json", "bondline.parquet")
    return [f"results/{name}/{part}" for name in compared for part in parts]


def case_digest(part):
    """Give the function that digests what `part` writes out of a case."""
    return lambda wildcards: sha256(part(checked_case(case_file(wildcards))).encode()).hexdigest()


GEOMETRY = source_digest("geometry")
SOLVE = source_digest("geometry", "solve")
POST = source_digest("geometry", "solve", "post")


onerror:
    # a step's own word goes to its log, for which a full disk has no room either
    if disk_usage("results").free < SMALL_DISK:
        left = disk_usage("results").free // 1000
        print(f"results: is the disk full? {left:,} kB are free", file=sys.stderr)


wildcard_constraints:
    name=FOLDER,
    study=FOLDER,
    batch="[0-9]+",


# On a cluster these run where Snakemake does: a job would take longer to start than they do.
localrules:
    all,
    check_case,
    draw_section,
    list_versions,
    write_manifest,
    take_pictures,
    write_bond_sheet,
    plan_study,
    gather_study,
    show_study,
    write_schema,
    write_study_schema,


rule all:
    input:
        f"results/{chosen_name}/manifest.json",


rule check_case:
    input:
        case_file,
    output:
        "results/{name}/inputs.yaml",
    log:
        "results/{name}/logs/check_case.log",
    conda:
        "environment.yaml"
    params:
        case=case_digest(Case.model_dump_json),
        sources=GEOMETRY,
    message:
        "Check the case {wildcards.name}"
    shell:
        "python -m geometry check {input:q} {output} > {log} 2>&1"


rule draw_section:
    input:
        "results/{name}/inputs.yaml",
    output:
        "results/{name}/section.svg",
    log:
        "results/{name}/logs/draw_section.log",
    conda:
        "environment.yaml"
    params:
        case=case_digest(Case.model_dump_json),
        sources=POST,
    message:
        "Draw the section of {wildcards.name}"
    shell:
        "python -m post draw {input:q} {output} > {log} 2>&1"


rule mesh_section:
    input:
        ancient(case_file),
    output:
        "results/{name}/mesh.msh",
    log:
        "results/{name}/logs/mesh_section.log",
    conda:
        "environment.yaml"
    params:
        case=case_digest(meshed_part),
        sources=GEOMETRY,
    message:
        "Mesh the section of {wildcards.name}"
    shell:
        "python -m geometry mesh {input:q} {output} > {log} 2>&1"


rule solve_joint:
    input:
        ancient(case_file),
        "results/{name}/mesh.msh",
    output:
        "results/{name}/answer.npz",
    log:
        "results/{name}/logs/solve_joint.log",
    conda:
        "environment.yaml"
    params:
        case=case_digest(solved_part),
        sources=SOLVE,
    message:
        "Solve {wildcards.name} for unit pressure and unit temperature"
    shell:
        "python -m solve joint {input:q} {output} > {log} 2>&1"


rule solve_flaws:
    input:
        ancient(case_file),
    output:
        "results/{name}/flaws.npz",
    log:
        "results/{name}/logs/solve_flaws.log",
    conda:
        "environment.yaml"
    params:
        case=case_digest(flawed_part),
        sources=SOLVE,
    message:
        "Reduce {wildcards.name} to the faces of its bonds"
    shell:
        "python -m solve flaws {input:q} {output} > {log} 2>&1"


rule solve_buckling:
    input:
        ancient(case_file),
    output:
        "results/{name}/buckling.npz",
    log:
        "results/{name}/logs/solve_buckling.log",
    conda:
        "environment.yaml"
    params:
        case=case_digest(buckled_part),
        sources=SOLVE,
    message:
        "Buckle the hull of {wildcards.name}"
    shell:
        "python -m solve buckling {input:q} {output} > {log} 2>&1"


rule tabulate_bondline:
    input:
        "results/{name}/inputs.yaml",
        "results/{name}/mesh.msh",
        "results/{name}/answer.npz",
        "results/{name}/buckling.npz",
        "results/{name}/flaws.npz",
    output:
        "results/{name}/bondline.csv",
        "results/{name}/bondline.parquet",
        "results/{name}/ladder.csv",
        "results/{name}/summary.json",
        # kept from run to run: a new depth or strength then needs no finer solve
        update("results/{name}/finer.npz"),
    log:
        "results/{name}/logs/tabulate_bondline.log",
    conda:
        "environment.yaml"
    params:
        case=case_digest(Case.model_dump_json),
        sources=POST,
    message:
        "Tabulate the bondlines and the depth ladder of {wildcards.name}"
    shell:
        "python -m post bondline {input:q} {output} > {log} 2>&1"


rule write_fields:
    input:
        "results/{name}/inputs.yaml",
        "results/{name}/mesh.msh",
        "results/{name}/answer.npz",
    output:
        "results/{name}/fields.vtu",
    log:
        "results/{name}/logs/write_fields.log",
    conda:
        "environment.yaml"
    params:
        case=case_digest(Case.model_dump_json),
        sources=POST,
    message:
        "Write the fields of {wildcards.name}"
    shell:
        "python -m post fields {input:q} {output} > {log} 2>&1"


rule draw_figures:
    input:
        "results/{name}/inputs.yaml",
        "results/{name}/mesh.msh",
        "results/{name}/answer.npz",
        "results/{name}/buckling.npz",
        "results/{name}/bondline.parquet",
    output:
        directory("results/{name}/figures"),
    log:
        "results/{name}/logs/draw_figures.log",
    conda:
        "environment.yaml"
    params:
        case=case_digest(Case.model_dump_json),
        sources=POST,
    message:
        "Draw the figures of {wildcards.name}"
    shell:
        "python -m post figures {input:q} {output} > {log} 2>&1"


rule cost_process:
    input:
        ancient(case_file),
        "results/{name}/mesh.msh",
        "results/{name}/answer.npz",
    output:
        "results/{name}/process.json",
        "results/{name}/process.csv",
        # kept from run to run: a new depth or strength then solves none of the variants
        update("results/{name}/process.npz"),
    log:
        "results/{name}/logs/cost_process.log",
    conda:
        "environment.yaml"
    params:
        case=case_digest(costed_part),
        sources=POST,
    message:
        "Find what the process costs {wildcards.name} in depth"
    shell:
        "python -m post process {input:q} {output} > {log} 2>&1"


rule try_changes:
    input:
        ancient(case_file),
        "results/{name}/buckling.npz",
    output:
        "results/{name}/changes.json",
        "results/{name}/changes.csv",
    log:
        "results/{name}/logs/try_changes.log",
    conda:
        "environment.yaml"
    params:
        case=case_digest(exchanged_part),
        sources=POST,
    message:
        "Try single changes of {wildcards.name}"
    shell:
        "python -m post changes {input:q} {output} > {log} 2>&1"


rule write_report:
    input:
        joint=[
            "results/{name}/inputs.yaml",
            "results/{name}/mesh.msh",
            "results/{name}/answer.npz",
            "results/{name}/bondline.parquet",
            "results/{name}/summary.json",
            "results/{name}/figures",
            "results/{name}/process.json",
            "results/{name}/changes.json",
        ],
        verified=verified_numbers,
    output:
        "results/{name}/report.html",
    log:
        "results/{name}/logs/write_report.log",
    conda:
        "environment.yaml"
    params:
        case=case_digest(Case.model_dump_json),
        # those that are there: a study that is finished later brings the report to name it
        studies=lambda wildcards: ",".join(map(str, finished_studies_of(wildcards))) or "-",
        studied=lambda wildcards: study_tables(wildcards),
        verified=lambda wildcards, input: str(input.verified) or "-",
        sources=POST,
    message:
        "Write the report of {wildcards.name}"
    shell:
        "python -m post report {input.joint:q} {params.studies} {params.verified} {output} > {log} 2>&1"


rule write_bond_sheet:
    input:
        "results/{name}/inputs.yaml",
        "results/{name}/summary.json",
    output:
        "results/{name}/bond_sheet.html",
    log:
        "results/{name}/logs/write_bond_sheet.log",
    conda:
        "environment.yaml"
    params:
        case=case_digest(Case.model_dump_json),
        sources=POST,
    message:
        "Write the bond sheet of {wildcards.name}"
    shell:
        "python -m post sheet {input:q} {output} > {log} 2>&1"


rule predict_gauges:
    input:
        "results/{name}/inputs.yaml",
        "results/{name}/mesh.msh",
        "results/{name}/answer.npz",
    output:
        "results/{name}/gauges.csv",
        "results/{name}/gauges.html",
    log:
        "results/{name}/logs/predict_gauges.log",
    conda:
        "environment.yaml"
    params:
        case=case_digest(Case.model_dump_json),
        sources=POST,
    message:
        "Predict the strain gauges of {wildcards.name}"
    shell:
        "python -m post gauges {input:q} {output} > {log} 2>&1"


rule compare_proof:
    input:
        case="results/{name}/inputs.yaml",
        gauges="results/{name}/gauges.csv",
        measured=proof_tables,
    output:
        "results/{name}/proof.html",
        "results/{name}/proof.csv",
    log:
        "results/{name}/logs/compare_proof.log",
    conda:
        "environment.yaml"
    params:
        case=case_digest(Case.model_dump_json),
        folder=lambda wildcards: proof_folder(wildcards),
        sources=POST,
    message:
        "Compare the proof test of {wildcards.name} with its prediction"
    shell:
        "python -m post proof {input.case:q} {input.gauges:q} {params.folder:q} {output} > {log} 2>&1"


rule list_versions:
    input:
        "results/{name}/answer.npz",
    output:
        "results/{name}/versions.json",
    log:
        "results/{name}/logs/list_versions.log",
    conda:
        "environment.yaml"
    params:
        sources=POST,
    message:
        "List the versions behind {wildcards.name}"
    shell:
        "python -m post versions {output} > {log} 2>&1"


rule write_manifest:
    input:
        expand("results/{{name}}/{file}", file=RESULTS),
    output:
        "results/{name}/manifest.json",
    log:
        "results/{name}/logs/write_manifest.log",
    conda:
        "environment.yaml"
    params:
        folder=lambda wildcards, output: str(Path(output[0]).parent),
        case=case_digest(Case.model_dump_json),
        sources=POST,
    message:
        "Write the manifest of {wildcards.name}"
    shell:
        "python -m post manifest {params.folder:q} {output} > {log} 2>&1"


rule compare_layups:
    input:
        ancient(case_file),
    output:
        "results/{name}/layups.html",
        "results/{name}/layups.csv",
    log:
        "results/{name}/logs/compare_layups.log",
    conda:
        "environment.yaml"
    params:
        case=case_digest(Case.model_dump_json),
        sources=POST,
    message:
        "Compare layups of the same thickness for {wildcards.name}"
    shell:
        "python -m post layups {input:q} {output} > {log} 2>&1"


rule size_walls:
    input:
        ancient(case_file),
    output:
        "results/{name}/sizing.html",
        "results/{name}/sizing.csv",
    log:
        "results/{name}/logs/size_walls.log",
    conda:
        "environment.yaml"
    params:
        case=case_digest(Case.model_dump_json),
        sources=POST,
    message:
        "Size the wall of every material for {wildcards.name}"
    shell:
        "python -m post sizing {input:q} {output} > {log} 2>&1"


rule plan_study:
    input:
        ancient(study_file),
    output:
        "results/studies/{study}/points.parquet",
    log:
        "results/studies/{study}/logs/plan_study.log",
    conda:
        "environment.yaml"
    params:
        study=study_digest,
        sources=POST,
    message:
        "Plan the points of the study {wildcards.study}"
    shell:
        "python -m post study_plan {input:q} {output} > {log} 2>&1"


rule set_up_study:
    input:
        ancient(study_file),
    output:
        "results/studies/{study}/reduced.pickle",
    log:
        "results/studies/{study}/logs/set_up_study.log",
    conda:
        "environment.yaml"
    params:
        model=set_up_digest,
    message:
        "Set up the reduced model of the study {wildcards.study}"
    shell:
        "python -m post study_set_up {input:q} {output} > {log} 2>&1"


rule run_batch:
    input:
        study=ancient(study_file),
        points="results/studies/{study}/points.parquet",
        model=reduced_model,
    output:
        "results/studies/{study}/batches/{batch}.parquet",
    log:
        "results/studies/{study}/logs/batch-{batch}.log",
    conda:
        "environment.yaml"
    threads: batch_threads
    params:
        study=study_digest,
        size=points_a_batch,
        sources=POST,
    message:
        "Evaluate batch {wildcards.batch} of the study {wildcards.study}"
    shell:
        # its progress is for the terminal too
        "python -m post study_batch {input.study:q} {input.points} {params.size}"
        " {wildcards.batch} {output}"
        " 2>&1 | tee {log} >&2"


rule gather_study:
    input:
        study=ancient(study_file),
        batches=study_batches,
    output:
        "results/studies/{study}/table.parquet",
        "results/studies/{study}/table.csv",
    log:
        "results/studies/{study}/logs/gather_study.log",
    conda:
        "environment.yaml"
    params:
        study=study_digest,
        size=points_a_batch,
        batches=lambda wildcards: f"results/studies/{wildcards.study}/batches",
        sources=POST,
    message:
        "Gather the batches of the study {wildcards.study}"
    shell:
        "python -m post study_gather {input.study:q} {params.size} {params.batches:q} {output}"
        " > {log} 2>&1"


rule show_study:
    input:
        study_file,
        "results/studies/{study}/table.parquet",
    output:
        "results/studies/{study}/study.html",
    log:
        "results/studies/{study}/logs/show_study.log",
    conda:
        "environment.yaml"
    params:
        sources=POST,
    message:
        "Show the study {wildcards.study}"
    shell:
        "python -m post study_page {input:q} {output} > {log} 2>&1"


rule compare:
    input:
        compared_results,
    output:
        f"results/compare/{'+'.join(compared) or 'none'}/compare.html",
        f"results/compare/{'+'.join(compared) or 'none'}/compare.csv",
    log:
        f"results/compare/{'+'.join(compared) or 'none'}/compare.log",
    conda:
        "environment.yaml"
    params:
        names=",".join(compared),
        sources=POST,
    message:
        "Compare {params.names}"
    shell:
        "python -m post compare_cases {params.names} results {output} > {log} 2>&1"


rule write_schema:
    output:
        "geometry/case.schema.json",
    log:
        "results/logs/write_schema.log",
    conda:
        "environment.yaml"
    params:
        sources=GEOMETRY,
    message:
        "Write the schema of case files"
    shell:
        "python -m geometry schema {output} > {log} 2>&1"


rule write_study_schema:
    output:
        "studies/study.schema.json",
    log:
        "results/logs/write_study_schema.log",
    conda:
        "environment.yaml"
    params:
        sources=POST,
    message:
        "Write the schema of study files"
    shell:
        "python -m post study_schema {output} > {log} 2>&1"


rule verify:
    output:
        "results/verification/verification.html",
        "results/verification/verification.csv",
    log:
        "results/verification/verify.log",
    conda:
        "environment.yaml"
    params:
        sources=POST,
    message:
        "Verify against published values"
    shell:
        "python -m post verify {output} > {log} 2>&1"


rule take_pictures:
    input:
        "results/lander/report.html",
        "results/lander/bond_sheet.html",
        "results/flawed/report.html",
        "results/studies/joint/study.html",
    output:
        expand("docs/pictures/{picture}.png", picture=GUIDE_PICTURES),
    log:
        "results/logs/take_pictures.log",
    conda:
        "environment.yaml"
    message:
        "Take the pictures of the guide"
    shell:
        "python tools/guide_pictures.py results docs/pictures > {log} 2>&1"
