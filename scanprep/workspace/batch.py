"""All objects of a case: study every one, choose the few post diameters, finish every one, then the whole case.

The heavy passes run on an executor; what has not changed since an earlier run is not done again. Used by the `batch`,
`check`, `holds` and `demo` commands.
"""

from __future__ import annotations

import concurrent.futures
import json
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path

from scanprep.brief import ObjectBrief
from scanprep.case.check.clashes import closed_body
from scanprep.case.check.panels import panel_reports
from scanprep.case.lists.schedule_rows import check_case, every_finding, findings_csv, schedule_csv, schedule_rows
from scanprep.case.lists.settled_rods import RodPlan
from scanprep.case.placed import PlacedObject, body_solid, outlines_of, place_object
from scanprep.case.release import HoleRelease, hole_releases
from scanprep.errors import InputError, ScanprepError
from scanprep.file_names import safe_name
from scanprep.files.atomic_write import write_atomically
from scanprep.files.cache import key_of
from scanprep.files.new_case import CASE_FILE
from scanprep.files.records import spec_document
from scanprep.files.scan_urls import look_again
from scanprep.findings import Finding, Verdict
from scanprep.held import Held, held
from scanprep.papers.drawing.measures import Measures
from scanprep.papers.drawing.page import Issue
from scanprep.pipeline import AskedAngles, finish_object
from scanprep.rules import override_note
from scanprep.spec import MountSpec, ObjectStudy
from scanprep.vectors import F64
from scanprep.workspace.executor import make_executor, run_all
from scanprep.workspace.finishing import chosen_retention, finish_one, made_for, plan_case_rods, rod_on_record
from scanprep.workspace.folder import CaseFolder
from scanprep.workspace.logbook import rotate_exports
from scanprep.workspace.sheets import holds_picture, object_files
from scanprep.workspace.tasks import StudyDone, holds_kept, papers_task, study_died, study_key, study_keys, study_task

Progress = Callable[[int, int, str], None]

MOST_CACHE_BYTES = 4 << 30  # tolerance: some thousand objects at 1 MB; what is dropped is only computed anew


class UnusableScanError(ScanprepError):
    """An object's scan cannot be used; the sentence, with file and remedy, is that of its study."""

    exit_code = 3


@dataclass(frozen=True, slots=True, eq=False)
class CaseResult:
    """What a run over the case gave."""

    specs: Mapping[str, MountSpec]
    placed: tuple[PlacedObject, ...]
    failures: Mapping[str, str]  # objects whose scan could not be used, and why
    diameters_mm: tuple[float, ...]
    findings: tuple[Finding, ...]  # of the case: between objects, about panels, from the record
    seconds: Mapping[str, float]  # studying time of each object that was not kept from before
    every: tuple[Finding, ...] = ()  # all that a person reads: of the case, of each object, what is to be measured
    releases: tuple[HoleRelease, ...] = ()  # which holes may be drilled, and what the others wait for
    rod_changes: tuple[str, ...] = ()  # what was settled about rods in this run, as sentences

    def open_first(self, folder: CaseFolder) -> tuple[Path, ...]:
        """Return what a person would open first: the lists, and the sheet of the first object that has a hold."""
        held = [n for n, spec in self.specs.items() if spec.chosen is not None]
        sheets = [folder.out / safe_name(n) / name for n in held[:1] for name in ("spec.pdf", "holds.png")]
        paths = (folder.out / "schedule.csv", folder.out / "findings.csv", *sheets)
        return tuple(path for path in paths if path.exists())


def study_all(folder: CaseFolder, executor: concurrent.futures.Executor, tell: Progress,
              numbers: Sequence[str] | None = None) -> tuple[dict[str, ObjectStudy], dict[str, str], dict[str, float]]:
    """Return the studies of a case's objects, the sentences of those that failed, and the seconds of the fresh ones."""
    briefs = [folder.state.objects[n] for n in folder.state.shown if numbers is None or n in numbers]
    studies: dict[str, ObjectStudy] = {}
    failures: dict[str, str] = {}
    seconds: dict[str, float] = {}
    finished = 0

    def take(number: str, key: str) -> bool:
        study = folder.cache.load("study", key, ObjectStudy) if key else None
        if study is not None:  # a title or note said since is no part of what was kept
            studies[number] = replace(study, brief=folder.state.objects[number])
        return study is not None

    waiting = []
    look_again()
    for brief in briefs:  # what is kept is read here: no process is started for it
        if take(brief.number, study_key(folder.scan_place(brief), folder.cache, brief, folder.rules, folder.case)):
            finished += 1
            tell(finished, len(briefs), "")  # nothing to say of what stands
        else:
            waiting.append(brief)
    calls = [(str(folder.cache_dir), str(folder.scan_place(w)), w, folder.rules, folder.case) for w in waiting]

    def died(index: int) -> StudyDone:
        return study_died(waiting[index].number)

    for _, done in run_all(executor, study_task, calls, died=died):
        finished += 1
        if not take(done.number, done.key):
            failures[done.number] = done.sentence
        if done.fresh:
            seconds[done.number] = done.seconds
        told = done.sentence or (f"{done.seconds:.1f} s" if done.fresh else "")
        tell(finished, len(briefs), f"study {done.number}: {told}" if told else "")
    return {w.number: studies[w.number] for w in briefs if w.number in studies}, failures, seconds


