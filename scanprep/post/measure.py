"""What has still to be measured before the mechanics of an object can be called ok.

Checks that rest on defaults say `unmeasured`, each with its own note; a person wants to read once what to do.
"""

from __future__ import annotations

from collections.abc import Sequence

from scanprep.findings import Check, Finding, Verdict

#: What settles an unmeasured check.
MEASURES = {
    "drill-fit": "rod and test hole", "hole-web": "sheet at the hole", "post-aim": "drilled hole against a square",
    "post-resonance": "rod and mass", "panel-lean": "sheet", "panel-overturning": "floor fixing",
}


def to_measure(checks: Sequence[Check]) -> tuple[str, ...]:
    """Return what has still to be measured, each thing once."""
    still = [check for check in checks if check.verdict is Verdict.UNMEASURED]
    found = ["mass" for check in still if "weigh the object" in check.note]
    found += ["which pad" for check in still if "name the pads" in check.note]
    found += [MEASURES[check.name] for check in still if check.name in MEASURES]
    return tuple(dict.fromkeys(found))


def unmeasured_finding(checks: Sequence[Check], subject: str) -> Finding | None:
    """Return one finding for all unmeasured checks of an object and what to measure; None where all is known.

    The checks themselves keep their values and notes.
    """
    still = [check for check in checks if check.verdict is Verdict.UNMEASURED]
    if not still:
        return None
    wants = to_measure(checks)
    within = sum(check.margin is not None and check.margin >= 1 for check in still)
    return Finding(
        "unmeasured", subject, Verdict.UNMEASURED,
        f"{subject}: {len(still)} checks rest on defaults, {within} of them inside their limits: "
        f"{', '.join(check.name.replace('-', ' ') for check in still)}",
        f"Measure {', '.join(wants)}" if wants else "Measure what the checks name")
