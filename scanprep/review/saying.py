"""A decision from the page turned into entries for the record: the one place where both meet.

Every entry is made by `case.record.decide`, so that the page can say no more and no less than the command line.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from scanprep.brief import CaseBrief, Region
from scanprep.case.record import decide
from scanprep.case.record.entry import Entry, NewEntry
from scanprep.case.record.lines import say_of, thinned_marks
from scanprep.case.record.measuring import named_pad
from scanprep.case.record.words import ask, check_role, refuse, take_word_back
from scanprep.findings import Verdict
from scanprep.plain_values import to_plain
from scanprep.review.messages import Decision, MessageError, Speaker
from scanprep.rules.pads import find_pad
from scanprep.workspace.decisions import choice_entries

if TYPE_CHECKING:
    from scanprep.review.desk import Desk


def spoken_name(by: Speaker, case: CaseBrief) -> str:
    """Return who decides as the record names people.

    A case that names its people knows their roles; else the role that was said stands with the name.
    """
    name = " ".join(by.person.split())
    return f"{name} ({by.role})" if by.role and not case.people else name


def objects_of(said: Decision, entries: Sequence[Entry]) -> tuple[str, ...]:
    """Return the objects that a decision is about; "" stands for the case itself."""
    if said.what == "place":
        return tuple(dict.fromkeys(move.object for move in said.moves))
    if said.what in ("session", "sign-off"):
        return ("",)
    if said.what == "undo":
        by_seq = {entry.seq: entry.object or "" for entry in entries}
        return tuple(dict.fromkeys(by_seq.get(seq, "") for seq in said.entries))
    return (said.object,)


def entries_of(desk: Desk, said: Decision) -> tuple[NewEntry, ...]:
    """Return what a decision adds to the record. Raises RecordError or MessageError where it cannot be taken."""
    state, case = desk.folder.state, desk.folder.case
    name = spoken_name(said.by, case)
    if said.what == "hold":
        return _hold(desk, said)
    if said.what == "place":
        return _places(desk, said)
    if said.what == "agree":
        return decide.agree(state, said.object, said.topic, said.words, name, case)
    if said.what == "refuse":
        return refuse(state, said.object, said.topic, said.words, name, case)
    if said.what == "ask":
        return ask(state, said.object, said.topic, "", case, said.words)
    if said.what == "take-back-word":
        return take_word_back(state, said.object, said.topic, name, said.words)
    if said.what == "note":
        return decide.note_condition(state, said.object, said.words)
    if said.what == "say":
        return _line(desk, said, name)
    if said.what == "lock":
        return decide.lock(state, said.object, said.yes, said.words)
    if said.what == "undo":
        return _undo(desk, said)
    if said.what == "session":
        return decide.open_session(state, said.words, said.people) if said.yes else decide.close_session(state)
    if said.what == "sign-off":
        desk.catch_up()  # nobody signs on what the panels said before the last move
        stops = [f.sentence for f in desk.findings if f.verdict is Verdict.STOP]
        return decide.sign_off(state, said.words, stops) if said.yes else decide.lift_sign_off(state, said.words)
    raise MessageError(f"{said.what!r} cannot be put on record")


def _hold(desk: Desk, said: Decision) -> tuple[NewEntry, ...]:
    spec = desk.specs.get(said.object)
    holds = () if spec is None else desk.holds_of(said.object)
    if spec is None or not 0 <= said.index < len(holds):
        raise MessageError(f"object {said.object} has no hold {said.index + 1}. Look at its holds again")
    return choice_entries(desk.folder.state, said.object, holds[said.index], said.index, spec.survey, spec.scan,
                          said.words)


def _line(desk: Desk, said: Decision, name: str) -> tuple[NewEntry, ...]:
    """What is said of the object itself: marks, way up, stand-off, note, pad."""
    state, case, line = desk.folder.state, desk.folder.case, said.line
    if line is None or said.object not in state.objects:
        raise MessageError(f"the message does not say what about object {said.object[:40]!r}")
    changes: dict[str, Any] = {}
    if line.marks or line.unmark:
        kept = [region for region in state.objects[said.object].no_touch if region.why not in line.unmark]
        painted = [Region("ball", mark.centre_mm, (mark.radius_mm, 0.0, 0.0), why=mark.why) for mark in line.marks]
        changes["no_touch"] = to_plain(thinned_marks((*kept, *painted)))
    for field, value in (("up", line.up), ("front", line.front), ("stand_off_mm", line.stand_off_mm),
                         ("note", line.note)):
        changes |= {} if value is None else {field: to_plain(value)}
    changes |= {"stand_off_mm": None} if line.usual_stand_off else {}
    entries = say_of(state, said.object, changes, said.words, name, case)
    if line.pad:
        check_role(case, name, "pad")
        entries += named_pad(state, said.object, find_pad(line.pad, desk.folder.rules.pads).name, said.words)
    return entries


def _places(desk: Desk, said: Decision) -> tuple[NewEntry, ...]:
    """The moves of one decision: all or none. A measured mount's hole lies beside the planned place."""
    state = desk.folder.state
    off: list[NewEntry] = []
    moves = []
    for move in said.moves:
        stand = desk.stand_of(move)
        if stand is None:
            off += decide.take_off(state, move.object, said.words)
            continue
        made = state.life(move.object).as_made
        dx, dy = (0.0, 0.0) if made is None else (made.dx_mm, made.dy_mm)
        moves.append((move.object, desk.folder.panel(stand.panel), stand.face, stand.from_left_mm - dx,
                      stand.y_mm - dy))
    return (*off, *decide.place_many(state, moves, said.words))


def _undo(desk: Desk, said: Decision) -> tuple[NewEntry, ...]:
    """Take back the entries of one decision, the latest first."""
    undone: list[NewEntry] = []
    for seq in sorted(said.entries, reverse=True):
        undone += decide.take_back(desk.folder.entries, desk.folder.state, seq, said.words)
    return tuple(undone)
