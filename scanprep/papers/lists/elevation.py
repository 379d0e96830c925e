"""Each face as a flat elevation to scale: every outline where it stands, numbers, heights above the floor, eye lines.

For the table where curator and designer sit. Holes that are void are crossed; what stands on the other face is dashed.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from scanprep.panel.faces import FaceName, from_other_left_mm
from scanprep.papers.drawing.grid import grid, heading
from scanprep.papers.drawing.letters import text_width_mm
from scanprep.papers.drawing.listing import stretched_columns
from scanprep.papers.drawing.page import Issue, blank, finished
from scanprep.papers.drawing.sheet import (
    BLACK,
    GREY,
    PALE,
    WHITE,
    Box,
    Circle,
    Group,
    Item,
    Path,
    Pen,
    Point,
    Sheet,
    Text,
    line,
    rectangle,
    shortened,
)
from scanprep.vectors import F64

#: layout: Reductions of elevations, ISO 5455 and the usual steps between.
SCALES = (1.0, 2.0, 2.5, 5.0, 7.5, 10.0, 12.5, 15.0, 20.0, 25.0, 50.0)
_LIST_MM = 66.0  # layout: paper, at the right: what stands on this face
_OTHER = Pen(0.13, GREY, (1.2, 0.8))  # layout: what hangs on the other face


@dataclass(frozen=True, slots=True, eq=False)
class ElevationItem:
    """One object on a face: rings (k, 2) in that face's own frame, mm."""

    number: str
    face: FaceName
    rings_mm: tuple[F64, ...]
    anchor_mm: Point
    colour: tuple[int, int, int] = (200, 200, 200)
    title: str = ""


@dataclass(frozen=True, slots=True)
class ElevationPanel:
    """The sheet that an elevation shows."""

    name: str
    width_mm: float
    height_mm: float
    stands_at_mm: float  # lower edge above the floor
    eye_heights_mm: tuple[float, ...] = ()


def elevation_sheet(panel: ElevationPanel, face: FaceName, things: Sequence[ElevationItem], issue: Issue) -> Sheet:
    """Return one face as its own viewer sees it, as large as a scale of the table allows."""
    page = blank(issue, "Elevation", f"{panel.name} face {face}", 1 if face == "A" else 2, 2)
    room = Box(page.room.left_mm + 14.0, page.room.bottom_mm + 4.0, page.room.right_mm - _LIST_MM - 24.0,
               page.room.top_mm - 14.0)
    tall = panel.height_mm + panel.stands_at_mm
    scale = next((s for s in SCALES if panel.width_mm / s <= room.width_mm and tall / s <= room.height_mm),
                 max(panel.width_mm / room.width_mm, tall / room.height_mm))
    x0 = room.left_mm
    y0 = room.bottom_mm + panel.stands_at_mm / scale
    items: list[Item] = [
        Text(page.room.left_mm, page.room.top_mm - 5.0, f"Panel {panel.name}, face {face}", 4.5, bold=True),
        Text(page.room.left_mm, page.room.top_mm - 9.5, f"scale 1 : {scale:g}; as this face's viewer sees it; dashed: "
             "on the other face, seen through the sheet; never to drill from", 2.0, colour=GREY),
        *_heights(panel, scale, x0, y0, issue),
        *_list(things, face, Box(page.room.right_mm - _LIST_MM, page.room.bottom_mm, page.room.right_mm, room.top_mm),
               panel, issue)]
    drawing: list[Item] = [rectangle(Box(0.0, 0.0, panel.width_mm / scale, panel.height_mm / scale), Pen(0.5))]
    for thing in (t for t in things if t.face != face):
        drawing += [Path(_scaled(ring, scale, panel.width_mm), _OTHER, True) for ring in thing.rings_mm]
    for thing in (t for t in things if t.face == face):
        drawing += _thing(thing, scale)
    return finished(page, [*items, Group(tuple(drawing), x0, y0)], f"Elevation {panel.name} face {face}")


