r"""Lipped feet under a base: where a wire that comes from behind may bear under an object and turn up before it.

    behind |            | lip
           |___/\___/\__|      a straight wire bears where a string drawn taut beneath would touch

Each asks the mesh by rays for many places at once and says which of them take their pads. Display frame, mm.
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass, replace

import numpy as np

from scanprep.hold.families.probes import either, still_open
from scanprep.hold.families.scene import Bools, Hit, Scene, Seats
from scanprep.hold.places.spots import LEAST_PAD_mm
from scanprep.hold.records import Contact, Face
from scanprep.vectors import F64, taut_string

_TAUT_PLACES = 121  # tolerance: under a base, along a foot
_EDGE_STEPS = 120  # tolerance: in which the edge of a base is sought: a rim is hardly wider than one
_SLACK_mm = 0.5  # tolerance: how far off a taut string what it touches may lie: less than a pad's thickness
_RIM_FROM = 0.3  # tolerance: of the base's reach, how near its middle a foot may bear on a rim
_RIM_EDGE_mm = 0.2  # tolerance: off the very edge of a base, where the wall has begun to rise
_LEVEL_cos = 0.97  # tolerance: of a pad under a flat base, 14 deg
_INWARD = (0.0, 0.04, 0.1, 0.18, 0.3)  # tolerance: of the base's reach, how far in a foot's pad may sit, tried in turn


@dataclass(frozen=True, slots=True, eq=False)
class Feet:
    """Lipped feet under a base: each wire comes from behind under the base and turns up before it."""

    under: Seats  # where it bears, towards the back
    fore: Seats  # where it bears, towards the lip
    lip: Seats
    back: Seats  # the wall behind, where the wire touches it on its way down
    under_rim: Bools  # where it bears across a rim or on a bump there, instead of along a flat
    fore_rim: Bools
    way: F64  # (n, 3) level unit direction in which the wire runs under the base
    sturdy: F64
    sits: Bools  # with or without the wall behind

    def contact(self, scene: Scene, index: int, *, leans: bool = True) -> Contact:
        """One of them; where it leans, it touches the wall behind if that takes a pad."""
        faces = self.faces(scene, index)
        along = list(range(len(faces)))
        if leans and self.back.sits[index]:
            faces.append(self.back.face(index, scene.limit_N(self.back, index)))
            along.insert(0, len(faces) - 1)
        return scene.contact(tuple(faces), "lipped", along=tuple(along))

    def faces(self, scene: Scene, index: int) -> list[Face]:
        """Where one of them bears, from behind to its lip, without the wall behind."""
        length = float(np.linalg.norm(self.under.points_mm[index] - self.fore.points_mm[index]))
        share = max(length, 4.0) / 2
        faces = [self.under.face(index, self._bears_N(scene, self.under, self.under_rim, index, share))]
        if length > 4.0:
            faces.append(self.fore.face(index, self._bears_N(scene, self.fore, self.fore_rim, index, share)))
        return [*faces, self.lip.face(index, scene.limit_N(self.lip, index))]

    @staticmethod
    def _bears_N(scene: Scene, seats: Seats, rim: Bools, index: int, length_mm: float) -> float:
        return scene.limit_N(seats, index) if rim[index] else scene.bears_N(seats, index, length_mm)


def feet(scene: Scene, starts_mm: F64, ways: F64, lip_heights_mm: tuple[float, ...]) -> Feet:
    """Return lipped feet that run under the base from behind, or under the belly of what stands on legs or wheels.

    starts_mm        (n, 2) x and z about which each foot runs under the base
    ways             (n, 2) level directions (x, z) in which it runs, towards its lip
    lip_heights_mm   tried in turn: how high above the base the lip bears

    Each foot's base is the lowest of the object along its own line: between two legs it is the belly.
    """
    count = len(starts_mm)
    way = np.column_stack([ways[:, 0], np.zeros(count), ways[:, 1]])
    middle = np.column_stack([starts_mm[:, 0], np.full(count, scene.low_mm[1]), starts_mm[:, 1]])
    middle[:, 1] = _lowest(scene, middle, way)
    ahead = _base_edge(scene, middle, way)
    behind = _base_edge(scene, middle, -way)
    pads = scene.pad_radii_mm
    inset = pads[0] + 0.8
    lips = None
    for height in lip_heights_mm:
        at = middle + 500.0 * way
        at[:, 1] = middle[:, 1] + height
        hit = scene.cast(at, -way)
        facing = np.einsum("nk,nk->n", hit.outward, way) > 0.6
        near = np.einsum("nk,nk->n", hit.points_mm - middle, way) > ahead - 8.0
        met = hit.met & facing & near & still_open(lips)
        fresh = scene.seats(Hit(hit.points_mm, hit.outward, met), (scene.lip_radius_mm,))
        lips = fresh if lips is None else either(lips, fresh)
    assert lips is not None
    fore, fore_rim = _under(scene, middle, way, ahead, behind, inset, lips.sits)
    under, under_rim = _under(scene, middle, -way, behind, ahead, inset, fore.sits)
    back = _behind(scene, middle, way, lip_heights_mm[-1], under.sits)
    sits = lips.sits & fore.sits & under.sits
    which, sturdy = np.flatnonzero(sits), np.zeros(count)
    sturdy[which] = scene.sturdy_ratio(lips.points_mm[which], lips.normals[which])
    return Feet(under, fore, lips, back, under_rim, fore_rim, way, sturdy, sits)


def _from_below(scene: Scene, middle: F64, way: F64, steps_mm: F64) -> tuple[F64, Bools]:
    """Heights (n, s) of the object's underside at steps along each way, and where there is any."""
    at = (middle[:, None] + steps_mm[None, :, None] * way[:, None]).reshape(-1, 3)
    at[:, 1] = scene.low_mm[1] - 5.0
    hit = scene.cast(at, np.array([0.0, 1.0, 0.0]))
    return hit.points_mm[:, 1].reshape(len(middle), -1), hit.met.reshape(len(middle), -1)


