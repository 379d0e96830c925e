"""How a mount opens, as a small drawing to scale: the end of the arm that lets the object out, closed and open.

Drawn in the plane of the arm's last runs: the wire as thick as it is, what moves darker, where it goes dashed, the
faces that its tip touches as hatched lines. A soft finger is bent over and straightened, an end in a sleeve draws off,
a springy arm is bent aside by the fingers. Returns display-list items. Used by the mount sheet and the removal sheet.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from scanprep.hold.records import Hold, Opening, Tip, faces_of
from scanprep.hold.strength.stiffness import contact_of
from scanprep.hold.wires.bends import along, bend_wire
from scanprep.papers.drawing.dimensions import arrow, first_clear, word_spots
from scanprep.papers.drawing.letters import text_width_mm
from scanprep.papers.drawing.measures import Measures, force
from scanprep.papers.drawing.sheet import (
    BLACK,
    GREY,
    HIDDEN_LINE,
    PALE,
    Box,
    Item,
    Path,
    Pen,
    Point,
    Text,
    bounds,
    line,
    rectangle,
    wrapped,
)
from scanprep.papers.mount.mount_views import scale_words
from scanprep.vectors import F64, unit

#: layout: scales that a detail may have, as reductions: largest first
_SCALES = (0.2, 0.25, 0.4, 0.5, 1.0, 2.0, 2.5, 5.0)
_STEM_MM = 9.0  # layout: of the stem, drawn before the runs that matter
_NEAR_MM = 7.0  # layout: faces nearer than this to the end are drawn
_SLEEVE_D = 4.0  # layout: a sleeve's length, in diameters of the wire
_WORDS_MM = 1.7  # layout: height of the words
_COLUMN_MM = 31.0  # layout: of the words beside the drawing


@dataclass(frozen=True, slots=True, eq=False)
class _Shape:
    """What is drawn, flat, mm of the model."""

    stem: F64  # (k, 2) what stays
    moved: F64  # (k, 2) what moves, closed
    opened: F64  # (k, 2) the same, open
    faces: tuple[tuple[F64, F64], ...]  # place and inward direction of each face that the tip touches
    sleeve: tuple[F64, F64] | None
    stem_mm: float  # diameters
    moved_mm: float
    seen: str  # from where


def opening_detail(hold: Hold, box: Box, measures: Measures, title: str = "HOW IT OPENS") -> list[Item]:
    """Return the detail in a box; without an opening, words that say so."""
    opening = hold.opening
    items: list[Item] = [rectangle(box, Pen(0.13, GREY)),
                         Text(box.left_mm + 1.2, box.top_mm - 2.8, title, 1.9, bold=True)]
    if opening is None:
        return [*items, Text(box.left_mm + 1.2, box.top_mm - 6.0, "no opening arm known: see findings", _WORDS_MM)]
    shape = _shape(hold.tips[opening.arm], opening)
    left_mm = box.right_mm - _COLUMN_MM
    told = wrapped(opening_words(opening, measures), _COLUMN_MM - 1.2, _WORDS_MM)
    drawn, scale = _drawn(shape, Box(box.left_mm + 1.0, box.bottom_mm + 3.5, left_mm - 1.0, box.top_mm - 5.0))
    items += drawn
    items += [Text(left_mm, box.top_mm - 4.0 - (i + 1) * 1.55 * _WORDS_MM, text, _WORDS_MM)
              for i, text in enumerate(told)]
    return [*items, Text(box.right_mm - 1.2, box.top_mm - 2.8, f"{scale_words(scale)}, seen {shape.seen}", 1.6, "end")]


def opening_words(opening: Opening, measures: Measures) -> str:
    """Return how an arm is closed and opened, in a mountmaker's words."""
    arm = opening.arm + 1
    if opening.kind == "finger":
        return (f"Arm {arm}: its lip is a finger of soft (annealed) ⌀ {measures.fine(opening.wire_mm)} wire in the "
                f"stem's drilled end. CLOSE: bend it over onto its pad with a padded stick. OPEN: straighten it, "
                f"{force(opening.force_N)}. A new finger when it grows stiff.")
    if opening.kind == "bend":
        return (f"Arm {arm}. OPEN: bend it aside with the fingers, {force(opening.force_N)}, no pliers beside the "
                "object. CLOSE: let it back until it holds a slip of paper.")
    screw = opening.kind == "screw"
    held = "a small screw through its sleeve" if screw else "its sleeve alone, a push fit"
    return (f"Arm {arm}: its end sits in a sleeve soldered to the stem, held by {held}. OPEN: "
            f"{'undo the screw and ' if screw else ''}draw the end off along the arrow. CLOSE: push it home to its "
            "shoulder.")