def _list(things: Sequence[ElevationItem], face: FaceName, box: Box, panel: ElevationPanel, issue: Issue) -> list[Item]:
    """The objects of this face from the top down, with the place of each post."""
    here = sorted((t for t in things if t.face == face), key=lambda t: (-t.anchor_mm[1], t.anchor_mm[0]))
    head = heading(f"{len(here)} ON FACE {face} ({issue.measures.units})", box.left_mm, box.top_mm, box.width_mm, 2.2)
    columns = stretched_columns(box.width_mm, (("object", 16.0, "start"), ("title", 28.0, "start"),
                                               ("from left", 11.0, "end"), ("floor to post", 13.0, "end")))
    rows = [[t.number, t.title, issue.measures.length(t.anchor_mm[0]),
             issue.measures.length(t.anchor_mm[1] + panel.stands_at_mm)] for t in here]
    for height in (1.8, 1.6, 1.4, 1.2):
        table = grid(columns, rows, box.left_mm, head.bottom_mm, height_mm=height, floor_mm=box.bottom_mm)
        if table.rows == len(rows):
            return [*head.items, *table.items]
    more = f"… {len(rows) - table.rows} more: see the schedule"
    return [*head.items, *table.items, Text(box.left_mm, box.bottom_mm - 2.0, more, 1.5, bold=True)]


def _scaled(ring: F64, scale: float, mirror_width_mm: float | None = None) -> tuple[Point, ...]:
    if mirror_width_mm is None:
        return tuple((float(x) / scale, float(y) / scale) for x, y in ring)
    return tuple((from_other_left_mm(float(x), mirror_width_mm) / scale, float(y) / scale) for x, y in ring)


def _thing(thing: ElevationItem, scale: float) -> list[Item]:
    paint = tuple(0.55 + 0.45 * part / 255 for part in thing.colour)
    fill = (paint[0], paint[1], paint[2])
    items: list[Item] = [Path(_scaled(ring, scale), Pen(0.25), True, fill) for ring in thing.rings_mm]
    x, y = thing.anchor_mm[0] / scale, thing.anchor_mm[1] / scale
    ys = [float(v) / scale for ring in thing.rings_mm for v in ring[:, 1]] or [y]
    wide = max((float(ring[:, 0].max() - ring[:, 0].min()) for ring in thing.rings_mm), default=0.0) / scale
    return [*items, Circle(x, y, 0.5, None, BLACK),
            *_haloed(x, min(ys) - 2.6, shortened(thing.number, max(16.0, wide), 1.8, True))]


def _haloed(x: float, y: float, words: str) -> list[Item]:
    """A number on white, so that a dashed outline behind it does not strike it through."""
    wide = text_width_mm(words, 1.8, True)
    return [rectangle(Box(x - wide / 2 - 0.4, y - 0.4, x + wide / 2 + 0.4, y + 2.2), None, WHITE),
            Text(x, y, words, 1.8, "middle", bold=True)]


def _heights(panel: ElevationPanel, scale: float, x0: float, y0: float, issue: Issue) -> list[Item]:
    """Floor, a rule of heights above it, and eye lines."""
    floor, right = y0 - panel.stands_at_mm / scale, x0 + panel.width_mm / scale
    items: list[Item] = [line(x0 - 4.0, floor, right + 8.0, floor, Pen(0.5)),
                         Text(right + 9.0, floor - 0.8, "floor", 1.8)]
    step, top = 250.0 if issue.measures.units == "mm" else 254.0, panel.stands_at_mm + panel.height_mm
    for k in range(int(top // step) + 1):
        y = floor + k * step / scale
        said = f"{k * step:.0f}" if issue.measures.units == "mm" else issue.measures.length(k * step)
        items += [line(x0 - 4.0, y, x0 - 1.5, y, Pen(0.18)),
                  Text(x0 - 5.0, y - 0.8, said, 1.6, "end", colour=GREY)] if k else []
    for eye in panel.eye_heights_mm:
        y = floor + eye / scale
        items += [line(x0 - 1.0, y, right + 8.0, y, Pen(0.13, PALE, (3.0, 1.5))),
                  Text(right + 9.0, y - 0.8, f"eye {issue.measures.length(eye)}", 1.6, colour=GREY)]
    return items