def _steps_mm(scene: Scene) -> F64:
    return np.asarray(np.linspace(0.0, 1.0, _EDGE_STEPS + 1)[1:] * float(np.hypot(scene.size_mm[0], scene.size_mm[2])))


def _lowest(scene: Scene, middle: F64, way: F64) -> F64:
    """The lowest height (n,) of the object along each line; the whole object's where a line misses it."""
    steps = _steps_mm(scene)
    heights, met = _from_below(scene, middle, way, np.r_[-steps[::-1], 0.0, steps])
    return np.asarray(np.where(met.any(axis=1), np.where(met, heights, np.inf).min(axis=1), scene.low_mm[1]))


def _base_edge(scene: Scene, middle: F64, way: F64) -> F64:
    """How far the base reaches from the middle along each way: until what is above rises by more than 3 mm."""
    steps = _steps_mm(scene)
    heights, met = _from_below(scene, middle, way, steps)
    low = met & (heights < middle[:, 1:2] + scene.rules.base_rise_mm)
    last = np.where(low.any(axis=1), low.shape[1] - 1 - np.argmax(low[:, ::-1], axis=1), -1)
    return np.where(last >= 0, steps[np.maximum(last, 0)], 0.0)


def _under(scene: Scene, middle: F64, way: F64, reach_mm: F64, behind_mm: F64, inset_mm: float, where: Bools
           ) -> tuple[Seats, Bools]:
    """Where a wire bears under the base, as near its edge as a pad sits; and where that is only across a rim.

    A straight wire touches the underside where a taut string would: a recess between two rims it passes by. It lies
    flat under what is flat there; pads on the rounded edges of a base would bend it down between them, in plain view.
    Where only a slope takes a pad, it lies on that; where nothing does, it bears on the lowest place of that side: a
    foot ring, a bead, a bump.
    """
    string = _taut(scene, middle, way, reach_mm, behind_mm, where)
    seats = None
    for flat, share in itertools.product((True, False), _INWARD):
        along = np.maximum(reach_mm - inset_mm, 0.0) - share * reach_mm
        start = middle + along[:, None] * way
        start[:, 1] = scene.low_mm[1] - 5.0
        hit = scene.cast(start, np.array([0.0, 1.0, 0.0]))
        low = hit.points_mm[:, 1] < string.at(along) + _SLACK_mm
        met = where & hit.met & low & (hit.outward[:, 1] < -0.8) & still_open(seats)
        fresh = scene.seats(Hit(hit.points_mm, hit.outward, met), scene.pad_radii_mm)
        if flat:
            fresh = replace(fresh, sits=fresh.sits & (fresh.normals[:, 1] >= _LEVEL_cos))
        seats = fresh if seats is None else either(seats, fresh)
    assert seats is not None
    rim = _rims(scene, middle, way, reach_mm, string, where & ~seats.sits)
    return either(seats, rim), rim.sits


