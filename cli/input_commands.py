"""Commands about what a case rests on, and what may be drilled: `inputs`, `measured`, `rods`, `release`."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from . import console
from .options import AsJson, Case, Person, Reason, Workers


def inputs(folder: Case, person: Person = None, reason: Reason = "", as_json: AsJson = False) -> None:
    """Take on record what case.toml says now; once the case is signed off, with --reason."""
    from scanprep.case.record.history import history
    from scanprep.plain_values import to_plain
    from scanprep.workspace.folder import open_case

    before = open_case(folder, take=False)
    after = open_case(folder, person, reason)
    lines = tuple(line for line in history(after.entries, None, after.case.units) if line.seq > before.state.seq)
    if as_json:
        console.print_json({"recorded": to_plain(lines), "inputs": dict(after.state.inputs)})
    else:
        console.print_recorded(lines, as_json)


def rods(
    folder: Case,
    set_: Annotated[list[str] | None, typer.Option("--set", help="OBJECT=ROD, such as 14=3/16; repeated.")] = None,
    sizes: Annotated[str | None, typer.Option(help="The case's rods, such as \"1/8, 3/16\".")] = None,
    workers: Workers = None, person: Person = None, reason: Reason = "", as_json: AsJson = False,
) -> None:
    """Show which rod each post is made of, or choose: an object keeps its rod until it is not enough or changed."""
    from scanprep.workspace import wall
    from scanprep.workspace.folder import open_case
    from scanprep.workspace.logbook import put

    case = open_case(folder, person)
    if set_ or sizes:
        said = wall.rod_choices(case, [_pair(text) for text in set_ or ()], sizes, reason)
        console.print_recorded(put(case, said, person), as_json)
        return
    rows = wall.rod_rows(case, workers, console.Progress(quiet=as_json))
    if as_json:
        console.print_json({"rods": [dict(zip(("object", "rod", "how", "enough"), row)) for row in rows]})
    else:
        console.print_table(("object", "rod", "on record as", "thinnest that serves"), rows)


def _pair(text: str) -> tuple[str, str]:
    number, found, rod = text.rpartition("=")
    if not found or not number.strip() or not rod.strip():
        raise typer.BadParameter(f"{text!r} is not OBJECT=ROD, such as 14=3/16", param_hint="--set")
    return number.strip(), rod.strip()


def measured(
    folder: Case,
    table: Annotated[Path | None, typer.Argument(metavar="[TABLE]", help="The filled table, CSV or XLSX.")] = None,
    blank: Annotated[Path | None, typer.Option(help="Write a blank table there: what is still to be measured.")] = None,
    workers: Workers = None, person: Person = None, reason: Reason = "", as_json: AsJson = False,
) -> None:
    """Read the bench's table of measured rods, test holes, sheets, masses, pads and mounts; say what it changed."""
    from scanprep.plain_values import to_plain
    from scanprep.workspace import measuring
    from scanprep.workspace.folder import open_case

    case = open_case(folder, person)
    tell = console.Progress(quiet=as_json)
    if (table is None) == (blank is None):
        raise typer.BadParameter("give a filled TABLE, or --blank FILE for one to fill in")
    if blank is not None:
        rows = measuring.write_blank(case, blank, workers, tell)
        if as_json:
            console.print_json({"wanted": to_plain(rows)})
        else:
            print(f"wrote {blank}: {len(rows)} things to measure")
        return
    assert table is not None
    _, done = measuring.take_table(case, table, person, reason, workers, tell)
    if as_json:
        console.print_json(to_plain(done))
        return
    print(f"{done.entries} entries on record")
    for sentence in done.changes:
        print(f"changed: {sentence}")
    if done.entries and not done.changes:
        print("nothing of the plan has changed")


def release(
    folder: Case,
    number: Annotated[str | None, typer.Argument(metavar="[OBJECT]", help="Left out: all of them.")] = None,
    workers: Workers = None, as_json: AsJson = False,
) -> None:
    """Say which holes may be drilled now, and what each of the others waits for, one reason a line."""
    from scanprep.plain_values import to_plain
    from scanprep.workspace import wall
    from scanprep.workspace.folder import open_case

    case = open_case(folder)
    if number is not None:
        case.object(number)
    found = [r for r in wall.releases(case, workers, console.Progress(quiet=as_json)) if number in (None, r.object)]
    if as_json:
        console.print_json({"releases": to_plain(tuple(found))})
        return
    for one in found:
        said = "released" if one.released else one.state if one.state in ("drilled", "void") else "held"
        print(f"{one.number or '-':5s} object {one.object}, {one.panel} {one.face}: {said}".replace(",  :", ":"))
        for reason in one.reasons:
            print(f"        {reason}")
    free = sum(one.released for one in found)
    done = sum(one.state == "drilled" for one in found)
    waiting = sum(one.state not in ("drilled", "void") and not one.released for one in found)
    print(f"{free} released, {waiting} held, {done} drilled")


def register(app: typer.Typer) -> None:
    """Add these commands."""
    for command in (inputs, measured, rods, release):
        app.command()(command)
