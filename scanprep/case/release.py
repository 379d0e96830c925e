"""Which holes may be drilled now, and what each of the others waits for: one answer for every paper, list and page.

A hole is released when everything that bears on it is known and agreed: its rod, a test hole of its drill, the sheet's
thickness, the object's mass and pad, the finished mount's axis, a hold that a person chose, the agreements the shop
asks for, and no finding of its object, its panel or the case that says stop. Otherwise it is held, one reason a line.
Nothing here is decided: it is read off the record, the specifications and the findings.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from scanprep.brief import CaseBrief
from scanprep.case.placed import PlacedObject
from scanprep.case.record.state import CaseState, RecordedHole
from scanprep.findings import Finding, Verdict
from scanprep.numbering import natural_key
from scanprep.post.drill import same_drill
from scanprep.post.measure import PAD, to_measure
from scanprep.post.recipe import coupon_retention
from scanprep.post.retention import KeyKind, Retention, parse_retention
from scanprep.post.rod_names import same_rod
from scanprep.rules import FitRules
from scanprep.spec import MountSpec

#: Whose word a hole needs before it is drilled, as the reason says it. Common practice.
NEEDED_WORDS = {
    "contacts": "the conservator has not agreed to the contact areas",
    "angle": "the curator has not agreed to the angle",
    "place": "curator and designer have not agreed to the place",
}


@dataclass(frozen=True, slots=True)
class HoleRelease:
    """Whether one hole may be drilled now. Also made for an object without a hole: then nothing of it may be cut."""

    number: str  # of the hole, "H7"; empty where the object has none
    object: str
    panel: str  # empty where the object has no place
    face: str
    state: str  # "planned", "marked", "drilled", "void"; "unplaced" without a hole
    released: bool  # to be drilled now: never true of a drilled or void hole
    reasons: tuple[str, ...]  # why it is held, one a line; of a drilled hole: what speaks against using it as it is

    @property
    def held(self) -> bool:
        """Whether something speaks against drilling it or, once drilled, against using it."""
        return bool(self.reasons)


def hole_releases(case: CaseBrief, state: CaseState, specs: Mapping[str, MountSpec], placed: Sequence[PlacedObject],
                  findings: Sequence[Finding], fit: FitRules | None = None) -> tuple[HoleRelease, ...]:
    """Return one release for each object of a case and one for each void hole, in the order of hole numbers.

    specs     every object's specification; its own findings are read from there
    placed    where each stands
    findings  of the case: between objects, about panels, from the record
    fit       how many coupons judge a recipe; None: that is not asked

    Objects without a hole come last, in the order of their numbers.
    """
    found = [object_release(item, specs.get(item.number), case, state, findings, fit) for item in placed]
    found += [_of_void(hole) for hole in state.holes if hole.state == "void"]
    return tuple(sorted(found, key=lambda r: (not r.number, natural_key(r.number), natural_key(r.object))))


def release_of(number: str, releases: Sequence[HoleRelease]) -> HoleRelease | None:
    """Return the release of an object's standing hole; None where the object is not among them."""
    return next((r for r in releases if r.object == number and r.state != "void"), None)


def concerns(finding: Finding, number: str) -> bool:
    """Return whether a finding is about an object: its subject, or named in its sentence.

    A number counts only whole: a finding about object 12 is not about object 1.
    """
    text = f"{finding.subject}; {finding.sentence}"
    if number not in text:  # most findings are about others: of 120 objects a third of the time of telling a case anew
        return False
    name, end = re.escape(number), r"(?![\w-]|\.\w)"
    words = rf"\bobject {name}{end}|\bobjects (?:\S+, )*(?:\S+ and )?{name}{end}"
    return re.search(words, text) is not None


def _of_void(hole: RecordedHole) -> HoleRelease:
    return HoleRelease(hole.number, hole.object, hole.panel, hole.face, "void", False,
                       (f"void: {hole.why_void}" if hole.why_void else "void",))


