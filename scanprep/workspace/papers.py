"""Write a case's papers into DIR/papers: only what changed, each file whole, old files of the set taken away.

What each file was made from is kept beside the case as a key, so that an unchanged case writes nothing. The heavy
papers are drawn object by object on an executor.
"""

from __future__ import annotations

import concurrent.futures
import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from scanprep.errors import InputError, ScanprepError
from scanprep.files.atomic_write import write_atomically
from scanprep.files.cache import Cache, key_of
from scanprep.papers.drawing.measures import Measures
from scanprep.papers.drawing.page import Issue
from scanprep.papers.drawing.sheet import PAPERS, paper_mm
from scanprep.papers.object_papers import object_files, object_papers
from scanprep.papers.paper_case import PaperCase, clock_deg, place_words
from scanprep.papers.paper_set import OBJECT_KINDS, Paper, case_papers
from scanprep.papers.templates.template import Correction
from scanprep.rules import override_note
from scanprep.spec import MountSpec, ObjectStudy
from scanprep.workspace.batch import CaseResult, Progress
from scanprep.workspace.folder import CaseFolder
from scanprep.workspace.tasks import study_key

_SEEN = "papers-set"


@dataclass(frozen=True, slots=True)
class PapersDone:
    """What a run wrote, relative to the papers' folder."""

    folder: Path
    written: tuple[str, ...]
    kept: int  # files that were right already
    removed: tuple[str, ...]  # of an earlier set, no longer part of it


def write_papers(folder: CaseFolder, result: CaseResult, executor: concurrent.futures.Executor, kinds: Sequence[str],
                 issue: Issue, tell: Progress, correction: Correction | None = None) -> PapersDone:
    """Write the papers of the kinds asked for.

    result  of a run over the case, for its specifications and findings
    issue   paper size, units and title; session and revision are set paper by paper
    """
    case = PaperCase(folder.case, folder.rules, folder.state, result.specs, result.placed, result.findings,
                     replace(issue, session=folder.state.session))
    root = folder.root / "papers"
    seen = _seen(folder.cache)
    wanted: dict[str, str] = {}
    written: list[str] = []
    drawing = []  # the heavy ones first, so that other cores draw while this one lays out the lists
    for number, spec in result.specs.items():
        call, stamps = _object_call(folder, case, number, spec, kinds, root, seen)
        wanted |= stamps
        drawing += [executor.submit(object_papers_task, *call)] if call else []
    papers = case_papers(case, kinds, correction)
    for at, paper in enumerate(papers, start=1):
        wanted[paper.file] = key_of(*paper.key)
        if _write_one(root, paper, wanted[paper.file], seen):
            written.append(paper.file)
            tell(at, len(papers), paper.file)
    for done, future in enumerate(concurrent.futures.as_completed(drawing), start=1):
        written += future.result()
        tell(done, len(drawing), ", ".join(future.result()) or "nothing to draw")
    removed = _take_away(root, seen, wanted, kinds)
    _keep_seen(folder.cache, {**{f: k for f, k in seen.items() if f not in removed}, **wanted})
    return PapersDone(root, tuple(written), len(wanted) - len(written), removed)


def _write_one(root: Path, paper: Paper, key: str, seen: Mapping[str, str]) -> bool:
    if seen.get(paper.file) == key and (root / paper.file).exists():
        return False
    write_atomically(root / paper.file, paper.make())
    return True


ObjectCall = tuple[str, str, MountSpec, tuple[str, ...], Issue, str, float, str]


def _object_call(folder: CaseFolder, case: PaperCase, number: str, spec: MountSpec, kinds: Sequence[str], root: Path,
                 seen: Mapping[str, str]) -> tuple[ObjectCall | None, dict[str, str]]:
    """The call that draws an object's stale papers, or None; and the stamps of all its papers."""
    item = next((p for p in case.placed if p.number == number), None)
    brief = folder.state.objects[number]
    study = study_key(folder.scan_path(brief), folder.cache, brief, folder.rules, folder.case)
    issue = replace(case.issue, revision=case.revision(number))
    place = place_words(item, case) if item else "not placed"
    clock = clock_deg(item, folder.state) if item else 0.0
    key = key_of(study, *_spec_facts(spec), issue, place, clock)
    drawn = {kind: file for kind, file in object_files(number, kinds).items()
             if kind == "mounts" or (spec.hold is not None if kind != "holds" else bool(spec.holds.holds))}
    stale = tuple(kind for kind, file in drawn.items() if seen.get(file) != key or not (root / file).exists())
    call = (str(folder.cache_dir), study, spec, stale, issue, place, clock, str(root)) if stale else None
    return call, dict.fromkeys(drawn.values(), key)


