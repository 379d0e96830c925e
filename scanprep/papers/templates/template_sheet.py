"""The drill template of one face as a single page at 1:1, for a roll plotter on polyester film.

The sheet's own edges stand on the page, bars and running ordinates outside them, notes and the table of ordinates
below. Where a page would be longer than PDF allows, use tiles. Used for PDF, SVG and DXF alike.
"""

from __future__ import annotations

from scanprep.cautions import SHORT_CAUTION
from scanprep.panel.faces import FaceName
from scanprep.papers.drawing.control import Control
from scanprep.papers.drawing.dxf import dxf_bytes
from scanprep.papers.drawing.grid import grid
from scanprep.papers.drawing.measures import Measures
from scanprep.papers.drawing.page import Issue
from scanprep.papers.drawing.pdf import LONGEST_MM
from scanprep.papers.drawing.sheet import (
    BLACK,
    WHITE,
    Box,
    ControlMark,
    Group,
    Item,
    Sheet,
    Text,
    bounds,
    rectangle,
    stretched,
    wrapped,
)
from scanprep.papers.templates.marks import bar_marks, face_drawing
from scanprep.papers.templates.ordinates import RULES, count_words, ordinate_columns, ordinate_row, warning_text
from scanprep.papers.templates.running_ordinates import REACH_MM, running_ordinates
from scanprep.papers.templates.template import Correction, TemplatePanel, stamp_words

SIDE_MM, TOP_MM = 40.0, 40.0  # layout: film outside the panel
_ROW_MM, _LINE_MM = 8.0, 3.0  # layout: rows and words of the table


def template_sheet(panel: TemplatePanel, face: FaceName, issue: Issue,
                   correction: Correction | None = None) -> Sheet:
    """Return one face at 1:1 on one page; the face's lower left corner stands at `template_origin_mm`.

    correction  stretches the whole page so that a printer that is not true prints true; it is said on the page

    Raises ValueError where the page would be longer than 5080 mm.
    """
    correction = correction or Correction()
    below = _below(panel, face, issue, correction)
    depth = -min(_lowest(item) for item in below) + 12.0
    x0, y0 = SIDE_MM, depth
    width, height = panel.width_mm + 2 * SIDE_MM, panel.height_mm + TOP_MM + depth
    if height * correction.y_ratio > LONGEST_MM:
        raise ValueError(f"the template of panel {panel.name} would be {height:.0f} mm long, more than a page may be "
                         f"({LONGEST_MM:.0f} mm): print it in tiles")
    drawing = [*face_drawing(panel, face, issue.measures, stamp_words(panel.on(face))), *bar_marks(panel, face),
               *running_ordinates(panel, face, issue.measures), *below]
    items: tuple[Item, ...] = (Group(tuple(drawing), x0, y0),)
    if not correction.is_none:
        items = stretched(items, correction.x_ratio, correction.y_ratio)
        width, height = width * correction.x_ratio, height * correction.y_ratio
    return Sheet(width, height, items, f"Drill template {panel.name} face {face}")


def template_origin_mm(panel: TemplatePanel, sheet: Sheet) -> tuple[float, float]:
    """Return where the face's lower left corner stands on an uncorrected template page."""
    return SIDE_MM, sheet.height_mm - TOP_MM - panel.height_mm


def template_dxf(panel: TemplatePanel, face: FaceName, issue: Issue, control: Control | None = None) -> bytes:
    """Return one face's template as a DXF whose 0, 0 is the face's lower left corner, as its own viewer sees it."""
    sheet = template_sheet(panel, face, issue)
    return dxf_bytes(sheet, template_origin_mm(panel, sheet), control)


def _lowest(item: Item) -> float:
    return bounds(item).bottom_mm


def _below(panel: TemplatePanel, face: FaceName, issue: Issue, correction: Correction) -> list[Item]:
    """Words and table under the face, in its frame: everything at y < 0."""
    left, width = -SIDE_MM + 10.0, panel.width_mm + 2 * SIDE_MM - 20.0
    holes = panel.on(face)
    items: list[Item] = []
    y = -REACH_MM - 2.0
    title = f"{issue.case + ': ' if issue.case else ''}panel {panel.name}, face {face}, drill template 1:1"
    for words in wrapped(title, width, 6.0, True):
        items.append(Text(left, y - 6.0, words, 6.0, bold=True))
        y -= 10.0
    items += [ControlMark(left, y - 3.5, 3.5, bold=True), ControlMark(left, y - 8.0, _LINE_MM, says="record")]
    y -= 10.5
    facts = (f"{count_words(holes)}; sheet "
             f"{_size_words(panel, issue.measures)}; ordinates in {issue.measures.name}; "
             f"issued {issue.issued or '______________'}")
    if not correction.is_none:
        facts += f"; {correction.words}, and the bars must measure true on its print"
    for words in wrapped(facts, width, _LINE_MM):
        items.append(Text(left, y - _LINE_MM, words, _LINE_MM))
        y -= 4.8
    if warning := warning_text(holes):
        warnings = wrapped(warning, width - 4.0, _LINE_MM, True)
        items.append(rectangle(Box(left, y - 4.8 * len(warnings) - 2.0, left + width, y - 0.5), None, BLACK))
        items += [Text(left + 2.0, y - 4.8 * (i + 1) + 0.3, words, _LINE_MM, bold=True, colour=WHITE)
                  for i, words in enumerate(warnings)]
        y -= 4.8 * len(warnings) + 4.0
    changed = [issue.rules_changed] if issue.rules_changed else []
    for rule in (*RULES, _correction_rule(), SHORT_CAUTION, *changed):
        for i, words in enumerate(wrapped(rule, width - 5.0, 2.5)):
            items.append(Text(left + (0.0 if i == 0 else 5.0), y - 2.5, f"– {words}" if i == 0 else words, 2.5))
            y -= 4.2
    table = grid(ordinate_columns(min(width, 560.0), issue.measures.units),
                 [ordinate_row(hole, panel, issue.measures) for hole in holes], left, y - 3.0, height_mm=2.8,
                 least_row_mm=_ROW_MM, upright_rules=True)
    return [*items, *table.items]


def _correction_rule() -> str:
    return ("If a bar measures wrong: x factor = level bar's name ÷ what it measures, y factor the same with an "
            "upright bar; print again with these factors. The longest bars tell most: 0.1 % is 2 mm on 2000.")


def _size_words(panel: TemplatePanel, measures: Measures) -> str:
    measured = "measured" if panel.thickness_measured else "not measured"
    return (f"{measures.length(panel.width_mm)} × {measures.length(panel.height_mm)} × "
            f"{measures.length(panel.thickness_mm)} {measures.units} (thickness {measured})")
