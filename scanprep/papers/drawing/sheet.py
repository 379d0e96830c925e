"""One display list for every paper: lines, circles, words and pictures on layers, in millimetres.

A paper is laid out once as a `Sheet`; thin writers turn the same list into PDF, SVG and DXF, so that the three cannot
disagree about where a hole is. Origin at the sheet's lower left corner, x right, y up. Words are given by the height of
their capitals, as drawing standards do (ISO 3098 heights: 1.8 2.5 3.5 5 7 10 14 20). Pure values; touches no files.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Literal

from scanprep.papers.drawing.letters import text_width_mm

Point = tuple[float, float]
Grey = float  # 0 black .. 1 white
Colour = tuple[float, float, float]
BLACK: Colour = (0.0, 0.0, 0.0)  # layout: printing ink
GREY: Colour = (0.45, 0.45, 0.45)  # layout: what stands back
PALE: Colour = (0.82, 0.82, 0.82)  # layout: what is behind or filled
WHITE: Colour = (1.0, 1.0, 1.0)  # layout: paper


@dataclass(frozen=True, slots=True)
class Pen:
    """How a line is drawn. ISO 128: wide to narrow 2 : 1."""

    width_mm: float = 0.25
    colour: Colour = BLACK
    dash_mm: tuple[float, ...] = ()


NARROW = Pen(0.18)  # layout: line groups of ISO 128: 0.18, 0.35, 0.7
WIDE = Pen(0.35)  # layout: as above
HEAVY = Pen(0.7)  # layout: as above
CENTRE_LINE = Pen(0.13, BLACK, (6.0, 1.2, 1.2, 1.2))  # layout: long dash, dot: ISO 128
HIDDEN_LINE = Pen(0.18, GREY, (2.0, 1.0))  # layout: dashed: ISO 128


@dataclass(frozen=True, slots=True)
class Path:
    """A line through points; `fill` paints its inside."""

    points: tuple[Point, ...]
    pen: Pen | None = NARROW
    closed: bool = False
    fill: Colour | None = None
    layer: str = "NOTES"


@dataclass(frozen=True, slots=True)
class Circle:
    """A true circle."""

    x_mm: float
    y_mm: float
    radius_mm: float
    pen: Pen | None = NARROW
    fill: Colour | None = None
    layer: str = "NOTES"


@dataclass(frozen=True, slots=True)
class Text:
    """One line of words. `anchor` says which point of it stands at x: start, middle or end; y is the base line."""

    x_mm: float
    y_mm: float
    text: str
    height_mm: float = 2.5
    anchor: str = "start"
    angle_deg: float = 0.0
    bold: bool = False
    colour: Colour = BLACK
    layer: str = "TEXT"


@dataclass(frozen=True, slots=True)
class ControlMark:
    """Where a sheet says which issue of which paper it is; placed like `Text`, its words are set by the writers."""

    x_mm: float
    y_mm: float
    height_mm: float = 1.8
    anchor: str = "start"
    angle_deg: float = 0.0
    bold: bool = False
    before: str = ""  # words in front of it
    layer: str = "NOTES"
    says: Literal["issue", "record"] = "issue"  # which issue of which paper, or where the case's record ended


#: The widest words that a mark is expected to become, for laying out.
WIDEST_CONTROL = "issue 888, paper WWWW-WWWW"
_WIDEST_RECORD = "drawn from the record up to entry 88888, hash dddddddddddd"


@dataclass(frozen=True, slots=True)
class Image:
    """A picture file (PNG or JPEG bytes) filling a rectangle."""

    x_mm: float
    y_mm: float
    width_mm: float
    height_mm: float
    data: bytes
    layer: str = "PICTURE"


@dataclass(frozen=True, slots=True)
class Datum:
    """Facts tied to a point, for readers that are programs: a DXF block with attributes, SVG data, nothing in PDF."""

    x_mm: float
    y_mm: float
    name: str
    values: tuple[tuple[str, str], ...]
    layer: str = "HOLE_DATA"


@dataclass(frozen=True, slots=True)
class Box:
    """A rectangle: on paper, or what a view of an object frames."""

    left_mm: float
    bottom_mm: float
    right_mm: float
    top_mm: float

    @property
    def width_mm(self) -> float:
        """Left to right."""
        return self.right_mm - self.left_mm

    @property
    def height_mm(self) -> float:
        """Bottom to top."""
        return self.top_mm - self.bottom_mm

    def meets(self, other: Box) -> bool:
        """Whether two rectangles share a point."""
        return (self.left_mm <= other.right_mm and other.left_mm <= self.right_mm
                and self.bottom_mm <= other.top_mm and other.bottom_mm <= self.top_mm)

    def holds(self, other: Box) -> bool:
        """Whether another rectangle lies wholly inside."""
        return (self.left_mm <= other.left_mm and other.right_mm <= self.right_mm
                and self.bottom_mm <= other.bottom_mm and other.top_mm <= self.top_mm)

    def grown(self, by_mm: float) -> Box:
        """Return the rectangle with a margin all round; a negative one shrinks it."""
        return Box(self.left_mm - by_mm, self.bottom_mm - by_mm, self.right_mm + by_mm, self.top_mm + by_mm)


@dataclass(frozen=True, slots=True)
class Group:
    """Items moved by dx, dy; where `clip` (in the sheet's own mm) is given, only what lies inside is seen."""

    items: tuple[Item, ...]
    dx_mm: float = 0.0
    dy_mm: float = 0.0
    clip: Box | None = None


Item = Path | Circle | Text | ControlMark | Image | Datum | Group


@dataclass(frozen=True, slots=True)
class Sheet:
    """One page."""

    width_mm: float
    height_mm: float
    items: tuple[Item, ...]
    title: str = ""


#: exact: Paper sizes, upright, mm. ISO 216; ANSI/ASME Y14.1 A and B sizes under their office names.
PAPERS: dict[str, tuple[float, float]] = {
    "A4": (210.0, 297.0),
    "A3": (297.0, 420.0),
    "Letter": (215.9, 279.4),
    "Tabloid": (279.4, 431.8),
}


def paper_mm(name: str) -> tuple[float, float]:
    """Return a paper's width and height upright. Raises ValueError listing the papers."""
    for known, size in PAPERS.items():
        if known.lower() == name.lower():
            return size
    raise ValueError(f"{name!r} is not a paper we print on; write one of {', '.join(PAPERS)}")


def line(x0: float, y0: float, x1: float, y1: float, pen: Pen = NARROW, layer: str = "NOTES") -> Path:
    """Return one straight line."""
    return Path(((x0, y0), (x1, y1)), pen, layer=layer)


def rectangle(box: Box, pen: Pen | None = NARROW, fill: Colour | None = None, layer: str = "NOTES") -> Path:
    """Return a rectangle."""
    corners = ((box.left_mm, box.bottom_mm), (box.right_mm, box.bottom_mm), (box.right_mm, box.top_mm),
               (box.left_mm, box.top_mm))
    return Path(corners, pen, True, fill, layer)


def wrapped(text: str, width_mm: float, height_mm: float, bold: bool = False) -> list[str]:
    """Return a text broken into lines that fit a width; a word longer than the line is cut.

    Only plain spaces break: `3\u00a05/8` stays together.
    """
    lines: list[str] = []
    for paragraph in text.split("\n"):
        row = ""
        for word in filter(None, paragraph.split(" ")):
            trial = f"{row} {word}" if row else word
            if text_width_mm(trial, height_mm, bold) <= width_mm:
                row = trial
                continue
            if row:
                lines.append(row)
            row = word
            while text_width_mm(row, height_mm, bold) > width_mm and len(row) > 1:
                cut = next(n for n in range(len(row) - 1, 0, -1)
                           if n == 1 or text_width_mm(row[:n], height_mm, bold) <= width_mm)
                lines.append(row[:cut])
                row = row[cut:]
        lines.append(row)
    return lines


def shortened(text: str, width_mm: float, height_mm: float, bold: bool = False) -> str:
    """Return a text cut with an ellipsis where it would run past a width."""
    if text_width_mm(text, height_mm, bold) <= width_mm:
        return text
    cut = len(text)
    while cut > 0 and text_width_mm(text[:cut].rstrip() + "…", height_mm, bold) > width_mm:
        cut -= 1
    return text[:cut].rstrip() + "…"


def bounds(item: Item) -> Box:
    """Return a rectangle that holds an item, pens and letters included."""
    if isinstance(item, Path):
        half = item.pen.width_mm / 2 if item.pen else 0.0
        xs, ys = [p[0] for p in item.points], [p[1] for p in item.points]
        return Box(min(xs) - half, min(ys) - half, max(xs) + half, max(ys) + half)
    if isinstance(item, Circle):
        reach = item.radius_mm + (item.pen.width_mm / 2 if item.pen else 0.0)
        return Box(item.x_mm - reach, item.y_mm - reach, item.x_mm + reach, item.y_mm + reach)
    if isinstance(item, Text):
        return _text_bounds(item)
    if isinstance(item, ControlMark):
        widest = item.before + WIDEST_CONTROL if item.says == "issue" else _WIDEST_RECORD
        return _text_bounds(Text(item.x_mm, item.y_mm, widest, item.height_mm, item.anchor, item.angle_deg, item.bold))
    if isinstance(item, Image):
        return Box(item.x_mm, item.y_mm, item.x_mm + item.width_mm, item.y_mm + item.height_mm)
    if isinstance(item, Datum):
        return Box(item.x_mm, item.y_mm, item.x_mm, item.y_mm)
    boxes = [bounds(inner) for inner in item.items]
    whole = Box(min(b.left_mm for b in boxes) + item.dx_mm, min(b.bottom_mm for b in boxes) + item.dy_mm,
                max(b.right_mm for b in boxes) + item.dx_mm, max(b.top_mm for b in boxes) + item.dy_mm)
    return item.clip or whole


def _text_bounds(item: Text) -> Box:
    width = text_width_mm(item.text, item.height_mm, item.bold)
    left = {"start": 0.0, "middle": -width / 2, "end": -width}[item.anchor]
    c, s = math.cos(math.radians(item.angle_deg)), math.sin(math.radians(item.angle_deg))
    corners = [(left + u * width, v * item.height_mm) for u in (0, 1) for v in (-0.35, 1.25)]
    xs = [item.x_mm + c * u - s * v for u, v in corners]
    ys = [item.y_mm + s * u + c * v for u, v in corners]
    return Box(min(xs), min(ys), max(xs), max(ys))


def moved(item: Item, dx_mm: float, dy_mm: float) -> Item:
    """Return an item moved."""
    if isinstance(item, Path):
        return replace(item, points=tuple((x + dx_mm, y + dy_mm) for x, y in item.points))
    if isinstance(item, Group):
        clip = item.clip and Box(item.clip.left_mm + dx_mm, item.clip.bottom_mm + dy_mm,
                                 item.clip.right_mm + dx_mm, item.clip.top_mm + dy_mm)
        return Group(item.items, item.dx_mm + dx_mm, item.dy_mm + dy_mm, clip)
    return replace(item, x_mm=item.x_mm + dx_mm, y_mm=item.y_mm + dy_mm)


def flattened(items: Iterable[Item]) -> list[Item]:
    """Return items with groups resolved (clips are not applied: for writers that keep whole entities)."""
    out: list[Item] = []
    for item in items:
        if isinstance(item, Group):
            out += [moved(inner, item.dx_mm, item.dy_mm) for inner in flattened(item.items)]
        else:
            out.append(item)
    return out


def stacked(lines: Sequence[str], x_mm: float, top_mm: float, height_mm: float, *, leading: float = 1.75,
            bold: bool = False, colour: Colour = BLACK, layer: str = "TEXT") -> list[Item]:
    """Return lines of words set under each other; the first line's capitals touch `top_mm`."""
    return [Text(x_mm, top_mm - height_mm - i * height_mm * leading, text, height_mm, bold=bold, colour=colour,
                 layer=layer) for i, text in enumerate(lines)]


def stretched(items: Iterable[Item], x_ratio: float, y_ratio: float) -> tuple[Item, ...]:
    """Return items stretched about the origin, to undo what a printer does; letters keep their size."""
    return tuple(_stretched(item, x_ratio, y_ratio) for item in items)


def _stretched(item: Item, kx: float, ky: float) -> Item:
    if isinstance(item, Path):
        return replace(item, points=tuple((x * kx, y * ky) for x, y in item.points))
    if isinstance(item, Circle):
        # within 2 % a printed circle differs from its ellipse by less than 0.07 mm at 1/4 in
        return replace(item, x_mm=item.x_mm * kx, y_mm=item.y_mm * ky, radius_mm=item.radius_mm * (kx + ky) / 2)
    if isinstance(item, Image):
        return replace(item, x_mm=item.x_mm * kx, y_mm=item.y_mm * ky, width_mm=item.width_mm * kx,
                       height_mm=item.height_mm * ky)
    if isinstance(item, Group):
        clip = item.clip and Box(item.clip.left_mm * kx, item.clip.bottom_mm * ky, item.clip.right_mm * kx,
                                 item.clip.top_mm * ky)
        return Group(stretched(item.items, kx, ky), item.dx_mm * kx, item.dy_mm * ky, clip)
    return replace(item, x_mm=item.x_mm * kx, y_mm=item.y_mm * ky)
