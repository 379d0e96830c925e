"""The views on a mount sheet: front, side and back of an object with its mount, aligned, at one scale, dimensioned.

Third angle (or first) as the title block's symbol says; the panel stands at the side view's far side, cut, with the
post's seat in it. Returns display-list items. Used by `mount_sheet`.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from scanprep.hold.records import Hold
from scanprep.papers.drawing.dimensions import (
    arrow,
    balloons_round,
    centre_mark,
    first_clear,
    level_dimension,
    level_dimensions,
    scale_bar,
    upright_dimension,
    word_spots,
)
from scanprep.papers.drawing.letters import text_width_mm
from scanprep.papers.drawing.measures import Measures
from scanprep.papers.drawing.sheet import (
    BLACK,
    CENTRE_LINE,
    GREY,
    HIDDEN_LINE,
    PALE,
    WHITE,
    Box,
    Circle,
    Image,
    Item,
    Pen,
    Point,
    Text,
    bounds,
    line,
    rectangle,
)
from scanprep.papers.pictures.scenes import shaded_mount
from scanprep.papers.pictures.shading import VIEWS, PictureScene, ShadedMesh, picture_bytes, window_of
from scanprep.post.records import PostPlan
from scanprep.vectors import F64, Vec3

#: layout: Reductions a drawing may have; the bench measures by its figures, never with a rule on the picture.
SCALES = (0.5, 0.75, 1.0, 1.25, 1.5, 1.75, 2.0, 2.25, 2.5, 2.75, 3.0, 3.5, 4.0, 4.5, 5.0, 6.0, 7.5, 10.0, 12.5,
          15.0, 20.0)
_DPI = 200  # layout: of the pictures on paper
_GAP_MM = 11.0  # layout: paper, between views: room for a dimension and a balloon
_MARKS_MM = 32.5  # layout: paper, above and below a view: its name, balloons, dimensions, scale bar
_TAKES_PANEL_MM = 9.0  # layout: paper, how much of the sheet is drawn beyond the seat


@dataclass(frozen=True, slots=True)
class Extents:
    """An object in its attitude, from the datums a bench can find. Display frame, mm."""

    left_mm: float
    right_mm: float
    low_mm: float
    high_mm: float
    back_mm: float
    front_mm: float

    @classmethod
    def of(cls, vertices_mm: F64) -> Extents:
        """The extents of an object turned as it is shown."""
        low, high = vertices_mm.min(axis=0), vertices_mm.max(axis=0)
        return cls(*(float(v) for v in (low[0], high[0], low[1], high[1], low[2], high[2])))


def scale_words(scale: float) -> str:
    """Return a reduction as drawings write it: `1 : 2`, `2 : 1`."""
    return f"1 : {scale:g}" if scale >= 1 else f"{1 / scale:g} : 1"


@dataclass(frozen=True, slots=True)
class _Place:
    """A view on the paper: the model point at `origin` is drawn at x, y."""

    name: str
    window: Box  # model mm
    x_mm: float  # paper, left edge of the window
    y_mm: float
    scale: float

    def at(self, u_mm: float, v_mm: float) -> tuple[float, float]:
        return (self.x_mm + (u_mm - self.window.left_mm) / self.scale,
                self.y_mm + (v_mm - self.window.bottom_mm) / self.scale)

    @property
    def box(self) -> Box:
        return Box(self.x_mm, self.y_mm, self.x_mm + self.window.width_mm / self.scale,
                   self.y_mm + self.window.height_mm / self.scale)


def _windows(meshes: Sequence[ShadedMesh], extents: Extents, panel_z_mm: float | None) -> dict[str, Box]:
    """What each view frames: object and mount; the side view runs to the panel's face."""
    wins = {name: window_of(meshes, VIEWS[name]).grown(1.0) for name in ("front", "side", "back")}
    low = min(w.bottom_mm for w in wins.values())
    high = max(w.top_mm for w in wins.values())
    wins = {name: Box(w.left_mm, low, w.right_mm, high) for name, w in wins.items()}
    if panel_z_mm is not None:
        side = wins["side"]
        wins["side"] = Box(-extents.front_mm - 1.0, side.bottom_mm, -panel_z_mm, side.top_mm)
    return wins


