"""The command that shows what was measured on one object: `survey`."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from . import console
from .options import AsJson, Case, Object


def survey(
    folder: Case, number: Object,
    picture: Annotated[Path | None, typer.Option(help="Where to write the picture (PNG).")] = None,
    as_json: AsJson = False,
) -> None:
    """Show what was measured on an object: a table with its doubt, and a picture with centre of mass and footprint."""
    from scanprep.plain_values import to_plain
    from scanprep.survey.survey_rows import HEADS, cost, survey_rows
    from scanprep.workspace.folder import open_case
    from scanprep.workspace.surveying import show_survey

    case = open_case(folder)
    seen = show_survey(case, number, picture)
    rows = survey_rows(seen.survey, case.case.units)
    if as_json:
        console.print_json({"object": number, "grade": seen.grade, "reasons": list(seen.reasons),
                            "receipt": to_plain(seen.receipt), "rows": to_plain(rows),
                            "findings": to_plain(seen.findings), "picture": str(seen.picture)})
        return
    console.print_table(HEADS, [(row.what, row.value, row.doubt, row.basis) for row in rows])
    print(f"\nscan: {seen.grade}; {'; '.join(seen.reasons)}")
    console.print_table(("repair", "count", "surface", "volume", "detail"),
                        [(r.kind, r.count, cost(r.area_mm2, 2), cost(r.volume_mm3, 3), r.detail) for r in seen.receipt])
    console.print_findings(seen.findings)
    print(f"\npicture: {seen.picture}")


def register(app: typer.Typer) -> None:
    """Add these commands."""
    app.command()(survey)
