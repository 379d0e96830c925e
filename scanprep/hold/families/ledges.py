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
from scanprep.hold.families.probes import claws, saddles
from scanprep.hold.families.scene import Scene
from scanprep.hold.records import Contact
from scanprep.rules import HoldRules

_STEEP = HoldRules().claw_steep_cos
_LEVEL = 0.04  # tolerance: of the height, how unlike the heights of a pair may be
_APART_mm = 6.0  # tolerance: between the two of a pair at least
_FRAIL = 0.6  # tolerance: of the usual thickness, below which a ledge is taken last
_PAIRS = 3  # tolerance: pairs tried
_SHAFT = HoldRules().head_shaft_ratio
_PLACES = 41  # tolerance: across a head, looked at for saddles under it
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
def head_hooks(scene: Scene) -> tuple[tuple[Contact, ...], ...]:
    """Return pairs of hooks above the centre of mass under a head much wider than the shaft below it.

    Claws at the outline's own edge where that looks down on both sides; else saddles under what runs out from the
    shaft, as under a claw or a blade whose edge slopes.
    """
    found = claws(scene)
    hangs = [pair for pair in ledge_pairs(scene) if _under_head(scene, float(found.points_mm[list(pair), 1].min()))]
    hooks = [tuple(found.contact(scene, i) for i in pair) for pair in _bendable(scene, hangs)]
    return tuple(hooks or _saddles_under_head(scene))


def _under_head(scene: Scene, height_mm: float) -> bool:
    """Whether a height lies above the centre of mass, and the shaft just below it is much narrower than what is over
    it."""
    front = scene.view.front
    wide_mm = np.isfinite(front.front_mm).sum(axis=1) * front.pitch_mm
    row, below = int((height_mm - front.low_mm) / front.pitch_mm), max(round(_BELOW * len(wide_mm)), 2)
    return height_mm > 0.0 and below < row < len(wide_mm) and \
        float(wide_mm[row - below:row].min()) <= _SHAFT * float(wide_mm[row:].max())


def _saddles_under_head(scene: Scene) -> list[tuple[Contact, ...]]:
    """Pairs of saddles under a head, one on either side of its shaft and near it, the likeliest first."""
    at_x = np.linspace(float(scene.low_mm[0]), float(scene.high_mm[0]), _PLACES)
    found, (wide, high) = saddles(scene, at_x), scene.size_mm[:2]
    heights = found.under.points_mm[:, 1]
    good = [int(i) for i in np.flatnonzero(found.sits & (found.sturdy >= scene.rules.sturdy_least_ratio))
            if _under_head(scene, float(heights[i]))]
    pairs = []
    for left, right in itertools.product([i for i in good if at_x[i] < 0.0], [i for i in good if at_x[i] > 0.0]):
        uneven, slope = abs(float(at_x[left] + at_x[right])), abs(float(heights[left] - heights[right]))
        if slope <= _LEVEL * high:
            off = uneven + slope + 0.5 * float(at_x[right] - at_x[left])
            pairs.append((round(off / float(wide), 6), left, right))
    can = ((left, right) for _, left, right in sorted(pairs)
           if scene.bends(found.contact(scene, left)) and scene.bends(found.contact(scene, right)))
    return [tuple(found.contact(scene, i) for i in pair) for pair in itertools.islice(can, _PAIRS)]


def _bendable(scene: Scene, pairs: tuple[tuple[int, int], ...] | list[tuple[int, int]]) -> list[tuple[int, ...]]:
    """The first of some pairs for both of which a wire can be bent."""
    can = (pair for pair in pairs if bent(scene, pair[0]) and bent(scene, pair[1]))
    return list(itertools.islice(can, _PAIRS))
