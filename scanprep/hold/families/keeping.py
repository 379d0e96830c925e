"""What keeps an object in whatever carries it: an open clip at its neck, claws above or over its back, or nothing.

          ( )   first where it is narrower than above and below: a neck, a waist, a nape
         |   |  then round the body, at most of its height
         |___|

Shared by the families that carry from below: cradle, shelf, socket. Whatever keeps it by its head or its lid comes last
(`tops`). Display frame, mm.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import zip_longest
from typing import TypeVar

import numpy as np

from scanprep.hold.families.bands import plainest_mm
from scanprep.hold.families.body import off_body, on_legs
from scanprep.hold.families.edge_claws import back_claws, off_body_count, side_claws, top_claws
from scanprep.hold.families.necks import necks_mm
from scanprep.hold.families.probes import Collar, claws, collar
from scanprep.hold.families.scene import Scene
from scanprep.hold.families.tops import on_top
from scanprep.hold.records import Contact
from scanprep.rules import HoldRules

_CLIPS_AT = (0.80, 0.72, 0.88, 0.62, 0.54, 0.46, 0.93)  # tolerance: of the height, tried in turn
_DRAWN_LATER = 3.0  # tolerance: places by which a clip all on drawn ground comes later
_NECKS, _CLIPS = 2, 4  # tolerance: clips tried in necks; and in all
_BY_ENDS = 0.6  # tolerance: how well claws suit on what stands out from the body, over claws on it
_THICKER = 1.25  # tolerance: times, what the back must be thicker than the ends to be gone over first
_BESIDE, _MOSTLY = 0.15, 0.5  # tolerance: of the width, off the centre of mass; of a clip
_PAIRS, _OVER_PAIRS = 3, 2  # tolerance: pairs of claws above tried; of what stands on legs
_LOW_SIDES_AT = (-0.44, -0.40, -0.35)  # tolerance: of the height, above its middle: at the ends of a plinth
_LEAN_deg = HoldRules().clip_lean_deg
_ASIDE, _SLENDER = HoldRules().clip_aside_ratio, HoldRules().clip_slender_ratio
_AT_NECK, _ROUND_BODY, _ABOVE, _OVER, _LOW, _NOTHING = HoldRules().keep_suits_ratios
_STEADY_deg = HoldRules().steady_least_deg
_STEADY_LOW, _STEADY_OVER = HoldRules().steady_low_ratio, HoldRules().steady_over_ratio
_OVER_BACK = "claws over its back keep it upright"
_BY_TOP = HoldRules().top_suits_ratio
Carried = TypeVar("Carried")


@dataclass(frozen=True, slots=True, eq=False)
class Keep:
    """Wires that keep an object in what carries it."""

    wires: tuple[Contact, ...]
    why: str
    suits: float  # over the best way of keeping


@lru_cache(maxsize=4)
def ways_of_keeping(scene: Scene) -> list[list[Keep]]:
    """Return what may keep an object, a list a kind, each the likeliest first; kinds that suit it little come last."""
    edges, over = claws(scene), _STEADY_OVER if steady(scene) else 1.0

    def of(chosen: tuple[int, ...]) -> tuple[Contact, ...]:
        return tuple(edges.contact(scene, i) for i in chosen)

    kinds = [
        clips(scene),
        [Keep(of(top), "a claw over its top keeps it upright",
              _OVER * over * (_BY_TOP if _any_on_top(scene, top) else 1.0)) for top in top_claws(scene)],
        claws_above(scene),
        [Keep(of(ends), "a claw low at each side keeps it from sliding", _STEADY_LOW if steady(scene) else _LOW)
         for ends in side_claws(scene, _LOW_SIDES_AT, base=True)[:2]],
        [Keep((), "it leans on their wires behind", _NOTHING)],
    ]
    return sorted(kinds, key=lambda kind: max((one.suits for one in kind), default=0.0) < _NOTHING)


def claws_above(scene: Scene) -> list[Keep]:
    """Return pairs of claws at the sides above the middle, or over the back; on what stands out from the body last.

    What stands on legs, or is thicker at its back than at its ends, is kept over the back, from behind, and not by a
    muzzle and a tail.
    """
    edges, sides, back = claws(scene), side_claws(scene), back_claws(scene)

    def thick(pair: tuple[int, ...]) -> float:
        return round(float(edges.sturdy[list(pair)].min()), 6)

    ends = [pair for pair in sides if not off_body_count(scene, pair) and not _any_on_top(scene, pair)]
    over = sorted(back, key=thick, reverse=True)
    at_ends = [(pair, "claws above keep it upright") for pair in ends]
    over_back = [(pair, _OVER_BACK) for pair in over]
    thicker = over and (not ends or thick(over[0]) >= _THICKER * max(map(thick, ends)))
    every = at_ends
    if on_legs(scene):
        return _kept_by([*over_back, *at_ends][:_OVER_PAIRS], scene)
    if thicker:  # in turn: where the one kind does not keep it the other may
        every = [pair for both in zip_longest(over_back, at_ends) for pair in both if pair is not None]
    every += [(pair, "claws above keep it upright") for pair in sides if pair not in ends]
    every.sort(key=lambda one: _any_on_top(scene, one[0]))
    return _kept_by(every[:_PAIRS], scene)


def _kept_by(pairs: Sequence[tuple[tuple[int, ...], str]], scene: Scene) -> list[Keep]:
    edges = claws(scene)
    over = _STEADY_OVER if steady(scene) else 1.0
    return [Keep(tuple(edges.contact(scene, i) for i in pair), why,
                 _ABOVE * (_BY_ENDS if off_body_count(scene, pair) else 1.0)
                 * (_BY_TOP if _any_on_top(scene, pair) else 1.0) * (over if why == _OVER_BACK else 1.0))
            for pair, why in pairs]


def steady(scene: Scene) -> bool:
    """Whether it is so low and broad that nothing tips it: it wants keeping from sliding alone, low at its sides,
    where a hook over its top would be the first thing seen."""
    return scene.stands_deg >= _STEADY_deg and not on_legs(scene)


def _any_on_top(scene: Scene, chosen: tuple[int, ...]) -> bool:
    """Whether one of some claws lies on a head or a lid."""
    return bool(on_top(scene, claws(scene).points_mm[list(chosen), 1]).any())


def each_kept(scene: Scene, carried: Sequence[Carried], most: int) -> Iterator[tuple[Carried, Keep]]:
    """Yield each of what carries with each way of keeping, up to `most` a kind: all kinds once before any again."""
    kinds = [[one for one in kind[:most] if one.wires] for kind in ways_of_keeping(scene)]
    tries = sorted((place + rank, kind, place, rank) for place in range(len(carried))
                   for kind, options in enumerate(kinds) for rank in range(len(options)))
    for _, kind, place, rank in tries:
        yield carried[place], kinds[kind][rank]


def clips(scene: Scene) -> list[Keep]:
    """Return the open clips that go round the object, those in a neck or waist first, round a head or a lid last."""
    necks = [height for height in necks_mm(scene) if not on_top(scene, np.array([height]))[0]]
    round_body = scene.low_mm[1] + np.array(_CLIPS_AT) * scene.size_mm[1]
    above = on_top(scene, round_body)
    every = [(height, True) for height in necks] + \
        [(float(height), False) for height in (*round_body[~above], *round_body[above])]
    found: list[Keep] = []
    in_necks = 0
    for height, neck in every:
        if len(found) == _CLIPS or (neck and in_necks == _NECKS):
            continue
        one = next((clip for at in _slid(scene, height, neck) if (clip := collar(scene, at, _LEAN_deg)) is not None
                    and clip.sturdy >= scene.rules.sturdy_least_ratio and not _round_a_limb(scene, clip)
                    and scene.bends(clip.contact)), None)
        if one is None:
            continue
        height = one.height_mm
        in_necks += neck
        where = "at its neck, " if neck else ""
        suits = _AT_NECK if neck else _ROUND_BODY * (_BY_ENDS if _off_the_body(scene, one) else 1.0)
        found.append(Keep((one.contact,), f"an open clip {where}{height - scene.low_mm[1]:.0f} mm above its foot "
                          "keeps it", suits * (_BY_TOP if on_top(scene, np.array([height]))[0] else 1.0)))
    return _plainest_first(found, in_necks, scene)


def _slid(scene: Scene, height_mm: float, neck: bool) -> tuple[float, ...]:
    """The heights tried for a clip: on the plainest band within its reach, then where it was thought of."""
    plainest = plainest_mm(scene, height_mm, neck=neck)
    same = plainest == height_mm or on_top(scene, np.array([plainest]))[0] != on_top(scene, np.array([height_mm]))[0]
    return (height_mm,) if same else (plainest, height_mm)


def neck_clips(scene: Scene) -> list[Keep]:
    """Return the clips that lie in a neck or waist alone."""
    return [one for kind in ways_of_keeping(scene) for one in kind if one.suits >= _AT_NECK]


def _plainest_first(found: list[Keep], in_necks: int, scene: Scene) -> list[Keep]:
    """Clips in the order in which they are tried: necks first, and of each kind what lies on plain ground before what
    crosses drawn or engraved ground, by a few places."""
    def later(place: int) -> float:
        ring = found[place].wires[0].ring
        assert ring is not None
        return round(place + _DRAWN_LATER * scene.painted_along(ring.points_mm[::2]), 6)

    return [found[k] for k in (*sorted(range(in_necks), key=later), *sorted(range(in_necks, len(found)), key=later))]


def _off_the_body(scene: Scene, clip: Collar) -> bool:
    """Whether most of a clip goes round what stands out from the body to one side: an animal's head, a spout."""
    assert clip.contact.ring is not None
    ring = clip.contact.ring.points_mm
    aside = abs(float(ring[:, 0].min() + ring[:, 0].max())) / 2  # of the centre of mass
    return aside > _BESIDE * float(scene.size_mm[0]) and float(off_body(scene, ring).mean()) > _MOSTLY


def _round_a_limb(scene: Scene, clip: Collar) -> bool:
    """Whether a clip goes round something very slender, or slender and far off the middle: a tail, an arm, a spout."""
    assert clip.contact.ring is not None
    ring = clip.contact.ring.points_mm
    wide = float(np.ptp(ring[:, 0]))
    aside = abs(float(ring[:, 0].min() + ring[:, 0].max())) / 2  # of the centre of mass
    if wide < _SLENDER * float(scene.size_mm[0]):
        return True
    return wide < _ASIDE * float(scene.size_mm[0]) and aside > _ASIDE * float(scene.size_mm[0])
