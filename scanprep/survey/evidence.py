"""What speaks for one way up of an object or another, read off its rests, bases, axis, mirror plane and file.

Each question is asked of a way up or of a rest, and answered from what was measured; which answer is believed first
is `upright`'s. Scan axes, mm.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from scanprep.scan.mesh import Support
from scanprep.survey.footprint import Base
from scanprep.survey.masks import Mask
from scanprep.survey.records import Axis, Rest
from scanprep.survey.shape import Extents
from scanprep.vectors import F64, Vec3, unit, vec3

PLUMB_DEG = 5.0  # tolerance: how far the file's axis may lean over a level base or legs, to say the same; assumed
SNAP_DEG = 10.0  # tolerance: a rest this near to what was said, or to the file's axis, is meant; assumed
_MOUTH_SHARE = 0.12  # tolerance: hollow seen from above less from below, over the height: a mouth; assumed
# tolerance: of the skin that is round about a standing axis: a pot, with or without a handle; assumed
VESSEL_SHARE = 0.6
STOOD_TIP_DEG = 3.0  # tolerance: less is no way to leave a thing on a turntable; assumed
STEADY_TIP_DEG = 7.0  # tolerance: less is a thing on edge, or on its broken base; assumed
_CUT_SHARE = 0.8  # tolerance: of what it stands on, touching: sawn, broken level; assumed
_ROUND_TIP_DEG = 10.0  # tolerance: assumed
# tolerance: tip angles of two opposite ends; nearer than that a body may stand on either; assumed
_ALIKE_TIP_RATIO = 0.625
# tolerance: of a circle as wide as it is, a base that is its broadest part; of that, the end opposite; assumed
_BROADEST_SHARE, _NARROWER_SHARE = 0.75, 0.8
_WIDER_RATIO = 1.6  # tolerance: tip angles of two opposite ends, for the steadier to be meant; assumed
# tolerance: a vessel's foot is this steady, or this share of what its rim is; assumed
_FOOT_TIP_DEG, _FOOT_RATIO = 20.0, 0.65
# tolerance: of the extent: how near zero an axis begins, for the file to have its floor there; trial
_FLOOR_SHARE = 0.05
FLOOR_DEG = 30.0  # tolerance: how far the way up may lean from the file's floor without contradicting it; assumed
_LONG_RATIO = 0.40  # tolerance: middle over largest extent: such a thing lies along its length; assumed
_OBLONG_RATIO, _LEVEL_COS = 0.75, 0.5  # tolerance: middle over largest; over 60 deg from it: it lies; assumed
_PLUMB_COS = 0.12  # tolerance: of a file whose axes mean something the mirror plane stands within 7 deg
_LEANS_COS = 0.3  # tolerance: a mirror plane stands upright within 17 deg
AXES = {"x": (1.0, 0.0, 0.0), "y": (0.0, 1.0, 0.0), "z": (0.0, 0.0, 1.0)}  # exact: the letters of the axes


@dataclass(frozen=True, slots=True)
class Evidence:
    """What speaks for one way up or another."""

    rests: tuple[Rest, ...]
    bases: tuple[Base, ...]  # one a rest
    axis: Axis | None
    stated_axis: str | None  # the file format's own up axis
    flat: bool  # it has a face: a plate, disc or blade
    extents: Extents
    roundness: Callable[[Vec3], float]  # way up -> share of the skin that is round about a standing axis
    stood: Support | None  # the table as the scan itself shows it
    mouth: Callable[[Vec3], float]  # way up -> how much deeper the hollow is seen from above than from below
    floor: Vec3 | None  # way up from the file's own floor, at coordinate zero
    open_below: Vec3 | None  # way up from a flat open underside
    plane: Vec3 | None = None  # normal of its one mirror plane
    legs: Callable[[], Vec3 | None] = lambda: None  # way up in which it stands on legs
    relief: Vec3 | None = None  # where the scanned side of a relief looks: its back was not scanned
    square: F64 | None = None  # (3, 3) directions that a thing made square is flat across
    mask: Mask | None = None  # where it is one, how it looks and stands
    likely: Vec3 | None = None  # normal of the mirror plane that is far clearer than its others, for guesses
    convex: bool = False  # it swells all over: an egg, a pebble, a nut


def floor_of(points_mm: F64) -> Vec3 | None:
    """Return the way up where the object stands on the file's own floor: one axis alone begins at coordinate zero.

    points_mm  (n, 3) of the hull, scan axes and origin
    """
    low, size = points_mm.min(axis=0), np.ptp(points_mm, axis=0)
    zero = np.flatnonzero(np.abs(low) <= _FLOOR_SHARE * size)
    return vec3(np.eye(3)[zero[0]]) if len(zero) == 1 else None


def hollow_seen(up: Vec3, skin_depth_mm: Callable[[F64], F64], height_mm: float) -> float:
    """Return how much deeper the hollow is seen from above than from below, over the height.

    skin_depth_mm  way of looking (unit, towards the object) -> for lines over the shadow, how far the skin lies behind
                   the convex hull, mm
    """
    above, below = skin_depth_mm(-np.asarray(up)), skin_depth_mm(np.asarray(up))
    return float(above.mean() - below.mean()) / height_mm if height_mm > 0 else 0.0


def nearest_rest(seen: Evidence, direction: Sequence[float]) -> int | None:
    """Return the rest whose way up is within the snap of a direction."""
    if not seen.rests:
        return None
    dots = np.array([rest.up for rest in seen.rests]) @ unit(np.asarray(direction, dtype=np.float64))
    best = int(np.argmax(dots))
    return best if dots[best] >= np.cos(np.radians(SNAP_DEG)) else None


def as_filed(seen: Evidence, up: Vec3) -> bool:
    """Whether its mirror plane stands and its file has that way up: by its format, or as files mostly have it."""
    names = [seen.stated_axis] if seen.stated_axis else ["y", "z"]
    if seen.plane is not None and abs(cosine(up, seen.plane)) > _PLUMB_COS:
        return False
    return any(cosine(up, AXES[name]) > np.cos(np.radians(PLUMB_DEG)) for name in names)


def filed_near(seen: Evidence, up: Vec3) -> Vec3 | None:
    """The file's way up near another way up, where the mirror plane stands in it: a broken base leans."""
    names = [seen.stated_axis] if seen.stated_axis else ["y", "z"]
    near = [AXES[name] for name in names if cosine(up, AXES[name]) > np.cos(np.radians(FLOOR_DEG))
            and plane_stands(seen, AXES[name])]
    return near[0] if len(near) == 1 else None


