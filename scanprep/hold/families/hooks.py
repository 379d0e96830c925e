"""A hook through an opening: a hang-hole, a handle, the eye of a tool or a link is carried at its upper edge.

What hangs by one place swings: claws low at its edge, or a second hook, keep it still.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from scanprep.hold.families.edge_claws import bent_claws, lies, low_claws, side_claws
from scanprep.hold.families.probes import claws
from scanprep.hold.families.records import FamilyMount
from scanprep.hold.families.scene import Scene
from scanprep.rules import HoldRules

_DOWN = HoldRules().hook_down_cos
_BELOW = 0.93  # tolerance: how well it suits what would stand on its hook: after claws round the edge


@dataclass(frozen=True, slots=True)
class Hooks:
    """One or two hooks through openings, and claws that keep it from swinging."""

    name: str = "hook through an opening"

    def suits(self, scene: Scene) -> float:
        """What is flat and has an opening seen from the front: best where it hangs from above its centre of mass."""
        found = claws(scene)
        hooked = found.sits & (found.opening > 0) & (found.outward[:, 1] < -_DOWN)
        if not hooked.any():
            return 0.0
        return (1.0 if float(found.points_mm[hooked, 1].max()) > 0 else _BELOW) * lies(scene)

    def proposals(self, scene: Scene) -> Iterator[FamilyMount]:
        """A hook with claws at the sides or below; two hooks with them.

        An eye may lie in a limb: it was made to hang by.
        """
        found = claws(scene)
        price = np.where(found.sits & (found.opening > 0) & (found.outward[:, 1] < -_DOWN)
                         & (found.sturdy >= scene.rules.sturdy_foot_ratio),
                         np.abs(found.points_mm[:, 0]) - 0.5 * found.points_mm[:, 1], np.inf)
        hooks = bent_claws(scene, price, 6)
        more = [*side_claws(scene)[:3], *low_claws(scene)[:2]]
        for hook, pair in itertools.product(hooks[:3], more):
            yield FamilyMount(self.name, tuple(found.contact(scene, i) for i in (hook, *pair)),
                              "a hook through its opening carries it, two claws keep it from swinging")
        for two, pair in itertools.product(itertools.combinations(hooks, 2), more[:2]):
            if np.linalg.norm(found.points_mm[two[0]] - found.points_mm[two[1]]) > 12.0:
                yield FamilyMount(self.name, tuple(found.contact(scene, i) for i in (*two, *pair)),
                                  "two hooks through its openings carry it, two claws keep it from swinging")
