"""Holds looked for again while people sit at the table: for what was said of an object, or for angles of their own.

A search takes a quarter of a minute to two, so it runs in a process of its own, one at a time; the page shows what
waits and how long it has been at it, and may stop it. Nothing here decides: what is found is offered. `Restudies` keeps
what waits and what was found; `Workbench` runs one search. Used by `desk` and `server`.
"""

from __future__ import annotations

import concurrent.futures
import tempfile
from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, TypeVar

from scanprep.brief import ObjectBrief
from scanprep.hold.records import Hold, Refusal
from scanprep.pipeline import AskedAngles
from scanprep.spec import ObjectStudy
from scanprep.workspace.executor import end_workers, make_pool
from scanprep.workspace.folder import CaseFolder
from scanprep.workspace.tasks import StudyDone, steps_told, study_key, study_task

T = TypeVar("T")

#: tolerance: Angles nearer than this are the same.
SAME_deg = 0.05
#: format: Angles that may wait for one object at once.
MOST_WAITING = 6


@dataclass(frozen=True, slots=True)
class StudyJob:
    """A search that waits or runs."""

    number: str
    brief: ObjectBrief
    angles: AskedAngles | None  # None: all that suits the object, for what was said of it

    @property
    def words(self) -> str:
        """What it is for, in words."""
        if self.angles is None:
            return "its holds, for what was said of it"
        a = self.angles
        return f"a hold at tilt {a.tilt_deg:+g}°, turn {a.turn_deg:+g}°, roll {a.roll_deg:+g}°"

    def call(self, folder: CaseFolder) -> tuple[Any, ...]:
        """Return `study_task` and its arguments."""
        angles = () if self.angles is None else (self.angles,)
        return (study_task, str(folder.cache_dir), str(folder.scan_place(self.brief)), self.brief, folder.rules,
                folder.case, angles)


@dataclass(frozen=True, slots=True)
class Found:
    """What came of one search at angles of somebody's own."""

    angles: AskedAngles
    hold: Hold | None
    refusal: Refusal | None
    trouble: str = ""  # why the search itself could not be done


class Restudies:
    """What waits to be looked for, and what was found at angles of people's own."""

    def __init__(self) -> None:
        self._studied: dict[str, str] = {}  # object -> key of the study that is shown
        self._wanted: dict[str, str] = {}  # object -> key of the study that it should have by now
        self._asked: list[StudyJob] = []
        self._failed: dict[str, tuple[str, str]] = {}  # object -> key that could not be studied, and why
        self._found: dict[str, tuple[Found, ...]] = {}

    def begin(self, folder: CaseFolder, numbers: Iterable[str]) -> None:
        """Take the case as just studied."""
        self._studied = {number: _key(folder, number) for number in numbers}
        self._wanted = dict(self._studied)
        self._failed.clear()

    def said(self, folder: CaseFolder, number: str) -> None:
        """Take in that something was said of an object: its holds may have to be looked for again."""
        if number in self._studied:
            self._wanted[number] = _key(folder, number)

    def key(self, number: str) -> str:
        """Return the key of the study that an object should have by now."""
        return self._wanted[number]

    def behind(self) -> tuple[str, ...]:
        """Return the objects whose holds are those from before something was said of them."""
        return tuple(number for number, key in self._studied.items() if self._wanted[number] != key)

    def waiting(self, folder: CaseFolder) -> tuple[StudyJob, ...]:
        """Return what is to be looked for, those asked for by hand first: somebody waits for them."""
        again = (StudyJob(number, folder.state.objects[number], None) for number in self.behind()
                 if number in folder.state.objects and self._failed.get(number, ("", ""))[0] != self._wanted[number])
        return (*self._asked, *again)

    def trouble(self, number: str) -> str:
        """Return why an object could not be studied again; empty where it could, or where nobody tried."""
        return self._failed.get(number, ("", ""))[1]

    def ask(self, job: StudyJob) -> bool:
        """Let a search wait; False where it waits already or too many do."""
        mine = [one for one in self._asked if one.number == job.number]
        if job in mine or len(mine) >= MOST_WAITING:
            return False
        self._asked.append(job)
        return True

    def drop(self, job: StudyJob) -> None:
        """Forget a search that somebody asked for by hand."""
        self._asked = [one for one in self._asked if one != job]

    def take(self, job: StudyJob, done: StudyDone, folder: CaseFolder) -> ObjectStudy | None:
        """Take what came of a search; return the object's new study where it is one for the object as it now is."""
        study = folder.cache.load("study", done.key, ObjectStudy) if done.key else None
        if job.angles is not None:
            waited = job in self._asked  # else it was stopped
            self.drop(job)
            if waited and job.brief == folder.state.objects.get(job.number):
                self._keep(job.number, _found(job.angles, study, done.sentence))
            return None
        if study is None:
            self._failed[job.number] = (self._wanted[job.number], done.sentence or "the search was lost")
            return None
        if job.number not in folder.state.objects or done.key != self._wanted[job.number]:
            return None  # something else was said meanwhile: it waits again
        self._studied[job.number] = done.key
        self._found.pop(job.number, None)  # found for the object as it was
        return replace(study, brief=folder.state.objects[job.number])

    def _keep(self, number: str, found: Found) -> None:
        others = tuple(one for one in self._found.get(number, ()) if not _same(one.angles, found.angles))
        self._found[number] = (*others, found)

    def found(self, number: str) -> tuple[Found, ...]:
        """Return what was found for an object at angles of people's own."""
        return self._found.get(number, ())


