"""The record's meaning: how a case stands after a list of entries.

State is nothing but the fold of the ledger's entries in order. An entry that a later one takes back counts for nothing,
but stays on record; hole numbers are never used twice, not even those taken back, since a template with them may hang
at the drill press. Knows no files and no clock. Used by `workspace`, `decide` and `history`.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace
from types import MappingProxyType
from typing import Any

from scanprep.brief import ObjectBrief
from scanprep.case.record.entry import Entry, Payload
from scanprep.case.record.fold_later import LATER_HANDLERS
from scanprep.case.record.frozen import MadeFacts, drilled_facts
from scanprep.case.record.lines import left_standing, with_words
from scanprep.case.record.mount_life import (
    LAPSE_WITH_HOLD,
    LAPSE_WITH_PLACE,
    OF_THE_HOLE,
    OLD_STAGES,
    Agreement,
    AsMade,
    ConditionNote,
    MountLife,
    Reached,
    SnugCheck,
    another_mount,
    answered,
    lapsed,
    without,
    without_word,
)
from scanprep.case.record.state import (
    CaseState,
    Choice,
    DiameterChoice,
    Measured,
    Placement,
    RecordedHole,
    RodChoice,
    Session,
    SignOff,
    Withdrawal,
)
from scanprep.errors import UnreadableRecordError
from scanprep.plain_values import from_plain


def standing(entries: Sequence[Entry]) -> tuple[Entry, ...]:
    """Return the entries that count: all but those taken back by a later `undone` that itself still stands."""
    taken_back: set[int] = set()
    for entry in reversed(entries):
        if entry.kind == "undone" and entry.seq not in taken_back:
            taken_back.add(int(entry.payload["seq"]))
    return tuple(entry for entry in entries if entry.seq not in taken_back)


def fold(entries: Sequence[Entry]) -> CaseState:
    """Return how the case stands after some entries, which start at the first and have no gap.

    Raises RecordError when an entry is of a kind that this version does not know.
    """
    folding = Folding()
    for entry in standing(entries):
        folding.take(entry)
    return folding.state(entries[-1].seq if entries else 0, _next_hole(entries))


def _next_hole(entries: Iterable[Entry]) -> int:
    numbers = (entry.payload["hole"] for entry in entries if entry.payload.get("hole"))
    return 1 + max((int(str(number).lstrip("H")) for number in numbers), default=0)


def placed_from_left_mm(said: Payload) -> float:
    """Return how far from its face's own left edge an entry puts an object; earlier versions called it x."""
    return float(said["from_left_mm"] if "from_left_mm" in said else said["x_mm"])


def names_as_now(said: Payload) -> dict[str, Any]:
    """Return what was written down of a line or a place under today's names; earlier versions called from_left x."""
    now = dict(said)
    if "x_mm" in now:
        now["from_left_mm"] = now.pop("x_mm")
    return now


def corrected_anchor(from_left_mm: float, y_mm: float, as_made: AsMade | None) -> tuple[float, float]:
    """Return where the hole has to be so that the object comes to stand where it is wanted.

    from_left_mm, y_mm  the planned anchor, face frame
    The finished post lies (dx, dy) off its plan while the object is held at its attitude, so the hole moves with it.
    """
    return (from_left_mm, y_mm) if as_made is None else (from_left_mm + as_made.dx_mm, y_mm + as_made.dy_mm)