def _spec_facts(spec: MountSpec) -> tuple[object, ...]:
    """What a specification says beyond the study whose key stands beside it; holds only by what tells them apart,
    since writing out all their wires costs most of the time of a run that changes nothing."""
    holds = [(h.attitude.name, h.attitude.tilt_deg, h.attitude.turn_deg, h.attitude.roll_deg, h.attach_mm, h.score,
              h.margin_g, len(h.tips)) for h in spec.holds.holds]
    return (spec.brief, spec.title, spec.chosen, spec.chosen_by, spec.plan, spec.checks, spec.findings, spec.session,
            spec.revision, spec.cautions, holds)


def object_papers_task(cache_dir: str, study: str, spec: MountSpec, kinds: tuple[str, ...], issue: Issue, place: str,
                       clock: float, root: str) -> tuple[str, ...]:
    """Draw and write one object's papers; return their files. Runs in a worker process."""
    kept = Cache(Path(cache_dir)).load("study", study, ObjectStudy)
    if kept is None:
        raise ScanprepError(f"the kept study of object {spec.number} has gone; run the command again")
    made = object_papers(spec, kept.working, kinds, issue, place, clock)
    for file, content in made.items():
        write_atomically(Path(root) / file, content)
    return tuple(made)


def _take_away(root: Path, seen: Mapping[str, str], wanted: Mapping[str, str], kinds: Sequence[str]) -> tuple[str, ...]:
    """Remove files that an earlier run wrote for these kinds and that are no longer part of the set."""
    gone = tuple(file for file in seen if file not in wanted and kind_of(file) in kinds)
    for file in gone:
        (root / file).unlink(missing_ok=True)
    return gone


_KIND_OF_LIST = {"drill-list": "drills", "coupon-sheet": "coupon", "rod-cut-list": "rods", "schedule": "schedule",
                 "lists": "schedule", "install-order": "install", "labels": "labels"}


def kind_of(file: str) -> str:
    """Return the kind of paper that a file of the set is."""
    first = file.split("/")[0]
    return first if first in (*OBJECT_KINDS, "templates", "elevations") else _KIND_OF_LIST[Path(file).stem]


def _seen(cache: Cache) -> dict[str, str]:
    kept = cache.load_bytes(_SEEN, "files.json")
    try:
        read = json.loads(kept) if kept else {}
    except ValueError:
        return {}  # a spoilt note of what was written: everything is written again
    return {str(k): str(v) for k, v in read.items()} if isinstance(read, dict) else {}


def _keep_seen(cache: Cache, stamps: Mapping[str, str]) -> None:
    cache.keep_bytes(_SEEN, "files.json", json.dumps(dict(sorted(stamps.items())), indent=0).encode())


def paper_issue(folder: CaseFolder, paper: str, units: str | None) -> Issue:
    """Return what title blocks say of a case. Raises InputError for a paper or unit that there is not."""
    try:
        paper_mm(paper)
        measures = Measures(units or folder.case.units)
    except ValueError as problem:
        raise InputError(problem=str(problem), remedy="Papers come in A4, A3, Letter, Tabloid; lengths in mm or in"
                         ) from problem
    known = next(name for name in PAPERS if name.lower() == paper.lower())
    return Issue(folder.case.title, measures=measures, paper=known, rules_changed=override_note(folder.rules),
                 third_angle=True)


def print_correction(x_measured_mm: float | None, y_measured_mm: float | None) -> Correction | None:
    """Return the correction for a printer whose 500 mm bars measured this; None where nothing was measured.

    Raises InputError where a print is too far off to be corrected.
    """
    if x_measured_mm is None and y_measured_mm is None:
        return None
    try:
        return Correction.from_bars(500.0, x_measured_mm or 500.0, 500.0, y_measured_mm or 500.0)
    except ValueError as problem:
        raise InputError(problem=str(problem), remedy="Switch off fitting to the page and print again") from problem
