"""Which way up an object belongs, told by evidence in a stated order, or asked.

The likeliest rest is mostly the wrong answer: cups and figures come to lie on their side when thrown. So people's word
goes first, then the table it stood on when it was scanned, then the file's up axis where a base lies there, then a
clear base, then an axis of revolution; a vessel's mouth tells its two ends apart; then legs. A body's one mirror plane
stands upright: what says otherwise is not believed alone. Where more than one way is left, the best guess is marked as
not sure, and asks; two pieces of thin evidence that agree are believed.
Takes rests and bases (scan axes, mm). Used by the survey.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np

from scanprep.survey.evidence import (
    AXES,
    FLOOR_DEG,
    PLUMB_DEG,
    SNAP_DEG,
    STOOD_TIP_DEG,
    VESSEL_SHARE,
    Evidence,
    as_filed,
    cosine,
    drum_like,
    ends_alike,
    headlong,
    laid_down,
    lies_as_well_turned_over,
    nearest_rest,
    on_its_mouth,
    plane_stands,
    plausible,
    round_about,
    wider_end,
    would_do,
)
from scanprep.survey.guess import best_guess
from scanprep.survey.records import Rest, Upright
from scanprep.vectors import F64, Vec3, unit, vec3

_BASES = {"flat": "a flat base", "ring": "a foot ring", "feet": "level feet"}
_DISH_SHARE = 0.2  # tolerance: the same for a flat thing to be a dish, not a coin with a raised border; assumed
_SAME_COS = 0.95  # tolerance: within 18 deg: one choice, not two
_TRUE_COS, _LEANS_COS = 0.03, 0.3  # tolerance: within 2 deg a mirror plane is plumb; beyond 17 it is another way up
_LEVEL_COS = 0.3  # tolerance: within 17 deg of square
_ASIDE_COS = 0.5  # tolerance: over 60 deg from the way up: on its side
_TROUGH_SHARE = 0.3  # tolerance: hollow seen from above less from below, over the height: a box, a trough; assumed
_MOST_WAYS = 6  # layout: ways up that a person is asked about


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
    return _plumb(_against_mouth(_by_evidence(seen, rest_on), seen), seen, rest_on)


def _plumb(found: Upright, seen: Evidence, rest_on: Callable[[Vec3], Rest]) -> Upright:
    """What was found, its one mirror plane made plumb, unless it stands on a clear base: a broken neck leans aside."""
    if seen.plane is None or any(rest is found.rest and (base.clear or base.on_feet)
                                 for rest, base in zip(seen.rests, seen.bases, strict=True)):
        return found
    off = cosine(found.up, seen.plane)
    if not _TRUE_COS < abs(off) < _LEANS_COS:
        return found
    up = vec3(unit(np.asarray(found.up) - off * np.asarray(seen.plane)))
    rest = None if found.rest is None else rest_on(up)
    if rest is not None and rest.tip_angle_deg <= 1.0:
        return found
    return replace(found, up=up, rest=rest)


def _by_evidence(seen: Evidence, rest_on: Callable[[Vec3], Rest]) -> Upright:
    """The way up by the file's axis, a base, the file's floor, legs; else a guess."""
    if (found := _by_file_axis(seen, rest_on)) is not None:
        return _against_build(_against_floor(found, seen, weak=seen.stated_axis is None), seen, rest_on)
    if (found := _by_base(seen)) is not None:
        habit = seen.floor in (AXES["y"], AXES["z"])  # two things speak for that floor
        return _against_build(_against_floor(found, seen, weak=habit), seen, rest_on)
    if (found := _by_floor(seen)) is not None:
        return _against_build(found, seen, rest_on)
    if (found := _by_legs(seen, rest_on)) is not None:
        return found
    return best_guess(seen, rest_on)


def ways_up(seen: Evidence, upright: Upright) -> tuple[Vec3, ...]:
    """Return other ways up that something speaks for, likeliest first; none that is nearly the same as another."""
    stands = sorted((k for k, base in enumerate(seen.bases) if base.clear or base.on_feet or base.lying),
                    key=lambda k: plausible(seen, k), reverse=True)
    axes = [seen.axis.direction] if seen.axis is not None else []
    ways = [way for way in (seen.floor, seen.open_below) if way is not None]
    ways += [vec3(sign * np.asarray(axis)) for axis in axes for sign in (1.0, -1.0)]
    ways += [*(seen.rests[k].up for k in stands), vec3(-np.asarray(upright.up)), *_in_plane(seen)]
    ways += [AXES[name] for name in ("y", "z") if plane_stands(seen, AXES[name])]
    ways[len(ways) - 1:len(ways) - 1] = [] if stands else _in_plane(seen, halfway=True)  # before the second of the two
    ways += [vec3(sign * row) for row in seen.extents.axes for sign in (1.0, -1.0)]
    kept: list[Vec3] = [upright.up]
    for way in ways:
        if all(cosine(way, other) < _SAME_COS for other in kept):
            kept.append(way)
    return tuple(kept[1:1 + _MOST_WAYS])


def _in_plane(seen: Evidence, *, halfway: bool = False) -> list[Vec3]:
    """The ways up that keep the one mirror plane upright: along it and across, both ends; or halfway between those."""
    if seen.plane is None:
        return []
    normal = np.asarray(seen.plane)
    flat = [axis - float(axis @ normal) * normal for axis in seen.extents.axes]
    along = unit(max(flat, key=lambda way: float(np.linalg.norm(way))))
    across = np.cross(normal, along)
    if halfway:
        along, across = unit(along + across), unit(along - across)
    return [vec3(sign * way) for way in (along, across) for sign in (1.0, -1.0)]


def _as_asked(asked: Vec3, seen: Evidence, rest_on: Callable[[Vec3], Rest]) -> Upright:
    near = nearest_rest(seen, asked)
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
    near = nearest_rest(seen, tuple(-d for d in seen.stood.down))
    if near is None or seen.rests[near].tip_angle_deg < STOOD_TIP_DEG:
        return None
    if on_its_mouth(seen, near) and seen.roundness(seen.rests[near].up) > VESSEL_SHARE:
        return None  # a vessel turned over to scan its foot; a stool is hollow below too, but not round
    if seen.stood.seen:
        return _told(seen, near, "it stood so on the table, of which a piece was scanned")
    # An open mouth looks like an unseen underside: then a base is at the other end, or the file's axis points down
    other = nearest_rest(seen, seen.stood.down)
    turned = other is not None and (seen.bases[other].clear or seen.bases[other].on_feet)
    if turned or headlong(seen, near) or not (seen.bases[near].clear or seen.bases[near].on_feet
                                               or round_about(seen, near)):
        return None
    return _told(seen, near, "its underside was not seen: it stood on it when it was scanned")


def _by_file_axis(seen: Evidence, rest_on: Callable[[Vec3], Rest]) -> Upright | None:
    names = [seen.stated_axis] if seen.stated_axis else ["y", "z"]
    found = [(name, near) for name in names
             if (near := nearest_rest(seen, AXES[name])) is not None and would_do(seen, near)]
    if len(found) != 1:
        return None
    name, near = found[0]
    base = seen.bases[near]
    off = cosine(seen.rests[near].up, AXES[name]) < np.cos(np.radians(PLUMB_DEG))
    if off and seen.stated_axis is None and (base.clear or base.on_feet):
        return None  # what stands level has its file's axis plumb, if that means anything
    shape = _BASES[base.footprint.kind] if base.clear or base.on_feet else (
        "a side it lies on steadily" if base.lying else "a round body that stands")
    said = f"the file has {name} up" if seen.stated_axis else f"files mostly have y or z up, and this one has {name}"
    told = _told(seen, near, f"{said}, and there is {shape}")
    if base.clear or base.on_feet or base.lying or not told.sure:
        return told
    rest = rest_on(AXES[name])  # its foot is broken or was never level: the file's axis is plumb
    return replace(told, up=rest.up, rest=rest if rest.tip_angle_deg > 1.0 else None)


def _by_floor(seen: Evidence) -> Upright | None:
    """The way it stands on the file's own floor; a body of revolution that lies there, and a flat thing, still ask."""
    near = None if seen.floor is None else nearest_rest(seen, seen.floor)
    if near is None or seen.rests[near].tip_angle_deg <= 0:
        return None
    if laid_down(seen, seen.rests[near].up):
        return None
    if on_its_mouth(seen, near) and seen.roundness(seen.rests[near].up) > VESSEL_SHARE:
        return None  # a vessel set down on its rim
    return _told(seen, near, "it stands on the file's own floor")


