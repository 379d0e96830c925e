"""The best guess at a way up where no evidence is strong enough to be believed, which asks.

A turned body stands along its axis, heavier end down; what lies on its flank in the file stands with its mirror plane
upright; a thing made square stands on one of its planes; else the likeliest rest.
Takes what `evidence` gathers (scan axes, mm). Used by `upright`.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from scanprep.survey.evidence import (
    AXES,
    SNAP_DEG,
    STEADY_TIP_DEG,
    STOOD_TIP_DEG,
    Evidence,
    as_filed,
    cosine,
    filed_near,
    laid_down,
    plane_stands,
    plausible,
)
from scanprep.survey.records import Axis, Rest, Upright
from scanprep.survey.stance import aslant
from scanprep.vectors import F64, Vec3, unit, vec3

_EGG_RATIO = 0.9  # tolerance: middle over largest extent: rounder is a ball; assumed
_ON_END_COS = 0.8  # tolerance: within 37 deg of its length
_TRUE_COS, _LEANS_COS = 0.03, 0.3  # tolerance: within 2 deg a mirror plane is plumb; beyond 17 it is another way up
_ASIDE_COS = 0.5  # tolerance: over 60 deg from the way up: on its side


def best_guess(seen: Evidence, rest_on: Callable[[Vec3], Rest]) -> Upright:
    """Return the best guess, which asks."""
    if seen.axis is not None and not any(base.clear for base in seen.bases):
        return _on_its_axis(seen.axis, seen, rest_on)
    if seen.open_below is not None and not any(base.clear for base in seen.bases):
        below = _unbroken(seen, seen.open_below)
        rest = rest_on(below)
        stands = rest if rest.tip_angle_deg > 1.0 else None
        if as_filed(seen, seen.open_below) and rest.tip_angle_deg > STOOD_TIP_DEG and not (
                seen.flat or laid_down(seen, seen.open_below)):
            return Upright(seen.open_below, "its flat underside was not scanned, and its file has that way up too",
                           True, rest)
        return Upright(below, "a guess (a flat underside that was not scanned): please say which way is up",
                       False, stands)
    if seen.floor is not None and seen.plane is not None and not plane_stands(seen, seen.floor):
        return _off_its_flank(seen, seen.plane, rest_on)
    if seen.floor is not None and not any(base.clear for base in seen.bases) and not laid_down(seen, seen.floor):
        rest = rest_on(seen.floor)
        if seen.plane is not None and as_filed(seen, seen.floor) and not seen.flat:
            return Upright(seen.floor, "the file's own floor is below, and its mirror plane stands upright on it", True,
                           rest if rest.tip_angle_deg > 1.0 else None)
        return Upright(seen.floor, "a guess (no clear base, but the file's own floor): please say which way is up",
                       False, rest if rest.tip_angle_deg > 1.0 else None)
    standing = [k for k, rest in enumerate(seen.rests) if rest.tip_angle_deg > 0]
    standing = [k for k in standing if plane_stands(seen, seen.rests[k].up)] or standing
    if (likely := seen.likely) is not None:
        standing = [k for k in standing if abs(cosine(seen.rests[k].up, likely)) < _LEANS_COS] or standing
    square = [k for k in standing if not aslant(seen.rests[k].up, seen.square)]
    if standing and not square and seen.square is not None:
        return _on_its_planes(seen.square, seen, rest_on)
    if standing := square:
        best = max(standing, key=lambda k: plausible(seen, k))
        rest = seen.rests[best]
        many = sum(base.clear for base in seen.bases)
        why = f"{many} bases would do" if many > 1 else "a base, but not it alone" if many else "no clear base"
        if rest.tip_angle_deg < STEADY_TIP_DEG and (axis := filed_near(seen, rest.up)) is not None:
            return Upright(axis, f"a guess ({why}, but its file has that way up): please say which way is up", False,
                           None)
        return Upright(rest.up, f"a guess ({why}): please say which way is up", False, rest)
    up_axis = AXES[seen.stated_axis or "y"]
    return Upright(up_axis, "a guess (it does not stand): please say which way is up", False, None)


def _unbroken(seen: Evidence, below: Vec3) -> Vec3:
    """The way up from an underside, or the file's near it, where that is plumb and the underside broken aslant."""
    near = filed_near(seen, below)
    if seen.plane is None or near is None or abs(cosine(near, seen.plane)) > 0.5 * abs(cosine(below, seen.plane)):
        return below
    return near if abs(cosine(below, seen.plane)) > _TRUE_COS else below


