"""The clone installs as it says: pins, system libraries, licence, citation, package data.

Most of this is common practice with no published source; where a standard sets the rule, the
test names it.
"""

import importlib.metadata
import importlib.resources
import re
import runpy
import sys
import tomllib
from pathlib import Path

import pytest
from ruamel.yaml import YAML

ROOT = Path(__file__).parents[1]
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text())["project"]
PINS = dict(line.split("==") for line in (ROOT / "constraints.txt").read_text().splitlines())
SYSTEM_LIBRARIES = ROOT / "tools" / "system_libraries.py"


def normalized(name: str) -> str:
    """Spell a distribution's name in one way: PEP 503, section "Normalized Names"."""
    return re.sub(r"[-_.]+", "-", name).lower()


def name_of(requirement: str) -> str:
    return normalized(re.match(r"[\w.-]+", requirement).group())


def test_constraints_hold_names_and_versions_only():
    # PEP 508 names, PEP 440 versions; anything else (a path, an address, a hash) is refused.
    for line in (ROOT / "constraints.txt").read_text().splitlines():
        assert re.fullmatch(r"[A-Za-z0-9][\w.-]*==[0-9][A-Za-z0-9.]*", line), line


def test_every_dependency_is_pinned():
    pinned = {normalized(name) for name in PINS}
    wanted = [*PROJECT["dependencies"], *sum(PROJECT["optional-dependencies"].values(), [])]
    assert {name_of(requirement) for requirement in wanted} <= pinned


def test_pins_reach_all_that_the_dependencies_pull_in():
    # Follow the metadata of what is installed (PEP 566, Requires-Dist) from our own list.
    pinned = {normalized(name) for name in PINS}
    extras = sum(PROJECT["optional-dependencies"].values(), [])
    wanted = [name_of(requirement) for requirement in [*PROJECT["dependencies"], *extras]]
    waiting = [name for name in wanted if is_installed(name)]
    seen = set()
    while waiting:
        name = waiting.pop()
        if name in seen:
            continue
        seen.add(name)
        for requirement in importlib.metadata.requires(name) or []:
            needed = name_of(requirement)
            if "extra ==" not in requirement and is_installed(needed):
                waiting.append(needed)
    assert len(seen) > len(PROJECT["dependencies"])
    assert seen - {"setuptools", "pip"} <= pinned


@pytest.mark.skipif(
    Path(sys.prefix) != ROOT / ".venv", reason="not the environment that make test installs"
)
def test_nothing_is_installed_that_is_not_pinned():
    pins = {normalized(name): version for name, version in PINS.items()}
    installed = {
        normalized(found.metadata["Name"]): found.version
        for found in importlib.metadata.distributions()
    }
    own = {"hullring", "pip", "setuptools"}
    assert {n: v for n, v in installed.items() if n not in own and pins.get(n) != v} == {}


def test_every_licence_suits_ours():
    # Free Software Foundation, "Various Licenses and Comments about Them"; tools/licences.py
    licences = runpy.run_path(str(ROOT / "tools" / "licences.py"))
    rows = licences["listed"]()
    assert len(rows) > 100
    assert [row for row in rows if licences["WRONG"] in row[3]] == []


@pytest.mark.parametrize(
    ("said", "suits"),
    [
        ("MIT", True),
        ("BSD-3-Clause AND Zlib", True),
        ("Proprietary OR Apache-2.0", True),
        ("Intel Simplified Software License", False),
        ("MIT AND Proprietary", False),
        ("GPL-2.0-only", False),
        ("none stated", False),
        ("", False),
    ],
)
def test_a_licence_suits_only_where_it_is_known_to(said, suits):
    # GPL-2.0-only and proprietary terms do not combine with version 3 of the GPL (same source)
    licences = runpy.run_path(str(ROOT / "tools" / "licences.py"))
    assert (licences["WRONG"] not in licences["kinds"](said)) == suits


