"""The check page of a panel: the holes of both faces over each other, and the pairs that come nearest inside the sheet.

Drawn in face A's frame; face B's holes are turned over, dashed. Look at it against the light with both templates.
"""

from __future__ import annotations

import math

from scanprep.papers.drawing.dimensions import first_clear, word_spots
from scanprep.papers.drawing.grid import grid, heading
from scanprep.papers.drawing.letters import text_width_mm
from scanprep.papers.drawing.listing import stretched_columns
from scanprep.papers.drawing.page import Issue, blank, finished
from scanprep.papers.drawing.sheet import (
    BLACK,
    GREY,
    Box,
    Circle,
    ControlMark,
    Group,
    Item,
    Path,
    Pen,
    Sheet,
    Text,
    line,
    rectangle,
    stacked,
    wrapped,
)
from scanprep.papers.templates.template import NOT_FOR_DRILLING, TemplateHole, TemplatePanel, datum_x_mm

_B_PEN = Pen(0.25, BLACK, (1.0, 0.7))  # layout: face B is dashed
_MOST_PAIRS = 14  # layout: pairs of holes that the sheet lists


def nearest_pairs(panel: TemplatePanel) -> list[tuple[float, TemplateHole, TemplateHole]]:
    """Return (clear distance of the two circles as seen through the sheet, hole, hole), the nearest first.

    Void holes that were drilled count; a negative distance says that the circles overlap in this view. Whether two
    holes meet inside the sheet depends on their depths as well: the case's own check says that.
    """
    real = [h for h in panel.holes if h.state != "void" or h.was_drilled]
    pairs = []
    for i, a in enumerate(real):
        for b in real[i + 1:]:
            apart = math.hypot(datum_x_mm(a, panel) - datum_x_mm(b, panel), a.y_mm - b.y_mm)
            pairs.append((apart - (a.drill_diameter_mm + b.drill_diameter_mm) / 2, a, b))
    return sorted(pairs, key=lambda pair: (pair[0], pair[1].number, pair[2].number))


def _hole(hole: TemplateHole, panel: TemplatePanel, scale: float) -> list[Item]:
    """A hole's mark; on a small page a mark of one size, filled for face A, its figures in the table."""
    x, y = datum_x_mm(hole, panel) / scale, hole.y_mm / scale
    r = hole.drill_diameter_mm / 2 if scale == 1.0 else 0.9
    grey = GREY if hole.state == "void" else BLACK
    pen = Pen(0.25, grey) if hole.face == "A" or scale > 1.0 else Pen(0.25, grey, _B_PEN.dash_mm)
    fill = grey if hole.face == "A" and scale > 1.0 else None
    items: list[Item] = [Circle(x, y, r, pen, fill), line(x - r - 1.0, y, x + r + 1.0, y, Pen(0.1, grey)),
                         line(x, y - r - 1.0, x, y + r + 1.0, Pen(0.1, grey))]
    if hole.state == "void":
        items.append(line(x - r - 1.0, y - r - 1.0, x + r + 1.0, y + r + 1.0, Pen(0.25, GREY)))
    return items


def _numbers(panel: TemplatePanel, scale: float) -> list[Item]:
    """Every hole's number beside its mark, where it lies over no other mark or number."""
    spots = [(hole, datum_x_mm(hole, panel) / scale, hole.y_mm / scale) for hole in panel.holes]
    taken = [Box(x - 1.2, y - 1.2, x + 1.2, y + 1.2) for _, x, y in spots]
    items: list[Item] = []
    for hole, x, y in spots:
        reach = hole.drill_diameter_mm / 2 + 1.5 if scale == 1.0 else 2.2
        wide = text_width_mm(hole.number, 1.6, hole.face == "A")
        right, left, *others = word_spots(x, y, wide, 1.6, reach)
        best = first_clear([right, left, *others] if hole.face == "A" else [left, right, *others], taken)
        taken.append(best)
        colour = GREY if hole.state == "void" else BLACK
        items.append(Text(best.left_mm, best.bottom_mm, hole.number, 1.6, colour=colour, bold=hole.face == "A"))
    return items


