"""The story, one line a stage, in two passes.

Few post diameters is a choice over all objects: first every object is studied (clean, survey, hold, thinnest safe rod),
then the diameters are chosen, then every object is finished (post, seat, hole). Pure: no files, no clock, no printing.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from scanprep.brief import CaseBrief, ObjectBrief, PanelBrief
from scanprep.case.record.state import Choice
from scanprep.findings import Finding, Verdict
from scanprep.hold import find_holds
from scanprep.hold.places.attitudes import asked_attitude
from scanprep.hold.records import Attitude, Hold, HoldSet
from scanprep.post import plan_post, stocked_rods, thinnest_rod
from scanprep.post.records import PostPlan, Rod
from scanprep.post.remedy import with_remedy
from scanprep.rules import Rulebook
from scanprep.scan.clean import clean
from scanprep.scan.mesh import Scan
from scanprep.spec import MountSpec, ObjectStudy, roll_up, scan_facts
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
    """Return what is known of one object before the case's post diameters are chosen.

    angles  try these hold angles instead of the proposed ones
    tell    called with the name of each stage as it starts
    """
    tell("cleaning")
    cleaned = clean(scan, brief, rules.scan)
    tell("surveying")
    survey = survey_object(cleaned, brief, rules)
    tell("holding")
    attitudes: list[Attitude] | None = (
        [asked_attitude(survey, brief, a.tilt_deg, a.turn_deg, a.roll_deg) for a in angles] if angles else None
    )
    acceleration_g = case.acceleration_g if case else rules.hold.margin_g
    holds = find_holds(cleaned.working, survey, brief, rules, acceleration_g=acceleration_g, attitudes=attitudes)
    tell("sizing the post")
    needs = tuple(thinnest_rod(hold, survey, rules, case) for hold in holds.holds)
    findings = (*scan.findings, *cleaned.findings, *survey.findings)
    return ObjectStudy(brief, scan_facts(cleaned), survey, cleaned.working, holds, needs, findings)


def chosen_index(holds: HoldSet, choice: Choice | None) -> int | None:
    """Return the hold meant by a choice; the best one where nobody chose; None where there is none.

    A chosen attitude that no longer has a hold gives None: it is not replaced in silence.
    """
    if choice is None:
        return 0 if holds.holds else None

    def away(hold: Hold) -> float:
        a = hold.attitude
        angles_deg = (a.tilt_deg - choice.tilt_deg, a.turn_deg - choice.turn_deg, a.roll_deg - choice.roll_deg)
        return sum(map(abs, angles_deg)) + (0.0 if a.name == choice.attitude else 0.01)

    best = min(range(len(holds.holds)), key=lambda i: away(holds.holds[i]), default=None)
    return best if best is not None and away(holds.holds[best]) < 0.5 else None


def rod_for(study: ObjectStudy, index: int, diameters: Sequence[float] | None, rules: Rulebook,
            case: CaseBrief | None) -> Rod:
    """Return the thinnest rod of the case's diameters (all stocked ones where None) that is enough for a hold.

    The thickest in stock where none is: then its checks say by how much.
    """
    rods = stocked_rods(rules, case)
    thinnest = study.needs[index].thinnest or rods[-1]
    enough = [rod for rod in rods if rod.diameter_mm >= thinnest.diameter_mm - 1e-9
              and (diameters is None or any(abs(rod.diameter_mm - d) < 1e-9 for d in diameters))]
    return min(enough, key=lambda rod: rod.diameter_mm, default=rods[-1])


def finish_object(study: ObjectStudy, choice: Choice | None, diameters: Sequence[float] | None, rules: Rulebook,
                  case: CaseBrief | None = None, panel: PanelBrief | None = None, *, session: int = 0,
                  revision: int = 0) -> MountSpec:
    """Return one object's specification: its hold, post and hole, with everything judged about them.

    diameters  the few post diameters of the case, mm; None for a loose scan
    """
    index = chosen_index(study.holds, choice)
    plan: PostPlan | None = None
    if index is not None:
        hold, rod = study.holds.holds[index], rod_for(study, index, diameters, rules, case)
        plan = plan_post(hold, study.survey, rod, rules, case, panel)
        if study.needs[index].thinnest is None:
            plan = with_remedy(plan, hold, study.survey, rod, rules, case)
    chosen_by = "proposed" if choice is None else choice.person
    told = _undecided(study, index, choice)
    return roll_up(study, index, chosen_by, plan, session=session, revision=revision, told=told)


def _undecided(study: ObjectStudy, index: int | None, choice: Choice | None) -> tuple[Finding, ...]:
    """Say that a chosen hold is no longer found, where the holds themselves are not the reason."""
    if index is not None or choice is None or not study.holds.holds:
        return ()
    subject = f"object {study.brief.number}"
    return (Finding("choice-lost", subject, Verdict.STOP,
                    f"{subject}: the chosen hold ({choice.attitude}, tilt {choice.tilt_deg:g}, turn "
                    f"{choice.turn_deg:g}, roll {choice.roll_deg:g}) is no longer found", "Choose a hold again"),)
