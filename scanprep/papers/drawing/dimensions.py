"""Dimension lines, centre marks and numbered balloons, as drawing standards have them (ISO 129-1).

Positions are in the sheet's mm; the words are given, since a drawing at 1:2 says the object's own size.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from scanprep.papers.drawing.letters import text_width_mm
from scanprep.papers.drawing.sheet import (
    BLACK,
    CENTRE_LINE,
    WHITE,
    Box,
    Circle,
    Item,
    Path,
    Pen,
    Point,
    Text,
    bounds,
    line,
    rectangle,
)

_THIN = Pen(0.13)  # layout: ISO 128 narrow line
_ARROW_MM = 2.0  # layout: length of a dimension's arrow
_STEP_RAD = 0.05  # layout: by which a balloon moves on round its view


def arrow(tip: Point, towards: Point, size_mm: float = _ARROW_MM, layer: str = "NOTES",
          slim_ratio: float = 0.16) -> Path:
    """Return a filled arrow head at `tip`, pointing away from `towards`; `slim_ratio`: half width over length."""
    dx, dy = tip[0] - towards[0], tip[1] - towards[1]
    length = math.hypot(dx, dy) or 1.0
    ux, uy = dx / length, dy / length
    back = (tip[0] - ux * size_mm, tip[1] - uy * size_mm)
    half = size_mm * slim_ratio
    barbs = ((back[0] - uy * half, back[1] + ux * half), (back[0] + uy * half, back[1] - ux * half))
    return Path((tip, *barbs), None, True, BLACK, layer)


def _inside(span_mm: float, words: str, height_mm: float) -> bool:
    return span_mm >= text_width_mm(words, height_mm) + 2 * _ARROW_MM + 1.5


def level_dimension(x0: float, x1: float, y_mm: float, words: str, from_y: tuple[float, float],
                    height_mm: float = 2.2) -> list[Item]:
    """Return a horizontal dimension at y between x0 and x1; `from_y` is where each extension line starts."""
    if x1 < x0:
        x0, x1, from_y = x1, x0, (from_y[1], from_y[0])
    items: list[Item] = [_extension((x, start), (x, y_mm)) for x, start in zip((x0, x1), from_y, strict=True)]
    width = text_width_mm(words, height_mm)
    if _inside(x1 - x0, words, height_mm):
        mid = (x0 + x1) / 2
        return [*items, line(x0, y_mm, x1, y_mm, _THIN), arrow((x0, y_mm), (x1, y_mm)), arrow((x1, y_mm), (x0, y_mm)),
                _masked(mid, y_mm, words, height_mm, 0.0)]
    # too narrow: arrows from outside, words beside
    items += [line(x0 - 4.0, y_mm, x1 + 4.0 + width, y_mm, _THIN), arrow((x0, y_mm), (x0 - 1, y_mm)),
              arrow((x1, y_mm), (x1 + 1, y_mm)), Text(x1 + 3.5, y_mm + 0.6, words, height_mm)]
    return items


def level_dimensions(spans: Sequence[tuple[float, float, str, tuple[float, float]]], below_mm: float,
                     pitch_mm: float = 4.5) -> list[Item]:
    """Return horizontal dimensions (x0, x1, words, where its extension lines start) under a view, each in the first row
    below `below_mm` where its line and words meet no other's."""
    extensions, items = list[Item](), list[Item]()
    taken: list[Box] = []
    for x0, x1, words, from_y in spans:
        for row in range(len(spans)):
            made = level_dimension(x0, x1, below_mm - 5.0 - row * pitch_mm, words, from_y)
            boxes = [bounds(item) for item in made[2:]]  # the extension lines may be crossed
            if not any(box.meets(other) for box in boxes for other in taken):
                break
        extensions += made[:2]
        items += made[2:]
        taken += boxes
    # an extension line stops where another dimension's words stand
    plates: list[Item] = [rectangle(_inked(item), None, WHITE) for item in items if isinstance(item, Text)]
    return [*extensions, *plates, *items]


def _inked(words: Text) -> Box:
    """What figures fill: no letter goes below their line, where the dimension line runs."""
    box = bounds(words)
    return Box(box.left_mm, words.y_mm, box.right_mm, words.y_mm + words.height_mm)


def upright_dimension(y0: float, y1: float, x_mm: float, words: str, from_x: tuple[float, float],
                      height_mm: float = 2.2) -> list[Item]:
    """Return a vertical dimension at x between y0 and y1, words along it reading from the right."""
    if y1 < y0:
        y0, y1, from_x = y1, y0, (from_x[1], from_x[0])
    items: list[Item] = [_extension((start, y), (x_mm, y)) for y, start in zip((y0, y1), from_x, strict=True)]
    if _inside(y1 - y0, words, height_mm):
        mid = (y0 + y1) / 2
        return [*items, line(x_mm, y0, x_mm, y1, _THIN), arrow((x_mm, y0), (x_mm, y1)), arrow((x_mm, y1), (x_mm, y0)),
                _masked(x_mm, mid, words, height_mm, 90.0)]
    width = text_width_mm(words, height_mm)
    items += [line(x_mm, y0 - 4.0, x_mm, y1 + 4.0 + width, _THIN), arrow((x_mm, y0), (x_mm, y0 - 1)),
              arrow((x_mm, y1), (x_mm, y1 + 1)), Text(x_mm - 0.6, y1 + 3.5, words, height_mm, angle_deg=90.0)]
    return items


