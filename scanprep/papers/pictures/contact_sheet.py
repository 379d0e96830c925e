"""All holds of one object side by side, so that people can choose by eye: front, three-quarter, from behind.

Every picture of a sheet is drawn at one scale, the greatest at which object and mount fit whole in each of them, so
that sizes compare and nothing is cut but the post, which ends a little behind the hub. A bar tells the scale. Rank,
angles, margin, what is seen and what the mount hides stand under each row. Returns PNG bytes, or sheets for the PDF
writer.
"""

from __future__ import annotations

import io
import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from scanprep.findings import Verdict
from scanprep.hold.records import Hold
from scanprep.papers.drawing.dimensions import scale_bar
from scanprep.papers.drawing.grid import heading
from scanprep.papers.drawing.letters import BOLD, REGULAR, font_bytes, printable
from scanprep.papers.drawing.measures import angle
from scanprep.papers.drawing.page import Issue, blank, finished
from scanprep.papers.drawing.sheet import GREY, Box, Image, Item, Sheet, Text, shortened
from scanprep.papers.pictures.scenes import shaded_object, shaded_stub
from scanprep.papers.pictures.shading import VIEWS, PictureScene, picture_bytes
from scanprep.post.records import PostPlan
from scanprep.scan.mesh import WorkingMesh
from scanprep.spec import MountSpec
from scanprep.survey.records import Survey
from scanprep.vectors import U8

SHOWN = ("front", "three-quarter", "from behind")
MARGIN_PX = 10  # layout: of white round what is drawn in a cell
_CAPTION_PX, _HEAD_PX, _LINE_PX, _SIDE_PX = 46, 82, 20, 12  # layout: heights of captions, head and lines
_BARS_MM = (1, 5, 10, 50, 100, 500)  # layout: lengths that a scale bar may have
_BAR_SHARE = 0.25  # layout: of a sheet's width, most that its scale bar takes
_STUB_SHARE = 0.12  # layout: of the object's diagonal: enough to tell a post by, short enough to leave the object large


@dataclass(frozen=True, slots=True, eq=False)
class HoldPictures:
    """One hold seen from each side of `SHOWN`: pictures of one height, each column as wide on every row."""

    hold: Hold
    pictures: tuple[U8, ...]  # (h, w, 3) each
    captions: tuple[str, str]


@dataclass(frozen=True, slots=True, eq=False)
class SheetPictures:
    """The holds of one object, all drawn at one scale."""

    rows: tuple[HoldPictures, ...]
    mm_per_px: float
    stub_mm: float  # of post drawn behind the hub, at most

    @property
    def note(self) -> str:
        """What a reader must know of how they are drawn."""
        return f"all drawn to one scale; posts cut {self.stub_mm:.0f} mm behind the hub"

    def bar_mm(self, width_mm: float) -> int:
        """Return the longest bar, 1 5 10 50 100 or 500 mm, that takes no more than a quarter of a width."""
        return max((bar for bar in _BARS_MM if bar <= _BAR_SHARE * width_mm), default=_BARS_MM[0])


def captions(rank: int, hold: Hold) -> tuple[str, str]:
    """Return two lines that tell a hold apart from the others."""
    attitude = hold.attitude
    first = (f"{rank}  {attitude.name}: tilt {angle(attitude.tilt_deg)}, turn {angle(attitude.turn_deg)}, "
             f"roll {angle(attitude.roll_deg)}   score {hold.score:.1f}")
    second = (f"margin {hold.margin_g:.2f} g, {len(hold.tips)} tips, {hold.seen_share:.0%} of the surface seen from "
              f"the front, {hold.covered_share:.1%} covered, depth {hold.depth_mm:.0f} mm")
    return first, second


