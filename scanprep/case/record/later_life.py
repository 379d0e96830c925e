"""What happens to objects, mounts and holes after the plan: withdrawn, settled, made anew, removed, lent, plugged.

Each function takes the case as it stands and returns the entries to append, or refuses with a sentence that says what
to do instead. Used by the record commands.
"""

from __future__ import annotations

from scanprep.case.record.entry import NewEntry
from scanprep.case.record.frozen import Difference
from scanprep.case.record.state import CaseState, RecordedHole
from scanprep.errors import RecordError

#: From where an object is to where it may go next. Putting it back up is the stage `installed`.
NEXT_MOVES = {
    "installed": ("removed",),
    "removed": ("on loan", "replaced"),
    "on loan": ("returned",),
    "returned": ("on loan", "replaced"),
}


def _known(state: CaseState, number: str) -> None:
    if number not in state.objects:
        raise RecordError(f"object {number} is not on record. Take it in with `scanprep intake`")


def withdraw(state: CaseState, number: str, reason: str) -> tuple[NewEntry, ...]:
    """Take an object out of the display: off templates and lists at once; a marked or drilled hole becomes void.

    Raises RecordError where it hangs on the sheet still: it has to come out first.
    """
    _known(state, number)
    if number in state.withdrawn:
        raise RecordError(f"object {number} is withdrawn already: {state.withdrawn[number].reason}")
    if not reason.strip():
        raise RecordError(f"object {number}: say why it is withdrawn, with --reason")
    if state.life(number).whereabouts == "installed":
        raise RecordError(f"object {number} is installed: take it out first (`scanprep moved DIR {number} removed`), "
                          "then withdraw it")
    return (NewEntry("withdrawn", number, {}, reason),)


def show_again(state: CaseState, number: str, reason: str = "") -> tuple[NewEntry, ...]:
    """Take a withdrawn object back into the display. It needs a new place, or a hole that is reused."""
    _known(state, number)
    if number not in state.withdrawn:
        raise RecordError(f"object {number} is not withdrawn")
    if state.signed_off is not None and not reason.strip():
        raise RecordError(f"the case is signed off: showing object {number} again needs a reason. Say --reason")
    return (NewEntry("shown-again", number, {}, reason),)


def make_again(state: CaseState, number: str, reason: str) -> tuple[NewEntry, ...]:
    """Say that a mount is made anew: it begins at planned again; its drilled hole stays."""
    _known(state, number)
    life = state.life(number)
    if not life.come_to("made"):
        raise RecordError(f"object {number} has no mount on record yet: nothing to make anew")
    if life.whereabouts == "installed":
        raise RecordError(f"object {number} is installed on its mount: take it out first (`scanprep moved DIR {number} "
                          "removed`)")
    if not reason.strip():
        raise RecordError(f"object {number}: say why its mount is made anew, with --reason")
    return (NewEntry("remade", number, {}, reason),)


def settle(state: CaseState, number: str, code: str, differences: tuple[Difference, ...], reason: str,
           shim_mm: float | None = None) -> tuple[NewEntry, ...]:
    """Settle a difference between what is real and what is planned: accept it, or close a loose hole with a shim.

    differences  as they stand now; the one named by `code` is settled as it is, and opens again when it changes
    """
    _known(state, number)
    one = next((d for d in differences if d.code == code), None)
    if one is None:
        names = ", ".join(d.code for d in differences) or "none"
        raise RecordError(f"object {number} has no difference {code!r} between what is real and planned (there are: "
                          f"{names})")
    if not reason.strip():
        raise RecordError(f"object {number}: settling {code} needs a reason. Say --reason")
    if shim_mm is not None and code not in ("drilled-drill", "made-rod-diameter"):
        raise RecordError(f"a shim closes a loose hole; {code} is something else. Accept it or make it anew")
    how = "accepted" if shim_mm is None else f"shim {shim_mm:g} mm"
    return (NewEntry("settled", number, {"code": code, "real": one.real, "planned": one.planned, "how": how}, reason),)


def move_on(state: CaseState, number: str, to: str, note: str, reason: str = "") -> tuple[NewEntry, ...]:
    """Say where an installed object goes: removed, on loan, returned, replaced.

    note  its condition then (removed, returned), where it goes (on loan), or by which object it is replaced
    """
    _known(state, number)
    at = state.life(number).whereabouts
    allowed = NEXT_MOVES.get(at, ())
    if to not in allowed:
        here = at or "not installed yet"
        ways = " or ".join(allowed) or "nothing of the kind"
        raise RecordError(f"object {number} is {here}: it cannot be {to} now; next comes {ways}")
    if not note.strip():
        needed = {"on loan": "where it goes", "replaced": "by which object"}.get(to, "its condition")
        raise RecordError(f"object {number}: {to} needs words: say {needed} with --note")
    return (NewEntry("moved-on", number, {"to": to, "note": note}, reason),)


def _void(state: CaseState, hole: str) -> RecordedHole:
    found = state.hole(hole)
    if found is None:
        raise RecordError(f"hole {hole} is not on record")
    if found.state != "void" or not found.was_drilled:
        raise RecordError(f"hole {hole} is {found.state}{'' if found.was_drilled else ' and not drilled'}: only a "
                          "drilled hole that was abandoned can be plugged or used again")
    return found


def plug(state: CaseState, hole: str, material: str) -> tuple[NewEntry, ...]:
    """Say that an abandoned drilled hole is plugged, and with what."""
    found = _void(state, hole)
    if not material.strip():
        raise RecordError(f"hole {hole}: say what it is plugged with, with --with")
    return (NewEntry("plugged", found.object, {"hole": hole, "with": material}),)


def reuse(state: CaseState, hole: str, number: str, reason: str) -> tuple[NewEntry, ...]:
    """Let an object use an abandoned drilled hole, as it is. What its plan asks for is then compared with the hole."""
    found = _void(state, hole)
    _known(state, number)
    if number in state.withdrawn:
        raise RecordError(f"object {number} is withdrawn: show it again first")
    if found.later:
        raise RecordError(f"hole {hole} is {found.later}: it cannot be used again")
    place = state.placements.get(number)
    if place is not None and place.hole is not None and place.state != "planned":
        raise RecordError(f"object {number} has hole {place.hole}, {place.state}: abandon that one first")
    if not reason.strip():
        raise RecordError(f"hole {hole}: say why it is used again, with --reason")
    return (NewEntry("reused", number, {"hole": hole}, reason),)
