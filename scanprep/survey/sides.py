"""What an object shows from a side: how large, how detailed, how colourful, how its outline and its writing lie.

Evidence for how an object is shown. A printed or painted thing is more colourful on its front (contrast picks the fine
print on the back); lines of writing make rows that are uneven from row to row and even along them; straight edges lie
along the smallest rectangle round the outline.
Takes the working mesh about any origin (mm). Used by `survey.showing`.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from scanprep.rays import RayScene
from scanprep.scan.mesh import WorkingMesh
from scanprep.survey.samples import skin_samples
from scanprep.vectors import F64, Vec3, rotation_to, unit

_SPOTS, _NEAR = 1500, 9  # tolerance: points of a side, and neighbours compared
_CELLS = 40  # tolerance: a side's outline, over its longer edge
_ROW_CELLS = 64  # tolerance: a side's writing: finer than that a working mesh has no colours
OPENING_CELLS = 128  # tolerance: a side's openings: a hole of 4 mm in a pan 200 mm long
_SAME_COLOUR = 0.1  # tolerance: mean difference of a channel, 0..1, up to which two sides are painted alike; trial
_WALL_COS = 0.3  # tolerance: a face this square to the view is an edge of the outline
_EDGE_DEG = 4  # tolerance: edges this near a direction lie along it: what a scan's walls waver
_RIM_CELLS = 4  # tolerance: left out along the outline, where the light falls off
_LEAST_OPENING = 5  # tolerance: cells of an opening: smaller is a crack between two faces


@dataclass(frozen=True, slots=True, eq=False)
class Rectangle:
    """The smallest rectangle round an outline."""

    along: F64  # (2,) unit, its longer edge
    long_mm: float
    short_mm: float


@dataclass(frozen=True, slots=True, eq=False)
class Opening:
    """A hole that is looked through from a side."""

    middle_mm: F64  # (2,) to the right, up
    area_mm2: float
    reach_mm: float  # furthest edge from its middle


@dataclass(frozen=True, slots=True, eq=False)
class Openings:
    """What is looked through from a side, largest first, and the outline with those holes filled."""

    each: tuple[Opening, ...]
    outline_mm2: float
    body_mm: F64  # (2,) the middle of what is not open, to the right, up

    @property
    def share(self) -> float:
        """Of the filled outline, what is open."""
        return sum(one.area_mm2 for one in self.each) / max(self.outline_mm2, 1e-12)


def least_rectangle(points_mm: F64) -> Rectangle:
    """Return the smallest rectangle round points (n, 2).

    One of its edges lies along an edge of the convex hull (Freeman and Shapira, CACM 18(7), 1975).
    """
    from scipy.spatial import ConvexHull

    corners = points_mm[ConvexHull(points_mm).vertices]
    edges = unit(np.roll(corners, -1, axis=0) - corners)
    across = np.stack([-edges[:, 1], edges[:, 0]], axis=1)
    length, width = np.ptp(corners @ edges.T, axis=0), np.ptp(corners @ across.T, axis=0)
    best = int(np.argmin(length * width))
    if length[best] >= width[best]:
        return Rectangle(edges[best], float(length[best]), float(width[best]))
    return Rectangle(across[best], float(width[best]), float(length[best]))


@dataclass(frozen=True, slots=True, eq=False)
class Sides:
    """An object to be looked at from any side."""

    skin: WorkingMesh
    scene: RayScene  # of the same mesh
    spot_normals: F64  # (n, 3)
    spot_detail: F64  # (n,) how much normals and shades change between neighbouring spots
    normals: F64  # (m, 3) of every face, times its area
    saturation: F64 | None  # (m,) 0..1; None where the scan has no colours

    @classmethod
    def of(cls, skin: WorkingMesh, scene: RayScene) -> Sides:
        """Measure an object's skin."""
        from scipy.spatial import cKDTree

        points, normals = skin_samples(skin, _SPOTS)
        near = cKDTree(points).query(points, k=_NEAR)[1][:, 1:]
        change = 1 - np.einsum("ij,ikj->ik", normals, normals[near]).mean(axis=1)
        a, b, c = (skin.vertices_mm[skin.faces[:, k]] for k in range(3))
        saturation = None
        if skin.has_colour:
            nearest = cKDTree(skin.vertices_mm).query(points)[1]
            shade = skin.colours[nearest].astype(np.float64).mean(axis=1) / 255
            change = change + 2 * np.abs(shade[:, None] - shade[near]).mean(axis=1)
            colour = skin.colours[skin.faces].astype(np.float64).mean(axis=1) / 255
            saturation = np.ptp(colour, axis=1)
        return cls(skin, scene, normals, change, np.cross(b - a, c - a) / 2, saturation)

    def detail(self, way: F64) -> float:
        """Return the detail that faces a viewer who stands in a direction."""
        return float((np.clip(self.spot_normals @ way, 0, None) * self.spot_detail).sum())

    def colourful(self, way: F64) -> float:
        """Return the mean saturation (0..1) of what faces a viewer who stands in a direction; 0 without colours."""
        if self.saturation is None:
            return 0.0
        facing = np.clip(self.normals @ way, 0, None)
        return float((facing * self.saturation).sum() / max(float(facing.sum()), 1e-12))

    def relief_ratio(self, way: F64) -> float:
        """Return how far the surface that faces a viewer lies off its own mean plane (rms), over its breadth."""
        facing = np.clip(self.normals @ way, 0, None)
        middles = self.skin.vertices_mm[self.skin.faces].mean(axis=1)
        frame = rotation_to(way, np.array([0.0, 0.0, 1.0]))
        x, y, height = (middles @ frame.T).T
        weight = np.sqrt(facing)
        plane = np.column_stack([x, y, np.ones(len(x))]) * weight[:, None]
        fit = np.linalg.lstsq(plane, height * weight, rcond=None)[0]
        off = height * weight - plane @ fit
        area = float(facing.sum())
        return float(np.sqrt(np.square(off).sum() / max(area, 1e-12)) / max(np.sqrt(area), 1e-12))

    def outline_mm2(self, frame: F64) -> float:
        """Return the area of the outline. frame (3, 3): rows to the right, up, to the viewer."""
        hit, _, pitch = self.looked(frame, _CELLS)
        return float(np.count_nonzero(hit >= 0)) * pitch**2

    def openings(self, frame: F64, cells: int = OPENING_CELLS) -> Openings:
        """Return the holes through the outline: of a ring, an eight, a handle, an eye to hang by.

        frame (3, 3): rows to the right, up, to the viewer
        cells  of the lattice over its longer side: holes under about three of them across are not seen
        """
        from scipy.ndimage import binary_fill_holes, label

        face, start, pitch = self.looked(frame, cells)
        solid = face >= 0
        filled = binary_fill_holes(solid)
        places = (start @ frame[:2].T).reshape(*face.shape, 2)
        parts, count = label(filled & ~solid)
        found = []
        for number in range(1, count + 1):
            spots = places[parts == number]
            if len(spots) >= _LEAST_OPENING:
                middle = spots.mean(axis=0)
                reach = float(np.linalg.norm(spots - middle, axis=1).max()) + pitch / 2
                found.append(Opening(middle, len(spots) * pitch**2, reach))
        found.sort(key=lambda one: -one.area_mm2)
        return Openings(tuple(found), float(np.count_nonzero(filled)) * pitch**2, places[solid].mean(axis=0))

    def pierced(self, along: Vec3) -> float:
        """Return the share of the outline along a direction, its holes filled, that is looked through."""
        return self.openings(rotation_to(np.asarray(along), np.array([0.0, 0.0, 1.0]))).share

    def circle_share(self, along: Vec3) -> float:
        """Return the share of the circle round the outline along a direction that the outline covers: 1 for a disc."""
        frame = rotation_to(np.asarray(along), np.array([0.0, 0.0, 1.0]))
        seen = self.skin.vertices_mm @ frame[:2].T
        middle = (seen.min(axis=0) + seen.max(axis=0)) / 2
        radius = float(np.linalg.norm(seen - middle, axis=1).max())
        return self.outline_mm2(frame) / max(np.pi * radius**2, 1e-12)

    def painted_alike(self, point_mm: F64, normal: F64) -> bool:
        """Return whether the colours are nearly the same mirrored in a plane; True without colours."""
        from scipy.spatial import cKDTree

        if self.saturation is None:
            return True
        points, _ = skin_samples(self.skin, _SPOTS)
        mirrored = points - 2 * np.outer((points - point_mm) @ normal, normal)
        tree = cKDTree(self.skin.vertices_mm)
        colour = self.skin.colours.astype(np.float64) / 255
        return float(np.abs(colour[tree.query(points)[1]] - colour[tree.query(mirrored)[1]]).mean()) < _SAME_COLOUR

    def edges_along(self, frame: F64) -> tuple[F64, float]:
        """Return the direction (right, up) along which straight edges lie, and the share of edges square to it.

        The edges of an outline are walls that the viewer sees from the end. Directions are counted modulo 90 deg.
        """
        area = np.linalg.norm(self.normals, axis=1)
        turned = self.normals @ frame.T
        wall = np.abs(turned[:, 2]) < _WALL_COS * area
        if not wall.any():
            return np.array([1.0, 0.0]), 0.0
        angle = np.degrees(np.arctan2(turned[wall, 1], turned[wall, 0])) % 90
        weight = area[wall]
        held = np.histogram(angle, bins=90, range=(0, 90), weights=weight)[0]
        spread = sum(np.roll(held, k) for k in range(-_EDGE_DEG, _EDGE_DEG + 1))
        peak = int(np.argmax(spread)) + 0.5
        off = (angle - peak + 45) % 90 - 45
        near = np.abs(off) <= _EDGE_DEG + 0.5  # as far as the bins reach
        turn = np.radians(peak + float(np.average(off[near], weights=weight[near])))
        return np.array([np.cos(turn), np.sin(turn)]), float(weight[near].sum() / weight.sum())

    def rectangle(self, frame: F64) -> Rectangle:
        """Return the smallest rectangle round the outline; its direction as (right, up)."""
        return least_rectangle(self.skin.vertices_mm @ frame[:2].T)

    def rows_over_columns(self, frame: F64) -> float:
        """Return how much more uneven the shades' edges are from row to row than from column to column.

        Above 1: writing or fine rows run level; below: upright. 1 without colours, or where the side is too narrow.
        """
        from scipy.ndimage import binary_erosion

        if not self.skin.has_colour:
            return 1.0
        face, start, _ = self.looked(frame, _ROW_CELLS)
        hit = face >= 0
        shade = np.zeros(face.shape)
        shade[hit] = self._shade(face[hit], start.reshape(*face.shape, 3)[hit], frame[2])
        edges = np.hypot(shade[1:, 1:] - shade[:-1, 1:], shade[1:, 1:] - shade[1:, :-1])
        inner = binary_erosion(np.pad(hit, 1), iterations=_RIM_CELLS)[2:-1, 2:-1]
        if np.count_nonzero(inner) < _ROW_CELLS:
            return 1.0
        return _uneven(edges * inner, inner, 1) / max(_uneven(edges * inner, inner, 0), 1e-9)

    def _shade(self, face: NDArray[np.int64], start: F64, towards: F64) -> F64:
        """The shade (0..255) where lines of sight meet their faces, between the corners' own."""
        corners = self.skin.vertices_mm[self.skin.faces[face]]
        first, second = corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]
        normal = np.cross(first, second)
        facing = normal @ towards
        facing = np.where(np.abs(facing) > 1e-12, facing, 1e-12)
        off = start - corners[:, 0]
        off = off - (np.einsum("ij,ij->i", normal, off) / facing)[:, None] * towards
        size = np.maximum(np.einsum("ij,ij->i", normal, normal), 1e-24)
        to_first = np.einsum("ij,ij->i", np.cross(off, second), normal) / size
        to_second = np.einsum("ij,ij->i", np.cross(first, off), normal) / size
        weight = np.stack([1 - to_first - to_second, to_first, to_second], axis=1)
        corner_shade = self.skin.colours.astype(np.float64).mean(axis=1)[self.skin.faces[face]]
        return np.asarray((weight * corner_shade).sum(axis=1))

    def looked(self, frame: F64, cells: int) -> tuple[NDArray[np.int64], F64, float]:
        """The face seen in each cell of a lattice (rows upwards; -1: none), where each line starts, and the pitch."""
        seen = self.skin.vertices_mm @ frame.T
        low, high = seen.min(axis=0), seen.max(axis=0)
        pitch = float(max(high[0] - low[0], high[1] - low[1])) / cells
        x, y = (np.arange(low[k] + pitch / 2, high[k], pitch) for k in range(2))
        grid = np.stack(np.meshgrid(x, y), axis=-1).reshape(-1, 2)
        start = np.column_stack([grid, np.full(len(grid), high[2] + 1.0)]) @ frame
        return self.scene.cast(start, -frame[2]).face.reshape(len(y), len(x)), start, pitch


def _uneven(edges: F64, inner: NDArray[np.bool_], axis: int) -> float:
    """How unevenly edges are spread over lines, short ones left aside."""
    count = inner.sum(axis=axis)
    lines = count > 0.6 * count.max()
    mean = edges.sum(axis=axis)[lines] / count[lines]
    return float(mean.std() / max(float(mean.mean()), 1e-9))
