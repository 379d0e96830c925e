"""Which way up an object belongs, told by evidence in a stated order, or asked.

The likeliest rest is mostly the wrong answer: cups and figures come to lie on their side when thrown. So people's word
goes first, then the table it stood on when it was scanned, then the file's up axis where a base lies there, then a
clear base, then an axis of revolution; a vessel's mouth tells its two ends apart; then legs. A body's one mirror plane
stands upright: what says otherwise is not believed alone. Where more than one way is left, the best guess is marked as
not sure, and asks; two pieces of thin evidence that agree are believed.
Takes rests and bases (scan axes, mm). Used by the survey.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from scanprep.scan.mesh import Support
from scanprep.survey.footprint import Base
from scanprep.survey.records import Axis, Rest, Upright
from scanprep.survey.shape import Extents
from scanprep.vectors import F64, Vec3, unit, vec3

SNAP_DEG = 10.0  # tolerance: a rest this near to what was said, or to the file's axis, is meant; assumed
_MOUTH_SHARE = 0.12  # tolerance: hollow seen from above less from below, over the height: a mouth; assumed
_BASES = {"flat": "a flat base", "ring": "a foot ring", "feet": "level feet"}
# tolerance: of the skin that is round about a standing axis: a pot, with or without a handle; assumed
VESSEL_SHARE = 0.6
_ROUND_TIP_DEG = 10.0  # tolerance: assumed
STOOD_TIP_DEG = 3.0  # tolerance: less is no way to leave a thing on a turntable; assumed
# tolerance: tip angles of two opposite ends; nearer than that a body may stand on either; assumed
_ALIKE_TIP_RATIO = 0.8
_WIDER_RATIO = 1.6  # tolerance: tip angles of two opposite ends, for the steadier to be meant; assumed
# tolerance: a vessel's foot is this steady, or this share of what its rim is; assumed
_FOOT_TIP_DEG, _FOOT_RATIO = 20.0, 0.65
_DISH_SHARE = 0.2  # tolerance: the same for a flat thing to be a dish, not a coin with a raised border; assumed
# tolerance: of the extent: how near zero an axis begins, for the file to have its floor there; trial
_FLOOR_SHARE = 0.05
_FLOOR_DEG = 30.0  # tolerance: how far the way up may lean from the file's floor without contradicting it; assumed
_LONG_RATIO = 0.40  # tolerance: middle over largest extent: such a thing lies along its length; assumed
_SAME_COS = 0.95  # tolerance: within 18 deg: one choice, not two
_CLEAR_TIP_DEG = 7.0  # tolerance: less is a thing on edge, or on its broken base; assumed
_PLUMB_COS = 0.12  # tolerance: of a file whose axes mean something the mirror plane stands within 7 deg
_LEANS_COS = 0.3  # tolerance: a mirror plane stands upright within 17 deg
_MOST_WAYS = 5  # layout: ways up that a person is asked about
_AXES = {"x": (1.0, 0.0, 0.0), "y": (0.0, 1.0, 0.0), "z": (0.0, 0.0, 1.0)}  # exact: the letters of the axes


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


def choose_upright(asked: Vec3 | None, seen: Evidence, rest_on: Callable[[Vec3], Rest]) -> Upright:
    """Return the way up with its reason.

    asked    the checklist's up, scan axes
    rest_on  makes the rest for a way up on which the object need not stand by itself
    """
    if asked is not None:
        return _as_asked(asked, seen, rest_on)
    if (found := _by_table(seen)) is not None:
        return _against_floor(found, seen)
    if seen.relief is not None:
        return _upright_relief(seen, seen.relief)
    if (found := _by_file_axis(seen)) is not None:
        return _against_build(_against_floor(found, seen, weak=seen.stated_axis is None), seen, rest_on)
    if (found := _by_base(seen)) is not None:
        return _against_build(_against_floor(found, seen), seen, rest_on)
    if (found := _by_floor(seen)) is not None:
        return _against_build(found, seen, rest_on)
    if (found := _by_legs(seen, rest_on)) is not None:
        return found
    return _guess(seen, rest_on)


def floor_of(points_mm: F64) -> Vec3 | None:
    """Return the way up where the object stands on the file's own floor: one axis alone begins at coordinate zero.

    points_mm  (n, 3) of the hull, scan axes and origin
    """
    low, size = points_mm.min(axis=0), np.ptp(points_mm, axis=0)
    zero = np.flatnonzero(np.abs(low) <= _FLOOR_SHARE * size)
    return vec3(np.eye(3)[zero[0]]) if len(zero) == 1 else None


def ways_up(seen: Evidence, upright: Upright) -> tuple[Vec3, ...]:
    """Return other ways up that something speaks for, likeliest first; none that is nearly the same as another."""
    stands = sorted((k for k, base in enumerate(seen.bases) if base.clear or base.on_feet),
                    key=lambda k: _plausible(seen, k), reverse=True)
    axes = [seen.axis.direction] if seen.axis is not None else []
    ways = [way for way in (seen.floor, seen.open_below) if way is not None]
    ways += [vec3(sign * np.asarray(axis)) for axis in axes for sign in (1.0, -1.0)]
    ways += [vec3(-np.asarray(upright.up)), _AXES["y"], _AXES["z"], *(seen.rests[k].up for k in stands)]
    kept: list[Vec3] = [upright.up]
    for way in ways:
        if all(_dot(way, other) < _SAME_COS for other in kept):
            kept.append(way)
    return tuple(kept[1:1 + _MOST_WAYS])


def _near(seen: Evidence, direction: Sequence[float]) -> int | None:
    """Return the rest whose way up is within the snap of a direction."""
    if not seen.rests:
        return None
    dots = np.array([rest.up for rest in seen.rests]) @ unit(np.asarray(direction, dtype=np.float64))
    best = int(np.argmax(dots))
    return best if dots[best] >= np.cos(np.radians(SNAP_DEG)) else None


def _as_asked(asked: Vec3, seen: Evidence, rest_on: Callable[[Vec3], Rest]) -> Upright:
    near = _near(seen, asked)
    if near is not None and seen.rests[near].tip_angle_deg > 0:
        return Upright(seen.rests[near].up, "the checklist says so", True, seen.rests[near])
    up = vec3(unit(np.asarray(asked, dtype=np.float64)))
    rest = rest_on(up)
    if rest.tip_angle_deg > 1.0:
        return Upright(up, "the checklist says so", True, rest)
    return Upright(up, "the checklist says so; it does not stand by itself that way", True, None)


def _by_table(seen: Evidence) -> Upright | None:
    """The way it stood when it was scanned, where a table was seen under it or its underside was not seen."""
    if seen.stood is None:
        return None
    near = _near(seen, tuple(-d for d in seen.stood.down))
    if near is None or seen.rests[near].tip_angle_deg < STOOD_TIP_DEG:
        return None
    if _on_its_mouth(seen, near) and seen.roundness(seen.rests[near].up) > VESSEL_SHARE:
        return None  # a vessel turned over to scan its foot; a stool is hollow below too, but not round
    if seen.stood.seen:
        return _told(seen, near, "it stood so on the table, of which a piece was scanned")
    # An open mouth looks like an unseen underside: then a base is at the other end, or the file's axis points down
    other = _near(seen, seen.stood.down)
    turned = other is not None and (seen.bases[other].clear or seen.bases[other].on_feet)
    if turned or _headlong(seen, near) or not (seen.bases[near].clear or seen.bases[near].on_feet
                                               or _round_about(seen, near)):
        return None
    return _told(seen, near, "its underside was not seen: it stood on it when it was scanned")


def _by_file_axis(seen: Evidence) -> Upright | None:
    names = [seen.stated_axis] if seen.stated_axis else ["y", "z"]
    found = [(name, near) for name in names
             if (near := _near(seen, _AXES[name])) is not None and _would_do(seen, near)]
    if len(found) != 1:
        return None
    name, near = found[0]
    base = seen.bases[near]
    shape = _BASES[base.footprint.kind] if base.clear or base.on_feet else (
        "a side it lies on steadily" if base.lying else "a round body that stands")
    said = f"the file has {name} up" if seen.stated_axis else f"files mostly have y or z up, and this one has {name}"
    return _told(seen, near, f"{said}, and there is {shape}")


def _by_floor(seen: Evidence) -> Upright | None:
    """The way it stands on the file's own floor; a body of revolution that lies there, and a flat thing, still ask."""
    near = None if seen.floor is None else _near(seen, seen.floor)
    if near is None or seen.rests[near].tip_angle_deg <= 0:
        return None
    if _laid_down(seen, seen.rests[near].up):
        return None
    return _told(seen, near, "it stands on the file's own floor")


