"""The workflow builds what design and README promise, and reruns no more than an edit calls for.

What a step depends on is ours to say; that files, parameters and contents decide a rerun is the
documented behaviour of Snakemake 9 ("Rerun triggers"). One copy of the project is built once for
all tests, on the coarsest mesh; each test here edits the copy, asks with a dry run what would be
done, and puts the edit back.
"""

import re
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from geometry.case import read_case
from geometry.errors import CaseError
from tests.built import snakemake

pytestmark = pytest.mark.slow

ROOT = Path(__file__).parents[1]
PRODUCTS = """bond_sheet.html bondline.csv bondline.parquet buckling.npz fields.vtu figures
finer.npz flaws.npz inputs.yaml ladder.csv manifest.json mesh.msh process.csv process.json
process.npz report.html section.svg summary.json versions.json""".split()

TABLES = {"tabulate_bondline", "write_fields", "draw_figures", "cost_process", "write_report"}
PRODUCTS += ["changes.csv", "changes.json"]
OF_NUMBERS = {"cost_process", "try_changes"}  # that no word and no life changes
TABLES |= {"try_changes", "write_bond_sheet", "write_manifest"}
SOLVE = TABLES | {"solve_joint", "solve_flaws", "solve_buckling", "list_versions"}
MESH = SOLVE | {"mesh_section"}
CHECK = {"check_case", "draw_section"}


def plan(folder: Path, *words: str) -> set[str]:
    """Name the rules that a run would execute, from the table of a dry run."""
    done = snakemake(folder, "--dry-run", "--quiet", "host", "reason", *words)
    assert done.returncode == 0, done.stdout
    table = done.stdout.partition("Job stats:")[2].partition("\n\n")[0]
    assert table or "Nothing to be done" in done.stdout, done.stdout
    return set(re.findall(r"^([a-z_]+) +\d+$", table, re.MULTILINE)) - {"all", "total"}


@contextmanager
def edited(path: Path, old: str, new: str) -> Iterator[None]:
    """Replace the one place where a file says `old`, for a while."""
    before = path.read_text()
    assert before.count(old) == 1
    path.write_text(before.replace(old, new))
    try:
        yield
    finally:
        path.write_text(before)


def test_alone_it_builds_every_product_of_the_demo(built):
    made = {path.name for path in (built / "results/lander").iterdir()}
    assert set(PRODUCTS) <= made
    assert not (built / "results/tube").exists()


def test_a_second_run_finds_nothing_to_do(built):
    assert plan(built) == set()


def test_a_touched_case_reruns_nothing(built):
    (built / "cases/lander/case.yaml").touch()
    assert plan(built) == set()


@pytest.mark.parametrize(
    ("old", "new", "rerun"),
    [
        ("title: Instrument", "title: Large instrument", CHECK | TABLES - OF_NUMBERS),
        ("dives: 500", "dives: 600", CHECK | TABLES - OF_NUMBERS),
        ("depth: 3000 m", "depth: 3500 m", CHECK | TABLES),
        (
            "service_temperature: 2 degC",
            "service_temperature: 4 degC",
            CHECK | TABLES | {"solve_buckling"},
        ),
        ("target: 2 %", "target: 1 %", CHECK | TABLES),
        ("adhesive, factor: 0.85", "adhesive, factor: 0.7", CHECK | TABLES),
        ("tensile: 41 MPa", "tensile: 30 MPa", CHECK | TABLES),
        ("GIc: 0.9", "GIc: 0.8", CHECK | TABLES),
        ("density: 1250", "density: 1300", CHECK | TABLES),
        ("waviness: 1 deg", "waviness: 2 deg", CHECK | TABLES),
        ("voids: 1 %", "voids: 2 %", CHECK | SOLVE),
        ("E: 2.8 GPa", "E: 2.9 GPa", CHECK | SOLVE),
        ("cte: 60e-6", "cte: 61e-6", CHECK | SOLVE),
        ("end: 1.0 mm", "end: 1.1 mm", CHECK | MESH),
    ],
)
def test_an_edited_case_reruns_what_depends_on_it(built, old, new, rerun):
    with edited(built / "cases/lander/case.yaml", old, new):
        assert plan(built) == rerun