class Folding:
    """Takes entries one by one; `state` freezes what has come together."""

    def __init__(self) -> None:
        self.lines: dict[str, ObjectBrief] = {}
        self.off_list: set[str] = set()
        self.choices: dict[str, Choice] = {}
        self.placements: dict[str, Placement] = {}
        self.holes: dict[str, RecordedHole] = {}
        self.mounts: dict[str, MountLife] = {}
        self.sessions: list[Session] = []
        self.signed_off: SignOff | None = None
        self.last_of: dict[str, int] = {}
        self.inputs: dict[str, Any] = {}
        self.case_seq = 0
        self.measured: dict[tuple[str, str], Measured] = {}
        self.withdrawn: dict[str, Withdrawal] = {}
        self.diameters: DiameterChoice | None = None
        self.rods: dict[str, RodChoice] = {}
        self.retentions: dict[str, str] = {}
        self.said_of: dict[str, dict[str, Any]] = {}  # object -> fields of its line that were said since

    def state(self, seq: int, next_hole: int) -> CaseState:
        """Return everything as one frozen value."""
        return CaseState(
            seq, MappingProxyType(self._objects()), frozenset(self.off_list), MappingProxyType(dict(self.choices)),
            MappingProxyType(dict(self.placements)), tuple(self.holes.values()), MappingProxyType(dict(self.mounts)),
            tuple(self.sessions), self.signed_off, next_hole, MappingProxyType(dict(self.last_of)),
            MappingProxyType(dict(self.lines)), MappingProxyType(dict(self.inputs)), self.case_seq,
            MappingProxyType(dict(self.measured)), MappingProxyType(dict(self.withdrawn)), self.diameters,
            MappingProxyType(dict(self.rods)), MappingProxyType(dict(self.retentions)),
        )

    def _objects(self) -> dict[str, ObjectBrief]:
        """The checklist's lines with what was measured and said since in place of what they say."""
        found = {number: with_words(line, self.said_of[number]) if number in self.said_of else line
                 for number, line in self.lines.items()}
        for (what, name), measured in self.measured.items():
            if what in ("mass", "pad") and name in found:
                found[name] = replace(found[name], **measured.values)
        return found

    def take(self, entry: Entry) -> None:
        """Take one entry."""
        handler = _HANDLERS.get(entry.kind)
        if handler is None:
            raise UnreadableRecordError(f"entry {entry.seq} of the record is of kind {entry.kind!r}, which this "
                                        "version does not know. Use the version of scanprep that wrote it")
        try:
            handler(self, entry)
        except (KeyError, TypeError, ValueError, AttributeError) as problem:
            raise UnreadableRecordError(
                f"entry {entry.seq} of the record ({entry.kind}) does not say what this version needs "
                f"({type(problem).__name__}: {problem}). Use the version of scanprep that wrote it") from problem
        if entry.kind != "inputs":  # nobody said it to the record: it holds up no taking back
            self.last_of[entry.object or ""] = entry.seq

    def life(self, entry: Entry) -> MountLife:
        """The mount of an entry's object."""
        return self.mounts.get(str(entry.object), MountLife())

    def taken(self, entry: Entry) -> None:
        number = str(entry.object)
        line: ObjectBrief = from_plain(ObjectBrief, names_as_now(entry.payload["wish"]), where=f"entry {entry.seq}")
        before = self.lines.get(number)
        for what, said in (("mass", line.mass_g), ("pad", line.pad)):
            if before is not None and said is not None and said != (before.mass_g if what == "mass" else before.pad):
                self.measured.pop((what, number), None)  # the list was corrected after the measurement
        if before is not None and number in self.said_of:
            self.said_of[number] = left_standing(self.said_of[number], before, line)
        self.lines[number] = line
        if number in self.off_list:  # it left the list and is back
            self.off_list.discard(number)
            self.withdrawn.pop(number, None)

    def left_list(self, entry: Entry) -> None:
        self.off_list.add(str(entry.object))
        if entry.payload.get("withdrawn"):  # older records kept its place
            self.withdraw(entry, entry.reason or "no longer on the checklist")

    def withdraw(self, entry: Entry, why: str) -> None:
        """Take an object off everything that is printed; a drilled hole stays, void."""
        number = str(entry.object)
        self.withdrawn[number] = Withdrawal(entry.person, why, entry.time, entry.seq)
        place = self.placements.pop(number, None)
        if place is not None and place.hole is not None:
            self.make_void(place.hole, f"object {number} withdrawn: {why}")
        self.mounts[number] = without(lapsed(self.life(entry), LAPSE_WITH_PLACE), OF_THE_HOLE)

    def hold_chosen(self, entry: Entry) -> None:
        number, said = str(entry.object), entry.payload
        self.choices[number] = Choice(
            str(said["attitude"]), float(said["tilt_deg"]), float(said["turn_deg"]), float(said["roll_deg"]),
            int(said["index"]), entry.person, entry.session, entry.seq, said.get("kept"),
        )
        life = lapsed(self.life(entry), LAPSE_WITH_HOLD)
        # a mount for another hold is another mount
        self.mounts[number] = another_mount(life) if life.reached else life
        self.anchor_again(number)

    def placed(self, entry: Entry) -> None:
        number, said = str(entry.object), entry.payload
        before, life = self.placements.get(number), self.life(entry)
        hole = str(said["hole"])
        if before is not None and before.hole not in (None, hole):
            self.make_void(str(before.hole), entry.reason or "moved")
        from_left_mm, y_mm = placed_from_left_mm(said), float(said["y_mm"])
        anchor = corrected_anchor(from_left_mm, y_mm, life.as_made)
        self.holes[hole] = RecordedHole(hole, number, str(said["panel"]), str(said["face"]), *anchor, "planned", False,
                                        entry.session)
        self.placements[number] = Placement(
            str(said["panel"]), str(said["face"]), from_left_mm, y_mm, hole, *anchor,
            before.locked if before else False, "planned", str(said.get("source", "decision")), entry.session,
            entry.person, entry.seq,
        )
        if before is not None:
            life = lapsed(life, LAPSE_WITH_PLACE)
        self.mounts[number] = without(life, OF_THE_HOLE)

    def taken_off(self, entry: Entry) -> None:
        number = str(entry.object)
        before = self.placements.pop(number, None)
        if before is not None and before.hole is not None:
            self.make_void(before.hole, entry.reason or "taken off the panel")
        life = lapsed(self.life(entry), LAPSE_WITH_PLACE)
        self.mounts[number] = without(life, OF_THE_HOLE)

    def locked(self, entry: Entry) -> None:
        number = str(entry.object)
        self.placements[number] = replace(self.placements[number], locked=bool(entry.payload["locked"]))

    def stage(self, entry: Entry) -> None:
        said = entry.payload
        stage = OLD_STAGES.get(str(said["stage"]), str(said["stage"]))
        self.reach(entry, stage)
        if stage == "made":
            made = said.get("made")
            facts = None if made is None else from_plain(MadeFacts, dict(made), where=f"entry {entry.seq}")
            life = self.life(entry)
            self.mounts[str(entry.object)] = replace(life, made=facts or life.made)

    def reach(self, entry: Entry, stage: str) -> None:
        """Let an object's mount come to a stage."""
        life = self.life(entry)
        reached = Reached(stage, entry.person, entry.time, entry.session, entry.seq)
        kept = tuple(r for r in life.reached if r.stage != stage)
        self.mounts[str(entry.object)] = replace(life, reached=(*kept, reached))

    def axis_measured(self, entry: Entry) -> None:
        number, said = str(entry.object), entry.payload
        self.reach(entry, "measured")
        as_made = AsMade(float(said["dx_mm"]), float(said["dy_mm"]), float(said["angle_deg"]), entry.seq)
        self.mounts[number] = replace(self.mounts[number], as_made=as_made)
        place = self.placements.get(number)
        if said.get("hole") and place is not None:  # the old one was marked already
            if place.hole is not None:
                self.make_void(place.hole, "as-made axis measured after it was marked")
            hole = str(said["hole"])
            self.holes[hole] = RecordedHole(hole, number, place.panel, place.face, place.from_left_mm, place.y_mm,
                                            "planned", False, entry.session)
            self.placements[number] = replace(place, hole=hole, state="planned")
            self.mounts[number] = without(self.mounts[number], OF_THE_HOLE)
        self.anchor_again(number)

    def anchor_again(self, number: str) -> None:
        """Move a hole that is only planned to where the mount as made now wants it; marked and drilled ones stay."""
        place = self.placements.get(number)
        if place is None or place.hole is None or place.state != "planned":
            return
        anchor = corrected_anchor(place.from_left_mm, place.y_mm, self.mounts.get(number, MountLife()).as_made)
        self.placements[number] = replace(place, anchor_from_left_mm=anchor[0], anchor_y_mm=anchor[1])
        self.holes[place.hole] = replace(self.holes[place.hole], from_left_mm=anchor[0], y_mm=anchor[1])

    def marked(self, entry: Entry) -> None:
        self.reach(entry, "marked")
        self._hole_becomes(entry, "marked")

    def drilled(self, entry: Entry) -> None:
        said = entry.payload
        self.reach(entry, "drilled")
        self._hole_becomes(entry, "drilled")
        number = str(said["drilled"])
        real = drilled_facts(str(said.get("drill") or ""), _number(said.get("depth_mm")), said.get("through"),
                             _number(said.get("thickness_mm")), str(said.get("checked_by", "")))
        self.holes[number] = replace(self.holes[number], was_drilled=True, real=real)

    def _hole_becomes(self, entry: Entry, state: str) -> None:
        number = str(entry.object)
        place = self.placements[number]
        self.placements[number] = replace(place, state=state)
        hole = self.holes[str(place.hole)]
        self.holes[hole.number] = replace(hole, state=state, session=entry.session)

    def made_void(self, entry: Entry) -> None:
        number, hole = str(entry.object), str(entry.payload["void"])
        self.make_void(hole, entry.reason)
        place = self.placements.get(number)
        if place is not None and place.hole == hole:
            self.placements[number] = replace(place, hole=None, state="void")
            life = lapsed(self.life(entry), ("drilling", "installed"))
            self.mounts[number] = without(life, OF_THE_HOLE)

    def make_void(self, number: str, why: str) -> None:
        """Abandon a hole; one that is only planned goes without a trace."""
        hole = self.holes[number]
        if hole.state == "planned":  # never touched the sheet or a template: nothing to cross out
            del self.holes[number]
        else:
            self.holes[number] = replace(hole, state="void", why_void=why)

    def agreed(self, entry: Entry) -> None:
        what = str(entry.payload["what"])
        life = without_word(answered(self.life(entry), what), what, entry.person)
        agreement = Agreement(what, entry.person, entry.time, entry.session, entry.seq, True,
                              entry.reason)
        self.mounts[str(entry.object)] = replace(life, agreements=(*life.agreements, agreement))

    def condition(self, entry: Entry) -> None:
        life, said = self.life(entry), entry.payload
        note = ConditionNote(str(said["text"]), tuple(map(str, said.get("photos", ()))), str(said.get("occasion", "")),
                             entry.person, entry.time, entry.seq)
        self.mounts[str(entry.object)] = replace(life, conditions=(*life.conditions, note))

    def opened(self, entry: Entry) -> None:
        life = self.life(entry)
        self.mounts[str(entry.object)] = replace(life, openings=life.openings + 1)

    def snug_check(self, entry: Entry) -> None:
        life, said = self.life(entry), entry.payload
        check = SnugCheck(bool(said["snug"]), str(said.get("note", "")), entry.person, entry.time, entry.seq)
        self.mounts[str(entry.object)] = replace(life, snug_checks=(*life.snug_checks, check))

    def session_opened(self, entry: Entry) -> None:
        said = entry.payload
        self.sessions.append(Session(int(said["number"]), str(said.get("title", "")),
                                     tuple(map(str, said.get("people", ()))), entry.time, None))

    def session_closed(self, entry: Entry) -> None:
        self.sessions[-1] = replace(self.sessions[-1], closed=entry.time)

    def sign_off(self, entry: Entry) -> None:
        self.signed_off = SignOff(entry.person, entry.time, entry.reason, entry.seq)

    def sign_off_lifted(self, entry: Entry) -> None:
        self.signed_off = None

    def nothing(self, entry: Entry) -> None:
        """A note, or a taking back, which `standing` has already seen to."""