def object_release(item: PlacedObject, spec: MountSpec | None, case: CaseBrief, state: CaseState,
                   findings: Sequence[Finding], fit: FitRules | None = None) -> HoleRelease:
    """Return the release of one object's hole; see `hole_releases`."""
    placement = state.placements.get(item.number)
    standing = item.stand is not None and placement is not None and placement.hole is not None
    panel, face = (item.stand.panel, item.stand.face) if item.stand is not None else ("", "")
    stops = _stops(item.number, panel, spec, findings)
    if standing and item.hole_state == "drilled":
        return HoleRelease(str(item.hole_number), item.number, panel, face, "drilled", False, stops)
    waits = [] if standing else ["it has no place on a panel yet"]
    waits += _measures(item, spec, case, panel, fit)
    waits += _people(item.number, spec, case, state)
    return HoleRelease(item.hole_number or "" if standing else "", item.number, panel, face,
                       item.hole_state if standing else "unplaced", not waits and not stops, (*waits, *stops))


def _measures(item: PlacedObject, spec: MountSpec | None, case: CaseBrief, panel: str,
              fit: FitRules | None) -> list[str]:
    """What has to be measured or computed before this hole is drilled."""
    if spec is None or item.plan is None:
        return ["it has no post yet"]
    post, hole = item.plan.post, item.plan.hole
    waits = []
    if not any(same_rod(post.rod, rod.label) for rod in case.measured_rods):
        waits.append(f"rod {post.rod} is not measured")
    if not any(same_drill(hole.drill, coupon.drill) for coupon in case.coupons):
        waits.append(f"no test hole of drill {hole.drill} is measured")
    elif fit is not None and post.retention and not case.mock_up:
        waits += _coupons(parse_retention(post.retention), hole.drill, case, fit)
    sheet = next((p for p in case.panels if p.name == panel), None)
    if sheet is not None and not sheet.thickness_measured and not case.mock_up:
        waits.append(f"the thickness of sheet {panel} is not measured")
    if not spec.survey.mass_measured:
        waits.append("the object is not weighed")
    if PAD in to_measure(spec.checks):
        waits.append("the conservator has not named the pad")
    if not item.as_made and not case.mock_up:
        waits.append("the finished mount's post axis is not measured")
    return waits


def _coupons(held: Retention, drill: str, case: CaseBrief, fit: FitRules) -> list[str]:
    """What a post that a recipe holds waits for: enough coupons of one rod lot with push, twist and pull.

    A key needs none. Two bars differ by more than the window of a fit, so coupons of two lots are not added up.
    """
    if held.key is not KeyKind.NONE:
        return []
    lots = Counter(one.lot or "" for one in case.coupons
                   if same_drill(drill, one.drill) and coupon_retention(one).same_recipe(held)
                   and None not in (one.push_N, one.twist_Nmm, one.pull_N))
    whole = max(lots.values(), default=0)
    return [] if whole >= fit.coupons else [f"{whole} of {fit.coupons} coupons of drill {drill} held by {held.words} "
                                            "are complete: push, twist and pull"]


def _people(number: str, spec: MountSpec | None, case: CaseBrief, state: CaseState) -> list[str]:
    """What people have not said yet, or have said against it."""
    waits = []
    if spec is not None and spec.hold is not None and spec.chosen_by == "proposed":
        waits.append("the hold is only proposed")
    life = state.life(number)
    if not case.mock_up:  # a mock-up is made so that people can say
        waits += [words for what, words in NEEDED_WORDS.items() if life.agreed(what) is None]
    return waits


def _stops(number: str, panel: str, spec: MountSpec | None, findings: Sequence[Finding]) -> tuple[str, ...]:
    """Every finding that says stop and bears on this object's hole, as sentences, each once."""
    own = [f for f in (spec.findings if spec else ()) if f.verdict is Verdict.STOP]
    own += [f for f in findings if f.verdict is Verdict.STOP and _bears(f, number, panel)]
    return tuple(dict.fromkeys(f.sentence.removeprefix(f"object {number}: ") for f in own))


def _bears(finding: Finding, number: str, panel: str) -> bool:
    """A finding of an object holds that object, one of a panel all that stands on it, any other the whole case."""
    subject = finding.subject
    if subject.startswith(("object ", "objects ")):
        return concerns(finding, number)
    if subject.startswith(("panel ", "face ")):
        return subject in (f"panel {panel}", f"face {panel} A", f"face {panel} B")
    return True
