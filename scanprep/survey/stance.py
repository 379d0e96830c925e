"""What a body's build says of the way it stands: its legs, its one mirror plane, its open back, its waist.

A figure or an animal is its own mirror image left to right, and only so: that plane stands upright. What ends below in
separate pieces and is one above stands on legs. What was scanned from one side alone and is shallower than that opening
is wide is a relief: the opening is its back. What is narrower in the middle than at both ends stands like a spool.
Legs and waist are counted on cells, in slices across the way up; legs thinner than a cell are not seen.
Takes the working mesh about any origin (mm) and its ray scene. Used by the survey.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from scanprep.rays import RayScene
from scanprep.scan.mesh import Cleaned, WorkingMesh
from scanprep.survey.records import MirrorPlane, Rest
from scanprep.survey.samples import skin_samples
from scanprep.vectors import F64, Vec3, unit, vec3

_CELLS = 36  # tolerance: along the longest extent: a leg of a twentieth of it is two cells thick
_SLICES = 20  # tolerance: of the height
_WITHIN_CELL = np.array([-0.375, -0.125, 0.125, 0.375])  # exact: a cell's own height, in quarters
_ASLANT = np.array([0.0131, 0.0271, 1.0])  # exact: a ray along no edge: inside where it crosses an odd number of skins
_LEAST_CELLS = 400  # tolerance: of a body; below it walls and legs fall through the grid
_LEAST_PIECE_SHARE = 0.03  # tolerance: of a slice: smaller is a splinter, a whisker; assumed
_MOST_PIECES = 8  # tolerance: legs of a scorpion; more is rough ground
_LEG_SHARE = 0.10  # tolerance: of the height, that legs are long at least; assumed
_LONGER_RATIO = 1.5  # tolerance: legs over what is parted at any other end (ears, horns, raised hands); assumed
_LEANS_COS = 0.3  # tolerance: a mirror plane stands upright within 17 deg
_SAME_COS, _APART_COS = 0.97, 0.87  # tolerance: within 14 deg: one way up; over 30 deg: another
_BROAD_SHARE = 0.5  # tolerance: of the greatest slice: an end so broad is a base, and two horns stand opposite it
_PLANE_RATIO, _SECOND_RATIO = 0.02, 0.015  # tolerance: misfit over the diagonal: one plane, and no second one; trial
_CLEARER_RATIO = 2.0  # tolerance: misfit of the second plane over the first's, for a guess to heed that; assumed
# tolerance: lowest slice over the mean of the next two; trial: feet 0.7 to 3, horns and hands below 0.5
_FOOT_RATIO = 0.6
# tolerance: size over the diagonal, and thickness over length, of an open underside; assumed
_OPEN_SHARE, _OPEN_FLAT = 0.2, 0.1
_RELIEF_SHARE = 0.25  # tolerance: of the surface, not scanned: a back; assumed
_RELIEF_RATIO = 0.75  # tolerance: depth behind an opening over its lesser width; assumed
_PLANE_SPOTS = 1500  # tolerance: all over the skin
_PLANE_DEG = 6.0  # tolerance: as far as a scan's flat sides waver; assumed
# tolerance: of the skin, flat across each of three directions square to each other, and across all; assumed
_PLANE_SHARE, _PLANES_SHARE = 0.06, 0.45
_ASLANT_DEG = 12.0  # tolerance: on a broken foot or a moulding it leans less; assumed
_WAIST_RATIO = 0.6  # tolerance: middle slice over the lesser of the two ends; assumed


@dataclass(frozen=True, slots=True)
class Legs:
    """In how many pieces an end begins, and over which share of the height."""

    share: float
    pieces: int


@dataclass(frozen=True, slots=True, eq=False)
class Bulk:
    """A body as the cells of a grid that lie inside it."""

    places_mm: F64  # (nx, ny, nz, 3)
    inside: NDArray[np.bool_]  # (nx, ny, nz)
    step_mm: float

    @classmethod
    def of(cls, skin: WorkingMesh, scene: RayScene) -> Bulk:
        """Count a closed skin; its origin near its middle."""
        low, size = skin.vertices_mm.min(axis=0), np.ptp(skin.vertices_mm, axis=0)
        step = float(size.max()) / _CELLS
        axes = [low[k] + step * (np.arange(int(np.ceil(size[k] / step)) + 1)) for k in range(3)]
        places = np.stack(np.meshgrid(*axes, indexing="ij"), axis=-1)
        inside = scene.crossings(places.reshape(-1, 3), _ASLANT).reshape(places.shape[:3]) % 2 == 1
        return cls(places, np.asarray(inside), step)

    def slices(self, up: F64) -> F64:
        """Return how much of the body lies in each slice across a way up, from the lowest on, in cells."""
        heights = (self.places_mm[self.inside] @ up)[:, None] + self.step_mm * _WITHIN_CELL
        return np.asarray(np.histogram(heights, bins=_SLICES)[0] / len(_WITHIN_CELL), dtype=np.float64)

    def legs(self, up: F64, plane: F64 | None) -> Legs:
        """Return in how many separate pieces a body begins below, and how far up.

        plane  normal of its mirror plane: legs then stand on both sides of it, none in it
        """
        from scipy.ndimage import label

        if np.count_nonzero(self.inside) < _LEAST_CELLS:
            return Legs(0.0, 1)
        heights = self.places_mm @ up
        within = heights[self.inside]
        low, high = float(within.min()), float(within.max())
        thick = max((high - low) / _SLICES, 1.8 * self.step_mm)
        aside = None if plane is None else (self.places_mm - self.places_mm[self.inside].mean(axis=0)) @ plane
        most, run = 1, 0
        for k in range(_SLICES // 2):
            start = low + (high - low) * k / _SLICES
            parts, _ = label(self.inside & (heights >= start) & (heights < start + thick), np.ones((3, 3, 3)))
            pieces = self._pieces(parts, aside)
            if pieces > 1:
                most, run = max(most, pieces), run + 1
            elif k > 0:  # one foot may reach a slice further down than the others
                break
        return Legs(run / _SLICES, most)

    def _pieces(self, parts: NDArray[np.int32], aside: F64 | None) -> int:
        """How many pieces of a slice can be legs: 1 where any of them cannot."""
        sizes = np.bincount(parts.ravel())[1:]
        large = 1 + np.flatnonzero(sizes > _LEAST_PIECE_SHARE * sizes.sum())
        if aside is None:
            return len(large) if 3 <= len(large) <= _MOST_PIECES else 1
        for number in large:
            reach = aside[parts == number]
            if min(-float(reach.min()), float(reach.max())) > self.step_mm:
                return 1  # it lies across the mirror plane
        return len(large) if len(large) <= _MOST_PIECES else 1

    def on_feet(self, up: F64) -> bool:
        """Whether what touches the ground is hardly thinner than what is above it: feet; horns and ears taper."""
        many = self.slices(up)
        return bool(many[0] > _FOOT_RATIO * many[1:3].mean())

    def broad_below(self, up: F64) -> bool:
        """Whether a body ends below in a broad base, as a bust does and a head of horns does not."""
        many = self.slices(up)
        return bool(many[:2].max() > _BROAD_SHARE * many.max())

    def waisted(self, up: F64) -> bool:
        """Whether it is narrower in the middle than at both ends: a spool, a stand, a capital."""
        if np.count_nonzero(self.inside) < _LEAST_CELLS:
            return False
        many = self.slices(up)
        third = _SLICES // 3
        return bool(many[third:-third].min() < _WAIST_RATIO * min(many[:third].max(), many[-third:].max()))


def own_planes(skin: WorkingMesh) -> F64 | None:
    """Return the three directions that a thing made square is flat across, (3, 3) rows; None where it is not.

    A box, a bracket, a machine part: such a thing stands on one of its planes, not on two of its edges.
    """
    _, normals = skin_samples(skin, _PLANE_SPOTS)
    along = np.abs(normals @ normals.T) > np.cos(np.radians(_PLANE_DEG))
    first = _flat_across(normals, along, np.ones(len(normals), dtype=bool))
    aside = np.abs(normals @ first) < np.sin(np.radians(2 * _PLANE_DEG))
    if not aside.any():
        return None
    second = _flat_across(normals, along, aside)
    second = second - float(second @ first) * first
    if np.linalg.norm(second) < np.cos(np.radians(4 * _PLANE_DEG)):
        return None
    second = unit(second)
    frame = np.stack([first, second, np.cross(first, second)])
    shares = (np.abs(normals @ frame.T) > np.cos(np.radians(_PLANE_DEG))).mean(axis=0)
    return frame if shares.min() > _PLANE_SHARE and shares.sum() > _PLANES_SHARE else None


def _flat_across(normals: F64, along: NDArray[np.bool_], of: NDArray[np.bool_]) -> F64:
    """The direction, of those allowed, that most of the skin is flat across."""
    here = np.flatnonzero(of)
    best = along[here[int(np.argmax(along[here].sum(axis=1)))]]
    return np.asarray(np.linalg.eigh(normals[best].T @ normals[best])[1][:, -1])


def aslant(up: Vec3, frame: F64 | None) -> bool:
    """Whether a way up leans from all planes of a thing made square."""
    return frame is not None and float(np.abs(frame @ np.asarray(up)).max()) < np.cos(np.radians(_ASLANT_DEG))


def one_plane(planes: Sequence[MirrorPlane]) -> MirrorPlane | None:
    """Return the only plane that a body is nearly its own mirror image in; None where there are two."""
    ranked = sorted(planes, key=lambda plane: plane.residual_ratio)
    if not ranked or ranked[0].residual_ratio > _PLANE_RATIO:
        return None
    if len(ranked) > 1 and ranked[1].residual_ratio < max(_SECOND_RATIO, 2 * ranked[0].residual_ratio):
        return None
    return ranked[0]


def clearest_plane(planes: Sequence[MirrorPlane]) -> MirrorPlane | None:
    """Return the plane that a body is far more nearly its own mirror image in than in any other."""
    ranked = sorted(planes, key=lambda plane: plane.residual_ratio)
    if not ranked or (len(ranked) > 1 and ranked[1].residual_ratio < _CLEARER_RATIO * ranked[0].residual_ratio):
        return None
    return ranked[0]


def legs_up(bulk: Bulk, rests: Sequence[Rest], axes: F64, plane: Vec3 | None) -> Vec3 | None:
    """Return the way up in which a body stands on legs; None where no end has them, or two ends might.

    rests  in which it stands steadily
    axes   (3, 3) its principal directions
    plane  normal of its one mirror plane: then it need not stand by itself, and two legs will do; else three
    """
    ways = [np.asarray(rest.up) for rest in rests]
    if plane is not None:
        rests = tuple(rest for rest in rests if abs(float(np.dot(rest.up, plane))) < _LEANS_COS)
        ways = [np.asarray(rest.up) for rest in rests]
        ways = [way for way in (*ways, *np.eye(3), *-np.eye(3), *axes, *-axes) if abs(float(way @ plane)) < _LEANS_COS]
    found: list[tuple[float, F64]] = []
    for k, up in enumerate(ways):
        if any(float(up @ other) > _SAME_COS for other in ways[:k]):
            continue
        legs = bulk.legs(up, None if plane is None else np.asarray(plane))
        if not bulk.on_feet(up):
            continue
        # opposite a broad end stand horns or ears, unless it is a stool, which stands on at least three
        if legs.pieces > 1 and not ((legs.pieces == 2 or k >= len(rests)) and bulk.broad_below(-up)):
            found.append((legs.share, up))
    found.sort(key=lambda pair: -pair[0])
    if not found or found[0][0] < _LEG_SHARE:
        return None
    best = found[0][1]
    apart = [share for share, up in found[1:] if float(up @ best) < _APART_COS]
    return vec3(best) if not apart or found[0][0] >= _LONGER_RATIO * apart[0] else None


def open_below(cleaned: Cleaned) -> Vec3 | None:
    """Return the way up that the largest flat opening speaks for, if it is an underside that was not scanned."""
    loops = [loop for loop in cleaned.loops if len(loop.points_mm) > 2]
    if not loops:
        return None
    points = max(loops, key=lambda loop: loop.area_mm2).points_mm
    size = float(np.linalg.norm(np.ptp(points, axis=0)))
    if size < _OPEN_SHARE * float(np.linalg.norm(np.ptp(cleaned.working.vertices_mm, axis=0))):
        return None
    _, spread, axes = np.linalg.svd(points - points.mean(axis=0), full_matrices=False)
    if spread[2] > _OPEN_FLAT * spread[0]:
        return None
    inside = cleaned.working.vertices_mm.mean(axis=0) - points.mean(axis=0)
    return vec3(axes[2] * (np.sign(axes[2] @ inside) or 1.0))


def relief_front(cleaned: Cleaned, skin_area_mm2: float) -> Vec3 | None:
    """Return the direction that the scanned side of a relief or mask looks in; None where it is none."""
    loops = [loop for loop in cleaned.loops if len(loop.points_mm) > 2]
    if not loops or sum(loop.area_mm2 for loop in loops) < _RELIEF_SHARE * skin_area_mm2:
        return None
    points = max(loops, key=lambda loop: loop.area_mm2).points_mm
    middle = points.mean(axis=0)
    _, _, axes = np.linalg.svd(points - middle, full_matrices=False)
    normal = unit(axes[2])
    body = cleaned.working.vertices_mm - middle
    forward = normal * (np.sign(float((body @ normal).mean())) or 1.0)
    width = float(np.ptp((points - middle) @ axes[1]))
    return vec3(forward) if float((body @ forward).max()) < _RELIEF_RATIO * width else None