def _by_legs(seen: Evidence, rest_on: Callable[[Vec3], Rest]) -> Upright | None:
    """The way it stands on its legs; sure where the file's habit says the same."""
    up = None if seen.axis is not None else seen.legs()
    if up is None:
        return None
    near = nearest_rest(seen, up)
    rest = rest_on(up) if near is None else seen.rests[near]
    if seen.roundness(rest.up) > VESSEL_SHARE:
        return None  # what stands round the rim of a vessel, turned over
    up, stands = rest.up, rest if rest.tip_angle_deg > 1.0 else None
    if as_filed(seen, up):
        return Upright(up, "it stands on its legs, and its file has that way up too", True, stands)
    return Upright(up, "a guess (it seems to stand on legs): please say which way is up", False, stands)


def _upright_relief(seen: Evidence, front: Vec3) -> Upright:
    """What is up on a relief or mask: its own mirror axis, else y or z of its file, where that is level with it."""
    names = [seen.stated_axis] if seen.stated_axis else ["y", "z"]
    ways = sorted((AXES[name] for name in names), key=lambda way: abs(cosine(way, front)))
    across = unit(np.asarray(ways[0]) - cosine(ways[0], front) * np.asarray(front))
    if seen.mask is not None and seen.mask.told:
        across = np.asarray(seen.mask.upright)
    elif seen.mask is not None:
        across = _towards(np.asarray(seen.mask.upright), across)
    elif seen.plane is not None and abs(cosine(seen.plane, front)) < _LEVEL_COS:
        across = _towards(unit(np.cross(seen.plane, front)), across)
    return Upright(vec3(across), "a guess (a relief or mask): please say which way is up", False, None)


