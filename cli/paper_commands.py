"""The command that prints everything: `papers`."""

from __future__ import annotations

from typing import Annotated

import typer

from . import console
from .options import AsJson, Case, Workers

_KINDS = ("Kinds of paper; all where none is named: templates drills coupon rods schedule install labels elevations "
          "mounts gauges outlines holds.")


def papers(
    folder: Case,
    kinds: Annotated[list[str] | None, typer.Argument(metavar="[KIND]...", help=_KINDS)] = None,
    paper: Annotated[str, typer.Option(help="Office paper: A4, A3, Letter or Tabloid.")] = "A4",
    units: Annotated[str | None, typer.Option(help="mm or in; the case's own without.")] = None,
    x_bar: Annotated[str | None, typer.Option("--x-bar", help="What the level 500 mm bar of your print measures.")
                     ] = None,
    y_bar: Annotated[str | None, typer.Option("--y-bar", help="What the upright 500 mm bar measures.")] = None,
    workers: Workers = None, as_json: AsJson = False,
) -> None:
    """Print everything the bench needs into DIR/papers; only what changed is drawn again."""
    from scanprep.papers.paper_set import check_kinds
    from scanprep.units import parse_length_mm
    from scanprep.workspace.batch import run_batch
    from scanprep.workspace.executor import make_executor
    from scanprep.workspace.folder import open_case
    from scanprep.workspace.papers import paper_issue, print_correction, write_papers

    wanted = check_kinds(kinds or ())
    correction = print_correction(console.parsed(parse_length_mm, x_bar, "x-bar"),
                                  console.parsed(parse_length_mm, y_bar, "y-bar"))
    case = open_case(folder)
    issue = paper_issue(case, paper, units)
    tell = console.Progress(quiet=as_json)
    with make_executor(workers, max(len(case.state.objects), 1)) as executor:
        result = run_batch(case, executor, tell, papers=False)
        done = write_papers(case, result, executor, wanted, issue, tell, correction)
    if as_json:
        console.print_json({"folder": str(done.folder), "written": list(done.written), "kept": done.kept,
                            "removed": list(done.removed)})
        return
    print(f"{len(done.written)} papers written, {done.kept} were right already, {len(done.removed)} taken away")
    print(f"open {done.folder}")


def register(app: typer.Typer) -> None:
    """Add these commands."""
    app.command()(papers)
