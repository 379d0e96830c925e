"""What sits on top of an object: a head on its neck, a lid with its knob. It is kept by what is below.

        _
      _( )_     a lid lies loose, a hinge opens, a stopper draws out: what is clasped by it is not held;
     /_____\\    and a head is looked at, and breaks off at its neck
     |     |
     |     |    so the object is kept below the seam or at the neck
     |_____|

A head is what lies above the lowest neck, not far below the middle, over which there is little of the object, from
where it widens. A lid is told by its knob: it is closed, small above, and bulges below the knob; it ends at the first
place where its outline turns in, at a rim, a groove or the shoulder it lies on. Told from the outline that the viewer
sees. A preference, no ban. Display frame, mm.
"""

from __future__ import annotations

import math
from functools import lru_cache

import numpy as np

from scanprep.hold.families.necks import necks_mm
from scanprep.hold.families.scene import Bools, Scene
from scanprep.hold.places.inside import inside_of
from scanprep.rules import HoldRules
from scanprep.vectors import F64

_HEAD_MOST, _LID_MOST = HoldRules().head_most_share, HoldRules().lid_most_share
_HEADS_FROM = 0.4  # tolerance: of the height, above which a neck may bear a head: ears count
_REACH = 0.04  # tolerance: of the height, over which an outline turns
_TURNS_IN = 0.015  # tolerance: of the height, by which an outline stays within a straight line where it turns in
_KNOB_MOST, _BULGES = 0.4, 1.6  # tolerance: of the object's width, a knob's; of a knob's, the width of its lid
_CLOSED_mm = 3.0  # tolerance: a mouth is deeper than what dips into a knob


@lru_cache(maxsize=4)
def top_from_mm(scene: Scene) -> float:
    """Return the height above which there is only what sits on top; inf where nothing does."""
    least_mm = float(scene.low_mm[1] + _HEADS_FROM * scene.size_mm[1])
    heads = [_widens_mm(scene, neck) for neck in necks_mm(scene)
             if neck > least_mm and _share_above(scene, neck) <= _HEAD_MOST]
    seam = _lid_from_mm(scene)
    lid = [seam] if seam is not None and _share_above(scene, seam) <= _LID_MOST else []
    return min((*heads, *lid), default=math.inf)


def _widens_mm(scene: Scene, neck_mm: float) -> float:
    """The height above a neck at which the head begins: where it is wider than the neck by as much as tells a neck."""
    front = scene.view.front
    wide = np.isfinite(front.front_mm).sum(axis=1)
    row = int(np.clip((neck_mm - front.low_mm) / front.pitch_mm, 0, len(wide) - 1))
    wider = np.flatnonzero(wide[row:] > wide[row] / scene.rules.clip_waist_ratio)
    return front.low_mm + (row + float(wider[0] if len(wider) else len(wide) - row)) * front.pitch_mm


def on_top(scene: Scene, heights_mm: F64) -> Bools:
    """Return which heights (n,) are those of what sits on top."""
    return np.asarray(heights_mm > top_from_mm(scene))


def _share_above(scene: Scene, height_mm: float) -> float:
    """How much of the object, its hollows filled, lies above a height."""
    inside = inside_of(scene.view.body)
    up = scene.view.rotation[1]
    x, y, z = (inside.corner_mm[axis] + inside.step_mm * np.arange(inside.filled.shape[axis]) for axis in range(3))
    above = (up[0] * x[:, None, None] + up[1] * y[:, None] + up[2] * z) > height_mm
    return float((inside.filled & above).sum()) / max(float(inside.filled.sum()), 1.0)


def _lid_from_mm(scene: Scene) -> float | None:
    """The height of the seam below a lid with a knob; None where there is none."""
    front = scene.view.front
    wide = _wide_below_top(np.isfinite(front.front_mm))
    reach = max(round(_REACH * len(wide)), 2)
    turns_in = _turned_in(wide, reach) > max(_TURNS_IN * len(wide), 1.0)
    knob = int(np.argmax(turns_in))  # rows from the top down
    if not turns_in[knob]:
        return None
    below = knob + int(np.argmax(~turns_in[knob:]))
    if turns_in[below]:
        return None
    seam = below + int(np.argmax(turns_in[below:]))
    small = wide[:knob].max(initial=0.0) <= _KNOB_MOST * wide.max()
    bulges = wide[below:seam].max(initial=0.0) >= _BULGES * wide[:knob].max(initial=0.0)
    if seam == below or not small or not bulges or not _closed(scene):
        return None
    # where it turns in most is the seam itself
    seam += int(np.argmax(_turned_in(wide, reach)[seam:seam + 2 * reach]))
    return float(scene.high_mm[1]) - (seam + 0.5) * front.pitch_mm


def _turned_in(wide: F64, reach: int) -> F64:
    """How far each row's width stays within the straight line between its neighbours' above and below."""
    line = np.full(len(wide), -np.inf)
    line[reach:-reach] = (wide[:-2 * reach] + wide[2 * reach:]) / 2
    return line - wide


def _wide_below_top(inside: Bools) -> F64:
    """Widths in pixels, rows from the top down, of what hangs together with the topmost place from side to side."""
    rows = np.flatnonzero(inside.any(axis=1))[::-1]
    middle = int(np.median(np.flatnonzero(inside[rows[0]])))
    wide = []
    for row in inside[rows]:
        right, left = (int(np.argmin(np.r_[side, False])) for side in (row[middle:], row[middle::-1]))
        wide.append(max(right + left - 1.0, 0.0))
    return np.array(wide)


def _closed(scene: Scene) -> bool:
    """Whether its topmost place is no mouth: seen from above, the middle there lies as high as the rest."""
    points = scene.view.vertices_mm
    top = points[points[:, 1] > scene.high_mm[1] - _CLOSED_mm]
    at = np.array([[(top[:, 0].min() + top[:, 0].max()) / 2, scene.high_mm[1] + 5.0,
                    (top[:, 2].min() + top[:, 2].max()) / 2]])
    hit = scene.cast(at, np.array([0.0, -1.0, 0.0]))
    return bool(hit.met[0]) and float(hit.points_mm[0, 1]) > float(scene.high_mm[1]) - _CLOSED_mm
