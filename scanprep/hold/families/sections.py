"""Level sections through an object: about which middle a clip or a ring goes round.

        ___      a neck with a handle: the clip goes round the neck,
     __|   |     and its middle is the neck's
    |  |   |
    |__|___|

Display frame, mm.
"""

from __future__ import annotations

import numpy as np

from scanprep.hold.families.scene import Bools, Scene
from scanprep.vectors import F64

_ACROSS = 41  # tolerance: places across a section of which some parts stand apart


def section_centre(scene: Scene, height_mm: float) -> F64 | None:
    """Return the middle (3,) of the section at a height, between its left and right and its back and front; None: there
    is none.

    Where a handle stands so far off a neck that the middle of both is air, it is the neck's own.
    """
    at = np.array([[scene.low_mm[0] - 5.0, height_mm, 0.0], [scene.high_mm[0] + 5.0, height_mm, 0.0]])
    found = None
    for z in np.linspace(scene.low_mm[2], scene.high_mm[2], 9)[1:-1]:
        at[:, 2] = z
        hit = scene.cast(at, np.array([[1.0, 0, 0], [-1.0, 0, 0]]))
        if hit.met.all():
            wide = hit.points_mm[1, 0] - hit.points_mm[0, 0]
            if found is None or wide > found[0]:
                found = (wide, (hit.points_mm[0, 0] + hit.points_mm[1, 0]) / 2, z)
    if found is None:
        return None
    wide, x, _ = found
    if not _seen_at(scene, height_mm, np.array([x])).all():  # between a handle and a neck: the neck's own middle
        across = x + wide * np.linspace(-0.5, 0.5, _ACROSS)[1:-1]
        x = _middle_of_widest(across, _seen_at(scene, height_mm, across))
    through = scene.cast(np.array([[x, height_mm, scene.low_mm[2] - 5], [x, height_mm, scene.high_mm[2] + 5]]),
                         np.array([[0, 0, 1.0], [0, 0, -1.0]]))
    if not through.met.all():
        return None
    return np.array([x, height_mm, through.points_mm[:, 2].mean()])


def _seen_at(scene: Scene, height_mm: float, x_mm: F64) -> Bools:
    """Whether the object is met from the front at places (n,) across it."""
    from_front = np.column_stack([x_mm, np.full((len(x_mm), 2), [height_mm, scene.high_mm[2] + 5.0])])
    return scene.cast(from_front, np.array([0.0, 0.0, -1.0])).met


def _middle_of_widest(x_mm: F64, met: Bools) -> float:
    """The middle of the widest run of places that are met; of all where none is."""
    ends = np.flatnonzero(np.diff(np.r_[False, met, False].astype(np.int8)))
    if len(ends) == 0:
        return float(x_mm.mean())
    widest = int(np.argmax(ends[1::2] - ends[::2]))
    return float(x_mm[ends[2 * widest]] + x_mm[ends[2 * widest + 1] - 1]) / 2
