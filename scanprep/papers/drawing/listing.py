"""Any list as office-size pages: heading, warning, notes, a table that goes on from page to page, sheet numbers.

Used by the schedule, drill list, cut list, install order, ordinates and coupon sheet.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

from scanprep.papers.drawing.grid import Cell, Column, grid, heading
from scanprep.papers.drawing.page import Blank, Issue, blank, finished
from scanprep.papers.drawing.sheet import BLACK, WHITE, Box, Item, Sheet, Text, rectangle, wrapped

_NOTE_MM, _LEAD_MM = 1.9, 3.1  # layout: height and pitch of a list's notes


def stretched_columns(width_mm: float, shares: Sequence[tuple[str, float, str]]) -> list[Column]:
    """Return columns of (head, share, align) stretched to a width; the first is bold."""
    stretch = width_mm / sum(share for _, share, _ in shares)
    return [Column(head, share * stretch, align, i == 0) for i, (head, share, align) in enumerate(shares)]


def _opening(title: str, notes: Sequence[str], warning: str, banner: str, first: bool,
             room: Box) -> tuple[list[Item], float]:
    """What stands above the table, and where it ends."""
    head = heading(title, room.left_mm, room.top_mm, room.width_mm, 3.5)
    items, y = list(head.items), head.bottom_mm
    for text in wrapped(banner, room.width_mm, 2.2, True) if banner else ():
        items.append(Text(room.left_mm, y - 2.6, text, 2.2, bold=True))
        y -= 3.6
    if warning:
        said = warning if first else f"{warning.splitlines()[0].split(':')[0]}: see sheet 1"
        lines = wrapped(said, room.width_mm - 3.0, 2.2, True)
        items.append(rectangle(Box(room.left_mm, y - 3.6 * len(lines) - 1.2, room.right_mm, y), None, BLACK))
        items += [Text(room.left_mm + 1.5, y - 3.6 * (i + 1) + 0.8, text, 2.2, bold=True, colour=WHITE)
                  for i, text in enumerate(lines)]
        y -= 3.6 * len(lines) + 2.4
    if first:
        for note in notes:
            for i, text in enumerate(wrapped(note, room.width_mm - 3.0, _NOTE_MM)):
                items.append(Text(room.left_mm + (0.0 if i == 0 else 3.0), y - 2.2,
                                  f"– {text}" if i == 0 else text, _NOTE_MM))
                y -= _LEAD_MM
    return items, y - 1.5


def list_sheets(issue: Issue, kind: str, subject: str, title: str, columns: Callable[[float], Sequence[Column]],
                rows: Sequence[Sequence[Cell]], *, notes: Sequence[str] = (), warning: str = "", banner: str = "",
                landscape: bool = False, least_row_mm: float = 0.0, height_mm: float = 2.1,
                more_pages: int = 0, pages_before: int = 0) -> list[Sheet]:
    """Return a list as pages; an empty list gives one page that says so.

    columns     makes the columns for a width in mm
    warning     a stamp with its reasons, one a line: in full on the first page, in short on the others
    banner      words that stand on every page in full
    more_pages, pages_before  how many pages of another kind follow and come before, for the sheet numbers

    Raises ValueError where one row does not fit a page.
    """
    room = blank(issue, kind, subject, 1, 1, landscape=landscape).room
    left = list(rows)
    pages: list[list[Item]] = []
    while left or not pages:
        items, y = _opening(title, notes, warning, banner, not pages, room)
        table = grid(columns(room.width_mm), left, room.left_mm, y, height_mm=height_mm, floor_mm=room.bottom_mm,
                     least_row_mm=least_row_mm, upright_rules=True)
        if left and table.rows == 0 and pages:
            raise ValueError(f"a row of the {kind.lower()} does not fit a page")
        items += table.items
        if not rows:
            items.append(Text(room.left_mm, table.bottom_mm - 5.0, "Nothing to list.", 2.5))
        pages.append(items)
        left = left[table.rows:]
    frames: list[Blank] = [blank(issue, kind, subject, pages_before + n + 1, pages_before + len(pages) + more_pages,
                                 landscape=landscape)
                           for n in range(len(pages))]
    return [finished(frame, items, f"{kind} {subject}") for frame, items in zip(frames, pages, strict=True)]