def hold_pictures(holds: Sequence[Hold], survey: Survey, working: WorkingMesh, room_px: tuple[int, int] = (1080, 420),
                  most: int = 12, plan: PostPlan | None = None) -> SheetPictures:
    """Return pictures of the first `most` holds, all at the greatest scale at which every row fits the room.

    working  scan axes
    room_px  width of a row, and the most that it is high
    plan     the post that is planned: every hold is drawn with a post so thick
    """
    stub_mm = float(max(math.ceil(_STUB_SHARE * survey.diagonal_mm), 2))
    scenes = [PictureScene([shaded_object(working, survey, hold.attitude), *shaded_stub(hold, plan, stub_mm)],
                           sky_rays=16) for hold in holds[:most]]
    frames = [[scene.window(VIEWS[name]) for name in SHOWN] for scene in scenes]
    widths_mm = [max(row[j].width_mm for row in frames) for j in range(len(SHOWN))]
    tallest_mm = max(frame.height_mm for row in frames for frame in row)
    mm_per_px = max(sum(widths_mm) / (room_px[0] - 2 * MARGIN_PX * len(SHOWN)),
                    tallest_mm / (room_px[1] - 2 * MARGIN_PX))
    cells_px = _shared_out([math.floor(wide / mm_per_px) + 2 * MARGIN_PX for wide in widths_mm], room_px[0])
    rows = []
    for rank, (hold, scene, row) in enumerate(zip(holds, scenes, frames), start=1):
        high_px = math.ceil(max(frame.height_mm for frame in row) / mm_per_px) + 2 * MARGIN_PX
        pictures = tuple(scene.view(VIEWS[name], _cell(frame, wide_px * mm_per_px, high_px * mm_per_px),
                                    mm_per_px).pixels for name, frame, wide_px in zip(SHOWN, row, cells_px))
        rows.append(HoldPictures(hold, pictures, captions(rank, hold)))
    return SheetPictures(tuple(rows), mm_per_px, stub_mm)


