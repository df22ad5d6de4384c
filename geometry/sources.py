"""The project's own sources, as a digest: what a result was made by."""

from __future__ import annotations

from hashlib import sha256
from pathlib import Path

ROOT = Path(__file__).parents[1]
PACKAGES = ("geometry", "solve", "post")
NO_SOURCE = {".pyc", ".yaml", ".json"}  # the material library reaches a step through its case


def source_digest(*packages: str) -> str:
    """Digest what packages hold, all three by default: modules, templates and styles of pages."""
    digest = sha256()
    for package in packages or PACKAGES:
        for path in sorted((ROOT / package).rglob("*")):
            if path.is_file() and path.suffix not in NO_SOURCE:
                digest.update(path.name.encode() + path.read_bytes())
    return digest.hexdigest()
