"""The drill template in tiles for office printers: overlapping, with marks that tell how they go together.

Every tile shows a window of the face at 1:1. Neighbours share 15 mm; crosses stand at the corners of the overlaps, so
that each is printed on every tile that meets there. A page map comes first, the table of ordinates last.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from scanprep.panel.faces import FaceName
from scanprep.papers.drawing.dimensions import first_clear, word_spots
from scanprep.papers.drawing.letters import text_width_mm
from scanprep.papers.drawing.page import Issue, blank, finished
from scanprep.papers.drawing.sheet import (
    BLACK,
    GREY,
    WIDEST_CONTROL,
    Box,
    Circle,
    ControlMark,
    Group,
    Item,
    Pen,
    Sheet,
    Text,
    bounds,
    line,
    paper_mm,
    rectangle,
    shortened,
    stretched,
    wrapped,
)
from scanprep.papers.templates.marks import check_bar, face_drawing, kept_clear
from scanprep.papers.templates.ordinates import count_words, ordinate_sheets, warning_text
from scanprep.papers.templates.template import Correction, TemplatePanel, stamp_words

OVERLAP_MM = 15.0  # layout: of neighbouring tiles, wide enough for its marks
_AROUND_MM = 6.0  # layout: of air round the sheet's edges
_LEFT_MM, _RIGHT_MM, _TOP_MM, _FOOT_MM = 16.0, 8.0, 13.0, 22.0  # layout: paper outside the window


@dataclass(frozen=True, slots=True)
class Tile:
    """One tile: its place in the grid and the window of the face that it shows."""

    column: int  # from 0, at the face's left
    row: int  # from 0, at the face's foot
    window: Box  # face frame, mm

    @property
    def name(self) -> str:
        """Column letter and row number, counted from the lower left: `B3`."""
        letters, n = "", self.column
        while True:
            letters, n = chr(ord("A") + n % 26) + letters, n // 26 - 1
            if n < 0:
                return f"{letters}{self.row + 1}"


def tiles_of(panel: TemplatePanel, paper: str) -> tuple[Tile, ...]:
    """Return the tiles of a face on a paper, row by row from the foot. Raises ValueError for an unknown paper."""
    wide, tall = paper_mm(paper)
    window_w, window_h = wide - _LEFT_MM - _RIGHT_MM, tall - _TOP_MM - _FOOT_MM
    step_w, step_h = window_w - OVERLAP_MM, window_h - OVERLAP_MM
    columns = max(1, math.ceil((panel.width_mm + 2 * _AROUND_MM - OVERLAP_MM) / step_w))
    rows = max(1, math.ceil((panel.height_mm + 2 * _AROUND_MM - OVERLAP_MM) / step_h))
    return tuple(
        Tile(c, r, Box(-_AROUND_MM + c * step_w, -_AROUND_MM + r * step_h, -_AROUND_MM + c * step_w + window_w,
                       -_AROUND_MM + r * step_h + window_h))
        for r in range(rows) for c in range(columns))


def tile_origin_mm(tile: Tile) -> tuple[float, float]:
    """Return where the face's lower left corner would stand on the tile's paper, from the paper's lower left."""
    return _LEFT_MM - tile.window.left_mm, _FOOT_MM - tile.window.bottom_mm


def _cross(x: float, y: float, name: str) -> list[Item]:
    """A cross with its name below at the right, between it and the edge of the tile that it stands last on."""
    room = OVERLAP_MM / 2 - 2.0
    return [line(x - 5.0, y, x + 5.0, y, Pen(0.1), "REGISTRATION"),
            line(x, y - 5.0, x, y + 5.0, Pen(0.1), "REGISTRATION"), Circle(x, y, 1.5, Pen(0.1), layer="REGISTRATION"),
            Text(x + 1.7, y - 3.6, name, min(1.5, 1.5 * room / text_width_mm(name, 1.5)), colour=GREY,
                 layer="REGISTRATION")]


def joint_crosses(tiles: Sequence[Tile]) -> list[tuple[str, float, float]]:
    """Return the crosses in the middles of the overlaps, each named once and printed on two or four tiles."""
    places: dict[str, tuple[float, float]] = {}
    for tile in tiles:
        x, y = tile.window.left_mm + OVERLAP_MM / 2, tile.window.bottom_mm + OVERLAP_MM / 2
        places[tile.name] = (x, y)
    right = max(tile.column for tile in tiles)
    top = max(tile.row for tile in tiles)
    for tile in tiles:
        x, y = tile.window.right_mm - OVERLAP_MM / 2, tile.window.top_mm - OVERLAP_MM / 2
        if tile.column == right:
            places[f"{tile.name}→"] = (x, tile.window.bottom_mm + OVERLAP_MM / 2)
        if tile.row == top:
            places[f"{tile.name}↑"] = (tile.window.left_mm + OVERLAP_MM / 2, y)
        if tile.column == right and tile.row == top:
            places[f"{tile.name}↗"] = (x, y)
    return [(name, x, y) for name, (x, y) in places.items()
            if sum(tile.window.meets(Box(x, y, x, y)) for tile in tiles) > 1]


