"""Where a wire can turn so that the object hides it: a mountmaker brings it down behind a leg, not through an opening.

Looked for on the viewer's picture alone: straight lines between places well inside the outline, each priced by how much
of it shows. Which depth behind the object the corners take, and whether wire bends so, is for whoever asks.
Display frame, mm. Touches no files.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from scanprep.hold.places.obstacle import FrontMap
from scanprep.hold.wires.wire_ends import BESIDE_COST, THROUGH_COST
from scanprep.rules import HoldRules
from scanprep.vectors import F64, steady

_BLOCKS = 22  # tolerance: along the longer side of the outline, a place in each where a wire may turn
_SAMPLES = 24  # tolerance: places along a line at which its price is taken
_INSIDE_mm = 1.5  # tolerance: from the outline's edge, where most of a wire no longer shows
_BEND_COST_mm = HoldRules().bend_cost_mm
_LITTLE_mm = 2.0  # tolerance: of a line that shows, below which no other way is looked for
_LESS = 0.6  # tolerance: of what the straight line's showing costs, up to which another way is worth a trial
_BEST = 2  # tolerance: ways of each number of corners that are handed on


@dataclass(frozen=True, slots=True, eq=False)
class _Cover:
    """Places behind the object where a wire may turn, and what straight wires between them cost."""

    places_mm: F64  # (n, 2)
    between_mm: F64  # (n, n)


def line_costs_mm(front: FrontMap, start_mm: F64, end_mm: F64) -> F64:
    """Return what straight wires behind the object cost, being seen counted as length: (n, 2) to (n, 2)."""
    step = np.linspace(0.0, 1.0, _SAMPLES)[None, :, None]
    points = (start_mm[:, None] + step * (end_mm - start_mm)[:, None]).reshape(-1, 2)
    price = 1.0 + _priced(front, points).reshape(-1, _SAMPLES).mean(axis=1)
    return np.asarray(price * np.hypot(*(end_mm - start_mm).T), dtype=np.float64)


def shows(front: FrontMap, path_mm: F64) -> bool:
    """Return whether more of a wire (k, 2 or 3) behind the object shows than nobody minds."""
    return _beyond_mm(front, path_mm[:, :2]) > _LITTLE_mm * BESIDE_COST


def shown_mm(front: FrontMap, path_mm: F64) -> float:
    """Return how much of a wire (k, 2 or 3) behind the object shows, as length next to it, mm."""
    return _beyond_mm(front, path_mm[:, :2]) / BESIDE_COST


def hidden_corners(front: FrontMap, start_mm: F64, end_mm: F64) -> list[F64]:
    """Return corners (k, 2) of the ways by one and two corners that show less than a straight wire; none where that
    hardly shows, or nothing hides it better.

    start_mm, end_mm  (2,) of a wire behind the object
    """
    if not shows(front, np.array([start_mm, end_mm])):
        return []
    straight = float(line_costs_mm(front, start_mm[None], end_mm[None])[0])
    seen = straight - float(np.hypot(*(end_mm - start_mm)))
    cover, most = _cover(front), straight - (1 - _LESS) * seen
    if len(cover.places_mm) == 0:
        return []
    first = line_costs_mm(front, np.broadcast_to(start_mm, cover.places_mm.shape), cover.places_mm) + _BEND_COST_mm
    last = line_costs_mm(front, cover.places_mm, np.broadcast_to(end_mm, cover.places_mm.shape))
    by_one = first + last
    by_two = first[:, None] + cover.between_mm + last[None] + _BEND_COST_mm
    found = [cover.places_mm[[k]] for k in _least(by_one, most)]
    return found + [cover.places_mm[list(divmod(k, len(first)))] for k in _least(by_two.ravel(), most)]


def least_shown_mm(front: FrontMap, start_mm: F64, end_mm: F64) -> float:
    """Return how much must show of a wire behind the object from one place to another, as length next to it, mm."""
    ways = [np.vstack([start_mm, *corners, end_mm]) for corners in (np.zeros((0, 2)),
                                                                    *hidden_corners(front, start_mm, end_mm))]
    return min(shown_mm(front, way) for way in ways)


def _beyond_mm(front: FrontMap, path_mm: F64) -> float:
    """What a wire (k, 2) costs beyond its length, for showing."""
    return float(line_costs_mm(front, path_mm[:-1], path_mm[1:]).sum() - np.hypot(*np.diff(path_mm, axis=0).T).sum())


def _least(costs_mm: F64, most_mm: float) -> list[int]:
    """The cheapest few under a price."""
    few = np.argpartition(costs_mm, min(_BEST, costs_mm.size - 1))[:_BEST] if costs_mm.size > _BEST else \
        np.arange(costs_mm.size)
    few = few[np.argsort(steady(costs_mm[few]), kind="stable")]
    return [int(k) for k in few if costs_mm[k] < most_mm]


@lru_cache(maxsize=8)
def _cover(front: FrontMap) -> _Cover:
    """The places furthest inside the outline, one in each block of the picture, and the lines between them."""
    inside = _inside_mm(front)
    ny, nx = inside.shape
    size = max(1, -(-max(ny, nx) // _BLOCKS))
    rows, columns = -(-ny // size), -(-nx // size)
    padded = np.pad(inside, ((0, rows * size - ny), (0, columns * size - nx)), constant_values=-np.inf)
    blocks = padded.reshape(rows, size, columns, size).swapaxes(1, 2).reshape(rows * columns, size * size)
    deepest = blocks.argmax(axis=1)
    which = np.flatnonzero(blocks[np.arange(len(blocks)), deepest] >= _INSIDE_mm)
    row = (which // columns) * size + deepest[which] // size
    column = (which % columns) * size + deepest[which] % size
    places = np.column_stack([front.left_mm + front.pitch_mm * (column + 0.5),
                              front.low_mm + front.pitch_mm * (row + 0.5)])
    count = len(places)
    costs = line_costs_mm(front, np.repeat(places, count, axis=0), np.tile(places, (count, 1)))
    return _Cover(places, costs.reshape(count, count))


@lru_cache(maxsize=8)
def _inside_mm(front: FrontMap) -> F64:
    """How far each pixel lies inside the outline; outside it less than 0."""
    from scipy.ndimage import distance_transform_edt

    outline = np.isfinite(front.front_mm)
    inside = distance_transform_edt(np.pad(outline, 1))[1:-1, 1:-1]
    return np.asarray((inside - distance_transform_edt(~outline)) * front.pitch_mm, dtype=np.float64)


@lru_cache(maxsize=8)
def _prices(front: FrontMap) -> NDArray[np.float64]:
    """Price per mm of wire behind each pixel for showing, with a rim of what is beside it all; flat."""
    shows = np.clip(0.5 - _inside_mm(front) / (2 * _INSIDE_mm), 0.0, 1.0)
    price = shows * np.where(front.through, THROUGH_COST, BESIDE_COST)
    return np.pad(price, 1, constant_values=BESIDE_COST).ravel()


def inside_mm(front: FrontMap, points_mm: F64) -> F64:
    """Return how far points (n, 2 or 3) lie inside the outline as one sees them; outside it less than 0."""
    rim = np.pad(_inside_mm(front), 1, constant_values=-np.inf).ravel()
    return np.asarray(rim.take(front.cells(points_mm)), dtype=np.float64)


def _priced(front: FrontMap, points_mm: F64) -> F64:
    return np.asarray(_prices(front).take(front.cells(points_mm)), dtype=np.float64)
