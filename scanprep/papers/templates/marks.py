"""The marks of a drill template at 1:1: holes, labels, datum, turning axis, crosses, bars, face letter, warnings.

Everything is in the face's own frame (origin at the face's lower left corner, x right, y up, mm), so a drawing of face
B is the mirror image of what face A's viewer sees through the sheet. Layers are named by meaning. Used by the long
page, by the tiles and by the DXF and SVG files, which therefore cannot differ.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from scanprep.panel.faces import FaceName
from scanprep.papers.drawing.dimensions import arrow
from scanprep.papers.drawing.letters import text_width_mm
from scanprep.papers.drawing.measures import Measures
from scanprep.papers.drawing.sheet import (
    BLACK,
    GREY,
    PALE,
    Box,
    Circle,
    Datum,
    Item,
    Path,
    Pen,
    Text,
    bounds,
    line,
    rectangle,
)
from scanprep.papers.templates.template import NOT_FOR_DRILLING, TemplateHole, TemplatePanel, datum_x_mm

_FINE, _THIN, _VOID = Pen(0.1), Pen(0.18), Pen(0.18, GREY)  # layout: lines of a template
_HELD = Pen(0.25, BLACK, (1.2, 0.8))  # layout: a hole that may not be drilled
_TURN = Pen(0.18, GREY, (12.0, 2.0, 2.0, 2.0))  # layout: the turning axis
_NUMBER_MM, _LINE_MM = 5.0, 2.5  # layout: heights of numbers and words
CROSS_INSET_MM = 20.0  # layout: registration crosses, from the sheet's corner


def drill_layer(hole: TemplateHole) -> str:
    """Return the layer of a drill size, such as `DRILL_3-16` or `DRILL_4.7`: one tool, one layer."""
    return "DRILL_" + "".join(c if c.isalnum() or c == "." else "-" for c in hole.drill).strip("-")


def hole_layer(hole: TemplateHole) -> str:
    """Return the layer that a hole's circle and facts stand on: a drilling layer only where it may be drilled now."""
    return {"not used": "ABANDONED", "drilled": "DRILLED", "held": "HELD"}.get(hole.standing) or drill_layer(hole)


def hole_marks(hole: TemplateHole) -> list[Item]:
    """Return a hole's centre, circle at drill size and clock tick.

    A void hole is grey and crossed out; a held one is dashed and has no centre to punch; a drilled one has two rings.
    """
    x, y, r = hole.from_left_mm, hole.y_mm, hole.drill_diameter_mm / 2
    if hole.state == "void":
        reach = r + 3.0
        return [Circle(x, y, r, _VOID, layer="ABANDONED"),
                line(x - reach, y - reach, x + reach, y + reach, Pen(0.35, GREY), "ABANDONED"),
                line(x - reach, y + reach, x + reach, y - reach, Pen(0.35, GREY), "ABANDONED")]
    items: list[Item] = [Circle(x, y, r, _HELD if hole.standing == "held" else _THIN, layer=hole_layer(hole))]
    inner, layer = min(1.0, 0.4 * r), "CENTRE" if hole.released else hole_layer(hole)
    for ux, uy in ((1, 0), (-1, 0), (0, 1), (0, -1)):
        # the centre is a whole cross; the lines then break, so that the circle itself stays clean
        if hole.standing != "held":
            items.append(line(x, y, x + ux * inner, y + uy * inner, _FINE, layer))
        items.append(line(x + ux * (r + 1.0), y + uy * (r + 1.0), x + ux * (r + 6.0), y + uy * (r + 6.0), _FINE, layer))
    angle = math.radians(hole.clock_deg)
    up = (-math.sin(angle), math.cos(angle))
    start, end = ((x + up[0] * k, y + up[1] * k) for k in (r + 2.0, r + 8.5))
    items += [line(*start, *end, Pen(0.35), "CLOCK"), arrow(end, start, 3.5, "CLOCK", 0.28)]
    if hole.state == "drilled":
        items.append(Circle(x, y, r + 1.5, Pen(0.5), layer="DRILLED"))
    return items


