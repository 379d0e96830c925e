"""Whether a thing is a mask: a shell, hollow behind, that is looked through at two eyes.

A mask was made to be seen from outside, though its inside is the hollow side and it lies on its rim when it is scanned.
Takes what the sides show (`Sides`, any origin). Used by the survey.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np

from scanprep.survey.sides import Opening, Sides
from scanprep.vectors import F64, Vec3, unit, vec3

_HOLLOW_SHARE = 0.2  # tolerance: how much deeper it is seen from behind than from before, over its depth; assumed
_ACROSS_COS = 0.3  # tolerance: within 17 deg of square to its mirror plane
_LEAST_EYE, _MOST_HOLES = 0.003, 6  # tolerance: of the outline, an eye; more holes are a sieve, a lantern; assumed
_OFF_SHARE, _APART_SHARE = 0.06, 0.15  # tolerance: of the width: off each other's mirror image, and apart; assumed
_LIKE_RATIO = 0.5  # tolerance: the lesser eye over the greater; assumed


@dataclass(frozen=True, slots=True)
class Mask:
    """Where a mask looks, and the line from its chin to its brow."""

    front: Vec3
    upright: Vec3
    told: bool  # by its mouth below its eyes; else it may as well run from brow to chin


def mask_of(sides: Sides, shortest: F64, mouth: Callable[[Vec3], float], normals: Sequence[Vec3]) -> Mask | None:
    """Return a mask's directions, None where a thing is none.

    shortest  unit, across its broadest side
    mouth     direction -> how much deeper the hollow is seen from there than from the other side, over the depth
    normals   of the planes that it is nearly its own mirror image in
    """
    across = [np.asarray(normal) for normal in normals if abs(float(np.dot(normal, shortest))) < _ACROSS_COS]
    hollow = mouth(vec3(shortest)) if across else 0.0
    if abs(hollow) < _HOLLOW_SHARE:
        return None
    front = -np.sign(hollow) * shortest
    for normal in across:
        right = unit(normal - float(front @ normal) * front)
        upright = np.cross(front, right)
        open_ = sides.openings(np.stack([right, upright, front]))
        holes = [one for one in open_.each if one.area_mm2 > _LEAST_EYE * open_.outline_mm2]
        reach = sides.skin.vertices_mm @ right
        middle, width = float(reach.max() + reach.min()) / 2, float(np.ptp(reach))
        pairs = [pair for pair in combinations(holes, 2) if _eyes(*pair, middle, width)]
        if pairs and len(holes) <= _MOST_HOLES:
            others = [float(one.middle_mm[1] - pairs[0][0].middle_mm[1]) for one in holes
                      if abs(float(one.middle_mm[0]) - middle) < _OFF_SHARE * width]
            return Mask(vec3(front), vec3(-upright if sum(others) > 0 else upright), bool(others))
    return None


def _eyes(one: Opening, two: Opening, middle_mm: float, width_mm: float) -> bool:
    """Whether two openings are each other's mirror image left to right."""
    x, y = one.middle_mm, two.middle_mm
    off = max(abs(float(x[0] + y[0]) - 2 * middle_mm), abs(float(x[1] - y[1])))
    like = min(one.area_mm2, two.area_mm2) > _LIKE_RATIO * max(one.area_mm2, two.area_mm2)
    return off < _OFF_SHARE * width_mm and abs(float(x[0] - y[0])) > _APART_SHARE * width_mm and like