def _towards(axis: F64, way: F64) -> F64:
    """An axis in the sense of a direction."""
    return -axis if float(axis @ way) < 0 else axis


def _against_build(found: Upright, seen: Evidence, rest_on: Callable[[Vec3], Rest]) -> Upright:
    """What was found, not sure where the body's one mirror plane would lie, or where its legs point another way."""
    if not found.sure or seen.axis is not None:
        return found
    if not plane_stands(seen, found.up):
        return replace(found, sure=False, reason=f"a guess ({found.reason}, but its mirror plane would not stand "
                       "upright): please say which way is up")
    if any(rest is found.rest and base.on_feet for rest, base in zip(seen.rests, seen.bases, strict=True)):
        return found
    if seen.roundness(found.up) > VESSEL_SHARE:
        return found  # the walls of a pot laid on its side are no legs
    legs = _by_legs(seen, rest_on)
    if legs is None or cosine(legs.up, found.up) > np.cos(np.radians(FLOOR_DEG)):
        return found
    if seen.plane is not None:
        return replace(legs, sure=False, reason=f"a guess (it seems to stand on legs, but {found.reason}): please say "
                       "which way is up")
    return replace(found, sure=False, reason=f"a guess ({found.reason}, but legs seem to point another way): please "
                   "say which way is up")


def _against_floor(found: Upright, seen: Evidence, *, weak: bool = False) -> Upright:
    """What was found, not sure where the object can lie on the file's own floor another way.

    weak  it was found by mere habit: then how it stands on that floor is the likelier of the two
    """
    near = None if seen.floor is None else nearest_rest(seen, seen.floor)
    if seen.floor is None or not found.sure or near is None:
        return found
    if cosine(found.up, seen.floor) > np.cos(np.radians(FLOOR_DEG)):
        return found
    if weak and seen.rests[near].tip_angle_deg >= STOOD_TIP_DEG:
        return Upright(seen.rests[near].up, f"a guess (it stands on the file's own floor, but {found.reason}): please "
                       "say which way is up", False, seen.rests[near])
    return Upright(found.up, f"a guess ({found.reason}, but the file's own floor lies elsewhere): please say which way "
                   "is up", False, found.rest)


def _against_mouth(found: Upright, seen: Evidence) -> Upright:
    """What was found, not sure where a box or trough would lie on its side: it stands mouth up, on its foot."""
    deep = [(seen.mouth(rest.up), rest) for rest, base in zip(seen.rests, seen.bases, strict=True)
            if (base.clear or base.on_feet) and abs(cosine(rest.up, found.up)) < _ASIDE_COS] if not seen.flat else []
    deepest, rest = max(deep, key=lambda pair: pair[0], default=(0.0, None))
    if rest is None or deepest < _TROUGH_SHARE:
        return found
    said = found.reason.removeprefix("a guess (").removesuffix("): please say which way is up")
    return Upright(rest.up, f"a guess (its mouth is up so, but {said}): please say which way is up", False, rest)


def _told(seen: Evidence, k: int, reason: str) -> Upright:
    """Return a way up that the evidence tells, but ask where a flat thing merely lies on its face."""
    rest = seen.rests[k]
    if abs(cosine(rest.up, seen.extents.axes[2])) > 0.9 and seen.flat and seen.mouth(rest.up) < _DISH_SHARE:
        return Upright(rest.up, f"a guess ({reason}, but flat things are mostly shown standing): please say which edge "
                       "is up", False, rest)
    if seen.stood is None and drum_like(seen, k):
        return Upright(rest.up, f"a guess ({reason}, but its closed end is its broadest part, as of a drum on its "
                       "skin): please say which way is up", False, rest)
    return Upright(rest.up, reason, True, rest)


def _by_base(seen: Evidence) -> Upright | None:
    clear = [k for k, base in enumerate(seen.bases) if base.clear and not on_its_mouth(seen, k)]
    if len(clear) == 1 and not (lies_as_well_turned_over(seen, clear[0]) or headlong(seen, clear[0])
                                or ends_alike(seen, clear[0])):
        kind = seen.bases[clear[0]].footprint.kind
        return _told(seen, clear[0], f"it stands on {_BASES[kind]}, and on nothing else")
    if len(clear) == 2 and (wide := wider_end(seen, clear)) is not None and not headlong(seen, wide):
        return _told(seen, wide, "it stands on the wider of its two ends")
    if seen.axis is not None:
        along = [k for k in clear if abs(cosine(seen.rests[k].up, seen.axis.direction)) > np.cos(np.radians(SNAP_DEG))]
        if len(along) == 1 and not headlong(seen, along[0]) and not ends_alike(seen, along[0]):
            return _told(seen, along[0], "its axis of revolution, on the base that lies across it")
    return None
