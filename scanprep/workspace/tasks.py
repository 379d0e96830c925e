"""The calls that run in worker processes: study one object, draw one object's papers.

Each reads its inputs and keeps its result in the cache itself, and hands back only a key and a sentence, so that no
large arrays travel between processes.
"""

from __future__ import annotations

import contextlib
import functools
import json
import time
import traceback
from dataclasses import dataclass, replace
from pathlib import Path

from scanprep.brief import CaseBrief, ObjectBrief
from scanprep.errors import ScanprepError
from scanprep.file_names import safe_name
from scanprep.files.atomic_write import write_atomically
from scanprep.files.cache import Cache, key_of
from scanprep.files.meshes import load_scan
from scanprep.files.scan_urls import ScanPlace, ScanUrl, at_hand, content_at, look_again, scan_place
from scanprep.hold.find import Steps, untold
from scanprep.hold.records import HoldSet
from scanprep.papers.drawing.page import Issue
from scanprep.pipeline import AskedAngles, hold_scan, size_posts, survey_scan
from scanprep.post import acceleration_of
from scanprep.rules import Rulebook
from scanprep.spec import MountSpec, ObjectStudy, SurveyedScan
from scanprep.workspace.executor import MOST_STUDY_S, at_most
from scanprep.workspace.sheets import write_object_papers

#: Fields of a checklist line that no part of a study reads, with what stands in for them.
_LATE = {"title": "", "group": "", "order": None, "panel": None, "face": None, "from_left_mm": None, "y_mm": None,
         "datum_x_mm": None, "note": "", "retention": None}
#: Those that cleaning and surveying do not read: how the object is to be shown and touched.
_OF_HOLDS = {"attitude": None, "tilt_deg": None, "turn_deg": None, "roll_deg": None, "no_touch": (),
             "tip_limit_N": None, "pad": None, "condition": "", "stand_off_mm": None}
#: Rooms of the rulebook that the survey, and the search for holds, do not read.
_AFTER_HOLDS = ("panel", "loads", "fit", "case")
_AFTER_SURVEY = ("hold", "pads", "post", *_AFTER_HOLDS)


@dataclass(frozen=True, slots=True)
class StudyDone:
    """How the study of one object went."""

    number: str
    key: str  # of the kept Study; empty where there is none
    sentence: str  # what went wrong; empty where nothing did
    seconds: float
    fresh: bool  # False: it was kept from an earlier run


@dataclass(frozen=True, slots=True)
class StudyKeys:
    """Under what an object's results are kept: each stage by just what it reads."""

    survey: str
    holds: str
    study: str


@functools.lru_cache(maxsize=64)
def _without(rules: Rulebook, rooms: tuple[str, ...]) -> Rulebook:
    """The rulebook with its own values in the rooms that a stage may not read."""
    own = Rulebook()
    return replace(rules, **{room: getattr(own, room) for room in rooms})


def _survey_inputs(brief: ObjectBrief, rules: Rulebook) -> tuple[ObjectBrief, Rulebook]:
    return (replace(brief, **_LATE, **_OF_HOLDS),  # type: ignore[arg-type]  # names and types are ObjectBrief's
            _without(rules, _AFTER_SURVEY))


def _hold_inputs(brief: ObjectBrief, rules: Rulebook) -> tuple[ObjectBrief, Rulebook]:
    return replace(brief, **_LATE), _without(rules, _AFTER_HOLDS)  # type: ignore[arg-type]  # as above


def study_keys(place: ScanPlace, cache: Cache, brief: ObjectBrief, rules: Rulebook, case: CaseBrief | None,
               angles: tuple[AskedAngles, ...] = ()) -> StudyKeys:
    """Return the keys of a study and its stages: of the scan's bytes, what was said of the object, and the rules.

    Rods and coupons do not touch the holds; pads, force limits and friction do not touch the survey.
    """
    survey = key_of(content_at(place, cache), *_survey_inputs(brief, rules))
    holds = key_of(survey, *_hold_inputs(brief, rules), acceleration_of(rules, case), angles)
    rods = (case.measured_rods, case.coupons, case.mock_up, case.square_deg,
            sorted({panel.grade for panel in case.panels})) if case else ()
    return StudyKeys(survey, holds, key_of(holds, rods, rules.panel, rules.loads))


def study_key(place: ScanPlace, cache: Cache, brief: ObjectBrief, rules: Rulebook, case: CaseBrief | None) -> str:
    """Return the key under which an object's study is kept."""
    return study_keys(place, cache, brief, rules, case).study


def holds_kept(cache: Cache, keys: StudyKeys) -> bool:
    """Return whether an object's survey and holds are kept, so that a study reads no scan and searches for nothing."""
    return (cache.load("survey", keys.survey, SurveyedScan) is not None
            and cache.load("holds", keys.holds, HoldSet) is not None)


