"""List the licence of every installed library, and whether a GPL-3.0-or-later work may use it.

    python tools/licences.py               # a line for each that does not suit; code 1 if any
    python tools/licences.py LICENCES.md   # the list, in Markdown

What a distribution says of itself (PEP 639 expression, classifiers, licence field, or the head of
its licence file) must be one of the spellings below, word for word: a new spelling, or none, fails
until somebody has read it. Which licences may be combined with version 3 of the GPL is taken from
the Free Software Foundation's "Various Licenses and Comments about Them".
"""

from __future__ import annotations

import re
import sys
from importlib.metadata import Distribution, distributions
from pathlib import Path

OWN = "hullring"
# compatible licences, and how distributions spell them
SPELLINGS = {
    "MIT": "mit, mit license, mit-0, mit-cmu, 0bsd, isc, isc license (iscl)",
    "BSD": "bsd, bsd license, bsd-2-clause, bsd-3-clause, bsd 2-clause license, "
    "bsd 3-clause license",
    "Apache-2.0": "apache-2.0, apache 2.0, apache software license, apache license 2.0, "
    "apache license, version 2.0, apache license version 2.0, apache license",
    "MPL-2.0": "mpl-2.0, mozilla public license 2.0 (mpl 2.0)",
    "PSF-2.0": "psf-2.0, psfl, python software foundation license",
    "public domain": "cc0-1.0, public domain, unlicense",
    "zlib": "zlib",
    # LGPL-2.1, section 3: it may be taken under the GPL, also a newer version of it; section 13:
    # where no version is named, any may be chosen
    "LGPL": "gnu library or lesser general public license (lgpl), "
    "lgpl-2.1-only, lgpl-2.1-or-later, lgpl-3.0-or-later, "
    "gnu lesser general public license v2 or later (lgplv2+)",
    "GPL": "gpl-2.0-or-later, gpl-3.0-or-later, gplv2+, gnu general public license (gpl), "
    "gnu general public license v2 or later (gplv2+)",
}
KIND = {
    spelling.strip("() "): kind
    for kind, listed in SPELLINGS.items()
    for spelling in re.split(r", (?!version)", listed)
}
# said only in the text of the licence: read by a person
READ = {"cvxopt": ("GPL-3.0-or-later", "licence file: version 3 or any later version")}
WRONG = "not known to suit GPL-3.0-or-later"


def normalized(name: str) -> str:
    """Spell a distribution's name in one way (PEP 503)."""
    return re.sub(r"[-_.]+", "-", name).lower()


def said_licence(found: Distribution) -> str:
    """Give what a distribution says its licence is, parts joined by AND and OR."""
    told = found.metadata
    name = normalized(told["Name"])
    if name in READ:
        return READ[name][0]
    if told["License-Expression"]:
        return str(told["License-Expression"])
    classes = [c for c in told.get_all("Classifier") or [] if c.startswith("License :: ")]
    named = [c.rpartition(" :: ")[2] for c in classes if c != "License :: OSI Approved"]
    if named:
        return " AND ".join(named)
    field = str(told["License"] or "").strip()
    return field.splitlines()[0] if field else licence_file(found)


def licence_file(found: Distribution) -> str:
    """Give the first line of a distribution's licence file."""
    for path in found.files or []:
        if re.match(r"(licen[cs]e|copying)", path.name, re.IGNORECASE):
            return path.read_text(encoding="utf-8").strip().splitlines()[0].strip()
    return "none stated"


def kinds(said: str) -> set[str]:
    """Name the kinds of licence in what was said; `WRONG` where one is not known to suit."""
    chosen: set[str] = {WRONG}
    for choice in re.split(r"\s+OR\s+", said):
        parts = re.split(r"\s+AND\s+", choice.strip("() "))
        chosen = {KIND.get(part.strip("() ").lower(), WRONG) for part in parts}
        if WRONG not in chosen:
            break
    return chosen


def listed() -> list[tuple[str, str, str, str]]:
    """Give name, version, what is said and what kind it is, of all that is installed."""
    rows = []
    for found in distributions():
        name = found.metadata["Name"]
        if normalized(name) != OWN:
            said = said_licence(found)
            rows.append((name, found.version, said, ", ".join(sorted(kinds(said)))))
    return sorted(rows, key=lambda row: row[0].lower())


def main() -> int:
    """Check, and write the list where one is asked for."""
    rows = listed()
    wrong = [
        f"{name} {version}: {said}: {WRONG}" for name, version, said, kind in rows if WRONG in kind
    ]
    print("\n".join([*wrong, f"{len(rows) - len(wrong)} of {len(rows)} licences suit"]))
    if len(sys.argv) > 1:
        head = ["# Licences of the libraries", "", (__doc__ or "").split("\n\n")[2].strip(), ""]
        table = ["| library | version | licence, as it says | kind |", "| --- | --- | --- | --- |"]
        table += [f"| {' | '.join(row)} |" for row in rows]
        Path(sys.argv[1]).write_text("\n".join([*head, *table]) + "\n", encoding="utf-8")
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())
