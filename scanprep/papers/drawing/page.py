"""The frame that all office-size papers share: border, title block, verdict stamp, cautions.

Borders 20 mm left (for binding) and 10 mm elsewhere after ISO 5457; the fields of the title block after ISO 7200. No
date is printed of itself, so that the same input gives the same bytes: the person who issues a paper writes it in.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from scanprep.cautions import SHORT_CAUTION
from scanprep.findings import Verdict
from scanprep.papers.drawing.letters import text_width_mm
from scanprep.papers.drawing.measures import Measures
from scanprep.papers.drawing.sheet import (
    BLACK,
    GREY,
    HEAVY,
    NARROW,
    PALE,
    WHITE,
    WIDE,
    WIDEST_CONTROL,
    Box,
    Circle,
    ControlMark,
    Item,
    Path,
    Pen,
    Sheet,
    Text,
    line,
    paper_mm,
    rectangle,
    shortened,
    wrapped,
)

LEFT_MM, EDGE_MM, BLOCK_MM = 20.0, 10.0, 16.0  # layout: ISO 5457 borders, and the title block's height


@dataclass(frozen=True, slots=True)
class Issue:
    """What a title block says that is the same on a whole set of papers."""

    case: str = ""  # title of the display
    issued: str = ""  # date as text; empty leaves a line to write on
    measures: Measures = field(default_factory=Measures)
    paper: str = "A4"
    rules_changed: str = ""  # which rows of the rulebook the case changes, as a sentence
    third_angle: bool = True  # arrangement of views: ISO 5456-2, third angle as in the US, else first

    @property
    def rules_hint(self) -> str:
        """The same on papers without room for the sentence: labels, cut-outs, gauges."""
        return "   rules changed by this case: see the mount sheet" if self.rules_changed else ""


@dataclass(frozen=True, slots=True)
class Blank:
    """An empty page with its frame: what to draw and the room left."""

    width_mm: float
    height_mm: float
    room: Box
    items: tuple[Item, ...]


def projection_symbol(x_mm: float, y_mm: float, size_mm: float, third_angle: bool) -> list[Item]:
    """Return the truncated cone of ISO 5456-2 beside its end view; x, y is the symbol's centre."""
    big, small, length = size_mm * 0.5, size_mm * 0.25, size_mm
    circles_at, cone_at = (x_mm - length * 0.8, x_mm + length * 0.7) if third_angle else \
        (x_mm + length * 0.8, x_mm - length * 0.7)
    left, right = cone_at - length / 2, cone_at + length / 2
    near, far = (small, big)
    cone = ((left, y_mm - near), (right, y_mm - far), (right, y_mm + far), (left, y_mm + near))
    return [Path(cone, NARROW, True), Circle(circles_at, y_mm, big, NARROW), Circle(circles_at, y_mm, small, NARROW),
            line(x_mm - 1.7 * length, y_mm, x_mm + 1.6 * length, y_mm, Pen(0.1, BLACK, (2.0, 0.6, 0.4, 0.6)))]


def _field(name: str, words: str | None, box: Box, height_mm: float, bold: bool = False) -> list[Item]:
    """A named field; without words it is the one of issue and paper."""
    room = box.width_mm - 2.0
    if words is None:
        height_mm *= min(1.0, room / text_width_mm(WIDEST_CONTROL, height_mm, True))
        return [rectangle(box, NARROW), Text(box.left_mm + 1.0, box.top_mm - 2.3, name, 1.3, colour=GREY),
                ControlMark(box.left_mm + 1.0, box.bottom_mm + 1.6, height_mm, bold=True)]
    while height_mm > 1.6 and text_width_mm(words, height_mm, bold) > room:
        height_mm *= 0.92
    return [rectangle(box, NARROW), Text(box.left_mm + 1.0, box.top_mm - 2.3, name, 1.3, colour=GREY),
            Text(box.left_mm + 1.0, box.bottom_mm + 1.6, shortened(words, room, height_mm, bold), height_mm, bold=bold)]


def title_block(box: Box, issue: Issue, kind: str, subject: str, number: int, of: int) -> list[Item]:
    """Return the title block filling a box: document, subject, issue and paper, sheet, units, display, signs, date."""
    half = box.bottom_mm + box.height_mm / 2
    widths = (0.30, 0.20, 0.24, 0.12, 0.14)
    names = ((("document", kind), ("subject", subject), ("issue and paper", None),
              ("sheet", f"{number} of {of}"), ("units", issue.measures.name)),
             (("display", issue.case or "–"), ("made by", ""), ("checked by", ""), ("date of issue", issue.issued),
              ("views", "")))
    items: list[Item] = []
    for row, (low, high) in enumerate(((half, box.top_mm), (box.bottom_mm, half))):
        x = box.left_mm
        for share, (name, words) in zip(widths, names[row], strict=True):
            cell = Box(x, low, x + share * box.width_mm, high)
            items += _field(name, words, cell, 2.5, bold=row == 0 and share == 0.30)
            x = cell.right_mm
    items += projection_symbol(box.right_mm - 8.0, box.bottom_mm + box.height_mm / 4 - 0.4, 3.6, issue.third_angle)
    return [*items, rectangle(box, WIDE)]


def blank(issue: Issue, kind: str, subject: str, number: int, of: int, *, landscape: bool = False,
          caution: str = SHORT_CAUTION) -> Blank:
    """Return an empty page with border, title block and a caution line. Raises ValueError for an unknown paper.

    The line also names the rules that the case changes.
    """
    width, height = paper_mm(issue.paper)
    if landscape:
        width, height = height, width
    frame = Box(LEFT_MM, EDGE_MM, width - EDGE_MM, height - EDGE_MM)
    block = Box(frame.left_mm, frame.bottom_mm, frame.right_mm, frame.bottom_mm + BLOCK_MM)
    lines = wrapped(f"{caution} {issue.rules_changed}".strip(), frame.width_mm - 4.0, 1.5)
    top = block.top_mm + 1.0 + len(lines) * 2.4
    words = [Text(frame.left_mm + 2.0, top - 1.2 - 2.4 * i - 0.9, text, 1.5, colour=GREY)
             for i, text in enumerate(lines)]
    items = [*title_block(block, issue, kind, subject, number, of), *words, rectangle(frame, WIDE),
             ControlMark(frame.left_mm, frame.bottom_mm - 3.2, 1.5, says="record")]
    return Blank(width, height, Box(frame.left_mm + 2.0, top + 0.8, frame.right_mm - 2.0, frame.top_mm - 2.0),
                 tuple(items))


def finished(page: Blank, items: Sequence[Item], title: str) -> Sheet:
    """Return a page with its content."""
    return Sheet(page.width_mm, page.height_mm, (*page.items, *items), title)


_STAMPS = {
    Verdict.OK: ("OK", False), Verdict.UNMEASURED: ("UNMEASURED", True),
    Verdict.LOOK: ("LOOK", True), Verdict.STOP: ("STOP", True),
}


def verdict_stamp(verdict: Verdict, right_mm: float, top_mm: float, height_mm: float = 5.0) -> list[Item]:
    """Return a verdict in a box at the top right: said in words, black on white when quiet, reversed when loud."""
    words, loud = _STAMPS[verdict]
    width = text_width_mm(words, height_mm, True) + 2 * height_mm * 0.6
    box = Box(right_mm - width, top_mm - height_mm * 2.0, right_mm, top_mm)
    return [rectangle(box, HEAVY, BLACK if loud else PALE),
            Text(right_mm - width / 2, top_mm - height_mm * 1.5, words, height_mm, "middle", bold=True,
                 colour=WHITE if loud else BLACK)]
