"""Necks and waists: heights at which an object is narrower than above and below, where a clip goes first.

A clip in such a place keeps its object down as well as upright, and is hidden by what stands out over it. Display
frame, mm.
"""

from __future__ import annotations

from functools import lru_cache

import numpy as np

from scanprep.hold.families.scene import Scene
from scanprep.rules import HoldRules
from scanprep.vectors import F64, steady

_FROM, _TO = 0.3, 0.96  # tolerance: of the height, between which a neck is sought
_REACH = 0.04  # tolerance: of the height, how far on either side a neck is the narrowest place
_WAIST = HoldRules().clip_waist_ratio


@lru_cache(maxsize=4)
def necks_mm(scene: Scene) -> tuple[float, ...]:
    """Return the heights of an object's necks and waists as the viewer sees them, the most marked first."""
    front = scene.view.front
    wide = np.isfinite(front.front_mm).sum(axis=1).astype(np.float64)
    rows = np.flatnonzero(wide)
    wide = wide[rows[0]:rows[-1] + 1]
    count = len(wide)
    reach = max(round(_REACH * count), 1)
    found: list[tuple[float, int]] = []
    for row in range(int(_FROM * count), int(_TO * count)):
        near = wide[max(row - reach, 0):row + reach + 1]
        ratio = _narrowed(wide, row)
        if ratio <= _WAIST and wide[row] <= near.min():
            found.append((ratio, row))
    heights: list[float] = []
    for _, row in sorted((round(ratio, 6), row) for ratio, row in found):
        height = front.low_mm + (rows[0] + row + 0.5) * front.pitch_mm
        if all(abs(height - other) > 2 * reach * front.pitch_mm for other in heights):
            heights.append(float(height))
    return tuple(heights)


def _narrowed(wide: F64, row: int) -> float:
    """How wide a row is, over the widest above or the widest below, whichever is less."""
    return float(steady(wide[row] / min(float(wide[row:].max()), float(wide[:row + 1].max())), 9))
