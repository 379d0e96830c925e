"""A cup of prongs: two before and one or two behind where the underside curves in, and what keeps it there.

         ( )   prongs behind, high up, or at both sides
        /   \\
        \\___/
        /   \\  prongs below, where it curves in

For balls, fruit and whatever stands on nothing: heads on a broken neck, skulls, lumps. Left and right alike, each where
the surface takes a pad; those that show least first. Display frame, mm.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from scanprep.hold.families.probes import prongs
from scanprep.hold.families.records import FamilyMount
from scanprep.hold.families.scene import Scene
from scanprep.hold.records import Contact
from scanprep.rules import HoldRules

_ROUND = HoldRules().round_least_ratio
_STANDS_ON_NOTHING = HoldRules().cup_any_ratio
#: tolerance: azimuths from the viewer's way at which prongs are tried, in degrees
_FORE, _REAR = (55.0, 70.0, 40.0, 85.0), (180.0, 125.0, 150.0)
#: tolerance: elevations about the middle, in degrees
_LOW = (-38.0, -48.0, -28.0, -58.0, -70.0)
#: tolerance: azimuths and elevations of what keeps it
_KEEP_AT = ((180.0, 50.0), (180.0, 35.0), (180.0, 65.0), (180.0, 20.0), (120.0, 35.0), (105.0, 20.0), (140.0, 20.0))
_SHIFTS = ((0, 0), (8, 0), (-8, 0), (0, 8), (0, -8), (16, 6), (-16, 6))  # tolerance: off the asked place, in degrees
_RISES = 0.5  # tolerance: how squarely a low prong looks up at least, as a cosine: it carries
_LEVEL = 0.12  # tolerance: of the height, how unlike the heights of twins may be
_DRAWN = 0.1  # tolerance: of the size, what a cup all on drawn ground costs, in being off the centre of mass
_LOWS, _KEEPS = 9, 4  # tolerance: cups, and ways of keeping each, that are tried

Prongs = tuple[Contact, ...]


@lru_cache(maxsize=256)
def prong(scene: Scene, azimuth_deg: float, elevation_deg: float) -> Contact | None:
    """Return a prong that presses at a place, or the nearest that sits and can be bent."""
    found = prongs(scene, np.array([(azimuth_deg + a, elevation_deg + e) for a, e in _SHIFTS]))
    for i in np.flatnonzero(found.sits):
        contact = scene.contact((found.face(int(i), scene.limit_N(found, int(i))),), "pad")
        sturdy = scene.sturdy_ratio(found.points_mm[i:i + 1], found.normals[i:i + 1])
        if float(sturdy[0]) >= scene.rules.sturdy_least_ratio and scene.bends(contact):
            return contact
    return None


def prong_pairs(scene: Scene, places: Sequence[tuple[float, float]]) -> Iterator[Prongs]:
    """Yield what presses at each place: one at the back's middle, two alike at its sides elsewhere."""
    for azimuth, elevation in places:
        right = prong(scene, azimuth, elevation)
        if right is None:
            continue
        if azimuth == 180.0:
            yield (right,)
        elif (left := prong(scene, -azimuth, elevation)) is not None and \
                abs(left.point_mm[1] - right.point_mm[1]) <= _LEVEL * float(scene.size_mm[1]):
            yield left, right


def _first_low(scene: Scene, azimuth_deg: float) -> Prongs | None:
    """The prongs at an azimuth that carry, where the underside takes them highest up."""
    return next((found for found in prong_pairs(scene, [(azimuth_deg, low) for low in _LOW])
                 if all(one.normal[1] >= _RISES for one in found)), None)


@lru_cache(maxsize=4)
def cups(scene: Scene) -> tuple[Prongs, ...]:
    """Return cups of three or four prongs below, those first that are centred best under the centre of mass."""
    fore = [pair for azimuth in _FORE if (pair := _first_low(scene, azimuth)) is not None]
    rear = [some for azimuth in _REAR if (some := _first_low(scene, azimuth)) is not None]
    front = _first_low(scene, 0.0)
    found = [(*before, *behind) for before, behind in itertools.product(fore, rear)]
    if front is not None:
        found += [(*front, *behind) for behind in rear if len(behind) == 2]
    size = float(scene.size_mm.max())
    return tuple(sorted(found, key=lambda cup: round(_off_mm(cup) + _DRAWN * size * _drawn(scene, cup), 3))[:_LOWS])


def _drawn(scene: Scene, some: Prongs) -> float:
    """How drawn the ground is that some prongs press, as a mean, 0..1."""
    return float(scene.drawn(np.array([prong.point_mm for prong in some])).mean())


def _off_mm(cup: Prongs) -> float:
    """How far the centre of mass lies from the middle of what carries it, in plan."""
    at = np.array([prong.point_mm for prong in cup])[:, [0, 2]]
    return float(np.linalg.norm(at.mean(axis=0)))


def roundness(scene: Scene) -> float:
    """Return how round an object is, as it stands: 1 for a ball, 0 for a stick or a plate."""
    wide, high, deep = (float(size) for size in scene.size_mm)
    return min(wide, deep) / max(wide, deep) * min(1.0, wide / high * 1.3)


@dataclass(frozen=True, slots=True)
class ProngedCup:
    """Prongs below, and a prong or two above them behind."""

    name: str = "pronged cup"

    def suits(self, scene: Scene) -> float:
        """Round things; and, less, whatever stands on nothing."""
        if roundness(scene) >= _ROUND:
            return float(np.clip(0.9 * roundness(scene), 0.0, 0.9)) * scene.off_base
        return 0.0 if scene.stands else _STANDS_ON_NOTHING

    def proposals(self, scene: Scene) -> Iterator[FamilyMount]:
        """Cups with what keeps them down behind or at the sides, then alone."""
        keeps = list(itertools.islice(prong_pairs(scene, _KEEP_AT), _KEEPS))
        for rank, cup in sorted(itertools.product(range(len(keeps) + 1), range(len(cups(scene)))),
                                key=lambda pair: (sum(pair), pair)):
            kept = keeps[rank] if rank < len(keeps) else ()
            why = "one behind keeps it down" if len(kept) == 1 else "two at its sides keep it down" if kept else ""
            number = {3: "three", 4: "four"}[len(cups(scene)[cup])]
            yield FamilyMount(self.name, (*cups(scene)[cup], *kept),
                              f"{number} prongs cup it from below" + (f", {why}" if why else ""))
