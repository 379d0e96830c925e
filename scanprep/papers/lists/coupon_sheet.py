"""The coupon sheet: test holes to drill in an offcut before any panel is touched, and what to measure in each.

No catalogue drill makes a snug hole for certain, so the offcut decides. A drawing of the offcut at 1:1 gives the places
of the holes still to be drilled; the table says what to lay beside the rod and takes hole, push, twist and pull; the
results go into case.toml.
"""

from __future__ import annotations

from collections.abc import Sequence

from scanprep.papers.drawing.dimensions import centre_mark
from scanprep.papers.drawing.listing import list_sheets, stretched_columns
from scanprep.papers.drawing.page import Issue, blank, finished
from scanprep.papers.drawing.sheet import Box, Circle, Item, Pen, Sheet, Text, rectangle
from scanprep.papers.templates.marks import check_bar
from scanprep.post.coupon import CouponRow, steps
from scanprep.rules import Rulebook

_PITCH_MM, _EDGE_MM = 25.0, 15.0  # layout: at least 3 diameters of 1/4 in apart and 2 from an edge


def coupon_sheets(rows: Sequence[CouponRow], issue: Issue, rules: Rulebook, sheet_words: str = ""
                  ) -> list[Sheet]:
    """Return the table of test holes and, where there are any, the offcut at 1:1.

    sheet_words  which sheet the offcut must come from, such as "panel West, 30 mm"
    """
    measures = issue.measures
    cells = [[str(n), row.rod, f"{measures.micro(row.rod_mm)}{'' if row.rod_measured else ' *'}", row.drill,
              measures.fine(row.drill_mm), f"{measures.fine(row.hole_low_mm)} – {measures.fine(row.hole_high_mm)}",
              measures.length(row.depth_mm), row.retention,
              "" if row.measured_mm is None else measures.micro(row.measured_mm),
              *("" if value is None else f"{value:.0f}" for value in (row.push_N, row.twist_Nmm, row.pull_N)),
              row.says if row.coupons == 0 else f"{row.verdict.value}: {row.says}"]
             for n, row in enumerate(rows, start=1)]
    table = list_sheets(
        issue, "Coupon sheet", "test holes", f"Test holes in an offcut{' of ' + sheet_words if sheet_words else ''}",
        lambda width: stretched_columns(width, (
            ("n", 7, "end"), ("rod", 12, "start"), ("rod ⌀", 19, "end"), ("drill", 14, "start"), ("drill ⌀", 13, "end"),
            ("hole it usually makes", 27, "end"), ("depth", 12, "end"), ("held by", 24, "start"),
            ("measured hole", 19, "start"), ("push N", 12, "start"), ("twist N mm", 14, "start"),
            ("pull N", 12, "start"), ("says", 30, "start"))),
        cells, more_pages=1 if rows else 0, least_row_mm=7.0, height_mm=1.9,
        notes=(*steps(rules), "* nominal: this rod has not been measured yet."))
    return [*table, _offcut(rows, issue, len(table) + 1)] if rows else table


def _offcut(rows: Sequence[CouponRow], issue: Issue, of: int) -> Sheet:
    """The offcut at 1:1 with its holes, the last page."""
    page = blank(issue, "Coupon sheet", "offcut 1:1", of, of)
    room = page.room
    across = max(1, int((room.width_mm - 2 * _EDGE_MM) // _PITCH_MM) + 1)
    lines = -(-len(rows) // across)
    wide = 2 * _EDGE_MM + (min(across, len(rows)) - 1) * _PITCH_MM
    tall = 2 * _EDGE_MM + (lines - 1) * _PITCH_MM
    left, top = room.left_mm, room.top_mm - 12.0
    items: list[Item] = [
        Text(room.left_mm, room.top_mm - 5.0, "Offcut at 1:1: check the outline with a rule, then centre-punch through",
             3.0, bold=True), rectangle(Box(left, top - tall, left + wide, top), Pen(0.35))]
    for n, row in enumerate(rows):
        x, y = left + _EDGE_MM + n % across * _PITCH_MM, top - _EDGE_MM - n // across * _PITCH_MM
        items += [Circle(x, y, row.drill_mm / 2, Pen(0.18), layer="DRILL"), *centre_mark(x, y, row.drill_mm / 2 + 4.0),
                  Text(x, y - row.drill_mm / 2 - 7.8, f"{n + 1}", 2.5, "middle", bold=True),
                  Text(x + 3.0, y + row.drill_mm / 2 + 2.0, row.drill, 1.9)]
    words = f"{issue.measures.length(wide)} × {issue.measures.length(tall)} {issue.measures.units}"
    items.append(Text(left, top - tall - 4.5, words, 2.5))
    items += check_bar(left, top - tall - 14.0, 100.0, "100 mm", False)
    return finished(page, items, "Coupon, offcut 1:1")
