"""What the record says about mounts that a person must look at: not agreed, not measured, loose, due for a check.

Findings from the record alone; geometry is looked at elsewhere. Knows no clock: today's date is given. Used by the
roll-up.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from datetime import date

from scanprep.case.record.mount_life import MountLife
from scanprep.case.record.shop import mounts_words
from scanprep.case.record.state import CaseState
from scanprep.case.record.words import word_findings
from scanprep.findings import Finding, Verdict
from scanprep.numbering import natural_key
from scanprep.rules import CaseRules, FitRules


def life_findings(state: CaseState, rules: CaseRules, fit: FitRules, today: date | None = None) -> tuple[Finding, ...]:
    """Return findings about every object on record.

    fit    says from how many mounts on the shop's own spread counts
    today  None: nothing is said of checks that are due
    """
    found: list[Finding] = []
    for number in sorted(state.shown, key=natural_key):
        life = state.life(number)
        found += _agreements(number, life)
        found += _measures(number, life, state, rules.off_place_mm, fit)
        found += _after_installation(number, life, today, rules)
        if number in state.off_list and number in state.placements:
            found.append(_finding("off-list", number, Verdict.LOOK, "is no longer on the checklist but has a place",
                                  "Take it off its panel, or put it back on the list"))
    return (*found, *word_findings(state, state.shown))


def _finding(code: str, number: str, verdict: Verdict, words: str, remedy: str, measured: float | None = None,
             limit: float | None = None, unit: str = "") -> Finding:
    return Finding(code, f"object {number}", verdict, f"object {number} {words}", remedy, measured, limit, unit)


def _agreements(number: str, life: MountLife) -> list[Finding]:
    rules: tuple[tuple[str, Callable[[MountLife], bool], str], ...] = (
        ("contacts", lambda m: m.come_to("made"), "the conservator's word on its contact areas, due before bending"),
        ("angle", lambda m: m.come_to("marked"), "the curator's word on its angle, due before its hole is marked"),
        ("fit", lambda m: m.come_to("installed"), "the mountmaker's word that the mount fits"),
    )
    return [
        _finding(f"{what}-not-agreed", number, Verdict.LOOK, f"is {life.stage} without {words}",
                 f"Ask, then record it with `scanprep agree DIR {number} {what}`")
        for what, due, words in rules if due(life) and life.agreed(what) is None
    ]


def _measures(number: str, life: MountLife, state: CaseState, off_place_mm: float, fit: FitRules) -> list[Finding]:
    place = state.placements.get(number)
    if life.come_to("made") and life.as_made is None:
        return [_finding("axis-unmeasured", number, Verdict.UNMEASURED, "has a mount whose post was not measured; "
                         + mounts_words(state, fit),
                         f"Measure it and say `scanprep made DIR {number} measured --dx --dy --angle`")]
    if place is None or place.state != "drilled" or life.as_made is None:
        return []
    off = math.hypot(place.anchor_from_left_mm - place.from_left_mm - life.as_made.dx_mm,
                     place.anchor_y_mm - place.y_mm - life.as_made.dy_mm)
    if off <= off_place_mm:
        return []
    return [_finding("drilled-off-place", number, Verdict.LOOK, f"comes to stand {off:.1f} mm off its place: its "
                     "hole was drilled before the finished mount was measured",
                     "Bend the mount to suit, or accept the place", off, off_place_mm, "mm")]


def _after_installation(number: str, life: MountLife, today: date | None, rules: CaseRules) -> list[Finding]:
    found = []
    if life.proofs and life.proofs[-1].moved:
        found.append(_finding("post-moved-in-proof", number, Verdict.STOP, "has a post that moved under its proof "
                              f"({life.proofs[-1].moved})", "Take it out, lay a thicker line or drill anew; prove it"))
    elif life.has("installed") and not life.proofs:
        found.append(_finding("post-not-proved", number, Verdict.LOOK, "hangs on a post that nobody pulled and twisted",
                              f"Take it off, prove its post, and say `scanprep proof DIR {number} --pull --twist`"))
    checks = life.snug_checks
    if checks and not checks[-1].snug:
        note = f" ({checks[-1].note})" if checks[-1].note else ""
        found.append(_finding("post-loose", number, Verdict.STOP, f"has a post found loose on {checks[-1].time[:10]}"
                              f"{note}", "Take the object out, repair the seat, and check again"))
    if life.openings > rules.most_openings:
        found.append(_finding("many-openings", number, Verdict.LOOK, f"has a mount opened {life.openings} times",
                              "Look at the bend under a glass; bend a new arm where it shows lines", life.openings,
                              rules.most_openings, ""))
    last = [*(r.time for r in life.reached if r.stage == "installed"), *(c.time for c in checks)]
    if today is not None and life.has("installed") and last:
        days = (today - date.fromisoformat(max(last)[:10])).days
        if days > rules.snug_check_days:
            found.append(_finding("snug-check-due", number, Verdict.LOOK, f"was last looked at {days} days ago",
                                  f"Check that its post sits snug: `scanprep condition DIR {number} … --snug yes`",
                                  days, rules.snug_check_days, "days"))
    return found
