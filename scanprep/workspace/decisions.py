"""Decisions about single objects that need its study: which hold, which place, what is made, what is settled.

Refusals (drilled, signed off, changed underneath) are
RecordErrors.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace

from scanprep.case.record import decide, later_life
from scanprep.case.record.chosen import kept_values, same_choice
from scanprep.case.record.entry import NewEntry
from scanprep.case.record.frozen import MadeFacts, made_facts
from scanprep.case.record.retaining import prove
from scanprep.case.record.state import CaseState
from scanprep.errors import InputError, RecordError, ScanprepError
from scanprep.fabrication import fabricate
from scanprep.held import Held, held
from scanprep.hold.records import Hold
from scanprep.panel.faces import datum_x_of, from_left_of
from scanprep.post.drill import drill_name, greatest_thickness_mm, parse_drill
from scanprep.post.holding import Proof
from scanprep.post.plan import find_rod
from scanprep.post.records import PostPlan
from scanprep.post.rod_names import same_rod
from scanprep.spec import ScanFacts
from scanprep.survey.records import Survey
from scanprep.workspace.batch import study_one
from scanprep.workspace.finishing import chosen_retention, made_for, real_differences, rod_on_record
from scanprep.workspace.folder import CaseFolder


def said_of_each(numbers: Sequence[str], say: Callable[[str], Iterable[NewEntry]], *,
                 every: bool) -> tuple[list[NewEntry], tuple[str, ...]]:
    """Return what is said of several objects, and why some are left out.

    every  they were not named one by one but as `all`: those of which it cannot be said are left out, with a sentence;
           else one such stops all of it, and so does it where nothing is left
    """
    said, left = list[NewEntry](), list[ScanprepError]()
    for number in numbers:
        try:
            said += say(number)
        except ScanprepError as problem:
            if not every:
                raise
            left.append(problem)
    if left and len(left) == len(numbers):
        raise left[0]
    return said, tuple(map(str, left))


def choose_holds(folder: CaseFolder, numbers: Sequence[str], index: int, person: str | None, reason: str, *,
                 every: bool = False) -> tuple[str, tuple[str, ...]]:
    """Choose a hold for one or more objects by its place in the list that `holds` prints, 1 being the first.

    The hold is put on record whole. Choosing what comes out now, next to a kept one, replaces the kept one. Returns
    what was said and, for `every`, who was left out and why (`said_of_each`).
    """
    told: list[str] = []

    def say(number: str) -> tuple[NewEntry, ...]:
        sentence, entries = _choice(folder, number, index, reason)
        told.append(sentence)
        return entries

    entries, left = said_of_each(numbers, say, every=every)
    if entries:
        folder.say(entries, person)
    return "; ".join(told), left


def _choice(folder: CaseFolder, number: str, index: int, reason: str) -> tuple[str, tuple[NewEntry, ...]]:
    study = planned_now(folder, number)[0].study  # as it is printed: on the hub made for its post
    count = len(study.holds.holds)
    if count == 0:
        raise InputError(field="N", value=index, problem=f"no hold was found for object {number}",
                         remedy=f"See why with `scanprep holds {folder.root} {number}`; other angles may have one")
    if not 1 <= index <= count:
        raise InputError(field="N", value=index, problem=f"object {number} has {count} holds",
                         remedy=f"Look at them with `scanprep holds {folder.root} {number}`")
    hold = study.holds.holds[index - 1]
    a, entries = hold.attitude, choice_entries(folder.state, number, hold, index - 1, study.survey, study.scan, reason)
    if not entries:
        return f"object {number} is held so already: nothing new", ()
    return (f"object {number} is held {a.name}, tilt {a.tilt_deg:g} deg, turn {a.turn_deg:g} deg, roll "
            f"{a.roll_deg:g} deg", entries)


def choice_entries(state: CaseState, number: str, hold: Hold, index: int, survey: Survey, scan: ScanFacts,
                   reason: str) -> tuple[NewEntry, ...]:
    """Return the entry that chooses a hold and keeps it whole; nothing where it is chosen already.

    index  of the hold in its object's ranked list, from 0
    """
    a, before = hold.attitude, state.choices.get(number)
    kept = kept_values(hold, survey, scan)
    if before is not None and before.kept is not None and same_choice(before.kept["hold"], hold):
        kept = dict(before.kept)  # the same hold: a new judgement of it, or its hub for another post, is no new choice
    return decide.choose_hold(state, number, a.name, (a.tilt_deg, a.turn_deg, a.roll_deg), index, reason, kept)


def make_mount(folder: CaseFolder, number: str, reason: str, rod: str | None = None, diameter_mm: float | None = None,
               cut_length_mm: float | None = None) -> tuple[NewEntry, ...]:
    """Return the entry that says an object's mount is made, with what it is made of.

    rod, diameter_mm, cut_length_mm  as they really are; None: as planned. Raises RecordError where no hold is chosen or
    no rod is settled.
    """
    decide.reach_stage(folder.state, number, "made", reason)  # refusals come before any computing
    return decide.reach_stage(folder.state, number, "made", reason,
                              made_now(folder, number, rod, diameter_mm, cut_length_mm))


def prove_post(folder: CaseFolder, number: str, pull_N: float, twist_Nmm: float, moved: str,
               reason: str = "") -> tuple[NewEntry, ...]:
    """Return the entry that says an object's post was pulled and twisted in its hole.

    moved  what moved; empty where nothing did. Raises RecordError where that is less than its object asks.
    """
    if not folder.state.life(number).come_to("dry-fitted"):  # refusals come before any computing
        return prove(folder.state, number, pull_N, twist_Nmm, Proof(0.0, 0.0), moved, reason)
    _, plan = planned_now(folder, number)
    asked = Proof(0.0, 0.0) if plan is None else Proof(plan.post.proof_pull_N, plan.post.proof_twist_Nmm)
    return prove(folder.state, number, pull_N, twist_Nmm, asked, moved, reason)


def made_now(folder: CaseFolder, number: str, rod: str | None, diameter_mm: float | None,
             cut_length_mm: float | None) -> MadeFacts:
    """Return what an object's mount is when it is made now, to its plan but for what is given."""
    if number not in folder.state.rods:
        raise RecordError(f"object {number} has no rod on record. Run `scanprep batch {folder.root}` first, it settles "
                          "the case's diameters")
    one, plan = planned_now(folder, number)
    hold = None if one.index is None else one.study.holds.holds[one.index]
    if plan is None or hold is None:
        raise RecordError(f"object {number} has no hold to be made: choose one first")
    facts = made_facts(plan.post, hold, any(same_rod(r.label, plan.post.rod) for r in folder.case.measured_rods),
                       folder.state.revision(number))
    label = facts.rod if rod is None else find_rod(rod).label
    size = find_rod(label).diameter_mm if rod is not None and label != facts.rod else facts.rod_mm
    return replace(facts, rod=label, rod_mm=diameter_mm or size, rod_measured=facts.rod_measured or bool(diameter_mm),
                   cut_length_mm=cut_length_mm or facts.cut_length_mm)


