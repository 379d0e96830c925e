"""What people say of an object between two checklists: no-touch marks, which way is up, its stand-off, a note.

Such a word stands in place of what the checklist's line says in that field until a later checklist changes the same
field. Each field is the word of certain roles, as agreements are. Scan axes, mm. Used by the review page.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from scanprep.brief import CaseBrief, ObjectBrief, Region
from scanprep.case.record.entry import NewEntry
from scanprep.case.record.state import CaseState
from scanprep.case.record.words import check_role
from scanprep.errors import RecordError
from scanprep.numbering import natural_key
from scanprep.plain_values import from_plain, to_plain
from scanprep.rules import CaseRules
from scanprep.units import format_length
from scanprep.vectors import along_one_line

_NAMES = {"up": "up", "front": "front", "stand_off_mm": "stand-off", "note": "note"}
#: Fields that may be said of an object, and whose word each is by `words.MAY`; "" for anybody's.
FIELDS = {"no_touch": "no-touch", "up": "way-up", "front": "way-up", "stand_off_mm": "stand-off", "note": ""}


def with_words(line: ObjectBrief, said: Mapping[str, Any]) -> ObjectBrief:
    """Return a checklist line with what was said of it since. Raises ValueError on a field that it has not."""
    whole: ObjectBrief = from_plain(ObjectBrief, {**to_plain(line), **said}, where=f"object {line.number}")
    return whole


def left_standing(said: Mapping[str, Any], before: ObjectBrief, now: ObjectBrief) -> dict[str, Any]:
    """Return what of such words stands when a checklist brings another line: a field that it changes is its own."""
    return {name: value for name, value in said.items() if getattr(before, name) == getattr(now, name)}


def say_of(state: CaseState, number: str, said: Mapping[str, Any], reason: str = "", person: str = "",
           case: CaseBrief | None = None) -> tuple[NewEntry, ...]:
    """Return the entry that says fields of `FIELDS` of an object, as plain values; nothing where all are so already.

    Raises RecordError on another field, a value that it cannot have, a person whose word it is not, or, where the case
    is signed off, without a reason.
    """
    if number not in state.objects:
        near = ", ".join(sorted(state.objects, key=natural_key)[:8]) or "none yet"
        raise RecordError(f"object {number} is not on record (there are: {near}). Take it in with `scanprep intake`")
    other = sorted(set(said) - set(FIELDS))
    if other:
        raise RecordError(f"object {number}: {other[0]} cannot be said here; say {', '.join(FIELDS)}, or change the "
                          "checklist")
    before = state.objects[number]
    try:
        after = with_words(before, said)
    except ValueError as problem:
        raise RecordError(f"{problem}. Say it again") from None
    _sensible(before, after)
    changed = [name for name in said if getattr(after, name) != getattr(before, name)]
    if not changed:
        return ()
    for topic in dict.fromkeys(FIELDS[name] for name in changed if FIELDS[name]):
        check_role(case, person, topic)
    if state.signed_off is not None and not reason.strip():
        raise RecordError(f"the case was signed off by {state.signed_off.person}: changing {', '.join(changed)} of "
                          f"object {number} needs a reason")
    return (NewEntry("line-said", number, {"line": {name: to_plain(getattr(after, name)) for name in changed}},
                     reason),)


def _sensible(before: ObjectBrief, after: ObjectBrief) -> None:
    subject, rules = f"object {after.number}", CaseRules()
    if after.stand_off_mm is not None and not 0 < after.stand_off_mm <= rules.most_stand_off_mm:
        raise RecordError(f"{subject}: a stand-off is above 0 and at most {rules.most_stand_off_mm:g} mm, not "
                          f"{after.stand_off_mm:g} mm")
    for way in (after.up, after.front):
        if way is not None and not any(way):
            raise RecordError(f"{subject}: a direction of length 0 points nowhere. Choose a picture")
    if along_one_line(after.up, after.front):
        raise RecordError(f"{subject}: its front lies along its up. Say which side faces the viewer")
    if len(after.no_touch) > max(rules.most_marks, len(before.no_touch)):
        raise RecordError(f"{subject}: {len(after.no_touch)} no-touch marks; at most {rules.most_marks} are kept. "
                          "Paint with a larger brush")
    for region in after.no_touch:
        if region not in before.no_touch:
            _whole_mark(subject, region)


def _whole_mark(subject: str, region: Region) -> None:
    if region.kind != "ball" or not 0 < region.size_mm[0] <= CaseRules().most_mark_mm:
        raise RecordError(f"{subject}: a painted mark is a ball of at most {CaseRules().most_mark_mm:g} mm radius")
    if not region.why.strip():
        raise RecordError(f"{subject}: say why nothing may touch there: rim, handle, gilding, ...")


def without_marks(line: ObjectBrief, why: str) -> tuple[Region, ...]:
    """Return an object's no-touch regions without those of one reason."""
    return tuple(region for region in line.no_touch if region.why != why)


def thinned_marks(regions: tuple[Region, ...]) -> tuple[Region, ...]:
    """Return painted balls with as few as cover the stroke: one whose middle lies within half a radius of another of
    the same reason and at least its size adds nothing that a brush could mean."""
    kept: list[Region] = []
    for region in (replace(region, why=" ".join(region.why.split())) for region in regions):
        if region.kind != "ball" or not any(_covers(other, region) for other in kept):
            kept.append(region)
    return tuple(kept)


def _covers(other: Region, region: Region) -> bool:
    if other.kind != "ball" or other.why != region.why or other.size_mm[0] < region.size_mm[0]:
        return False
    apart2 = sum((a - b) ** 2 for a, b in zip(other.centre_mm, region.centre_mm, strict=True))
    return apart2 <= (region.size_mm[0] / 2) ** 2


def line_words(said: Mapping[str, Any], units: str = "mm") -> str:
    """Return fields that were said of an object as the logbook has them.

    units  "mm" or "in" for lengths
    """
    told = []
    for name, value in said.items():
        if name == "no_touch":
            reasons = dict.fromkeys(str(region.get("why") or "no reason given") for region in value)
            told.append(f"nothing may touch {', '.join(reasons)}" if reasons else "no no-touch marks")
        elif value is None:
            told.append(f"its {_NAMES[name]} as it was before")
        elif name in ("up", "front"):
            told.append(f"{_NAMES[name]} along ({', '.join(f'{float(part):g}' for part in value)}) of its scan")
        elif name == "stand_off_mm":
            told.append(f"{_NAMES[name]} {format_length(float(value), units)}")
        else:
            told.append(f"{_NAMES[name]} {value}" if value else f"no {_NAMES[name]}")
    return "; ".join(told)
