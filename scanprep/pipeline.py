"""The story, one line a stage, in two passes.

Few post diameters is a choice over all objects: first every object is studied (clean, survey, hold, thinnest safe rod),
then the diameters are chosen, then every object is finished (post, seat, hole). Pure: no files, no clock, no printing.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Any, Protocol, TypeVar

from scanprep.brief import CaseBrief, ObjectBrief, PanelBrief
from scanprep.case.record.chosen import hold_differences, other_now, read_kept, unreadable
from scanprep.case.record.state import Choice
from scanprep.findings import Finding, Verdict
from scanprep.hold import find_holds
from scanprep.hold.find import Steps, untold
from scanprep.hold.making.refit import laps_covered_mm, refitted
from scanprep.hold.places.attitudes import ASKED, asked_attitude
from scanprep.hold.places.no_touch import touched_no_touch
from scanprep.hold.records import Attitude, Hold, HoldSet
from scanprep.post import acceleration_of, plan_post, stocked_rods, thinnest_rod
from scanprep.post.records import PostNeed, PostPlan, Rod
from scanprep.post.remedy import with_remedy
from scanprep.post.retention import Retention, parse_retention
from scanprep.rules import CaseRules, Rulebook
from scanprep.scan.clean import clean
from scanprep.scan.mesh import Scan
from scanprep.spec import MountSpec, ObjectStudy, SurveyedScan, roll_up, scan_facts
from scanprep.survey import survey_object

T = TypeVar("T")
Progress = Callable[[str], None]


class Keeping(Protocol):
    """Gives a pure function's result: computed, or kept from an earlier run under all that the function reads."""

    def __call__(self, kind: str, cls: type[T], compute: Callable[..., T], *reads: Any) -> T:
        """Return compute(*reads), a record of `cls`."""
        ...


def anew(kind: str, cls: type[T], compute: Callable[..., T], *reads: Any) -> T:
    """Compute it: nothing is kept."""
    return compute(*reads)


def of_object(rules: Rulebook, brief: ObjectBrief) -> Rulebook:
    """Return the rules with what was said of one object in place of the shop's usual: its stand-off."""
    if brief.stand_off_mm is None:
        return rules
    return replace(rules, post=replace(rules.post, stand_off_mm=brief.stand_off_mm))


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
    tell("cleaning and surveying")
    surveyed = survey_scan(scan, brief, rules)
    tell("holding")
    holds = hold_scan(surveyed, brief, rules, acceleration_of(rules, case), angles)
    tell("sizing the post")
    return size_posts(surveyed, holds, brief, rules, case)


def survey_scan(scan: Scan, brief: ObjectBrief, rules: Rulebook) -> SurveyedScan:
    """Return a scan cleaned and measured."""
    cleaned = clean(scan, brief, rules.scan)
    survey = survey_object(cleaned, brief, rules)
    facts = replace(scan_facts(cleaned), file=brief.scan or scan.file)  # as the checklist names it, wherever it lies
    return SurveyedScan(facts, survey, cleaned.working, (*scan.findings, *cleaned.findings, *survey.findings))


def hold_scan(surveyed: SurveyedScan, brief: ObjectBrief, rules: Rulebook, acceleration_g: float,
              angles: Sequence[AskedAngles] = (), tell: Steps = untold) -> HoldSet:
    """Return the holds of a surveyed object, at the angles asked for where there are any; `tell` as in `find_holds`."""
    attitudes: list[Attitude] | None = (
        [asked_attitude(surveyed.survey, brief, a.tilt_deg, a.turn_deg, a.roll_deg) for a in angles] if angles else None
    )
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
        made[k] = refitted(made[k], surveyed.working, surveyed.survey, brief, rules, need.thinnest.diameter_mm)
        if made[k] is not holds.holds[k]:
            needs[k] = thinnest_rod(made[k], surveyed.survey, rules, case)
    return _study(surveyed, replace(holds, holds=tuple(made)), brief, tuple(needs))


def _study(surveyed: SurveyedScan, holds: HoldSet, brief: ObjectBrief, needs: tuple[PostNeed, ...]) -> ObjectStudy:
    return ObjectStudy(brief, surveyed.scan, surveyed.survey, surveyed.working, holds, needs, surveyed.findings)


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
    return best if best is not None and away(holds.holds[best]) < CaseRules().same_angle_deg else None


@dataclass(frozen=True, slots=True, eq=False)
class Held:
    """An object's study with the hold that counts: the one kept on record, or the best where nobody chose."""

    study: ObjectStudy  # its first hold is the kept one where that differs from what comes out now
    index: int | None  # of the hold that counts; None where there is none
    chosen_by: str  # "proposed" until a person chose
    findings: tuple[Finding, ...]  # about the choice


