"""A file is whole or absent, named when it fails, and refused when it is not as it was written.

What a system call does on a full or read-only disk is POSIX (write: ENOSPC; open: EROFS); digests
are SHA-256 (FIPS 180-4), whose value for "abc" is that of the standard's own example.
"""

import errno
import os
import sys
from pathlib import Path

import pytest

from geometry.commands import run
from geometry.files import (
    DamagedFileError,
    digest_place,
    file_digest,
    intact,
    naming,
    note_digest,
    written_aside,
)

# FIPS 180-4 example (published): SHA-256 of "abc"
ABC = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"


def write(path: Path, text: str) -> Path:
    with written_aside(path) as aside:
        aside.write_text(text)
    return path


def test_a_written_file_has_its_digest_beside_it(tmp_path):
    path = write(tmp_path / "deep/file.txt", "abc")
    assert file_digest(path) == ABC
    assert digest_place(path).read_text().strip() == ABC
    assert intact(path) == path
    assert [p.name for p in path.parent.iterdir() if p.is_file()] == ["file.txt"]


@pytest.mark.parametrize("damage", [b"abd", b"ab", b"", b"abc\n"])
def test_a_changed_file_is_refused_by_name(tmp_path, damage):
    path = write(tmp_path / "file.txt", "abc")
    path.write_bytes(damage)
    with pytest.raises(DamagedFileError) as refusal:
        intact(path)
    assert refusal.value.filename == str(path)
    assert "delete it and run again" in refusal.value.strerror


@pytest.mark.parametrize("note", [None, "", ABC[:20], "not a digest at all", "\N{SNOWMAN}"])
def test_without_a_whole_digest_a_file_is_taken_as_it_is(tmp_path, note):
    path = write(tmp_path / "file.txt", "abc")
    path.write_text("mine")
    if note is None:
        digest_place(path).unlink()
    else:
        digest_place(path).write_text(note, encoding="utf-8")
    assert intact(path) == path


def test_a_failed_write_leaves_the_old_file_and_its_digest(tmp_path):
    path = write(tmp_path / "file.txt", "old")
    with pytest.raises(RuntimeError), written_aside(path) as aside:
        aside.write_text("half")
        raise RuntimeError
    assert intact(path).read_text() == "old"
    assert [p.name for p in tmp_path.iterdir() if p.is_file()] == ["file.txt"]


@pytest.mark.parametrize("step", range(4))
def test_wherever_a_kill_comes_no_whole_file_has_a_wrong_digest(tmp_path, monkeypatch, step):
    # the calls that change the folder, in their order: the kill comes at one of them
    path = write(tmp_path / "file.txt", "old")
    calls = []

    class Killed(BaseException):
        pass

    def killing(real):
        def call(*arguments, **options):
            calls.append(real)
            if len(calls) > step:
                raise Killed
            return real(*arguments, **options)

        return call

    with monkeypatch.context() as patch:
        for owner, name in ((os, "replace"), (Path, "unlink"), (Path, "mkdir")):
            patch.setattr(owner, name, killing(getattr(owner, name)))
        with pytest.raises(Killed):
            write(path, "new")
    assert intact(path).read_text() in ("old", "new")


def test_what_a_killed_writer_left_is_swept_up(tmp_path):
    dead = 2**22 + 1  # beyond the largest process number that Linux gives (proc(5), pid_max)
    left = tmp_path / f".file.{dead}.part.txt"
    alive = tmp_path / ".file.1.part.txt"
    other = tmp_path / f".other.{dead}.part.txt"
    for each in (left, alive, other):
        each.touch()
    write(tmp_path / "file.txt", "abc")
    assert [left.exists(), alive.exists(), other.exists()] == [False, True, True]


def test_a_full_disk_is_told_with_the_name_of_the_file(tmp_path):
    path = tmp_path / "file.txt"
    with pytest.raises(OSError) as refusal, written_aside(path) as aside:
        aside.write_text("half")
        with open("/dev/full", "w") as full:  # full(4): every write fails with ENOSPC
            full.write("x")
            full.flush()
    assert refusal.value.errno == errno.ENOSPC
    assert refusal.value.filename == str(path)
    assert not path.exists()


def test_an_error_about_another_file_keeps_its_name(tmp_path):
    with pytest.raises(FileNotFoundError) as refusal, naming(tmp_path / "file.txt"):
        (tmp_path / "missing").read_text()
    assert refusal.value.filename == str(tmp_path / "missing")


def test_the_command_line_says_a_damaged_file_in_one_line(tmp_path, monkeypatch, capsys):
    path = write(tmp_path / "file.txt", "abc")
    path.write_text("abd")
    monkeypatch.setattr(sys, "argv", ["package", "read", str(path)])
    assert run("package", {"read": (intact, "FILE")}, (OSError,)) == 1
    said = capsys.readouterr().err
    assert said.startswith(f"{path}: changed or damaged")
    assert said.count("\n") == 1


def test_the_digest_may_be_noted_of_a_file_that_stands(tmp_path):
    path = tmp_path / "picture"
    path.write_text("abc")
    note_digest(path)
    path.write_text("abd")
    with pytest.raises(DamagedFileError):
        intact(path)
