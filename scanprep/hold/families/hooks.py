"""A hook through an opening: a hang-hole, a handle, the eye of a tool or a link is carried at its upper edge.

What hangs by one place swings: claws low at its edge, or a second hook, keep it still.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from scanprep.hold.families.edge_claws import (
    compact,
    hooked,
    lies,
    low_claws,
    lower_edge_mm,
    made_to_hang,
    side_claws,
    upper_edge_mm,
)
from scanprep.hold.families.edge_pairs import bent_claws, pick
from scanprep.hold.families.probes import claws
from scanprep.hold.families.records import FamilyMount
from scanprep.hold.families.scene import Bools, Scene

_BELOW = 0.93  # tolerance: how well it suits what would stand on its hook: after claws round the edge
_NOT_KEPT_ON = 0.9  # tolerance: how well a hook suits over which nothing keeps the object on it
_MIDDLE = 0.15  # tolerance: of the width, how far off the centre of mass the eye of what stands may be
_UP = 0.5  # tolerance: how squarely an edge looks up that is kept down, as a cosine; or down that is kept from swinging
_HUNG = ("a hook through its opening carries it, a claw over its edge keeps it on the hook and what is below keeps it "
         "from swinging")
_LEVEL = 0.06  # tolerance: of the height, how unlike the heights of hooks in two openings may be


@dataclass(frozen=True, slots=True)
class Hooks:
    """One or two hooks through openings, and claws that keep it from swinging."""

    name: str = "hook through an opening"

    def suits(self, scene: Scene) -> float:
        """What is flat and has an opening seen from the front: best where it hangs from above its centre of mass.

        A plate whose openings are elsewhere (bolt holes, a bore) takes claws as well.
        """
        hangs = hooked(scene)
        if not hangs.any():
            return 0.0
        above = float(claws(scene).points_mm[hangs, 1].max()) > 0 and not compact(scene)
        return (1.0 if above or made_to_hang(scene) else _BELOW) * lies(scene)

    def proposals(self, scene: Scene) -> Iterator[FamilyMount]:
        """A hook with claws at the sides or below; two hooks with them.

        An eye may lie in a limb: it was made to hang by. What stands by itself has its eye in the middle, and hangs by
        no handle, trunk or tail at its side.
        """
        found = claws(scene)
        aside = np.abs(found.points_mm[:, 0]) > _MIDDLE * float(scene.size_mm[0])
        least = np.where(aside & scene.stands, scene.rules.sturdy_least_ratio, scene.rules.sturdy_foot_ratio)
        able = hooked(scene) & (found.sturdy >= least)
        price = np.where(able, np.abs(found.points_mm[:, 0]) - 0.5 * found.points_mm[:, 1], np.inf)
        hooks = bent_claws(scene, price, 6)
        more = [*side_claws(scene)[:3], *low_claws(scene)[:2]]
        for two, pair in itertools.product(_twins(scene, able), more[:3]):
            yield FamilyMount(self.name, tuple(found.contact(scene, i) for i in (*two, *pair)),
                              "a hook in each of two openings carries it, two claws keep it from swinging")
        for hook, kept in itertools.product(hooks[:2], _kept(scene, hooks)):
            yield FamilyMount(self.name, tuple(found.contact(scene, i) for i in (hook, *kept)), _HUNG)
        for hook, pair in itertools.product(hooks[:3], more):
            yield FamilyMount(self.name, tuple(found.contact(scene, i) for i in (hook, *pair)),
                              "a hook through its opening carries it, two claws keep it from swinging",
                              1.0 if _above(scene, pair) else _NOT_KEPT_ON)
        for two, pair in itertools.product(itertools.combinations(hooks, 2), more[:2]):
            if np.linalg.norm(found.points_mm[two[0]] - found.points_mm[two[1]]) > 12.0:
                yield FamilyMount(self.name, tuple(found.contact(scene, i) for i in (*two, *pair)),
                                  "two hooks through its openings carry it, two claws keep it from swinging")


def _kept(scene: Scene, hooks: list[int]) -> list[tuple[int, ...]]:
    """Claws that keep what hangs: one above, over its hook or over its centre of mass, and one or two below."""
    found = claws(scene)
    at_x = [float(found.points_mm[hook, 0]) for hook in hooks[:1]] + [0.0]
    over = [pick(scene, found, np.array([x, upper_edge_mm(scene, x)]), np.array([0.0, 1.0]), _UP) for x in at_x]
    under = [pick(scene, found, np.array([x, lower_edge_mm(scene, x)]), np.array([0.0, -1.0]), _UP)
             for x in dict.fromkeys([0.0, *at_x])]
    above = list(dict.fromkeys(one for one in over if one is not None))
    below = [(one,) for one in dict.fromkeys(under) if one is not None and found.points_mm[one, 1] < 0]
    return [(top, *low) for low in (*below, *low_claws(scene)[:1]) for top in above]


def _twins(scene: Scene, able: Bools) -> list[tuple[int, int]]:
    """A hook in each of two openings to the left and right of the centre of mass at one height, above it: the bows of
    a pair of scissors, a plate drilled twice."""
    found, high = claws(scene), float(scene.size_mm[1])
    above = able & (found.points_mm[:, 1] > 0)
    left, right = (bent_claws(scene, np.where(above & (side * found.points_mm[:, 0] > 0),
                                              -found.points_mm[:, 1], np.inf), 3) for side in (-1.0, 1.0))
    pairs = [(a, b) for a, b in itertools.product(left, right) if found.opening[a] != found.opening[b]
             and abs(found.points_mm[a, 1] - found.points_mm[b, 1]) <= _LEVEL * high]
    return sorted(pairs, key=lambda two: round(abs(float(found.points_mm[list(two), 0].sum())), 6))[:1]


def _above(scene: Scene, chosen: tuple[int, ...]) -> bool:
    """Whether one of some claws presses down on an edge that looks up."""
    return bool((claws(scene).outward[list(chosen), 1] > _UP).any())
