"""Limbs: the parts of an object that stand out from its body and are slender against it.

Ears, wings, beaks, tails, handles, stems and spikes break first, however thick they are in millimetres. They are found
as a sieve finds them: a ball a third as large as the largest that fits into the object is rolled about inside it; what
the ball cannot reach, and stands out further than an edge or a corner would, is a limb. A vessel counts as filled, so
that its wall is body and its handle is not. What is large (a blade, a tool's handle) is no limb but half the object.

         _      ball too large: limb
        | |
     ___| |____
    |   ( )    |   ball fits: body
    |__________|

Works on the distance grid of the obstacle, in scan axes about the centre of mass, mm: details below a cell or two of it
are not seen. Used by the families and by the free search, which touch no limb.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from scanprep.hold.places.obstacle import Bools, DistanceGrid, Obstacle
from scanprep.rules import HoldRules
from scanprep.vectors import F64

_CORNER_TIMES = 2.0  # exact: a ball in a cube's corner stays 1.73 of its radii off it, one in an edge 1.41
_CUT_TIMES = (1.41, 1.73, _CORNER_TIMES)  # exact: in an edge, in a corner, beyond both
_FILLED_WAYS = 5  # tolerance: of six ways along the axes, those closed round a cell that lies in a hollow
_LEAST_CELLS = 1.25  # tolerance: of the grid, in the ball's radius; below it there is nothing to tell


@dataclass(frozen=True, slots=True, eq=False)
class Limbs:
    """Which cells round an object belong to a limb of it."""

    grid: DistanceGrid
    cells: Bools  # (nx, ny, nz), the skin's outer side included

    def near(self, points_mm: F64) -> Bools:
        """Return which points (n, 3) of the surface, scan axes, lie on a limb."""
        at = np.rint((points_mm - self.grid.corner_mm) / self.grid.step_mm).astype(np.int64)
        at = np.clip(at, 0, np.array(self.cells.shape) - 1)
        return np.asarray(self.cells[at[:, 0], at[:, 1], at[:, 2]])


@lru_cache(maxsize=4)
def limbs_of(body: Obstacle, rules: HoldRules) -> Limbs:
    """Return an object's limbs; none where the grid is too coarse, or where nearly all of it would be limbs."""
    from scipy.ndimage import binary_dilation, distance_transform_edt, label

    grid = body.grid
    filled = _filled(grid.values_mm < 0.5 * grid.step_mm)
    inside_mm = np.maximum(distance_transform_edt(filled) - 0.5, 0.0) * grid.step_mm
    ball_mm = rules.limb_ball_ratio * float(inside_mm.max())
    none = Limbs(grid, np.zeros(filled.shape, dtype=bool))
    if ball_mm < _LEAST_CELLS * grid.step_mm:
        return none
    off_mm = distance_transform_edt(inside_mm < ball_mm) * grid.step_mm  # off the ball's nearest middle
    parts, count = label(filled & (off_mm > ball_mm + grid.step_mm))
    limbs = np.zeros(filled.shape, dtype=bool)
    corner_mm = _CORNER_TIMES * ball_mm + grid.step_mm
    for number in range(1, count + 1):
        part = parts == number
        if float(off_mm[part].max()) <= corner_mm:
            continue
        if _small(part, filled, rules):
            limbs |= part
            continue
        limbs |= _handles(part, off_mm, ball_mm, grid.step_mm, filled, rules)
    limbs |= _hanging(filled & ~limbs, filled, rules)
    if float((limbs & filled).sum()) > rules.limbs_most_share * float(filled.sum()):
        return none
    return Limbs(grid, np.asarray(binary_dilation(limbs)))


def _hanging(rest: Bools, filled: Bools, rules: HoldRules) -> Bools:
    """What is joined to the body through a limb alone: a sting at the end of a tail."""
    from scipy.ndimage import label

    parts, _ = label(rest, np.ones((3, 3, 3)))
    sizes = np.bincount(parts.ravel())
    small = sizes < rules.limb_volume_share * filled.sum()
    small[0] = False
    small[1 + int(np.argmax(sizes[1:]))] = False
    return np.asarray(small[parts])


def _handles(part: Bools, off_mm: F64, ball_mm: float, step_mm: float, filled: Bools, rules: HoldRules) -> Bools:
    """The pieces of a large part that hang together with the body at two ends: a handle without the rim it joins.

    The part is cut off further and further from the body, past its edges, its corners, and what no corner reaches: cut
    too near, the rim's edge comes along; too far, the handle is split along its length and has no two ends.
    """
    from scipy.ndimage import label

    handles = np.zeros(part.shape, dtype=bool)
    for times in _CUT_TIMES:
        beyond, pieces = label(part & (off_mm > times * ball_mm + step_mm))
        for piece in range(1, pieces + 1):
            own = beyond == piece
            stands_out = float(off_mm[own].max()) > _CORNER_TIMES * ball_mm + step_mm
            small = own.sum() < rules.limb_volume_share * filled.sum()
            if stands_out and small and not handles[own].any() and _ends(own, filled) > 1:
                handles |= own
    return handles


def _ends(part: Bools, filled: Bools) -> int:
    """At how many places a part hangs together with the rest: an ear at one, a handle at two."""
    from scipy.ndimage import binary_dilation, label

    round_about = binary_dilation(part, np.ones((3, 3, 3)), iterations=2) & filled & ~part
    return int(label(round_about, np.ones((3, 3, 3)))[1])


def _small(part: Bools, filled: Bools, rules: HoldRules) -> bool:
    """Whether a part is little of the object, in volume and in extent."""
    extent = np.linalg.norm(np.ptp(np.argwhere(part), axis=0) + 1)
    whole = np.linalg.norm(np.ptp(np.argwhere(filled), axis=0) + 1)
    return bool(part.sum() < rules.limb_volume_share * filled.sum() and extent < rules.limb_extent_share * whole)


def _filled(solid: NDArray[np.bool_]) -> Bools:
    """The solid with its hollows: cells with solid round them in at least five of six ways."""
    closed = np.zeros(solid.shape, dtype=np.int8)
    for axis in range(3):
        closed += np.logical_or.accumulate(solid, axis=axis)
        closed += np.flip(np.logical_or.accumulate(np.flip(solid, axis), axis=axis), axis)
    return np.asarray(solid | (closed >= _FILLED_WAYS))