def _pick_scale(windows: dict[str, Box], seat_mm: float, room: Box) -> float:
    wide = sum(w.width_mm for w in windows.values()) + seat_mm
    tall = windows["front"].height_mm
    for scale in SCALES:
        if (wide / scale + 3 * _GAP_MM + 14.0 + _TAKES_PANEL_MM <= room.width_mm
                and tall / scale + _MARKS_MM <= room.height_mm):
            return scale
    return max((wide / (room.width_mm - 3 * _GAP_MM - 23.0)), tall / (room.height_mm - _MARKS_MM))


def _planned(shown: ShadedMesh, meshes: Sequence[ShadedMesh], plan: PostPlan | None,
             room: Box) -> tuple[dict[str, Box], float, float]:
    """The views' windows, their scale, and how deep they are on paper."""
    panel_z = None if plan is None else plan.post.attach_point_mm[2] - plan.post.free_length_mm
    windows = _windows(meshes, Extents.of(shown.vertices_mm), panel_z)
    scale = _pick_scale(windows, 0.0 if plan is None else plan.post.seat_depth_mm, room)
    return windows, scale, min(room.height_mm, windows["front"].height_mm / scale + _MARKS_MM)


def views_depth_mm(shown: ShadedMesh, hold: Hold, plan: PostPlan | None, room: Box) -> float:
    """Return how deep `mount_views` would be in a room, without drawing anything."""
    return _planned(shown, [shown, *shaded_mount(hold, plan)], plan, room)[2]


def mount_views(shown: ShadedMesh, hold: Hold, plan: PostPlan | None, room: Box, measures: Measures, *,
                third_angle: bool = True) -> tuple[list[Item], float]:
    """Return the views from a room's top down, and where they end.

    shown  the object in its attitude
    """
    extents = Extents.of(shown.vertices_mm)
    meshes = [shown, *shaded_mount(hold, plan)]
    scene = PictureScene(meshes)
    windows, scale, depth = _planned(shown, meshes, plan, room)
    seat = 0.0 if plan is None else plan.post.seat_depth_mm
    room = Box(room.left_mm, room.top_mm - depth, room.right_mm, room.top_mm)
    places = _arranged(windows, scale, seat, room, third_angle, plan is not None)
    items: list[Item] = []
    for place in places.values():
        picture = scene.view(VIEWS[place.name], place.window, scale * 25.4 / _DPI)
        wide, tall = (side / scale for side in (picture.window.width_mm, picture.window.height_mm))
        items.append(Image(place.x_mm, place.box.top_mm - tall, wide, tall,
                           picture_bytes(picture.pixels, kind="JPEG", quality=90)))
        items.append(Text((place.box.left_mm + place.box.right_mm) / 2, room.top_mm - 2.2, place.name.upper(), 1.8,
                          "middle", bold=True))
    front = _front_marks(places["front"], extents, hold, measures)
    back = _back_marks(places["back"], extents, hold, measures)
    # words at one view's edge would run into its neighbour's
    beside = _kept_clear([*front, *back])
    items += [*front, *_side_marks(places["side"], extents, hold, plan, measures, beside), *back]
    steps = (6.35, 12.7, 25.4, 50.8, 101.6, 254.0) if measures.units == "in" else (5.0, 10.0, 20.0, 50.0, 100.0, 200.0)
    bar_mm = next(n for n in steps if n / scale >= 12 or n == steps[-1])
    items += scale_bar(room.left_mm, room.bottom_mm + 0.5, bar_mm / scale,
                       f"{measures.named(bar_mm)}   scale {scale_words(scale)}: take sizes from the figures")
    return items, room.bottom_mm


