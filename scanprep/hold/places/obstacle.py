"""The object as an obstacle: how far any point in space is from it, and what the front viewer sees of it.

One `Body` an object, in scan axes about the centre of mass, shared by all attitudes; one `View` an attitude, asked in
the display frame. Distances come from a grid with exact values near the surface (trilinear between), quick enough for
tens of thousands of questions; `exact_mm` asks the rays themselves and has the last word. mm. Touches no files.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from scanprep.rays import RayScene
from scanprep.scan.mesh import WorkingMesh
from scanprep.survey.records import Survey
from scanprep.vectors import F64, I32, U8, steady

Bools = NDArray[np.bool_]

_CELLS = 120_000  # tolerance: measured: 0.1 s to fill, error below a third of a cell at edges
_PAD_MM = 12.0  # tolerance: of the grid round the object; beyond it distances are estimates
_BAND_CELLS = 2.2  # tolerance: distances are true within this many cells of the surface
_SAMPLES = 700  # tolerance: surface points from which arms may take their way


def lengths(vectors: F64) -> F64:
    """Return the lengths of vectors (..., 3); several times as quick as `np.linalg.norm` for many short ones."""
    return np.asarray(np.sqrt(np.einsum("...k,...k->...", vectors, vectors)), dtype=np.float64)


@dataclass(frozen=True, slots=True, eq=False)
class DistanceGrid:
    """Signed distance on a box of cells, negative inside."""

    corner_mm: F64  # (3,)
    step_mm: float
    values_mm: F64  # (nx, ny, nz)
    _terms: NDArray[np.float32] = field(init=False, repr=False)  # (nx ny nz, 8) factors of 1 z y yz x xz xy xyz

    def __post_init__(self) -> None:
        cells = np.pad(self.values_mm, ((0, 1),) * 3, mode="edge")
        nx, ny, nz = self.values_mm.shape
        terms = np.stack([cells[i:i + nx, j:j + ny, k:k + nz] for i in (0, 1) for j in (0, 1) for k in (0, 1)], axis=-1)
        terms = terms.reshape(-1, 2, 2, 2)
        for axis in (1, 2, 3):
            near, far = terms.swapaxes(1, axis)[:, 0], terms.swapaxes(1, axis)[:, 1]
            far -= near
        object.__setattr__(self, "_terms", terms.reshape(-1, 8).astype(np.float32))

    def at(self, points_mm: F64) -> F64:
        """Return the distance at points (n, 3); outside the box never more than the truth by over a cell."""
        shape = np.array(self.values_mm.shape)[:, None]
        at = (np.ascontiguousarray(points_mm.T) - self.corner_mm[:, None]) / self.step_mm
        inside = np.minimum(np.maximum(at, 0.0), shape - 1.000001)
        low = inside.astype(np.int64)
        x, y, z = inside - low
        t = self._terms.take((low[0] * int(shape[1, 0]) + low[1]) * int(shape[2, 0]) + low[2], axis=0).T
        value = t[0] + t[1] * z + (t[2] + t[3] * z) * y + (t[4] + t[5] * z + (t[6] + t[7] * z) * y) * x
        outside = np.flatnonzero((at != inside).any(axis=0))
        if len(outside):
            beyond = lengths((at[:, outside] - inside[:, outside]).T) * self.step_mm
            value[outside] = np.maximum(beyond + _PAD_MM / 2, value[outside])
        return np.asarray(value, dtype=np.float64)


def _fill(scene: RayScene, vertices_mm: F64, faces: I32) -> DistanceGrid:
    from scipy.ndimage import distance_transform_edt

    low, high = vertices_mm.min(axis=0) - _PAD_MM, vertices_mm.max(axis=0) + _PAD_MM
    step = float((np.prod(high - low) / _CELLS) ** (1 / 3))
    counts = np.maximum(np.ceil((high - low) / step).astype(int) + 1, 4)
    axes = [low[i] + step * np.arange(counts[i]) for i in range(3)]
    points = np.stack(np.meshgrid(*axes, indexing="ij"), axis=-1).reshape(-1, 3)
    boxed = np.flatnonzero(np.all((points >= low + _PAD_MM) & (points <= high - _PAD_MM), axis=1))  # others are outside
    votes = np.zeros(len(points), dtype=np.int64)
    for direction in ((0.0131, 0.0271, 1.0), (1.0, 0.0191, -0.0233), (-0.0177, 1.0, 0.0291)):
        votes[boxed] += scene.crossings(points[boxed], np.array(direction)) % 2
    inside = (votes >= 2).reshape(counts)
    # walls thinner than a cell have no cell inside: nearness is counted from the skin itself
    far_from_skin = np.ones(counts, dtype=bool)
    cells = np.rint((_skin(vertices_mm, faces, 0.7 * step) - low) / step).astype(np.int64)
    far_from_skin[cells[:, 0], cells[:, 1], cells[:, 2]] = False
    rough = distance_transform_edt(far_from_skin).ravel() * step
    sign = np.where(inside.ravel(), -1.0, 1.0)
    near = rough < _BAND_CELLS * step
    values = sign * np.maximum(rough - 0.9 * step, 0.0)  # a skin cell's centre is up to 0.87 of a cell off the skin
    values[near] = scene.distance_mm(points[near]) * sign[near]
    return DistanceGrid(low, step, values.reshape(counts))


def _skin(vertices_mm: F64, faces: I32, apart_mm: float) -> F64:
    """Points of the surface no further apart than about `apart_mm`."""
    corners = vertices_mm[faces]
    longest = np.linalg.norm(corners - np.roll(corners, 1, axis=1), axis=2).max(axis=1)
    parts = [vertices_mm]
    cuts = np.ceil(longest / apart_mm).astype(int)
    for count in np.unique(cuts[cuts > 1]):
        step = min(int(count), 60)
        weights = np.array([(i, j, step - i - j) for i in range(step + 1) for j in range(step + 1 - i)]) / step
        parts.append(np.einsum("wk,fkx->fwx", weights, corners[cuts == count]).reshape(-1, 3))
    return np.vstack(parts)


def _samples(vertices_mm: F64, faces: I32, count: int) -> tuple[F64, F64]:
    """Surface points spread evenly by area, with outward normals; the same every time."""
    corners = vertices_mm[faces]
    cross = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    twice = np.linalg.norm(cross, axis=1)
    usable = twice > 1e-9
    corners, cross, twice = corners[usable], cross[usable], twice[usable]
    heap = np.cumsum(twice) / twice.sum()
    random = np.random.default_rng(7)
    pick = np.searchsorted(heap, (np.arange(4 * count) + random.random(4 * count)) / (4 * count))
    pick = np.minimum(pick, len(heap) - 1)
    u, v = np.sqrt(random.random(len(pick))), random.random(len(pick))
    points = (corners[pick, 0] * (1 - u)[:, None] + corners[pick, 1] * (u * (1 - v))[:, None]
              + corners[pick, 2] * (u * v)[:, None])
    spacing = float(np.sqrt(twice.sum() / 2 / count))
    keep = thinned(points, 0.75 * spacing)
    return points[keep], (cross / twice[:, None])[pick][keep]


def thinned(points: F64, apart_mm: float) -> list[int]:
    """Indices of points none of which lies within `apart_mm` of another kept one."""
    from scipy.spatial import cKDTree

    alive = np.ones(len(points), dtype=bool)
    near = cKDTree(points).query_ball_point(points, apart_mm)
    kept = []
    for index in range(len(points)):
        if alive[index]:
            kept.append(index)
            alive[near[index]] = False
    return kept


@dataclass(frozen=True, slots=True, eq=False)
class Obstacle:
    """One object, prepared once for all its attitudes. Scan axes, origin at the centre of mass."""

    vertices_mm: F64
    faces: I32
    colours: U8
    has_colour: bool
    scene: RayScene
    grid: DistanceGrid
    shell_mm: F64  # (m, 3) points of the surface
    shell_out: F64  # (m, 3) outward unit normals there

    @classmethod
    def of(cls, working: WorkingMesh, survey: Survey) -> Obstacle:
        """Prepare an object: about 0.15 s at 20 k faces."""
        vertices = np.asarray(working.vertices_mm - np.asarray(survey.centre_of_mass_mm), dtype=np.float64)
        scene = RayScene([(vertices, working.faces)])
        shell, out = _samples(vertices, working.faces, _SAMPLES)
        grid = _fill(scene, vertices, working.faces)
        return cls(vertices, working.faces, working.colours, working.has_colour, scene, grid, shell, out)


def _looked_through(outline: Bools) -> Bools:
    """Pixels past an outline that lie between two parts of it, left and right or above and below: holes and bays.

    Between the legs of an animal, between a tool's handle and its foot: there a wire is seen against the wall behind.
    """
    def between(axis: int) -> Bools:
        before = np.maximum.accumulate(outline, axis=axis)
        after = np.flip(np.maximum.accumulate(np.flip(outline, axis), axis=axis), axis)
        return np.asarray(before & after, dtype=np.bool_)

    return np.asarray((between(0) | between(1)) & ~outline, dtype=np.bool_)


@dataclass(frozen=True, slots=True, eq=False)
class FrontMap:
    """What an orthographic viewer sees: the front and back surface over each pixel of a raster."""

    left_mm: float
    low_mm: float
    pitch_mm: float
    front_mm: F64  # (ny, nx) z of the frontmost surface; -inf where the object is not
    back_mm: F64  # (ny, nx) z of the rearmost surface; +inf where the object is not
    _framed: F64 = field(init=False, repr=False)  # front_mm with a rim of -inf, flat
    _through: Bools = field(init=False, repr=False)  # `through` with a rim, flat

    def __post_init__(self) -> None:
        object.__setattr__(self, "_framed", np.pad(self.front_mm, 1, constant_values=-np.inf).ravel())
        object.__setattr__(self, "_through", np.pad(_looked_through(np.isfinite(self.front_mm)), 1).ravel())

    @property
    def area_mm2(self) -> float:
        """Area of the object's outline."""
        return float(np.isfinite(self.front_mm).sum()) * self.pitch_mm**2

    @property
    def through(self) -> Bools:
        """(ny, nx) where one looks through an opening: past the outline, and between two parts of it."""
        ny, nx = self.front_mm.shape
        return self._through.reshape(ny + 2, nx + 2)[1:-1, 1:-1]

    def cells(self, points_mm: F64) -> NDArray[np.int64]:
        """Return the place of points (n, 2 or 3) in a flat raster that has a rim of one pixel round this one."""
        ny, nx = self.front_mm.shape
        column = np.minimum(np.maximum((points_mm[:, 0] - self.left_mm) / self.pitch_mm + 1, 0), nx + 1)
        row = np.minimum(np.maximum((points_mm[:, 1] - self.low_mm) / self.pitch_mm + 1, 0), ny + 1)
        return np.asarray(row.astype(np.int64) * (nx + 2) + column.astype(np.int64))

    def sight(self, points_mm: F64) -> tuple[Bools, Bools]:
        """Return for points (n, 3): in front of the object, and beside it. Neither: hidden behind it."""
        covered, beside, _ = self.sights(points_mm)
        return covered, beside

    def sights(self, points_mm: F64) -> tuple[Bools, Bools, Bools]:
        """Return `sight`, and which of those beside are seen through an opening of the outline."""
        cells = self.cells(points_mm)
        front = self._framed.take(cells)
        beside = front == -np.inf
        return ~beside & (points_mm[:, 2] > front), beside, self._through.take(cells)


