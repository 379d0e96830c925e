"""What may be said to the record, and what it answers.

Each function takes the case as it stands and a request, and returns the entries to append, or refuses with a sentence
that says what to do instead: a drilled hole cannot be moved, only made void; a move after its hole was marked makes a
new hole and voids the old; a signed-off case wants a reason. Nothing is written here. Used by the record commands.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from scanprep.brief import CaseBrief, PanelBrief
from scanprep.case.record.entry import Entry, NewEntry
from scanprep.case.record.fold import fold, standing
from scanprep.case.record.frozen import MadeFacts
from scanprep.case.record.mount_life import AGREEMENTS, STAGES
from scanprep.case.record.state import CaseState, Placement
from scanprep.case.record.words import check_role
from scanprep.errors import RecordError
from scanprep.numbering import natural_key
from scanprep.plain_values import to_plain
from scanprep.rules import CaseRules

#: Kinds of entry that are not taken back without a reason.
WEIGHTY = ("drilled", "void", "taken", "withdrawn", "settled", "remade")



def _known(state: CaseState, number: str) -> None:
    if number not in state.objects:
        near = ", ".join(sorted(state.objects, key=natural_key)[:8]) or "none yet"
        raise RecordError(f"object {number} is not on record (there are: {near}). Take it in with `scanprep intake`")
    if number in state.withdrawn:
        raise RecordError(f"object {number} is withdrawn ({state.withdrawn[number].reason}). Show it again first "
                          "(`scanprep withdraw DIR OBJECT --back`)")


def _reasoned(state: CaseState, reason: str, what: str) -> None:
    if state.signed_off is not None and not reason.strip():
        raise RecordError(f"the case was signed off by {state.signed_off.person} on {state.signed_off.time[:10]}: "
                          f"{what} needs a reason. Say --reason")


def _placement(state: CaseState, number: str) -> Placement:
    _known(state, number)
    place = state.placements.get(number)
    if place is None:
        raise RecordError(f"object {number} has no place on a panel yet. Place it first")
    return place


def hole_name(state: CaseState) -> str:
    """Return the number of the next new hole; never one that was used before."""
    return f"H{state.next_hole}"


def choose_hold(state: CaseState, number: str, attitude: str, angles_deg: tuple[float, float, float], index: int,
                reason: str = "", kept: Mapping[str, Any] | None = None) -> tuple[NewEntry, ...]:
    """Choose a hold: attitude's name, (tilt, turn, roll), its place in the ranked list.

    kept  the hold itself, see `chosen.kept_values`
    Returns nothing where it is chosen already: said again, it would let agreements lapse for no change.
    """
    _known(state, number)
    before = state.choices.get(number)
    if before is not None and (before.attitude, before.tilt_deg, before.turn_deg, before.roll_deg) == (
            attitude, *angles_deg) and (before.kept == kept or kept is None):
        return ()
    _reasoned(state, reason, f"another hold for object {number}")
    place = state.placements.get(number)
    if place is not None and place.state == "drilled" and not reason.strip():
        raise RecordError(f"object {number}'s hole {place.hole} is drilled for the hold it has: another one needs a "
                          "reason. Say --reason")
    tilt_deg, turn_deg, roll_deg = angles_deg
    said: dict[str, Any] = {"attitude": attitude, "tilt_deg": tilt_deg, "turn_deg": turn_deg, "roll_deg": roll_deg,
                            "index": index}
    said |= {} if kept is None else {"kept": dict(kept)}
    return (NewEntry("hold-chosen", number, said, reason),)


def place(state: CaseState, number: str, panel: PanelBrief, face: str, from_left_mm: float, y_mm: float,
          reason: str = "", source: str = "decision") -> tuple[NewEntry, ...]:
    """Place or move an object: its planned anchor on a face, from that face's own left edge as its viewer sees it.

    Raises RecordError when it is locked or drilled, when there is no such face, when the point is off the sheet, or
    when a reason is missing. Returns nothing where it stands there already.
    """
    _known(state, number)
    if face not in ("A", "B"):
        raise RecordError(f"{face!r} is no face of a panel: write A or B")
    if not (0 <= from_left_mm <= panel.width_mm and 0 <= y_mm <= panel.height_mm):
        raise RecordError(f"object {number}: {from_left_mm:.1f} mm from face {face}'s left edge, {y_mm:.1f} mm up, is "
                          f"off the sheet {panel.name} ({panel.width_mm:.0f} x {panel.height_mm:.0f} mm). Give a point "
                          "on it")
    before = state.placements.get(number)
    if before is not None and before.hole is not None and (before.panel, before.face) == (panel.name, face) and max(
            abs(before.from_left_mm - from_left_mm), abs(before.y_mm - y_mm)) < CaseRules().same_place_mm:
        return ()
    _may_move(state, number, before, reason)
    keeps = before is not None and before.state == "planned" and before.hole is not None
    said = {"panel": panel.name, "face": face, "from_left_mm": float(from_left_mm), "y_mm": float(y_mm),
            "hole": before.hole if keeps and before is not None else hole_name(state), "source": source}
    return (NewEntry("placed", number, said, reason),)


def _may_move(state: CaseState, number: str, before: Placement | None, reason: str) -> None:
    if before is not None and before.state == "drilled":
        raise RecordError(f"object {number}'s hole {before.hole} is drilled: a drilled hole cannot be moved. Make it "
                          f"void first (`scanprep void`), it stays on record, then place the object anew")
    if before is not None and before.locked:
        raise RecordError(f"object {number} is locked where it is. Unlock it first")
    _reasoned(state, reason, f"moving object {number}")


def place_many(state: CaseState, moves: Sequence[tuple[str, PanelBrief, str, float, float]],
               reason: str = "") -> tuple[NewEntry, ...]:
    """Place several objects in one go, each (number, panel, face, from_left_mm, y_mm); new holes get numbers one after
    another."""
    entries: list[NewEntry] = []
    fresh = state.next_hole
    for number, panel, face, from_left_mm, y_mm in moves:
        for entry in place(state, number, panel, face, from_left_mm, y_mm, reason):
            said = dict(entry.payload)
            if said["hole"] == hole_name(state):
                said["hole"] = f"H{fresh}"
                fresh += 1
            entries.append(NewEntry(entry.kind, entry.object, said, entry.reason))
    return tuple(entries)


def take_off(state: CaseState, number: str, reason: str = "") -> tuple[NewEntry, ...]:
    """Take an object off its panel. A marked hole becomes void; a drilled one must be made void first."""
    before = _placement(state, number)
    _may_move(state, number, before, reason)
    return (NewEntry("taken-off", number, {}, reason),)


def lock(state: CaseState, number: str, locked: bool, reason: str = "") -> tuple[NewEntry, ...]:
    """Lock an object where it is, or unlock it."""
    if _placement(state, number).locked == locked:
        raise RecordError(f"object {number} is {'locked' if locked else 'not locked'} already")
    return (NewEntry("locked", number, {"locked": locked}, reason),)


def reach_stage(state: CaseState, number: str, stage: str, reason: str = "",
                made: MadeFacts | None = None) -> tuple[NewEntry, ...]:
    """Say that a mount has come to a stage of its life. Leaving out an earlier one needs a reason.

    made  what the finished mount is, with the stage made

    A mount that is not made cannot be fitted, and nothing is fitted into or hung on a hole that is not drilled: no
    reason changes that.
    """
    _known(state, number)
    if stage in ("planned", "measured", "marked", "drilled") or stage not in STAGES:
        raise RecordError(f"{stage!r} is not a stage to be said by itself; say one of made, fitted, mocked-up, "
                          "dry-fitted, painted, installed, or give the measured axis, or mark or drill the hole")
    life, place = state.life(number), state.placements.get(number)
    if stage == "made" and number not in state.choices:
        raise RecordError(f"object {number} has no chosen hold: nothing to make yet. Choose one first")
    if stage == "made" and life.made is not None:
        raise RecordError(f"object {number}'s mount is on record as made. A new one begins with `scanprep made DIR "
                          f"{number} again --reason`")
    if stage in ("dry-fitted", "installed") and (place is None or place.state != "drilled"):
        hole = "has no place yet" if place is None else f"has its hole {place.hole or ''} {place.state}, not drilled"
        raise RecordError(f"object {number} {hole}: {stage} comes after drilling")
    needed = {"fitted": "made", "dry-fitted": "made", "installed": "dry-fitted"}.get(stage)
    if needed and not life.come_to(needed) and not reason.strip():
        raise RecordError(f"object {number}: {stage} before {needed}? Say {needed} first, or give a reason")
    if stage == "installed" and life.whereabouts == "installed":
        raise RecordError(f"object {number} is installed already")
    if stage == "installed" and life.agreed("contacts") is None and not reason.strip():
        raise RecordError(f"object {number}: the conservator has not agreed to its contact areas. Record that, or give "
                          "a reason")
    said: dict[str, Any] = {"stage": stage} if made is None else {"stage": stage, "made": to_plain(made)}
    return (NewEntry("stage", number, said, reason),)


def measure_axis(state: CaseState, number: str, dx_mm: float, dy_mm: float, angle_deg: float,
                 reason: str = "") -> tuple[NewEntry, ...]:
    """Give the finished mount's post as measured against the object; the anchor follows.

    A hole already marked elsewhere becomes void and a new one is planned; a drilled one stays where it is.
    """
    _known(state, number)
    if not state.life(number).come_to("made") and not reason.strip():
        raise RecordError(f"object {number}'s mount is not on record as made. Say so first, or give a reason")
    if max(abs(dx_mm), abs(dy_mm)) > CaseRules().far_off_mm and not reason.strip():
        raise RecordError(f"object {number}: a post {dx_mm:g} mm right and {dy_mm:g} mm above its plan is far off. "
                          "Look at the units, or give a reason")
    if abs(angle_deg) > 180:
        raise RecordError(f"object {number}: a mark turned {angle_deg:g} deg? Write an angle from -180 to 180 deg")
    said: dict[str, Any] = {"dx_mm": float(dx_mm), "dy_mm": float(dy_mm), "angle_deg": float(angle_deg)}
    at = state.placements.get(number)
    if at is not None and at.state == "marked" and max(
            abs(at.from_left_mm + dx_mm - at.anchor_from_left_mm),
            abs(at.y_mm + dy_mm - at.anchor_y_mm)) >= CaseRules().same_place_mm:
        said["hole"] = hole_name(state)
    return (NewEntry("axis-measured", number, said, reason),)


def mark_hole(state: CaseState, number: str, reason: str = "") -> tuple[NewEntry, ...]:
    """Say that the hole's place was marked on the sheet or its film. A mount not yet fitted needs a reason."""
    at = _placement(state, number)
    if at.state != "planned":
        raise RecordError(f"object {number}'s hole {at.hole or ''} is {at.state}, not planned")
    if not state.life(number).come_to("fitted") and not reason.strip():
        raise RecordError(f"object {number}'s mount is not fitted to the object yet: its post may come out 1-3 mm "
                          "off the plan. Fit and measure it first, or give a reason")
    return (NewEntry("marked", number, {"marked": at.hole}, reason),)


