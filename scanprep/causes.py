"""Findings gathered by what causes them, so that a person reads one line for each thing to be done.

One open underside makes the volume doubtful, the centre of mass doubtful and the scan doubtful: that is one cause with
one remedy, not four findings. Findings of one object and one cause become a group; the same sentence said twice is
said once; the loudest leads. Nothing is dropped: a group keeps all its findings. Values only. Used by the command line,
the lists and sheets, and the review page, so that all of them count alike.
"""

from __future__ import annotations

import functools
import re
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass

from scanprep.findings import Finding, Verdict, loudest


@dataclass(frozen=True, slots=True)
class Cause:
    """What findings can come from."""

    name: str
    title: str  # a heading
    remedy: str  # where no finding of a group says what to do
    codes: tuple[str, ...]  # whole codes, or beginnings that end in a dash


#: Every cause, the more urgent first among those equally loud. A code belongs to the first cause that has it.
CAUSES = (
    Cause("hold", "How it is held", "Look at its other holds, ask for other angles, or bend that arm on the object", (
        "no-hold", "no-hold-chosen", "choice-lost", "hold-", "margin", "margin-", "preload", "rocking", "springs",
        "pads-sit", "shake-withstood", "torque-capacity", "tip-", "turning", "one-tip-worn", "carried-from-below",
        "mount-covered", "mount-beside", "mount-through", "no-opening-known", "opening-", "site-in-step", "removal",
        "removal-", "shaken-", "drop-", "arm-", "bend-", "bends", "tool-room", "mount-frequency", "mount-stiffness",
        "wire-", "joint-", "hub-")),
    Cause("place", "Where it stands", "Move it, or let the nudge find the least move", (
        "objects-too-near", "outlines-too-near", "post-in-front", "outline-near-edge", "unplaced", "unknown-panel",
        "fine-detail-high", "above-reach", "row-uneven", "hole-near-edge", "hole-web-between", "gap-from-samples",
        "runs-into-sheet", "off-list")),
    Cause("contact", "What touches it", "Ask the conservator before the wire is bent", ("contact-", "moving-parts")),
    Cause("scan", "What the scan does not show", "Scan what is missing, or measure it on the object", (
        "scan-", "end-not-seen", "height-not-whole", "volume-", "centre-", "mass-", "solid-or-shell", "inner-shell",
        "weighed-against-volume", "skin-", "lower-than-known", "implausible-size", "table-cut",
        "unit-contradicts-format", "reading-note", "fewer-pieces", "separate-body", "unseen-")),
    Cause("way-up", "Which way up", "Say in the checklist which way is up and which side is the front", (
        "which-way-up", "which-front", "which-side-front", "front-")),
    Cause("post", "Its post sinks or sways", "Take a thicker rod, a shorter stand-off or stiffer arms, or accept it by "
          "eye on the mock-up", (
        "no-post", "nothing-holds-post", "retention-", "post-", "rod-", "seat-", "stand-off-", "too-many-diameters",
        "weakest-link", "gives-first")),
    Cause("hole", "Its hole", "Try the drill in an offcut of the sheet first", (
        "hole-", "drill-", "drilled-web", "shim-line", "coupon-", "mock-up")),
    Cause("panel", "The sheet", "Ask a licensed engineer before the sheet is ordered", ("panel-", "sheet-")),
    Cause("order", "Going in and out", "Change the order of installation, or move what is in the way", (
        "behind-door", "order-", "mount-in-way")),
    Cause("record", "What the record waits for", "Put it on record when it is done", (
        "axis-unmeasured", "drilled-off-place", "many-openings", "snug-check-due", "contacts-not-agreed",
        "angle-not-agreed", "fit-not-agreed", "refused", "asked", "roles-unsaid", "rules-",
        "refused-", "letters-not-in-font")),
    Cause("measure", "To be measured", "Measure it, then write it in the checklist or case.toml", (
        "unmeasured", "to-measure-", "thickness-unmeasured")),
)
#: Codes whose beginning would send them elsewhere.
_EXCEPTIONS = {"post-loose": "record", "post-in-front": "place", "hole-near-edge": "place", "hole-web-between": "place",
               "post-resonance": "post", "tip-unscanned": "scan"}
