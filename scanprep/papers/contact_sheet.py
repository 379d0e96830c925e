"""All holds of one object side by side, so that people can choose by eye: front, three-quarter, from behind.

Every picture of a sheet is drawn at one scale and framed by the same ball, so that sizes compare. Rank, angles, margin,
what is seen and what the mount hides stand under each row. Returns PNG bytes, or sheets for the PDF writer.
"""

from __future__ import annotations

import io
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from scanprep.hold.records import Hold
from scanprep.papers.grid import heading
from scanprep.papers.letters import BOLD, REGULAR, font_bytes, printable
from scanprep.papers.measures import angle
from scanprep.papers.page import Issue, blank, finished
from scanprep.papers.pictures import VIEWS, PictureScene, picture_bytes
from scanprep.papers.scenes import shaded_object, shaded_proposal
from scanprep.papers.sheet import GREY, Box, Image, Item, Sheet, Text, shortened
from scanprep.post.records import PostPlan
from scanprep.scan.mesh import WorkingMesh
from scanprep.spec import MountSpec
from scanprep.survey.records import Survey
from scanprep.vectors import U8

SHOWN = ("front", "three-quarter", "from behind")
_CAPTION_PX, _HEAD_PX, _LINE_PX = 46, 44, 20


@dataclass(frozen=True, slots=True, eq=False)
class HoldPictures:
    """One hold seen from each side of `SHOWN`, square pictures."""

    hold: Hold
    pictures: tuple[U8, ...]  # (n, n, 3) each
    captions: tuple[str, str]


def captions(rank: int, hold: Hold) -> tuple[str, str]:
    """Return two lines that tell a hold apart from the others."""
    attitude = hold.attitude
    first = (f"{rank}  {attitude.name}: tilt {angle(attitude.tilt_deg)}, turn {angle(attitude.turn_deg)}, "
             f"roll {angle(attitude.roll_deg)}   score {hold.score:.1f}")
    second = (f"margin {hold.margin_g:.2f} g, {len(hold.tips)} tips, {hold.seen_share:.0%} of the surface seen from "
              f"the front, {hold.covered_share:.1%} covered, depth {hold.depth_mm:.0f} mm")
    return first, second


def hold_pictures(holds: Sequence[Hold], survey: Survey, working: WorkingMesh, size_px: int = 360, most: int = 12,
                  plan: PostPlan | None = None) -> list[HoldPictures]:
    """Return pictures of the first `most` holds, all at one scale.

    working  scan axes; the pictures are `size_px` square
    plan     the post that is planned: every hold is drawn with a post so thick; a stub without
    """
    reach = float(np.linalg.norm(working.vertices_mm - np.asarray(survey.centre_of_mass_mm), axis=1).max()) * 1.06
    window = Box(-reach, -reach, reach, reach)
    shown = []
    for rank, hold in enumerate(holds[:most], start=1):
        scene = PictureScene([shaded_object(working, survey, hold.attitude), *shaded_proposal(hold, plan)], sky_rays=16)
        pictures = tuple(scene.view(VIEWS[name], window, 2 * reach / size_px).pixels[:size_px, :size_px]
                         for name in SHOWN)
        shown.append(HoldPictures(hold, pictures, captions(rank, hold)))
    return shown


def contact_sheet_png(holds: Sequence[Hold], survey: Survey, working: WorkingMesh, title: str = "",
                      chosen: int | None = None, size_px: int = 360, plan: PostPlan | None = None) -> bytes:
    """Return one picture of all holds of an object, a row each, as a PNG file.

    Raises ValueError where there are no holds.
    """
    from PIL import Image as PillowImage
    from PIL import ImageDraw

    if not holds:
        raise ValueError("a contact sheet needs at least one hold")
    rows = hold_pictures(holds, survey, working, size_px, plan=plan)
    row_px = size_px + _CAPTION_PX
    canvas = PillowImage.new("RGB", (len(SHOWN) * size_px + 2 * 12, _HEAD_PX + len(rows) * row_px), "white")
    pencil = ImageDraw.Draw(canvas)
    pencil.text((12, 10), printable(title), fill="black", font=_font(BOLD, 22))
    for i, row in enumerate(rows):
        top = _HEAD_PX + i * row_px
        for j, picture in enumerate(row.pictures):
            canvas.paste(PillowImage.fromarray(picture), (12 + j * size_px, top))
        words = row.captions[0] + ("   CHOSEN" if chosen == i else "")
        pencil.text((12, top + size_px), words, fill="black", font=_font(BOLD, 15))
        pencil.text((12, top + size_px + _LINE_PX), row.captions[1], fill="black", font=_font(REGULAR, 14))
    return picture_bytes(np.asarray(canvas))


def _font(name: str, size_px: int) -> Any:
    from PIL import ImageFont

    return ImageFont.truetype(io.BytesIO(font_bytes(name)), size_px, layout_engine=ImageFont.Layout.BASIC)


def contact_sheets(spec: MountSpec, working: WorkingMesh, issue: Issue) -> list[Sheet]:
    """Return the holds as office-size pages, three rows a page, to mark with a pencil; none without holds."""
    number = spec.number
    rows = hold_pictures(spec.holds.holds, spec.survey, working, 420, plan=spec.plan)
    per_page = 3
    pages = [rows[i:i + per_page] for i in range(0, len(rows), per_page)]
    sheets = []
    for at, page_rows in enumerate(pages):
        page = blank(issue, "Holds to choose from", number, at + 1, len(pages))
        room = page.room
        items: list[Item] = list(heading(f"{number}   holds, best first", room.left_mm, room.top_mm, room.width_mm,
                                         4.0).items)
        cell = min(room.width_mm / 3, (room.height_mm - 10.0) / per_page - 10.0)
        for i, row in enumerate(page_rows):
            top = room.top_mm - 8.0 - i * (cell + 10.0)
            for j, picture in enumerate(row.pictures):
                items.append(Image(room.left_mm + j * room.width_mm / 3, top - cell, cell, cell,
                                   picture_bytes(picture, kind="JPEG", quality=88)))
            mark = "   CHOSEN" if spec.chosen == at * per_page + i else ""
            items += [Text(room.left_mm, top - cell - 3.0, shortened(row.captions[0] + mark, room.width_mm, 2.2, True),
                           2.2, bold=True),
                      Text(room.left_mm, top - cell - 6.5, row.captions[1], 1.9, colour=GREY)]
        sheets.append(finished(page, items, f"Holds of {number}"))
    return sheets