def test_an_edited_card_reruns_the_cases_that_use_it(built):
    library = (built / "geometry/materials.yaml").read_text()
    used, other_metal, unused = (
        re.search(rf"^{card}:\n(?:  .*\n)*", library, re.MULTILINE).group()
        for card in ("carbon-epoxy-im", "steel-316l", "acrylic")
    )
    for card, old, new, rerun in (
        (used, r"nu12: 0\.3", "nu12: 0.2", CHECK | SOLVE),
        (used, r"XC: 1400", "XC: 1300", CHECK | TABLES),
        (other_metal, r"nu: 0\.28", "nu: 0.3", {"try_changes", "write_report", "write_manifest"}),
        (unused, r"nu: 0\.3", "nu: 0.2", set()),
    ):
        other = re.sub(old, new, card)
        assert other != card
        with edited(built / "geometry/materials.yaml", card, other):
            assert plan(built) == rerun


@pytest.mark.parametrize(
    ("package", "rerun"),
    [
        ("geometry", CHECK | MESH),
        ("solve", {"draw_section"} | SOLVE),
        ("post", {"draw_section", "list_versions"} | TABLES),
    ],
)
def test_an_edited_module_reruns_the_steps_that_run_it(built, package, rerun):
    module = built / package / "__init__.py"
    with edited(module, module.read_text(), module.read_text() + "\n# edited\n"):
        assert plan(built) == rerun


def test_any_case_is_built_by_its_target_or_by_config(project):
    everything = CHECK | MESH
    target = "results/tube/report.html"
    assert plan(project, "--", target) == everything - {
        "draw_section",
        "write_fields",
        "write_bond_sheet",
        "write_manifest",
        "list_versions",
    }
    assert plan(project, "--config", "case=cases/tube/case.yaml") == everything


def test_a_case_elsewhere_is_named_after_its_folder(project, tmp_path):
    (tmp_path / "mine").mkdir()
    case = shutil.copy(project / "cases/tube/case.yaml", tmp_path / "mine")
    done = snakemake(project, "results/mine/inputs.yaml", "--config", f"case={case}")
    assert done.returncode == 0, done.stdout
    assert read_case(project / "results/mine/inputs.yaml") == read_case(case)


@pytest.mark.parametrize(
    ("old", "new", "field"),
    [
        ("overlap: {inner", "overlap: {iner", "joint.overlap.iner"),
        ("half_length: 300 mm", "half_length: 30 mm", "joint.overlap"),
        ("depth: 3000 m", "depth: 3000", "duty.depth"),
        ("squeeze_out: 1.0 mm", "squeeze_out: 0.002 mm", "triangles; allowed: up to"),
    ],
)
def test_a_broken_case_stops_in_one_line_before_any_rule(project, tmp_path, old, new, field):
    (tmp_path / "broken").mkdir()
    case = Path(shutil.copy(ROOT / "cases/lander/case.yaml", tmp_path / "broken"))
    with edited(case, old, new):
        done = snakemake(project, "--config", f"case={case}")
    said = done.stdout.partition("Building DAG of jobs...\n")[2]
    assert done.returncode == 1
    assert said.count("\n") == 1
    assert said.startswith(f"{case}:")
    assert field in said
    assert not (project / "results/broken").exists()


def test_a_missing_case_is_named(project):
    done = snakemake(project, "results/nowhere/report.html")
    with pytest.raises(CaseError) as refusal:
        read_case("cases/nowhere/case.yaml")
    assert done.returncode == 1
    assert done.stdout.endswith(f"Building DAG of jobs...\n{refusal.value}\n")


def test_a_failing_step_shows_its_log(project):
    module = project / "solve" / "__init__.py"
    with edited(module, module.read_text(), "raise SystemExit('no answer today')\n"):
        done = snakemake(project, "results/minimal/answer.npz")
    assert done.returncode == 1
    assert "no answer today" in done.stdout
    assert not (project / "results/minimal/answer.npz").exists()


def test_a_comparison_takes_of_each_case_what_it_reads(project):
    steps = {"check_case", "mesh_section", "solve_joint", "solve_flaws", "solve_buckling"}
    planned = plan(project, "--config", "cases=tube,minimal", "--", "compare")
    assert planned - steps == {"tabulate_bondline", "compare"}


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--config", "cases=lander,tubo"), "did you mean 'tube'?"),
        ((), "compare: no cases are named; allowed: --config cases=A,B"),
    ],
)
def test_a_comparison_that_cannot_be_is_refused_in_one_line(project, words, said):
    done = snakemake(project, "compare", *words)
    assert done.returncode == 1
    (line,) = [line for line in done.stdout.splitlines() if "cases" in line]
    assert said in line
    assert "Traceback" not in done.stdout
