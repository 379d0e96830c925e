"""The case while people sit at it: how it stands, what a move would change, and decisions put on record.

One desk a server. It is worked by one thread at a time (`server` sees to that); moves that are only tried run on
copies, so nothing that is not on record is ever shown to another page as if it were. A decision is answered only after
the record has it on disk. It is refused, with what changed, when the record has something newer about one of its
objects than the page had seen; decisions about different objects never hinder each other, not even from another
program.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from scanprep.case.arrange.nudge import Nudge, nudge
from scanprep.case.arrange.spacing import rhythm
from scanprep.case.check.checks import CaseChecks
from scanprep.case.check.panels import PanelReport, panel_findings
from scanprep.case.lists.schedule_rows import every_finding
from scanprep.case.placed import FacePosition
from scanprep.case.record.entry import Entry, NewEntry
from scanprep.case.record.history import LogLine, history
from scanprep.case.record.mount_status import life_findings
from scanprep.case.record.words import roles_finding
from scanprep.case.release import hole_releases
from scanprep.causes import FindingGroup, grouped
from scanprep.errors import RecordError
from scanprep.files.cache import key_of
from scanprep.files.ledger import ChangedUnderneathError, Ledger
from scanprep.findings import Finding
from scanprep.held import held
from scanprep.hold.records import Hold
from scanprep.pipeline import AskedAngles
from scanprep.review import saying
from scanprep.review.compare import Comparison, before_session, with_try
from scanprep.review.messages import Angles, Decision, MessageError, MoveTo
from scanprep.review.restudy import Restudies, StudyJob, holds_beside
from scanprep.review.scene import CaseScene, Shape, case_scene, shape_of
from scanprep.review.sheet_reports import SheetJob, SheetReports
from scanprep.spec import MountSpec, ObjectStudy
from scanprep.workspace.batch import Computed, Progress, compute_case, kept_place
from scanprep.workspace.executor import make_executor
from scanprep.workspace.finishing import finish_one, plan_case_rods
from scanprep.workspace.folder import RECORD, CaseFolder, open_case
from scanprep.workspace.tasks import StudyDone
from scanprep.workspace.wall import Proposal, keep_try, kept_tries, propose

#: tolerance: How often a decision is said again after another program wrote about other objects meanwhile.
_TRIES = 20
#: Entries after which studies, rods and inputs are as they were: only places, words and sessions changed.
_LIGHT = frozenset({"placed", "taken-off", "locked", "agreed", "refused", "word-withdrawn", "asked", "condition",
                    "opened", "snug-check", "session-opened", "session-closed", "signed-off", "sign-off-lifted",
                    "note"})
#: Entries about one object that change its holds; about the case as a whole they change every object's.
_OF_LINE = frozenset({"line-said", "measured"})
_OF_ONE = _OF_LINE | {"hold-chosen"}
_BEHIND = "its holds are being looked for again, for what was said of it"
#: layout: Lines of the session's logbook that the page shows.
_LINES = 40


class StaleError(RecordError):
    """The record has something newer about an object than the page had seen."""

    def __init__(self, changed: Sequence[LogLine]) -> None:
        self.changed = tuple(changed)
        told = "; ".join(line.spoken() for line in changed)
        super().__init__(f"not taken: it was decided on an older state. Since then {told}. Look again, then decide")


@dataclass(frozen=True, slots=True)
class Taken:
    """What was put on record."""

    seq: int  # of the record's last entry
    entries: tuple[int, ...]  # those of this decision
    sentences: tuple[str, ...]


@dataclass(frozen=True, slots=True, eq=False)
class Trial:
    """Moves tried on a copy of the case; `of` is the case that they were tried on."""

    of: CaseChecks
    moves: tuple[MoveTo, ...]
    checks: CaseChecks


class Desk:
    """A case and everything computed about it, kept in step with its record."""

    def __init__(self, folder: CaseFolder, computed: Computed) -> None:
        self.folder = folder
        self._seen: dict[str, tuple[Shape, MountSpec, ObjectStudy]] = {}  # every shape since the desk was opened
        self._sheets = SheetReports()
        self.restudies = Restudies()
        self._take(computed)

    def _take(self, done: Computed) -> None:
        self._computed = done
        self.specs: dict[str, MountSpec] = dict(done.specs)
        self.studies: dict[str, ObjectStudy] = dict(done.studies)
        self._helds, self._rods = dict(done.helds), done.rods
        self._sheets.forget()
        self.restudies.begin(self.folder, self.specs)
        self.checks = CaseChecks(done.placed, self.folder.case, self.folder.rules, self.folder.state.holes)
        self._retell()

    def _retell(self) -> None:
        """Gather all findings and the scene anew."""
        folder, placed = self.folder, tuple(self.checks.placed.values())
        sheets = self._sheets.known(folder.case)
        between = (*self.checks.findings(), *panel_findings(placed, folder.case, folder.rules, sheets),
                   *life_findings(folder.state, folder.rules.case, folder.rules.fit),
                   *roles_finding(folder.case, folder.state))
        behind = self.restudies.behind()
        self.releases = tuple(
            replace(one, released=False, reasons=(self.restudies.trouble(one.object) or _BEHIND, *one.reasons))
            if one.object in behind else one
            for one in hole_releases(folder.case, folder.state, self.specs, placed, between,
                                     folder.rules.fit))
        self.findings = every_finding(between, tuple(self.specs.values()), placed, folder.case, folder.rules,
                                      sheets)
        self._keys = {number: self._key(number) for number in self.specs}
        spacing = rhythm(placed, folder.case, folder.rules, self.checks.outlines)
        self.scene: CaseScene = case_scene(folder.case, folder.rules, folder.state, placed, self.specs, self._keys,
                                           self._grouped(self.findings), self._computed.failures, spacing,
                                           self._session_lines(), self.releases,
                                           tuple(job.panel for job in self.sheets_waiting()), behind,
                                           kept_tries(folder))
        for number, key in self._keys.items():
            if key not in self._seen:
                shape = self.folder.cache.load("shape", key, Shape)
                if shape is None:
                    shape = shape_of(self.checks.placed[number], self.specs[number], key)
                    self.folder.cache.keep("shape", key, shape)
                self._seen[key] = (shape, self.specs[number], self.studies[number])

    def sheets_waiting(self) -> tuple[SheetJob, ...]:
        """Return the panels that have to be worked out again; whoever does so hands the report to `take_sheet`."""
        return self._sheets.waiting(self.folder.case, tuple(self.checks.placed.values()))

    def take_sheet(self, job: SheetJob, report: PanelReport) -> None:
        """Show a panel's report."""
        self._sheets.take(job, report)
        self._retell()

    def catch_up(self) -> None:
        """Work out at once whatever panel waits for it; holds that wait stay behind, and say so."""
        for job in self.sheets_waiting():
            self.take_sheet(job, job.report(self.folder.case, self.folder.rules))

    def _key(self, number: str) -> str:
        """Return what an object's shape and pictures are kept under: its scan, hold and post."""
        spec = self.specs[number]
        hold = spec.hold
        plan = None if spec.plan is None else (spec.plan.post.diameter_mm, spec.plan.post.attach_point_mm,
                                               spec.plan.post.free_length_mm)
        return key_of(self.restudies.key(number),
                      spec.chosen if hold is None else (hold.attitude, hold.attach_mm, len(hold.tips), hold.score),
                      plan, self.checks.placed[number].attach_xy_mm)

    def _session_lines(self) -> tuple[str, ...]:
        """Return what was put on record in the last session, latest first."""
        entries, session = self.folder.entries, self.folder.state.session
        recent = [e for e in entries[-4 * _LINES:] if e.session == session and session][-_LINES:]
        told = {(line.seq): line for number in dict.fromkeys(e.object for e in recent)
                for line in history(entries, number, self.folder.case.units)}
        return tuple(told[e.seq].spoken() for e in reversed(recent))

    def shapes(self) -> dict[str, Shape]:
        """Return the shape of every object by its key."""
        return {key: self._seen[key][0] for key in self._keys.values()}

    def key_of_shape(self, number: str) -> str:
        """Return the key of an object's shape. Raises MessageError where there is no such object at the table."""
        if number not in self._keys:
            raise MessageError(f"object {number!r} is not at this table")
        return self._keys[number]

    # Trying

    def trial(self, moves: Sequence[MoveTo], before: Trial | None = None) -> Trial:
        """Return the case with some objects elsewhere. `before` is the same page's last trial: only what differs is
        looked at again. Raises MessageError on an object or panel that there is not."""
        stands = {move.object: self.stand_of(move) for move in moves}
        if before is not None and before.of is self.checks:
            checks = before.checks
            left = {m.object: self.checks.placed[m.object].stand for m in before.moves if m.object not in stands}
        else:
            checks, left = self.checks.copy(), {}
        for number, stand in {**left, **stands}.items():
            if checks.placed[number].stand != stand:
                checks.update(self.checks.placed[number].moved_to(stand))
        return Trial(self.checks, tuple(moves), checks)

    def stand_of(self, move: MoveTo) -> FacePosition | None:
        """Return a move's place as the case means it. Raises MessageError."""
        if move.object not in self.checks.placed:
            raise MessageError(f"object {move.object!r} is not at this table")
        if move.panel is None:
            return None
        if move.panel not in self.checks.panels:
            raise MessageError(f"{move.panel!r} is no panel of this case")
        return FacePosition(move.panel, move.face or "A", float(move.from_left_mm or 0.0), float(move.y_mm or 0.0))

    def trial_findings(self, trial: Trial) -> tuple[FindingGroup, ...]:
        """Return what the moved objects have a part in, by cause, worst first."""
        found = [f for move in trial.moves for f in trial.checks.findings_of(move.object)]
        return self._grouped(tuple(dict.fromkeys(found)))

    def _grouped(self, findings: Sequence[Finding]) -> tuple[FindingGroup, ...]:
        briefs = self.folder.state.objects
        return grouped(findings, briefs, {Path(brief.scan).stem: number for number, brief in briefs.items()})

    def nudged(self, trial: Trial) -> Nudge:
        """Return the least moves that clear what moves can clear, from where things have been dragged to."""
        return nudge(trial.checks)

    def proposals(self) -> tuple[Proposal, ...]:
        """Return layouts for the objects that have no place yet."""
        return propose(self.checks)

    def compared(self, session: int | None = None, kept: str = "") -> Comparison:
        """Return the case next to how it stood before a session, or to a kept try. Raises MessageError, InputError."""
        if session is not None:
            return before_session(self.folder, self.checks, session)
        return with_try(self.folder, self.checks, kept)

    def keep_try(self, name: str, moves: Sequence[MoveTo]) -> None:
        """Keep moves beside the record, to be looked at again. Raises MessageError, InputError."""
        keep_try(self.folder, name, {move.object: self.stand_of(move) for move in moves})
        self._retell()

    # Deciding

    def decide(self, said: Decision) -> Taken:
        """Put a decision on record and return it; the case is as it was where it is refused.

        Raises StaleError, RecordError, MessageError.
        """
        for _ in range(_TRIES):
            self._refuse_stale(said)
            entries = saying.entries_of(self, said)
            if not entries:
                return Taken(self.folder.state.seq, (), ("that is on record already: nothing new",))
            before = self.folder
            try:
                after = before.say(entries, saying.spoken_name(said.by, self.folder.case))
            except ChangedUnderneathError:
                self.refresh()
                continue
            # what others said meanwhile about other objects is among them
            new = [entry for entry in after.entries if entry.seq > before.state.seq]
            self._follow(after, new)
            return self._taken(after, [entry for entry in new if _said_by(entry, entries)])
        raise RecordError("another program is writing to this record all the time. Try again when it is done")

    def _taken(self, after: CaseFolder, new: Sequence[Entry]) -> Taken:
        lines = {line.seq: line for number in dict.fromkeys(e.object for e in new)
                 for line in history(after.entries, number, after.case.units)}
        return Taken(after.state.seq, tuple(e.seq for e in new), tuple(lines[e.seq].spoken() for e in new))

    def _refuse_stale(self, said: Decision) -> None:
        changed: list[LogLine] = []
        for number in saying.objects_of(said, self.folder.entries):
            seen = said.base.get(number)
            latest = self.folder.state.last_of.get(number, 0)
            if seen is None:
                raise MessageError(f"the message does not say which state of {number or 'the case'} it rests on")
            if seen < latest:
                changed += [line for line in history(self.folder.entries, number or None, self.folder.case.units)
                            if line.seq > seen]
        if changed:
            raise StaleError(changed)

    def refresh(self) -> bool:
        """Take in what other programs put on record; return whether there was something."""
        with Ledger(self.folder.root / RECORD) as ledger:
            fresh = ledger.entries(after=self.folder.state.seq)
        if not fresh:
            return False
        self._follow(open_case(self.folder.root), fresh)
        return True

    def _follow(self, after: CaseFolder, new: Sequence[Entry]) -> None:
        """Bring everything computed in line with the record, doing again only what the new entries touch."""
        before, self.folder = self.folder, after
        by_seq = {entry.seq: entry for entry in after.entries}
        meant = [by_seq[entry.payload["seq"]] if entry.kind == "undone" else entry for entry in new]
        if any(entry.kind not in _LIGHT | _OF_ONE or (entry.kind in _OF_ONE and entry.object not in self.specs)
               for entry in meant):
            with make_executor(1) as executor:
                self._take(compute_case(after, executor, lambda done, total, sentence: None))
            return
        named = tuple(dict.fromkeys(str(entry.object) for entry in meant if entry.object in self.specs))
        for number in dict.fromkeys(str(entry.object) for entry in meant if entry.kind in _OF_LINE):
            self.studies[number] = replace(self.studies[number], brief=after.state.objects[number])
            self.restudies.said(after, number)
        self._place_again(named, hold_too=(before.state.objects, before.state.choices) != (
            after.state.objects, after.state.choices))
        if before.state.holes != after.state.holes:
            self.checks = self.checks.with_recorded(after.state.holes)
        self._retell()

    def ask_angles(self, asked: Angles) -> bool:
        """Let a search at somebody's own angles wait; False where it waits already. Raises MessageError."""
        self.key_of_shape(asked.object)
        angles = AskedAngles(asked.tilt_deg, asked.turn_deg, asked.roll_deg)
        return self.restudies.ask(StudyJob(asked.object, self.folder.state.objects[asked.object], angles))

    def stop_asking(self, number: str) -> int:
        """Forget the searches at people's own angles that wait for an object; return how many did."""
        waiting = [job for job in self.studies_waiting() if job.number == number and job.angles is not None]
        for job in waiting:
            self.restudies.drop(job)
        return len(waiting)

    def studies_waiting(self) -> tuple[StudyJob, ...]:
        """Return the searches that wait; whoever does one hands what came of it to `take_study`."""
        return self.restudies.waiting(self.folder)

    def take_study(self, job: StudyJob, done: StudyDone) -> str:
        """Take what came of a search and return it as a sentence."""
        study = self.restudies.take(job, done, self.folder)
        if study is None:
            if job.angles is None:
                self._retell()  # why it cannot be
            return f"object {job.number}: {self._outcome(job)}"
        self.studies[job.number] = study
        self._place_again((job.number,), hold_too=True)
        self._retell()
        count = len(self.specs[job.number].holds.holds)
        return f"object {job.number}: looked for again, {count} hold{'s' * (count != 1)} found"

    def _outcome(self, job: StudyJob) -> str:
        if job.angles is None:
            return self.restudies.trouble(job.number) or "something else was said meanwhile; it is looked for again"
        found = next((one for one in self.restudies.found(job.number) if one.angles == job.angles), None)
        if found is None:
            return "the search was stopped, or the object changed meanwhile"
        if found.hold is not None:
            return f"{job.words} was found: look at it among its holds"
        return f"no hold at these angles: {found.trouble if found.refusal is None else found.refusal.reason}"

    def holds_of(self, number: str) -> tuple[Hold, ...]:
        """Return an object's holds: those of its study, then those found at angles of people's own."""
        holds = self.specs[number].holds.holds
        return (*holds, *holds_beside(self.restudies.found(number), holds))

    def _place_again(self, numbers: Sequence[str], *, hold_too: bool) -> None:
        """Finish and place objects anew; `hold_too`: with their hold read anew, and with whatever gets another rod."""
        folder, rods, touched = self.folder, self._rods.rods, list(numbers)
        if hold_too:
            for number in numbers:
                self._helds[number] = held(self.studies[number], folder.state.choices.get(number), folder.rules,
                                           folder.case, folder.cache.computed)
            self._rods = plan_case_rods(folder, self._helds)
            touched += [number for number in self.specs if rods.get(number) != self._rods.rods.get(number)]
        for number in dict.fromkeys(touched):
            study, spec = self.studies[number], finish_one(folder, self._helds[number], self._rods)
            self.specs[number] = spec
            self.checks = self.checks.copy()  # trials under way keep the case that they were tried on
            self.checks.update(kept_place(folder, spec, study))

    def seen(self, key: str) -> tuple[Shape, MountSpec, ObjectStudy] | None:
        """Return what the picture of a shape is made from, also of one that was left since a page asked for it; None
        where no object ever had that shape."""
        return self._seen.get(key)

    def held(self, key: str, index: int) -> tuple[Hold, MountSpec, ObjectStudy] | None:
        """Return what the picture of a hold is made from; `key` is its object's shape."""
        found = self.seen(key)
        if found is None:
            return None
        holds = found[1].holds.holds
        holds = (*holds, *holds_beside(self.restudies.found(found[1].number), holds))
        return (holds[index], found[1], found[2]) if 0 <= index < len(holds) else None

    def book(self, number: str | None) -> tuple[LogLine, ...]:
        """Return an object's logbook, or the case's own lines."""
        return history(self.folder.entries, number, self.folder.case.units)

    def without_session(self) -> CaseScene:
        """Return the scene without the session's lines, for a file that is sent to people who were not there."""
        return replace(self.scene, session=replace(self.scene.session, decisions=()))


def _said_by(entry: Entry, said: Sequence[NewEntry]) -> bool:
    """Whether an entry of the record is one of those that a decision brought."""
    return any((entry.kind, entry.object, entry.payload) == (one.kind, one.object, one.payload) for one in said)


def open_desk(folder: CaseFolder, workers: int | None, progress: Progress) -> Desk:
    """Return a desk for a case folder, with every object studied that was not yet."""
    with make_executor(workers, max(len(folder.state.objects), 1)) as executor:
        return Desk(folder, compute_case(folder, executor, progress))