def _arranged(windows: dict[str, Box], scale: float, seat_mm: float, room: Box, third_angle: bool,
              with_panel: bool) -> dict[str, _Place]:
    panel = (seat_mm / scale + _TAKES_PANEL_MM) if with_panel else 0.0
    order = ("front", "side", "back") if third_angle else ("side", "front", "back")
    widths = {name: windows[name].width_mm / scale + (panel if name == "side" else 0.0) for name in order}
    gap = (room.width_mm - 12.0 - sum(widths.values())) / 3
    tall = windows["front"].height_mm / scale
    y = room.top_mm - 12.0 - tall
    x, places = room.left_mm + 12.0, {}
    for name in order:
        places[name] = _Place(name, windows[name], x, y, scale)
        x += widths[name] + gap
    return places


def _front_marks(place: _Place, extents: Extents, hold: Hold, measures: Measures) -> list[Item]:
    left, low = place.at(extents.left_mm, extents.low_mm)
    right, high = place.at(extents.right_mm, extents.high_mm)
    items = level_dimension(left, right, place.box.bottom_mm - 9.5,
                            measures.length(extents.right_mm - extents.left_mm), (low, low))
    items += upright_dimension(low, high, place.box.left_mm - 8.5, measures.length(extents.high_mm - extents.low_mm),
                               (left, left))
    targets = [(str(i + 1), place.at(tip.point_mm[0], tip.point_mm[1])) for i, tip in enumerate(hold.tips)]
    x, y = place.at(hold.attach_mm[0], hold.attach_mm[1])
    items += [line(x - 3, y, x + 3, y, HIDDEN_LINE), line(x, y - 3, x, y + 3, HIDDEN_LINE)]
    numbers = balloons_round(targets, place.box, gap_mm=2.5)
    opens = opening_marks(hold, lambda p: place.at(p[0], p[1]), lambda d: (d[0], d[1]), _kept_clear([*items, *numbers]))
    return [*items, *_on_picture(opens), *numbers]


def _on_picture(items: Sequence[Item]) -> list[Item]:
    """Items with a white plate behind each word: dark words are not read on a dark object."""
    plates: list[Item] = [rectangle(bounds(item).grown(-0.3), None, WHITE) for item in items if isinstance(item, Text)]
    return [*plates, *items]


def _kept_clear(items: Sequence[Item]) -> list[Box]:
    """Where words must not stand: other words, and balloons."""
    return [bounds(item) for item in items if isinstance(item, Text | Circle)]


def opening_marks(hold: Hold, at: Callable[[Vec3], Point], seen: Callable[[Vec3], Point],
                  taken: Sequence[Box]) -> list[Item]:
    """Return how the mount opens: an arrow at the arm that opens, as it is moved, and one the way the object leaves.

    at    a point of the display frame -> its place on paper
    seen  a direction -> the same as the view has it; what runs nearly along the line of sight is left to another view
    taken where its words must not stand
    """
    opening = hold.opening
    if opening is None:
        return []
    tip = hold.tips[opening.arm].point_mm
    middle = (0.0, 0.0, 0.0)  # the centre of mass
    items, busy = list[Item](), list(taken)
    for start, direction, words in ((tip, opening.direction, "opens"), (middle, opening.withdraw, "out")):
        (x, y), (u, v) = at(start), seen(direction)
        long = float(np.hypot(u, v))
        if long < 0.5 * float(np.linalg.norm(direction)):
            continue
        u, v = u / long, v / long
        start_at, end = (x + 1.5 * u, y + 1.5 * v), (x + 8.0 * u, y + 8.0 * v)
        wide, half = text_width_mm(words, 1.8, True), (x + 4.5 * u, y + 4.5 * v)
        spots = [spot for reach in (1.4, 4.0, 7.0) for where in (end, half)
                 for spot in word_spots(*where, wide, 1.8, reach)]
        spot = first_clear(spots, [*busy, bounds(line(*start_at, *end, Pen(0.9)))])
        busy.append(spot)
        items += [line(*start_at, *end, Pen(0.9, WHITE)), line(*start_at, *end, Pen(0.4)),
                  arrow(end, (x, y), 2.6, slim_ratio=0.28), Text(spot.left_mm, spot.bottom_mm, words, 1.8, bold=True)]
    return items


