"""Two bearers across under a low body that stands on legs or wheels, and what keeps it on them.

         _______________          from the side:   |  ____
        (_______________)  body                    | (____)| lip at its flank
        / /  |     |  \\ \\                         |___||__|
       / /   ^     ^   \\ \\  bearers, between its legs

A wagon is borne under its chassis between the wheels, a crab under its shell between the legs: what it stands on rolls
or breaks. Each bearer comes from behind, lies under the belly and turns up before it in a lip at the flank. Where legs
leave room is asked all along the body; the two stand as far apart as they may, one on either side of the weight.
Display frame, mm.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from scanprep.hold.families.feet import Feet, feet
from scanprep.hold.families.keeping import Keep, ways_of_keeping
from scanprep.hold.families.records import FamilyMount
from scanprep.hold.families.scene import Bools, Hit, Scene, Seats
from scanprep.hold.records import Contact
from scanprep.rules import HoldRules
from scanprep.vectors import F64

_STEP_mm, _PLACES = 2.0, 80  # tolerance: between places along the body that are asked; and how many at most
_GAP_mm, _GAPS_WORTH = 2.0, 0.33  # tolerance: what may hang lower between two bearers; what a gap for each is worth
_LEVEL_mm = 1.2  # tolerance: how much lower the object may be a step beside a bearer: a wheel's flank is not level
_FAR, _BEST = 0.8, 0.5  # tolerance: of the body's half length, how far out bearers may stand; and where best
_PAIRS, _KEPT_BY = 4, 3  # tolerance: pairs of bearers tried; and ways of keeping, each kind of
# tolerance: off the middle between the bearers, in their distance, where hooks go over the back
_OVER_AT = (0.0, 0.25, -0.25, 0.4, -0.4, 0.6, -0.6, 0.8, -0.8)
_TOP, _SQUARE = 0.6, 0.8  # tolerance: how squarely the back looks up under a hook, an end sideways, as cosines
_ENDS_AT = (0.08, 0.2, 0.35, 0.5, 0.65)  # tolerance: of the body's depth from behind, where its ends are stopped
_RISES_mm = (3.0, 6.0, 10.0, 15.0)  # tolerance: above its belly, likewise
_SAME_END_mm = 6.0  # tolerance: how much further in an end may still be stopped
_LIPS_mm = HoldRules().foot_lips_mm
_LOW, _HIGH = HoldRules().under_body_low_ratios
_, _, _, _OVER, _, _ = HoldRules().keep_suits_ratios


@dataclass(frozen=True, slots=True)
class UnderBody:
    """Two bearers under a belly or chassis, and a clip, a hook over the back or claws."""

    name: str = "bearers under a body"

    def suits(self, scene: Scene) -> float:
        """What stands on legs or wheels, its belly low: the lower over its own depth, the better."""
        if not scene.stands or not bearers(scene):
            return 0.0
        found, pairs = _found(scene)
        rise = float(np.mean([_height_mm(found, i) for i in pairs[0]])) - float(scene.low_mm[1])
        deep = float(np.mean([_deep_mm(found, i) for i in pairs[0]]))
        return float(np.clip((_HIGH - rise / max(deep, 1e-6)) / (_HIGH - _LOW), 0.0, 1.0))

    def proposals(self, scene: Scene) -> Iterator[FamilyMount]:
        """Pairs of bearers with one way of keeping after the other: stops at its ends, hooks over its back, both; then
        clips and claws."""
        pairs, over, stops = bearers(scene), hooks_over(scene), end_stops(scene)
        both = [Keep((*one.wires, *other.wires), f"{one.why}, {other.why}", one.suits)
                for one, other in itertools.product(over[:_KEPT_BY], stops[:1])]
        kinds = [kind[:_KEPT_BY] for kind in (stops, over, both, *ways_of_keeping(scene))]
        tries = sorted((place + rank, kind, place, rank) for place in range(len(pairs))
                       for kind, options in enumerate(kinds) for rank in range(len(options)))
        for _, kind, place, rank in tries:
            kept = kinds[kind][rank]
            yield FamilyMount(self.name, (*pairs[place], *kept.wires),
                              f"two bearers under its body carry it, {kept.why}", kept.suits)


@lru_cache(maxsize=4)
def bearers(scene: Scene) -> tuple[tuple[Contact, Contact], ...]:
    """Return pairs of bearers, those first that stand furthest from the weight on both sides."""
    found, pairs = _found(scene)
    return tuple((found.contact(scene, left), found.contact(scene, right)) for left, right in pairs)


@lru_cache(maxsize=4)
def _found(scene: Scene) -> tuple[Feet, tuple[tuple[int, int], ...]]:
    """What may bear along the whole object, and which pairs of it are tried."""
    half = _half_mm(scene)
    ends = max(float(scene.low_mm[0]), -_FAR * half), min(float(scene.high_mm[0]), _FAR * half)
    x = np.linspace(*ends, min(_PLACES, int((ends[1] - ends[0]) / _STEP_mm)) + 2)[1:-1]
    found = feet(scene, np.column_stack([x, np.zeros(len(x))]), np.tile([0.0, 1.0], (len(x), 1)), _LIPS_mm)
    depth = np.tile([float(scene.low_mm[2]), float(scene.high_mm[2])], (len(x), 1))
    room_mm = _room_below_mm(scene, x, depth)
    heights = np.array([_height_mm(found, i) for i in range(len(x))])
    run = np.column_stack([found.under.points_mm[:, 2], found.lip.points_mm[:, 2]])
    beside = np.minimum(*(_room_below_mm(scene, x + aside, run) for aside in (-_STEP_mm, _STEP_mm)))
    level = beside > heights - _LEVEL_mm
    good = [i for i in np.flatnonzero(found.sits & level) if _under_the_body(scene, found, int(i))]
    sides = [[int(i) for i in good if sign * x[i] > 0] for sign in (-1.0, 1.0)]

    def order(pair: tuple[int, int]) -> tuple[float, float]:
        """How near both stand to where an even bar is best borne; a gap between legs for each is worth less than one
        for both."""
        left, right = pair
        lever = np.abs(x[list(pair)])
        worth = float(np.minimum(lever, np.maximum(2 * _BEST * half - lever, 0.0)).min())
        one_gap = float(room_mm[left:right + 1].min()) >= float(heights[[left, right]].min()) - _GAP_mm
        return -round(worth * (1.0 if one_gap else _GAPS_WORTH), 3), round(float(lever.max()), 3)

    ordered = sorted(((left, right) for left in sides[0] for right in sides[1]), key=order)
    bent: dict[int, bool] = {}
    pairs: list[tuple[int, int]] = []
    for pair in ordered:
        if any(_alike(x, pair, other) for other in pairs):
            continue
        for i in pair:
            if i not in bent:
                bent[i] = scene.bends(found.contact(scene, i))
        if bent[pair[0]] and bent[pair[1]]:
            pairs.append(pair)
        if len(pairs) == _PAIRS:
            break
    return found, tuple(pairs)


def _half_mm(scene: Scene) -> float:
    """Half the length of an even bar whose skin lies as far from its middle: what hangs off the body counts little."""
    return math.sqrt(3.0) * float((scene.view.body.shell_mm @ scene.view.rotation[0]).std())


def _room_below_mm(scene: Scene, x_mm: F64, z_mm: F64) -> F64:
    """The height (n,) of whatever hangs lowest at places along the object, from one depth (n, 2) to another: a leg, a
    wheel, or the belly."""
    deep = np.linspace(z_mm[:, 0], z_mm[:, 1], 25, axis=1)
    at = np.column_stack([np.repeat(x_mm, deep.shape[1]), np.full(deep.size, float(scene.low_mm[1]) - 5.0),
                          deep.ravel()])
    hit = scene.cast(at, np.array([0.0, 1.0, 0.0]))
    return np.asarray(np.where(hit.met, hit.points_mm[:, 1], np.inf).reshape(deep.shape).min(axis=1))


def _alike(x_mm: F64, pair: tuple[int, int], other: tuple[int, int]) -> bool:
    """Whether two pairs stand in nearly the same places."""
    return all(abs(float(x_mm[i] - x_mm[k])) < 1.5 * _STEP_mm for i, k in zip(pair, other))


def _under_the_body(scene: Scene, found: Feet, index: int) -> bool:
    """Whether a bearer lies under the body itself, higher than what it stands on, its lip on the body's flank."""
    rises = _height_mm(found, index) > float(scene.low_mm[1]) + scene.rules.base_rise_mm
    points, normals = found.under.points_mm[index][None], found.under.normals[index][None]
    return bool(rises) and min(float(found.sturdy[index]), float(scene.sturdy_ratio(points, normals)[0])) >= \
        scene.rules.sturdy_least_ratio