@dataclass(frozen=True, slots=True, eq=False)
class _Taut:
    """A string drawn taut beneath a base along each way."""

    places_mm: F64  # (n, s) along the way
    string_mm: F64  # (n, s) its height there
    gap_mm: F64  # (n, s) of the base over it

    def at(self, along_mm: F64) -> F64:
        """Its height (n,) at one place of each way."""
        nearest = np.abs(self.places_mm - along_mm[:, None]).argmin(axis=1)
        return np.asarray(self.string_mm[np.arange(len(along_mm)), nearest])


def _taut(scene: Scene, middle: F64, way: F64, reach_mm: F64, behind_mm: F64, where: Bools) -> _Taut:
    """The strings of those ways that are asked for; those of the others hang nowhere."""
    share = np.linspace(0.0, 1.0, _TAUT_PLACES)
    places = -behind_mm[:, None] + share * (reach_mm + behind_mm)[:, None]
    at = (middle[:, None] + places[..., None] * way[:, None]).reshape(-1, 3)
    at[:, 1] = scene.low_mm[1] - 5.0
    hit = scene.cast(at, np.array([0.0, 1.0, 0.0]))
    heights, met = hit.points_mm[:, 1].reshape(places.shape), hit.met.reshape(places.shape)
    met &= heights < middle[:, 1:2] + scene.rules.base_rise_mm
    string = np.full(places.shape, np.inf)
    for line in np.flatnonzero(where & (met.sum(axis=1) >= 2)):
        kept = taut_string(np.column_stack([places[line, met[line]], heights[line, met[line]]]))
        string[line] = np.interp(places[line], kept[:, 0], kept[:, 1])
    return _Taut(places, string, np.where(met, heights - string, np.inf))


def _rims(scene: Scene, middle: F64, way: F64, reach_mm: F64, string: _Taut, where: Bools) -> Seats:
    """Where a string touches on a foot's own side, its wire does too, across a rim; the least pad lies there."""
    places = string.places_mm
    side = (places > _RIM_FROM * reach_mm[:, None]) & (places < reach_mm[:, None] - _RIM_EDGE_mm)
    lowest = np.where(side, string.gap_mm, np.inf).argmin(axis=1)
    along = places[np.arange(len(places)), lowest]
    start = middle + along[:, None] * way
    start[:, 1] = scene.low_mm[1] - 5.0
    hit = scene.cast(start, np.array([0.0, 1.0, 0.0]))
    sits = where & hit.met & side.any(axis=1) & (hit.points_mm[:, 1] < string.at(along) + _SLACK_mm)
    radius = np.full(len(middle), LEAST_PAD_mm)
    turn = scene.view.rotation
    which = np.flatnonzero(sits)
    sits[which] = scene.allowed(hit.points_mm[which] @ turn, radius[which])
    return Seats(hit.points_mm, np.tile([0.0, 1.0, 0.0], (len(middle), 1)), radius, sits)


def _behind(scene: Scene, middle: F64, way: F64, height_mm: float, where: Bools) -> Seats:
    at = middle - 500.0 * way
    at[:, 1] = middle[:, 1] + max(height_mm + 3.0, 0.06 * scene.size_mm[1])
    hit = scene.cast(at, way)
    facing = np.einsum("nk,nk->n", hit.outward, -way) > 0.6
    return scene.seats(Hit(hit.points_mm, hit.outward, where & hit.met & facing), scene.pad_radii_mm)
