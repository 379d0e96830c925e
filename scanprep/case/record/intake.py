"""Taking a checklist into the record: what is new, what changed, what is gone, told before anything is written.

A position on the checklist counts as a placement until somebody moves the object: reading the same list again never
takes a decision back. Objects that left the list stay on record. Used by the intake command.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from scanprep.brief import ObjectBrief, PanelBrief
from scanprep.case.record.decide import place
from scanprep.case.record.entry import NewEntry
from scanprep.case.record.state import CaseState
from scanprep.errors import InputError, RecordError
from scanprep.file_names import MOST_LETTERS
from scanprep.panel.faces import from_left_of
from scanprep.plain_text import visible
from scanprep.plain_values import to_plain


@dataclass(frozen=True, slots=True)
class Change:
    """One difference between the record and a checklist."""

    number: str
    kind: str  # "new", "changed", "gone", "back", "refused"
    sentence: str


@dataclass(frozen=True, slots=True)
class Intake:
    """What a checklist would change, and the entries that say so."""

    changes: tuple[Change, ...]
    entries: tuple[NewEntry, ...]
    left_aside: tuple[str, ...] = ()  # columns of the checklist that were not read, as sentences


_POSITION = ("panel", "face", "datum_x_mm", "from_left_mm", "y_mm")


def intake(state: CaseState, briefs: Sequence[ObjectBrief], panels: Sequence[PanelBrief],
           reason: str = "") -> Intake:
    """Return what taking a checklist would change.

    Positions that the record refuses (drilled, locked, off the sheet) are told as "refused" and left as they are;
    everything else of that line is taken. Raises RecordError where the case is signed off and no reason is given.
    """
    _names_apart(state, briefs)
    sheets = {panel.name: panel for panel in panels}
    changes: list[Change] = []
    entries: list[NewEntry] = []
    fresh = state.next_hole
    for brief in briefs:
        before = state.lines.get(brief.number)
        told, said = _line(state, before, brief)
        if not said:
            continue
        placed: tuple[NewEntry, ...] = ()
        try:
            was = None if brief.number in state.off_list else before  # what is back begins anew
            placed = _position(_with(state, brief, fresh), was, brief, sheets, reason)
        except RecordError as refusal:
            changes.append(Change(brief.number, "refused", f"{refusal}. Its position is left as it was"))
        fresh += sum(entry.payload.get("hole") == f"H{fresh}" for entry in placed)
        changes += told
        entries += [*said, *placed]
    gone = [number for number in state.objects if number not in {w.number for w in briefs}
            and number not in state.off_list]
    for number in gone:
        changes.append(Change(number, "gone", f"object {number} ({state.objects[number].title}) is no longer on the "
                              f"checklist; it {_gone(state, number)}stays on record"))
        hangs = state.life(number).whereabouts == "installed"
        entries.append(NewEntry("left-list", number, {} if hangs else {"withdrawn": True}))
    if entries and state.signed_off is not None and not reason.strip():
        raise RecordError(f"the case is signed off; the checklist changes {len(changes)} things. Say --reason")
    return Intake(tuple(changes), tuple(replace(entry, reason=entry.reason or reason) for entry in entries))


def _names_apart(state: CaseState, briefs: Sequence[ObjectBrief]) -> None:
    """Refuse numbers that a folder or a reader could mistake for another's. Raises InputError."""
    seen: dict[str, str] = {number.casefold(): number for number in state.objects}
    for brief in briefs:
        number = brief.number
        if len(number) > MOST_LETTERS or number != visible(number):
            raise InputError(field="number", value=visible(number[:MOST_LETTERS]),
                             problem=f"is no number to write on a label: at most {MOST_LETTERS} letters, none of them "
                             "invisible", remedy="Correct it in the checklist")
        other = seen.setdefault(number.casefold(), number)
        if other != number:
            raise InputError(field="number", value=number, problem=f"differs from {other} in capitals only, and many "
                             "file systems take them for the same", remedy="Give one of them another number")


