"""Bring a case's papers in DIR/papers up to date: only what changed is issued anew, each file whole, nothing mixed.

What was printed once is kept true: a run issues every paper of the register anew whose content has changed, whichever
kinds were asked for, and withdraws those that the case no longer has. The files of old issues go to `superseded`; a
change note says what to recall. The heavy papers are drawn object by object on an executor.
"""

from __future__ import annotations

import concurrent.futures
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from scanprep.case.release import HoleRelease
from scanprep.errors import InputError, ScanprepError
from scanprep.files.cache import Cache, key_of
from scanprep.papers.drawing.measures import Measures
from scanprep.papers.drawing.page import Issue
from scanprep.papers.drawing.pdf import pdf_bytes
from scanprep.papers.drawing.sheet import PAPERS, paper_mm
from scanprep.papers.lists.change_note import change_note, change_note_sheets
from scanprep.papers.object_papers import object_files, object_papers
from scanprep.papers.paper_case import (
    PaperCase,
    clock_deg,
    hole_facts,
    mount_facts,
    place_words,
    template_panel,
)
from scanprep.papers.paper_set import KINDS, OBJECT_KINDS, case_papers
from scanprep.papers.register import Drawn, Fact, Printing, Register, Registered, draw, entered
from scanprep.papers.templates.template import Correction
from scanprep.rules import override_note
from scanprep.spec import MountSpec, ObjectStudy
from scanprep.workspace.batch import CaseResult, Progress
from scanprep.workspace.folder import CaseFolder
from scanprep.workspace.paper_files import (
    alone,
    altered,
    keep_register,
    load_register,
    put_paper,
    record_end,
    record_mark,
    strays,
    supersede,
)
from scanprep.workspace.tasks import study_key


@dataclass(frozen=True, slots=True)
class PapersDone:
    """What a run wrote, relative to the papers' folder."""

    folder: Path
    written: tuple[str, ...]
    kept: int  # files that were right already
    removed: tuple[str, ...]  # withdrawn: of an earlier set, no longer part of it
    note: str  # the change note that goes out with it; empty where nothing changed
    strays: tuple[str, ...]  # files in the folder that the register does not know


@dataclass(frozen=True, slots=True)
class _Wanted:
    """One paper of the set as it should stand."""

    kind: str
    made_from: str
    facts: tuple[Fact, ...]


def write_papers(folder: CaseFolder, result: CaseResult, executor: concurrent.futures.Executor, kinds: Sequence[str],
                 printing: Printing, tell: Progress) -> PapersDone:
    """Issue the papers of the kinds asked for, and every other paper of the register that is no longer true.

    result    of a run over the case, for its specifications and findings
    printing  paper, units and stretch: `asked_printing`

    Raises InputError where another run writes to the folder, or where one has issued papers from later decisions than
    this one knows: its papers would take their place.
    """
    root = folder.root / "papers"
    with alone(root):
        before = load_register(root)
        if before.entry > folder.state.seq and record_end(folder) > folder.state.seq:
            raise InputError(file=root, problem=f"papers were issued from entry {before.entry} of the record while "
                             f"this run worked from entry {folder.state.seq}", remedy="Say it again")
        return _write(folder, root, before, result, executor, kinds, printing, tell)