def _trim_marks(tile: Tile, tiles: Sequence[Tile]) -> list[Item]:
    """Where to cut: the left and lower overlaps are cut away down their middle, and laid over the neighbour."""
    window, cut = tile.window, Pen(0.13, GREY, (3.0, 2.0))
    items: list[Item] = []
    if tile.column > 0:
        x = window.left_mm + OVERLAP_MM / 2
        items += [line(x, window.bottom_mm, x, window.top_mm, cut, "TRIM"),
                  Text(x - 1.0, window.bottom_mm + window.height_mm / 2, "cut here, lay over the tile to the left", 1.5,
                       "middle", 90.0, colour=GREY, layer="TRIM")]
    if tile.row > 0:
        y = window.bottom_mm + OVERLAP_MM / 2
        items += [line(window.left_mm, y, window.right_mm, y, cut, "TRIM"),
                  Text(window.left_mm + window.width_mm / 2, y - 2.5, "cut here, lay over the tile below", 1.5,
                       "middle", colour=GREY, layer="TRIM")]
    return items


def _around(tile: Tile, tiles: Sequence[Tile], panel: TemplatePanel, face: FaceName, issue: Issue,
            stamp: str, stretch: str, size: tuple[float, float]) -> list[Item]:
    """What stands on the paper outside the window: names, bars, the warning."""
    wide, tall = size
    named = {t.name for t in tiles}
    near = [f"{mark} {Tile(tile.column + dc, tile.row + dr, tile.window).name}" for mark, dc, dr in
            (("←", -1, 0), ("→", 1, 0), ("↓", 0, -1), ("↑", 0, 1))
            if tile.column + dc >= 0 and tile.row + dr >= 0
            and Tile(tile.column + dc, tile.row + dr, tile.window).name in named]
    words = f"panel {panel.name}  face {face}   {count_words(panel.on(face))}   1:1, print at 100 %"
    room = wide - _LEFT_MM - _RIGHT_MM - 18.0
    items: list[Item] = [
        Text(_LEFT_MM, 14.2, tile.name, 5.0, bold=True),
        Text(_LEFT_MM + 18.0, 17.6, shortened(words, room - text_width_mm(WIDEST_CONTROL, 1.9, True) - 3.0, 1.9), 1.9),
        ControlMark(wide - _RIGHT_MM, 17.6, 1.9, "end", bold=True),
        Text(_LEFT_MM + 18.0, 14.6, f"neighbours {'  '.join(near)}   ordinates in the table are the authority; film "
                                    "advised; this side towards you", 1.7, colour=GREY),
        *check_bar(_LEFT_MM, 7.5, 100.0, "100 mm", False), *check_bar(10.0, _FOOT_MM, 100.0, "100 mm", True),
    ]
    items += [*check_bar(_LEFT_MM, tall - 9.5, 101.6, "4 in", False),
              *check_bar(10.0, _FOOT_MM + 115.0, 101.6, "4 in", True)]
    for n, said in enumerate(wrapped(stretch, wide - _LEFT_MM - 101.6 - 6.0 - _RIGHT_MM, 1.8, True) if stretch else ()):
        items.append(Text(wide - _RIGHT_MM, tall - 8.2 - 2.9 * n, said, 1.8, "end", bold=True))
    if stamp:
        said = shortened(stamp, wide - _LEFT_MM - _RIGHT_MM - 105.0, 2.5, True)
        items.append(Text(wide - _RIGHT_MM, 6.0, said, 2.5, "end", bold=True))
    return items


def tile_sheet(tile: Tile, tiles: Sequence[Tile], panel: TemplatePanel, face: FaceName, issue: Issue, paper: str,
               correction: Correction | None = None) -> Sheet:
    """Return one tile as a page. Items outside its window are left out, what crosses its edge is clipped."""
    stamp = stamp_words(panel.on(face))
    wide, tall = paper_mm(paper)
    x0, y0 = tile_origin_mm(tile)
    clip = Box(_LEFT_MM, _FOOT_MM, wide - _RIGHT_MM, tall - _TOP_MM)
    crosses = [mark for name, x, y in joint_crosses(tiles)
               if tile.window.meets(Box(x - 4.0, y - 4.0, x + 4.0, y + 4.0)) for mark in _cross(x, y, name)]
    joints = [*crosses, *_trim_marks(tile, tiles)]
    drawing = [*face_drawing(panel, face, issue.measures, stamp, tile.window, kept_clear(joints)), *joints]
    items: tuple[Item, ...] = (Group(tuple(drawing), x0, y0, clip), rectangle(clip, Pen(0.1, GREY), layer="TRIM"),
                               *_around(tile, tiles, panel, face, issue, stamp, correction.words if correction else "",
                                       (wide, tall)))
    if correction is not None and not correction.is_none:
        items = stretched(items, correction.x_ratio, correction.y_ratio)
    return Sheet(wide, tall, items, f"Drill template {panel.name} face {face}, tile {tile.name}")


