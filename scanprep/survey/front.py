"""Which side faces the viewer, by evidence: the checklist, a flat thing's face, a mirror plane, detail, the file.

A figure's front lies in its mirror plane; of the two sides, and where there is no plane of all sides, the one with more
going on (carving: normals that change; painting: colours that change) is shown.
Takes the working mesh (scan axes, mm) and the way up; gives a unit direction, level when upright. Used by the survey.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from scanprep.scan.mesh import WorkingMesh
from scanprep.survey.records import Axis, MirrorPlane
from scanprep.survey.samples import skin_samples
from scanprep.survey.shape import Extents
from scanprep.vectors import F64, Vec3, unit, vec3

FLAT_RATIO = 0.5  # least over middle extent below which a thing has a face; assumed
_HANDLE_RATIO = 1.15  # how far a handle reaches, over the body's radius and over the opposite side's reach; assumed
_CLEARER_RATIO = 1.5  # misfit of the next mirror plane over the best one's, for that to count alone; assumed
_TELLS_RATIO = 1.15  # how much more detail one side must have than its back to be called the front; assumed


@dataclass(frozen=True, slots=True)
class Front:
    """The side for the viewer and why."""

    direction: Vec3
    reason: str


def choose_front(asked: Vec3 | None, up: Vec3, skin: WorkingMesh, extents: Extents, mirrors: Sequence[MirrorPlane],
                 axis: Axis | None, vessel_mm: F64 | None) -> Front:
    """Return the front, level when upright.

    vessel_mm  a point on the axis of a round body that may carry something at its side, such as a jug; else None
    """
    upward = np.asarray(up)
    if asked is not None and (level := _level(np.asarray(asked, dtype=np.float64), upward)) is not None:
        return Front(vec3(level), "the checklist says so")
    face = _level(extents.axes[2], upward) if abs(float(extents.axes[2] @ upward)) < 0.35 else None
    detail = Detail.of(skin)
    if face is not None and extents.flatness_ratio < FLAT_RATIO:
        return _of_two(face, detail, "its broad face", upward)
    side, two = (None, False) if axis is not None or vessel_mm is None else \
        _what_stands_out(skin, upward, mirrors, vessel_mm)
    if side is not None and two:
        return _of_two(np.cross(side, upward), detail, "a round body with its two lugs or handles to the sides", upward)
    if side is not None:
        return Front(vec3(np.cross(side, upward)), "a round body: what stands out of it (handle, spout) to the "
                     "viewer's right")
    planes = [plane for plane in mirrors if abs(float(np.dot(plane.normal, up))) < 0.2]
    alone = len(planes) == 1 or (
        len(planes) > 1 and planes[1].residual_ratio > _CLEARER_RATIO * planes[0].residual_ratio)
    if axis is None and alone:
        forward = _level(np.cross(upward, np.asarray(planes[0].normal)), upward)
        if forward is not None:
            return _of_two(forward, detail, "in its mirror plane", upward)
    around = _around(upward, 24)
    amounts = np.array([detail.seen_from(way) for way in around])
    best = int(np.argmax(amounts))
    if amounts[best] > _TELLS_RATIO * max(float(amounts[(best + 12) % 24]), 1e-12):
        return Front(vec3(around[best]), "the side with most detail")
    return Front(vec3(_file_front(upward)), "nothing tells front from back: the file's own front")


def _what_stands_out(skin: WorkingMesh, up: F64, mirrors: Sequence[MirrorPlane], middle_mm: F64
                     ) -> tuple[F64 | None, bool]:
    """Return the level direction in which a round body is overreached, None where nothing stands out; and whether as
    much stands out on the other side."""
    points, _ = skin_samples(skin, 1500)
    level = points - middle_mm
    level = level - np.outer(level @ up, up)
    radii = np.linalg.norm(level, axis=1)
    far = level[int(np.argmax(radii))]
    along = level @ unit(far)
    body, opposite = float(np.quantile(radii, 0.8)), float(-along.min())
    if radii.max() < _HANDLE_RATIO * body:
        return None, False
    across = float(np.abs(level @ np.cross(up, unit(far))).max())
    two = radii.max() < _HANDLE_RATIO * opposite
    if two and across * _HANDLE_RATIO > radii.max():
        return None, False  # as much on every side: a plinth's corners
    for plane in mirrors:
        normal = np.asarray(plane.normal)
        # A handle lies in the mirror plane, unless two stand on both sides of it
        if abs(float(normal @ up)) < 0.2 and abs(float(normal @ unit(far))) < 0.5:
            within = far - (far @ normal) * normal
            return _level(within, up), two
        if two and abs(float(normal @ unit(far))) > 0.87:
            return _level(normal if normal @ far > 0 else -normal, up), two
    return _level(far, up), two


def _of_two(way: F64, detail: Detail, what: str, up: F64) -> Front:
    ahead, behind = detail.seen_from(way), detail.seen_from(-way)
    if ahead > _TELLS_RATIO * behind or behind > _TELLS_RATIO * ahead:
        return Front(vec3(way if ahead > behind else -way), f"{what}, on the side with more detail")
    forward = way if float(way @ _file_front(up)) >= 0 else -way
    return Front(vec3(forward), f"{what}; which of its two sides is a guess (the file's own front)")


def _level(way: F64, up: F64) -> F64 | None:
    flat = way - (way @ up) * up
    return unit(flat) if np.linalg.norm(flat) > 0.2 * np.linalg.norm(way) else None


def _file_front(up: F64) -> F64:
    """The viewer's side by common practice in modelling programs: +z where y is up, -y where z is up."""
    for way in (np.array([0.0, 0.0, 1.0]), np.array([0.0, -1.0, 0.0]), np.array([1.0, 0.0, 0.0])):
        if (level := _level(way, up)) is not None and abs(float(way @ up)) < 0.8:
            return level
    raise ValueError("a direction that is level with nothing has no length")


def _around(up: F64, count: int) -> F64:
    first = _file_front(up)
    second = np.cross(up, first)
    turn = 2 * np.pi * np.arange(count) / count
    return np.asarray(np.outer(np.cos(turn), first) + np.outer(np.sin(turn), second), dtype=np.float64)


@dataclass(frozen=True, slots=True, eq=False)
class Detail:
    """How much goes on at spots of the skin."""

    normals: F64  # (n, 3)
    amount: F64  # (n,) change of normal and colour against the neighbours

    @classmethod
    def of(cls, skin: WorkingMesh) -> Detail:
        """Measure 1500 spots against their eight nearest."""
        from scipy.spatial import cKDTree

        points, normals = skin_samples(skin, 1500)
        near = cKDTree(points).query(points, k=9)[1][:, 1:]
        change = 1 - np.einsum("ij,ikj->ik", normals, normals[near]).mean(axis=1)
        if skin.has_colour:
            nearest = cKDTree(skin.vertices_mm).query(points)[1]
            shade = skin.colours[nearest].astype(np.float64).mean(axis=1) / 255
            change = change + 2 * np.abs(shade[:, None] - shade[near]).mean(axis=1)
        return cls(normals, change)

    def seen_from(self, way: F64) -> float:
        """Return the detail that faces a viewer who stands in a direction."""
        return float((np.clip(self.normals @ way, 0, None) * self.amount).sum())
