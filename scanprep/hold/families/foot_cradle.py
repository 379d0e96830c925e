"""A foot cradle: two lipped feet under the base, and a clip that keeps the object in them.

          ( )  clip: an open collar at neck, waist or nape, stemmed behind
         |   |
         |___|        each foot comes down behind, runs under the base
        _/   \\_      and turns up before it in a short lip

The feet carry; the clip decides how well it keeps. Each side takes its own height of lip and its own place within a few
per cent of the width: no base is as regular as a drawing.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from scanprep.hold.families.feet import Feet, feet
from scanprep.hold.families.foot_ring import foot_narrows, foot_rings
from scanprep.hold.families.hollows import peg_suits
from scanprep.hold.families.keeping import ways_of_keeping
from scanprep.hold.families.records import FamilyMount
from scanprep.hold.families.scene import Scene
from scanprep.hold.places.limbs import limbs_of
from scanprep.hold.wires.hidden_ways import least_shown_mm
from scanprep.rules import HoldRules

# tolerance: of the base's width, left and right of its middle; tried in turn, gates judge
_PLACES = (0.34, 0.28, 0.40, 0.22, 0.16, 0.45)
_PAIRS = 3  # tolerance: pairs of feet tried
_OFF_CENTRE = 0.05  # tolerance: of the base's width, off which the centre of mass gets feet of its own
_SPLAY_deg = (0.0, 25.0)  # tolerance: feet straight out and splayed, tried in turn
_OPEN_BELOW, _ROUND_FOOT = HoldRules().cradle_open_ratio, HoldRules().cradle_round_ratio
_NARROWS, _STANDS_NOT = HoldRules().foot_narrows_ratio, HoldRules().cradle_rocking_ratio
_UNDER_PLACES = 15  # tolerance: looked at along a foot under a belly
_BESIDE_mm, _BEFORE_mm = 4.0, 8.0  # tolerance: and so far beside it, and behind where it bears
_LIPS_mm = HoldRules().foot_lips_mm
# tolerance: over the centre of mass, where a hub is likely; over its bearing, where a foot's stem is hidden if at all
_HUB_mm, _FOOT_mm = 2.0, 4.0
_SHOWN_mm = 8.0  # tolerance: pairs of feet whose stems show alike within this are asked in their usual order


@lru_cache(maxsize=4)
def base_feet(scene: Scene) -> tuple[Feet, tuple[tuple[int, ...], ...]]:
    """Return lipped feet under the base, and the first pairs of them that stand alike left and right.

    Splayed feet are looked for where too few pairs stand straight. A foot goes where something stands over it that
    hides its stem: pairs whose stems must show are asked last.
    """
    middle, wide, _ = _base(scene)
    starts, ways = [], []
    for splay, (across, between), share in itertools.product(_SPLAY_deg, _spans(scene, middle[0], wide), _PLACES):
        turn = math.radians(splay)
        for sign in (-1.0, 1.0):
            for shift in (0.0, 0.04, -0.04):
                starts.append((across + sign * (share + shift) * between * (1 - 0.4 * bool(splay)), middle[1]))
                ways.append((sign * math.sin(turn), math.cos(turn)))
    usable: dict[int, bool] = {}
    for many in (len(starts) // len(_SPLAY_deg), len(starts)):
        found, pairs = feet(scene, np.array(starts[:many]), np.array(ways[:many]), _LIPS_mm), []

        def first(asked: list[int], found: Feet = found) -> int | None:
            for i in asked:
                if i not in usable:
                    usable[i] = _usable(scene, found, i)
            return next((i for i in asked if usable[i]), None)

        for lefts, rights in _hidden_first(scene, starts, many):
            left, right = first(lefts), first(rights)
            if left is not None and right is not None:
                pairs.append((left, right))
            if len(pairs) == _PAIRS:
                return found, tuple(pairs)
    return found, tuple(pairs)


def _hidden_first(scene: Scene, starts: list[tuple[float, float]], many: int) -> list[tuple[list[int], list[int]]]:
    """Numbers of the places for the left and the right foot of each pair, those first whose stems need not show;
    straight ones before splayed ones. Where even the best pair's must, each foot's most hidden place of all is tried
    before: behind a leg, wherever that stands."""
    shown: dict[float, int] = {}

    def shows(k: int) -> int:
        place = round(starts[k][0], 1)
        if place not in shown:
            end = np.array([place, float(scene.low_mm[1]) + _FOOT_mm])
            shown[place] = round(least_shown_mm(scene.view.front, np.array([0.0, _HUB_mm]), end) / _SHOWN_mm)
        return shown[place]

    straight = len(starts) // len(_SPLAY_deg)
    pairs = [(sorted(range(k, k + 3), key=shows), sorted(range(k + 3, k + 6), key=shows)) for k in range(0, many, 6)]
    pairs.sort(key=lambda pair: (pair[0][0] >= straight, shows(pair[0][0]) + shows(pair[1][0])))
    if shows(pairs[0][0][0]) + shows(pairs[0][1][0]) == 0:
        return pairs
    lefts, rights = (sorted((k for pair in pairs for k in pair[side] if k < straight), key=shows)[:3]
                     for side in (0, 1))
    return [(lefts, rights), *pairs]


def _spans(scene: Scene, middle_mm: float, wide_mm: float) -> list[tuple[float, float]]:
    """Middles and widths about which pairs of feet may stand: the base's own; and evenly about the centre of mass."""
    near = float(min(-scene.low_mm[0], scene.high_mm[0], wide_mm / 2 - abs(middle_mm) if abs(middle_mm) < wide_mm / 2
                     else scene.size_mm[0]))
    lopsided = abs(middle_mm) > _OFF_CENTRE * wide_mm
    return [(middle_mm, wide_mm), *([(0.0, 2 * near)] if lopsided else [])]


