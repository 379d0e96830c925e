"""Cups of prongs and rings for what is round below: balls, eggs, fruit, round-bottomed vessels.

A ring of wire below the belly centres what rests in it, as a napkin ring does an egg; prongs do the same in three
places. Above, a prong behind keeps it down: nothing else resists a shake that lifts.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from scanprep.hold.families.probes import prongs, support_ring
from scanprep.hold.families.records import FamilyMount
from scanprep.hold.families.scene import Scene
from scanprep.hold.records import Contact
from scanprep.rules import HoldRules

#: tolerance: where prongs are tried in turn, as (azimuth from the viewer, elevation) in degrees about the middle: low
#: ones, then what keeps.
_LOW = (((-55, -38), (55, -38), (180, -30)), ((-70, -30), (70, -30), (180, -40)), ((-40, -48), (40, -48), (180, -35)),
        ((0, -52), (-120, -35), (120, -35)))
_ABOVE = ((180, 50), (180, 35), (180, 65))  # tolerance: likewise
_RINGS_AT = (0.10, 0.15, 0.06, 0.21, 0.28, 0.36)  # tolerance: of the height, tried in turn
_ROUND = HoldRules().round_least_ratio


@lru_cache(maxsize=64)
def _prong(scene: Scene, azimuth_deg: float, elevation_deg: float) -> Contact | None:
    """A prong that presses at a place, or the nearest that sits and can be bent."""
    shifts = ((0, 0), (8, 0), (-8, 0), (0, 8), (0, -8), (16, 6), (-16, 6))
    found = prongs(scene, np.array([(azimuth_deg + a, elevation_deg + e) for a, e in shifts]))
    for i in np.flatnonzero(found.sits):
        contact = scene.contact((found.face(int(i), scene.limit_N(found, int(i))),), "pad")
        sturdy = scene.sturdy_ratio(found.points_mm[i:i + 1], found.normals[i:i + 1])
        if float(sturdy[0]) >= scene.rules.sturdy_least_ratio and scene.bends(contact):
            return contact
    return None


def _roundness(scene: Scene) -> float:
    wide, high, deep = (float(size) for size in scene.size_mm)
    return min(wide, deep) / max(wide, deep) * min(1.0, wide / high * 1.3)


@dataclass(frozen=True, slots=True)
class ProngedCup:
    """Three prongs below, one above behind."""

    name: str = "pronged cup"

    def suits(self, scene: Scene) -> float:
        """Round things; better the less flat their base."""
        return float(np.clip(0.9 * _roundness(scene), 0.0, 0.9)) if _roundness(scene) >= _ROUND else 0.0

    def proposals(self, scene: Scene) -> Iterator[FamilyMount]:
        """Low prongs with one above, then alone."""
        for low, above in itertools.product(_LOW, (*_ABOVE, None)):
            asked = [*low, above] if above is not None else list(low)
            found = [_prong(scene, float(a), float(e)) for a, e in asked]
            wires = tuple(contact for contact in found if contact is not None)
            if len(wires) == len(asked):
                yield FamilyMount(self.name, wires, "three prongs cup it from below, one behind keeps it down"
                                  if above is not None else "three prongs cup it from below")


@dataclass(frozen=True, slots=True)
class RingBelow:
    """A ring of wire below the belly, and a prong or two that keep it down."""

    name: str = "ring under a foot"

    def suits(self, scene: Scene) -> float:
        """Round things that narrow downwards."""
        return float(np.clip(1.0 * _roundness(scene), 0.0, 0.95)) if _roundness(scene) >= _ROUND else 0.0

    def proposals(self, scene: Scene) -> Iterator[FamilyMount]:
        """Rings at several heights, each with what keeps it above."""
        rings = [ring for share in _RINGS_AT
                 if (ring := support_ring(scene, float(scene.low_mm[1] + share * scene.size_mm[1]))) is not None
                 and scene.bends(ring)]
        keeps = [contact for azimuth, elevation in ((180, 45), (180, 30), (180, 60), (180, 12))
                 if (contact := _prong(scene, float(azimuth), float(elevation))) is not None]
        sides = [(left, right) for azimuth in (115, 90, 140) for elevation in (25, 5)
                 if (left := _prong(scene, float(-azimuth), float(elevation))) is not None
                 and (right := _prong(scene, float(azimuth), float(elevation))) is not None]
        for ring in rings[:3]:
            yield FamilyMount(self.name, (ring,), "a ring below its belly carries and centres it")
        for ring, keep in itertools.product(rings[:3], keeps[:3]):
            yield FamilyMount(self.name, (ring, keep), "a ring below its belly carries and centres it, a prong behind "
                                                       "keeps it down")
        for ring, pair in itertools.product(rings[:3], sides[:3]):
            yield FamilyMount(self.name, (ring, *pair), "a ring below its belly carries and centres it, two prongs "
                                                        "steady it")