def drill_hole(state: CaseState, number: str, *, drill: str, depth_mm: float, checked_by: str, person: str,
               reason: str = "", thickest_mm: float | None = None, through: bool = False,
               thickness_mm: float | None = None) -> tuple[NewEntry, ...]:
    """Say that the hole is drilled: with what, how deep, blind or through, and who checked its place before.

    thickest_mm   what its sheet may be at the most; None: not looked at
    thickness_mm  of the sheet, measured at that place; None: not measured there
    """
    at = _placement(state, number)
    if at.state == "drilled":
        raise RecordError(f"object {number}'s hole {at.hole} is drilled already")
    if at.hole is None:
        raise RecordError(f"object {number} has no standing hole: the last one is void. Place it anew first")
    if at.state != "marked" and not reason.strip():
        raise RecordError(f"object {number}'s hole {at.hole} is not on record as marked. Mark it first, or give a "
                          "reason")
    if thickness_mm is not None and not 0 < thickness_mm <= (thickest_mm or thickness_mm) + CaseRules().most_thicker_mm:
        raise RecordError(f"object {number}: a sheet {thickness_mm:g} mm thick at the hole? It is at most "
                          f"{thickest_mm or 0:.1f} mm. Look at --thickness")
    if not 0 < depth_mm <= (thickness_mm or thickest_mm or depth_mm):
        deepest = f" and at most {thickness_mm:.1f} mm, the sheet there" if thickness_mm is not None else (
            "" if thickest_mm is None else f" and at most {thickest_mm:.1f} mm, the sheet at its thickest")
        raise RecordError(f"object {number}: a hole {depth_mm:g} mm deep? It is above 0{deepest}. Look at --depth")
    if checked_by.strip().casefold() in ("", person.strip().casefold()):
        raise RecordError("two people sign for a hole: the one who drills and another who checks its place. Name the "
                          "checker with --checked-by")
    said = {"drilled": at.hole, "drill": drill, "depth_mm": float(depth_mm), "checked_by": checked_by,
            "through": through, "thickness_mm": None if thickness_mm is None else float(thickness_mm)}
    return (NewEntry("drilled", number, said, reason),)


