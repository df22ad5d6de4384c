"""The steps around a manifest: write it, check a folder or a report by it, compare two folders."""

from __future__ import annotations

import json
from pathlib import Path

from geometry.files import written_aside
from post.manifest import (
    MANIFEST,
    changed_files,
    changed_report,
    describe,
    made_elsewhere,
    read_manifest,
)
from post.same_numbers import SAME, differences


class DifferentError(OSError):
    """What was compared differs; a line for each difference."""


def manifest(folder: Path, target: Path) -> None:
    """Write the manifest of a folder of results."""
    told = describe(folder)
    with written_aside(target) as aside:
        aside.write_text(json.dumps(told, indent=1) + "\n", encoding="utf-8")


def check_manifest(folder: Path) -> None:
    """Say what of a folder of results differs from its manifest; fail when a file does."""
    told = read_manifest(folder / MANIFEST)
    for line in made_elsewhere(told):
        print(line)
    changed = changed_files(folder, told)
    if changed:
        raise DifferentError("\n".join(changed))
    print(f"{folder}: all {len(told['files'])} files are those of the manifest")


def check_report(report: Path, manifest_file: Path) -> None:
    """Say whether a report, wherever it was saved, is the one of a manifest."""
    if changed_report(report, read_manifest(manifest_file)):
        raise DifferentError(f"{report}: not the report of {manifest_file}")
    print(f"{report}: the report of {manifest_file}")


def compare(first: Path, second: Path) -> None:
    """Say how far the numbers of two folders of results lie apart; fail beyond `SAME`."""
    apart = differences(first, second)
    for name, difference in apart.items():
        print(f"{name:20} {difference:.2g}")
    if max(apart.values()) > SAME:
        raise DifferentError(f"{first} and {second}: numbers differ by more than {SAME:g}")