def hole_data(hole: TemplateHole, panel: TemplatePanel) -> Datum:
    """Return a hole's facts for programs that read the DXF or SVG; X and Y from the datum corner, LEFT from the face's
    own left edge."""
    values = (
        ("NO", hole.number), ("OBJECT", hole.object_number), ("FACE", hole.face),
        ("X", f"{datum_x_mm(hole, panel):.4f}"), ("Y", f"{hole.y_mm:.4f}"), ("LEFT", f"{hole.from_left_mm:.4f}"),
        ("DRILL", hole.drill), ("DIAMETER", f"{hole.drill_diameter_mm:.4f}"),
        ("DEPTH", "THROUGH" if hole.through else f"{hole.depth_mm:.2f}"), ("POST", f"{hole.post_diameter_mm:.3f}"),
        ("CLOCK", f"{hole.clock_deg:.1f}"), ("SESSION", str(hole.session)), ("STATE", hole.state),
        ("RELEASE", hole.standing), ("REASONS", "; ".join(hole.held)))
    return Datum(hole.from_left_mm, hole.y_mm, "HOLE", values, "HOLE_DATA" if hole.released else hole_layer(hole))


def hole_words(hole: TemplateHole, panel: TemplatePanel, measures: Measures) -> list[tuple[str, float]]:
    """Return a hole's label: lines with the height of their capitals."""
    if hole.state == "void":
        return [(f"{hole.number}  NOT USED{', a hole is there' if hole.was_drilled else ''}", 2.5)]
    depth = "through" if hole.through else f"× {measures.length(hole.depth_mm)}"
    standing = {"drilled": "   DRILLED, STOP" if hole.held else "   DRILLED", "held": "   HELD"}.get(hole.standing, "")
    return [
        (f"{hole.number}{standing}", _NUMBER_MM),
        (f"{hole.drill}  ⌀ {measures.fine(hole.drill_diameter_mm)} {depth}", _LINE_MM),
        (f"post ⌀ {measures.fine(hole.post_diameter_mm)}   session {hole.session}", _LINE_MM),
        (f"X {measures.fine(datum_x_mm(hole, panel))}   Y {measures.fine(hole.y_mm)}", _LINE_MM),
    ]


def _label_size(words: Sequence[tuple[str, float]]) -> tuple[float, float]:
    return (max(text_width_mm(text, height, i == 0) for i, (text, height) in enumerate(words)),
            sum(height * 1.55 for _, height in words))


def _overlap_mm2(a: Box, b: Box) -> float:
    wide = min(a.right_mm, b.right_mm) - max(a.left_mm, b.left_mm)
    tall = min(a.top_mm, b.top_mm) - max(a.bottom_mm, b.bottom_mm)
    return max(0.0, wide) * max(0.0, tall)


def _label_boxes(hole: TemplateHole, wide: float, tall: float) -> list[Box]:
    """Places a label may stand, the best first: right, left, then above and below on either side."""
    reach = hole.drill_diameter_mm / 2 + 10.0
    x, y = hole.from_left_mm, hole.y_mm
    corners = [(x + reach, y - tall / 2), (x - reach - wide, y - tall / 2), (x + 3.0, y + reach),
               (x - 3.0 - wide, y + reach), (x + 3.0, y - reach - tall), (x - 3.0 - wide, y - reach - tall),
               (x - wide / 2, y + reach + 4.0), (x - wide / 2, y - reach - tall - 4.0),
               (x + reach + 12.0, y - tall - 2.0), (x - reach - wide - 12.0, y + 2.0)]
    return [Box(left, low, left + wide, low + tall) for left, low in corners]


def label_marks(holes: Sequence[TemplateHole], panel: TemplatePanel, measures: Measures, window: Box,
                clear_of: Sequence[Box] = ()) -> list[Item]:
    """Return every hole's label where it covers least, inside the window; a hole outside the window gets none.

    clear_of  what else stands on the drawing, so that labels keep off it
    """
    inside = [h for h in holes if window.meets(Box(h.from_left_mm, h.y_mm, h.from_left_mm, h.y_mm))]
    taken = [Box(h.from_left_mm - 6.0, h.y_mm - 6.0, h.from_left_mm + 6.0, h.y_mm + 6.0) for h in holes]
    taken += clear_of
    items: list[Item] = []
    for hole in inside:
        words = hole_words(hole, panel, measures)
        wide, tall = _label_size(words)
        best = min(_label_boxes(hole, wide, tall), key=lambda box: (
            round(sum(_overlap_mm2(box, other) for other in taken)
                  + 3 * (wide * tall - _overlap_mm2(box, window)), 3)))
        taken.append(best)
        y, colour = best.top_mm, GREY if hole.state == "void" else BLACK
        layer = "ABANDONED" if hole.state == "void" else "TEXT"
        for i, (text, height) in enumerate(words):
            items.append(Text(best.left_mm, y - height, text, height, bold=i == 0, colour=colour, layer=layer))
            y -= height * 1.55
    return items