def void_hole(state: CaseState, hole: str, reason: str) -> tuple[NewEntry, ...]:
    """Abandon a hole. It stays on record, crossed out; its object wants a new place."""
    found = state.hole(hole)
    if found is None:
        raise RecordError(f"hole {hole} is not on record (there are: "
                          f"{', '.join(h.number for h in state.holes) or 'none yet'})")
    if found.state == "void":
        raise RecordError(f"hole {hole} is void already: {found.why_void}")
    if not reason.strip():
        raise RecordError(f"hole {hole} stays visible for good: say why it is abandoned, with --reason")
    return (NewEntry("void", found.object, {"void": hole}, reason),)


def agree(state: CaseState, number: str, what: str, note: str = "", person: str = "",
          case: CaseBrief | None = None) -> tuple[NewEntry, ...]:
    """Agree to an object's contact areas, angle, place, fit, drilling, installation or retouching.

    case  whose people may say what; None: anybody
    """
    _known(state, number)
    if what not in AGREEMENTS:
        raise RecordError(f"{what!r} is nothing to agree to; say one of {', '.join(AGREEMENTS)}")
    if what in ("contacts", "angle") and number not in state.choices:
        raise RecordError(f"object {number} has no chosen hold: nothing to agree to yet. Choose one first")
    if what == "place":
        _placement(state, number)
    check_role(case, person, what)
    return (NewEntry("agreed", number, {"what": what}, note),)


