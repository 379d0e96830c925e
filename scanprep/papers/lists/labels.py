"""Labels: a tag for each post and one for each mount's box. Never for an object: a label touches nothing that is shown.

Office label sheets differ, so the labels are cut from plain paper or card: three across, with cut lines.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from scanprep.papers.drawing.letters import text_width_mm
from scanprep.papers.drawing.measures import Measures, clock
from scanprep.papers.drawing.page import Issue
from scanprep.papers.drawing.sheet import GREY, Box, Circle, Item, Pen, Sheet, Text, line, paper_mm, shortened

_TAG_MM = (60.0, 22.0)  # width, height
_MARGIN_MM = 12.0


@dataclass(frozen=True, slots=True)
class Label:
    """What a mount's two labels say."""

    object_number: str
    title: str
    place: str  # "West A", or "not placed"
    hole: str  # hole number, or ""
    session: int
    rod: str
    cut_length_mm: float | None
    clock_deg: float


def _fitted(words: str, width_mm: float, height_mm: float, bold: bool) -> tuple[str, float]:
    """Words and the height at which they fit, at least 60 % of what is wanted, then cut."""
    while height_mm > 1.8 and text_width_mm(words, height_mm, bold) > width_mm:
        height_mm *= 0.95
    return shortened(words, width_mm, height_mm, bold), height_mm


def _tag(label: Label, box: Box, measures: Measures, session: int, revision: int) -> list[Item]:
    number, size = _fitted(label.object_number, box.width_mm - 16.0, 6.0, True)
    cut = "length not known" if label.cut_length_mm is None else f"cut {measures.named(label.cut_length_mm)}"
    where = f"{label.place}  {label.hole}".strip()
    return [Circle(box.left_mm + 6.0, box.top_mm - 6.0, 2.0, Pen(0.18)),
            Text(box.left_mm + 12.0, box.top_mm - 9.0, number, size, bold=True),
            Text(box.left_mm + 12.0, box.top_mm - 13.4, shortened(where, box.width_mm - 14.0, 2.5, True), 2.5,
                 bold=True),
            Text(box.left_mm + 12.0, box.top_mm - 17.0, f"rod {label.rod}, {cut}", 2.1),
            Text(box.left_mm + 12.0, box.top_mm - 20.4, f"12 o'clock: {clock(label.clock_deg)}", 1.9),
            Text(box.right_mm - 1.5, box.top_mm - 20.4, f"ses. {label.session}, set {session}/{revision}", 1.5, "end",
                 colour=GREY),
            Text(box.left_mm + 2.5, box.bottom_mm + 2.0, "POST TAG", 1.6, "start", 90.0, colour=GREY)]


def _box_label(label: Label, box: Box, measures: Measures, session: int, revision: int) -> list[Item]:
    number, size = _fitted(label.object_number, box.width_mm - 9.0, 6.5, True)
    return [Text(box.left_mm + 7.0, box.top_mm - 8.5, number, size, bold=True),
            Text(box.left_mm + 7.0, box.top_mm - 12.6, shortened(label.title, box.width_mm - 9.0, 2.3), 2.3),
            Text(box.left_mm + 7.0, box.top_mm - 16.4,
                 shortened(f"{label.place}  {label.hole}".strip(), box.width_mm - 9.0, 2.3, True), 2.3, bold=True),
            Text(box.left_mm + 7.0, box.top_mm - 20.0, f"mount only, session {label.session}, set {session}/{revision}",
                 1.7, colour=GREY),
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
            items: list[Item] = [Text(_MARGIN_MM, tall - _MARGIN_MM - 1.0, f"{kind}: never on an object. {issue.case}"
                                      f"{issue.rules_hint}", 2.2, colour=GREY)]
            for at, label in enumerate(labels[start:start + across * down]):
                left = _MARGIN_MM + at % across * _TAG_MM[0]
                top = tall - _MARGIN_MM - 6.0 - at // across * _TAG_MM[1]
                items += draw(label, Box(left, top - _TAG_MM[1], left + _TAG_MM[0], top), issue.measures, issue.session,
                              issue.revision)
            items += _cuts(len(labels[start:start + across * down]), across, tall)
            sheets.append(Sheet(wide, tall, tuple(items), kind))
    return sheets
