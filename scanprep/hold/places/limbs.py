"""Limbs: the parts of an object that stand out from its body and are slender against it.

Ears, wings, beaks, tails, handles, stems and spikes break first, however thick they are in millimetres. They are found
as a sieve finds them: a ball a third as large as the largest that fits into the object is rolled about inside it; what
the ball cannot reach, and stands out further than an edge or a corner would, is a limb. Balls half and a quarter as
large find what is small besides: teats, a stem, a spout, a lug. A vessel counts as filled, so that its wall is body and
its handle is not. What is large (a blade, a tool's handle) is no limb but half the object.

         _      ball too large: limb
        | |
     ___| |____
    |   ( )    |   ball fits: body
    |__________|

The trunk is what a ball hardly smaller than the largest reaches: chest, loins and belly, a vessel's body, a figure's
torso. What stands out from it, heads and muzzles too, is never broken off there, and still a mountmaker holds nothing
by it while the trunk has a place.

Works on a grid of cells, in scan axes about the centre of mass, mm: details below two or three of them are not seen.
Used by the families and by the free search, which touch no limb.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from scanprep.hold.places.inside import Inside, Part, inside_of, off_mm
from scanprep.hold.places.obstacle import Bools, Obstacle
from scanprep.rules import HoldRules
from scanprep.vectors import F64

_CORNER_TIMES = 2.0  # exact: a ball in a cube's corner stays 1.73 of its radii off it, one in an edge 1.41
_CUT_TIMES = (1.41, 1.73, _CORNER_TIMES)  # exact: in an edge, in a corner, beyond both
_FINER = (1.0, 0.5, 0.25)  # tolerance: of the ball, tried in turn: a smaller one finds smaller limbs
_LEAST_CELLS = 1.25  # tolerance: of the grid, in the ball's radius; below it there is nothing to tell
_EDGE_TIMES = 1.45  # exact: what an edge leaves of a ball is its own
_ROUND_cells = 2  # tolerance: how near a piece the body is looked for that it hangs together with
_LEAST_TRUNK = 0.5  # tolerance: of the object; where the ball reaches less of it, it has no trunk to prefer


@lru_cache(maxsize=4)
def limbs_of(body: Obstacle, rules: HoldRules) -> Part:
    """Return an object's limbs; none where the grid is too coarse, or where nearly all of it would be limbs."""
    from scipy.ndimage import binary_dilation

    inside = inside_of(body)
    whole = float(inside.filled.sum())
    limbs = np.zeros(inside.filled.shape, dtype=bool)
    for finer in _FINER:
        ball_mm = finer * rules.limb_ball_ratio * inside.thickest_mm
        if ball_mm < _LEAST_CELLS * inside.step_mm:
            break
        found = _sieved(inside, ball_mm, rules)
        if float(found.sum()) <= rules.limbs_most_share * whole:
            limbs |= found
    limbs |= _hanging(inside.filled & ~limbs, inside.filled, rules) if limbs.any() else False
    if float(limbs.sum()) > rules.limbs_most_share * whole:
        limbs[:] = False
    return Part(inside, np.asarray(binary_dilation(limbs)))


@lru_cache(maxsize=4)
def beyond_trunk(body: Obstacle, rules: HoldRules) -> Part:
    """Return what stands out from an object's trunk; nothing where less than half of it would be trunk."""
    from scipy.ndimage import binary_dilation

    inside = inside_of(body)
    ball_mm = rules.trunk_ball_ratio * inside.thickest_mm
    out = inside.filled & (off_mm(inside.depth_mm >= ball_mm, inside.step_mm) > _EDGE_TIMES * ball_mm + inside.step_mm)
    if float(out.sum()) > (1.0 - _LEAST_TRUNK) * float(inside.filled.sum()):
        out[:] = False
    return Part(inside, np.asarray(binary_dilation(out)))


def _sieved(inside: Inside, ball_mm: float, rules: HoldRules) -> Bools:
    """The limbs into which a ball does not pass."""
    from scipy.ndimage import label

    filled, step_mm = inside.filled, inside.step_mm
    off = off_mm(inside.depth_mm >= ball_mm, step_mm)  # off the ball's nearest middle
    limbs = np.zeros(filled.shape, dtype=bool)
    parts, _ = label(filled & (off > ball_mm + step_mm))
    for number, box in _boxes(parts):
        part = parts[box] == number
        if float(off[box][part].max()) <= _CORNER_TIMES * ball_mm + step_mm:
            continue
        limbs[box] |= part if _small(part, filled, rules) else \
            _handles(part, off[box], ball_mm, step_mm, filled[box], float(filled.sum()), rules)
    return limbs


def _boxes(parts: NDArray[np.int32]) -> Iterator[tuple[int, tuple[slice, ...]]]:
    """Each labelled part's number and the box round it, with room for what it hangs together with."""
    from scipy.ndimage import find_objects

    for number, box in enumerate(find_objects(parts), start=1):
        yield number, tuple(slice(max(side.start - _ROUND_cells - 1, 0), side.stop + _ROUND_cells + 1) for side in box)


def _hanging(rest: Bools, filled: Bools, rules: HoldRules) -> Bools:
    """What is joined to the body through a limb alone: a sting at the end of a tail."""
    from scipy.ndimage import label

    parts, _ = label(rest, np.ones((3, 3, 3)))
    sizes = np.bincount(parts.ravel())
    small = sizes < rules.limb_volume_share * filled.sum()
    small[0] = False
    small[1 + int(np.argmax(sizes[1:]))] = False
    return np.asarray(small[parts])


def _handles(part: Bools, off: F64, ball_mm: float, step_mm: float, filled: Bools, whole: float, rules: HoldRules
             ) -> Bools:
    """The pieces of a large part that hang together with the body at two ends: a handle without the rim it joins.

    The part is cut off further and further from the body, past its edges, its corners, and what no corner reaches: cut
    too near, the rim's edge comes along; too far, the handle is split along its length and has no two ends.
    """
    from scipy.ndimage import label

    handles = np.zeros(part.shape, dtype=bool)
    for times in _CUT_TIMES:
        beyond, _ = label(part & (off > times * ball_mm + step_mm))
        for piece, box in _boxes(beyond):
            own = beyond[box] == piece
            stands_out = float(off[box][own].max()) > _CORNER_TIMES * ball_mm + step_mm
            small = own.sum() < rules.limb_volume_share * whole
            if stands_out and small and not handles[box][own].any() and _ends(own, filled[box]) > 1:
                handles[box] |= own
    return handles


def _ends(part: Bools, filled: Bools) -> int:
    """At how many places a part hangs together with the rest: an ear at one, a handle at two."""
    from scipy.ndimage import binary_dilation, label

    near = binary_dilation(part, np.ones((3, 3, 3)), iterations=_ROUND_cells) & filled & ~part
    return int(label(near, np.ones((3, 3, 3)))[1])


def _small(part: Bools, filled: Bools, rules: HoldRules) -> bool:
    """Whether a part is little of the object, in volume and in extent."""
    extent = np.linalg.norm(np.ptp(np.argwhere(part), axis=0) + 1)
    whole = np.linalg.norm([np.ptp(np.flatnonzero(filled.any(axis=axes))) + 1 for axes in ((1, 2), (0, 2), (0, 1))])
    return bool(part.sum() < rules.limb_volume_share * filled.sum() and extent < rules.limb_extent_share * whole)
