"""The verification page: every published number beside ours.

Formulation
    All checks of `solve` in one table. Ours is rounded to a hundredth of what may differ, so that
    the page and the table do not depend on the order in which a machine adds up.
"""

from __future__ import annotations

import base64
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pandas as pd

from geometry.files import written_aside
from post.criteria.checks import criteria_checks
from post.grid_checks import grid_checks
from post.life_checks import life_checks
from post.pages import page_templates
from post.sizing_checks import sizing_checks
from solve.answer import SolveError
from solve.buckling_checks import buckling_checks
from solve.check import Check
from solve.corner_checks import corner_checks
from solve.disbond_checks import disbond_checks
from solve.mixed_mode_checks import mixed_mode_checks
from solve.reference_checks import closed_form_checks
from solve.sea_checks import sea_checks
from solve.solid_checks import finite_element_checks

SUPERSCRIPTS = str.maketrans(
    "-0123456789", "\u207b\u2070\u00b9\u00b2\u00b3\u2074\u2075\u2076\u2077\u2078\u2079"
)
STATUSES = {
    "published": "The number was seen in print.",
    "recomputed": "The number comes from the published formula or problem, by a second route.",
    "value from memory": "The number is that of the cited publication as we remember it.",
    "common practice": "A fact of the trade that has no published source.",
}


class VerificationError(SolveError):
    """Some number is further from its reference than it may be."""


@dataclass(frozen=True)
class Part:
    """A part of the page: its name, what its rows share, and the rows."""

    name: str
    note: str
    checks: tuple[Check, ...]

    @property
    def topics(self) -> dict[str, list[Check]]:
        """Checks by topic, in the order in which topics come first."""
        topics: dict[str, list[Check]] = {}
        for check in self.checks:
            topics.setdefault(check.topic, []).append(check)
        return topics


def by_source(checks: Sequence[Check]) -> dict[tuple[str, str], list[Check]]:
    """Group checks by source and status, in the order in which these come first."""
    sources: dict[tuple[str, str], list[Check]] = {}
    for check in checks:
        sources.setdefault((check.source, check.status), []).append(check)
    return sources


def collect() -> tuple[Part, ...]:
    """Compute every check."""
    return (
        Part(
            "Finite elements",
            "Section, mesh, elements and stress recovery of a joint, on problems with a known "
            "answer. Where the answer is smooth the printed digits are met; where a row allows "
            "more, the reference is a model that leaves something out, or the stress has no bound "
            "nearby.",
            tuple(finite_element_checks()),
        ),
        Part(
            "Formulas and exact solutions",
            "The laminate, the exact tube and the closed forms that the finite elements are held "
            "against. Half a unit of the last printed digit is allowed, a whole one where the "
            "print itself is off.",
            tuple(closed_form_checks()),
        ),
        Part(
            "Corners",
            "Powers of the distance with which displacement and stress go towards corners of bond, "
            "wall and ring. The exponents meet every printed digit; finite elements are read where "
            "weaker powers and uniform stress still count.",
            tuple(corner_checks()),
        ),
        Part(
            "Buckling of the section",
            "Tubes, spheres and rings by the elements that buckle the assembled hull, against "
            "elasticity, shells and rings.",
            tuple(buckling_checks()),
        ),
        Part(
            "Failure criteria",
            "Strengths of cited plies, the criteria that judge with them, and the buckling of a "
            "sphere. The numbers come from the published formulas in plane stress; ours from the "
            "criteria in three dimensions.",
            tuple(criteria_checks()),
        ),
        Part(
            "Life",
            "Growth of disbonds over dives, the sum of dives, and the toughness at mixed modes. "
            "The integrals are closed on both sides and meet in every digit that is compared.",
            (*life_checks(), *mixed_mode_checks()),
        ),
        Part(
            "Disbonds",
            "Energy release rates by the mesh, reduction, contact and differences of energy that "
            "judge the bonds of a joint, and faces that press on each other. Beams and thin plates "
            "leave something out, which their rows allow for. At an interface only the total is "
            "free of the mesh: modes are those over a stated length.",
            tuple(disbond_checks()),
        ),
        Part(
            "Numerical error",
            "Order, limit and index of published numbers on three grids.",
            tuple(grid_checks()),
        ),
        Part(
            "The sea",
            "Gauge pressure, depth and density by TEOS-10.",
            tuple(sea_checks()),
        ),
        Part(
            "Wall materials",
            "What the trade says of carbon against titanium, with the assumptions that make it so: "
            "typical carbon strengths times 0.8, wet, against the least yield of titanium.",
            tuple(sizing_checks()),
        ),
    )