def _height_mm(found: Feet, index: int) -> float:
    return float(found.under.points_mm[index, 1] + found.fore.points_mm[index, 1]) / 2


def _deep_mm(found: Feet, index: int) -> float:
    """From where a bearer lies behind to its lip."""
    return float(found.lip.points_mm[index, 2] - found.under.points_mm[index, 2])


@lru_cache(maxsize=4)
def hooks_over(scene: Scene) -> list[Keep]:
    """Return hooks that come from behind over the body's back and turn down before it: one alone, then pairs.

    A pair stands where the back falls off towards its ends, as far apart as they lie: there they stop it sideways too.
    """
    found, pairs = _found(scene)
    if not pairs:
        return []
    apart = float(found.under.points_mm[pairs[0][1], 0] - found.under.points_mm[pairs[0][0], 0])
    middle = float(found.under.points_mm[list(pairs[0]), 0].mean())
    at = {share: _hook_over(scene, middle + share * apart) for share in _OVER_AT}
    keeps = [Keep((left, right), "a hook over its back towards either end keeps it down", _OVER)
             for share, right in at.items()
             if share > 0 and right is not None and (left := at[-share]) is not None]
    alone = [Keep((hook,), "a hook over its back keeps it down", _OVER) for hook in at.values() if hook is not None]
    return [*alone[:1], *keeps[::-1]]


