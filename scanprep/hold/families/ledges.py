"""Ledges: edges that look down on both sides of a shaft, by which an upright thing is borne, or hangs by its head.

Under a hammer's or an axe's head, a sword's guard, the dish of a pan whose handle points down, the shoulder of a
handle. Where such a pair lies above the centre of mass the thing hangs from it and needs but one clip further down; a
mountmaker never stands such a thing on its butt. Display frame, mm.
"""

from __future__ import annotations

import itertools
from functools import lru_cache

import numpy as np

from scanprep.hold.families.edge_pairs import bent, pick
from scanprep.hold.families.probes import claws
from scanprep.hold.families.scene import Scene
from scanprep.rules import HoldRules

_STEEP = HoldRules().claw_steep_cos
_LEVEL = 0.04  # tolerance: of the height, how unlike the heights of a pair may be
_APART_mm = 6.0  # tolerance: between the two of a pair at least
_FRAIL = 0.6  # tolerance: of the usual thickness, below which a ledge is taken last
_PAIRS = 3  # tolerance: pairs tried
_SHAFT = HoldRules().head_shaft_ratio
_BELOW = 0.15  # tolerance: of the height, how far below a ledge its shaft is measured


@lru_cache(maxsize=4)
def ledge_pairs(scene: Scene) -> tuple[tuple[int, int], ...]:
    """Return pairs of claws under ledges, one on either side of the centre of mass at one height, the likeliest first:
    sturdy ones, as far left as right and as level as there are."""
    found, (wide, high) = claws(scene), scene.size_mm[:2]
    sturdy = found.sturdy >= scene.rules.sturdy_least_ratio
    down = np.flatnonzero(found.sits & (found.outward[:, 1] < -_STEEP) & sturdy)
    pairs = []
    for left, right in itertools.product(down[found.points_mm[down, 0] < 0], down[found.points_mm[down, 0] > 0]):
        apart = np.abs(found.points_mm[left] - found.points_mm[right])
        if apart[1] <= _LEVEL * high and apart[0] > _APART_mm:
            uneven = abs(float(found.points_mm[left, 0] + found.points_mm[right, 0]))
            lop = round((uneven + float(apart[1])) / float(wide), 6)
            frail = 0.5 * (float(found.sturdy[[left, right]].min()) < _FRAIL)
            pairs.append((lop + frail, int(left), int(right)))
    return tuple((left, right) for _, left, right in sorted(pairs))


def ledge_claws(scene: Scene) -> list[tuple[int, ...]]:
    """Return what bears an upright thing: pairs under ledges at any height, then a claw under its end."""
    chosen = _bendable(scene, ledge_pairs(scene))
    middle = float(scene.low_mm[0] + scene.high_mm[0]) / 2
    under = pick(scene, claws(scene), np.array([middle, scene.low_mm[1]]), np.array([0.0, -1.0]), 0.7)
    return [*chosen, *([] if under is None else [(under,)])]


@lru_cache(maxsize=4)
def head_ledges(scene: Scene) -> tuple[tuple[int, ...], ...]:
    """Return the pairs of ledges above the centre of mass under a head much wider than the shaft below it."""
    found, front = claws(scene), scene.view.front
    wide_mm = np.isfinite(front.front_mm).sum(axis=1) * front.pitch_mm
    row_of = ((found.points_mm[:, 1] - front.low_mm) / front.pitch_mm).astype(int)
    below = max(round(_BELOW * len(wide_mm)), 2)
    hangs = []
    for left, right in ledge_pairs(scene):
        row = min(row_of[left], row_of[right])
        high_mm = float(found.points_mm[[left, right], 1].min())
        if high_mm > 0.0 and row > below and wide_mm[row - below:row].min() <= _SHAFT * wide_mm[row:].max():
            hangs.append((left, right))
    return tuple(_bendable(scene, hangs))


def _bendable(scene: Scene, pairs: tuple[tuple[int, int], ...] | list[tuple[int, int]]) -> list[tuple[int, ...]]:
    """The first of some pairs for both of which a wire can be bent."""
    can = (pair for pair in pairs if bent(scene, pair[0]) and bent(scene, pair[1]))
    return list(itertools.islice(can, _PAIRS))