def write_verification(page: Path, csv: Path) -> None:
    """Write the page and its table.

    Parameters
    ----------
    page : Path
        One self-contained HTML file.
    csv : Path
        The same rows as comma-separated values.

    Raises
    ------
    VerificationError
        After both are written, when a check does not pass.
    """
    parts = collect()
    table = tabulate(parts)
    with written_aside(csv) as aside:
        table.to_csv(aside, index=False)
    with written_aside(page) as aside:
        aside.write_text(render(parts), encoding="utf-8")
    failed = [check for part in parts for check in part.checks if not check.passes]
    if failed:
        names = "; ".join(f"{check.topic}: {check.claim}" for check in failed)
        raise VerificationError(f"{len(failed)} of {len(table)} checks are off: {names}")


def tabulate(parts: Sequence[Part]) -> pd.DataFrame:
    """One row per check, numbers as text with the digits that count."""
    return pd.DataFrame(
        [
            {
                "part": part.name,
                "topic": check.topic,
                "check": check.claim,
                "source": check.source,
                "status": check.status,
                "unit": check.unit,
                "published": published(check),
                "ours": ours(check),
                "difference": f"{_difference(check):.2g}",
                "allowed": f"{check.allowed:.3g}",
                "difference_of": "published" if check.relative else check.unit,
                "passes": "yes" if check.passes else "no",
            }
            for part in parts
            for check in part.checks
        ]
    )


def render(parts: Sequence[Part]) -> str:
    """Fill in the page."""
    environment = page_templates()
    environment.filters |= {
        "published": lambda check: _print(published(check)),
        "ours": lambda check: _print(ours(check)),
        "difference": lambda check: _signed(_difference(check), check),
        "allowed": lambda check: _signed(check.allowed, check).lstrip("+"),
        "by_source": by_source,
        "share": share,
        "anchor": _anchor,
    }
    checks = [check for part in parts for check in part.checks]
    return environment.get_template("verification.html.j2").render(
        parts=parts,
        checks=checks,
        passed=sum(check.passes for check in checks),
        statuses=STATUSES,
        count={name: sum(check.status == name for check in checks) for name in STATUSES},
        everything=_link(tabulate(parts)),
        link=lambda part, topic: _link(
            tabulate([Part(part.name, part.note, tuple(part.topics[topic]))])
        ),
    )


def published(check: Check) -> str:
    """Give the published number in its nine leading digits."""
    text = f"{check.published:.9g}"
    if "e" not in text and 0 < abs(check.published) < 1e-3:
        return np.format_float_scientific(float(text), trim="-", exp_digits=1)
    return text


def ours(check: Check) -> str:
    """Give our number to a tenth of what may differ."""
    if not np.isfinite(check.ours):
        return str(check.ours)
    places = _places(check)
    value = _rounded(check.ours, places)
    if value != 0 and abs(value) < 1e-3:
        digits = max(0, int(np.floor(np.log10(abs(value)))) + places)
        return f"{value:.{digits}e}"
    return f"{value:.{max(0, places)}f}"


def share(check: Check) -> float:
    """How much of the allowed difference a check takes up, 0 to 1."""
    return min(1.0, abs(_difference(check)) / check.allowed)


def _places(check: Check) -> int:
    """Decimal places of a tenth of what may differ."""
    allowed = check.allowed * (abs(check.published) if check.relative else 1.0)
    return 1 - int(np.floor(np.log10(allowed)))


def _rounded(value: float, places: int) -> float:
    return float(round(value, places)) + 0.0  # no minus before zero


def _difference(check: Check) -> float:
    """Take the difference after rounding ours to a hundredth of what may differ."""
    if not np.isfinite(check.ours):
        return float("nan")
    difference = _rounded(check.ours, _places(check) + 1) - check.published
    return difference / abs(check.published) if check.relative else difference


def _signed(value: float, check: Check) -> str:
    """Put a difference in print: of the published number in percent, else in the row's unit."""
    text = _print(f"{value * 100 if check.relative else value:+.2g}")
    if check.relative:
        return f"{text} %"
    return text if check.unit == "1" else f"{text} {check.unit}"


def _print(number: str) -> str:
    """Write a number as print does: a true minus, powers of ten as powers."""
    mantissa, _, exponent = number.partition("e")
    if exponent:
        mantissa += "\N{MULTIPLICATION SIGN}10" + str(int(exponent)).translate(SUPERSCRIPTS)
    return mantissa.replace("-", "\N{MINUS SIGN}")


def _anchor(text: str) -> str:
    return "".join(c if c.isalnum() else "-" for c in text.lower())


def _link(table: pd.DataFrame) -> str:
    """Pack a table as a data URI of comma-separated values."""
    text = base64.b64encode(table.to_csv(index=False).encode()).decode()
    return f"data:text/csv;charset=utf-8;base64,{text}"
