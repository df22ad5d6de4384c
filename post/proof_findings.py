"""What a proof test speaks for, in sentences made from its numbers.

Every finding names its gauges and the limit it breaks. Limits are the project's own; noise is
allowed for beside them with twice its error. A gauge whose slope a softer joint explains is not
blamed for that slope, nor for its change from dive to dive.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from geometry.gauges import Proof
from post.proof import GaugeResult, Joint
from post.proof_acoustic import Felicity
from post.words import MINUS

SURE = 2.0  # errors that are allowed beside a limit


@dataclass(frozen=True)
class Finding:
    """Something the test speaks for.

    Attributes
    ----------
    kind : str
        ``joint``, ``slope``, ``slope change``, ``drift``, ``nonlinearity``, ``hysteresis``,
        ``emission`` or ``rows``.
    gauges : tuple of str
        Empty for emission.
    words : str
    """

    kind: str
    gauges: tuple[str, ...]
    words: str


def findings(
    results: Sequence[GaugeResult],
    joints: Sequence[Joint],
    emission: Sequence[Felicity],
    proof: Proof,
) -> tuple[Finding, ...]:
    """Say what breaks a limit, the joint first.

    Parameters
    ----------
    results : sequence of GaugeResult
    joints : sequence of Joint
        Of the dives.
    emission : sequence of Felicity
        Empty where none was heard.
    proof : Proof
    """
    found = []
    joint = joints[-1] if joints else None
    if joint is not None and joint.told:
        found.append(Finding("joint", joint.explains, joint_words(joints)))
    found += [_slope(one) for one in results if joint is not None and one.name in joint.alone]
    explained = joint.explains if joint is not None and joint.told else ()
    moved = [one for one in results if _above(one.drift, one.drift_error, proof.drift_limit)]
    for one in moved:
        found.append(
            Finding("drift", (one.name,), drift_words(one, proof, len(moved), len(results)))
        )
    for one in results:
        if not np.isfinite(one.last.slope):
            found.append(Finding("rows", (one.name,), f"{one.name}: too few rows to be judged."))
            continue
        changed = _above(one.slope_change, one.slope_change_error, proof.drift_limit)
        if changed and one.name not in explained:
            signed = f"{100 * one.slope_change:+.1f}".replace("-", MINUS)
            words = (
                f"{one.name}: its slope changed by {signed} % from first to "
                f"last dive; the limit is {100 * proof.drift_limit:g} %."
            )
            found.append(Finding("slope change", (one.name,), words))
        for kind, limit in (
            ("nonlinearity", proof.nonlinearity_limit),
            ("hysteresis", proof.hysteresis_limit),
        ):
            found += _worst(one, kind, limit)
    low = [one for one in emission if one.below(proof.felicity_limit)]
    if low:
        found.append(Finding("emission", (), emission_words(low, proof)))
    return tuple(found)


def _above(value: float, error: float, limit: float) -> bool:
    return bool(abs(value) > limit + SURE * error)


def joint_words(joints: Sequence[Joint]) -> str:
    """Say what a softer or stiffer joint explains, and whether it goes on."""
    last = joints[-1]
    known = [one.share for one in joints if np.isfinite(one.share)]
    softer = last.share < 1
    about = ("at most " if softer else "at least ") if last.at_bound else "about "
    return (
        f"A {'softer' if softer else 'stiffer'} joint: the adhesive at {about}"
        f"{100 * last.share:.0f} % of its stiffness explains {_listed(last.explains)} "
        f"(by dive: {', '.join(f'{100 * one:.0f}' for one in known)} %). "
        "Look at the bond before another dive: a disbond, a poor cure or a gap too thick act alike."
    )


def _slope(one: GaugeResult) -> Finding:
    last = one.last
    words = (
        f"{one.name}: its slope is {last.ratio:.3f} \u00b1 {last.ratio_error:.3f} of the predicted "
        f"one, allowed {1 - one.allowed:.3f} to {1 + one.allowed:.3f}, and no stiffness of the "
        "joint that suits the others explains it: check the gauge, its place, glue and wiring."
    )
    return Finding("slope", (one.name,), words)


def drift_words(one: GaugeResult, proof: Proof, moved: int, of: int) -> str:
    """Say how far a zero moved, and whether it moved alone."""
    alone = (
        "no other gauge moved: the gauge, its glue or its wiring, not the hull"
        if moved == 1
        else f"{moved} of {of} gauges moved: the hull itself may have set"
    )
    full = [dive for dive in one.dives if np.isfinite(dive.zero)]
    shift = f"{1e6 * (full[-1].zero - full[0].zero):+.0f}".replace("-", MINUS)
    share = f"{100 * one.drift:+.1f}".replace("-", MINUS)
    return (
        f"{one.name}: its zero drifted by {shift} microstrain from first to last dive, {share} % "
        f"of full strain; the limit is {100 * proof.drift_limit:g} %; {alone}."
    )


def _worst(one: GaugeResult, kind: str, limit: float) -> list[Finding]:
    """Find the dive of a gauge that breaks the limit of a bend or a loop most."""
    beyond = [
        (value - limit - SURE * error, value, number)
        for number, dive in enumerate(one.dives, 1)
        if np.isfinite(value := getattr(dive, kind))
        and np.isfinite(error := getattr(dive, f"{kind}_error"))
    ]
    over, value, number = max(beyond, default=(0.0, 0.0, 0))
    if over <= 0:
        return []
    words = (
        f"{one.name}: {kind} of {100 * value:.1f} % of its span in dive {number}; the limit is "
        f"{100 * limit:g} %."
    )
    return [Finding(kind, (one.name,), words)]


def emission_words(low: Sequence[Felicity], proof: Proof) -> str:
    """Say where emission came back too early."""
    told = ", ".join(f"{one.ratio:.2f} in dive {one.dive}" for one in low)
    return (
        f"Emission came back early: Felicity ratio {told}; the project's limit is "
        f"{proof.felicity_limit:g}. Damage has grown since the load before."
    )


def verdict(found: Sequence[Finding]) -> str:
    """Give the answer in one sentence."""
    if not found:
        return "Nothing breaks a limit: every gauge follows its prediction."
    kinds = {
        "joint": "the joint is not as stiff as predicted",
        "slope": "a slope is out of band",
        "slope change": "a slope changes from dive to dive",
        "drift": "a zero drifts",
        "nonlinearity": "a strain bends",
        "hysteresis": "loading and unloading part",
        "emission": "emission comes back early",
        "rows": "a gauge could not be judged",
    }
    told = [words for kind, words in kinds.items() if any(one.kind == kind for one in found)]
    words = _listed(told)
    return f"{words[0].upper()}{words[1:]}."


def _listed(words: Sequence[str]) -> str:
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} and {words[-1]}"