def _side_marks(place: _Place, extents: Extents, hold: Hold, plan: PostPlan | None, measures: Measures,
                beside: Sequence[Box]) -> list[Item]:
    front, low = place.at(-extents.front_mm, extents.low_mm)
    back, _ = place.at(-extents.back_mm, extents.low_mm)
    box = place.box
    depth = (front, back, measures.length(extents.front_mm - extents.back_mm), (low, low))
    items = level_dimensions([depth], box.bottom_mm) if plan is None else []
    targets = [(str(i + 1), place.at(-tip.point_mm[2], tip.point_mm[1])) for i, tip in enumerate(hold.tips)]
    numbers = balloons_round(targets, Box(box.left_mm, box.bottom_mm, back, box.top_mm), gap_mm=2.5)
    items += _on_picture(opening_marks(hold, lambda p: place.at(-p[2], p[1]), lambda d: (-d[2], d[1]),
                                       [*_kept_clear(numbers), *beside]))
    items += numbers
    axis_y = place.at(0.0, hold.attach_mm[1])[1]
    if plan is None:
        return [*items, line(back, axis_y, back + 12.0, axis_y, CENTRE_LINE)]
    post, face = plan.post, box.right_mm
    inner = face + post.seat_depth_mm / place.scale
    sheet = Box(face, box.bottom_mm - 2.0, inner + _TAKES_PANEL_MM, box.top_mm + 3.0)
    half = post.diameter_mm / 2 / place.scale
    items = [rectangle(sheet, None, PALE), line(face, sheet.bottom_mm, face, sheet.top_mm, Pen(0.5)),
             rectangle(Box(face, axis_y - half, inner, axis_y + half), HIDDEN_LINE),
             line(front - 3.0, axis_y, sheet.right_mm, axis_y, CENTRE_LINE),
             Text(face + 1.0, sheet.top_mm - 2.6, "PANEL", 1.5, colour=GREY), *items]
    items += level_dimensions([
        (back, face, measures.length(post.stand_off_mm), (low, box.bottom_mm)), depth,
        (face, inner, measures.length(post.seat_depth_mm), (box.bottom_mm, axis_y - half))], box.bottom_mm)
    items += upright_dimension(low, axis_y, sheet.right_mm + 3.5, measures.length(hold.attach_mm[1] - extents.low_mm),
                               (back, sheet.right_mm))
    return items


def _back_marks(place: _Place, extents: Extents, hold: Hold, measures: Measures) -> list[Item]:
    x, y = place.at(-hold.attach_mm[0], hold.attach_mm[1])
    _, low = place.at(0.0, extents.low_mm)
    left, _ = place.at(-extents.left_mm, 0.0)
    reach = max(4.0, hold.hub.size_mm / place.scale)
    items: list[Item] = [*centre_mark(x, y, reach), Circle(x, y, 0.4, None, BLACK)]
    items += level_dimension(x, left, place.box.bottom_mm - 9.5, measures.length(hold.attach_mm[0] - extents.left_mm),
                             (y, low))
    # seen from behind, the viewer's counter-clockwise is clockwise
    angle = np.radians(hold.clock_deg)
    up = (float(np.sin(angle)), float(np.cos(angle)))
    start, end = ((x + up[0] * k, y + up[1] * k) for k in (reach + 1.0, reach + 6.0))
    items += [line(*start, *end, Pen(0.9, WHITE)), line(*start, *end, Pen(0.35)), arrow(end, start)]
    twelve = Text(end[0] + 1.0, end[1] - 0.5, "12", 1.8, bold=True)
    targets = [(str(i + 1), place.at(-tip.point_mm[0], tip.point_mm[1])) for i, tip in enumerate(hold.tips)]
    numbers = balloons_round(targets, place.box, gap_mm=2.5, kept_clear=[bounds(twelve), bounds(line(*start, *end))])
    return [*items, *_on_picture([twelve]), *numbers]
