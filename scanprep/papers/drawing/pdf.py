"""Sheets to a PDF file: true to scale, every font embedded, the same bytes for the same sheets.

One PDF unit is 1/72 in. Pages longer than 200 in (5080 mm) are refused, since a larger user unit is read differently
by different viewers: split the template instead.
"""

from __future__ import annotations

import io
from collections.abc import Sequence
from typing import Any

from scanprep.papers.drawing.control import Control, controlled
from scanprep.papers.drawing.letters import BOLD, REGULAR, printable, register_fonts, size_pt
from scanprep.papers.drawing.sheet import Circle, Colour, Datum, Group, Image, Item, Path, Pen, Sheet, Text
from scanprep.plain_text import in_one_line

PT_PER_MM = 72 / 25.4  # exact: 72 points to the inch
LONGEST_MM = 5080.0  # format: 14 400 units: PDF 1.7 (ISO 32000-1:2008), annex C


def pdf_bytes(sheets: Sequence[Sheet], *, title: str, subject: str = "", control: Control | None = None) -> bytes:
    """Return a PDF of the sheets, one page each, without page scaling when printed.

    control  which issue of which paper it is: set at the sheets' marks and kept in the file's keywords

    Raises ValueError for no sheets, or a page longer than 5080 mm.
    """
    from reportlab import rl_config
    from reportlab.pdfgen.canvas import Canvas

    rl_config.useA85 = 0  # binary streams: a fifth smaller, and the text form takes a sixth of a mount sheet's time
    if not sheets:
        raise ValueError("a PDF needs at least one sheet")
    for sheet in sheets:
        if max(sheet.width_mm, sheet.height_mm) > LONGEST_MM:
            raise ValueError(f"a page of {max(sheet.width_mm, sheet.height_mm):.0f} mm is longer than PDF allows "
                             f"({LONGEST_MM:.0f} mm): split it")
    register_fonts()
    sink = io.BytesIO()
    canvas = Canvas(sink, invariant=1, pageCompression=1, initialFontName=REGULAR, pdfVersion=(1, 4))
    canvas.setTitle(in_one_line(title))
    canvas.setSubject(in_one_line(subject))
    canvas.setKeywords(control.note if control else "")
    canvas.setCreator("scanprep")
    canvas.setProducer("scanprep")
    canvas.setViewerPreference("PrintScaling", "None")
    for sheet in sheets:
        canvas.setPageSize((sheet.width_mm * PT_PER_MM, sheet.height_mm * PT_PER_MM))
        for item in controlled(sheet, control).items:
            _draw(canvas, item)
        canvas.showPage()
    canvas.save()
    return sink.getvalue()


def _draw(canvas: Any, item: Item) -> None:
    if isinstance(item, Path):
        _draw_path(canvas, item)
    elif isinstance(item, Circle):
        _pen(canvas, item.pen, item.fill)
        canvas.circle(item.x_mm * PT_PER_MM, item.y_mm * PT_PER_MM, item.radius_mm * PT_PER_MM,
                      stroke=int(item.pen is not None), fill=int(item.fill is not None))
    elif isinstance(item, Text):
        _draw_text(canvas, item)
    elif isinstance(item, Image):
        _draw_image(canvas, item)
    elif isinstance(item, Group):
        _draw_group(canvas, item)
    elif not isinstance(item, Datum):
        raise TypeError(f"the PDF writer does not know {type(item).__name__}")


def _draw_group(canvas: Any, group: Group) -> None:
    canvas.saveState()
    if group.clip is not None:
        box, outline = group.clip, canvas.beginPath()
        outline.rect(box.left_mm * PT_PER_MM, box.bottom_mm * PT_PER_MM, box.width_mm * PT_PER_MM,
                     box.height_mm * PT_PER_MM)
        canvas.clipPath(outline, stroke=0, fill=0)
    canvas.translate(group.dx_mm * PT_PER_MM, group.dy_mm * PT_PER_MM)
    for item in group.items:
        _draw(canvas, item)
    canvas.restoreState()


def _pen(canvas: Any, pen: Pen | None, fill: Colour | None) -> None:
    if pen is not None:
        canvas.setLineWidth(pen.width_mm * PT_PER_MM)
        canvas.setStrokeColorRGB(*pen.colour)
        canvas.setDash([d * PT_PER_MM for d in pen.dash_mm] if pen.dash_mm else [])
    if fill is not None:
        canvas.setFillColorRGB(*fill)


def _draw_path(canvas: Any, item: Path) -> None:
    _pen(canvas, item.pen, item.fill)
    path = canvas.beginPath()
    path.moveTo(item.points[0][0] * PT_PER_MM, item.points[0][1] * PT_PER_MM)
    for x, y in item.points[1:]:
        path.lineTo(x * PT_PER_MM, y * PT_PER_MM)
    if item.closed:
        path.close()
    canvas.drawPath(path, stroke=int(item.pen is not None), fill=int(item.fill is not None))


def _draw_text(canvas: Any, item: Text) -> None:
    words = printable(item.text)
    if not words.strip():
        return
    canvas.setFont(BOLD if item.bold else REGULAR, size_pt(item.height_mm))
    canvas.setFillColorRGB(*item.colour)
    put = {"start": canvas.drawString, "middle": canvas.drawCentredString, "end": canvas.drawRightString}[item.anchor]
    if item.angle_deg == 0:
        put(item.x_mm * PT_PER_MM, item.y_mm * PT_PER_MM, words)
        return
    canvas.saveState()
    canvas.translate(item.x_mm * PT_PER_MM, item.y_mm * PT_PER_MM)
    canvas.rotate(item.angle_deg)
    put(0, 0, words)
    canvas.restoreState()


def _draw_image(canvas: Any, item: Image) -> None:
    from reportlab.lib.utils import ImageReader

    canvas.drawImage(ImageReader(io.BytesIO(item.data)), item.x_mm * PT_PER_MM, item.y_mm * PT_PER_MM,
                     item.width_mm * PT_PER_MM, item.height_mm * PT_PER_MM)