def study_task(cache_dir: str, path: str, brief: ObjectBrief, rules: Rulebook, case: CaseBrief | None,
               angles: tuple[AskedAngles, ...] = (), trouble_dir: str | None = None,
               steps_file: str | None = None) -> StudyDone:
    """Study one object, or tell in a sentence why that cannot be done.

    path         where its scan lies, or its address
    trouble_dir  where the traceback of a fault of the program itself is kept; None: in the cache
    steps_file   where the search for holds writes how far it is (`steps_told`); None: nobody asks
    """
    began = time.perf_counter()
    cache = Cache(Path(cache_dir))
    place = scan_place(path)
    if isinstance(place, ScanUrl):
        look_again()  # a worker may have lived for days
    keys = study_keys(place, cache, brief, rules, case, angles)
    if cache.load("study", keys.study, ObjectStudy) is not None:
        return StudyDone(brief.number, keys.study, "", time.perf_counter() - began, False)
    try:
        with at_most(MOST_STUDY_S), at_hand(place, cache) as scan:
            if isinstance(place, ScanUrl):  # what it holds is known only now
                keys = study_keys(place, cache, brief, rules, case, angles)
            study = _study(cache, keys, _Scan(scan, str(place)), brief, rules, case, angles,
                           _telling(steps_file))
    except ScanprepError as problem:
        return StudyDone(brief.number, "", str(problem), time.perf_counter() - began, True)
    except Exception as problem:  # noqa: BLE001 - told with its traceback kept; the case's other objects go on
        sentence = _trouble(Path(trouble_dir or f"{cache_dir}/trouble"), brief.number, problem)
        return StudyDone(brief.number, "", sentence, time.perf_counter() - began, True)
    cache.keep("study", keys.study, study)
    return StudyDone(brief.number, keys.study, "", time.perf_counter() - began, True)


@dataclass(frozen=True, slots=True)
class _Scan:
    """A scan to be read: its path, and where a person finds it."""

    path: Path
    known_as: str


def _study(cache: Cache, keys: StudyKeys, scan: _Scan, brief: ObjectBrief, rules: Rulebook, case: CaseBrief | None,
           angles: tuple[AskedAngles, ...], tell: Steps) -> ObjectStudy:
    """Study one object from the first stage that is not kept. A stage is given only what its key holds."""
    surveyed = cache.load("survey", keys.survey, SurveyedScan)
    if surveyed is None:
        of_survey, its_rules = _survey_inputs(brief, rules)
        surveyed = survey_scan(load_scan(scan.path, of_survey, its_rules.scan, scan.known_as), of_survey, its_rules)
        cache.keep("survey", keys.survey, surveyed)
    holds = cache.load("holds", keys.holds, HoldSet)
    if holds is None:
        of_holds, its_rules = _hold_inputs(brief, rules)
        holds = hold_scan(surveyed, of_holds, its_rules, acceleration_of(rules, case), angles, tell)
        cache.keep("holds", keys.holds, holds)
    return size_posts(surveyed, holds, brief, rules, case)


def _telling(steps_file: str | None) -> Steps:
    """Return what writes how far a search is, for another process to read."""
    if steps_file is None:
        return untold
    path = Path(steps_file)

    def tell(done: int, of: int) -> None:
        with contextlib.suppress(ScanprepError):  # a search is not lost for want of a place to say how far it is
            write_atomically(path, json.dumps([done, of]))

    return tell


def steps_told(steps_file: Path) -> tuple[int, int] | None:
    """Return how many steps of a search are done, and of how many; None where it has not said yet."""
    try:
        done, of = json.loads(steps_file.read_bytes())
    except (OSError, ValueError):
        return None
    return int(done), int(of)


def _trouble(folder: Path, number: str, problem: Exception) -> str:
    """Keep the traceback of a fault of the program itself where it can be sent on, and say so in a sentence."""
    kept = folder / f"{safe_name(number)}.txt"
    write_atomically(kept, "".join(traceback.format_exception(problem)))
    return (f"the program itself failed on this object ({type(problem).__name__}: {problem}); its traceback is in "
            f"{kept}. Leave the object out or send that file to whoever looks after the program")


def study_died(number: str) -> StudyDone:
    """Return what is told of an object whose worker process was stopped twice."""
    return StudyDone(number, "", "its scan stopped the process that reads it twice: it makes a library crash, takes "
                     f"longer than {MOST_STUDY_S // 60} minutes, or wants more memory than there is. Export the scan "
                     "again with fewer faces, as PLY or OBJ, or free some memory", 0.0, True)


def papers_task(cache_dir: str, study_key_: str, spec: MountSpec, target: str, issue: Issue) -> str:
    """Write one object's files; return the object's number."""
    cache = Cache(Path(cache_dir))
    study = cache.load("study", study_key_, ObjectStudy)
    if study is None:
        raise ScanprepError(f"the kept study of object {spec.number} has gone; run the command again")
    write_object_papers(Path(target), spec, study.working, issue)
    return spec.number