def _hook_over(scene: Scene, x_mm: float) -> Contact | None:
    """A hook over the body at a place: it lies on the back's top and lips down before it."""
    down, fore = np.array([0.0, -1.0, 0.0]), np.array([0.0, 0.0, 1.0])
    top = scene.cast(np.array([[x_mm, float(scene.high_mm[1]) + 5.0, 0.0]]), down)
    seat = scene.seats(Hit(top.points_mm, top.outward, top.met & (top.outward[:, 1] > _TOP)), scene.pad_radii_mm)
    if not _on_body(scene, seat)[0]:
        return None
    for below in _LIPS_mm[1:]:
        at = np.array([[x_mm, float(top.points_mm[0, 1]) - below, float(scene.high_mm[2]) + 5.0]])
        hit = scene.cast(at, -fore)
        lip = scene.seats(Hit(hit.points_mm, hit.outward, hit.met & (hit.outward[:, 2] > 0.5)), (scene.lip_radius_mm,))
        if not _on_body(scene, lip)[0]:
            continue
        faces = (seat.face(0, scene.limit_N(seat, 0)), lip.face(0, scene.limit_N(lip, 0)))
        hook = scene.contact(faces, "lipped", along=(0, 1))
        if scene.bends(hook):
            return hook
    return None


@lru_cache(maxsize=4)
def end_stops(scene: Scene) -> list[Keep]:
    """Return pairs of pads that stop the body at both its ends, those furthest back first: they show least."""
    ends = [_stops_at(scene, sign) for sign in (-1.0, 1.0)]
    return [Keep((left, right), "a stop at each end keeps it from sliding", _OVER) for left, right in zip(*ends)]


def _stops_at(scene: Scene, sign: float) -> list[Contact]:
    """Pads on one end of the body, the outermost that looks that way: what hangs off it is passed by."""
    found, pairs = _found(scene)
    if not pairs:
        return []
    low = max(_height_mm(found, i) for i in pairs[0])
    rear = float(found.under.points_mm[list(pairs[0]), 2].min())
    fore = float(found.lip.points_mm[list(pairs[0]), 2].min())
    outer = float(scene.high_mm[0] if sign > 0 else -scene.low_mm[0])
    x, z, y = np.meshgrid(np.arange(outer + 5.0, 0.0, -3 * _STEP_mm), rear + np.array(_ENDS_AT) * (fore - rear),
                          low + np.array(_RISES_mm), indexing="ij")
    way = np.array([-sign, 0.0, 0.0])
    hit = scene.cast(np.column_stack([sign * x.ravel(), y.ravel(), z.ravel()]), way)
    faces_out = hit.met & (hit.outward @ -way > _SQUARE)
    seats = scene.seats(Hit(hit.points_mm, hit.outward, faces_out), scene.pad_radii_mm)
    good = np.flatnonzero(_on_body(scene, seats))
    # the outermost end of the body, on it those furthest back
    outermost = float((sign * seats.points_mm[good, 0]).max(initial=-np.inf))
    good = good[sign * seats.points_mm[good, 0] > outermost - _SAME_END_mm]
    stops: list[Contact] = []
    for i in good[np.lexsort(np.round(seats.points_mm[good, 1:], 1).T)]:
        stop = scene.contact((seats.face(int(i), scene.limit_N(seats, int(i))),), "pad")
        if all(abs(stop.point_mm[2] - other.point_mm[2]) > _STEP_mm for other in stops) and scene.bends(stop):
            stops.append(stop)
        if len(stops) == _KEPT_BY:
            break
    return stops


def _on_body(scene: Scene, seats: Seats) -> Bools:
    """Where pads sit on the body, not on what stands out from it."""
    sits = seats.sits.copy()
    which = np.flatnonzero(sits)
    sits[which] = scene.sturdy_ratio(seats.points_mm[which], seats.normals[which]) >= scene.rules.sturdy_least_ratio
    return sits