def _by_legs(seen: Evidence, rest_on: Callable[[Vec3], Rest]) -> Upright | None:
    """The way it stands on its legs; sure where the file's habit says the same."""
    up = None if seen.axis is not None else seen.legs()
    if up is None:
        return None
    near = _near(seen, up)
    rest = rest_on(up) if near is None else seen.rests[near]
    if seen.roundness(rest.up) > VESSEL_SHARE:
        return None  # what stands round the rim of a vessel, turned over
    up, stands = rest.up, rest if rest.tip_angle_deg > 1.0 else None
    if _as_filed(seen, up):
        return Upright(up, "it stands on its legs, and its file has that way up too", True, stands)
    return Upright(up, "a guess (it seems to stand on legs): please say which way is up", False, stands)


def _upright_relief(seen: Evidence, front: Vec3) -> Upright:
    """What is up on a relief or mask whose back was not scanned: y or z of its file, where that is level with it."""
    names = [seen.stated_axis] if seen.stated_axis else ["y", "z"]
    ways = sorted((_AXES[name] for name in names), key=lambda way: abs(_dot(way, front)))
    across = np.asarray(ways[0]) - _dot(ways[0], front) * np.asarray(front)
    return Upright(vec3(unit(across)), "a guess (one side of it was scanned, a relief or mask): please say which "
                   "way is up", False, None)