def study_one(folder: CaseFolder, brief: ObjectBrief, angles: tuple[AskedAngles, ...] = ()) -> ObjectStudy:
    """Return one object's study: kept from before, or made in a process of its own, since a scan may crash a library.

    Where its holds are kept and only its posts are to be sized, as when a rod was measured, no scan is read: that is
    done here, sooner than a process starts. Raises UnusableScanError where the scan cannot be used.
    """
    place = folder.scan_place(brief)
    keys = study_keys(place, folder.cache, brief, folder.rules, folder.case, angles)
    study = folder.cache.load("study", keys.study, ObjectStudy)
    if study is None:
        call = (str(folder.cache_dir), str(place), brief, folder.rules, folder.case, angles)
        with make_executor(0 if holds_kept(folder.cache, keys) else 1) as executor:
            [(_, done)] = run_all(executor, study_task, [call], died=lambda _: study_died(brief.number))
        study = folder.cache.load("study", done.key, ObjectStudy) if done.key else None
        if study is None:
            raise UnusableScanError(f"object {brief.number}: {done.sentence}")
    return replace(study, brief=brief)


@dataclass(frozen=True, slots=True, eq=False)
class Computed:
    """The case as computed, before its lists and papers are written."""

    studies: Mapping[str, ObjectStudy]
    specs: Mapping[str, MountSpec]
    placed: tuple[PlacedObject, ...]
    failures: Mapping[str, str]
    rods: RodPlan
    seconds: Mapping[str, float]
    helds: Mapping[str, Held]  # each object's study with the hold that counts

    @property
    def diameters_mm(self) -> tuple[float, ...]:
        """The case's post diameters."""
        return self.rods.diameters_mm


def compute_case(folder: CaseFolder, executor: concurrent.futures.Executor, tell: Progress) -> Computed:
    """Study every object, choose the few diameters, finish every object and put it where the record says.

    Raises InputError, before anything is studied, where the record places objects on a panel that case.toml lost.
    """
    panels_there(folder)
    studies, failures, seconds = study_all(folder, executor, tell)
    return finish_case(folder, studies, failures, seconds)


def panels_there(folder: CaseFolder) -> None:
    """Raise InputError where the record places objects on a panel that case.toml lost."""
    there = [panel.name for panel in folder.case.panels]
    lost: dict[str, list[str]] = {}
    for number, place in folder.state.placements.items():
        if place.panel not in there:
            lost.setdefault(place.panel, []).append(number)
    for name, numbers in lost.items():
        raise InputError(
            file=folder.root / CASE_FILE, field="panels", problem=f"has no panel {name!r}, on which the record places "
            f"{', '.join(numbers[:6])}{' and others' if len(numbers) > 6 else ''}",
            remedy=f"Give the panel its name back (there are: {', '.join(there) or 'none'}), or place them anew")


def finish_case(folder: CaseFolder, studies: Mapping[str, ObjectStudy], failures: Mapping[str, str],
                seconds: Mapping[str, float]) -> Computed:
    """Do what comes after the studies: quick, and all that a new placement changes."""
    helds = {number: held(study, folder.state.choices.get(number), folder.rules, folder.case, folder.cache.computed)
             for number, study in studies.items()}
    rods = plan_case_rods(folder, helds)
    specs = {number: finish_one(folder, one, rods) for number, one in helds.items()}
    placed = tuple(kept_place(folder, spec, studies[number]) for number, spec in specs.items())
    return Computed(studies, specs, placed, failures, rods, seconds, helds)


@dataclass(frozen=True, slots=True, eq=False)
class KeptOutline:
    """An object's body on the panel, as kept between runs: its shadow, and whether its mesh is closed."""

    rings_mm: tuple[F64, ...]
    closed: bool


def kept_place(folder: CaseFolder, spec: MountSpec, study: ObjectStudy) -> PlacedObject:
    """Return an object where the record says, with what its body is on the panel kept between runs."""
    rotation = spec.survey.to_object.rotation if spec.hold is None else spec.hold.attitude.rotation
    brief = folder.state.objects[spec.number]
    key = key_of(study_key(folder.scan_place(brief), folder.cache, brief, folder.rules, folder.case), rotation)
    kept = folder.cache.load("outline", key, KeptOutline)
    if kept is None:
        body = body_solid(study.working, rotation, spec.survey.centre_of_mass_mm)
        kept = KeptOutline(outlines_of(body), closed_body(body) is not None)
        folder.cache.keep("outline", key, kept)
    return place_object(spec, study.working, folder.state, kept.rings_mm, kept.closed)