def drilled_hole(folder: CaseFolder, number: str, drill: str, depth_mm: float, through: bool, there_mm: float | None,
                 checked_by: str, person: str, reason: str) -> tuple[NewEntry, ...]:
    """Return the entry that says an object's hole is drilled.

    there_mm  the sheet as measured at this hole; None: as it was measured, where it was
    """
    place = folder.state.placements.get(number)
    sheet = folder.panel(place.panel) if place else None
    if there_mm is None and sheet is not None and sheet.thickness_measured:
        there_mm = sheet.thickness_mm
    most_mm = greatest_thickness_mm(sheet.thickness_mm, sheet.thickness_measured) if sheet else None
    return decide.drill_hole(folder.state, number, drill=drill_name(parse_drill(drill)), depth_mm=depth_mm,
                             checked_by=checked_by, person=person, reason=reason, thickest_mm=most_mm, through=through,
                             thickness_mm=there_mm)


def planned_now(folder: CaseFolder, number: str) -> tuple[Held, PostPlan | None]:
    """Return an object's hold that counts and its post as it would be planned now, on the rod that is on record."""
    kept = folder.cache.computed
    one = held(study_one(folder, folder.object(number)), folder.state.choices.get(number), folder.rules, folder.case,
               kept)
    place = folder.state.placements.get(number)
    panel = folder.panel(place.panel) if place else None
    return fabricate(one, rod_on_record(folder, number), folder.rules, folder.case, panel,
                     chosen_retention(folder, number), made=made_for(folder, number), keeping=kept)


def settle_difference(folder: CaseFolder, number: str, code: str, reason: str,
                      shim_mm: float | None = None) -> tuple[NewEntry, ...]:
    """Return the entry that settles a difference between what is real and what is planned, as it stands now."""
    one, plan = planned_now(folder, number)
    differences = () if plan is None else real_differences(plan, one, folder)
    return later_life.settle(folder.state, number, code, differences, reason, shim_mm)


def place_on_face(folder: CaseFolder, number: str, panel: str, face: str, y_mm: float, person: str | None, reason: str,
                  *, datum_x_mm: float | None = None, from_left_mm: float | None = None) -> str:
    """Place an object's anchor point on a face, by one of X from the datum and the way from its own left edge."""
    folder.object(number)
    face = face.strip().upper()
    sheet = folder.panel(panel)
    if from_left_mm is None:
        from_left_mm = from_left_of(face, float(datum_x_mm or 0.0), sheet.width_mm)
    entries = decide.place(folder.state, number, sheet, face, from_left_mm, y_mm, reason)
    if not entries:
        return f"object {number} stands there already: nothing new"
    folder.say(entries, person)
    return (f"object {number} stands on {panel}, face {face}, anchor at X "
            f"{datum_x_of(face, from_left_mm, sheet.width_mm):.1f} mm, Y {y_mm:.1f} mm from the datum corner, "
            f"{from_left_mm:.1f} mm from the face's left edge")
