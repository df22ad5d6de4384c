"""The page of a proof test: what was predicted, what was measured, and what that speaks for."""

from __future__ import annotations

import base64
from collections.abc import Sequence
from pathlib import Path

import numpy as np
import pandas as pd

from geometry.case import Case
from geometry.errors import CaseError
from geometry.files import written_aside
from geometry.seawater import depth_at
from post.gauge_strains import Prediction
from post.gauge_table import full_pressure
from post.pages import page_templates
from post.proof import GaugeResult, Joint, compare, joint_by_dive
from post.proof_acoustic import Emission, Felicity, felicity, read_emission, trend
from post.proof_demo import INVENTED
from post.proof_figures import plot_emission, plot_gauges, svg
from post.proof_findings import SURE, findings, verdict
from post.proof_read import Measured, missing, read_strains
from post.tables import csv_address
from post.words import MINUS

MICRO = 1e6
STRAINS, EMISSION = "strain.csv", "acoustic.csv"


def write_prediction(case: Case, predictions: Sequence[Prediction], page: Path) -> None:
    """Write the page before the test: predictions alone."""
    text = render(case, predictions, None, ())
    with written_aside(page) as aside:
        aside.write_text(text, encoding="utf-8")


def write_proof(
    case: Case, predictions: Sequence[Prediction], folder: Path, page: Path, csv: Path
) -> None:
    """Compare a test with its prediction: page and table.

    Parameters
    ----------
    case : Case
    predictions : sequence of Prediction
    folder : Path
        Holds `strain.csv` and, where emission was heard, `acoustic.csv`.
    page : Path
    csv : Path
        One row for each gauge and dive.

    Raises
    ------
    CaseError
        When a table cannot be taken.
    """
    if not (folder / STRAINS).exists():
        raise CaseError(str(folder / STRAINS), reason="is not there", allowed="measured strains")
    measured = read_strains(folder / STRAINS, list(case.gauges))
    heard = folder / EMISSION
    emission = read_emission(heard) if heard.exists() else ()
    text = render(case, predictions, measured, emission)
    results = compare(predictions, measured, case.proof, full_pressure(case))
    with written_aside(csv) as aside:
        proof_table(results).to_csv(aside, index=False, float_format="%.6g")
    with written_aside(page) as aside:
        aside.write_text(text, encoding="utf-8")


def proof_table(results: Sequence[GaugeResult]) -> pd.DataFrame:
    """Tabulate every gauge and dive."""
    return pd.DataFrame(
        [
            {
                "gauge": one.name,
                "dive": number,
                "slope_microstrain_per_MPa": MICRO * dive.slope,
                "slope_error_microstrain_per_MPa": MICRO * dive.slope_error,
                "slope_ratio": dive.ratio,
                "slope_ratio_error": dive.ratio_error,
                "allowed_off": one.allowed,
                "nonlinearity": dive.nonlinearity,
                "hysteresis": dive.hysteresis,
                "zero_microstrain": MICRO * dive.zero,
            }
            for one in results
            for number, dive in enumerate(one.dives, 1)
        ]
    )


def render(
    case: Case,
    predictions: Sequence[Prediction],
    measured: Measured | None,
    emission: Sequence[Emission],
) -> str:
    """Make the text of the page."""
    full, proof = full_pressure(case), case.proof
    results: tuple[GaugeResult, ...] = ()
    joints: tuple[Joint, ...] = ()
    ratios = felicity(emission, proof.onset_hits)
    if measured is not None:
        results = compare(predictions, measured, proof, full)
        joints = joint_by_dive(results)
    found = findings(results, joints, ratios, proof)
    named = [name for one in found for name in one.gauges]
    pictures = {}
    if predictions:
        figure = plot_gauges(predictions, full, proof.slope_band, measured, named)
        pictures["gauges"] = _address(svg(figure))
    if emission:
        figure = plot_emission(emission, ratios, proof.felicity_limit, proof.onset_hits)
        pictures["emission"] = _address(svg(figure))
    environment = page_templates()
    table = proof_table(results)
    return environment.get_template("proof.html.j2").render(
        case=case,
        proof=proof,
        full=f"{full:.2f} MPa ({depth_at(full, case.duty.latitude):,.0f} m)",
        notes=measured.notes if measured is not None else (),
        invented=measured is not None and any(INVENTED in note for note in measured.notes),
        measured=measured is not None,
        dives=len(measured.dives) if measured is not None else 0,
        unread=missing(measured, case.gauges) if measured is not None else [],
        verdict=verdict(found) if measured is not None else "",
        found=found,
        predicted=[_predicted(one, full) for one in predictions],
        compared=[_compared(one, named) for one in results],
        joints=[(i, _percent(one.share), len(one.explains)) for i, one in enumerate(joints, 1)],
        ratios=[_felicity(one, proof.felicity_limit) for one in ratios],
        trend=trend_words(ratios),
        pictures=pictures,
        everything=csv_address(table.to_csv(index=False, float_format="%.6g")) if results else "",
    )