@dataclass(frozen=True, slots=True, eq=False)
class View:
    """A body in one attitude; every question in the display frame."""

    body: Obstacle
    rotation: F64  # scan axes -> display axes
    vertices_mm: F64
    front: FrontMap

    @classmethod
    def of(cls, body: Obstacle, rotation: F64, pixels: int = 260) -> View:
        """Turn a body into an attitude and look at it once from the front and once from behind."""
        vertices = steady(body.vertices_mm @ rotation.T, 9)
        low, high = vertices.min(axis=0), vertices.max(axis=0)
        pitch = float(max(0.25, max(high[0] - low[0], high[1] - low[1]) / pixels))
        x = np.arange(low[0] - 2 * pitch, high[0] + 2 * pitch, pitch)
        y = np.arange(low[1] - 2 * pitch, high[1] + 2 * pitch, pitch)
        grid = np.stack(np.meshgrid(x + pitch / 2, y + pitch / 2), axis=-1).reshape(-1, 2)
        far = float(np.abs(vertices[:, 2]).max()) + 10.0
        to_scan = rotation
        maps = []
        for side in (1.0, -1.0):
            origins = np.column_stack([grid, np.full(len(grid), side * far)]) @ to_scan
            hits = body.scene.cast(origins, np.array([0.0, 0.0, -side]) @ to_scan)
            z = side * (far - hits.distance_mm.astype(np.float64))
            maps.append(z.reshape(len(y), len(x)))
        return cls(body, rotation, vertices, FrontMap(float(x[0]), float(y[0]), pitch, maps[0], maps[1]))

    def distance_mm(self, points_mm: F64) -> F64:
        """Return the signed distance to the object from the grid; points (n, 3)."""
        return self.body.grid.at(points_mm @ self.rotation)

    def exact_mm(self, points_mm: F64) -> F64:
        """Return the signed distance by rays, slower."""
        return np.asarray(self.body.scene.signed_distance_mm(points_mm @ self.rotation), dtype=np.float64)
