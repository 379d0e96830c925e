"""The command of the drill press, `coupon`, and what `check --engineering` prints."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from . import talking
from .options import AsJson, Case

if TYPE_CHECKING:
    from scanprep.workspace.batch import CaseResult
    from scanprep.workspace.folder import CaseFolder


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


def print_note(case: CaseFolder, result: CaseResult, as_json: bool) -> None:
    """Print the engineering note of a case (`check --engineering`); exit 1 where something in it says stop."""
    from scanprep.findings import Verdict
    from scanprep.panel.engineering import note_text
    from scanprep.plain import to_plain
    from scanprep.workspace.bench import case_note

    note = case_note(case, result)
    if as_json:
        talking.print_json(to_plain(note))
    else:
        print(note_text(note))
    if note.verdict is Verdict.STOP:
        raise typer.Exit(1)


def register(app: typer.Typer) -> None:
    """Add these commands."""
    app.command()(coupon)
