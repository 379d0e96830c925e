"""The ways in which an object may be shown, where evidence is too thin to propose one: small numbered pictures.

Under each stands what to write into the checklist for it. Takes the survey and the working mesh (scan axes, mm);
returns PNG bytes. Used where an object's own pictures are written.
"""

from __future__ import annotations

import io
from typing import Any

import numpy as np

from scanprep.papers.drawing.letters import BOLD, REGULAR, font_bytes, printable
from scanprep.papers.pictures.shading import PictureScene, ShadedMesh, picture_bytes
from scanprep.scan.mesh import WorkingMesh
from scanprep.survey.records import Survey
from scanprep.survey.verdicts import direction_words
from scanprep.vectors import F64, Vec3, unit

_COLUMNS, _MARGIN_PX, _HEAD_PX, _FOOT_PX = 4, 12, 40, 44  # layout: pictures across, and margins in pixels


def display_turn(up: Vec3, front: Vec3) -> F64:
    """Return the (3, 3) turn from scan axes to x right, y up, z to the viewer."""
    y = unit(np.asarray(up, dtype=np.float64))
    z = unit(np.asarray(front) - (np.asarray(front) @ y) * y)
    return np.stack([np.cross(y, z), y, z])


def choices_png(survey: Survey, working: WorkingMesh, title: str = "", size_px: int = 260) -> bytes:
    """Return one picture of all the choices as a PNG file.

    size_px  edge of each view's square

    Raises ValueError where there is nothing to choose.
    """
    from PIL import Image, ImageDraw

    if not survey.choices:
        raise ValueError("nothing is asked of this object's showing")
    skin = working.vertices_mm - np.asarray(survey.centre_of_mass_mm)
    scene = PictureScene([ShadedMesh(skin, working.faces, working.colours)])
    columns = min(_COLUMNS, len(survey.choices))
    rows = -(-len(survey.choices) // columns)
    wide, high = size_px + _MARGIN_PX, size_px + _FOOT_PX
    canvas = Image.new("RGB", (columns * wide + _MARGIN_PX, _HEAD_PX + rows * high), "white")
    pencil = ImageDraw.Draw(canvas)
    pencil.text((_MARGIN_PX, 8), printable(f"{title}  which of these?".strip()), fill="black", font=_font(BOLD, 20))
    for place, choice in enumerate(survey.choices):
        turn = display_turn(choice.up, choice.front)
        window = scene.window(turn)
        view = scene.view(turn, window, max(window.width_mm, window.height_mm) / size_px).pixels[:size_px, :size_px]
        left, top = _MARGIN_PX + place % columns * wide, _HEAD_PX + place // columns * high
        canvas.paste(Image.fromarray(view), (left + (size_px - view.shape[1]) // 2, top + size_px - view.shape[0]))
        words = f"{place + 1}  up {direction_words(choice.up)}", f"    front {direction_words(choice.front)}"
        for line, said in enumerate(words):
            pencil.text((left, top + size_px + 3 + 18 * line), said, fill="black", font=_font(REGULAR, 14))
    return picture_bytes(np.asarray(canvas))


def _font(name: str, size_px: int) -> Any:
    from PIL import ImageFont

    return ImageFont.truetype(io.BytesIO(font_bytes(name)), size_px, layout_engine=ImageFont.Layout.BASIC)