def _number(value: Any) -> float | None:
    return None if value is None else float(value)


_HANDLERS: dict[str, Callable[[Folding, Entry], None]] = {
    "taken": Folding.taken,  # a line of the checklist: {wish}
    "left-list": Folding.left_list,  # no longer on the checklist: stays on record {withdrawn}
    "hold-chosen": Folding.hold_chosen,  # {attitude, tilt_deg, turn_deg, roll_deg, index, kept: the hold}
    "placed": Folding.placed,  # {panel, face, from_left_mm, y_mm, hole, source}
    "taken-off": Folding.taken_off,
    "locked": Folding.locked,  # {locked}
    "stage": Folding.stage,  # {stage, made: its facts}
    "axis-measured": Folding.axis_measured,  # {dx_mm, dy_mm, angle_deg, hole if the old one was marked}
    "marked": Folding.marked,  # {marked: hole number}
    # {drilled: hole number, drill, depth_mm, checked_by, through, thickness_mm of the sheet there}
    "drilled": Folding.drilled,
    "void": Folding.made_void,  # {void: hole number}
    "agreed": Folding.agreed,  # {what}
    "condition": Folding.condition,  # {text, photos, occasion}
    "opened": Folding.opened,
    "snug-check": Folding.snug_check,  # {snug, note}
    "session-opened": Folding.session_opened,  # {number, title, people}
    "session-closed": Folding.session_closed,
    "signed-off": Folding.sign_off,
    "sign-off-lifted": Folding.sign_off_lifted,
    "note": Folding.nothing,  # {text}
    "undone": Folding.nothing,  # {seq}
    **LATER_HANDLERS,
}

#: Every kind of entry that a record may hold.
KINDS = tuple(_HANDLERS)
