"""Bands: how far up or down an open clip slides to lie on the plainest ground within reach.

     ( ~~ )   a name, an eye, a stripe at the height that was thought of first
     (    )   plain, a little lower: the clip goes there

A mountmaker slides a clip along a neck or a body before he lets it cross lettering or paint. All of the way that it
goes counts, behind and at both sides, pads and wire, with what lies within a pad's breadth of it. Where no band within
reach is plainer it stays. Display frame, mm.
"""

from __future__ import annotations

import numpy as np

from scanprep.hold.families.scene import Bools, Scene
from scanprep.hold.families.sections import section_centre
from scanprep.rules import HoldRules
from scanprep.vectors import F64

_STEPS = 3  # tolerance: places tried each way
_PLAINER = 0.1  # tolerance: by how much less painted a band must be for all of the reach
_PLACES, _PAST_deg = 15, 15.0  # tolerance: looked at along a band, and so far past its sides
_NECK_PLAINER = 0.5  # tolerance: and how painted it may be there at most, over the narrowest place
_NECK_WIDER = 1.12  # tolerance: how much wider a neck may be where a clip slides to
_OF_SIZE, _MOST_mm = HoldRules().clip_slides_ratio, HoldRules().clip_slides_mm


def band_painted(scene: Scene, heights_mm: F64) -> F64:
    """Return how painted the bands are in which clips at some heights (n,) would lie: 0 plain .. 1, a quadratic mean;
    nan where no clip goes round. Their middle is that of the section at the middle one of the heights."""
    centre = section_centre(scene, float(heights_mm[len(heights_mm) // 2]))
    if centre is None:
        return np.full(len(heights_mm), np.nan)
    angle = np.radians(np.linspace(180.0 - _PAST_deg, 360.0 + _PAST_deg, _PLACES))  # behind, from side to side
    ray = np.tile(np.column_stack([np.cos(angle), np.zeros(_PLACES), np.sin(angle)]), (len(heights_mm), 1))
    middles = np.tile(centre, (len(ray), 1))
    middles[:, 1] = np.repeat(heights_mm, _PLACES)
    hit = scene.cast(middles + scene.diagonal_mm * ray, -ray)
    painted = np.zeros(len(ray))
    painted[hit.met] = scene.painted(hit.points_mm[hit.met])
    mean = np.sqrt((painted.reshape(-1, _PLACES) ** 2).mean(axis=1))
    return np.where(hit.met.reshape(-1, _PLACES).all(axis=1), mean, np.nan)


def plainest_mm(scene: Scene, height_mm: float, *, neck: bool = False) -> float:
    """Return the height of the plainest band within a clip's reach of a height; the nearer of two that are as plain.

    neck  it stays where the neck is as narrow, within an eighth, and where that is not half as painted: a neck's
          narrowest place holds best
    """
    if not scene.view.body.has_colour:
        return height_mm
    reach = min(_OF_SIZE * float(scene.size_mm[1]), _MOST_mm)
    shares = np.linspace(-1.0, 1.0, 2 * _STEPS + 1)
    heights = height_mm + reach * shares
    painted = band_painted(scene, heights)
    price = painted + _PLAINER * np.abs(shares)
    here = price[_STEPS]
    if neck:
        price[~_as_narrow(scene, heights) | (painted > _NECK_PLAINER * here)] = np.nan
    if not np.isfinite(here) or not np.nanmin(price, initial=np.inf) < here:
        return height_mm
    return float(heights[int(np.nanargmin(np.round(price, 6)))])


def _as_narrow(scene: Scene, heights_mm: F64) -> Bools:
    """Which heights (n,) lie in one run with the middle one where the object is as narrow as there."""
    front = scene.view.front
    wide = np.isfinite(front.front_mm).sum(axis=1)
    rows = np.clip(((heights_mm - front.low_mm) / front.pitch_mm).astype(int), 0, len(wide) - 1)
    middle = len(rows) // 2
    narrow = wide[rows] <= _NECK_WIDER * wide[rows[middle]]
    run = np.zeros(len(rows), dtype=bool)
    run[middle] = True
    for step in (-1, 1):
        k = middle + step
        while 0 <= k < len(rows) and narrow[k]:
            run[k] = True
            k += step
    return run