_OTHER = Cause("other", "Other findings", "Look at it, and ask who looks after this part", ())
_SUBJECT = re.compile(r"^(?:object|objects) ")


@dataclass(frozen=True, slots=True)
class FindingGroup:
    """What is said of one object, panel or pair from one cause."""

    cause: str
    title: str
    subject: str
    objects: tuple[str, ...]  # numbers that take part
    verdict: Verdict  # the loudest
    sentence: str  # of the loudest finding, one that says what to do where there is one
    remedy: str  # never empty
    findings: tuple[Finding, ...]  # all of them, loudest first, each sentence once


@functools.cache
def cause_of(code: str) -> Cause:
    """Return what a finding of this code comes from.

    >>> cause_of("end-not-seen").name, cause_of("centre-doubt").name, cause_of("arm-sag").name
    ('scan', 'scan', 'hold')
    """
    named = _EXCEPTIONS.get(code)
    for cause in CAUSES:
        if cause.name == named or (named is None and any(
                code == mine or (mine.endswith("-") and code.startswith(mine)) for mine in cause.codes)):
            return cause
    return _OTHER


def named_objects(finding: Finding, numbers: Collection[str], scans: Mapping[str, str] | None = None
                  ) -> tuple[str, ...]:
    """Return the objects that a finding is about: those of its subject first, then those its sentence names.

    numbers  of all objects
    scans    object of each scan's name, for findings about a file
    """
    subject = finding.subject
    if subject.startswith("scan ") and scans:
        return (scans[subject[5:]],) if subject[5:] in scans else ()
    own = [n for n in _numbers(subject, numbers) if _SUBJECT.match(subject)]
    return tuple(dict.fromkeys([*own, *(n for n in _numbers(finding.sentence, numbers) if own)]))


def _numbers(text: str, numbers: Collection[str]) -> list[str]:
    """Object numbers that stand in a text after "object", "objects" or "and", in their order there."""
    found = []
    for match in re.finditer(r"objects? (?P<first>\S+?)(?=[,:;.]?(?: |$))(?: and (?:object )?(?P<second>\S+?)"
                             r"(?=[,:;.]?(?: |$)))?", text):
        found += [name for name in (match["first"], match["second"]) if name in numbers]
    return found


def grouped(findings: Sequence[Finding], numbers: Collection[str] = (), scans: Mapping[str, str] | None = None
            ) -> tuple[FindingGroup, ...]:
    """Return findings gathered by cause, stops first, then what a person must look at; `ok` is left out.

    numbers  of all objects; none: each finding's subject is taken as it is
    scans    object of each scan's name
    """
    heaps: dict[tuple[str, tuple[str, ...], str], list[Finding]] = {}
    for finding in findings:
        if finding.verdict is Verdict.OK:
            continue
        objects = named_objects(finding, numbers, scans)
        cause = cause_of(finding.code)
        # unknown codes share no cause, and one of a kind of measurement is one thing to do
        apart = finding.code if cause is _OTHER or finding.code.startswith("to-measure-") else ""
        subject = "" if objects else finding.subject.partition(",")[0]
        heaps.setdefault((cause.name, objects, f"{apart}{subject}"), []).append(finding)
    groups = [_group(objects, heap) for (_, objects, _), heap in heaps.items()]
    order = {cause.name: i for i, cause in enumerate((*CAUSES, _OTHER))}
    return tuple(sorted(groups, key=lambda g: (-g.verdict.loudness, order[g.cause], g.objects, g.subject)))


def _group(objects: tuple[str, ...], heap: Sequence[Finding]) -> FindingGroup:
    once = {finding.sentence: finding for finding in reversed(heap)}
    members = sorted((f for f in heap if once[f.sentence] is f), key=lambda f: -f.verdict.loudness)
    loud = [f for f in members if f.verdict is members[0].verdict]
    lead = next((f for f in loud if f.remedy), loud[0])  # what is said and what to do about it are of one finding
    cause = cause_of(lead.code)
    subject = f"object{'s' * (len(objects) > 1)} {' and '.join(objects)}" if objects else lead.subject
    return FindingGroup(cause.name, cause.title, subject, objects, loudest(f.verdict for f in members), lead.sentence,
                        lead.remedy or cause.remedy, tuple(members))
