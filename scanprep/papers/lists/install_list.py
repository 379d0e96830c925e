"""The install order as a list to work from: mounts into both faces first, then objects, with who ticks what."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from scanprep.papers.drawing.grid import Cell, TickBox
from scanprep.papers.drawing.listing import list_sheets, stretched_columns
from scanprep.papers.drawing.page import Issue
from scanprep.papers.drawing.sheet import Sheet
from scanprep.papers.drawing.tables import Table

NOTES = (
    "A mount is one piece with its post. Each post was tried in its hole in the workshop (dry-fitted) before the sheet "
    "went into its case; sheets stand, plumb and fixed.",
    "First all mounts go in, on both faces: push on hub or post, never on an arm. Then each object is placed into its "
    "mount at the sheet, as its sheet says how it opens. One side of the case is open at a time.",
    "Two people for every object; condition note and photo before and after; count openings.",
)


@dataclass(frozen=True, slots=True)
class InstallStep:
    """One step of the order."""

    number: int
    what: str  # "mount", "object"
    object_number: str
    title: str
    place: str  # "West A"
    hole: str
    note: str = ""  # what is in the way, how it goes in


def install_sheets(steps: Sequence[InstallStep], issue: Issue, findings: Sequence[str] = ()) -> list[Sheet]:
    """Return the install order as pages; `findings` are sentences on what stands against it."""
    rows: list[list[Cell]] = [
        [str(s.number), s.what, s.object_number, s.title, s.place, s.hole, s.note, TickBox(), "", ""] for s in steps]
    return list_sheets(issue, "Install order", f"{len(steps)} steps", "Install order",
                       lambda width: stretched_columns(width, (
                           ("step", 9, "end"), ("what", 16, "start"), ("object", 22, "start"), ("title", 44, "start"),
                           ("face", 16, "start"), ("hole", 12, "start"), ("note", 60, "start"), ("done", 9, "start"),
                           ("by", 22, "start"), ("checked by", 22, "start"))),
                       rows, notes=NOTES, warning="LOOK: " + "; ".join(findings) if findings else "",
                       landscape=True, least_row_mm=6.0)


def install_table(steps: Sequence[InstallStep]) -> Table:
    """Return the install order for CSV and XLSX."""
    return Table("install order", ("step", "what", "object", "title", "place", "hole", "note"),
                 tuple((s.number, s.what, s.object_number, s.title, s.place, s.hole, s.note) for s in steps))
