"""Hooks under a head: what is heavy above hangs by its head, one clip further down keeps it from swinging.

      _________
     |___   ___|     a hook on either side of the shaft, under the head
         |_|
         | |
        (| |         one open clip further down, or a claw at each side
         |_|

A hammer, an axe on its haft, a sword by its guard, a pan by its rim. Nothing stands under the end.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator
from dataclasses import dataclass

from scanprep.hold.families.bands import plainest_mm
from scanprep.hold.families.edge_claws import side_claws
from scanprep.hold.families.ledges import head_hooks
from scanprep.hold.families.probes import Collar, claws, collar
from scanprep.hold.families.records import FamilyMount
from scanprep.hold.families.scene import Scene
from scanprep.hold.records import Contact
from scanprep.rules import HoldRules

_CLIPS_AT = (0.62, 0.5, 0.74, 0.4)  # tolerance: of the way from the ledge to the lower end, tried in turn
_CLIPS = 2  # tolerance: clips tried with each pair of hooks
_LEAN_deg = HoldRules().clip_lean_deg
_BY_CLAWS = 0.97  # tolerance: how well a pair of claws suits over a clip: two wires more to see
_TALL = 1.2  # tolerance: height over width from which it hangs rather than lies


@dataclass(frozen=True, slots=True)
class HeadHook:
    """Two hooks under a head, one clip down its shaft."""

    name: str = "hooks under a head"

    def suits(self, scene: Scene) -> float:
        """Upright things with a head much wider than their shaft, heavy above: the ledges lie over their centre."""
        wide, high = (float(size) for size in scene.size_mm[:2])
        if high < _TALL * wide or not head_hooks(scene):
            return 0.0
        return scene.off_base

    def proposals(self, scene: Scene) -> Iterator[FamilyMount]:
        """Each pair of hooks with clips, then with claws at the sides of the shaft."""
        hooks = head_hooks(scene)
        tries = [(place + rank, place, wires, why, suits) for place, two in enumerate(hooks)
                 for rank, (wires, why, suits) in enumerate(_kept(scene, min(float(one.point_mm[1]) for one in two)))]
        for _, place, wires, why, suits in sorted(tries, key=lambda one: one[:2]):
            yield FamilyMount(self.name, (*hooks[place], *wires), f"hooks under its head carry it, {why}", suits)


def _kept(scene: Scene, ledge_mm: float) -> list[tuple[tuple[Contact, ...], str, float]]:
    """What keeps the shaft below a ledge from swinging, the likeliest first: a clip, claws at its sides, two clips."""
    edges, clips = claws(scene), _clips(scene, ledge_mm)
    sides = [pair for pair in side_claws(scene) if float(edges.points_mm[list(pair), 1].max()) < ledge_mm]
    one = [((clip.contact,), "an open clip on its shaft keeps it from swinging", 1.0) for clip in clips]
    beside = [(tuple(edges.contact(scene, i) for i in pair), "claws beside its shaft keep it from swinging", _BY_CLAWS)
              for pair in sides]
    two = [((a.contact, b.contact), "two open clips on its shaft keep it from swinging", _BY_CLAWS)
           for a, b in itertools.combinations(clips, 2)]
    kinds = itertools.chain.from_iterable(itertools.zip_longest(one, beside, two))
    return [way for way in kinds if way is not None]


def _clips(scene: Scene, ledge_mm: float) -> list[Collar]:
    """The open clips round the shaft below a ledge, the likeliest first."""
    found: list[Collar] = []
    for share in _CLIPS_AT:
        one = collar(scene, plainest_mm(scene, ledge_mm + share * (float(scene.low_mm[1]) - ledge_mm)), _LEAN_deg)
        if one is not None and one.sturdy >= scene.rules.sturdy_least_ratio and scene.bends(one.contact):
            found.append(one)
            if len(found) == _CLIPS:
                break
    return found