def cross_places(panel: TemplatePanel) -> list[tuple[float, float]]:
    """Return where the twelve registration crosses stand: the same axes through the sheet on both faces."""
    inset = min(CROSS_INSET_MM, panel.width_mm / 6, panel.height_mm / 8)
    xs = (inset, panel.width_mm / 2, panel.width_mm - inset)
    ys = tuple(inset + k * (panel.height_mm - 2 * inset) / 3 for k in range(4))
    return [(x, y) for y in ys for x in xs]


def cross_marks(panel: TemplatePanel, face: FaceName, measures: Measures, window: Box | None = None,
                clear_of: Sequence[Box] = ()) -> list[Item]:
    """Return the registration crosses, each with its place from the datum corner.

    window  what will be seen of the face; figures that would be cut there stand on another side of their cross, or are
            left to the tile that has room for them: half a figure is a wrong figure
    clear_of  what else stands there
    """
    items: list[Item] = []
    away = 1.0 if face == "A" else -1.0
    for x, y in cross_places(panel):
        from_datum = x if face == "A" else panel.width_mm - x
        said = (f"X {measures.fine(from_datum)}", f"Y {measures.fine(y)}")
        items += [line(x - 4.0, y, x + 4.0, y, _FINE, "REGISTRATION"),
                  line(x, y - 4.0, x, y + 4.0, _FINE, "REGISTRATION"), Circle(x, y, 2.5, _FINE, layer="REGISTRATION")]
        # beside the cross, away from the datum edge, clear of the turning axis through the middle ones
        for side, top in ((away, -4.0), (-away, -4.0), (away, 6.8), (-away, 6.8)):
            words = [Text(x + side * 4.0, y + top - 2.8 * i, told, 1.8, "start" if side > 0 else "end", colour=GREY,
                          layer="REGISTRATION") for i, told in enumerate(said)]
            boxes = [bounds(word) for word in words]
            if window is None or all(window.holds(box) and not any(box.meets(other) for other in clear_of)
                                     for box in boxes):
                items += words
                break
    return items


def sheet_marks(panel: TemplatePanel, face: FaceName) -> list[Item]:
    """Return the sheet's edges, datum corner, turning axis, face letter and the arrow to the top."""
    w, h = panel.width_mm, panel.height_mm
    at, towards = (0.0, 1.0) if face == "A" else (w, -1.0)
    leg = min(14.0, w / 10)
    items: list[Item] = [
        rectangle(Box(0.0, 0.0, w, h), Pen(0.35), layer="OUTLINE"),
        Path(((at, 0.0), (at + towards * leg, 0.0), (at, leg)), None, True, BLACK, "DATUM"),
        Text(at + towards * (leg + 2.0), 2.0, "DATUM   Y = 0 along this edge", 3.5, "start" if face == "A" else "end",
             bold=True, layer="DATUM"),
        Text(at + (5.0 if face == "A" else -2.0), leg + 3.0, "X = 0 along this edge", 3.5, "start", 90.0, bold=True,
             layer="DATUM"),
        line(w / 2, -8.0, w / 2, h + 8.0, _TURN, "TURNING_AXIS"),
        Text(w / 2 + 2.0, h - 50.0, "TURN THE SHEET ABOUT ITS LONG EDGE: TOP STAYS TOP", 1.8, "start", -90.0,
             colour=GREY, layer="TURNING_AXIS"),
    ]
    size = min(40.0, w / 8)
    top = h - 34.0
    items += [Text(w / 2 - size * 0.6, top - size, f"FACE {face}", size * 0.6, "end", bold=True, layer="NOTES"),
              Text(w / 2 + size * 0.6, top - size, "THIS SIDE TOWARDS YOU", size * 0.16, "start", bold=True,
                   colour=GREY, layer="NOTES"),
              Text(w / 2 + size * 0.6, top - size * 0.6, "↑ TOP", size * 0.3, "start", bold=True, colour=GREY,
                   layer="NOTES")]
    return items


