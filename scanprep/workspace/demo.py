"""The invented demo case, copied out of the installed package into a folder of its own."""

from __future__ import annotations

import concurrent.futures
import importlib
import shutil
from pathlib import Path

from scanprep.case.arrange.first_layout import first_positions
from scanprep.case.record import decide
from scanprep.errors import InputError
from scanprep.workspace.batch import CaseResult, Progress, compute_case, finish_case, settle_rods, write_case
from scanprep.workspace.folder import CaseFolder, open_case, read_intake, take_intake

#: What of the samples makes the case; the scripts that made them stay behind.
_PARTS = ("case.toml", "checklist.csv", "scans")


def write_demo_case(folder: Path) -> Path:
    """Copy the demo case into a new or empty folder, or into one that holds the demo already; return its checklist.

    Raises InputError where the folder holds something else or cannot be written.
    """
    source = Path(str(importlib.import_module("scanprep_samples").__file__)).parent
    if folder.exists() and any(folder.iterdir()) and not (folder / "case.toml").exists():
        raise InputError(file=folder, problem="is not empty and holds no case",
                         remedy="Name a new folder for the demo, such as `scanprep demo my-demo`")
    theirs, ours = folder / "case.toml", source / "case.toml"
    if theirs.exists() and theirs.read_bytes() != ours.read_bytes():
        raise InputError(file=theirs, problem="is another case than the demo",
                         remedy="Name a new folder for the demo, such as `scanprep demo my-demo`")
    try:
        folder.mkdir(parents=True, exist_ok=True)
        for part in _PARTS:
            if (source / part).is_dir():
                shutil.copytree(source / part, folder / part, dirs_exist_ok=True)
            else:
                shutil.copy2(source / part, folder / part)
    except OSError as problem:
        raise InputError(file=folder, problem=f"cannot be written ({problem.strerror or 'copying failed'})",
                         remedy="Choose a folder that you may write to, or free some space") from problem
    return folder / "checklist.csv"


def start_demo(folder: Path, executor: concurrent.futures.Executor, tell: Progress) -> tuple[CaseFolder, CaseResult]:
    """Write the demo case, take its checklist in, run everything on it, and place what the checklist did not place.

    The proposed positions go on record like any decision, said by "demo".
    """
    checklist = write_demo_case(folder)
    case = open_case(folder)
    case = take_intake(case, checklist, read_intake(case, checklist), "demo")
    done = compute_case(case, executor, tell)
    stands = first_positions(done.placed, case.case, case.rules)
    if stands:
        moves = [(n, case.panel(s.panel), s.face, s.from_left_mm, s.y_mm) for n, s in stands.items()]
        case = case.say(decide.place_many(case.state, moves, "proposed first position"), "demo")
        done = finish_case(case, done.studies, done.failures, done.seconds)
    case, done = settle_rods(case, done, "demo")
    return case, write_case(case, done, executor, tell)