def _key(folder: CaseFolder, number: str) -> str:
    brief = folder.state.objects[number]
    return study_key(folder.scan_place(brief), folder.cache, brief, folder.rules, folder.case)


def _found(angles: AskedAngles, study: ObjectStudy | None, trouble: str) -> Found:
    if study is None:
        return Found(angles, None, None, trouble or "the search was lost")
    holds, refusals = study.holds.holds, study.holds.refusals
    return Found(angles, holds[0] if holds else None, refusals[0] if refusals else None)


def _same(one: AskedAngles, other: AskedAngles) -> bool:
    return max(abs(one.tilt_deg - other.tilt_deg), abs(one.turn_deg - other.turn_deg),
               abs(one.roll_deg - other.roll_deg)) < SAME_deg


def holds_beside(found: tuple[Found, ...], holds: tuple[Hold, ...]) -> tuple[Hold, ...]:
    """Return the holds found at angles of people's own that are not among an object's others."""
    def there(hold: Hold) -> bool:
        return any(hold.attitude.name == other.attitude.name and _same(_angles(hold), _angles(other))
                   for other in holds)

    return tuple(one.hold for one in found if one.hold is not None and not there(one.hold))


def _angles(hold: Hold) -> AskedAngles:
    return AskedAngles(hold.attitude.tilt_deg, hold.attitude.turn_deg, hold.attitude.roll_deg)


class Workbench:
    """One process that searches; started when there is something to do."""

    def __init__(self) -> None:
        self._pool: concurrent.futures.ProcessPoolExecutor | None = None
        self._folder = tempfile.TemporaryDirectory(prefix="scanprep-search-")
        self._steps = Path(self._folder.name) / "steps.json"

    def submit(self, call: Callable[..., T], *said: Any) -> concurrent.futures.Future[T]:
        """Return the future of a call in the process; it is told where to write how far it is (`steps_file`)."""
        if self._pool is None:
            self._pool = make_pool(1)
        self._steps.unlink(missing_ok=True)
        return self._pool.submit(call, *said, steps_file=str(self._steps))

    def steps(self) -> tuple[int, int] | None:
        """Return how many steps of what runs are done, and of how many; None where that is not known yet."""
        return steps_told(self._steps)

    def close(self) -> None:
        """End what runs, for good."""
        self.stop()
        self._folder.cleanup()

    def stop(self) -> None:
        """End what runs, at once; nothing is lost, since results are kept whole or not at all."""
        pool, self._pool = self._pool, None
        if pool is not None:
            end_workers()
            pool.shutdown(wait=False, cancel_futures=True)