def run_batch(folder: CaseFolder, executor: concurrent.futures.Executor, tell: Progress, *, papers: bool = True,
              today: date | None = None, person: str | None = None) -> CaseResult:
    """Run the whole case, settle the rods of posts that have none on record, and write the case's out/ folder.

    papers  False: only compute and check; nothing but the lists is written, nothing is said to the record
    today   None: nothing is said of yearly checks that are due
    """
    done = compute_case(folder, executor, tell)
    if papers:
        folder, done = settle_rods(folder, done, person)
    return write_case(folder, done, executor, tell, papers=papers, today=today)


def settle_rods(folder: CaseFolder, done: Computed, person: str | None) -> tuple[CaseFolder, Computed]:
    """Put on record which rods a case came out with, where that is not there yet; return the case as it then stands."""
    if not done.rods.entries:
        return folder, done
    after = folder.say(done.rods.entries, person)
    specs = {number: replace(spec, revision=after.state.revision(number)) for number, spec in done.specs.items()}
    return after, replace(done, specs=specs)


def write_case(folder: CaseFolder, done: Computed, executor: concurrent.futures.Executor, tell: Progress, *,
               papers: bool = True, today: date | None = None) -> CaseResult:
    """Check a computed case and write its papers and lists."""
    if papers:
        _write_papers(folder, executor, done.specs, tell)
        folder.cache.prune(MOST_CACHE_BYTES)
        rotate_exports(folder)
    reports = panel_reports(done.placed, folder.case, folder.rules)
    findings = (*(_unreadable(number, why) for number, why in done.failures.items()),
                *check_case(done.placed, folder.case, folder.state, folder.rules, today, reports))
    own = tuple(finding for spec in done.specs.values() for finding in spec.findings)
    every = every_finding(findings, tuple(done.specs.values()), done.placed, folder.case, folder.rules, reports)
    releases = hole_releases(folder.case, folder.state, done.specs, done.placed, findings,
                             folder.rules.fit)
    rows = schedule_rows(done.placed, folder.case, folder.state, (*findings, *own), releases)
    write_atomically(folder.out / "schedule.csv", schedule_csv(rows))
    write_atomically(folder.out / "findings.csv", findings_csv(every))
    return CaseResult(done.specs, done.placed, done.failures, done.diameters_mm, findings, done.seconds, every,
                      releases, done.rods.changes)


def _unreadable(number: str, why: str) -> Finding:
    return Finding("scan-unusable", f"object {number}", Verdict.STOP, f"object {number}: {why}",
                   "Repair the scan or its checklist line")


def _write_papers(folder: CaseFolder, executor: concurrent.futures.Executor, specs: Mapping[str, MountSpec],
                  tell: Progress) -> None:
    """Draw the papers of every object whose specification, working mesh or paper changed since they were last drawn,
    or of whose files one is gone."""
    calls, stamps = [], {}
    measures = Measures(folder.case.units)
    for number, spec in specs.items():
        issue = Issue(folder.case.title, measures=measures, rules_changed=override_note(folder.rules))
        brief = folder.state.objects[number]
        study = study_key(folder.scan_place(brief), folder.cache, brief, folder.rules, folder.case)
        stamp = key_of(study, json.dumps(spec_document(spec)), issue.case, folder.case.units)
        target = folder.out / safe_name(number)
        kept = folder.own_cache.load_bytes("papers", safe_name(number))
        if kept != stamp.encode() or not all((target / name).exists() for name in object_files(spec)):
            calls.append((str(folder.cache_dir), study, spec, str(target), issue))
            stamps[number] = stamp
    for finished, (_, number) in enumerate(run_all(executor, papers_task, calls), start=1):
        folder.own_cache.keep_bytes("papers", safe_name(number), stamps[number].encode())
        tell(finished, len(calls), f"papers {number}")


def show_holds(folder: CaseFolder, number: str, angles: tuple[AskedAngles, ...],
               picture: Path | None) -> tuple[MountSpec, Path | None]:
    """Study one object, at angles of one's own where given, and draw the contact sheet of its holds.

    Returns the specification and the picture's path; None where there is no hold to draw.
    """
    brief = folder.object(number)
    study = study_one(folder, brief, angles)
    choice = None if angles else folder.state.choices.get(number)
    spec = finish_object(study, choice, folder.rules, folder.case, session=folder.state.session,
                         rod=rod_on_record(folder, number), revision=folder.state.revision(number),
                         retention=chosen_retention(folder, number), made=made_for(folder, number))
    if not study.holds.holds:
        return spec, None
    path = picture or folder.out / safe_name(number) / ("holds-asked.png" if angles else "holds.png")
    write_atomically(path, holds_picture(spec, study.working))
    return spec, path