def plane_stands(seen: Evidence, up: Vec3) -> bool:
    return seen.plane is None or abs(cosine(up, seen.plane)) < _LEANS_COS


def laid_down(seen: Evidence, up: Vec3) -> bool:
    """Whether a turned body or a long thing would lie on its side."""
    if seen.axis is not None and abs(cosine(seen.axis.direction, up)) < 0.5:
        return True
    return seen.extents.slenderness_ratio < _LONG_RATIO and abs(cosine(seen.extents.axes[0], up)) < 0.6


def would_do(seen: Evidence, k: int) -> bool:
    base = seen.bases[k]
    steady = base.lying and (seen.flat or seen.stated_axis is not None)
    if on_its_mouth(seen, k):
        return False
    return base.clear or (base.on_feet and not rolls(seen, seen.rests[k].up)) or steady or round_about(seen, k)


def rolls(seen: Evidence, up: Vec3) -> bool:
    """Whether a body that is round about its length lies on its side: a candlestick on the corners of its foot."""
    longest = seen.extents.axes[0]
    return (seen.extents.slenderness_ratio < _OBLONG_RATIO and abs(cosine(longest, up)) < _LEVEL_COS
            and seen.roundness(vec3(longest)) > VESSEL_SHARE)


def round_about(seen: Evidence, k: int) -> bool:
    """Whether it stands, however unevenly, with a body that is round about the vertical: a pot, nothing laid down."""
    rest = seen.rests[k]
    return rest.tip_angle_deg >= _ROUND_TIP_DEG and seen.roundness(rest.up) > VESSEL_SHARE


