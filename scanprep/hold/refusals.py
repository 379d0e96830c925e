"""Why an attitude has no hold, in plain words, with the best margin met and what may help."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace

from scanprep.findings import Check, Verdict
from scanprep.hold.making.bracket import Bracket
from scanprep.hold.places.limits import TipLimits
from scanprep.hold.records import Attitude, Refusal
from scanprep.hold.statics.demand import Loads
from scanprep.hold.statics.gates import GateResults


def no_mount(attitude: Attitude, reasons: Sequence[str], margin_g: float) -> Refusal:
    """Return the refusal where tips were found but nothing could be bent for them."""
    # One of a kind, the best set's: what differs only in its numbers says nothing new.
    kinds = {re.sub(r"[\d.]+", "", reason): reason for reason in reversed(reasons)}
    why = "; or ".join(reversed(kinds.values()))
    return Refusal(attitude, f"tips were found, but no mount that can be made: {why}", margin_g,
                   "Try another angle, a cradle, or a branch or brace made by eye")


def no_tips(attitude: Attitude, judged: Sequence[GateResults], loads: Loads, limits: TipLimits, *,
            reached: bool = True) -> Refusal:
    """Return the refusal where no set of tips passed.

    judged   what the gates said of all that were tried
    reached  whether any place could be reached from behind at all
    """
    if not reached:
        return Refusal(attitude, "no place was found where a pad sits and a wire reaches it from behind", None,
                       "It wants a cradle or another angle; ask a conservator")
    margins = [j.margin_g for j in judged if j.margin_g is not None]
    best = max(margins) if margins else None
    if not judged:
        reason = "no set of tips within reach from behind comes near to carrying it"
    else:
        nearest = min(judged, key=lambda j: sum(check.verdict is Verdict.STOP for check in j.checks))
        failed = [check for check in nearest.checks if check.verdict is Verdict.STOP]
        reason = "no set of tips keeps this with margin: " + "; ".join(told(check) for check in failed)
    if limits.retaining_N == 0:
        advice = "It wants a cradle that carries it from below; ask a conservator what may touch it"
    elif loads.weight_N > 3 * limits.bearing_N:
        advice = "Too heavy for gentle tips: it wants a cradle under it, or the conservator's own force limit"
    else:
        advice = "It wants a cradle or a saddle, or another angle; ask a conservator"
    return Refusal(attitude, reason, best, advice)


def with_bracket(refusal: Refusal, bracket: Bracket | None) -> Refusal:
    """Return a heavy object's refusal with the bracket that would bear it, where there is one."""
    return refusal if bracket is None else replace(refusal, advice=f"{bracket.words}. {refusal.advice}")


_SAID = {
    "mount-beside": "the mount would show next to the object over {value:.0%} of its front area (limit {limit:.0%})",
    "mount-covered": "the mount would hide {value:.0%} of the object's front (limit {limit:.0%})",
    "bends": "an arm would need {value:.0f} bends (at most {limit:.0f} by hand)",
    "bend-radius": "a bend of {value:.1f} wire diameters would be too sharp (least {limit:.0f})",
    "arm-stress": "an arm would be stressed to {value:.0f} MPa under the shake (limit {limit:.0f})",
    "carried-from-below": "the tips' faces alone carry {value:.2f} of its weight",
    "margin": "it would stand a shake of {value:.2f} g (required {limit:.2f} g)",
    "margin-low-friction": "at low friction with its centre off it would stand {value:.2f} g (required {limit:.2f} g)",
    "torque-capacity": "it could be turned by {value:.0f} N mm (required {limit:.0f} N mm)",
    "preload": "within their force limits the tips keep {value:.2f} of its weight in friction (required {limit:.2f})",
    "shake-withstood": "it would leave its place under a shake of {value:.2f} g (required {limit:.2f} g)",
    "margin-on-real-normals": "where its pads really touch it would stand a shake of {value:.2f} g (required "
                              "{limit:.2f} g)",
}


def told(check: Check) -> str:
    """A check that failed, in plain words."""
    words = _SAID.get(check.name, check.name.replace("-", " ") + " {value:.2f} of {limit:.2f}")
    if check.value is not None and check.value < 0 and check.name.startswith("margin"):
        return "the tips do not balance it at all"
    return words.format(value=check.value, limit=check.limit)
