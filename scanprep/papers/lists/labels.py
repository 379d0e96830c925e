"""Labels: a tag for each post and one for each mount's box. Never for an object: a label touches nothing that is shown.

Office label sheets differ, so the labels are cut from plain paper or card: three across, with cut lines.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from scanprep.papers.drawing.letters import text_width_mm
from scanprep.papers.drawing.measures import Measures, clock
from scanprep.papers.drawing.page import Issue
from scanprep.papers.drawing.sheet import (
    BLACK,
    GREY,
    WHITE,
    Box,
    Circle,
    ControlMark,
    Item,
    Pen,
    Sheet,
    Text,
    line,
    paper_mm,
    rectangle,
    shortened,
)

_TAG_MM = (60.0, 22.0)  # layout: width, height
_MARGIN_MM = 12.0  # layout: of the sheet of labels


@dataclass(frozen=True, slots=True)
class Label:
    """What a mount's two labels say."""

    object_number: str
    title: str
    place: str  # "West A", or "not placed"
    hole: str  # hole number, or ""
    rod: str
    cut_length_mm: float | None
    clock_deg: float
    held: tuple[str, ...] = ()  # why its hole may not be drilled, or not be used


def _fitted(words: str, width_mm: float, height_mm: float, bold: bool) -> tuple[str, float]:
    """Words and the height at which they fit, at least 60 % of what is wanted, then cut."""
    while height_mm > 1.8 and text_width_mm(words, height_mm, bold) > width_mm:
        height_mm *= 0.95
    return shortened(words, width_mm, height_mm, bold), height_mm


def _held_mark(label: Label, box: Box) -> list[Item]:
    """HELD in white on black at a label's top right, where its hole may not be drilled or used."""
    if not label.held:
        return []
    wide = text_width_mm("HELD", 2.6, True) + 2.4
    return [rectangle(Box(box.right_mm - 1.5 - wide, box.top_mm - 6.0, box.right_mm - 1.5, box.top_mm - 1.8), None,
                      BLACK),
            Text(box.right_mm - 1.5 - wide / 2, box.top_mm - 5.1, "HELD", 2.6, "middle", bold=True, colour=WHITE)]


def _tag(label: Label, box: Box, measures: Measures) -> list[Item]:
    number, size = _fitted(label.object_number, box.width_mm - (28.0 if label.held else 16.0), 6.0, True)
    cut = "length not known" if label.cut_length_mm is None else f"cut {measures.named(label.cut_length_mm)}"
    where = f"{label.place}  {label.hole}".strip()
    return [Circle(box.left_mm + 6.0, box.top_mm - 6.0, 2.0, Pen(0.18)),
            Text(box.left_mm + 12.0, box.top_mm - 8.5, number, size, bold=True), *_held_mark(label, box),
            Text(box.left_mm + 12.0, box.top_mm - 12.4, shortened(where, box.width_mm - 14.0, 2.5, True), 2.5,
                 bold=True),
            Text(box.left_mm + 12.0, box.top_mm - 15.6, f"rod {label.rod}, {cut}", 2.1),
            Text(box.left_mm + 12.0, box.top_mm - 18.6, f"12 o'clock: {clock(label.clock_deg)}", 1.9),
            ControlMark(box.left_mm + 12.0, box.top_mm - 21.0, 1.5),
            Text(box.left_mm + 2.5, box.bottom_mm + 2.0, "POST TAG", 1.6, "start", 90.0, colour=GREY)]


def _box_label(label: Label, box: Box, measures: Measures) -> list[Item]:
    number, size = _fitted(label.object_number, box.width_mm - (24.0 if label.held else 9.0), 6.5, True)
    return [Text(box.left_mm + 7.0, box.top_mm - 8.5, number, size, bold=True), *_held_mark(label, box),
            Text(box.left_mm + 7.0, box.top_mm - 12.2, shortened(label.title, box.width_mm - 9.0, 2.3), 2.3),
            Text(box.left_mm + 7.0, box.top_mm - 15.6,
                 shortened(f"{label.place}  {label.hole}".strip(), box.width_mm - 9.0, 2.3, True), 2.3, bold=True),
            Text(box.left_mm + 7.0, box.top_mm - 18.4, "mount with its post, never the object", 1.7, colour=GREY),
            ControlMark(box.left_mm + 7.0, box.top_mm - 21.0, 1.5),
            Text(box.left_mm + 3.8, box.bottom_mm + 2.0, "MOUNT BOX", 1.6, "start", 90.0, colour=GREY)]


def _cuts(count: int, across: int, tall: float) -> list[Item]:
    """Where to cut: each line once, so that its dashes stay dashes."""
    dashed, (wide, deep), top = Pen(0.13, GREY, (2.0, 1.0)), _TAG_MM, tall - _MARGIN_MM - 6.0
    rows = -(-count // across)

    def filled(row: int) -> int:
        """Labels in a row; none above the first and below the last."""
        return max(0, min(across, count - row * across)) if row >= 0 else 0

    items: list[Item] = []
    for k in range(rows + 1):
        y, right = top - k * deep, _MARGIN_MM + max(filled(k - 1), filled(k)) * wide
        items.append(line(_MARGIN_MM, y, right, y, dashed))
    for k in range(min(across, count) + 1):
        deepest = sum(filled(row) >= max(k, 1) for row in range(rows))
        items.append(line(_MARGIN_MM + k * wide, top, _MARGIN_MM + k * wide, top - deepest * deep, dashed))
    return items


def label_sheets(labels: Sequence[Label], issue: Issue) -> list[Sheet]:
    """Return post tags, then box labels, one of each a mount, three across. No labels, no pages."""
    wide, tall = paper_mm(issue.paper)
    across = int((wide - 2 * _MARGIN_MM) // _TAG_MM[0])
    down = int((tall - 2 * _MARGIN_MM - 6.0) // _TAG_MM[1])
    sheets = []
    for kind, draw in (("Post tags", _tag), ("Labels for mount boxes", _box_label)):
        for start in range(0, len(labels), across * down):
            y = tall - _MARGIN_MM - 1.0
            items: list[Item] = [ControlMark(_MARGIN_MM, y - 3.4, 2.0),
                                 Text(_MARGIN_MM, y, f"{kind}: never on an object. {issue.case}{issue.rules_hint}",
                                      2.2, colour=GREY)]
            for at, label in enumerate(labels[start:start + across * down]):
                left = _MARGIN_MM + at % across * _TAG_MM[0]
                top = tall - _MARGIN_MM - 6.0 - at // across * _TAG_MM[1]
                items += draw(label, Box(left, top - _TAG_MM[1], left + _TAG_MM[0], top), issue.measures)
            items += _cuts(len(labels[start:start + across * down]), across, tall)
            sheets.append(Sheet(wide, tall, tuple(items), kind))
    return sheets