def _off_its_flank(seen: Evidence, plane: Vec3, rest_on: Callable[[Vec3], Rest]) -> Upright:
    """What lies on its flank in its file stands with its mirror plane upright: on a base there, else on end."""
    said = "a guess (it lies on its flank in the file; its mirror plane upright): please say which way is up"
    stands = [k for k, base in enumerate(seen.bases)
              if (base.clear or base.on_feet) and plane_stands(seen, seen.rests[k].up)]
    if stands:
        rest = seen.rests[max(stands, key=lambda k: plausible(seen, k))]
        return Upright(rest.up, said, False, rest)
    on_end = [rest for rest in seen.rests if rest.tip_angle_deg > STEADY_TIP_DEG and plane_stands(seen, rest.up)
              and abs(cosine(rest.up, seen.extents.axes[0])) > _ON_END_COS]
    if on_end:
        rest = max(on_end, key=lambda one: one.tip_angle_deg)
        return Upright(rest.up, said, False, rest)
    normal = np.asarray(plane)
    longest = seen.extents.axes[0] if abs(float(seen.extents.axes[0] @ normal)) < _ASIDE_COS else seen.extents.axes[1]
    way = unit(longest - float(longest @ normal) * normal)
    ends = sorted((rest_on(vec3(end)) for end in (way, -way)), key=lambda rest: rest.height_mm)
    return Upright(ends[0].up, said, False, None)


def _on_its_planes(square: F64, seen: Evidence, rest_on: Callable[[Vec3], Rest]) -> Upright:
    """A thing made square that comes to lie on its edges alone is shown on one of its planes: as its file has it."""
    filed = [AXES[name] for name in ([seen.stated_axis] if seen.stated_axis else ["y", "z"])]
    ways = [vec3(sign * row) for row in square for sign in (1.0, -1.0)]
    ways = [way for way in ways if plane_stands(seen, way)] or ways
    rests = [rest_on(way) for way in ways]
    best = max(range(len(ways)), key=lambda k: (max(cosine(ways[k], axis) for axis in filed) > np.cos(np.radians(
        SNAP_DEG)), rests[k].tip_angle_deg, rests[k].area_mm2))
    stands = rests[best] if rests[best].tip_angle_deg > 1.0 else None
    return Upright(ways[best], "a guess (square to its own planes): please say which way is up", False, stands)


def _on_its_axis(axis: Axis, seen: Evidence, rest_on: Callable[[Vec3], Rest]) -> Upright:
    """A turned body without a base stands along its axis, the heavier end down, as a fruit or a flask; an egg lies."""
    if seen.convex and seen.extents.slenderness_ratio < _EGG_RATIO:
        filed = [AXES[name] for name in ([seen.stated_axis] if seen.stated_axis else ["y", "z"])]
        across = min(filed, key=lambda way: abs(cosine(way, axis.direction)))
        level = vec3(unit(np.asarray(across) - cosine(across, axis.direction) * np.asarray(axis.direction)))
        return Upright(level, "a guess (an egg, a nut: round, swelling all over, without a base: it lies): please say "
                       "which way is up", False, None)
    up = np.asarray(axis.direction)
    up = up if rest_on(vec3(up)).height_mm <= rest_on(vec3(-up)).height_mm else -up
    rest = rest_on(vec3(up))
    return Upright(vec3(up), "a guess (along its axis of revolution, the heavier end down): please say which way is up",
                   False, rest if rest.tip_angle_deg > 1.0 else None)
