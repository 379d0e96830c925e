"""One picture of what the survey found: the object from the front, the side and below, with what it stands on.

All three views have one scale, told by a bar. A cross marks the centre of mass, the ring round it how far off it may
be; a line under the front and side views is the table, and the polygon seen from below is the footprint.
Takes the survey and the working mesh (scan axes, mm); returns PNG bytes. Used by the command line.
"""

from __future__ import annotations

import io
from typing import Any

import numpy as np

from scanprep.papers.drawing.letters import BOLD, REGULAR, font_bytes, printable
from scanprep.papers.drawing.sheet import Box
from scanprep.papers.pictures.shading import PictureScene, ShadedMesh, picture_bytes
from scanprep.scan.mesh import WorkingMesh
from scanprep.survey.records import Survey
from scanprep.units import format_length
from scanprep.vectors import F64, rotation_about

#: layout: Turns from the object frame (y up, z to the front) to the picture.
_VIEWS: tuple[tuple[str, F64], ...] = (
    ("front", np.eye(3)),
    ("from the right", rotation_about((0.0, 1.0, 0.0), -90.0)),
    ("from below", rotation_about((1.0, 0.0, 0.0), -90.0)),
)
_MARGIN_PX, _HEAD_PX, _FOOT_PX = 16, 44, 64  # layout: margin, head and foot
_MARK, _GROUND = (196, 30, 30), (30, 70, 160)  # layout: colours of marks and of the ground line


def survey_picture_png(survey: Survey, working: WorkingMesh, title: str = "", units: str = "mm", size_px: int = 420
                       ) -> bytes:
    """Return the picture as a PNG file.

    units    "mm" or "in", for the words
    size_px  edge of each view's square
    """
    from PIL import Image, ImageDraw

    skin = survey.to_object.points(working.vertices_mm)
    scene = PictureScene([ShadedMesh(skin, working.faces, working.colours)])
    frames = [scene.window(turn) for _, turn in _VIEWS]
    edge_mm = 1.12 * max(max(frame.width_mm, frame.height_mm) for frame in frames)
    mm_per_px = edge_mm / size_px
    canvas = Image.new("RGB", (3 * size_px + 4 * _MARGIN_PX, size_px + _HEAD_PX + _FOOT_PX), "white")
    pencil = ImageDraw.Draw(canvas)
    pencil.text((_MARGIN_PX, 10), printable(title or "Survey"), fill="black", font=_font(BOLD, 22))
    for k, ((name, turn), frame) in enumerate(zip(_VIEWS, frames, strict=True)):
        window = _square(frame, edge_mm)
        picture = scene.view(turn, window, mm_per_px).pixels[:size_px, :size_px]
        corner = (_MARGIN_PX + k * (size_px + _MARGIN_PX), _HEAD_PX)
        canvas.paste(Image.fromarray(picture), corner)
        _marks(pencil, survey, turn, window, corner, mm_per_px)
        pencil.text((corner[0], corner[1] + size_px + 2), name, fill="black", font=_font(REGULAR, 15))
    _bar(pencil, (_MARGIN_PX, _HEAD_PX + size_px + 44), edge_mm, mm_per_px, units)
    words = f"cross: centre of mass, within {format_length(survey.centre_radius_mm, units)}    {_standing(survey)}"
    pencil.text((2 * _MARGIN_PX + size_px, _HEAD_PX + size_px + 34), words, fill="black", font=_font(REGULAR, 15))
    return picture_bytes(np.asarray(canvas))


def _standing(survey: Survey) -> str:
    """What the blue polygon is, in words."""
    foot = survey.footprint
    if foot.kind == "none":
        return "it does not stand by itself this way"
    base = {"flat": "flat base", "ring": "foot ring", "feet": "what it stands on"}[foot.kind]
    return f"blue: {base}, tips at {foot.tip_angle_deg:.0f}°"


def _square(frame: Box, edge_mm: float) -> Box:
    x, y = (frame.left_mm + frame.right_mm) / 2, (frame.bottom_mm + frame.top_mm) / 2
    return Box(x - edge_mm / 2, y - edge_mm / 2, x + edge_mm / 2, y + edge_mm / 2)


def _marks(pencil: Any, survey: Survey, turn: F64, window: Box, corner: tuple[int, int], mm_per_px: float) -> None:
    """Draw table, footprint and centre of mass; the object frame's origin is the centre."""
    def at(points_mm: F64) -> list[tuple[float, float]]:
        flat = points_mm @ turn.T
        return [(corner[0] + (x - window.left_mm) / mm_per_px, corner[1] + (window.top_mm - y) / mm_per_px)
                for x, y in flat[:, :2]]

    if survey.footprint.polygon_mm:
        ground = at(survey.to_object.points(np.asarray(survey.footprint.polygon_mm)))
        pencil.line([*ground, ground[0]], fill=_GROUND, width=2)
    (x, y), = at(np.zeros((1, 3)))
    ring = max(survey.centre_radius_mm / mm_per_px, 2.0)
    pencil.ellipse((x - ring, y - ring, x + ring, y + ring), outline=_MARK, width=2)
    pencil.line((x - 9, y, x + 9, y), fill=_MARK, width=2)
    pencil.line((x, y - 9, x, y + 9), fill=_MARK, width=2)


def _bar(pencil: Any, start: tuple[int, int], edge_mm: float, mm_per_px: float, units: str) -> None:
    """Draw a bar of a round length, about a third of a view, in two halves."""
    unit = 25.4 if units == "in" else 1.0
    steps = [s * unit for s in (0.25, 0.5, 1, 2, 4, 8, 12, 24)] if units == "in" else [
        1, 2, 5, 10, 20, 50, 100, 200, 500.0]
    length_mm = max((s for s in steps if s <= 0.45 * edge_mm), default=steps[0])
    x, y, px = start[0], start[1], length_mm / mm_per_px
    pencil.rectangle((x, y, x + px / 2, y + 6), fill="black")
    pencil.rectangle((x + px / 2, y, x + px, y + 6), outline="black", fill="white")
    words = format_length(length_mm, units, decimals=0)
    pencil.text((x + px + 8, y - 6), words, fill="black", font=_font(REGULAR, 15))


def _font(name: str, size_px: int) -> Any:
    from PIL import ImageFont

    return ImageFont.truetype(io.BytesIO(font_bytes(name)), size_px, layout_engine=ImageFont.Layout.BASIC)