def _predicted(one: Prediction, full: float) -> dict[str, str]:
    low, high = one.band(full)
    return {
        "name": one.name,
        "where": f"{one.part}, {one.face}, {one.direction}",
        "place": f"{one.r:.2f} / {one.z:.2f}",
        "slope": _signed(MICRO * one.per_MPa, 3),
        "strain": _signed(MICRO * one.per_MPa * full, 1),
        "band": f"{_signed(MICRO * low, 1)} to {_signed(MICRO * high, 1)}",
        "kelvin": _signed(MICRO * one.per_K, 2),
        "softer": f"\u00d7 {one.softer[0] / one.per_MPa:.3f}",
    }


def _compared(one: GaugeResult, named: Sequence[str]) -> dict[str, object]:
    last = one.last
    return {
        "name": one.name,
        "named": one.name in named,
        "ratio": f"{last.ratio:.3f} \u00b1 {SURE * last.ratio_error:.3f}",
        "allowed": f"{1 - one.allowed:.3f} to {1 + one.allowed:.3f}",
        "bend": _percent(_largest([dive.nonlinearity for dive in one.dives])),
        "loop": _percent(_largest([dive.hysteresis for dive in one.dives])),
        "drift": _percent(one.drift, signed=True),
        "change": _percent(one.slope_change, signed=True),
    }


def _felicity(one: Felicity, limit: float) -> dict[str, str]:
    kaiser = {None: "not known", True: "holds", False: "does not hold"}[one.kaiser]
    none = "\u2013"
    return {
        "dive": str(one.dive),
        "before": none if np.isnan(one.before) else f"{one.before:.2f}",
        "highest": f"{one.highest:.2f}",
        "onset": "none" if np.isnan(one.onset) else f"{one.onset:.2f}",
        "ratio": none
        if np.isnan(one.ratio)
        else f"{'at least ' if one.bound else ''}{one.ratio:.3f}",
        "kaiser": none if np.isnan(one.ratio) else kaiser,
        "limit": "below" if one.below(limit) else "",
    }


def trend_words(ratios: Sequence[Felicity]) -> str:
    """Say how the Felicity ratio goes from dive to dive."""
    slope, error = trend(ratios)
    if np.isnan(slope):
        return "Too few dives with an onset for a trend."
    if abs(slope) <= SURE * error:
        return f"No trend beyond its error: {slope:+.3f} \u00b1 {SURE * error:.3f} a dive.".replace(
            "-", MINUS
        )
    way = "falls" if slope < 0 else "rises"
    return f"The ratio {way} by {abs(slope):.3f} \u00b1 {SURE * error:.3f} a dive."


def _largest(values: Sequence[float]) -> float:
    known = [value for value in values if np.isfinite(value)]
    return max(known, default=np.nan)


def _percent(value: float, signed: bool = False) -> str:
    if not np.isfinite(value):
        return "\u2013"
    return f"{100 * value:{'+' if signed else ''}.1f} %".replace("-", MINUS)


def _signed(value: float, places: int) -> str:
    return f"{value:,.{places}f}".replace("-", MINUS)


def _address(picture: bytes) -> str:
    return f"data:image/svg+xml;base64,{base64.b64encode(picture).decode()}"
