"""How well the weight stands: on props far enough apart, the balance point between them.

      ______          ______
     |      |        |      |
     |______|        |______|
      ^    ^           ^^       two props side by side are a pivot, not a base

A mountmaker sets two props under an object as far apart as what stands on them is broad, on both sides of its balance
point, or makes one piece of them. Where the gates pass nothing better it is held all the same: what stands badly is
tried later and suits less. Display frame, mm.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from scanprep.hold.families.records import FamilyMount
from scanprep.hold.families.scene import Scene
from scanprep.hold.places.limits import RISING
from scanprep.hold.records import Contact
from scanprep.rules import HoldRules

_APART, _BUNCHED = HoldRules().props_apart_ratio, HoldRules().props_bunched_ratio
_BEFORE = 4  # tolerance: mounts that stand well asked for before those put off


def footing(mount: FamilyMount, scene: Scene) -> float:
    """Return how well the weight stands in a mount: 1, or less where its props are bunched."""
    return _BUNCHED if bunched([wire for wire in mount.wires if wire.bearing], scene) else 1.0


def bunched(props: Sequence[Contact], scene: Scene) -> bool:
    """Whether several props that bear an object lie all on one side of its balance point, or, under it, all on less
    than a share of the breadth that it has there. One wire is one piece, and no prop among others."""
    if len(props) < 2:
        return False
    places = np.array([face.point_mm for wire in props for face in wire.faces if face.normal[1] >= RISING])
    left, right = float(places[:, 0].min()), float(places[:, 0].max())
    if left > 0.0 or right < 0.0:
        return True
    if float(places[:, 1].max()) > 0.0:  # it hangs
        return False
    front = scene.view.front
    low, high = (max(int((y - front.low_mm) / front.pitch_mm), 0) for y in
                 (float(places[:, 1].min()), float(places[:, 1].max()) + scene.rules.base_rise_mm))
    there = np.flatnonzero(np.isfinite(front.front_mm[low:high + 1]).any(axis=0))
    broad_mm = (there[-1] - there[0] + 1) * front.pitch_mm if len(there) else 0.0
    return right - left < _APART * float(broad_mm)


def standing_well_first(mounts: Iterator[FamilyMount], scene: Scene) -> Iterator[FamilyMount]:
    """Yield mounts in their order, but those whose props are bunched after a few others."""
    put_off: list[FamilyMount] = []
    well = 0
    for mount in mounts:
        if well < _BEFORE and footing(mount, scene) < 1.0:
            put_off.append(mount)
            continue
        yield mount
        well += 1
        if well == _BEFORE:
            yield from put_off
            put_off = []
    yield from put_off
