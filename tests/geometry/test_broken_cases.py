"""A broken case gets one line that names the field and what is allowed, never a traceback."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from geometry.bounds import FILE_BYTES
from geometry.case import read_case
from geometry.errors import CaseError, refuse

LANDER = Path("cases/lander/case.yaml").read_text(encoding="utf-8")
LAYUP = "    - {ply: carbon-epoxy-im, thickness: 0.19 mm, angles: [90, 0], repeats: 76}\n"
GAPS = "bond_thickness: {inner: 2.0 mm, end: 1.0 mm, outer: 2.0 mm}"
OVERLAP = "overlap: {inner: 100 mm, outer: 80 mm}"
LIP = "  lip: {inner: 8 mm, outer: 8 mm}\n"
TIP = "  lip_tip: {inner: 1 mm, outer: 1 mm}\n"
HEAD = "head:\n  form: hemisphere\n  material: titanium-6al-4v\n  thickness: 15 mm\n"
PASTE = (
    "materials:\n  my-paste:\n    kind: adhesive\n    source: a data sheet\n    basis: typical\n"
    "    elastic: {symmetry: isotropic, E: 2 GPa, nu: 0.4, cte: 70e-6 /K}\n"
)

# what is broken; what stands in the place of what; the field; words of the line
BROKEN = {
    # units and numbers
    "bad unit": ("{inner: 2.0 mm", "{inner: 2.0 mmm", "joint.bond_thickness.inner", "'mm'?"),
    "bare number": ("web: 20 mm", "web: 20", "ring.web", "bare number; a length from 0.5 mm"),
    "no unit in a text": ("web: 20 mm", "web: '20'", "ring.web", "has no unit; a length"),
    "another unit": ("web: 20 mm", "web: 20 kg", "ring.web", "is not a length; such as"),
    "an area for a length": ("web: 20 mm", "web: 20 mm^2", "ring.web", "a length"),
    "comma for a point": ("web: 20 mm", "web: 20,5 mm", "ring.web", "decimal point; '20.5 mm'?"),
    "capitals of a unit": ("depth: 3000 m", "pressure: 30 MPA", "duty.pressure", "'MPa'?"),
    "temperature in C": ("2 degC", "2 C", "duty.service_temperature", "'degC'?"),
    "bare temperature": ("2 degC", "0", "duty.service_temperature", "such as 20 degC"),
    "below absolute zero": ("2 degC", "-300 degC", "duty.service_temperature", "from -100 degC"),
    "not a number": ("web: 20 mm", "web: .nan", "ring.web", "a length"),
    "infinite": ("web: 20 mm", "web: .inf", "ring.web", "a length"),
    "a mapping for a number": ("web: 20 mm", "web: {a: 1}", "ring.web", "is not a length"),
    "a list for a number": ("web: 20 mm", "web: [20 mm]", "ring.web", "is not a length"),
    "true for a number": ("web: 20 mm", "web: true", "ring.web", "is not a length"),
    "negative thickness": ("0.19 mm", "-0.19 mm", "wall.layup[0].thickness", "from 0.005 mm"),
    "negative web": ("web: 20 mm", "web: -20 mm", "ring.web", "from 0.5 mm to 2 m"),
    "enormous radius": ("150 mm", "150 km", "wall.bore_radius", "from 5 mm to 5 m"),
    "enormous depth": ("3000 m", "3e9 m", "duty.depth", "from 1 m to 11000 m"),
    "enormous number": ("150 mm", "1e999 mm", "wall.bore_radius", "too large; a length"),
    "no depth at all": ("depth: 3000 m", "depth:", "duty", "pressure: 30.6 MPa"),
    "depth and pressure": ("  dives", "  pressure: 30 MPa\n  dives", "duty.pressure", "one of"),
    "half a dive": ("dives: 500", "dives: 0.5", "duty.dives", "a whole number"),
    "ratio below one": ("_ratio: 1.5", "_ratio: 0.5", "duty.required_ratio", "equal to 1"),
    "ratio with a unit": ("_ratio: 1.5", "_ratio: 1.5 m", "duty.required_ratio", "a number"),
    "voids without a unit": ("voids: 1 %", "voids: 0.01", "wall.voids", "such as 1 %"),
    # names and fields
    "misspelt field": ("bore_radius", "bore_radus", "wall.bore_radus", "'bore_radius'?"),
    "no blank after a colon": (
        "outer: 2.0 mm}",
        "outer:2.0 mm}",
        "joint.bond_thickness.outer:2.0 mm",
        "'outer: 2.0 mm'?",
    ),
    "misspelt part": ("wall:\n  bore", "wal:\n  bore", "wal", "title, note, duty; 'wall'?"),
    "missing field": ("  half_length: 300 mm\n", "", "wall.half_length", "such as 300 mm"),
    "missing part": (HEAD, "", "head", "form, material, thickness"),
    "empty part": (HEAD, "head:\n", "head", "form, material, thickness"),
    "text for a part": (HEAD, "head: hemisphere\n", "head", "not a mapping; form, material"),
    "unknown material": ("epoxy-paste", "epoxy-pste", "joint.adhesive", "'epoxy-paste'?"),
    "unknown ply": ("carbon-epoxy-im", "carbon-epxy-im", "wall.layup[0].ply", "'carbon-epoxy-im'?"),
    "metal for glue": (
        "epoxy-paste",
        "steel-316l",
        "joint.adhesive",
        "is of kind metal; epoxy-paste",
    ),
    "glue for a ply": (
        "carbon-epoxy-im",
        "epoxy-paste",
        "wall.layup[0].ply",
        "is of kind adhesive; ply",
    ),
    "ply for a ring": (
        "ring:\n  material: titanium-6al-4v",
        "ring:\n  material: glass-epoxy-a",
        "ring.material",
        "is of kind ply; metal or plastic",
    ),
    "path for a name": ("epoxy-paste", "../../etc/passwd", "joint.adhesive", "is not a name"),
    "misspelt form": ("form: socket", "form: sockt", "joint.form", "butt; 'socket'?"),
    "misspelt head": ("form: hemisphere", "form: hemispher", "head.form", "flat; 'hemisphere'?"),
    "title over two lines": (
        "title: Instrument lander, 3000 m",
        'title: "two\\nlines"',
        "title",
        "on one line",
    ),
    "endless title": ("Instrument lander", "x" * 500, "title", "too long; at most 200"),
    "number for a title": ("title: Instrument lander, 3000 m", "title: 12", "title", "text"),
    # layup
    "empty layup": ("layup:\n" + LAYUP, "layup: []\n", "wall.layup", "at least one entry"),
    "layup without a list": ("layup:\n" + LAYUP, "layup: 3\n", "wall.layup", "a list"),
    "no angles": ("[90, 0]", "[]", "wall.layup[0].angles", "at least one entry"),
    "angle as text": ("[90, 0]", "[90, x]", "wall.layup[0].angles[1]", "a number"),
    "angle of three turns": ("[90, 0]", "[90, 1080]", "wall.layup[0].angles[1]", "to 180"),
    "201 angles": ("[90, 0]", str([0] * 201), "wall.layup[0].angles", "at most 200"),
    "enormous repeats": ("repeats: 76", "repeats: 1000000000", "wall.layup[0].repeats", "to 5000"),
    "endless digits": ("repeats: 76", "repeats: " + "9" * 9000, "wall.layup[0].repeats", "number"),
    "half a repeat": ("repeats: 76", "repeats: 2.5", "wall.layup[0].repeats", "a whole number"),
    "no repeat": ("repeats: 76", "repeats: 0", "wall.layup[0].repeats", "equal to 1"),
    "too many plies": ("repeats: 76", "repeats: 5000", "wall.layup", "up to 5000 plies"),
    "too many single plies": (
        "  waviness",
        "  resolve_plies: {innermost: 100, outermost: 100}\n  waviness",
        "wall.resolve_plies",
        "up to 152",
    ),
    "chamfer of half the wall": (
        "  waviness",
        "  edge_chamfer: 15 mm\n  waviness",
        "wall.edge_chamfer",
        "less than half of the wall, 14.44 mm",
    ),
    # what the fields must agree on
    "bond that the form lacks": (
        GAPS,
        GAPS[:-1] + ", scarf: 1 mm}",
        "joint.bond_thickness.scarf",
        "no bond of form socket; inner, end, outer",
    ),
    "bond left out": (
        GAPS,
        "bond_thickness: {inner: 1 mm, end: 1 mm}",
        "joint.bond_thickness.outer",
        "is missing; inner, end, outer",
    ),
    "lap that the form lacks": (
        "form: socket",
        "form: inner-lap",
        "joint.bond_thickness.outer",
        "no bond of form inner-lap; inner, end",
    ),
    "overlap left out": (OVERLAP, "overlap: {inner: 100 mm}", "joint.overlap.outer", "is missing"),
    "overlap longer than the wall": (
        OVERLAP,
        "overlap: {inner: 300 mm, outer: 80 mm}",
        "joint.overlap.inner",
        "longer than the wall; less than wall.half_length, 300 mm",
    ),
    "fillet larger than the bond": (
        "squeeze_out: 1.0 mm",
        "squeeze_out: 1.5 mm",
        "joint.squeeze_out",
        "up to the bond's thickness, 1 mm",
    ),
    "bond of no thickness": (GAPS, "bond_thickness: 0 mm", "joint.bond_thickness", "from 0.02 mm"),
    "lip left out": (LIP, "", "ring.lip.inner", "is missing: form socket; such as 12 mm"),
    "lip of nothing": (LIP, "  lip: {inner: 0, outer: 0}\n", "ring.lip_tip.inner", "thicker than"),
    "tip above the root": (TIP, "  lip_tip: {inner: 13 mm}\n", "ring.lip_tip.inner", "up to ring"),
    "tip of nothing": (TIP, "  lip_tip: {inner: 0 mm}\n", "ring.lip_tip.inner", "above 0 mm"),
    "ring inside out": (
        "  web:",
        "  inner_radius: 200 mm\n  outer_radius: 170 mm\n  web:",
        "ring.inner_radius",
        "less than ring.outer_radius, 170 mm",
    ),
    "head thicker than its radius": (
        "thickness: 15 mm",
        "thickness: 160 mm",
        "head.thickness",
        "less than the head's inner radius",
    ),
    "head of no radius": ("thickness: 15 mm", "inner_radius: 0 mm", "head.inner_radius", "1 mm"),
    "head on a solid ring": ("  web:", "  inner_radius: 0\n  web:", "head.form", "no bore; none"),
    "head without thickness": ("  thickness: 15 mm\n", "", "head.thickness", "such as 10 mm"),
    "no head but a thickness": ("hemisphere", "none", "head.material", "there is no head"),
    "flat head with a radius": (
        HEAD,
        HEAD.replace("hemisphere", "flat") + "  inner_radius: 150 mm\n",
        "head.inner_radius",
        "a hemisphere's alone",
    ),
    "mesh level": (HEAD, HEAD + "mesh: {level: 9}\n", "mesh.level", "less than or equal to 3"),
    "mesh target": (HEAD, HEAD + "mesh: {target: 0 %}\n", "mesh.target", "0.01 % to 50 %"),
    "bare mesh target": (HEAD, HEAD + "mesh: {target: 0.01}\n", "mesh.target", "bare number"),
    # knock-downs
    "knock-down to nothing": ("0.85", "0", "knock_downs[0].factor", "equal to 0.05"),
    "knock-down that raises": ("0.85", "1.2", "knock_downs[0].factor", "equal to 1"),
    "knock-down as a text": ("0.85", "15 %", "knock_downs[0].factor", "a number"),
    "knock-down on what is not": (
        "on: adhesive",
        "on: adhesiv",
        "knock_downs[0].on",
        "wall; 'adhesive'?",
    ),
    "misspelt knock-down": ("factor: 0.85", "facter: 0.85", "knock_downs[0].facter", "'factor'?"),
    "knock-down without reason": (
        "factor: 0.85, reason: wet",
        "factor: 0.85",
        "knock_downs[0].reason",
        "is missing; such as wet",
    ),
    "knock-down without evidence": (
        "factor: 0.85, reason: wet, evidence: assumed",
        "factor: 0.85, reason: wet, evidence: ''",
        "knock_downs[0].evidence",
        "is empty",
    ),
    "knock-downs misspelt": ("knock_downs:", "knockdowns:", "knockdowns", "'knock_downs'?"),
    "knock-down on no head": (
        HEAD + "knock_downs:\n  - {on: adhesive",
        "head: {form: none}\nknock_downs:\n  - {on: head",
        "knock_downs[0].on",
        "there is no head; adhesive, wall, ring",
    ),
    # the case's own cards
    "card without symmetry": (
        HEAD,
        HEAD + PASTE.replace("symmetry: isotropic, ", ""),
        "materials.my-paste.elastic.symmetry",
        "is missing; isotropic, transverse, orthotropic",
    ),
    "card with a bare modulus": (
        HEAD,
        HEAD + PASTE.replace("2 GPa", "2000"),
        "materials.my-paste.elastic.E",
        "bare number; such as 3 GPa",
    ),
    "incompressible card": (
        HEAD,
        HEAD + PASTE.replace("0.4,", "0.5,"),
        "materials.my-paste.elastic.nu",
        "below 0.4999",
    ),
    "card without source": (
        HEAD,
        HEAD + PASTE.replace("    source: a data sheet\n", ""),
        "materials.my-paste.elastic.E.source",
        "is missing",
    ),
    "card that changes the library's": (
        HEAD,
        HEAD + PASTE.replace("my-paste", "epoxy-paste"),
        "materials.epoxy-paste",
        "a name of its own",
    ),
    "card with a strange strength": (
        HEAD,
        HEAD + PASTE + "    strengths: {tensle: 40 MPa}\n",
        "materials.my-paste.strengths.tensle",
        "'tensile'?",
    ),
    "card with a bare length": (
        HEAD,
        HEAD + PASTE + "    failure: {characteristic_length: 1}\n",
        "materials.my-paste.failure.characteristic_length",
        "bare number; such as 1 mm",
    ),
    "card with an exponent of one": (
        HEAD,
        HEAD + PASTE + "    failure: {shear_exponent: 1}\n",
        "materials.my-paste.failure.shear_exponent",
        "greater than 1",
    ),
    "card with a strange failure": (
        HEAD,
        HEAD + PASTE + "    failure: {puck_tensoin: 0.3}\n",
        "materials.my-paste.failure.puck_tensoin",
        "'puck_tension'?",
    ),
    "card with a capital": (HEAD, HEAD + PASTE.replace("my-p", "My-P"), "materials.My-Paste", "-"),
    # the file
    "written twice": ("  web:", "  web: 20 mm\n  web:", "ring.web", "is written twice; once"),
    "indented by a tab": ("  web:", "\tweb:", "", "tab; blanks"),
    "open bracket": (OVERLAP, "overlap: {inner: 100 mm", "", "is not YAML"),
    "unknown alias": ("web: 20 mm", "web: *web", "", "alias; plain values"),
    "alias to itself": ("web: 20 mm", "web: &w [*w]", "ring.web", "expands to too much; levels"),
    "a tag": ("web: 20 mm", "web: !!python/name:os.system x", "ring.web", "plain values"),
    "a tag on a list": ("[90, 0]", "!!set [90]", "wall.layup[0].angles", "plain values"),
    "two documents": (HEAD, HEAD + "---\n" + LANDER, "", "one document"),
}


def line_of(path: Path | str) -> str:
    """Give the one line a broken case gets."""
    with pytest.raises(CaseError) as refused:
        read_case(path)
    line = str(refused.value)
    assert "\n" not in line
    assert line.isprintable()
    assert len(line) <= 800
    assert line.startswith(os.fspath(path))
    assert "; allowed: " in line
    return line


@pytest.mark.parametrize("name", BROKEN)
def test_a_broken_case_gets_one_line(name: str, tmp_path: Path) -> None:
    old, new, field, words = BROKEN[name]
    assert old in LANDER
    path = tmp_path / "case.yaml"
    path.write_text(LANDER.replace(old, new), encoding="utf-8")
    line = line_of(path)
    if field:
        assert f": {field}: " in line
    for word in words.split("; "):
        assert word in line


def test_the_line_names_the_line_of_the_file(tmp_path: Path) -> None:
    path = tmp_path / "case.yaml"
    path.write_text(LANDER.replace("web: 20 mm", "web: 20 mmm"), encoding="utf-8")
    number = LANDER[: LANDER.index("web: 20 mm")].count("\n") + 1
    assert line_of(path) == (
        f"{path}:{number}: ring.web: '20 mmm' has a unit 'mmm' that is not known, not a length; "
        "allowed: a length such as 1.2 mm, in mm, cm, m, um, in, ft and the like; "
        "did you mean 'mm'?"
    )


def test_further_faults_are_counted(tmp_path: Path) -> None:
    path = tmp_path / "case.yaml"
    path.write_text(LANDER.replace(" mm", " mmm"), encoding="utf-8")
    assert line_of(path).endswith("more)")


def test_a_missing_file_is_named_with_its_nearest(tmp_path: Path) -> None:
    assert "did you mean 'cases/lander/case.yaml'?" in line_of("cases/landr/case.yaml")
    assert "no such file" in line_of(tmp_path / "nothing.yaml")


def test_a_folder_is_no_case() -> None:
    assert "is a folder" in line_of("cases/lander")
    assert "did you mean 'cases/lander/case.yaml'?" in line_of("cases/lander")


def test_a_pipe_or_a_device_is_no_case(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe")
    assert "is not a file" in line_of(tmp_path / "pipe")
    assert "is not a file" in line_of("/dev/zero")


def test_an_unreadable_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "case.yaml"
    path.write_text(LANDER)

    def closed(*args: object, **kwargs: object) -> None:
        # what opening a file without permission raises; root is never refused
        raise PermissionError(13, "Permission denied", str(path))

    monkeypatch.setattr(Path, "open", closed)
    assert "cannot be read: Permission denied" in line_of(path)


def test_a_file_below_a_file_and_a_name_too_long(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("x")
    assert "cannot be read" in line_of(tmp_path / "file" / "case.yaml")
    assert "cannot be read" in line_of(tmp_path / ("x" * 300))


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"", "is empty"),
        (b"# nothing\n", "is empty"),
        (b"null\n", "is not a mapping"),
        (b"just words\n", "is not a mapping"),
        (b"- a\n- b\n", "is not a mapping"),
        (LANDER.encode("utf-16"), "is UTF-16 text"),
        ("title: d\xe9p\xf4t\n".encode("latin-1"), "byte 0xe9 is not UTF-8"),
        (b"title: a\0b\n", "control character 0x00"),
        (b"\x89PNG\r\n\x1a\n\0\0\0", "is not UTF-8"),
        (b"a: " + b"[" * 100_000, "deep"),
        (b"{a: " * 30 + b"1" + b"}" * 30, "20 levels deep"),
        (b"a: 1\n" + b"#" * FILE_BYTES, "is too large"),
        (b"? [a, b]\n: 1\n", "stands for a name"),
        (b"a: &a [x, x, x, x, x, x, x, x, x, x]\n" + b"".join(
            b"%c: &%c [%s]\n" % (98 + i, 98 + i, b", ".join([b"*%c" % (97 + i)] * 10))
            for i in range(9)
        ), "expands to too much"),
    ],
)  # fmt: skip
def test_a_file_that_is_no_case(content: bytes, words: str, tmp_path: Path) -> None:
    path = tmp_path / "case.yaml"
    path.write_bytes(content)
    assert words in line_of(path)


def test_a_byte_order_mark_and_foreign_line_ends_are_read(tmp_path: Path) -> None:
    path = tmp_path / "case.yaml"
    path.write_bytes(b"\xef\xbb\xbf" + LANDER.replace("\n", "\r\n").encode())
    assert read_case(path) == read_case("cases/lander/case.yaml")


def test_the_drawing_can_refuse_a_case_by_its_file_and_line() -> None:
    case = read_case("cases/lander/case.yaml")
    number = LANDER[: LANDER.index(TIP)].count("\n") + 1
    with pytest.raises(CaseError) as refused:
        refuse(case, "ring.lip_tip.inner", "4 mm", "up to 3 mm", "meets the other lip")
    assert str(refused.value) == (
        f"cases/lander/case.yaml:{number}: ring.lip_tip.inner: '4 mm' meets the other lip; "
        "allowed: up to 3 mm"
    )


def test_an_error_survives_its_way_between_processes() -> None:
    # workers hand exceptions on by pickling
    script = (
        "import pickle; from geometry.errors import CaseError;"
        "e = CaseError('f', 'a.b', '1', 'is bad', 'good', 'best', 3, 1);"
        "print(pickle.loads(pickle.dumps(e)))"
    )
    done = subprocess.run(
        [sys.executable, "-c", script], capture_output=True, text=True, check=True
    )
    assert done.stdout.strip() == (
        "f:3: a.b: '1' is bad; allowed: good; did you mean 'best'? (and 1 more)"
    )