def note_condition(state: CaseState, number: str, text: str, photos: Sequence[str] = (),
                   occasion: str = "") -> tuple[NewEntry, ...]:
    """Note an object's condition, with the paths of photographs; occasion "before", "after" or ""."""
    _known(state, number)
    if not text.strip():
        raise RecordError("a condition note needs words")
    if occasion not in ("", "before", "after"):
        raise RecordError(f"{occasion!r} is no occasion; say before or after")
    return (NewEntry("condition", number, {"text": text, "photos": list(photos), "occasion": occasion}),)


def open_mount(state: CaseState, number: str, reason: str) -> tuple[NewEntry, ...]:
    """Count an opening of a mount: bent wire stands few of them."""
    _known(state, number)
    if not state.life(number).come_to("made"):
        raise RecordError(f"object {number} has no mount on record that could be opened")
    return (NewEntry("opened", number, {}, reason),)


def check_snug(state: CaseState, number: str, snug: bool, note: str = "") -> tuple[NewEntry, ...]:
    """Record the yearly look at whether the post sits snug."""
    if not state.life(number).has("installed"):
        raise RecordError(f"object {number} is not on record as installed: nothing to check for snugness yet")
    return (NewEntry("snug-check", number, {"snug": snug, "note": note}),)


def open_session(state: CaseState, title: str, people: Sequence[str] = ()) -> tuple[NewEntry, ...]:
    """Open the next numbered review."""
    if state.open_session is not None:
        raise RecordError(f"session {state.session} is still open. Close it first")
    return (NewEntry("session-opened", None, {"number": state.session + 1, "title": title, "people": list(people)}),)


def close_session(state: CaseState) -> tuple[NewEntry, ...]:
    """Close the open review."""
    if state.open_session is None:
        raise RecordError("no session is open")
    return (NewEntry("session-closed", None, {"number": state.session}),)


def sign_off(state: CaseState, note: str = "", stops: Sequence[str] = ()) -> tuple[NewEntry, ...]:
    """Sign the case off. Findings that say stop, as sentences, need a reason."""
    if state.signed_off is not None:
        raise RecordError(f"the case is signed off already, by {state.signed_off.person}")
    if stops and not note.strip():
        raise RecordError(f"{len(stops)} findings say stop, the first: {stops[0]}. Clear them, or sign "
                          "off with a reason")
    return (NewEntry("signed-off", None, {"stops": len(stops)}, note),)


def lift_sign_off(state: CaseState, reason: str) -> tuple[NewEntry, ...]:
    """Take a sign-off back."""
    if state.signed_off is None:
        raise RecordError("the case is not signed off")
    if not reason.strip():
        raise RecordError("lifting a sign-off needs a reason. Say --reason")
    return (NewEntry("sign-off-lifted", None, {}, reason),)


def take_back(entries: Sequence[Entry], state: CaseState, seq: int, reason: str) -> tuple[NewEntry, ...]:
    """Take an entry back by another entry. Only the latest that stands for its object: later ones may rest on it."""
    by_seq: Mapping[int, Entry] = {entry.seq: entry for entry in entries}
    entry = by_seq.get(seq)
    if entry is None:
        raise RecordError(f"there is no entry {seq} on record")
    if entry.kind == "inputs":
        raise RecordError(f"entry {seq} took what case.toml says. Put the file back instead; that goes on record too")
    if seq not in {e.seq for e in standing(entries)}:
        raise RecordError(f"entry {seq} is taken back already")
    latest = state.last_of.get(entry.object or "", 0)
    if latest != seq:
        raise RecordError(f"entry {latest} was said after entry {seq} and may rest on it. Take that one back first")
    without = fold([e for e in entries if e.seq != seq])
    for number, place in without.placements.items():
        hole = None if place.hole is None else without.hole(place.hole)
        if hole is not None and hole.object != number:
            raise RecordError(f"without entry {seq} object {number} would be back in hole {hole.number}, which object "
                              f"{hole.object} uses now. Take that back first")
    if not reason.strip() and (entry.kind in WEIGHTY or state.signed_off is not None):
        raise RecordError(f"taking back entry {seq} ({entry.kind}) needs a reason. Say --reason")
    return (NewEntry("undone", entry.object, {"seq": seq}, reason),)