def _gone(state: CaseState, number: str) -> str:
    """What becomes of an object that left the list, besides staying on record."""
    place = state.placements.get(number)
    if state.life(number).whereabouts == "installed":
        return "is installed, so it is not withdrawn: take it out first; it "
    if place is None:
        return ""
    hole = f" and its {place.state} hole {place.hole} becomes void" if place.state in ("marked", "drilled") else ""
    return f"is withdrawn from its panel{hole}; it "


def _line(state: CaseState, before: ObjectBrief | None, brief: ObjectBrief) -> tuple[list[Change], list[NewEntry]]:
    taken = [NewEntry("taken", brief.number, {"wish": to_plain(brief)})]
    if before is None:
        return [Change(brief.number, "new", f"object {brief.number} ({brief.title or 'untitled'}) is new")], taken
    if brief.number in state.off_list:
        return [Change(brief.number, "back", f"object {brief.number} is on the checklist again")], taken
    differences = wish_differences(before, brief)
    if not differences:
        return [], []
    sentence = f"object {brief.number}: " + "; ".join(differences)
    return [Change(brief.number, "changed", sentence)], taken


def wish_differences(before: ObjectBrief, after: ObjectBrief) -> tuple[str, ...]:
    """Return what differs between two lines for the same object, as "mass 240 g, was 250 g" phrases."""
    phrases = []
    for field in dataclasses.fields(ObjectBrief):
        old, new = getattr(before, field.name), getattr(after, field.name)
        if old != new:
            name, _, unit = field.name.rpartition("_")
            name, unit = (name, f" {unit}") if unit in ("mm", "g", "deg", "N") else (field.name, "")
            phrases.append(f"{name.replace('_', ' ')} {_shown(new, unit)}, was {_shown(old, unit)}")
    return tuple(phrases)


def _shown(value: Any, unit: str) -> str:
    if value is None or value == () or value == "":
        return "not said"
    if isinstance(value, float):
        return f"{value:.6g}{unit}"
    if isinstance(value, tuple) and value and dataclasses.is_dataclass(value[0]):
        return " and ".join(" ".join(_shown(getattr(item, f.name), "") for f in dataclasses.fields(item)
                                     if getattr(item, f.name) is not None) for item in value)
    return str(value)


def _place_differs(before: ObjectBrief | None, brief: ObjectBrief) -> bool:
    return before is None or any(getattr(before, name) != getattr(brief, name) for name in _POSITION)


def _with(state: CaseState, brief: ObjectBrief, next_hole: int) -> CaseState:
    withdrawn = {n: w for n, w in state.withdrawn.items() if n != brief.number or n not in state.off_list}
    return replace(state, objects={**state.objects, brief.number: brief}, next_hole=next_hole, withdrawn=withdrawn)


def _position(state: CaseState, before: ObjectBrief | None, brief: ObjectBrief,
              sheets: Mapping[str, PanelBrief], reason: str) -> tuple[NewEntry, ...]:
    """Return the placement that a line asks for; nothing where it has none or where they are what they were."""
    if (brief.from_left_mm is None and brief.datum_x_mm is None) or brief.y_mm is None or not _place_differs(
            before, brief):
        return ()
    if brief.panel not in sheets:
        raise RecordError(f"panel {brief.panel} is not in the case file (there are: {', '.join(sheets) or 'none'})")
    sheet = sheets[str(brief.panel)]
    return place(state, brief.number, sheet, str(brief.face), _from_left_mm(before, brief, sheet), brief.y_mm,
                 reason or ("changed on the checklist" if before is not None else ""), source="checklist")


def _from_left_mm(before: ObjectBrief | None, brief: ObjectBrief, sheet: PanelBrief) -> float:
    """How far from its face's own left edge a line puts an object."""
    if brief.datum_x_mm is None:
        return float(brief.from_left_mm or 0.0)
    found = from_left_of(str(brief.face), brief.datum_x_mm, sheet.width_mm)
    if before is not None and before.face == brief.face and before.from_left_mm == brief.datum_x_mm != found:
        raise RecordError(f"object {brief.number}: x {brief.datum_x_mm:g} mm on face {brief.face} was read as from the "
                          "face's own left edge until now; x runs from the datum edge. Write it under `from left`, "
                          f"or x {found:g} mm")
    return found