def is_installed(name: str) -> bool:
    try:
        importlib.metadata.version(name)
    except importlib.metadata.PackageNotFoundError:
        return False
    return True


def test_environment_file_repeats_the_pins():
    environment = YAML(typ="safe").load(ROOT / "environment.yaml")
    (listed,) = (part["pip"] for part in environment["dependencies"] if isinstance(part, dict))
    pins = {normalized(name): version for name, version in PINS.items()}
    expected = {
        name_of(requirement): pins[name_of(requirement)] for requirement in PROJECT["dependencies"]
    }
    assert {normalized(k): v for k, v in (line.split("==") for line in listed)} == expected


def test_material_library_is_part_of_the_package():
    assert importlib.resources.files("geometry").joinpath("materials.yaml").is_file()


def test_system_libraries_are_the_eight_a_bare_debian_lacks():
    # Found by importing gmsh and pyvista and rendering on a bare Debian 12 (recomputed).
    libraries = runpy.run_path(str(SYSTEM_LIBRARIES))["LIBRARIES"]
    assert sorted(libraries.values()) == [
        "libegl1",
        "libgl1",
        "libglu1-mesa",
        "libgomp1",
        "libxcursor1",
        "libxft2",
        "libxinerama1",
        "libxrender1",
    ]


def test_missing_libraries_without_root_are_one_line(monkeypatch, capsys):
    module = runpy.run_path(str(SYSTEM_LIBRARIES))
    names = module["main"].__globals__
    monkeypatch.setitem(names, "loads", lambda library: library != "libEGL.so.1")
    monkeypatch.setattr("os.geteuid", lambda: 1000)
    assert module["main"]() == 1
    printed = capsys.readouterr()
    assert printed.out == ""
    assert printed.err == "System libraries are missing. Install: apt-get install libegl1\n"


def test_nothing_is_missing_where_the_tests_run():
    assert runpy.run_path(str(SYSTEM_LIBRARIES))["missing_packages"]() == []


def test_libraries_that_do_not_load_are_named():
    module = runpy.run_path(str(SYSTEM_LIBRARIES))
    assert not module["loads"]("libNoSuchLibrary.so.1")
    assert module["loads"]("libc.so.6")


def test_licence_suits_the_mesher():
    # The mesher is GPL-2.0-or-later, pyarrow Apache-2.0: version 3 of the GPL admits both
    # (Free Software Foundation, "Various Licenses and Comments about Them", Apache License 2.0).
    text = (ROOT / "LICENSE").read_text()
    assert text.split()[:6] == ["GNU", "GENERAL", "PUBLIC", "LICENSE", "Version", "3,"]
    assert PROJECT["license"] == "GPL-3.0-or-later"


def test_citation_is_valid_and_of_this_version():
    # Citation File Format 1.2.0, schema guide: the four keys that a file must have.
    citation = YAML(typ="safe").load(ROOT / "CITATION.cff")
    assert {"cff-version", "message", "title", "authors"} <= citation.keys()
    assert citation["cff-version"] == "1.2.0"
    assert citation["authors"] == [{"name": "hullring developers"}]
    assert str(citation["version"]) == PROJECT["version"]
    assert citation["license"] == PROJECT["license"]


def test_changelog_keeps_its_form():
    # Keep a Changelog 1.1.0: versions as second-level headings, the unreleased one first.
    headings = re.findall(r"^## (.+)$", (ROOT / "CHANGELOG.md").read_text(), re.MULTILINE)
    assert headings[0] == "[Unreleased]"
    assert all(
        re.fullmatch(r"\[\d+\.\d+\.\d+\] - \d{4}-\d\d-\d\d", heading) for heading in headings[1:]
    )


def test_readme_says_the_commands_that_exist():
    targets = set(re.findall(r"^([\w-]+):(?!=)", (ROOT / "Makefile").read_text(), re.MULTILINE))
    said = set(re.findall(r"^    make ([\w-]+)", (ROOT / "README.md").read_text(), re.MULTILINE))
    assert {"demo", "test"} <= said <= targets