def _write(folder: CaseFolder, root: Path, before: Register, result: CaseResult, executor: concurrent.futures.Executor,
           kinds: Sequence[str], printing: Printing, tell: Progress) -> PapersDone:
    case = PaperCase(folder.case, folder.rules, folder.state, result.specs, result.placed, result.findings,
                     _issue(folder, printing), result.releases)
    correction = None if (printing.x_ratio, printing.y_ratio) == (1.0, 1.0) else \
        Correction(printing.x_ratio, printing.y_ratio)
    wanted: dict[str, _Wanted] = {}
    drawing = []  # the heavy ones first, so that other cores draw while this one lays out the lists
    for number, spec in result.specs.items():
        call, own = _object_call(folder, case, number, spec, kinds, root, before)
        wanted |= own
        drawing += [executor.submit(object_papers_task, *call)] if call else []
    drawn: list[Drawn] = []
    papers = [paper for paper in case_papers(case, tuple(KINDS), correction)
              if paper.kind in kinds or paper.file in before.current]
    for at, paper in enumerate(papers, start=1):
        wanted[paper.file] = _Wanted(paper.kind, key_of(*paper.key), paper.facts)
        if _stale(root, before.papers.get(paper.file), wanted[paper.file].made_from):
            drawn.append(draw(paper.file, paper.make, before.papers.get(paper.file), record_mark(folder)))
            tell(at, len(papers), paper.file)
    for done, future in enumerate(concurrent.futures.as_completed(drawing), start=1):
        drawn += future.result()
        tell(done, len(drawing), ", ".join(paper.file for paper in future.result()))
    return _settle(folder, root, before, replace(before, printing=printing, entry=folder.state.seq), wanted,
                   sorted(drawn, key=lambda paper: paper.file), case.issue)


def _stale(root: Path, known: Registered | None, made_from: str) -> bool:
    """Whether a paper has to be drawn: never issued, made from something else, or its file lost or altered."""
    return known is None or bool(known.withdrawn_by) or known.made_from != made_from or altered(root, known)


def _settle(folder: CaseFolder, root: Path, before: Register, now: Register, wanted: dict[str, _Wanted],
            drawn: Sequence[Drawn], issue: Issue) -> PapersDone:
    """Write what was drawn, move old issues away, and enter it all: files first, the register last, so that what a
    killed run left undone is done by the next one."""
    note = before.note + 1
    entries = {paper.file: entered(paper, wanted[paper.file].kind, wanted[paper.file].made_from,
                                   wanted[paper.file].facts, note, before.papers.get(paper.file)) for paper in drawn}
    written = []
    for paper in drawn:
        old = before.current.get(paper.file)
        if old is not None and entries[paper.file].last != old.last:
            supersede(root, old)
        if put_paper(root, paper):
            written.append(paper.file)
    gone = tuple(file for file, paper in before.current.items() if file not in wanted and paper.kind in KINDS)
    for file in gone:
        supersede(root, before.papers[file])
        entries[file] = replace(before.papers[file], withdrawn_by=note)
    now = now.with_papers(entries)
    changed = gone or any(before.papers.get(file) is None or before.papers[file].last != paper.last
                          for file, paper in entries.items())
    told = ""
    if changed:
        made = {number for number in folder.state.objects if folder.state.life(number).come_to("made")}
        now = replace(now, note=note)
        sheets = change_note_sheets(change_note(before, now, made), issue)
        told = f"change-notes/note-{note:03d}.pdf"
        paper = draw(told, lambda control: pdf_bytes(sheets, title=f"Change note {note}", control=control), None,
                     record_mark(folder))
        put_paper(root, paper)
        now = now.with_papers({told: entered(paper, "changes", "", (), note, None)})
    keep_register(root, now)
    return PapersDone(root, tuple(written), len(wanted) - len(written), gone, told, strays(root, now))


ObjectCall = tuple[str, str, MountSpec, tuple[tuple[str, Registered | None], ...], Issue, str, float,
                   HoleRelease | None, str]


