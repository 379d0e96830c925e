"""Which claws of an edge are taken: the one nearest a place, and pairs that are level and as far left as right.

A mountmaker holds a flat thing up, marks two places low on its edge at one height and as far left as right of the
middle, and moves each to the nearest good place; he moves them until the thing rests in its two claws without wanting
to turn or to slip to the front, which on an irregular edge is a matter of which way the edge looks there. Display
frame, mm.
"""

from __future__ import annotations

from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from scanprep.hold.families.body import off_body
from scanprep.hold.families.probes import Claws, claws
from scanprep.hold.families.scene import Scene
from scanprep.vectors import F64, steady

Indices = NDArray[np.int64]

_TRIED = 8  # tolerance: claws near an asked place for which a wire is bent on trial
_OFF_BODY = 0.2  # tolerance: of the size, how much nearer a place on the body need not be than one that stands out
_SNAP = 0.09  # tolerance: of the size, how far from the asked place a claw may stand where the edge takes none there
_SNAP_LEAST_mm = 6.0  # tolerance: likewise, on small things
_ASKEW_mm, _FRAIL_mm = 6.0, 8.0  # tolerance: millimetres that an edge is worth that looks the way asked; a sturdy one
#: tolerance: what a smooth edge is worth over a ragged one, and plain ground over drawn: of the size, and mm at most
_BLEMISH, _BLEMISH_MOST_mm = 0.15, 20.0
_STURDY = 0.6  # tolerance: of the usual thickness, above which an edge is no better for being thicker
_UNLEVEL = 1.0  # tolerance: what a millimetre of difference in height, or in distance from the middle, costs
_TURNS = 2.0  # tolerance: what a millimetre costs by which the object's centre of mass would like to stand aside
_FLAT = 0.1  # tolerance: difference of two edges' slopes below which they count as one level
_SLIPS = 0.5  # tolerance: of the size, what an edge costs that pushes to the front or back as hard as it bears


def pick(scene: Scene, found: Claws, want_mm: F64, facing: F64, least: float, *, base: bool = False) -> int | None:
    """Return the claw nearest a place whose edge looks a given way, on the body or at its base; None: none is near."""
    return first_bent(scene, _price_mm(scene, found, want_mm, facing, least, base=base))


def level_pair(scene: Scene, found: Claws, want_mm: F64, facing: F64, least: float, *, base: bool = False,
         carries: bool = False) -> tuple[int, int] | None:
    """Return claws near a place on the left and near its image on the right, as level and as alike as the edge allows.

    carries  they bear the object: they are to hold it without its turning or slipping to the front or back
    """
    middle = float(scene.low_mm[0] + scene.high_mm[0])
    mirror = np.array([-1.0, 1.0])
    left_mm = _price_mm(scene, found, want_mm, facing, least, base=base)
    right_mm = _price_mm(scene, found, want_mm * mirror + [middle, 0.0], facing * mirror, least, base=base)
    lefts, rights = np.flatnonzero(np.isfinite(left_mm)), np.flatnonzero(np.isfinite(right_mm))
    if len(lefts) == 0 or len(rights) == 0:
        return None
    left, right = (side.ravel() for side in np.meshgrid(lefts, rights, indexing="ij"))
    apart = left != right
    left, right = left[apart], right[apart]
    points, normals = found.points_mm, found.edge.normals
    off_level = np.abs(points[left, 1] - points[right, 1])
    off_even = np.abs(points[left, 0] + points[right, 0] - middle)
    price = left_mm[left] + right_mm[right] + _UNLEVEL * np.maximum(off_level, off_even)
    size = float(scene.size_mm[:2].max())
    if carries:
        turns_mm, slips = _at_rest(found.edge.points_mm, normals, left, right)
        price += _TURNS * turns_mm + _SLIPS * size * slips
    else:
        price += _SLIPS * size * (np.abs(normals[left, 2]) + np.abs(normals[right, 2])) / 2
    unbent: set[int] = set()
    for index in np.argsort(steady(price), kind="stable"):
        two = int(left[index]), int(right[index])
        if unbent.isdisjoint(two):
            unbent |= {one for one in two if not bent(scene, one)}
            if unbent.isdisjoint(two):
                return two
        if len(unbent) >= _TRIED:
            return None
    return None


def _at_rest(points_mm: F64, normals: F64, left: Indices, right: Indices) -> tuple[F64, F64]:
    """How far aside the centre of mass would have to be for pairs to carry it without its turning, in mm; and with what
    share of its weight it would push to the front or back."""
    up = np.maximum(normals[:, 1], 0.05)
    lean = normals[:, 0] / up  # push sideways, for each newton carried
    apart, x_apart = lean[left] - lean[right], points_mm[right, 0] - points_mm[left, 0]
    flat = np.abs(apart) < _FLAT
    # of what they carry, the left one's share: so that their pushes sideways balance, on flat edges as a beam's ends
    share = np.where(flat, points_mm[right, 0] / np.where(x_apart > 0, x_apart, np.inf),
                     -lean[right] / np.where(flat, np.inf, apart))
    share = np.clip(share, 0.0, 1.0)
    arm = points_mm[:, 0] - points_mm[:, 1] * lean  # of the moment about the viewer's axis, for each newton carried
    turn = share * arm[left] + (1.0 - share) * arm[right]
    slip = share * normals[left, 2] / up[left] + (1.0 - share) * normals[right, 2] / up[right]
    return np.abs(turn), np.abs(slip)


def _price_mm(scene: Scene, found: Claws, want_mm: F64, facing: F64, least: float, *, base: bool) -> F64:
    """What each claw costs, in mm off the place asked; infinite where it will not do."""
    looks = found.outward @ facing
    good = found.sits & (found.opening == 0) & (looks >= least) & (found.sturdy >= scene.rules.sturdy_least_ratio)
    size = float(scene.size_mm[:2].max())
    away = np.linalg.norm(found.points_mm - want_mm, axis=1)
    price = away + _ASKEW_mm * (1 - looks) + _FRAIL_mm * np.maximum(0, _STURDY - found.sturdy)
    price = price + blemish_mm(scene, found)
    if good.any():
        price = price + _OFF_BODY * size * (off_body(scene, found.edge.points_mm) & (not base))
    return np.where(good & (away <= max(2 * _SNAP * size, _SNAP_LEAST_mm)), price, np.inf)


def blemish_mm(scene: Scene, found: Claws) -> F64:
    """Return how much further off each claw may stand as well, for its ragged edge and its drawn ground (n,)."""
    return min(_BLEMISH * float(scene.size_mm[:2].max()), _BLEMISH_MOST_mm) * found.blemish


def first_bent(scene: Scene, price: F64) -> int | None:
    """Return the cheapest claw that a wire can be bent for; None: for none of the cheapest few."""
    for index in np.argsort(steady(price), kind="stable")[:_TRIED]:
        if not np.isfinite(price[index]):
            return None
        if bent(scene, int(index)):
            return int(index)
    return None


def bent_claws(scene: Scene, price: F64, most: int) -> list[int]:
    """Return the cheapest claws that a wire can be bent for."""
    chosen: list[int] = []
    for index in np.argsort(steady(price), kind="stable"):
        if len(chosen) == most or not np.isfinite(price[index]):
            break
        if bent(scene, int(index)):
            chosen.append(int(index))
    return chosen


@lru_cache(maxsize=512)
def bent(scene: Scene, index: int) -> bool:
    """Return whether a wire can be bent for a claw."""
    return scene.bends(claws(scene).contact(scene, index))
