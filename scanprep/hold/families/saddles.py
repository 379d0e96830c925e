"""Saddles and clips along a shaft: two U of wire under a long level thing, two open clips round a long upright one.

    level:  ___________________       upright:   ( |     a clip round the shaft
              U           U                      _|_     a ledge, a shoulder or the end, borne from below
                                                 ( |     a clip

A saddle comes down behind, runs under and turns up in front by a short lip. A straight shaft would slide along its
saddles: claws at both ends stop it where its own shape does not.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from scanprep.hold.families.bands import plainest_mm
from scanprep.hold.families.edge_claws import side_claws
from scanprep.hold.families.keeping import each_kept
from scanprep.hold.families.ledges import ledge_claws
from scanprep.hold.families.probes import Collar, claws, collar, saddles
from scanprep.hold.families.records import FamilyMount
from scanprep.hold.families.scene import Scene
from scanprep.hold.records import Contact
from scanprep.rules import HoldRules

_AT = (0.25, 0.32, 0.19, 0.38)  # tolerance: of the length, each side of the centre of mass; tried in turn
_SNAP = (0.0, 0.03, -0.03, 0.06, -0.06)  # tolerance: likewise, off the asked place
_LEVEL, _UPRIGHT = HoldRules().saddle_level_ratio, HoldRules().saddle_upright_ratio
_STANDS_ON_NOTHING = HoldRules().saddles_any_ratio
_KEPT_BY = 2  # tolerance: ways of keeping tried, each kind of
_CLIPS_AT = (0.86, 0.78, 0.70, 0.62, 0.54, 0.46, 0.38, 0.30, 0.22)  # tolerance: of the height, tried in turn
_DRAWN_OFF = 0.3  # tolerance: of the height, what a clip all on drawn ground costs, in being off the balance point
_PLAIN_OF = 5  # tolerance: of the highest clips, of which the plainest are tried first
_LEAN_deg = HoldRules().clip_lean_deg


@dataclass(frozen=True, slots=True)
class Saddles:
    """Two U under a long level thing."""

    name: str = "two saddles"

    def suits(self, scene: Scene) -> float:
        """What is much longer than high, and no plate seen on its face; and, less, whatever stands on nothing."""
        long = float(scene.size_mm[0] / max(float(scene.size_mm[1]), 1e-6))
        if long >= _LEVEL:
            return float(np.clip(0.6 + (long - _LEVEL) / 2, 0.0, 1.0)) * scene.off_base
        return 0.0 if scene.stands or scene.rolls else _STANDS_ON_NOTHING

    def proposals(self, scene: Scene) -> Iterator[FamilyMount]:
        """Two saddles alone, then with claws at the ends, then with what keeps it from above."""
        pairs = _saddle_pairs(scene)
        ends = [tuple(claws(scene).contact(scene, i) for i in pair) for pair in side_claws(scene)[:2]]
        for pair in pairs:
            yield FamilyMount(self.name, pair, "two saddles carry it, their lips keep it from rolling forward")
        for pair, more in itertools.product(pairs[:3], ends):
            yield FamilyMount(self.name, (*pair, *more),
                              "two saddles carry it, a claw at each end keeps it from sliding")
        for pair, one in each_kept(scene, pairs[:3], _KEPT_BY):
            yield FamilyMount(self.name, (*pair, *one.wires), f"two saddles carry it, {one.why}", one.suits)


@lru_cache(maxsize=4)
def _saddle_pairs(scene: Scene) -> tuple[tuple[Contact, ...], ...]:
    places = [(k, sign, sign * share * float(scene.size_mm[0]) + snap * float(scene.size_mm[0]))
              for k, share in enumerate(_AT) for sign in (-1.0, 1.0) for snap in _SNAP]
    found = saddles(scene, np.array([x for *_, x in places]))
    pairs = []
    for k in range(len(_AT)):
        sides = []
        for sign in (-1.0, 1.0):
            sits = [i for i, (group, side, _) in enumerate(places) if group == k and side == sign and found.sits[i]
                    and found.sturdy[i] >= scene.rules.sturdy_least_ratio and scene.bends(found.contact(scene, i))][:1]
            sides += sits
        if len(sides) == 2:
            pairs.append(tuple(found.contact(scene, i) for i in sides))
    return tuple(pairs)


@lru_cache(maxsize=4)
def shaft_clips(scene: Scene) -> tuple[Collar, ...]:
    """Return the open clips round an upright shaft, the highest first."""
    heights = (plainest_mm(scene, float(scene.low_mm[1] + share * scene.size_mm[1])) for share in _CLIPS_AT)
    every = (collar(scene, height, _LEAN_deg) for height in heights)
    return tuple(one for one in every if one is not None and one.sturdy >= scene.rules.sturdy_least_ratio
                 and scene.bends(one.contact))


def _drawn(scene: Scene, clip: Collar) -> float:
    """How drawn the ground is that a clip crosses, 0..1."""
    assert clip.contact.ring is not None
    return scene.painted_along(clip.contact.ring.points_mm[::2])


@dataclass(frozen=True, slots=True)
class ShaftClips:
    """Two clips round a shaft, and what bears it from below."""

    name: str = "clips on a shaft"

    def suits(self, scene: Scene) -> float:
        """Things much higher than wide and not flat."""
        wide, high, deep = (float(size) for size in scene.size_mm)
        slender, round_ = high / max(wide, deep), min(wide, deep) / max(wide, deep)
        if slender < _UPRIGHT:
            return 0.0
        fits = float(np.clip(0.5 + (slender - _UPRIGHT) / 2, 0.0, 0.95) * np.clip((round_ - 0.35) / 0.3, 0.0, 1.0))
        return fits * scene.off_base

    def proposals(self, scene: Scene) -> Iterator[FamilyMount]:
        """A pair under a ledge, or one claw under the end, with one clip; with two where one is too little."""
        clips, high = shaft_clips(scene), float(scene.size_mm[1])
        drawn = {one.height_mm: _drawn(scene, one) for one in clips}
        pairs = sorted(((a, b) for a, b in itertools.combinations(clips, 2)
                        if a.height_mm - b.height_mm > 0.2 * scene.size_mm[1]),
                       key=lambda two: round(abs(two[0].height_mm + two[1].height_mm)
                                             + _DRAWN_OFF * high * sum(drawn[one.height_mm] for one in two), 6))
        edges = claws(scene)
        for low in ledge_claws(scene)[:4]:
            below = tuple(edges.contact(scene, i) for i in low)
            for one in sorted(clips[:_PLAIN_OF], key=lambda one: round(drawn[one.height_mm], 1))[:3]:
                yield FamilyMount(self.name, (*below, one.contact),
                                  "borne under a ledge, one open clip keeps the shaft")
            for a, b in pairs[:2]:
                yield FamilyMount(self.name, (*below, a.contact, b.contact),
                                  "borne under a ledge or its end, two open clips keep the shaft")
