"""The removal sheet: in which order everything comes out, in which condition, and what becomes of the holes.

The order of installation turned round: objects first, each with what has to be out before it, then mounts. What is on
record already (removed, on loan, returned, replaced, with its words) is printed; the rest is ticked at the sheet.
At the end every mount's opening is drawn: what is closed, how it opens, which way the object then leaves.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from scanprep.papers.drawing.grid import Cell, TickBox, heading
from scanprep.papers.drawing.listing import list_sheets, stretched_columns
from scanprep.papers.drawing.page import Issue, blank, finished
from scanprep.papers.drawing.sheet import Box, Item, Sheet, shortened
from scanprep.papers.drawing.tables import Table

_WIDE_MM, _DEEP_MM, _GAP_MM = 84.0, 36.0, 3.0  # layout: of the drawing of one mount's opening
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


@dataclass(frozen=True, slots=True, eq=False)
class MountOpening:
    """One object's mount, to be drawn as it opens."""

    object_number: str
    title: str
    draw: Callable[[Box, str], list[Item]]  # into a box, under a heading


def removal_sheets(steps: Sequence[RemovalStep], holes: Sequence[HoleAfterwards], issue: Issue,
                   mounts: Sequence[MountOpening] = ()) -> list[Sheet]:
    """Return the removal sheet as pages: the steps, how each mount opens, the holes afterwards."""
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
    room = blank(issue, "Removal", "", 1, 1, landscape=True).room
    drawn = _openings(mounts, room)
    out, left = pages(len(drawn) + len(left), len(out) + len(drawn))
    subject, of = f"{len(mounts)} mounts", len(out) + len(drawn) + len(left)
    opens = [finished(blank(issue, "Removal", subject, len(out) + n + 1, of, landscape=True), items,
                      f"Removal {subject}") for n, items in enumerate(drawn)]
    return [*out, *opens, *left]


def _openings(mounts: Sequence[MountOpening], room: Box) -> list[list[Item]]:
    """Pages of drawings, as many as fit beside and under each other."""
    across = max(1, int((room.width_mm + _GAP_MM) // (_WIDE_MM + _GAP_MM)))
    head = heading("How each mount opens: the object is held by two hands before anything is opened", room.left_mm,
                   room.top_mm, room.width_mm, 2.6)
    down = max(1, int((head.bottom_mm - room.bottom_mm) // (_DEEP_MM + _GAP_MM)))
    pages = []
    for first in range(0, len(mounts), across * down):
        items: list[Item] = list(head.items)
        for n, mount in enumerate(mounts[first:first + across * down]):
            left = room.left_mm + n % across * (_WIDE_MM + _GAP_MM)
            top = head.bottom_mm - _GAP_MM - n // across * (_DEEP_MM + _GAP_MM)
            words = shortened(f"{mount.object_number}  {mount.title}", _WIDE_MM - 34.0, 1.9, True)
            items += mount.draw(Box(left, top - _DEEP_MM, left + _WIDE_MM, top), words)
        pages.append(items)
    return pages


def removal_table(steps: Sequence[RemovalStep]) -> Table:
    """Return the order of removal for CSV."""
    return Table("removal", ("step", "what", "object", "title", "place", "hole", "note", "by_the_record",
                             "last_condition"),
                 tuple((s.number, s.what, s.object_number, s.title, s.place, s.hole, s.note, s.now, s.condition)
                       for s in steps))
