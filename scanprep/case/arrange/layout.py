"""Objects in rows on one face, around those that stand already: the building block of a first arrangement.

An object is its box about the anchor, mount included. Rows run left to right in a given order, broken so that no row is
much fuller than another; each row's objects share its centre line; spare room is spread evenly. Face frame, mm.
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from scanprep.case.placed import PlacedObject


@dataclass(frozen=True, slots=True)
class Box:
    """An object's extent about its anchor, and what the objective asks of it."""

    number: str
    left_mm: float  # negative: left of the anchor
    right_mm: float
    low_mm: float
    high_mm: float
    mass_g: float
    group: str
    order: float | None
    fine_detail: bool

    @property
    def width_mm(self) -> float:
        """Left to right."""
        return self.right_mm - self.left_mm

    @property
    def height_mm(self) -> float:
        """Low to high."""
        return self.high_mm - self.low_mm


@dataclass(frozen=True, slots=True)
class Ground:
    """What one face offers. Obstacles are boxes of objects that stay: (x low, x high, y low, y high)."""

    panel: str
    face: str
    x_low_mm: float
    x_high_mm: float
    y_low_mm: float
    y_high_mm: float
    band_low_mm: float  # the comfortable band, in face coordinates
    band_high_mm: float
    fine_high_mm: float
    obstacles: tuple[tuple[float, float, float, float], ...]
    gap_mm: float
    hole_low_mm: tuple[float, float] = (0.0, 0.0)  # holes stay inside these
    hole_high_mm: tuple[float, float] = (1e9, 1e9)


Spots = dict[str, tuple[float, float]]  # number -> anchor x, y


def box_of(placed: PlacedObject) -> Box:
    """Return an object's extent about its anchor, body and mount."""
    points = np.vstack([placed.body.vertices_mm, *(s.vertices_mm for s in placed.mount)])[:, :2]
    low, high = points.min(axis=0) - placed.attach_xy_mm, points.max(axis=0) - placed.attach_xy_mm
    return Box(placed.number, float(low[0]), float(high[0]), float(low[1]), float(high[1]), placed.mass_g, placed.group,
               placed.order, placed.fine_detail)


def in_rows(boxes: Sequence[Box], ground: Ground, rows: int, stagger: bool) -> Spots | None:
    """Return anchors of boxes set out in reading order in so many rows, or None where they do not fit.

    stagger  every second row is moved by half a place, as bricks are
    """
    broken = _broken(boxes, rows)
    heights = [max(box.height_mm for box in row) for row in broken]
    span = _span(sum(heights) + ground.gap_mm * (len(broken) - 1), ground)
    if span is None:
        return None
    low, high = span
    top, between = _spread(low, high, heights, ground.gap_mm)
    top = low + high - top  # rows are set from above
    spots: Spots = {}
    for index, (row, height) in enumerate(zip(broken, heights, strict=True)):
        placed = _one_row(row, ground, top - height, top, stagger and index % 2 == 1)
        if placed is None:
            return None
        spots |= placed
        top -= height + between
    return spots


def _span(needed_mm: float, ground: Ground) -> tuple[float, float] | None:
    """Return the vertical stretch to use: the comfortable band where it is enough, else as much more as it takes."""
    low, high = max(ground.y_low_mm, ground.band_low_mm), min(ground.y_high_mm, ground.band_high_mm)
    short = needed_mm - (high - low)
    if short <= 0:
        return low, high
    up = min(short / 2, ground.y_high_mm - high)
    down = min(short - up, low - ground.y_low_mm)
    up = min(short - down, ground.y_high_mm - high)
    return (low - down, high + up) if up + down >= short - 1e-9 else None


def _broken(boxes: Sequence[Box], rows: int) -> list[list[Box]]:
    """Break a sequence into at most `rows` runs whose squared widths are least: rows about equally full."""
    rows = min(rows, len(boxes))
    total = np.concatenate([[0.0], np.cumsum([box.width_mm for box in boxes])])
    count = len(boxes)
    best = np.full((rows + 1, count + 1), np.inf)
    back = np.zeros((rows + 1, count + 1), dtype=int)
    best[0, 0] = 0.0
    for row in range(1, rows + 1):
        for end in range(row, count + 1):
            price = best[row - 1, :end] + (total[end] - total[:end]) ** 2
            back[row, end] = int(np.argmin(price))
            best[row, end] = price[back[row, end]]
    cuts = [count]
    for row in range(rows, 0, -1):
        cuts.append(back[row, cuts[-1]])
    cuts.reverse()
    return [list(boxes[a:b]) for a, b in itertools.pairwise(cuts)]


def _one_row(row: Sequence[Box], ground: Ground, low: float, high: float, shifted: bool) -> Spots | None:
    """Return one row's anchors between two heights, around the obstacles in its way."""
    free = _free(ground, low, high)
    spots: Spots = {}
    waiting = list(row)
    for left, right, first in _shares(free, waiting, ground.gap_mm):
        here, waiting = waiting[:first], waiting[first:]
        if not here:
            continue
        at, between = _spread(left, right, [box.width_mm for box in here], ground.gap_mm)
        at -= between / 2 if shifted and at > left else 0.0
        for box in here:
            x = float(np.clip(at - box.left_mm, ground.hole_low_mm[0], ground.hole_high_mm[0]))
            y = (low + high) / 2 - (box.low_mm + box.high_mm) / 2
            spots[box.number] = (x, float(np.clip(y, ground.hole_low_mm[1], ground.hole_high_mm[1])))
            at += box.width_mm + between
    return None if waiting else spots


def _spread(low: float, high: float, sizes: Sequence[float], gap: float) -> tuple[float, float]:
    """Return where the first of some sizes starts and the room between them: even, ends too unless it is tight."""
    spare = high - low - sum(sizes)
    even = spare / (len(sizes) + 1)
    if even >= gap or len(sizes) == 1:
        return low + even, even
    return low, spare / (len(sizes) - 1)


def _free(ground: Ground, low: float, high: float) -> list[tuple[float, float]]:
    """Return the free stretches of a row: the face's width less the obstacles that come near its heights."""
    gap = ground.gap_mm
    blocked = sorted((o[0] - gap, o[1] + gap) for o in ground.obstacles if o[2] < high + gap and o[3] > low - gap)
    free, at = [], ground.x_low_mm
    for left, right in blocked:
        if left > at:
            free.append((at, left))
        at = max(at, right)
    if at < ground.x_high_mm:
        free.append((at, ground.x_high_mm))
    return free


def _shares(free: Sequence[tuple[float, float]], row: Sequence[Box], gap: float) -> list[tuple[float, float, int]]:
    """Return how many of a row's objects each free stretch takes, in order, filled by their share of the room."""
    room = sum(right - left for left, right in free)
    needed = sum(box.width_mm + gap for box in row) - gap
    taken, shares = 0, []
    for index, (left, right) in enumerate(free):
        last = index == len(free) - 1
        target = (right - left) * needed / room if room > 0 else 0.0
        used, count = 0.0, 0
        while taken + count < len(row):
            width = row[taken + count].width_mm
            fits = used + width <= right - left
            wanted = last or used + width / 2 <= target
            if not (fits and wanted):
                break
            used += width + gap
            count += 1
        shares.append((left, right, count))
        taken += count
    return shares