def map_sheet(tiles: Sequence[Tile], panel: TemplatePanel, face: FaceName, issue: Issue, stretch: str = "") -> Sheet:
    """Return the page map: the face small, its tiles and holes, and how to put the tiles together."""
    page = blank(issue, "Template map", f"{panel.name} face {face}", 1, 1)
    room = page.room
    warning = "\n".join(words for words in (stretch, warning_text(panel.on(face), 6)) if words)
    busy = [tile.name for tile in tiles if any(tile.window.meets(Box(h.from_left_mm, h.y_mm, h.from_left_mm, h.y_mm))
                                               for h in panel.on(face))]
    steps = (f"{len(tiles)} tiles, {count_words(panel.on(face))}.",
             *wrapped(f"Tiles with holes: {', '.join(busy) or 'none'}.", room.width_mm, 2.2),
             "1  Print at 100 %, no fitting to the page.",
             "2  Measure the 100 mm bars of each tile, both ways, with a steel rule.",
             "3  Cut each tile along its dashed lines at the left and below.",
             "4  Lay it over the tile to the left and the one below; crosses of the same name must lie on each other.",
             "5  Tape flat; measure the sheet's whole width and height on the assembled print and compare.",
             "6  Check each hole against the table of ordinates, which is the authority.")
    items: list[Item] = [Text(room.left_mm, room.top_mm - 5.0, f"Panel {panel.name}, face {face}", 5.0, bold=True)]
    y = room.top_mm - 11.0
    for bold, said in (*((True, words) for words in (wrapped(warning, room.width_mm, 2.2, True) if warning else ())),
                       *((False, words) for words in steps)):
        items.append(Text(room.left_mm, y, said, 2.2, bold=bold))
        y -= 4.0
    whole = Box(tiles[0].window.left_mm, tiles[0].window.bottom_mm, max(t.window.right_mm for t in tiles),
                max(t.window.top_mm for t in tiles))
    scale = max(whole.width_mm / (room.width_mm - 4.0), whole.height_mm / (y - room.bottom_mm - 4.0))
    x0, y0 = room.left_mm + 2.0 - whole.left_mm / scale, room.bottom_mm + 2.0 - whole.bottom_mm / scale
    small: list[Item] = []
    for tile in tiles:
        box = Box(*(v / scale for v in (tile.window.left_mm, tile.window.bottom_mm, tile.window.right_mm,
                                        tile.window.top_mm)))
        y_name = next((y for y in (box.top_mm - 4.0, box.top_mm - 8.0, box.bottom_mm + 2.0)
                       if all(not y - 0.8 < edge < y + 2.8 for edge in (0.0, panel.height_mm / scale))),
                      (box.bottom_mm + box.top_mm) / 2)
        small += [rectangle(box, Pen(0.13, GREY)), Text((box.left_mm + box.right_mm) / 2, y_name, tile.name, 2.0,
                                                        "middle", colour=GREY)]
    small.append(rectangle(Box(0.0, 0.0, panel.width_mm / scale, panel.height_mm / scale), Pen(0.5)))
    taken = [bounds(item) for item in small if isinstance(item, Text)]
    taken += [Box(h.from_left_mm / scale - 0.7, h.y_mm / scale - 0.7,
                  h.from_left_mm / scale + 0.7, h.y_mm / scale + 0.7)
              for h in panel.on(face)]
    for hole in panel.on(face):
        void, x, y = hole.state == "void", hole.from_left_mm / scale, hole.y_mm / scale
        wide = text_width_mm(hole.number, 1.5)
        spot = first_clear([*word_spots(x, y, wide, 1.5, 1.2), *word_spots(x, y, wide, 1.5, 3.5)], taken)
        taken.append(spot)
        small += [Circle(x, y, 0.7, Pen(0.18), None if void else BLACK),
                  Text(spot.left_mm, spot.bottom_mm, hole.number, 1.5, colour=GREY if void else BLACK)]
    return finished(page, [*items, Group(tuple(small), x0, y0)], f"Template map {panel.name} face {face}")


def tiled_template(panel: TemplatePanel, face: FaceName, issue: Issue, paper: str,
                   correction: Correction | None = None) -> list[Sheet]:
    """Return map, tiles and table of ordinates of one face, all on one paper size."""
    from dataclasses import replace

    tiles, same = tiles_of(panel, paper), replace(issue, paper=paper)
    return [map_sheet(tiles, panel, face, same, correction.words if correction else ""),
            *(tile_sheet(tile, tiles, panel, face, same, paper, correction) for tile in tiles),
            *ordinate_sheets(panel, face, same, correction)]