def _as_filed(seen: Evidence, up: Vec3) -> bool:
    """Whether its mirror plane stands and its file has that way up: by its format, or as files mostly have it."""
    names = [seen.stated_axis] if seen.stated_axis else ["y", "z"]
    if seen.plane is not None and abs(_dot(up, seen.plane)) > _PLUMB_COS:
        return False
    return any(_dot(up, _AXES[name]) > np.cos(np.radians(SNAP_DEG)) for name in names)


def _filed_near(seen: Evidence, up: Vec3) -> Vec3 | None:
    """The file's way up near another way up, where the mirror plane stands in it: a broken base leans."""
    names = [seen.stated_axis] if seen.stated_axis else ["y", "z"]
    near = [_AXES[name] for name in names if _dot(up, _AXES[name]) > np.cos(np.radians(_FLOOR_DEG))
            and _plane_stands(seen, _AXES[name])]
    return near[0] if len(near) == 1 else None


def _plane_stands(seen: Evidence, up: Vec3) -> bool:
    return seen.plane is None or abs(_dot(up, seen.plane)) < _LEANS_COS


def _against_build(found: Upright, seen: Evidence, rest_on: Callable[[Vec3], Rest]) -> Upright:
    """What was found, not sure where the body's one mirror plane would lie, or where its legs point another way."""
    if not found.sure or seen.axis is not None:
        return found
    if not _plane_stands(seen, found.up):
        return replace(found, sure=False, reason=f"a guess ({found.reason}, but its mirror plane would not stand "
                       "upright): please say which way is up")
    if any(rest is found.rest and base.on_feet for rest, base in zip(seen.rests, seen.bases, strict=True)):
        return found
    if seen.roundness(found.up) > VESSEL_SHARE:
        return found  # the walls of a pot laid on its side are no legs
    legs = _by_legs(seen, rest_on)
    if legs is None or _dot(legs.up, found.up) > np.cos(np.radians(_FLOOR_DEG)):
        return found
    if seen.plane is not None:
        return replace(legs, sure=False, reason=f"a guess (it seems to stand on legs, but {found.reason}): please say "
                       "which way is up")
    return replace(found, sure=False, reason=f"a guess ({found.reason}, but legs seem to point another way): please "
                   "say which way is up")


def _laid_down(seen: Evidence, up: Vec3) -> bool:
    """Whether a turned body or a long thing would lie on its side."""
    if seen.axis is not None and abs(_dot(seen.axis.direction, up)) < 0.5:
        return True
    return seen.extents.slenderness_ratio < _LONG_RATIO and abs(_dot(seen.extents.axes[0], up)) < 0.6


def _against_floor(found: Upright, seen: Evidence, *, weak: bool = False) -> Upright:
    """What was found, not sure where the object can lie on the file's own floor another way.

    weak  it was found by mere habit: then how it stands on that floor is the likelier of the two
    """
    near = None if seen.floor is None else _near(seen, seen.floor)
    if seen.floor is None or not found.sure or near is None:
        return found
    if _dot(found.up, seen.floor) > np.cos(np.radians(_FLOOR_DEG)):
        return found
    if weak and seen.rests[near].tip_angle_deg >= STOOD_TIP_DEG:
        return Upright(seen.rests[near].up, f"a guess (it stands on the file's own floor, but {found.reason}): please "
                       "say which way is up", False, seen.rests[near])
    return Upright(found.up, f"a guess ({found.reason}, but the file's own floor lies elsewhere): please say which way "
                   "is up", False, found.rest)


