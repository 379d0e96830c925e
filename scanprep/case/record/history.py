"""An object's record as a logbook: one line an entry, in words, with who, when, in which session, and why.

Entries taken back stay in the book, marked so. Lengths in mm. Used by the history command and the review.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from scanprep.case.record.entry import Entry, Payload
from scanprep.case.record.fold import placed_from_left_mm, standing
from scanprep.case.record.inputs import InputChange, input_sentences
from scanprep.case.record.lines import line_words
from scanprep.panel.faces import datum_x_of
from scanprep.rules import CaseRules
from scanprep.units import format_length

#: layout: An entry with more values than this that are all new is a case file read for the first time.
NEWLY_READ = 20
#: tolerance: the clocks of two machines that share a case may differ by minutes.
CLOCKS_DIFFER = timedelta(minutes=10)


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
    dated_back: bool = False  # dated before an entry ahead of it: a clock was set back, or two machines disagree

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
        if self.dated_back:
            back += "  [dated before an entry ahead of it: look at this machine's clock; the order of numbers counts]"
        return f"{self.seq:5d}  {when}{session}  {self.person}: {self.sentence}{why}{back}"


def history(entries: Sequence[Entry], number: str | None, units: str = "mm") -> tuple[LogLine, ...]:
    """Return an object's lines in order; None: the case's own (sessions, sign-off).

    units  "mm" or "in" for positions and lengths

    An entry of a kind that this version does not know is named as such.
    """
    live = {entry.seq for entry in standing(entries)}
    lines: list[LogLine] = []
    before = _Before()
    widths_mm: dict[str, Any] = {}
    back = _dated_back(entries)
    for entry in entries:
        if entry.kind == "inputs" and entry.seq in live:
            widths_mm |= {key: now for key, _, now in entry.payload["changes"] if key.endswith(".width_mm")}
        if entry.object != number:
            continue
        told_by = _SENTENCES.get(entry.kind)
        sentence = f"said something of a newer version ({entry.kind})" if told_by is None else \
            told_by(Words(entry.payload, before, units, widths_mm))
        if entry.kind == "undone":
            told = next((line.sentence for line in lines if line.seq == entry.payload["seq"]), "")
            sentence += f" ({told})" if told else ""
        lines.append(LogLine(entry.seq, entry.time, entry.person, entry.session, sentence, entry.reason,
                             entry.seq in live, number, entry.seq in back))
        if entry.kind == "placed" and entry.seq in live:
            before.place = entry.payload
    return tuple(lines)


def _dated_back(entries: Sequence[Entry]) -> frozenset[int]:
    """The numbers of the entries that are dated before one ahead of them, by more than clocks differ."""
    back, latest = set(), None
    for entry in entries:
        moment = datetime.fromisoformat(entry.time)
        if latest is not None and moment < latest - CLOCKS_DIFFER:
            back.add(entry.seq)
        latest = moment if latest is None else max(latest, moment)
    return frozenset(back)


class _Before:
    """Where the object stood before the line being told."""

    place: Payload | None = None


@dataclass(frozen=True, slots=True)
class Words:
    said: Payload
    before: _Before
    units: str
    widths_mm: Mapping[str, Any]  # of the sheets, by their names in the inputs on record

    def length(self, name: str) -> str:
        return format_length(float(self.said[name]), self.units)

    def placed(self) -> str:
        said, old = self.said, self.before.place
        where = f"{said['panel']} {said['face']}, {self.across()}, Y {self.length('y_mm')}, hole {said['hole']}"
        if old is None:
            return f"placed on {where}" + (" (from the checklist)" if said.get("source") == "checklist" else "")
        void = f"; hole {old['hole']} is abandoned" if old["hole"] != said["hole"] else ""
        if (old["panel"], old["face"]) != (said["panel"], said["face"]):
            return f"moved from {old['panel']} {old['face']} to {where}{void}"
        ways = []
        shifts = (placed_from_left_mm(said) - placed_from_left_mm(old), float(said["y_mm"]) - float(old["y_mm"]))
        for by, more, less in zip(shifts, ("right", "up"), ("left", "down"), strict=True):
            if abs(by) >= CaseRules().same_place_mm:
                ways.append(f"{format_length(abs(by), self.units)} {more if by > 0 else less}")
        return f"moved {' and '.join(ways) or 'back to the same place'}, to {where}{void}"

    def across(self) -> str:
        """X from the datum edge; from the face's own left edge where the record has no width of the sheet."""
        left_mm = placed_from_left_mm(self.said)
        width_mm = self.widths_mm.get(f"panels.{self.said['panel']}.width_mm")
        if width_mm is None:
            return f"{format_length(left_mm, self.units)} from its left"
        return f"X {format_length(datum_x_of(str(self.said['face']), left_mm, float(width_mm)), self.units)}"

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
        return told + (f"; its marked hole is abandoned for {self.said['hole']}" if self.said.get("hole") else "")

    def drilled(self) -> str:
        said = self.said
        sheet = said.get("thickness_mm")
        there = "" if sheet is None else f" in {format_length(float(sheet), self.units)} of sheet"
        deep = "through" if said.get("through") else f"{self.length('depth_mm')} deep"
        return (f"drilled hole {said['drilled']} with {said['drill']}, {deep}{there}; place checked by "
                f"{said['checked_by']}")

    def inputs(self) -> str:
        changes = [InputChange(str(key), was, now) for key, was, now in self.said["changes"]]
        if all(change.was is None for change in changes) and len(changes) > NEWLY_READ:
            return f"took what case.toml and the rules say ({len(changes)} values)"
        return f"took what case.toml says now: {input_sentences(changes)}"

    def measured(self) -> str:
        said, told = self.said, []
        for name, value in said["values"].items():
            if isinstance(value, float):
                word, _, unit = name.rpartition("_")
                told.append(f"{word.replace('_', ' ')} {value:g} {unit}")
            elif value and name != "readings_mm":
                told.append(f"{name} {value}")
        return f"measured {said['what']} {said['name']}: {', '.join(told)}"

    def stage(self) -> str:
        made = self.said.get("made")
        of = "" if made is None else (f" (rod {made['rod']}, {float(made['rod_mm']):.3f} mm, cut "
                                      f"{format_length(float(made['cut_length_mm']), self.units)})")
        return f"said the mount is {self.said['stage']}{of}"

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