def on_its_mouth(seen: Evidence, k: int) -> bool:
    """Whether a rest stands a vessel on its mouth while it could stand on its foot: level, feet, or round and worn."""
    other = nearest_rest(seen, tuple(-u for u in seen.rests[k].up))
    if other is None or seen.mouth(seen.rests[k].up) >= -_MOUTH_SHARE:
        return False
    if not (seen.bases[other].clear or seen.bases[other].on_feet or round_about(seen, other)):
        return False
    # A bell or a thimble has a small crown that it would hardly be stood on: then it is no vessel, or cannot be told.
    up, over = seen.rests[other].tip_angle_deg, seen.rests[k].tip_angle_deg
    return up >= _FOOT_TIP_DEG or up >= _FOOT_RATIO * over


def wider_end(seen: Evidence, two: Sequence[int]) -> int | None:
    """Return the much steadier of two opposite bases of a body without a mouth: weights, bottles, plinths."""
    first, second = (seen.rests[k] for k in two)
    if cosine(first.up, second.up) > -0.98 or abs(seen.mouth(first.up)) > _MOUTH_SHARE:
        return None
    wide, narrow = (two[0], two[1]) if first.tip_angle_deg > second.tip_angle_deg else (two[1], two[0])
    ratio = seen.rests[wide].tip_angle_deg / max(seen.rests[narrow].tip_angle_deg, 1e-9)
    return wide if ratio >= _WIDER_RATIO else None


def ends_alike(seen: Evidence, k: int) -> bool:
    """Whether a body without a mouth stands nearly as well turned over: a can, a drum."""
    other = nearest_rest(seen, tuple(-u for u in seen.rests[k].up))
    if other is None or abs(seen.mouth(seen.rests[k].up)) > _MOUTH_SHARE:
        return False
    return seen.rests[other].tip_angle_deg > _ALIKE_TIP_RATIO * seen.rests[k].tip_angle_deg


def drum_like(seen: Evidence, k: int) -> bool:
    """Whether a round body is broadest at its closed base and open at a narrower end: a drum on its skin, a funnel."""
    rest = seen.rests[k]
    if seen.axis is None or seen.mouth(rest.up) < _MOUTH_SHARE:
        return False
    other = nearest_rest(seen, tuple(-u for u in rest.up))
    narrower = other is None or seen.rests[other].area_mm2 < _NARROWER_SHARE * rest.area_mm2
    across = int(np.argmin(np.abs(seen.extents.axes @ np.asarray(seen.axis.direction))))
    circle_mm2 = np.pi / 4 * float(seen.extents.lengths_mm[across]) ** 2
    return narrower and rest.area_mm2 > _BROADEST_SHARE * circle_mm2


def headlong(seen: Evidence, k: int) -> bool:
    """Whether a rest has the file's up axis pointing down: hardly anything is scanned or drawn on its head."""
    names = [seen.stated_axis] if seen.stated_axis else ["y", "z"]
    return any(cosine(seen.rests[k].up, AXES[name]) < -np.cos(np.radians(SNAP_DEG)) for name in names)


def lies_as_well_turned_over(seen: Evidence, k: int) -> bool:
    """Whether a flat thing could just as well lie on its other face."""
    if not seen.flat:
        return False
    other = nearest_rest(seen, tuple(-u for u in seen.rests[k].up))
    return other is not None and seen.bases[other].lying


def plausible(seen: Evidence, k: int) -> tuple[float, ...]:
    rest, base = seen.rests[k], seen.bases[k]
    stated = max(cosine(rest.up, AXES[n]) for n in ([seen.stated_axis] if seen.stated_axis else ["y", "z"]))
    near_axis = float(stated > np.cos(np.radians(SNAP_DEG)))
    on_axis = float(seen.axis is not None and abs(cosine(rest.up, seen.axis.direction)) > 0.98)
    mouth_down = float(on_its_mouth(seen, k))
    stands = max(base.clear, base.on_feet, base.lying)
    steady = rest.tip_angle_deg >= STEADY_TIP_DEG or base.contact_share >= _CUT_SHARE  # or cut level below
    return (stands + near_axis + on_axis - 2 * mouth_down, steady, base.contact_share, rest.tip_angle_deg)


def cosine(a: Sequence[float] | F64, b: Sequence[float] | F64) -> float:
    return float(np.dot(a, b))