def _shape(tip: Tip, opening: Opening) -> _Shape:
    path, arm = tip.arm.path_mm, tip.arm
    if opening.kind == "finger":
        split, whole = len(path) - 2, path
        end = path[-2] + float(np.linalg.norm(path[-1] - path[-2])) * unit(path[-2] - path[-3])
        opened = np.vstack([path[-2], end])
        moved_mm = opening.wire_mm or arm.end_mm
    elif opening.kind == "bend":
        split = max(1, len(path) - 1 - len(faces_of(contact_of(tip))))
        whole, moved_mm = path, arm.end_mm
        step = np.asarray(opening.direction) * min(6.0, max(2.0, 0.2 * opening.travel_mm))
        opened = path[split:] + np.linspace(0.0, 1.0, len(path) - split)[:, None] * step
    else:
        split = max(1, len(path) - 2)
        split = next((k for k in range(len(path) - 2, 0, -1)
                      if abs(float(unit(path[k] - path[k - 1]) @ np.asarray(opening.direction))) > 0.9), split)
        # the sleeve sits before the corner, the end goes into it
        into = min(_SLEEVE_D * arm.end_mm, 0.5 * float(np.linalg.norm(path[split] - path[split - 1])))
        joint = path[split] - into * unit(path[split] - path[split - 1])
        whole = np.vstack([path[:split], joint, path[split:]])
        moved_mm = arm.end_mm
        opened = whole[split:] + np.asarray(opening.direction) * 1.6 * into
    flat, seen = _plane(np.vstack([whole[max(0, split - 1):], opened]))
    sleeve = None
    if opening.kind in ("sleeved pin", "screw"):
        half = 0.5 * min(_SLEEVE_D * arm.end_mm, 0.5 * float(np.linalg.norm(whole[split + 1] - whole[split - 1])))
        way = unit(whole[split] - whole[split - 1])
        sleeve = (flat @ (whole[split] - half * way), flat @ (whole[split] + half * way))
    before = whole[:split + 1]
    short = float(np.linalg.norm(before[-1] - before[-2]))
    start = before[-1] - min(short, _STEM_MM) * unit(before[-1] - before[-2])
    shown = np.vstack([start, before[-1]])
    if short < _STEM_MM and split >= 2:
        more = before[-3] - before[-2]
        left = min(float(np.linalg.norm(more)), _STEM_MM - short)
        shown = np.vstack([before[-2] + left * unit(more), before[-2], before[-1]])
    faces = tuple((flat @ np.asarray(face.point_mm), flat @ np.asarray(face.normal))
                  for face in faces_of(contact_of(tip)))
    curve = bend_wire(np.vstack([shown, whole[split + 1:]]), arm.wire_mm, 1.0).curve_mm
    fine = along(curve, 0.4)
    cut = int(np.argmin(np.linalg.norm(fine - whole[split], axis=1)))
    gone = along(bend_wire(opened, moved_mm, 1.0).curve_mm, 0.4) if len(opened) > 2 else opened
    near = np.vstack([fine, opened])
    faces = tuple(face for face, real in zip(faces, faces_of(contact_of(tip)), strict=True)
                  if float(np.linalg.norm(near - np.asarray(real.point_mm), axis=1).min()) < _NEAR_MM)
    return _Shape(fine[:cut + 1] @ flat.T, fine[cut:] @ flat.T, gone @ flat.T, faces, sleeve, arm.wire_mm, moved_mm,
                  seen)


