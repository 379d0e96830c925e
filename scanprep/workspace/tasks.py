"""The calls that run in worker processes: study one object, draw one object's papers.

Each reads its inputs and keeps its result in the cache itself, and hands back only a key and a sentence, so that no
large arrays travel between processes.
"""

from __future__ import annotations

import time
import traceback
from dataclasses import dataclass, replace
from pathlib import Path

from scanprep.brief import CaseBrief, ObjectBrief
from scanprep.errors import ScanprepError
from scanprep.files.atomic_write import write_atomically
from scanprep.files.cache import Cache, key_of
from scanprep.files.meshes import load_scan
from scanprep.papers.drawing.page import Issue
from scanprep.pipeline import AskedAngles, study_object
from scanprep.rules import Rulebook
from scanprep.spec import MountSpec, ObjectStudy
from scanprep.workspace.sheets import write_object_papers

#: Fields of a checklist line that cannot change a study.
_LATE = {"title": "", "group": "", "order": None, "panel": None, "face": None, "x_mm": None, "y_mm": None, "note": ""}


@dataclass(frozen=True, slots=True)
class StudyDone:
    """How the study of one object went."""

    number: str
    key: str  # of the kept Study; empty where there is none
    sentence: str  # what went wrong; empty where nothing did
    seconds: float
    fresh: bool  # False: it was kept from an earlier run


def _file_facts(path: Path) -> list[object]:
    """Size and time of the scan and of what may lie beside it (MTL, textures), for the key."""
    try:
        beside = sorted(p for p in path.parent.iterdir() if p.is_file() and (p == path or p.suffix != path.suffix))
        return [[p.name, p.stat().st_size, p.stat().st_mtime_ns] for p in beside]
    except OSError:
        return []


def study_key(path: Path, brief: ObjectBrief, rules: Rulebook, case: CaseBrief | None,
              angles: tuple[AskedAngles, ...] = ()) -> str:
    """Return the key under which a study is kept: of the file, what was said of the object, the shop's choices."""
    early = replace(brief, **_LATE)  # type: ignore[arg-type]  # the names and types are those of ObjectBrief
    facts = (rules.scan, rules.hold, rules.post)
    rods = (case.acceleration_g, case.measured_rods, case.coupons, case.mock_up) if case else ()
    return key_of(str(path.name), _file_facts(path), early, facts, rods, angles)


def study_task(cache_dir: str, path: str, brief: ObjectBrief, rules: Rulebook, case: CaseBrief | None,
               angles: tuple[AskedAngles, ...] = (), trouble_dir: str | None = None) -> StudyDone:
    """Study one object, or tell in a sentence why that cannot be done.

    trouble_dir  where the traceback of a fault of the program itself is kept; None: in the cache
    """
    began = time.perf_counter()
    cache = Cache(Path(cache_dir))
    key = study_key(Path(path), brief, rules, case, angles)
    if cache.load("study", key, ObjectStudy) is not None:
        return StudyDone(brief.number, key, "", time.perf_counter() - began, False)
    try:
        study = study_object(load_scan(Path(path), brief, rules.scan), brief, rules, case, angles=angles)
    except ScanprepError as problem:
        return StudyDone(brief.number, "", str(problem), time.perf_counter() - began, True)
    except Exception as problem:  # noqa: BLE001 - told with its traceback kept; the case's other objects go on
        sentence = _trouble(Path(trouble_dir or f"{cache_dir}/trouble"), brief.number, problem)
        return StudyDone(brief.number, "", sentence, time.perf_counter() - began, True)
    cache.keep("study", key, study)
    return StudyDone(brief.number, key, "", time.perf_counter() - began, True)


def _trouble(folder: Path, number: str, problem: Exception) -> str:
    """Keep the traceback of a fault of the program itself where it can be sent on, and say so in a sentence."""
    kept = folder / f"{safe_name(number)}.txt"
    write_atomically(kept, "".join(traceback.format_exception(problem)))
    return (f"the program itself failed on this object ({type(problem).__name__}: {problem}); its traceback is in "
            f"{kept}. Leave the object out or send that file to whoever looks after the program")


def study_died(number: str) -> StudyDone:
    """Return what is told of an object whose worker process was stopped twice."""
    return StudyDone(number, "", "its worker process was stopped by the system twice, most likely for want of memory; "
                     "free some, or give a scan with fewer faces", 0.0, True)


def safe_name(number: str) -> str:
    """Return an object's number as a file or folder name: what no file system takes becomes a dash."""
    safe = "".join(c if c.isalnum() or c in "._- " else "-" for c in number).strip(" .")
    return safe or "object"


def papers_task(cache_dir: str, study_key_: str, spec: MountSpec, target: str, stamp: str, issue: Issue) -> str:
    """Write one object's files and remember what they were made from; return the object's number."""
    cache = Cache(Path(cache_dir))
    study = cache.load("study", study_key_, ObjectStudy)
    if study is None:
        raise ScanprepError(f"the kept study of object {spec.number} has gone; run the command again")
    write_object_papers(Path(target), spec, study.working, issue)
    cache.keep_bytes("papers", Path(target).name, stamp.encode())
    return spec.number
