"""The record's meaning: how a case stands after a list of entries.

State is nothing but the fold of the ledger's entries in order. An entry that a later one takes back counts for nothing,
but stays on record; hole numbers are never used twice, not even those taken back, since a template with them may hang
at the drill press. Knows no files and no clock. Used by `workspace`, `decide` and `history`.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace
from types import MappingProxyType

from scanprep.brief import ObjectBrief
from scanprep.case.record.entry import Entry
from scanprep.case.record.state import (
    LAPSE_WITH_HOLD,
    LAPSE_WITH_PLACE,
    Agreement,
    AsMade,
    CaseState,
    Choice,
    ConditionNote,
    MountLife,
    Placement,
    Reached,
    RecordedHole,
    Session,
    SignOff,
    SnugCheck,
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
    folding = _Folding()
    for entry in standing(entries):
        folding.take(entry)
    return folding.state(entries[-1].seq if entries else 0, _next_hole(entries))


def _next_hole(entries: Iterable[Entry]) -> int:
    numbers = (entry.payload["hole"] for entry in entries if entry.payload.get("hole"))
    return 1 + max((int(str(number).lstrip("H")) for number in numbers), default=0)


def corrected_anchor(x_mm: float, y_mm: float, as_made: AsMade | None) -> tuple[float, float]:
    """Return where the hole has to be so that the object comes to stand where it is wanted.

    x_mm, y_mm  the planned anchor, face frame
    The finished post lies (dx, dy) beside its plan while the object is held at its attitude, so the hole moves with it.
    """
    return (x_mm, y_mm) if as_made is None else (x_mm + as_made.dx_mm, y_mm + as_made.dy_mm)


class _Folding:
    """Takes entries one by one; `state` freezes what has come together."""

    def __init__(self) -> None:
        self.objects: dict[str, ObjectBrief] = {}
        self.off_list: set[str] = set()
        self.choices: dict[str, Choice] = {}
        self.placements: dict[str, Placement] = {}
        self.holes: dict[str, RecordedHole] = {}
        self.mounts: dict[str, MountLife] = {}
        self.sessions: list[Session] = []
        self.signed_off: SignOff | None = None
        self.last_of: dict[str, int] = {}

    def state(self, seq: int, next_hole: int) -> CaseState:
        """Return everything as one frozen value."""
        return CaseState(
            seq, MappingProxyType(dict(self.objects)), frozenset(self.off_list), MappingProxyType(dict(self.choices)),
            MappingProxyType(dict(self.placements)), tuple(self.holes.values()), MappingProxyType(dict(self.mounts)),
            tuple(self.sessions), self.signed_off, next_hole, MappingProxyType(dict(self.last_of)),
        )

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
        self.last_of[entry.object or ""] = entry.seq

    def _life(self, entry: Entry) -> MountLife:
        return self.mounts.get(str(entry.object), MountLife())

    def taken(self, entry: Entry) -> None:
        number = str(entry.object)
        self.objects[number] = from_plain(ObjectBrief, dict(entry.payload["wish"]), where=f"entry {entry.seq}")
        self.off_list.discard(number)

    def left_list(self, entry: Entry) -> None:
        self.off_list.add(str(entry.object))

    def hold_chosen(self, entry: Entry) -> None:
        number, said = str(entry.object), entry.payload
        self.choices[number] = Choice(
            str(said["attitude"]), float(said["tilt_deg"]), float(said["turn_deg"]), float(said["roll_deg"]),
            int(said["index"]), entry.person, entry.session, entry.seq,
        )
        life = _lapsed(self._life(entry), LAPSE_WITH_HOLD)
        if life.reached:  # a mount for another hold is another mount
            life = replace(life, number=life.number + 1, reached=(), as_made=None)
        self.mounts[number] = life
        self._anchor_again(number)

    def placed(self, entry: Entry) -> None:
        number, said = str(entry.object), entry.payload
        before, life = self.placements.get(number), self._life(entry)
        hole = str(said["hole"])
        if before is not None and before.hole not in (None, hole):
            self._void(str(before.hole), entry.reason or "moved")
        x_mm, y_mm = float(said["x_mm"]), float(said["y_mm"])
        anchor = corrected_anchor(x_mm, y_mm, life.as_made)
        self.holes[hole] = RecordedHole(hole, number, str(said["panel"]), str(said["face"]), *anchor, "planned", False,
                                        entry.session)
        self.placements[number] = Placement(
            str(said["panel"]), str(said["face"]), x_mm, y_mm, hole, *anchor, before.locked if before else False,
            "planned", str(said.get("source", "decision")), entry.session, entry.person, entry.seq,
        )
        if before is not None:
            life = _lapsed(life, LAPSE_WITH_PLACE)
        self.mounts[number] = _without(life, ("marked", "drilled", "post-fitted", "installed"))

    def taken_off(self, entry: Entry) -> None:
        number = str(entry.object)
        before = self.placements.pop(number, None)
        if before is not None and before.hole is not None:
            self._void(before.hole, entry.reason or "taken off the panel")
        life = _lapsed(self._life(entry), LAPSE_WITH_PLACE)
        self.mounts[number] = _without(life, ("marked", "drilled", "post-fitted", "installed"))

    def locked(self, entry: Entry) -> None:
        number = str(entry.object)
        self.placements[number] = replace(self.placements[number], locked=bool(entry.payload["locked"]))

    def stage(self, entry: Entry) -> None:
        self._reach(entry, str(entry.payload["stage"]))

    def _reach(self, entry: Entry, stage: str) -> None:
        life = self._life(entry)
        reached = Reached(stage, entry.person, entry.time, entry.session, entry.seq)
        kept = tuple(r for r in life.reached if r.stage != stage)
        self.mounts[str(entry.object)] = replace(life, reached=(*kept, reached))

    def axis_measured(self, entry: Entry) -> None:
        number, said = str(entry.object), entry.payload
        self._reach(entry, "measured")
        as_made = AsMade(float(said["dx_mm"]), float(said["dy_mm"]), float(said["angle_deg"]), entry.seq)
        self.mounts[number] = replace(self.mounts[number], as_made=as_made)
        place = self.placements.get(number)
        if said.get("hole") and place is not None:  # the old one was marked already
            if place.hole is not None:
                self._void(place.hole, "as-made axis measured after it was marked")
            hole = str(said["hole"])
            self.holes[hole] = RecordedHole(hole, number, place.panel, place.face, place.x_mm, place.y_mm, "planned",
                                            False, entry.session)
            self.placements[number] = replace(place, hole=hole, state="planned")
            self.mounts[number] = _without(self.mounts[number], ("marked", "drilled", "post-fitted", "installed"))
        self._anchor_again(number)

    def _anchor_again(self, number: str) -> None:
        """Move a hole that is only planned to where the mount as made now wants it; marked and drilled ones stay."""
        place = self.placements.get(number)
        if place is None or place.hole is None or place.state != "planned":
            return
        anchor = corrected_anchor(place.x_mm, place.y_mm, self.mounts.get(number, MountLife()).as_made)
        self.placements[number] = replace(place, anchor_x_mm=anchor[0], anchor_y_mm=anchor[1])
        self.holes[place.hole] = replace(self.holes[place.hole], x_mm=anchor[0], y_mm=anchor[1])

    def marked(self, entry: Entry) -> None:
        self._reach(entry, "marked")
        self._hole_becomes(entry, "marked")

    def drilled(self, entry: Entry) -> None:
        said = entry.payload
        self._reach(entry, "drilled")
        self._hole_becomes(entry, "drilled")
        number = str(said["drilled"])
        depth = said.get("depth_mm")
        self.holes[number] = replace(self.holes[number], was_drilled=True, drill=said.get("drill"),
                                     depth_mm=None if depth is None else float(depth))

    def _hole_becomes(self, entry: Entry, state: str) -> None:
        number = str(entry.object)
        place = self.placements[number]
        self.placements[number] = replace(place, state=state)
        hole = self.holes[str(place.hole)]
        self.holes[hole.number] = replace(hole, state=state, session=entry.session)

    def made_void(self, entry: Entry) -> None:
        number, hole = str(entry.object), str(entry.payload["void"])
        self._void(hole, entry.reason)
        place = self.placements.get(number)
        if place is not None and place.hole == hole:
            self.placements[number] = replace(place, hole=None, state="void")
            life = _lapsed(self._life(entry), ("drilling", "installed"))
            self.mounts[number] = _without(life, ("marked", "drilled", "post-fitted", "installed"))

    def _void(self, number: str, why: str) -> None:
        hole = self.holes[number]
        if hole.state == "planned":  # never touched the sheet or a template: nothing to cross out
            del self.holes[number]
        else:
            self.holes[number] = replace(hole, state="void", why_void=why)

    def agreed(self, entry: Entry) -> None:
        life = self._life(entry)
        agreement = Agreement(str(entry.payload["what"]), entry.person, entry.time, entry.session, entry.seq, True,
                              entry.reason)
        self.mounts[str(entry.object)] = replace(life, agreements=(*life.agreements, agreement))

    def condition(self, entry: Entry) -> None:
        life, said = self._life(entry), entry.payload
        note = ConditionNote(str(said["text"]), tuple(map(str, said.get("photos", ()))), str(said.get("occasion", "")),
                             entry.person, entry.time, entry.seq)
        self.mounts[str(entry.object)] = replace(life, conditions=(*life.conditions, note))

    def opened(self, entry: Entry) -> None:
        life = self._life(entry)
        self.mounts[str(entry.object)] = replace(life, openings=life.openings + 1)

    def snug_check(self, entry: Entry) -> None:
        life, said = self._life(entry), entry.payload
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


def _lapsed(life: MountLife, what: Sequence[str]) -> MountLife:
    return replace(life, agreements=tuple(replace(a, standing=a.standing and a.what not in what)
                                          for a in life.agreements))


def _without(life: MountLife, stages: Sequence[str]) -> MountLife:
    return replace(life, reached=tuple(r for r in life.reached if r.stage not in stages))


_HANDLERS: dict[str, Callable[[_Folding, Entry], None]] = {
    "taken": _Folding.taken,  # a line of the checklist: {wish}
    "left-list": _Folding.left_list,  # no longer on the checklist: stays on record
    "hold-chosen": _Folding.hold_chosen,  # {attitude, tilt_deg, turn_deg, roll_deg, index}
    "placed": _Folding.placed,  # {panel, face, x_mm, y_mm, hole, source}
    "taken-off": _Folding.taken_off,
    "locked": _Folding.locked,  # {locked}
    "stage": _Folding.stage,  # {stage}
    "axis-measured": _Folding.axis_measured,  # {dx_mm, dy_mm, angle_deg, hole if the old one was marked}
    "marked": _Folding.marked,  # {marked: hole number}
    "drilled": _Folding.drilled,  # {drilled: hole number, drill, depth_mm, checked_by}
    "void": _Folding.made_void,  # {void: hole number}
    "agreed": _Folding.agreed,  # {what}
    "condition": _Folding.condition,  # {text, photos, occasion}
    "opened": _Folding.opened,
    "snug-check": _Folding.snug_check,  # {snug, note}
    "session-opened": _Folding.session_opened,  # {number, title, people}
    "session-closed": _Folding.session_closed,
    "signed-off": _Folding.sign_off,
    "sign-off-lifted": _Folding.sign_off_lifted,
    "note": _Folding.nothing,  # {text}
    "undone": _Folding.nothing,  # {seq}
}

#: Every kind of entry that a record may hold.
KINDS = tuple(_HANDLERS)