def held(study: ObjectStudy, choice: Choice | None, rules: Rulebook, case: CaseBrief | None,
         keeping: Keeping = anew) -> Held:
    """Return the hold that counts for an object.

    A chosen hold is taken from the record as it was chosen. Where the search finds the same one today, only what is
    judged of it is today's; where it finds another, that one stays next to it as a proposal, with the differences.
    """
    chosen_by, rules = "proposed" if choice is None else choice.person, of_object(rules, study.brief)
    if choice is None or choice.kept is None:
        index = chosen_index(study.holds, choice)
        return Held(_with_need(study, index, rules, case, keeping), index, chosen_by, _undecided(study, index, choice))
    number = study.brief.number
    kept = read_kept(choice.kept, study.survey, study.scan, number)
    if kept is None:
        return Held(study, None, chosen_by, (unreadable(number),))
    now = chosen_index(study.holds, choice)
    by_hand = now is None and choice.attitude == ASKED  # the search was never asked for these angles: nothing is lost
    different = () if by_hand else ("no hold in this attitude any more",) if now is None else hold_differences(
        kept.hold, study.holds.holds[now])
    touched = touched_no_touch(kept.hold, study.brief, study.survey, study.working)
    if now is not None and not different:
        found = study.holds.holds[now]
        same = replace(found, attitude=kept.hold.attitude, tips=kept.hold.tips, hub=kept.hold.hub,
                       opening=kept.hold.opening, attach_mm=kept.hold.attach_mm, clock_deg=kept.hold.clock_deg)
        holds = tuple(same if i == now else hold for i, hold in enumerate(study.holds.holds))
        told = tuple(f for f in kept.findings if f.verdict is not Verdict.STOP)  # it is judged for today's object
        same_study = replace(study, holds=replace(study.holds, holds=holds))
        return Held(_with_need(same_study, now, rules, case, keeping), now, chosen_by, (*told, *touched))
    need = keeping("need", PostNeed, thinnest_rod, kept.hold, study.survey, rules, case)
    both = replace(study, holds=replace(study.holds, holds=(kept.hold, *study.holds.holds)),
                   needs=(need, *study.needs))
    return Held(both, 0, chosen_by, (*kept.findings, *touched, *((other_now(number, different),) if different else ())))


def _with_need(study: ObjectStudy, index: int | None, rules: Rulebook, case: CaseBrief | None,
               keeping: Keeping) -> ObjectStudy:
    """The study with the rods judged by what of them is measured: a study is older than the measurements."""
    if index is None or case is None:
        return study
    need = keeping("need", PostNeed, thinnest_rod, study.holds.holds[index], study.survey, rules, case)
    return replace(study, needs=tuple(need if i == index else n for i, n in enumerate(study.needs)))


def rod_for(study: ObjectStudy, index: int, rules: Rulebook, case: CaseBrief | None) -> Rod:
    """Return the thinnest stocked rod that is enough for a hold; the thickest where none is, its checks then say by
    how much."""
    rods = stocked_rods(rules, case)
    thinnest = study.needs[index].thinnest or rods[-1]
    enough = [rod for rod in rods if rod.diameter_mm >= thinnest.diameter_mm - 1e-9]
    return min(enough, key=lambda rod: rod.diameter_mm, default=rods[-1])


def plan_held(held_: Held, rod: Rod | None, rules: Rulebook, case: CaseBrief | None = None,
              panel: PanelBrief | None = None, retention: Retention | None = None,
              keeping: Keeping = anew) -> PostPlan | None:
    """Return the post and hole of the hold that counts; None where there is no hold.

    rod        that the case settled for it; None for a loose scan: the thinnest that serves
    retention  what was chosen to hold it; None: as the coupons were tried
    """
    study, index = held_.study, held_.index
    if index is None:
        return None
    rules = of_object(rules, study.brief)
    hold, rod = study.holds.holds[index], rod or rod_for(study, index, rules, case)
    plan = keeping("plan", PostPlan, plan_post, hold, study.survey, rod, rules, case, panel, study.brief.material,
                   retention)
    plan = with_remedy(plan, hold, study.survey, rod, rules, case) if study.needs[index].thinnest is None else plan
    covered_mm = laps_covered_mm(hold, rod.diameter_mm)
    return plan if covered_mm == 0.0 else replace(plan, findings=(*plan.findings, _hub_finding(
        study.brief.number, covered_mm, rod)))


def _hub_finding(number: str, covered_mm: float, rod: Rod) -> Finding:
    """Say that a hub was drawn for a thinner post than the case settled."""
    return Finding("hub-post", f"object {number}", Verdict.LOOK,
                   f"object {number}: the hub is drawn for a post {2 * covered_mm:.1f} mm thinner than the "
                   f"{rod.label} rod, which would lie over the ends of its laps",
                   f"Make the hub {2 * covered_mm:.1f} mm larger and begin every lap {covered_mm:.1f} mm further out",
                   covered_mm, 0.0, "mm")


def finish_object(study: ObjectStudy, choice: Choice | None, rules: Rulebook, case: CaseBrief | None = None,
                  panel: PanelBrief | None = None, *, rod: Rod | None = None, session: int = 0,
                  revision: int = 0, retention: Retention | None = None) -> MountSpec:
    """Return one object's specification: its hold, post and hole, with everything judged about them.

    rod        that the case settled for it; None for a loose scan
    retention  what was chosen to hold its post; None: as its checklist line says, else as the coupons were tried
    """
    one = held(study, choice, rules, case)
    if retention is None and study.brief.retention:
        retention = parse_retention(study.brief.retention)
    plan = plan_held(one, rod, rules, case, panel, retention)
    return roll_up(one.study, one.index, one.chosen_by, plan, rules, session=session, revision=revision,
                   told=one.findings)


def _undecided(study: ObjectStudy, index: int | None, choice: Choice | None) -> tuple[Finding, ...]:
    """Say that a chosen hold is no longer found, where the holds themselves are not the reason."""
    if index is not None or choice is None or not study.holds.holds:
        return ()
    subject = f"object {study.brief.number}"
    return (Finding("choice-lost", subject, Verdict.STOP,
                    f"{subject}: the chosen hold ({choice.attitude}, tilt {choice.tilt_deg:g}, turn "
                    f"{choice.turn_deg:g}, roll {choice.roll_deg:g}) is no longer found", "Choose a hold again"),)
