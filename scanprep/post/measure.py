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
#: Code of the finding that stands for all checks on defaults of one object or panel.
RESTING = "unmeasured"
_MOST_NAMED = 12  # layout: a sentence that names more subjects is not read
MASS, PAD = "mass", "pad"
#: How each is measured, one sentence.
HOW = {
    MASS: "Weigh it on a bench scale and write the mass in the checklist",
    PAD: "Let the conservator name the pad in the checklist",
    "rod and test hole": "Measure the rod with a micrometer, drill the coupon's holes in an offcut (`scanprep "
                         "coupon`), push, twist and pull five of a recipe, and write all into case.toml",
    "sheet at the hole": "Take the sheet's thickness with a calliper where the holes go, and write the least in "
                         "case.toml",
    "drilled hole against a square": "Stand a long rod in the drilled hole against a square, then trim the mount",
    "rod and mass": "Measure the rod and weigh the object",
    "sheet": "Measure the sheet's thickness along its edges and ask its maker for the grade",
    "floor fixing": "Say in case.toml how the panel's foot is held, and have it looked at",
}


def to_measure(checks: Sequence[Check]) -> tuple[str, ...]:
    """Return what has still to be measured, each thing once."""
    still = [check for check in checks if check.verdict is Verdict.UNMEASURED]
    found = [MASS for check in still if "weigh the object" in check.note]
    found += [PAD for check in checks if "name the pads" in check.note]
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
        RESTING, subject, Verdict.UNMEASURED,
        f"{subject}: {len(still)} checks rest on defaults, {within} of them inside their limits: "
        f"{', '.join(check.name.replace('-', ' ') for check in still)}",
        f"Measure {', '.join(wants)}" if wants else "Measure what the checks name")


def _listed(names: Sequence[str]) -> str:
    rest = len(names) - _MOST_NAMED
    return ", ".join(names) if rest <= 0 else f"{', '.join(names[:_MOST_NAMED])} and {rest} more"


def waiting_findings(waiting: Sequence[tuple[str, Sequence[Check]]], subject: str) -> tuple[Finding, ...]:
    """Return one finding a kind of measurement, each with how it is done and who waits for it.

    waiting  (name, checks) of every object or panel
    """
    by_kind: dict[str, list[str]] = {}
    for name, checks in waiting:
        for kind in to_measure(checks):
            by_kind.setdefault(kind, []).append(name)
    return tuple(Finding(f"to-measure-{kind.replace(' ', '-')}", subject, Verdict.UNMEASURED,
                         f"{len(names)} wait{'s' * (len(names) == 1)} for a measurement ({kind}): {_listed(names)}",
                         HOW[kind], float(len(names)))
                 for kind, names in sorted(by_kind.items(), key=lambda entry: -len(entry[1])))
