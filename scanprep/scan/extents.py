"""What a person's tape measure would read on a scan: the lengths that a known size may stand for.

A height is along the way up; width and depth are level; a diameter is the least level width (a handle only adds to the
others). Where the way up or the front is not known there are several candidates, and the caller must say which it took.
Lengths in the scan's own units. Used by `scale`.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from scanprep.brief import KnownSize
from scanprep.vectors import F64, Vec3, unit

_AXES = {"x": 0, "y": 1, "z": 2}  # exact: the letters of the axes


@dataclass(frozen=True, slots=True)
class Length:
    """One candidate reading."""

    value: float
    along: str  # "the way up", "the scan's y axis"
    sure: bool  # whether it is what the word means, not a choice among directions


def box_sides(points: F64) -> F64:
    """Return how far points (n, 3) reach along each axis: column by column, twenty times quicker than all at once."""
    return np.array([np.ptp(points[:, k]) for k in range(points.shape[1])])


def readings(
    size: KnownSize, points: F64, up: tuple[F64, str] | None, front: Vec3 | None
) -> list[Length]:
    """Return the lengths a known size may stand for, the likeliest first.

    points  (n, 3) of the object, the scan's own units
    up      unit way up and how it is known ("" where the checklist says so); None where nothing says
    front   as the checklist says, else None
    """
    if size.kind == "distance" and size.points is not None:
        a, b = np.asarray(size.points[0]), np.asarray(size.points[1])
        return [Length(float(np.linalg.norm(a - b)), "the two picked points", True)]
    hull = hull_points(points)
    if size.kind == "longest":
        return [Length(_longest_side(hull), "its longest side", True),
                Length(_farthest(hull), "its two farthest points", False)]
    axes = [Length(float(np.ptp(points[:, i])), f"the scan's {name} axis", False) for name, i in _AXES.items()]
    if up is None:
        return sorted(axes, key=lambda each: -each.value)
    way, why = up
    if size.kind == "height":
        likely = [Length(float(np.ptp(hull @ way)), "the way up", True)]
    else:
        likely = _level(size.kind, hull, way, front)
    if not why:
        return likely
    # Evidence is not a word about this object: the scan's own axes stay possible
    return [Length(each.value, f"{each.along} ({why})", each.sure) for each in likely] + axes


def hull_points(points: F64) -> F64:
    """Return the corners of the convex hull; the points themselves where they are flat."""
    from scipy.spatial import ConvexHull, QhullError

    try:
        return np.asarray(points[ConvexHull(points).vertices], dtype=np.float64)
    except (QhullError, ValueError):
        return points


def _level(kind: str, hull: F64, way: F64, front: Vec3 | None) -> list[Length]:
    """Width, depth or diameter, across the way up."""
    across = np.cross(way, np.eye(3)[int(np.argmin(np.abs(way)))])
    across /= np.linalg.norm(across)
    along = np.cross(way, across)
    flat = hull @ np.stack([across, along], axis=1)
    turns = np.radians(np.arange(0, 180, 1.0))
    spans = np.ptp(flat @ np.stack([np.cos(turns), np.sin(turns)]), axis=0)
    if kind == "diameter":
        return [Length(float(spans.min()), "its least level width", True),
                Length(float(spans.max()), "its greatest level width", False)]
    if front is not None:
        facing = np.asarray(front, dtype=np.float64)
        facing = unit(facing - (facing @ way) * way)
        direction = facing if kind == "depth" else np.cross(way, facing)
        return [Length(float(np.ptp(hull @ direction)), f"its {kind}", True)]
    box = int(np.argmin(spans[:90] * spans[90:]))
    sides = sorted([float(spans[box]), float(spans[box + 90])], reverse=kind == "width")
    own = sorted([float(spans[0]), float(spans[90])], reverse=kind == "width")
    names = ("its longer level side", "its shorter level side") if kind == "width" else \
        ("its shorter level side", "its longer level side")
    return [Length(sides[0], names[0], False), Length(own[0], names[0] + " along the scan's axes", False),
            Length(sides[1], names[1], False), Length(own[1], names[1] + " along the scan's axes", False)]


def _longest_side(hull: F64) -> float:
    """Longest side of the least box with one side along a hull direction, or along the scan's axes."""
    centred = hull - hull.mean(axis=0)
    _, axes = np.linalg.eigh(np.cov(centred.T))
    boxes = [np.ptp(centred, axis=0), np.ptp(centred @ axes, axis=0)]
    least = min(boxes, key=lambda box: float(np.prod(box)))
    return float(least.max())


def _farthest(hull: F64) -> float:
    some = hull[:: max(1, len(hull) // 1000)]
    return float(np.sqrt(((some[:, None] - some[None]) ** 2).sum(axis=2).max()))
