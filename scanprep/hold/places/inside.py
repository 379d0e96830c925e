"""How deep inside an object each cell of a fine grid lies, its hollows filled: what limbs and trunks are told by.

A vessel counts as filled, so that its wall is body and its handle is not; a small recess stays open: what bridges one,
as a cheekbone bridges the temple, is slender and not part of a lump. Finer than the obstacle's grid, since no distances
are asked of it: columns of rays along the three axes tell inside from outside, two of three agreeing. Scan axes about
the centre of mass, mm.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from scanprep.hold.places.obstacle import Bools, Obstacle
from scanprep.rays import RayScene
from scanprep.vectors import F64

_CELLS = 250_000  # tolerance: measured: 0.1 s to fill and 0.15 s a distance transform
_MARGIN_CELLS = 2.0  # exact: air on every side, so that what touches the box is still its surface
_FILLED_WAYS = 5  # tolerance: of six ways along the axes, those closed round a cell that lies in a hollow
_HOLLOW_SHARE = 0.05  # tolerance: of the whole, above which what is closed round is a vessel's hollow, no recess


@dataclass(frozen=True, slots=True, eq=False)
class Inside:
    """An object's cells with its hollows."""

    corner_mm: F64  # (3,) middle of the first cell
    step_mm: float
    filled: Bools  # (nx, ny, nz)
    depth_mm: F64  # (nx, ny, nz) from each cell to the skin, 0 outside

    @property
    def thickest_mm(self) -> float:
        """Radius of the largest ball that fits."""
        return float(self.depth_mm.max())


@dataclass(frozen=True, slots=True, eq=False)
class Part:
    """Some of an object's cells, the skin's outer side included."""

    inside: Inside
    cells: Bools  # (nx, ny, nz)

    def near(self, points_mm: F64) -> Bools:
        """Return which points (n, 3) of the surface, scan axes, lie on it."""
        at = np.rint((points_mm - self.inside.corner_mm) / self.inside.step_mm).astype(np.int64)
        at = np.clip(at, 0, np.array(self.cells.shape) - 1)
        return np.asarray(self.cells[at[:, 0], at[:, 1], at[:, 2]])


@lru_cache(maxsize=4)
def inside_of(body: Obstacle) -> Inside:
    """Return how deep inside an object its cells lie."""
    low, high = body.vertices_mm.min(axis=0), body.vertices_mm.max(axis=0)
    step = float(np.prod(high - low) / _CELLS) ** (1 / 3)
    while np.prod((high - low) / step + 2 * _MARGIN_CELLS + 1) > _CELLS:
        step *= 1.02
    corner = low - _MARGIN_CELLS * step
    shape = np.ceil((high - low) / step + 2 * _MARGIN_CELLS).astype(int) + 1
    filled = _filled(_solid(body.scene, corner, step, shape))
    return Inside(corner, step, filled, np.maximum(off_mm(~filled, step) - 0.5 * step, 0.0))


def off_mm(cells: Bools, step_mm: float) -> F64:
    """Return how far each cell lies from the nearest of some."""
    from scipy.ndimage import distance_transform_edt

    return np.asarray(distance_transform_edt(~cells), dtype=np.float64) * step_mm


def _solid(scene: RayScene, corner: F64, step: float, shape: F64) -> Bools:
    """Which cells lie inside or hold some of the skin: walls thinner than a cell have none inside."""
    votes = np.zeros(shape, dtype=np.int8)
    skin = np.zeros(shape, dtype=bool)
    for axis, (one, other) in enumerate(((1, 2), (0, 2), (0, 1))):
        across = np.stack(np.meshgrid(np.arange(shape[one]), np.arange(shape[other]), indexing="ij"), -1).reshape(-1, 2)
        origins = np.zeros((len(across), 3))
        # a little aside: rays through a mesh's own corners and edges would meet two faces at once
        origins[:, one] = corner[one] + step * (across[:, 0] + 0.0131)
        origins[:, other] = corner[other] + step * (across[:, 1] + 0.0171)
        origins[:, axis] = corner[axis] - step
        ray, far = scene.every_hit(origins, np.eye(3)[axis])
        at = far / step - 1.0
        turns = np.zeros((len(across), shape[axis]), dtype=np.int16)
        np.add.at(turns, (ray, np.clip(np.ceil(at).astype(int), 0, shape[axis] - 1)), 1)
        touched = np.zeros(turns.shape, dtype=bool)
        touched[ray, np.clip(np.rint(at).astype(int), 0, shape[axis] - 1)] = True
        box = (shape[one], shape[other], shape[axis])
        votes += np.moveaxis((np.cumsum(turns, axis=1) % 2).astype(np.int8).reshape(box), 2, axis)
        skin |= np.moveaxis(touched.reshape(box), 2, axis)
    return np.asarray((votes >= 2) | skin)


def _filled(solid: Bools) -> Bools:
    """The solid with its hollows: where cells with solid round them in at least five of six ways make up much of it."""
    from scipy.ndimage import label

    closed = np.zeros(solid.shape, dtype=np.int8)
    for axis in range(3):
        closed += np.logical_or.accumulate(solid, axis=axis)
        closed += np.flip(np.logical_or.accumulate(np.flip(solid, axis), axis=axis), axis)
    hollows, _ = label(~solid & (closed >= _FILLED_WAYS))
    sizes = np.bincount(hollows.ravel())
    large = sizes > _HOLLOW_SHARE * (solid.sum() + sizes[1:].sum())
    large[0] = False
    return np.asarray(solid | large[hollows])