def _usable(scene: Scene, found: Feet, index: int) -> bool:
    return bool(found.sits[index]) and float(found.sturdy[index]) >= scene.rules.sturdy_foot_ratio and \
        _at_foot_or_belly(scene, found, index) and scene.bends(found.contact(scene, index))


def _at_foot_or_belly(scene: Scene, found: Feet, index: int) -> bool:
    """Whether a wire bears under what it stands on, or else under the body alone: never on a shank, nor among teats."""
    faces = found.faces(scene, index)
    points = np.array([face.point_mm for face in faces])
    if float(points[:, 1].min()) < scene.low_mm[1] + scene.rules.base_rise_mm:
        return True
    line = np.linspace(points[0] - _BEFORE_mm * found.way[index], points[-1], _UNDER_PLACES)
    beside = np.array([-found.way[index, 2], 0.0, found.way[index, 0]])
    under = np.vstack([line + off_mm * beside for off_mm in (-_BESIDE_mm, 0.0, _BESIDE_mm)])
    under[:, 1] = scene.low_mm[1] - 5.0
    hit = scene.cast(under, np.array([0.0, 1.0, 0.0]))
    limbs = limbs_of(scene.view.body, scene.rules)
    touched = np.vstack([points, hit.points_mm[hit.met]])
    return not limbs.near(touched @ scene.view.rotation).any()


def _base(scene: Scene) -> tuple[tuple[float, float], float, float]:
    """Middle (x, z), width and depth of what stands within the base's rise of the lowest point."""
    points = scene.view.vertices_mm
    low = points[points[:, 1] < scene.low_mm[1] + scene.rules.base_rise_mm]
    least, most = low.min(axis=0), low.max(axis=0)
    return ((float(least[0] + most[0]) / 2, float(least[2] + most[2]) / 2), float(most[0] - least[0]),
            float(most[2] - least[2]))


@dataclass(frozen=True, slots=True)
class FootCradle:
    """Two lipped feet and a clip."""

    name: str = "foot cradle with clip"

    def suits(self, scene: Scene) -> float:
        """What stands on a base that is no mere edge; what rolls has none."""
        if scene.rolls:
            return 0.0
        _, wide, depth = _base(scene)
        stands = min(wide / max(float(scene.size_mm[0]), 1e-6), depth / max(float(scene.size_mm[2]), 1e-6))
        squat = float(np.clip(2.0 - float(scene.size_mm[1]) / (3.0 * max(min(wide, depth), 1e-6)), 0.0, 1.0))
        steady = 1.0 if scene.stands else _STANDS_NOT * squat
        if depth <= 6.0 or stands <= 0.15:
            return 0.0
        steady *= 1.0 - (1.0 - _OPEN_BELOW) * peg_suits(scene)
        if foot_narrows(scene) <= _NARROWS and foot_rings(scene):
            steady *= _ROUND_FOOT
        return float(np.clip(0.35 + 1.2 * stands, 0.0, 1.0)) * steady

    def proposals(self, scene: Scene) -> Iterator[FamilyMount]:
        """Pairs of feet with one way of keeping after the other: open clips, a claw at the top, claws at the sides.

        The likeliest pair of feet is tried with every way before the next pair is, so that what fails for one reason
        is not tried again and again.
        """
        found, pairs = base_feet(scene)
        ways = ways_of_keeping(scene)
        feet_sets = [tuple(found.contact(scene, i, leans=leans) for i in pair) for pair in pairs[:_PAIRS]
                     for leans in (True, False) if leans or found.back.sits[list(pair)].any()]
        tries = sorted((place + rank, kind, place, rank) for place in range(len(feet_sets))
                       for kind, options in enumerate(ways) for rank in range(len(options)))
        for _, kind, place, rank in tries:
            kept = ways[kind][rank]
            yield FamilyMount(self.name, (*feet_sets[place], *kept.wires), f"two lipped feet carry it, {kept.why}",
                              kept.suits)