def check_bar(x: float, y: float, length_mm: float, words: str, upright: bool, layer: str = "CHECK") -> list[Item]:
    """Return a bar of an exact length between two ticks, with its name and a line to write what it measures."""
    end = (x, y + length_mm) if upright else (x + length_mm, y)
    ticks = ([line(px - 1.5, py, px + 1.5, py, _FINE, layer) for px, py in ((x, y), end)] if upright else
             [line(px, py - 1.5, px, py + 1.5, _FINE, layer) for px, py in ((x, y), end)])
    said = f"{words}   measured: ________"
    spot = Text(x - 1.4, y + 4.0, said, 2.5, "start", 90.0, layer=layer) if upright else \
        Text(x + 4.0, y + 1.4, said, 2.5, layer=layer)
    return [line(x, y, *end, _FINE, layer), *ticks, spot]


#: layout: Check bars: name and length in mm. An inch is exactly 25.4 mm.
BARS = (("100 mm", 100.0), ("4 in", 101.6), ("500 mm", 500.0), ("2000 mm", 2000.0))


def bar_marks(panel: TemplatePanel, face: FaceName) -> list[Item]:
    """Return the check bars that fit, outside the sheet: level above it, upright beside the edge that is no datum."""
    items: list[Item] = []
    for i, (words, length) in enumerate(BARS):
        if length <= panel.height_mm:
            items += check_bar(panel.width_mm + 12.0 + 7.0 * i if face == "A" else -9.0 - 7.0 * i, 0.0, length, words,
                               True)
        if length <= panel.width_mm:
            items += check_bar(0.0, panel.height_mm + 9.0 + 6.0 * i, length, words, False)
    return items


def warning_marks(words: str, window: Box) -> list[Item]:
    """Return a warning in pale letters across a window, often enough that no cut-off piece is without it."""
    width = window.width_mm * 0.82
    height = min(30.0, 20.0 * width / text_width_mm(words, 20.0, True))
    step = max(height * 5.0, 120.0)
    count = max(1, round(window.height_mm / step))
    pitch = window.height_mm / (count + 0.4)  # the highest stands clear of the face letter
    x = (window.left_mm + window.right_mm) / 2
    return [Text(x, window.bottom_mm + pitch * (k + 0.5) - height / 2, words, height, "middle", bold=True, colour=PALE,
                 layer="WARNING") for k in range(count)]


def kept_clear(items: Sequence[Item]) -> list[Box]:
    """Return where labels must not stand: words and registration marks."""
    return [bounds(item) for item in items if isinstance(item, Text)
            or (isinstance(item, Path | Circle) and item.layer == "REGISTRATION")]


def face_drawing(panel: TemplatePanel, face: FaceName, measures: Measures, stamp: str,
                 window: Box | None = None, clear_of: Sequence[Box] = ()) -> list[Item]:
    """Return one face at 1:1 in its own frame, warnings underneath; only what meets the window, where one is given.

    stamp     of the whole face: where none of its holes may be drilled, it stands across the drawing
    clear_of  what else will stand there, so that labels keep off it
    """
    whole = Box(0.0, 0.0, panel.width_mm, panel.height_mm)
    holes = panel.on(face)
    around = window or Box(-30.0, -30.0, whole.right_mm + 30.0, whole.top_mm + 30.0)
    fixed = [*sheet_marks(panel, face), *cross_marks(panel, face, measures, window, clear_of)]
    busy = [*clear_of, *kept_clear(fixed)]
    items: list[Item] = [
        *(warning_marks(stamp, window or whole) if stamp == NOT_FOR_DRILLING else ()), *fixed,
        *(mark for hole in holes for mark in hole_marks(hole)), *(hole_data(hole, panel) for hole in holes),
        *label_marks(holes, panel, measures, around, busy),
    ]
    return items if window is None else [item for item in items if bounds(item).meets(window)]