_SENTENCES: dict[str, Callable[[Words], Any]] = {
    "taken": lambda t: f"took its line from the checklist ({t.said['wish'].get('title') or 'untitled'})",
    "left-list": lambda t: "found it gone from the checklist",
    "hold-chosen": Words.hold,
    "placed": Words.placed,
    "taken-off": lambda t: "took it off its panel",
    "locked": lambda t: "locked it where it stands" if t.said["locked"] else "unlocked it",
    "stage": Words.stage,
    "axis-measured": Words.axis,
    "marked": lambda t: f"marked hole {t.said['marked']}",
    "drilled": Words.drilled,
    "void": lambda t: f"abandoned hole {t.said['void']}",
    "agreed": lambda t: f"agreed to its {t.said['what']}",
    "condition": Words.condition,
    "opened": lambda t: "opened the mount",
    "snug-check": Words.snug,
    "session-opened": Words.session,
    "session-closed": lambda t: f"closed session {t.said['number']}",
    "signed-off": lambda t: "signed the case off" + (f" over {t.said['stops']} stops" if t.said.get("stops") else ""),
    "sign-off-lifted": lambda t: "lifted the sign-off",
    "note": lambda t: f"noted: {t.said.get('text', '')}",
    "undone": lambda t: f"took entry {t.said['seq']} back",
    "inputs": Words.inputs,
    "measured": Words.measured,
    "diameters": lambda t: f"{'chose' if t.said['how'] == 'chosen' else 'settled'} the post diameters "
                           f"{', '.join(t.said['rods'])}",
    "rod": lambda t: f"{'chose' if t.said['how'] == 'chosen' else 'settled'} rod {t.said['rod']} for its post",
    "retained": lambda t: f"chose that its post is held by {t.said['retention']}",
    "proof": lambda t: f"pulled its post with {t.said['pull_N']:.0f} N and twisted it with {t.said['twist_Nmm']:.0f} "
                       f"N mm: {t.said['moved'] or 'nothing moved'}",
    "refused": lambda t: f"refused its {t.said['what']}",
    "word-withdrawn": lambda t: f"took back the word of {t.said['of']} about its {t.said['what']}",
    "asked": lambda t: f"asked {t.said['of']} about its {t.said['what']}",
    "settled": lambda t: f"settled that its {t.said['code'].replace('-', ' ')} is {t.said['real']} where "
                         f"{t.said['planned']} is planned ({t.said['how']})",
    "remade": lambda t: "had its mount made anew",
    "withdrawn": lambda t: "withdrew it from the display",
    "shown-again": lambda t: "took it back into the display",
    "moved-on": lambda t: f"said it is {t.said['to']} ({t.said['note']})",
    "plugged": lambda t: f"plugged hole {t.said['hole']} with {t.said['with']}",
    "line-said": lambda t: f"said of it: {line_words(t.said['line'], t.units)}",
    "reused": lambda t: f"used the drilled hole {t.said['hole']} again",
}