def _told(seen: Evidence, k: int, reason: str) -> Upright:
    """Return a way up that the evidence tells, but ask where a flat thing merely lies on its face."""
    rest = seen.rests[k]
    if abs(_dot(rest.up, seen.extents.axes[2])) > 0.9 and seen.flat and seen.mouth(rest.up) < _DISH_SHARE:
        return Upright(rest.up, f"a guess ({reason}, but flat things are mostly shown standing): please say which edge "
                       "is up", False, rest)
    return Upright(rest.up, reason, True, rest)


def _would_do(seen: Evidence, k: int) -> bool:
    base = seen.bases[k]
    steady = base.lying and (seen.flat or seen.stated_axis is not None)
    if _on_its_mouth(seen, k):
        return False
    return base.clear or base.on_feet or steady or _round_about(seen, k)


def _round_about(seen: Evidence, k: int) -> bool:
    """Whether it stands, however unevenly, with a body that is round about the vertical: a pot, nothing laid down."""
    rest = seen.rests[k]
    return rest.tip_angle_deg >= _ROUND_TIP_DEG and seen.roundness(rest.up) > VESSEL_SHARE


def _on_its_mouth(seen: Evidence, k: int) -> bool:
    """Whether a rest stands a vessel on its mouth while it could stand on its foot."""
    other = _near(seen, tuple(-u for u in seen.rests[k].up))
    if other is None or not seen.bases[other].clear or seen.mouth(seen.rests[k].up) >= -_MOUTH_SHARE:
        return False
    # A bell or a thimble has a small crown that it would hardly be stood on: then it is no vessel, or cannot be told.
    up, over = seen.rests[other].tip_angle_deg, seen.rests[k].tip_angle_deg
    return up >= _FOOT_TIP_DEG or up >= _FOOT_RATIO * over


def _by_base(seen: Evidence) -> Upright | None:
    clear = [k for k, base in enumerate(seen.bases) if base.clear and not _on_its_mouth(seen, k)]
    if len(clear) == 1 and not (_lies_as_well_turned_over(seen, clear[0]) or _headlong(seen, clear[0])
                                or _ends_alike(seen, clear[0])):
        kind = seen.bases[clear[0]].footprint.kind
        return _told(seen, clear[0], f"it stands on {_BASES[kind]}, and on nothing else")
    if len(clear) == 2 and (wide := _wider_end(seen, clear)) is not None and not _headlong(seen, wide):
        return _told(seen, wide, "it stands on the wider of its two ends")
    if seen.axis is not None:
        along = [k for k in clear if abs(_dot(seen.rests[k].up, seen.axis.direction)) > np.cos(np.radians(SNAP_DEG))]
        if len(along) == 1 and not _headlong(seen, along[0]) and not _ends_alike(seen, along[0]):
            return _told(seen, along[0], "its axis of revolution, on the base that lies across it")
    return None


def _wider_end(seen: Evidence, two: Sequence[int]) -> int | None:
    """Return the much steadier of two opposite bases of a body without a mouth: weights, bottles, plinths."""
    first, second = (seen.rests[k] for k in two)
    if _dot(first.up, second.up) > -0.98 or abs(seen.mouth(first.up)) > _MOUTH_SHARE:
        return None
    wide, narrow = (two[0], two[1]) if first.tip_angle_deg > second.tip_angle_deg else (two[1], two[0])
    ratio = seen.rests[wide].tip_angle_deg / max(seen.rests[narrow].tip_angle_deg, 1e-9)
    return wide if ratio >= _WIDER_RATIO else None


def _ends_alike(seen: Evidence, k: int) -> bool:
    """Whether a body without a mouth stands nearly as well turned over: a can, a drum."""
    other = _near(seen, tuple(-u for u in seen.rests[k].up))
    if other is None or abs(seen.mouth(seen.rests[k].up)) > _MOUTH_SHARE:
        return False
    return seen.rests[other].tip_angle_deg > _ALIKE_TIP_RATIO * seen.rests[k].tip_angle_deg


def _headlong(seen: Evidence, k: int) -> bool:
    """Whether a rest has the file's up axis pointing down: hardly anything is scanned or drawn on its head."""
    names = [seen.stated_axis] if seen.stated_axis else ["y", "z"]
    return any(_dot(seen.rests[k].up, _AXES[name]) < -np.cos(np.radians(SNAP_DEG)) for name in names)