def _plane(points_mm: F64) -> tuple[F64, str]:
    """(2, 3) axes of the plane in which points lie best, and from where it is seen: a face of the display's box."""
    spread = points_mm - points_mm.mean(axis=0)
    normal = np.linalg.svd(spread)[2][2]
    views = {"from the front": ((1, 0, 0), (0, 1, 0)), "from the right": ((0, 0, -1), (0, 1, 0)),
             "from above": ((1, 0, 0), (0, 0, -1))}
    axes = {"from the front": 2, "from the right": 0, "from above": 1}
    seen = max(views, key=lambda name: round(abs(float(normal[axes[name]])), 6))
    return np.array(views[seen], dtype=np.float64), seen


def _drawn(shape: _Shape, room: Box) -> tuple[list[Item], float]:
    points = np.vstack([shape.stem, shape.moved, shape.opened, *(place[None] for place, _ in shape.faces)])
    edge = max(shape.stem_mm, shape.moved_mm) / 2 + 1.0
    low, high = points.min(axis=0) - edge, points.max(axis=0) + edge
    size = high - low
    wide = room.width_mm - 14.0  # words stand beside it
    scale = next((scale for scale in _SCALES if size[0] / scale <= wide and size[1] / scale <= room.height_mm),
                 max(size[0] / wide, size[1] / room.height_mm))
    x0 = (room.left_mm + room.right_mm) / 2 - (low[0] + high[0]) / 2 / scale
    y0 = (room.bottom_mm + room.top_mm) / 2 - (low[1] + high[1]) / 2 / scale

    def at(point: F64) -> Point:
        return (float(x0 + point[0] / scale), float(y0 + point[1] / scale))

    items: list[Item] = []
    for place, inward in shape.faces:
        items += _face(place, inward, scale, at)
    items += [Path(tuple(at(p) for p in shape.opened), Pen(max(shape.moved_mm / scale, 0.5), PALE)),
              Path(tuple(at(p) for p in shape.opened), HIDDEN_LINE),
              Path(tuple(at(p) for p in shape.stem), Pen(max(shape.stem_mm / scale, 0.6), GREY)),
              Path(tuple(at(p) for p in shape.moved), Pen(max(shape.moved_mm / scale, 0.5), BLACK))]
    if shape.sleeve is not None:
        a, b = shape.sleeve
        items += _sleeve(a, b, shape.moved_mm, at)
    closed, opened = at(shape.moved[-1]), at(shape.opened[-1])
    gap = float(np.hypot(opened[0] - closed[0], opened[1] - closed[1]))
    if gap > 2.5:
        items += [line(*closed, *opened, Pen(0.25)), arrow(opened, closed, 1.8)]
    taken = [bounds(item) for item in items]
    for words, (x, y) in (("open", opened), ("closed", closed)):
        across = text_width_mm(words, _WORDS_MM, True)
        spots = [spot for reach in (1.6, 3.0, 4.5, 6.5) for spot in word_spots(x, y, across, _WORDS_MM, reach)]
        spot = first_clear(spots, taken)
        taken.append(spot)
        items.append(Text(spot.left_mm, spot.bottom_mm, words, _WORDS_MM, bold=True))
    return items, scale


def _face(place: F64, inward: F64, scale: float, at: Callable[[F64], Point]) -> list[Item]:
    """A place where the tip touches, as a short hatched line; nothing where the face is seen square on."""
    size = float(np.linalg.norm(inward))
    if size < 0.4:
        return []
    way = inward / size
    across = np.array([-way[1], way[0]])
    half, deep = 2.2, 0.9 * scale
    ends = [place + s * half * across for s in (-1.0, 1.0)]
    items: list[Item] = [line(*at(ends[0]), *at(ends[1]), Pen(0.35))]
    for s in np.linspace(-0.9, 0.9, 5):
        start = place + s * half * across
        items.append(line(*at(start), *at(start + deep * (way + 0.5 * across)), Pen(0.13, GREY)))
    return items


def _sleeve(a: F64, b: F64, wire_mm: float, at: Callable[[F64], Point]) -> list[Item]:
    way = (b - a) / max(float(np.linalg.norm(b - a)), 1e-6)
    across = np.array([-way[1], way[0]]) * (wire_mm / 2 + 0.4)
    corners = (a + across, b + across, b - across, a - across)
    return [Path(tuple(at(c) for c in corners), Pen(0.25), True)]