def _object_call(folder: CaseFolder, case: PaperCase, number: str, spec: MountSpec, kinds: Sequence[str], root: Path,
                 before: Register) -> tuple[ObjectCall | None, dict[str, _Wanted]]:
    """The call that draws an object's stale papers, or None; and all its papers as they should stand."""
    item = next((p for p in case.placed if p.number == number), None)
    brief = folder.state.objects[number]
    study = study_key(folder.scan_place(brief), folder.cache, brief, folder.rules, folder.case)
    place = place_words(item, case) if item else "not placed"
    clock = clock_deg(item, folder.state) if item else 0.0
    release = case.release(number) if item else None
    key = key_of(study, *_spec_facts(spec), case.issue, place, clock, release)
    facts = mount_facts(case, number)
    holes = tuple(fact for panel in case.case.panels for shown in (template_panel(panel, case),)
                  for fact in hole_facts([h for h in shown.holes if h.object_number == number], shown))
    says = {"mounts": (*holes, *facts), "gauges": facts, "outlines": holes, "holds": ()}
    wanted = {file: _Wanted(kind, key, says[kind]) for kind, file in object_files(number, OBJECT_KINDS).items()
              if (kind in kinds or file in before.current)
              and (kind == "mounts" or (spec.hold is not None if kind != "holds" else bool(spec.holds.holds)))}
    stale = tuple((paper.kind, before.papers.get(file)) for file, paper in wanted.items()
                  if _stale(root, before.papers.get(file), paper.made_from))
    call = (str(folder.cache_dir), study, spec, stale, case.issue, place, clock, release,
            record_mark(folder)) if stale else None
    return call, wanted


def _spec_facts(spec: MountSpec) -> tuple[object, ...]:
    """What a specification says beyond the study whose key stands beside it; holds only by what tells them apart,
    since writing out all their wires costs most of the time of a run that changes nothing."""
    holds = [(h.attitude.name, h.attitude.tilt_deg, h.attitude.turn_deg, h.attitude.roll_deg, h.attach_mm, h.score,
              h.margin_g, len(h.tips)) for h in spec.holds.holds]
    return (spec.brief, spec.title, spec.chosen, spec.chosen_by, spec.plan, spec.checks, spec.findings, spec.cautions,
            holds)


def object_papers_task(cache_dir: str, study: str, spec: MountSpec,
                       stale: tuple[tuple[str, Registered | None], ...], issue: Issue, place: str, clock: float,
                       release: HoleRelease | None, record: str) -> tuple[Drawn, ...]:
    """Draw one object's papers of some kinds, each with what the register says of it. Runs in a worker process."""
    kept = Cache(Path(cache_dir)).load("study", study, ObjectStudy)
    if kept is None:
        raise ScanprepError(f"the kept study of object {spec.number} has gone; run the command again")
    kinds = [kind for kind, _ in stale]
    files, known = object_files(spec.number, kinds), dict(stale)
    makers = object_papers(spec, kept.working, kinds, issue, place, clock, release)
    return tuple(draw(file, makers[file], known[kind], record) for kind, file in files.items() if file in makers)


def asked_printing(folder: CaseFolder, paper: str | None, units: str | None, x_bar_mm: float | None = None,
                   y_bar_mm: float | None = None) -> Printing:
    """Return on what a set is printed: what is asked for, else as it was printed last.

    x_bar_mm, y_bar_mm  what the 500 mm bars of a print measure; both 500: no printer is corrected any more

    Raises InputError for a paper or unit that there is not, or a print too far off to be corrected.
    """
    last = load_register(folder.root / "papers").printing
    try:
        if paper is not None:
            paper_mm(paper)
            last = replace(last, paper=next(name for name in PAPERS if name.lower() == paper.lower()))
        if units is not None:
            last = replace(last, units=Measures(units).units)
    except ValueError as problem:
        raise InputError(problem=str(problem), remedy="Papers come in A4, A3, Letter, Tabloid; lengths in mm or in"
                         ) from problem
    if x_bar_mm is None and y_bar_mm is None:
        return last
    try:
        stretch = Correction.from_bars(500.0, x_bar_mm or 500.0, 500.0, y_bar_mm or 500.0)
    except ValueError as problem:
        raise InputError(problem=str(problem), remedy="Switch off fitting to the page and print again") from problem
    return replace(last, x_ratio=stretch.x_ratio, y_ratio=stretch.y_ratio)


def _issue(folder: CaseFolder, printing: Printing) -> Issue:
    measures = Measures(printing.units or folder.case.units)
    return Issue(folder.case.title, measures=measures, paper=printing.paper, rules_changed=override_note(folder.rules),
                 third_angle=True)