def _shared_out(widths_px: list[int], room_px: int) -> list[int]:
    """Columns with the width that is left shared among them."""
    spare = room_px - sum(widths_px)
    return [width + spare // len(widths_px) for width in widths_px]


def _cell(frame: Box, width_mm: float, height_mm: float) -> Box:
    x, y = (frame.left_mm + frame.right_mm) / 2, (frame.bottom_mm + frame.top_mm) / 2
    return Box(x - width_mm / 2, y - height_mm / 2, x + width_mm / 2, y + height_mm / 2)


def chosen_mark(spec: MountSpec) -> str:
    """Return the words for the hold that counts: nobody has chosen what is only proposed, and what its sheet stops at
    is not to be made."""
    word = "PROPOSED" if spec.chosen_by == "proposed" else "CHOSEN"
    return f"{word}, BUT STOP: see its sheet" if spec.verdict is Verdict.STOP else word


def contact_sheet_png(holds: Sequence[Hold], survey: Survey, working: WorkingMesh, title: str = "",
                      chosen: int | None = None, room_px: tuple[int, int] = (1080, 420),
                      plan: PostPlan | None = None, mark: str = "CHOSEN") -> bytes:
    """Return one picture of all holds of an object, a row each, as a PNG file.

    chosen, mark  which hold is marked, and how

    Raises ValueError where there are no holds.
    """
    from PIL import Image as PillowImage
    from PIL import ImageDraw

    if not holds:
        raise ValueError("a contact sheet needs at least one hold")
    drawn = hold_pictures(holds, survey, working, room_px, plan=plan)
    heights = [row.pictures[0].shape[0] + _CAPTION_PX for row in drawn.rows]
    canvas = PillowImage.new("RGB", (room_px[0] + 2 * _SIDE_PX, _HEAD_PX + sum(heights)), "white")
    pencil = ImageDraw.Draw(canvas)
    room = _draw_bar(pencil, drawn, _SIDE_PX + room_px[0]) - 2 * _SIDE_PX
    pencil.text((_SIDE_PX, 10), _cut(printable(title), room), fill="black", font=_font(BOLD, 22))
    pencil.text((_SIDE_PX, 40), drawn.note, fill="gray", font=_font(REGULAR, 13))
    for name, (left, right) in zip(SHOWN, _columns(drawn.rows[0])):
        pencil.text((_SIDE_PX + (left + right) / 2, _HEAD_PX - 12), name, fill="gray", font=_font(REGULAR, 14),
                    anchor="mm")
    top = _HEAD_PX
    for i, (row, high) in enumerate(zip(drawn.rows, heights)):
        for picture, (left, _) in zip(row.pictures, _columns(row)):
            canvas.paste(PillowImage.fromarray(picture), (_SIDE_PX + left, top))
        words = row.captions[0] + (f"   {mark}" if chosen == i else "")
        pencil.text((_SIDE_PX, top + high - _CAPTION_PX), words, fill="black", font=_font(BOLD, 15))
        pencil.text((_SIDE_PX, top + high - _CAPTION_PX + _LINE_PX), row.captions[1], fill="black",
                    font=_font(REGULAR, 14))
        top += high
    return picture_bytes(np.asarray(canvas))


def _columns(row: HoldPictures) -> list[tuple[int, int]]:
    """Left and right of each of a row's pictures, in pixels."""
    ends = np.cumsum([0, *(picture.shape[1] for picture in row.pictures)]).tolist()
    return list(itertools.pairwise(ends))


def _cut(title: str, room_px: float) -> str:
    """A title as far as it fits."""
    font = _font(BOLD, 22)
    if font.getlength(title) <= room_px:
        return title
    return next((f"{title[:k]}…" for k in range(len(title), 0, -1) if font.getlength(f"{title[:k]}…") <= room_px), "…")


def _draw_bar(pencil: Any, drawn: SheetPictures, right_px: int) -> float:
    """A scale bar that ends at the right margin, its length before it; returns where that begins."""
    bar_mm = drawn.bar_mm((right_px - _SIDE_PX) * drawn.mm_per_px)
    left, words = right_px - round(bar_mm / drawn.mm_per_px), f"{bar_mm} mm"
    pencil.rectangle((left, 18, right_px - 1, 24), outline="black", fill="white")
    pencil.rectangle((left, 18, (left + right_px) // 2, 24), fill="black")
    pencil.text((left - 6, 21), words, fill="black", font=_font(REGULAR, 14), anchor="rm")
    return float(left - 6 - _font(REGULAR, 14).getlength(words))


def _font(name: str, size_px: int) -> Any:
    from PIL import ImageFont

    return ImageFont.truetype(io.BytesIO(font_bytes(name)), size_px, layout_engine=ImageFont.Layout.BASIC)


def contact_sheets(spec: MountSpec, working: WorkingMesh, issue: Issue) -> list[Sheet]:
    """Return the holds as office-size pages, three rows a page, to mark with a pencil; none without holds."""
    number, per_page, wide_px = spec.number, 3, 1260
    if not spec.holds.holds:
        return []
    pages = math.ceil(len(spec.holds.holds) / per_page)
    room = blank(issue, "Holds to choose from", number, 1, pages).room
    px_per_mm = wide_px / room.width_mm
    high_px = int(((room.height_mm - 12.0) / per_page - 10.0) * px_per_mm)
    drawn = hold_pictures(spec.holds.holds, spec.survey, working, (wide_px, high_px), plan=spec.plan)
    bar_mm = drawn.bar_mm(wide_px * drawn.mm_per_px)
    bar_paper = bar_mm / drawn.mm_per_px / px_per_mm
    sheets = []
    for at in range(pages):
        page = blank(issue, "Holds to choose from", number, at + 1, pages)
        items: list[Item] = list(heading(f"{number}   holds, best first", room.left_mm, room.top_mm, room.width_mm,
                                         4.0).items)
        items += scale_bar(room.right_mm - bar_paper - 13.0, room.top_mm - 3.0, bar_paper, f"{bar_mm} mm")
        items.append(Text(room.left_mm, room.top_mm - 8.0, f"{', '.join(SHOWN)}; {drawn.note}", 1.8, colour=GREY))
        top = room.top_mm - 10.0
        for i, row in enumerate(drawn.rows[at * per_page:(at + 1) * per_page], start=at * per_page):
            mark = f"   {chosen_mark(spec)}" if spec.chosen == i else ""
            top, drawn_row = _paper_row(row, mark, room, top, px_per_mm)
            items += drawn_row
        sheets.append(finished(page, items, f"Holds of {number}"))
    return sheets


def _paper_row(row: HoldPictures, mark: str, room: Box, top_mm: float, px_per_mm: float) -> tuple[float, list[Item]]:
    """One hold on paper below a height; returns where the next begins."""
    high = row.pictures[0].shape[0] / px_per_mm
    items: list[Item] = [
        Image(room.left_mm + left / px_per_mm, top_mm - high, (right - left) / px_per_mm, high,
              picture_bytes(picture, kind="JPEG", quality=88))
        for picture, (left, right) in zip(row.pictures, _columns(row))]
    items += [Text(room.left_mm, top_mm - high - 3.0, shortened(row.captions[0] + mark, room.width_mm, 2.2, True),
                   2.2, bold=True),
              Text(room.left_mm, top_mm - high - 6.5, row.captions[1], 1.9, colour=GREY)]
    return top_mm - high - 10.0, items