def overlay_sheet(panel: TemplatePanel, issue: Issue) -> Sheet:
    """Return both faces over each other on one office page, in face A's frame."""
    page = blank(issue, "Overlay of both faces", f"panel {panel.name}", 1, 1)
    room, measures = page.room, issue.measures
    head = heading(f"Panel {panel.name}: both faces, as face A's viewer sees them", room.left_mm, room.top_mm,
                   room.width_mm, 3.5)
    key = Text(room.left_mm, head.bottom_mm - 2.4, "filled, bold numbers: face A; open: face B turned over; grey and "
               "crossed: not used", 1.9)
    drawn = Box(room.left_mm + 2.0, room.bottom_mm + 2.0, room.left_mm + room.width_mm * 0.55, head.bottom_mm - 6.0)
    scale = max(panel.width_mm / drawn.width_mm, panel.height_mm / drawn.height_mm)
    things: list[Item] = [rectangle(Box(0, 0, panel.width_mm / scale, panel.height_mm / scale), Pen(0.35)),
                          Path(((0, 0), (5, 0), (0, 5)), None, True, BLACK)]
    for hole in panel.holes:
        things += _hole(hole, panel, scale)
    things += _numbers(panel, scale)
    pairs = nearest_pairs(panel)
    left = drawn.right_mm + 5.0
    beside = room.right_mm - left
    table_head = heading("Nearest to each other", left, head.bottom_mm - 6.0, beside, 2.5)
    rows = [[a.number, b.number, "both " + a.face if a.face == b.face else "A and B", measures.fine(gap)]
            for gap, a, b in pairs[:_MOST_PAIRS]]
    table = grid(stretched_columns(beside, (("hole", 20, "start"), ("hole", 20, "start"), ("faces", 16, "start"),
                                            (f"clear {measures.units}", 14, "end"))),
                 rows, left, table_head.bottom_mm, height_mm=1.8)
    through = [h for h in panel.on("A") if h.through and h.state != "void"]
    said = (f"{len(panel.on('A'))} holes on A, {len(panel.on('B'))} on B, {len(through)} through. Clear: between the "
            "circles in this view; negative overlaps.")
    words = stacked(wrapped(said, beside, 1.7), left, table.bottom_mm - 2.0, 1.7, colour=GREY)
    return finished(page, [*head.items, key, *table_head.items, *table.items, *words,
                           Group(tuple(things), drawn.left_mm, drawn.bottom_mm)], f"Overlay {panel.name}")


def overlay_long_sheet(panel: TemplatePanel, issue: Issue) -> Sheet:
    """Return both faces over each other at 1:1, face A's frame, to lay over the film of both templates."""
    edge = 30.0
    said = f"panel {panel.name}: both faces over each other, 1:1, for checking only; {NOT_FOR_DRILLING}"
    said += issue.rules_hint
    things: list[Item] = [rectangle(Box(0, 0, panel.width_mm, panel.height_mm), Pen(0.35)),
                          Path(((0, 0), (14, 0), (0, 14)), None, True, BLACK), Text(0, -12.0, said, 4.0, bold=True),
                          ControlMark(0, -20.0, 4.0, bold=True), ControlMark(0, -26.0, 2.5, says="record")]
    for hole in panel.holes:
        things += _hole(hole, panel, 1.0)
        things.append(Text(datum_x_mm(hole, panel) + 4.0, hole.y_mm - 4.0, f"face {hole.face}", 1.8, colour=GREY))
    things += _numbers(panel, 1.0)
    return Sheet(panel.width_mm + 2 * edge, panel.height_mm + 2 * edge, (Group(tuple(things), edge, edge),),
                 f"Overlay {panel.name} 1:1")
