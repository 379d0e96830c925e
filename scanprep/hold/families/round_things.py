"""Rings of wire for what is round below: balls, eggs, fruit, vessels on a foot or a round bottom.

A ring of wire below the belly centres what rests in it, as a napkin ring does an egg; under a foot it lies flat, its
ends turned up before the foot as lips. It is open towards the viewer where that carries. Above, something keeps it
down: nothing else resists a shake that lifts.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from scanprep.hold.families.foot_ring import foot_narrows, foot_rings
from scanprep.hold.families.keeping import each_kept, neck_clips
from scanprep.hold.families.probes import support_ring
from scanprep.hold.families.pronged_cup import prong_pairs, roundness
from scanprep.hold.families.records import FamilyMount
from scanprep.hold.families.scene import Scene
from scanprep.hold.records import Contact
from scanprep.rules import HoldRules

_RINGS_AT = (0.10, 0.15, 0.06, 0.21, 0.28, 0.36)  # tolerance: of the height, tried in turn
_RINGS = 3  # tolerance: rings tried, with each way of keeping
#: tolerance: where prongs keep, as (azimuth from the viewer, elevation) in degrees about the middle; tried in turn
_BEHIND = ((180.0, 45.0), (180.0, 30.0), (180.0, 60.0), (180.0, 12.0))
#: tolerance: likewise
_BESIDE = ((115.0, 25.0), (115.0, 5.0), (90.0, 25.0), (90.0, 5.0), (140.0, 25.0), (140.0, 5.0))
_KEPT_BY = 2  # tolerance: ways of keeping a foot in its ring tried, each kind of
_CLOSED_deg = 4.0  # tolerance: where the ends of a ring that is not open stop short of each other
_ROUND, _NARROWS = HoldRules().round_least_ratio, HoldRules().foot_narrows_ratio


@dataclass(frozen=True, slots=True)
class RingBelow:
    """A ring of wire below the belly or under the foot, and what keeps it down."""

    name: str = "ring under a foot"

    def suits(self, scene: Scene) -> float:
        """A vessel whose round foot is narrower than itself, first of all; round things that narrow downwards."""
        if foot_narrows(scene) <= _NARROWS and foot_rings(scene):
            return 1.0
        if roundness(scene) < _ROUND:
            return 0.0
        return float(np.clip(roundness(scene), 0.0, 0.95)) * scene.off_base

    def proposals(self, scene: Scene) -> Iterator[FamilyMount]:
        """Rings under the foot; then below the belly at several heights, each with what keeps it above: a clip in its
        neck before anything presses on its belly."""
        if foot_narrows(scene) <= _NARROWS:
            for under, one in each_kept(scene, foot_rings(scene), _KEPT_BY):
                yield FamilyMount(self.name, (under, *one.wires), f"a ring under its foot carries it, {one.why}",
                                  one.suits)
        heights = [float(scene.low_mm[1] + share * scene.size_mm[1]) for share in _RINGS_AT]
        rings = [ring for open_deg in (scene.rules.ring_open_deg, _CLOSED_deg)
                 for ring in itertools.islice(_rings(scene, heights, open_deg), _RINGS)]
        carries = "a ring below its belly carries and centres it"
        for ring, clip in itertools.product(rings, neck_clips(scene)[:1]):
            yield FamilyMount(self.name, (ring, *clip.wires), f"{carries}, {clip.why}", clip.suits)
        for ring in rings:
            yield FamilyMount(self.name, (ring,), carries)
        for ring, keep in itertools.product(rings, list(itertools.islice(prong_pairs(scene, _BEHIND), 3))):
            yield FamilyMount(self.name, (ring, *keep), f"{carries}, a prong behind keeps it down")
        for ring, pair in itertools.product(rings, list(itertools.islice(prong_pairs(scene, _BESIDE), 3))):
            yield FamilyMount(self.name, (ring, *pair), f"{carries}, two prongs steady it")


def _rings(scene: Scene, heights_mm: list[float], open_deg: float) -> Iterator[Contact]:
    every = (support_ring(scene, height, open_deg) for height in heights_mm)
    return (ring for ring in every if ring is not None and scene.bends(ring))
