"""Decisions about single objects, said to the record: which hold, which place.

Each returns one sentence of what was put on record. Refusals (drilled, signed off, changed underneath) are
RecordErrors.
"""

from __future__ import annotations

from scanprep.case.record import decide
from scanprep.errors import InputError
from scanprep.workspace.batch import study_one
from scanprep.workspace.folder import CaseFolder


def choose_hold(folder: CaseFolder, number: str, index: int, person: str | None, reason: str) -> str:
    """Choose one of an object's holds by its place in the ranked list, 1 being the best."""
    study = study_one(folder, folder.object(number))
    count = len(study.holds.holds)
    if count == 0:
        raise InputError(field="N", value=index, problem=f"no hold was found for object {number}",
                         remedy=f"See why with `scanprep holds {folder.root} {number}`; other angles may have one")
    if not 1 <= index <= count:
        raise InputError(field="N", value=index, problem=f"object {number} has {count} holds",
                         remedy=f"Look at them with `scanprep holds {folder.root} {number}`")
    a = study.holds.holds[index - 1].attitude
    entries = decide.choose_hold(folder.state, number, a.name, (a.tilt_deg, a.turn_deg, a.roll_deg), index - 1, reason)
    if not entries:
        return f"object {number} is held so already: nothing new"
    folder.say(entries, person)
    return (f"object {number} is held {a.name}, tilt {a.tilt_deg:g} deg, turn {a.turn_deg:g} deg, roll "
            f"{a.roll_deg:g} deg")


def place_on_face(folder: CaseFolder, number: str, panel: str, face: str, x_mm: float, y_mm: float,
                  person: str | None, reason: str) -> str:
    """Place an object's anchor point on a face."""
    folder.object(number)
    face = face.strip().upper()
    entries = decide.place(folder.state, number, folder.panel(panel), face, x_mm, y_mm, reason)
    if not entries:
        return f"object {number} stands there already: nothing new"
    folder.say(entries, person)
    return f"object {number} stands on {panel}, face {face}, anchor at x {x_mm:.1f} mm, y {y_mm:.1f} mm"
