"""Look at what the project stands on: licences, insecure code, known vulnerabilities.

    python tools/audit.py                    # licences and code; code 1 if anything is found
    python tools/audit.py --vulnerabilities  # asks a database on the internet too

A finding in the code passes only with a reason, which stands below by rule and file. Where the
database does not answer, that is said: "not run" is no finding and no clean bill either.
"""

from __future__ import annotations

import json
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import licences

ROOT = Path(__file__).resolve().parents[1]
PACKAGES = ("geometry", "solve", "post", "tools", "benchmarks")
OWN_DRAWING = "a drawing of our own, whose every word of a case is escaped where it is drawn"
# why a rule's findings are none, anywhere
RULES = {
    "B101": "an assert tells the type checker what is known; none guards an input",
    "B311": "random numbers here draw samples and noise, never a secret",
    "B404": "the workflow and its trials run commands",
    "B603": "commands are lists of words, given to no shell",
    "B607": "system commands are found on the path of whoever runs the trial",
}
# and in one file
FINDINGS = {
    ("B704", "post/changes_table.py"): OWN_DRAWING,
    ("B704", "post/interactive.py"): "scripts of our own, and data whose '<', '>' and '&' are "
    "escaped",
    ("B704", "post/layups_page.py"): OWN_DRAWING,
    ("B704", "post/report.py"): "the address of a picture, quoted for an attribute",
    ("B704", "post/sizing_page.py"): OWN_DRAWING,
    ("B704", "post/study/page.py"): OWN_DRAWING,
}


def run(*command: str) -> Any:
    """Run a tool of the `audit` extra and read the JSON it prints."""
    done = subprocess.run(
        [sys.executable, "-m", *command], cwd=ROOT, capture_output=True, text=True, check=False
    )
    try:
        return json.loads(done.stdout)
    except ValueError:
        said = (done.stderr.strip() or "it said nothing").splitlines()[-1]
        sys.exit(f"{command[0]} did not run: {said}")


def insecure_code() -> Iterator[str]:
    """Give a line for each finding without a reason, and for each reason without a finding."""
    told = run("bandit", "--quiet", "--recursive", "--format", "json", *PACKAGES)
    found = {(one["test_id"], one["filename"].removeprefix("./")) for one in told["results"]}
    for one in told["results"]:
        rule, file = one["test_id"], one["filename"].removeprefix("./")
        if rule not in RULES and (rule, file) not in FINDINGS:
            yield f"{file}:{one['line_number']}: {rule} {one['issue_text']}"
    for error in told["errors"]:
        yield f"{error['filename']}: not read: {error['reason']}"
    for rule, file in FINDINGS.keys() - found:
        yield f"{file}: {rule} is excused, but no longer there"
    lines = told["metrics"]["_totals"]["loc"]
    print(
        f"code: {len(told['results'])} findings in {lines:,} lines, all but the lines below excused"
    )


def vulnerabilities() -> Iterator[str]:
    """Give a line for each known vulnerability of what is installed."""
    told = run("pip_audit", "--local", "--skip-editable", "--progress-spinner", "off", "-f", "json")
    asked = [one for one in told["dependencies"] if "skip_reason" not in one]
    if not asked:
        print("vulnerabilities: NOT RUN, the database does not answer from here")
        return
    for one in asked:
        for known in one["vulns"]:
            fixed = ", ".join(known["fix_versions"]) or "no version"
            yield f"{one['name']} {one['version']}: {known['id']}, mended in {fixed}"
    print(f"vulnerabilities: {len(asked)} of {len(told['dependencies'])} libraries looked up")


def wrong_licences() -> Iterator[str]:
    """Give a line for each library whose licence is not known to suit ours."""
    rows = licences.listed()
    print(f"licences: {len(rows)} libraries")
    for name, version, said, kind in rows:
        if licences.WRONG in kind:
            yield f"{name} {version}: {said}: {licences.WRONG}"


def main() -> int:
    """Say what was found."""
    found = [*wrong_licences(), *insecure_code()]
    if "--vulnerabilities" in sys.argv[1:]:
        found += vulnerabilities()
    print("\n".join([*found, f"{len(found)} findings"]))
    return 1 if found else 0


if __name__ == "__main__":
    sys.exit(main())
