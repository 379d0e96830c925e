"""An object's record as a logbook: one line an entry, in words, with who, when, in which session, and why.

Entries taken back stay in the book, marked so. Lengths in mm. Used by the history command and the review.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

from scanprep.case.record.entry import Entry, Payload
from scanprep.case.record.fold import standing
from scanprep.units import format_length


@dataclass(frozen=True, slots=True)
class LogLine:
    """One line of the logbook."""

    seq: int
    time: str
    person: str
    session: int | None
    sentence: str
    reason: str
    stands: bool  # False: taken back later
    object: str | None = None  # None: the case itself

    def spoken(self) -> str:
        """Return the line as said right after it was put on record: with its object, without the clock."""
        about = f"object {self.object}: " if self.object is not None else ""
        why = f": {self.reason}" if self.reason else ""
        return f"on record ({self.seq}): {about}{self.person} {self.sentence}{why}"

    def text(self) -> str:
        """Return the line as it is printed."""
        when = self.time[:16].replace("T", " ")
        session = f" session {self.session}" if self.session else ""
        why = f": {self.reason}" if self.reason else ""
        back = "  [taken back]" if not self.stands else ""
        return f"{self.seq:5d}  {when}{session}  {self.person}: {self.sentence}{why}{back}"


def history(entries: Sequence[Entry], number: str | None, units: str = "mm") -> tuple[LogLine, ...]:
    """Return an object's lines in order; None: the case's own (sessions, sign-off).

    units  "mm" or "in" for positions and lengths
    """
    live = {entry.seq for entry in standing(entries)}
    lines: list[LogLine] = []
    before = _Before()
    for entry in entries:
        if entry.object != number:
            continue
        sentence = _SENTENCES[entry.kind](_Teller(entry.payload, before, units))
        if entry.kind == "undone":
            told = next((line.sentence for line in lines if line.seq == entry.payload["seq"]), "")
            sentence += f" ({told})" if told else ""
        lines.append(LogLine(entry.seq, entry.time, entry.person, entry.session, sentence, entry.reason,
                             entry.seq in live, number))
        if entry.kind == "placed" and entry.seq in live:
            before.place = entry.payload
    return tuple(lines)


class _Before:
    """Where the object stood before the line being told."""

    place: Payload | None = None


@dataclass(frozen=True, slots=True)
class _Teller:
    said: Payload
    before: _Before
    units: str

    def length(self, name: str) -> str:
        return format_length(float(self.said[name]), self.units)

    def placed(self) -> str:
        said, old = self.said, self.before.place
        where = f"{said['panel']} {said['face']}, x {self.length('x_mm')}, y {self.length('y_mm')}, hole {said['hole']}"
        if old is None:
            return f"placed on {where}" + (" (from the checklist)" if said.get("source") == "checklist" else "")
        void = f"; hole {old['hole']} is given up" if old["hole"] != said["hole"] else ""
        if (old["panel"], old["face"]) != (said["panel"], said["face"]):
            return f"moved from {old['panel']} {old['face']} to {where}{void}"
        ways = []
        for name, more, less in (("x_mm", "right", "left"), ("y_mm", "up", "down")):
            by = float(said[name]) - float(old[name])
            if abs(by) >= 0.05:
                ways.append(f"{format_length(abs(by), self.units)} {more if by > 0 else less}")
        return f"moved {' and '.join(ways) or 'back to the same place'}, to {where}{void}"

    def hold(self) -> str:
        said = self.said
        angles = ", ".join(f"{name} {float(said[f'{name}_deg']):g} deg" for name in ("tilt", "turn", "roll"))
        return f"chose the hold {said['attitude']} ({angles})"

    def axis(self) -> str:
        ways = [f"{format_length(abs(float(self.said[name])), self.units)} "
                f"{more if float(self.said[name]) >= 0 else less}"
                for name, more, less in (("dx_mm", "right", "left"), ("dy_mm", "higher", "lower"))]
        told = (f"measured the finished mount: post {', '.join(ways)} than planned, mark turned "
                f"{float(self.said['angle_deg']):g} deg")
        return told + (f"; its marked hole is given up for {self.said['hole']}" if self.said.get("hole") else "")

    def drilled(self) -> str:
        said = self.said
        return (f"drilled hole {said['drilled']} with {said['drill']}, {self.length('depth_mm')} deep; place checked "
                f"by {said['checked_by']}")

    def condition(self) -> str:
        said = self.said
        photos = ", ".join(said.get("photos", ()))
        when = f" ({said['occasion']})" if said.get("occasion") else ""
        return f"noted its condition{when}: {said['text']}" + (f" [photographs: {photos}]" if photos else "")

    def snug(self) -> str:
        note = f" ({self.said['note']})" if self.said.get("note") else ""
        return ("checked that the post sits snug" if self.said["snug"] else "found the post loose") + note

    def session(self) -> str:
        people = ", ".join(self.said.get("people", ()))
        title = f" ({self.said['title']})" if self.said.get("title") else ""
        return f"opened session {self.said['number']}{title}" + (f" with {people}" if people else "")


_SENTENCES: dict[str, Callable[[_Teller], Any]] = {
    "taken": lambda t: f"took its line from the checklist ({t.said['wish'].get('title') or 'untitled'})",
    "left-list": lambda t: "found it gone from the checklist",
    "hold-chosen": _Teller.hold,
    "placed": _Teller.placed,
    "taken-off": lambda t: "took it off its panel",
    "locked": lambda t: "locked it where it stands" if t.said["locked"] else "unlocked it",
    "stage": lambda t: f"said the mount is {t.said['stage']}",
    "axis-measured": _Teller.axis,
    "marked": lambda t: f"marked hole {t.said['marked']}",
    "drilled": _Teller.drilled,
    "void": lambda t: f"gave up hole {t.said['void']}",
    "agreed": lambda t: f"agreed to its {t.said['what']}",
    "condition": _Teller.condition,
    "opened": lambda t: "opened the mount",
    "snug-check": _Teller.snug,
    "session-opened": _Teller.session,
    "session-closed": lambda t: f"closed session {t.said['number']}",
    "signed-off": lambda t: "signed the case off" + (f" over {t.said['stops']} stops" if t.said.get("stops") else ""),
    "sign-off-lifted": lambda t: "lifted the sign-off",
    "note": lambda t: f"noted: {t.said.get('text', '')}",
    "undone": lambda t: f"took entry {t.said['seq']} back",
}
