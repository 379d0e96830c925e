"""Commands about a whole case: `demo`, `new`, `intake`, `batch`, `check`."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from . import bench_commands, console
from .options import AsJson, Case, Person, Reason, Scheduler, Workers

if TYPE_CHECKING:
    from scanprep.workspace.batch import CaseResult
    from scanprep.workspace.folder import CaseFolder


def demo(
    folder: Annotated[Path, typer.Argument(metavar="[DIR]", help="A new folder for the demo case.")] = Path("demo"),
    workers: Workers = None, as_json: AsJson = False,
) -> None:
    """Write the invented demo case, run everything on it, and tell what to open.

    Ends with 0 once the case is made: that some of its findings say stop is part of what it shows.
    """
    from scanprep.workspace.demo import start_demo
    from scanprep.workspace.executor import make_executor

    progress = console.Progress(quiet=as_json)
    with make_executor(workers) as executor:
        case, result = start_demo(folder, executor, progress)
    stops = _tell_case(case, result, as_json)
    if stops and not as_json:
        print(f"{stops} findings say stop, as they would in a real case; `scanprep check {folder}` lists them")


def new(
    folder: Case,
    title: Annotated[str, typer.Option(help="What the display is called.")] = "Untitled display",
    units: Annotated[str, typer.Option(help="How papers show lengths: mm or in.")] = "mm",
    as_json: AsJson = False,
) -> None:
    """Start an empty case: case.toml and a checklist to fill in. Nothing that is already there is touched."""
    from scanprep.files.new_case import write_new_case

    written = write_new_case(folder, title, units)
    if as_json:
        console.print_json({"written": [str(path) for path in written]})
        return
    for path in written:
        print(f"wrote {path}")
    print(f"next: fill in the checklist, then scanprep intake {folder} {folder / 'checklist.csv'}")


def intake(
    folder: Case,
    checklist: Annotated[Path, typer.Argument(metavar="CHECKLIST", help="CSV or XLSX.")],
    dry_run: Annotated[bool, typer.Option("--dry-run", help="Only tell what would change.")] = False,
    person: Person = None, reason: Reason = "", as_json: AsJson = False,
) -> None:
    """Read a checklist into the case, telling what changes."""
    from scanprep.plain_values import to_plain
    from scanprep.workspace.folder import open_case, read_intake, take_intake

    case = open_case(folder, person)
    changes = read_intake(case, checklist, reason)
    if as_json:
        console.print_json({"changes": to_plain(changes.changes), "left_aside": list(changes.left_aside),
                            "taken": not dry_run})
    else:
        for change in changes.changes:
            print(f"{change.kind:8s} {change.sentence}")
        for sentence in changes.left_aside:
            print(f"left     {sentence}")
    if not dry_run:
        after = take_intake(case, checklist, changes, person)
        if not as_json:
            print(f"{len(changes.changes)} changes taken; the case has {len(after.state.objects)} objects")


def batch(folder: Case, workers: Workers = None, scheduler: Scheduler = None, person: Person = None,
          as_json: AsJson = False) -> None:
    """Run every object (survey, holds, post, hole, spec), then the roll-up and all checks."""
    from scanprep.workspace.batch import run_batch
    from scanprep.workspace.executor import open_workers
    from scanprep.workspace.folder import open_case

    case = open_case(folder if scheduler is None else folder.absolute(), person)
    with open_workers(workers, max(len(case.state.objects), 1), scheduler) as executor:
        result = run_batch(case, executor, console.Progress(quiet=as_json), today=date.today(), person=person)
    _leave(_tell_case(case, result, as_json))


def check(
    folder: Case,
    engineering: Annotated[bool, typer.Option("--engineering", help="Print the engineering note instead.")] = False,
    workers: Workers = None, as_json: AsJson = False,
) -> None:
    """Run all checks over the case and print the findings, worst first; no papers are drawn."""
    from scanprep.workspace.batch import run_batch
    from scanprep.workspace.executor import make_executor
    from scanprep.workspace.folder import open_case

    case = open_case(folder)
    with make_executor(workers, max(len(case.state.objects), 1)) as executor:
        result = run_batch(case, executor, console.Progress(quiet=as_json), papers=False, today=date.today())
    if engineering:
        bench_commands.print_note(case, result, as_json)
    else:
        _leave(_tell_case(case, result, as_json))


def _leave(stops: int) -> None:
    if stops:
        raise typer.Exit(1)


def _tell_case(case: CaseFolder, result: CaseResult, as_json: bool) -> int:
    """Print what became of the case; return how many findings say stop."""
    from scanprep.findings import Verdict
    from scanprep.plain_values import to_plain

    if as_json:
        console.print_json({
            "objects": {n: {"verdict": spec.verdict.value, "chosen": spec.chosen} for n, spec in result.specs.items()},
            "failures": dict(result.failures), "diameters_mm": list(result.diameters_mm),
            "findings": to_plain(result.every), "releases": to_plain(result.releases),
        })
    else:
        console.print_findings(result.every, most=12)
        held = sum(spec.chosen is not None for spec in result.specs.values())
        posts = f"post diameters {', '.join(f'{d:.2f}' for d in result.diameters_mm)} mm" if held else "no posts yet"
        for sentence in result.rod_changes:
            print(f"settled: {sentence}")
        free = sum(release.released for release in result.releases)
        print(f"\n{case.case.title}: {len(case.state.shown)} objects, {held} with a hold, "
              f"{len(result.failures)} scans that cannot be used; {posts}; {free} holes released")
        for path in result.open_first(case):
            print(f"open {path}")
    return sum(finding.verdict is Verdict.STOP for finding in result.every)


def register(app: typer.Typer) -> None:
    """Add these commands."""
    for command in (demo, new, intake, batch, check):
        app.command()(command)
