"""The commands of the drill press and the engineer: `coupon`, `engineering`."""

from __future__ import annotations

from typing import Annotated

import typer

from . import talking
from .options import AsJson, Case, Workers


def coupon(
    folder: Case,
    rod: Annotated[list[str] | None, typer.Option(help="A stocked rod such as 3/16; may be repeated.")] = None,
    panel: Annotated[str | None, typer.Option(help="The panel whose offcut it is; the first one without.")] = None,
    as_json: AsJson = False,
) -> None:
    """Tell which drills to try in an offcut, and what the measured rods and test holes of case.toml decide."""
    from scanprep.plain import to_plain
    from scanprep.post.coupon import STEPS, coupon_findings, coupon_rows
    from scanprep.workspace.folder import open_case

    case = open_case(folder)
    sheet = case.panel(panel) if panel else next(iter(case.case.panels), None)
    rows = coupon_rows(case.settings, case.case, sheet, tuple(rod or ()))
    findings = coupon_findings(case.settings, case.case, sheet, tuple(rod or ()))
    if as_json:
        talking.print_json({"rows": to_plain(rows), "findings": to_plain(findings), "steps": list(STEPS)})
    else:
        talking.print_table(
            ("rod", "mm", "drill", "usual hole", "deep", "snug hole", "measured", "push N", "says"),
            ((row.rod, f"{row.rod_mm:.3f}", row.drill, f"{row.hole_low_mm:.3f}-{row.hole_high_mm:.3f}",
              f"{row.depth_mm:.1f}", f"{row.snug_low_mm:.4f}-{row.snug_high_mm:.4f}",
              None if row.measured_mm is None else f"{row.measured_mm:.3f}", row.push_in_N, row.says) for row in rows))
        for step in STEPS:
            print(f"- {step}")
        talking.print_findings(findings)
    talking.leave(findings)


def engineering(folder: Case, workers: Workers = None, as_json: AsJson = False) -> None:
    """Print the engineering note: what governs each object and panel, on what assumptions, from which sources."""
    from scanprep.panel.engineering import note_text
    from scanprep.plain import to_plain
    from scanprep.workspace.batch import compute_case
    from scanprep.workspace.engineering import case_note
    from scanprep.workspace.executor import make_executor
    from scanprep.workspace.folder import open_case

    case = open_case(folder)
    with make_executor(workers, max(len(case.state.objects), 1)) as executor:
        note = case_note(case, compute_case(case, executor, talking.Progress(quiet=as_json)))
    if as_json:
        talking.print_json(to_plain(note))
    else:
        print(note_text(note))


def register(app: typer.Typer) -> None:
    """Add these commands."""
    for command in (coupon, engineering):
        app.command()(command)
