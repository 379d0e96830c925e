"""A shelf: one wire bent to a U under the base, its ends turned up in front, and something that keeps the top.

    from above:   ______ stem            from the side:   |
                 |      |                                 |  ____
                 |      |  rails under the base           |_|____|_ lip
                 |      |
                 ^      ^  ends turned up as lips

Bent flat on a 1:1 drawing, then its ends are turned up. One stem carries all, so that it is for what is light.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from scanprep.hold.families.feet import Feet
from scanprep.hold.families.foot_cradle import FootCradle, base_feet
from scanprep.hold.families.keeping import each_kept
from scanprep.hold.families.loops import as_loop
from scanprep.hold.families.records import FamilyMount
from scanprep.hold.families.scene import Scene
from scanprep.hold.records import Contact
from scanprep.vectors import F64

_LEVEL_mm = 1.0  # tolerance: heights of what the two rails bear on, for a wire bent flat: pads take up the rest
_BEHIND_mm = 1.5  # tolerance: room between the base and the run that joins the rails behind it
_SHELVES, _KEPT_BY = 2, 3  # tolerance: shelves tried, and ways of keeping each kind of


@dataclass(frozen=True, slots=True)
class Shelf:
    """One loop under the base, and a clip or claws."""

    name: str = "shelf with clip"

    def suits(self, scene: Scene) -> float:
        """What is light and stands by itself on a flat base."""
        if not scene.stands or scene.loads.weight_N > scene.rules.shelf_most_N:
            return 0.0
        return FootCradle().suits(scene) * scene.rules.shelf_suits_ratio

    def proposals(self, scene: Scene) -> Iterator[FamilyMount]:
        """Shelves with one way of keeping after the other."""
        for shelf, one in each_kept(scene, shelves(scene)[:_SHELVES], _KEPT_BY):
            yield FamilyMount(self.name, (shelf, *one.wires), f"a shelf of one wire carries it, {one.why}", one.suits)


@lru_cache(maxsize=4)
def shelves(scene: Scene) -> tuple[Contact, ...]:
    """Return the loops that lie flat under the base, the likeliest first."""
    found, pairs = base_feet(scene)
    straight = [pair for pair in pairs if all(abs(found.way[i, 0]) < 1e-6 for i in pair)]
    loops = (_loop(scene, found, pair) for pair in straight)
    return tuple(loop for loop in loops if loop is not None and scene.bends(loop))


def _loop(scene: Scene, found: Feet, pair: tuple[int, ...]) -> Contact | None:
    left, right = sorted(pair, key=lambda i: float(found.under.points_mm[i, 0]))
    bears = np.array([seats.points_mm[i, 1] for i in (left, right) for seats in (found.under, found.fore)])
    if float(np.ptp(bears)) > _LEVEL_mm:
        return None
    level = float(bears.min()) - scene.lift_mm
    low = scene.view.vertices_mm
    low = low[low[:, 1] < float(bears.max()) + scene.rules.base_rise_mm]
    behind = float(low[:, 2].min()) - _BEHIND_mm - scene.lift_mm
    first, last = _side(scene, found, left, level, behind), _side(scene, found, right, level, behind)[::-1]
    corners = np.vstack([first, last])
    fore, down = np.array([0.0, 0.0, 1.0]), np.array([0.0, -1.0, 0.0])
    outs = np.array([fore, down, down, down, fore])
    faces = (*found.faces(scene, left), *found.faces(scene, right))
    middle = np.array([(first[-1, 0] + last[0, 0]) / 2, level, behind])
    return as_loop(scene, scene.contact(faces, "lipped"), corners, outs, middle)


def _side(scene: Scene, found: Feet, index: int, level_mm: float, behind_mm: float) -> F64:
    """One rail's corners, from the top of its lip to where it turns behind the base."""
    lip = found.lip.points_mm[index] - scene.lift_mm * found.lip.normals[index]
    x, front = float(lip[0]), float(lip[2])
    return np.array([[x, float(lip[1]) + float(found.lip.radius_mm[index]), front], [x, level_mm, front],
                     [x, level_mm, behind_mm]])
