"""The command that prints everything: `papers`."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

if TYPE_CHECKING:
    from scanprep.workspace.folder import CaseFolder

from . import console
from .options import AsJson, Case, Workers

_KINDS = ("Kinds of paper; all where none is named: templates drills coupon rods schedule install removal labels "
          "elevations mounts gauges outlines holds.")


def papers(
    folder: Case,
    kinds: Annotated[list[str] | None, typer.Argument(metavar="[KIND]...", help=_KINDS)] = None,
    paper: Annotated[str | None, typer.Option(help="Office paper: A4, A3, Letter or Tabloid; as last time without.")
                     ] = None,
    units: Annotated[str | None, typer.Option(help="mm or in; as last time, or the case's own, without.")] = None,
    x_bar: Annotated[str | None, typer.Option("--x-bar", help="What the level 500 mm bar of your print measures.")
                     ] = None,
    y_bar: Annotated[str | None, typer.Option("--y-bar", help="What the upright 500 mm bar measures.")] = None,
    verify: Annotated[str | None, typer.Option(help="Print nothing: say of a paper in the hand, by its file or the "
                                               "identity printed on it, whether it is current.")] = None,
    workers: Workers = None, as_json: AsJson = False,
) -> None:
    """Issue everything the bench needs into DIR/papers. What was printed before is kept true: a paper whose content
    changed is issued anew, its old file moved to `superseded`, and a change note says what to recall."""
    from scanprep.papers.paper_set import check_kinds
    from scanprep.units import parse_length_mm
    from scanprep.workspace.batch import run_batch
    from scanprep.workspace.executor import make_executor
    from scanprep.workspace.folder import open_case
    from scanprep.workspace.papers import asked_printing, write_papers

    wanted, case = check_kinds(kinds or ()), open_case(folder)
    if verify is not None:
        _say_verified(case, verify, as_json)
        return
    printing = asked_printing(case, paper, units, console.parsed(parse_length_mm, x_bar, "x-bar"),
                              console.parsed(parse_length_mm, y_bar, "y-bar"))
    tell = console.Progress(quiet=as_json)
    with make_executor(workers, max(len(case.state.objects), 1)) as executor:
        result = run_batch(case, executor, tell, papers=False)
        done = write_papers(case, result, executor, wanted, printing, tell)
    if as_json:
        console.print_json({"folder": str(done.folder), "written": list(done.written), "kept": done.kept,
                            "removed": list(done.removed), "note": done.note, "strays": list(done.strays)})
        return
    print(f"{len(done.written)} papers issued, {done.kept} were right already, {len(done.removed)} withdrawn")
    if done.note:
        print(f"read {done.folder / done.note} first: what to recall, which holes and mounts are affected")
    if done.strays:
        print(f"in no register, throw away or move: {', '.join(done.strays[:6])}"
              f"{' and others' if len(done.strays) > 6 else ''}")
    print(f"open {done.folder}")


def _say_verified(case: CaseFolder, what: str, as_json: bool) -> None:
    """Say whether a paper may be worked from; leave with 1 where it may not."""
    from scanprep.plain_values import to_plain
    from scanprep.workspace.paper_files import verify_paper

    found = verify_paper(case, what)
    if as_json:
        console.print_json({**to_plain(found), "may_be_used": found.may_be_used})
    else:
        print("\n".join(found.sentences))
    if not found.may_be_used:
        raise typer.Exit(1)


def register(app: typer.Typer) -> None:
    """Add these commands."""
    app.command()(papers)
