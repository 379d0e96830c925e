"""The story, one line a stage: study, diameters, fabricate, finish.

    study       each object by itself: clean, survey, hold, and the thinnest rod that is enough for each hold
    diameters   few post diameters is a choice over all objects, so it waits for every study
    fabricate   each object's mount for the rod that it got: hub, laps and arms anew where they must be, then judged
    finish      its post, seat and hole, all rolled up into one specification

Pure: no files, no clock, no printing. What a stage reads is all that it is given, so that whoever calls may keep its
result (`held.Keeping`).
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

from scanprep.brief import CaseBrief, ObjectBrief, PanelBrief
from scanprep.case.lists.settled_rods import RodPlan, plan_rods
from scanprep.case.record.state import CaseState, Choice
from scanprep.fabrication import fabricate
from scanprep.held import Held, held, of_object
from scanprep.hold import find_holds
from scanprep.hold.find import Steps, untold
from scanprep.hold.making.refit import refitted
from scanprep.hold.places.attitudes import asked_attitude
from scanprep.hold.records import HoldSet, MadeFor
from scanprep.post import acceleration_of, stocked_rods, thinnest_rod
from scanprep.post.records import Rod
from scanprep.post.retention import Retention, parse_retention
from scanprep.rules import Rulebook
from scanprep.scan.clean import clean
from scanprep.scan.mesh import Scan
from scanprep.spec import MountSpec, ObjectStudy, SurveyedScan, roll_up, scan_facts
from scanprep.survey import survey_object

Progress = Callable[[str], None]


def _silent(_: str) -> None:
    return None


@dataclass(frozen=True, slots=True)
class AskedAngles:
    """Hold angles that a person asked for."""

    tilt_deg: float = 0.0
    turn_deg: float = 0.0
    roll_deg: float = 0.0


def study_object(scan: Scan, brief: ObjectBrief, rules: Rulebook, case: CaseBrief | None = None, *,
                 angles: Sequence[AskedAngles] = (), tell: Progress = _silent) -> ObjectStudy:
    """Study: return what is known of one object before the case's post diameters are chosen.

    angles  try these hold angles instead of the proposed ones
    tell    called with the name of each stage as it starts
    """
    tell("cleaning and surveying")
    surveyed = survey_scan(scan, brief, rules)
    tell("holding")
    holds = hold_scan(surveyed, brief, rules, acceleration_of(rules, case), angles)
    tell("sizing the post")
    return size_posts(surveyed, holds, brief, rules, case)


def settle_diameters(helds: Mapping[str, Held], state: CaseState, rules: Rulebook, case: CaseBrief) -> RodPlan:
    """Diameters: return which rod each object's post is made of: as on record, and what the others would get."""
    needs = {number: one.study.needs[one.index] for number, one in helds.items() if one.index is not None}
    return plan_rods(state, needs, stocked_rods(rules, case), case.max_post_diameters)


def finish_object(study: ObjectStudy, choice: Choice | None, rules: Rulebook, case: CaseBrief | None = None,
                  panel: PanelBrief | None = None, *, rod: Rod | None = None, session: int = 0,
                  revision: int = 0, retention: Retention | None = None, made: MadeFor | None = None) -> MountSpec:
    """Fabricate and finish: return one object's specification, its hold, post and hole with all that is judged of them.

    rod        that the case settled for it; None for a loose scan: the thinnest that serves
    retention  what was chosen to hold its post; None: as its checklist line says, else as the coupons were tried
    made       what its hub was made for, where its mount is made already
    """
    if retention is None and study.brief.retention:
        retention = parse_retention(study.brief.retention)
    one = held(study, choice, rules, case)
    one, plan = fabricate(one, rod, rules, case, panel, retention, made=made)
    return roll_up(one.study, one.index, one.chosen_by, plan, rules, session=session, revision=revision,
                   told=one.findings)


def survey_scan(scan: Scan, brief: ObjectBrief, rules: Rulebook) -> SurveyedScan:
    """Return a scan cleaned and measured."""
    cleaned = clean(scan, brief, rules.scan)
    survey = survey_object(cleaned, brief, rules)
    facts = replace(scan_facts(cleaned), file=brief.scan or scan.file)  # as the checklist names it, wherever it lies
    return SurveyedScan(facts, survey, cleaned.working, (*scan.findings, *cleaned.findings, *survey.findings))


def hold_scan(surveyed: SurveyedScan, brief: ObjectBrief, rules: Rulebook, acceleration_g: float,
              angles: Sequence[AskedAngles] = (), tell: Steps = untold) -> HoldSet:
    """Return the holds of a surveyed object, at the angles asked for where there are any; `tell` as in `find_holds`."""
    attitudes = [asked_attitude(surveyed.survey, brief, a.tilt_deg, a.turn_deg, a.roll_deg) for a in angles] or None
    return find_holds(surveyed.working, surveyed.survey, brief, of_object(rules, brief), acceleration_g=acceleration_g,
                      attitudes=attitudes, tell=tell)


def size_posts(surveyed: SurveyedScan, holds: HoldSet, brief: ObjectBrief, rules: Rulebook,
               case: CaseBrief | None) -> ObjectStudy:
    """Return an object's study: its holds, each with the thinnest rod that is enough for it, its hub made for that."""
    rules = of_object(rules, brief)
    needs = [thinnest_rod(hold, surveyed.survey, rules, case) for hold in holds.holds]
    made = list(holds.holds)
    for k, need in enumerate(needs):
        if need.thinnest is None:
            continue
        made[k] = refitted(made[k], surveyed.working, surveyed.survey, brief, rules, acceleration_of(rules, case),
                           MadeFor(need.thinnest.diameter_mm))
        if made[k] is not holds.holds[k]:
            needs[k] = thinnest_rod(made[k], surveyed.survey, rules, case)
    return ObjectStudy(brief, surveyed.scan, surveyed.survey, surveyed.working, replace(holds, holds=tuple(made)),
                       tuple(needs), surveyed.findings)
