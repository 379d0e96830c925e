"""The main job on loose scans: one mount specification an object, no panel yet.

Each object gets DIR/NAME/spec.json and spec.pdf, and holds.png, all of them or none of them.
"""

from __future__ import annotations

import concurrent.futures
import tempfile
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path, PurePath

from scanprep.brief import ObjectBrief
from scanprep.errors import InputError
from scanprep.files.cache import Cache
from scanprep.files.scan_urls import ScanPlace, ScanUrl
from scanprep.papers.drawing.page import Issue
from scanprep.pipeline import finish_object
from scanprep.rules import Rulebook
from scanprep.spec import MountSpec, ObjectStudy
from scanprep.workspace.executor import run_all
from scanprep.workspace.sheets import write_object_papers
from scanprep.workspace.tasks import StudyDone, study_died, study_task

Progress = Callable[[int, int, str], None]


@dataclass(frozen=True, slots=True, eq=False)
class SingleScanResult:
    """What became of one loose scan."""

    file: str
    spec: MountSpec | None
    sentence: str  # why there is none
    folder: Path | None
    seconds: float


def object_name(place: ScanPlace) -> str:
    """Return the object's folder name: the scan file's name without ending."""
    path = _path(place)
    return path.name.removesuffix("".join(path.suffixes[-1:])) or path.name


def _path(place: ScanPlace) -> PurePath:
    return place.path if isinstance(place, ScanUrl) else place


def _names(places: Sequence[ScanPlace]) -> list[str]:
    """Name every scan; two files of one name get their folder's name in front."""
    names = [object_name(place) for place in places]
    names = [f"{_path(p).parent.name}-{n}" if names.count(n) > 1 else n for p, n in zip(places, names, strict=True)]
    for name in names:
        if names.count(name) > 1:
            raise InputError(field="SCAN", value=name, problem="two scans would be written to one folder",
                             remedy="Give them in two calls with two --out folders")
    return names


def spec_loose(places: Sequence[ScanPlace], brief: ObjectBrief, out: Path, rules: Rulebook,
               executor: concurrent.futures.Executor, tell: Progress) -> list[SingleScanResult]:
    """Study, finish and write every scan; the same brief (unit, size, material, mass, wall) holds for all of them.

    A scan that cannot be used does not keep the others from being finished.
    """
    names = _names(places)
    briefs = [replace(brief, number=name, scan=str(place)) for name, place in zip(names, places, strict=True)]

    def died(index: int) -> tuple[StudyDone, MountSpec | None]:
        return study_died(names[index]), None

    results: list[SingleScanResult | None] = [None] * len(places)
    with tempfile.TemporaryDirectory(prefix="scanprep-") as kept:
        calls = [(kept, str(place), one, rules, out) for place, one in zip(places, briefs, strict=True)]
        for finished, (index, (done, spec)) in enumerate(run_all(executor, _one_loose, calls, died=died), start=1):
            folder = out / names[index] if spec else None
            results[index] = SingleScanResult(str(places[index]), spec, done.sentence, folder, done.seconds)
            told = "cannot be used" if done.sentence else f"{done.seconds:.1f} s"
            tell(finished, len(places), f"{names[index]}: {told}")
    return [result for result in results if result is not None]


def _one_loose(kept: str, path: str, brief: ObjectBrief, rules: Rulebook,
               out: Path) -> tuple[StudyDone, MountSpec | None]:
    done = study_task(kept, path, brief, rules, None, trouble_dir=str(out / "trouble"))
    study = Cache(Path(kept)).load("study", done.key, ObjectStudy) if done.key else None
    if study is None:
        return done, None
    spec = finish_object(study, None, rules)
    write_object_papers(out / brief.number, spec, study.working, Issue())
    return done, spec