def _extension(start: Point, end: Point) -> Path:
    dx, dy = end[0] - start[0], end[1] - start[1]
    length = math.hypot(dx, dy)
    if length < 1e-9:
        return line(*start, *end, _THIN)
    gap, past = min(1.0, length / 2) / length, 1.0 / length
    return line(start[0] + dx * gap, start[1] + dy * gap, end[0] + dx * past, end[1] + dy * past, _THIN)


def _masked(x: float, y: float, words: str, height_mm: float, angle_deg: float) -> Item:
    """Words standing just above their line."""
    offset = 0.6
    if angle_deg:
        return Text(x - offset, y, words, height_mm, "middle", 90.0)
    return Text(x, y + offset, words, height_mm, "middle")


def centre_mark(x: float, y: float, reach_mm: float, layer: str = "CENTRE", pen: Pen = CENTRE_LINE) -> list[Item]:
    """Return two centre lines that cross at a point."""
    return [line(x - reach_mm, y, x + reach_mm, y, pen, layer), line(x, y - reach_mm, x, y + reach_mm, pen, layer)]


def balloon(x: float, y: float, words: str, radius_mm: float = 2.4, layer: str = "TEXT") -> list[Item]:
    """Return a number in a circle."""
    height = radius_mm * (0.95 if len(words) < 3 else 0.7)
    return [Circle(x, y, radius_mm, Pen(0.25), WHITE, layer),
            Text(x, y - height / 2, words, height, "middle", bold=True, layer=layer)]


def balloons_round(targets: Sequence[tuple[str, Point]], box: Box, radius_mm: float = 2.4,
                   gap_mm: float = 5.0, kept_clear: Sequence[Box] = ()) -> list[Item]:
    """Return numbered balloons outside a box, each with a leader to its target inside, none over another.

    They stand on an ellipse round the box, turned away from each other until they are clear, and on from there past
    what is to be `kept_clear` where there is room.
    """
    if not targets:
        return []
    cx, cy = (box.left_mm + box.right_mm) / 2, (box.bottom_mm + box.top_mm) / 2
    rx, ry = box.width_mm / 2 + gap_mm, box.height_mm / 2 + gap_mm
    rows = sorted((math.atan2((y - cy) / ry, (x - cx) / rx), words, (x, y)) for words, (x, y) in targets)
    angles = _spread([row[0] for row in rows], (2 * radius_mm + 1.0) / min(rx, ry))

    def standing(angle: float) -> Box:
        x, y = cx + rx * math.cos(angle), cy + ry * math.sin(angle)
        return Box(x, y, x, y).grown(radius_mm + 0.3)  # its pen too

    for k, angle in enumerate(angles):
        if any(standing(angle).meets(other) for other in kept_clear):
            taken = [*kept_clear, *(standing(other) for j, other in enumerate(angles) if j != k)]
            ways = (angle + side * _STEP_RAD * step for step in range(1, 20) for side in (1, -1))
            angles[k] = next((way for way in ways if not any(standing(way).meets(one) for one in taken)), angle)
    items: list[Item] = []
    for angle, (_, words, target) in zip(angles, rows, strict=True):
        at = (cx + rx * math.cos(angle), cy + ry * math.sin(angle))
        items += [line(*at, *target, Pen(0.35, WHITE)), line(*at, *target, Pen(0.18)),
                  Circle(*target, 0.55, None, BLACK), *balloon(*at, words, radius_mm)]
    return items


def _spread(angles: Sequence[float], least: float) -> list[float]:
    """Angles in rising order moved apart to at least `least`, as little as a few sweeps need."""
    out = list(angles)
    count = len(out)
    least = min(least, 2 * math.pi / count)
    for _ in range(60):
        for i in range(count):
            j = (i + 1) % count
            gap = out[j] - out[i] + (2 * math.pi if j <= i else 0.0)
            if count > 1 and gap < least:
                out[i] -= (least - gap) / 2
                out[j] += (least - gap) / 2
    return out


def word_spots(x: float, y: float, wide_mm: float, tall_mm: float, reach_mm: float) -> list[Box]:
    """Return places for words beside a point, the best first: right, left, above, below, then the corners."""
    over, under = y + reach_mm * 0.8, y - tall_mm - reach_mm * 0.8
    corners = [(x + reach_mm, y - tall_mm / 2), (x - reach_mm - wide_mm, y - tall_mm / 2),
               (x - wide_mm / 2, y + reach_mm), (x - wide_mm / 2, y - reach_mm - tall_mm),
               (x + reach_mm / 2, over), (x - wide_mm - reach_mm / 2, over),
               (x + reach_mm / 2, under), (x - wide_mm - reach_mm / 2, under)]
    return [Box(left, low, left + wide_mm, low + tall_mm) for left, low in corners]


def first_clear(boxes: Sequence[Box], taken: Sequence[Box]) -> Box:
    """Return the first box that meets none of those taken; the first of all where every one does."""
    return next((box for box in boxes if not any(box.meets(other) for other in taken)), boxes[0])


def scale_bar(x: float, y: float, unit_paper_mm: float, words: str) -> list[Item]:
    """Return a bar of a length on paper with what it stands for."""
    box = Box(x, y, x + unit_paper_mm, y + 1.2)
    half = Box(x, y, x + unit_paper_mm / 2, y + 1.2)
    return [rectangle(box, Pen(0.18)), rectangle(half, None, BLACK), Text(x + unit_paper_mm + 1.5, y, words, 1.8)]
