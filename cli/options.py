"""Arguments and options that several commands share."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

Case = Annotated[Path, typer.Argument(metavar="DIR", help="The case folder.")]
Object = Annotated[str, typer.Argument(metavar="OBJECT", help="The object's number.")]
Objects = Annotated[str, typer.Argument(metavar="OBJECT", help="Its number; several with commas between, or all.")]
AsJson = Annotated[bool, typer.Option("--json", help="Print the result as JSON.")]
Workers = Annotated[int | None, typer.Option(min=0, help="Processes; all cores by default. 0: none but this one, "
                                               "without bounds on time and memory.")]
Scheduler = Annotated[str | None, typer.Option(metavar="ADDRESS", help="A Dask scheduler whose workers do the work; "
                                               "all see the case under its path.")]
Person = Annotated[str | None, typer.Option(help="Who decides; else SCANPREP_PERSON, else your login name.")]
Reason = Annotated[str, typer.Option(help="Why; asked for where a decision is taken back.")]
