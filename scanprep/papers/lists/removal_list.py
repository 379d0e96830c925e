"""The removal sheet: in which order everything comes out, in which condition, and what becomes of the holes.

The order of installation turned round: objects first, each with what has to be out before it, then mounts. What is on
record already (removed, on loan, returned, replaced, with its words) is printed; the rest is ticked at the sheet.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from scanprep.papers.drawing.grid import Cell, TickBox
from scanprep.papers.drawing.listing import list_sheets, stretched_columns
from scanprep.papers.drawing.page import Issue
from scanprep.papers.drawing.sheet import Sheet
from scanprep.papers.drawing.tables import Table

NOTES = (
    "All objects come out first, each from its mount at the sheet, then mounts, on hub or post, never by an arm. One "
    "side of the case is open at a time. Two people for every object.",
    "Look at each object where its tips sat; photograph it and write its condition before it leaves the sheet. Record "
    "it: scanprep moved DIR OBJECT removed --note.",
    "A drilled hole stays in the sheet. It goes on with another object (scanprep reuse), or is given up (scanprep "
    "void) and may be plugged (scanprep plug); either way it stays on record.",
)


@dataclass(frozen=True, slots=True)
class RemovalStep:
    """One thing that comes out."""

    number: int
    what: str  # "object", "mount"
    object_number: str
    title: str
    place: str  # "West A"
    hole: str
    note: str  # what has to be out before, which door is open
    now: str  # where it is by the record: "installed", "removed 2026-11-30: sound"
    condition: str  # last one on record


@dataclass(frozen=True, slots=True)
class HoleAfterwards:
    """A drilled hole and what is known of its later life."""

    number: str
    object_number: str
    place: str  # "West A, X 412.35, Y 1260.50 mm"
    drilled: str  # drill and depth as drilled
    state: str  # "drilled", "void: object 3 withdrawn"
    later: str  # "plugged with acrylic rod"


def removal_sheets(steps: Sequence[RemovalStep], holes: Sequence[HoleAfterwards], issue: Issue) -> list[Sheet]:
    """Return the removal sheet as pages, the holes after the steps."""
    rows: list[list[Cell]] = [
        [str(s.number), s.what, s.object_number, s.title, s.place, s.hole, s.note, s.now, s.condition, "",
         TickBox(), ""] for s in steps]
    after: list[list[Cell]] = [[h.number, h.object_number, h.place, h.drilled, h.state, h.later, "", ""] for h in holes]

    def pages(more: int, before: int) -> tuple[list[Sheet], list[Sheet]]:
        out = list_sheets(issue, "Removal", f"{len(steps)} steps", "Removal",
                          lambda width: stretched_columns(width, (
                              ("step", 9, "end"), ("what", 14, "start"), ("object", 18, "start"),
                              ("title", 34, "start"), ("face", 16, "start"), ("hole", 12, "start"),
                              ("note", 34, "start"),
                              ("by the record", 30, "start"), ("last condition", 30, "start"),
                              ("condition now", 40, "start"), ("out", 9, "start"), ("by", 18, "start"))),
                          rows, notes=NOTES, landscape=True, least_row_mm=9.0, more_pages=more)
        left = list_sheets(issue, "Removal", f"{len(holes)} holes", "Holes afterwards",
                           lambda width: stretched_columns(width, (
                               ("hole", 12, "start"), ("object", 18, "start"), ("place", 60, "start"),
                               ("as drilled", 34, "start"), ("state", 50, "start"), ("on record", 40, "start"),
                               ("plug, reuse or leave", 40, "start"), ("by", 18, "start"))),
                           after, landscape=True, least_row_mm=9.0, pages_before=before)
        return out, left

    out, left = pages(0, 0)
    out, left = pages(len(left), len(out))
    return [*out, *left]


def removal_table(steps: Sequence[RemovalStep]) -> Table:
    """Return the order of removal for CSV."""
    return Table("removal", ("step", "what", "object", "title", "place", "hole", "note", "by_the_record",
                             "last_condition"),
                 tuple((s.number, s.what, s.object_number, s.title, s.place, s.hole, s.note, s.now, s.condition)
                       for s in steps))
