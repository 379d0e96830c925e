"""The hold of an object that counts: the one on record as it was chosen, or the best where nobody chose.

Pure. Called by the pipeline and by whoever decides about a hold.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any, Protocol, TypeVar

from scanprep.brief import CaseBrief, ObjectBrief
from scanprep.case.record.chosen import hold_differences, other_now, read_kept, unreadable
from scanprep.case.record.state import Choice
from scanprep.findings import Finding, Verdict
from scanprep.hold.making.refit import fits, made_for, refitted
from scanprep.hold.places.attitudes import ASKED
from scanprep.hold.places.no_touch import touched_no_touch
from scanprep.hold.records import Hold, HoldSet, MadeFor
from scanprep.post import acceleration_of, thinnest_rod
from scanprep.post.records import PostNeed
from scanprep.rules import CaseRules, Rulebook
from scanprep.spec import ObjectStudy

T = TypeVar("T")


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


@dataclass(frozen=True, slots=True, eq=False)
class Held:
    """An object's study with the hold that counts: the one kept on record, or the best where nobody chose."""

    study: ObjectStudy  # its first hold is the kept one where that differs from what comes out now
    index: int | None  # of the hold that counts; None where there is none
    chosen_by: str  # "proposed" until a person chose
    findings: tuple[Finding, ...]  # about the choice

    @property
    def hold(self) -> Hold | None:
        """The hold that counts."""
        return None if self.index is None else self.study.holds.holds[self.index]

    def with_hold(self, hold: Hold, need: PostNeed) -> Held:
        """Return it with another hold, and what rod that needs, in the place of the one that counts."""
        holds = tuple(hold if i == self.index else one for i, one in enumerate(self.study.holds.holds))
        needs = tuple(need if i == self.index else one for i, one in enumerate(self.study.needs))
        study = replace(self.study, holds=replace(self.study.holds, holds=holds), needs=needs)
        return replace(self, study=study)


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


def held(study: ObjectStudy, choice: Choice | None, rules: Rulebook, case: CaseBrief | None,
         keeping: Keeping = anew) -> Held:
    """Return the hold that counts for an object.

    A chosen hold is taken from the record as it was chosen. Where the search finds the same one today, only what is
    judged of it is today's; where it finds another, that one stays next to it as a proposal, with the differences.
    A hub that was fabricated for its post when the hold was chosen makes no other hold of it.
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
    found = None if now is None else study.holds.holds[now]
    if found is not None and not fits(found, made_for(kept.hold)):
        found = made_anew(study, found, made_for(kept.hold), rules, case, keeping)
    different = () if by_hand else ("no hold in this attitude any more",) if found is None else hold_differences(
        kept.hold, found)
    touched = touched_no_touch(kept.hold, study.brief, study.survey, study.working)
    if now is not None and found is not None and not different:
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


def made_anew(study: ObjectStudy, hold: Hold, asked: MadeFor, rules: Rulebook, case: CaseBrief | None,
             keeping: Keeping = anew) -> Hold:
    """Return one of a study's holds on a hub made for a post, see `refitted`; kept under just what that reads.

    rules  the object's own, see `of_object`
    """
    own = Rulebook()
    of_mounts = replace(rules, scan=own.scan, panel=own.panel, loads=own.loads, fit=own.fit, case=own.case)
    said = replace(study.brief, title="", scan="", group="", order=None, panel=None, face=None, from_left_mm=None,
                   datum_x_mm=None, y_mm=None, note="", retention=None)
    return keeping("mount", Hold, refitted, hold, study.working, study.survey, said, of_mounts,
                   acceleration_of(rules, case), asked)


def _with_need(study: ObjectStudy, index: int | None, rules: Rulebook, case: CaseBrief | None,
               keeping: Keeping) -> ObjectStudy:
    """The study with the rods judged by what of them is measured: a study is older than the measurements."""
    if index is None or case is None:
        return study
    need = keeping("need", PostNeed, thinnest_rod, study.holds.holds[index], study.survey, rules, case)
    return replace(study, needs=tuple(need if i == index else n for i, n in enumerate(study.needs)))


def _undecided(study: ObjectStudy, index: int | None, choice: Choice | None) -> tuple[Finding, ...]:
    """Say that a chosen hold is no longer found, where the holds themselves are not the reason."""
    if index is not None or choice is None or not study.holds.holds:
        return ()
    subject = f"object {study.brief.number}"
    return (Finding("choice-lost", subject, Verdict.STOP,
                    f"{subject}: the chosen hold ({choice.attitude}, tilt {choice.tilt_deg:g}, turn "
                    f"{choice.turn_deg:g}, roll {choice.roll_deg:g}) is no longer found", "Choose a hold again"),)