def _lies_as_well_turned_over(seen: Evidence, k: int) -> bool:
    """Whether a flat thing could just as well lie on its other face."""
    if not seen.flat:
        return False
    other = _near(seen, tuple(-u for u in seen.rests[k].up))
    return other is not None and seen.bases[other].lying


def _guess(seen: Evidence, rest_on: Callable[[Vec3], Rest]) -> Upright:
    """Return the best guess, which asks."""
    if seen.axis is not None and not any(base.clear for base in seen.bases):
        return _on_its_axis(seen.axis, rest_on)
    if seen.open_below is not None and not any(base.clear for base in seen.bases):
        rest = rest_on(seen.open_below)
        stands = rest if rest.tip_angle_deg > 1.0 else None
        if _as_filed(seen, seen.open_below) and rest.tip_angle_deg > STOOD_TIP_DEG and not (
                seen.flat or _laid_down(seen, seen.open_below)):
            return Upright(seen.open_below, "its flat underside was not scanned, and its file has that way up too",
                           True, rest)
        return Upright(seen.open_below, "a guess (a flat underside that was not scanned): please say which way is up",
                       False, stands)
    if seen.floor is not None and not any(base.clear for base in seen.bases) and not _laid_down(seen, seen.floor):
        rest = rest_on(seen.floor)
        if seen.plane is not None and _as_filed(seen, seen.floor) and not seen.flat:
            return Upright(seen.floor, "the file's own floor is below, and its mirror plane stands upright on it", True,
                           rest if rest.tip_angle_deg > 1.0 else None)
        return Upright(seen.floor, "a guess (no clear base, but the file's own floor): please say which way is up",
                       False, rest if rest.tip_angle_deg > 1.0 else None)
    standing = [k for k, rest in enumerate(seen.rests) if rest.tip_angle_deg > 0]
    standing = [k for k in standing if _plane_stands(seen, seen.rests[k].up)] or standing
    if standing:
        best = max(standing, key=lambda k: _plausible(seen, k))
        rest = seen.rests[best]
        many = sum(base.clear for base in seen.bases)
        why = f"{many} bases would do" if many > 1 else "no clear base"
        if rest.tip_angle_deg < _CLEAR_TIP_DEG and (axis := _filed_near(seen, rest.up)) is not None:
            return Upright(axis, f"a guess ({why}, but its file has that way up): please say which way is up", False,
                           None)
        return Upright(rest.up, f"a guess ({why}): please say which way is up", False, rest)
    up_axis = _AXES[seen.stated_axis or "y"]
    return Upright(up_axis, "a guess (it does not stand): please say which way is up", False, None)


def _on_its_axis(axis: Axis, rest_on: Callable[[Vec3], Rest]) -> Upright:
    """A turned body without a base stands along its axis, the heavier end down: a fruit, an egg, a flask."""
    up = np.asarray(axis.direction)
    up = up if rest_on(vec3(up)).height_mm <= rest_on(vec3(-up)).height_mm else -up
    rest = rest_on(vec3(up))
    return Upright(vec3(up), "a guess (along its axis of revolution, the heavier end down): please say which way is up",
                   False, rest if rest.tip_angle_deg > 1.0 else None)


def _plausible(seen: Evidence, k: int) -> tuple[float, ...]:
    rest, base = seen.rests[k], seen.bases[k]
    stated = max(_dot(rest.up, _AXES[n]) for n in ([seen.stated_axis] if seen.stated_axis else ["y", "z"]))
    near_axis = float(stated > np.cos(np.radians(SNAP_DEG)))
    on_axis = float(seen.axis is not None and abs(_dot(rest.up, seen.axis.direction)) > 0.98)
    mouth_down = float(_on_its_mouth(seen, k))
    stands = max(base.clear, base.on_feet, base.lying)
    return (stands + near_axis + on_axis - 2 * mouth_down, base.contact_share, rest.tip_angle_deg)


def _dot(a: Sequence[float] | F64, b: Sequence[float] | F64) -> float:
    return float(np.dot(a, b))


def hollow_seen(up: Vec3, skin_depth_mm: Callable[[F64], F64], height_mm: float) -> float:
    """Return how much deeper the hollow is seen from above than from below, over the height.

    skin_depth_mm  way of looking (unit, towards the object) -> for lines over the shadow, how far the skin lies behind
                   the convex hull, mm
    """
    above, below = skin_depth_mm(-np.asarray(up)), skin_depth_mm(np.asarray(up))
    return float(above.mean() - below.mean()) / height_mm if height_mm > 0 else 0.0
