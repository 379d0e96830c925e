"""Probes that families share: the outline with its edges, claws round an edge, collars at a height, prongs, rings.

Each asks the mesh by rays for many places at once and says which of them take their pads. Display frame, mm.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from scanprep.hold.families.blemish import ragged
from scanprep.hold.families.handles import within_handles
from scanprep.hold.families.rims import rims
from scanprep.hold.families.scene import Bools, Hit, Scene, Seats
from scanprep.hold.families.sections import section_centre
from scanprep.hold.places.spots import LEAST_PAD_mm
from scanprep.hold.records import Contact
from scanprep.rules import HoldRules
from scanprep.vectors import F64, steady, unit

_EDGE_mm = HoldRules().edge_rounding_mm
_OUTSIDE_mm = 20.0  # tolerance: from how far outside an edge is looked for
_FAR_mm = 1e4  # tolerance: beyond any object
_MOST_PLACES = 120  # tolerance: round an outline
_PLACES_A_HOLE, _MOST_IN_HOLES = 5, 60  # tolerance: where an opening may hang on a hook; the highest openings first
_SMOOTH_mm = 1.5  # tolerance: an outline's direction is taken over about so much on either side
_SPAN_LEAST_cos = HoldRules().lip_lean_cos


@dataclass(frozen=True, slots=True, eq=False)
class Outline:
    """Places round what the viewer sees of an object, outer edge and openings."""

    points_mm: F64  # (n, 2)
    outward: F64  # (n, 2) unit, across the edge, away from the object
    opening: NDArray[np.int64]  # (n,) 0 for the outer edge, else the number of the opening it belongs to
    ragged: F64  # (n,) how ragged the edge is there, 0..1


@lru_cache(maxsize=4)
def outline(scene: Scene) -> Outline:
    """Return the object's outline as evenly spread places."""
    from scipy.ndimage import binary_erosion, gaussian_filter, label

    front = scene.view.front
    inside = np.pad(np.isfinite(front.front_mm), 3)
    groups, _ = label(~inside)
    outer = groups[0, 0]
    edge = inside & ~binary_erosion(inside)
    rows, columns = np.nonzero(edge)
    smooth = gaussian_filter(inside.astype(np.float64), max(1.0, _SMOOTH_mm / front.pitch_mm))
    slope_y, slope_x = np.gradient(smooth)
    outward = -np.column_stack([slope_x[rows, columns], slope_y[rows, columns]])
    steep = np.linalg.norm(outward, axis=1)
    good = steep > 1e-6
    rows, columns, outward = rows[good], columns[good], outward[good] / steep[good, None]
    points = np.column_stack([front.left_mm + (columns - 3 + 0.5) * front.pitch_mm,
                              front.low_mm + (rows - 3 + 0.5) * front.pitch_mm])
    # which background lies beside each place: beyond the edge, two pixels out
    beside = groups[np.clip(np.rint(rows + 2.5 * outward[:, 1]).astype(int), 0, groups.shape[0] - 1),
                    np.clip(np.rint(columns + 2.5 * outward[:, 0]).astype(int), 0, groups.shape[1] - 1)]
    opening = np.where(beside == outer, 0, np.where(beside > 0, beside, -1))
    kept = _thinned(points, outward, opening, scene)
    rough = ragged(points, opening, kept, outward[kept], front.pitch_mm, scene.rules)
    return Outline(points[kept], outward[kept], opening[kept], rough)


def _thinned(points: F64, outward: F64, opening: NDArray[np.int64], scene: Scene) -> NDArray[np.int64]:
    """Places spread round the outer edge, and those of each opening by which it can hang."""
    from scanprep.hold.places.obstacle import thinned

    pitch_mm = scene.view.front.pitch_mm
    outer = np.flatnonzero(opening == 0)
    kept = [outer[thinned(points[outer], max(2 * pitch_mm, len(outer) * pitch_mm / _MOST_PLACES))]]
    hangs = np.flatnonzero((opening > 0) & (outward[:, 1] < -scene.rules.hook_down_cos))
    by_height = hangs[np.argsort(steady(-points[hangs, 1]), kind="stable")]
    for hole in dict.fromkeys(opening[by_height].tolist()):
        places = by_height[opening[by_height] == hole]
        apart = max(2 * pitch_mm, float(np.ptp(points[places, 0])) / _PLACES_A_HOLE)
        kept.append(places[thinned(points[places], apart)])
    return np.concatenate(kept)[:_MOST_PLACES + _MOST_IN_HOLES]


@dataclass(frozen=True, slots=True, eq=False)
class Claws:
    """Claws round the outline: each lies on the back, bears on the edge and lips over the front."""

    points_mm: F64  # (n, 2) of the edge
    outward: F64  # (n, 2) of the edge
    opening: NDArray[np.int64]
    back: Seats
    edge: Seats
    lip: Seats
    sturdy: F64  # (n,) thickness there over the object's usual one
    blemish: F64  # (n,) how ragged the edge is, 0..1, and how drawn the ground that it touches, added
    sits: Bools  # (n,)

    def contact(self, scene: Scene, index: int) -> Contact:
        """One of them: the edge is its seat."""
        edge, back, lip = self.edge, self.back, self.lip
        across = float(np.clip(0.6 * abs(lip.points_mm[index, 2] - back.points_mm[index, 2]), LEAST_PAD_mm, 20.0))
        faces = (edge.face(index, scene.bears_N(edge, index, across)), back.face(index, scene.limit_N(back, index)),
                 lip.face(index, scene.limit_N(lip, index)))
        return scene.contact(faces, "fork", along=(1, 0, 2))


@lru_cache(maxsize=4)
def claws(scene: Scene) -> Claws:
    """Return the claws that sit round an object's outline."""
    found = outline(scene)
    count = len(found.points_mm)
    lip_r, back_rs = scene.lip_radius_mm, scene.pad_radii_mm
    out3 = np.column_stack([found.outward, np.zeros(count)])
    base = np.column_stack([found.points_mm, np.zeros(count)])
    reach = scene.rules.wrap_mm
    lips = None
    for inset in (lip_r + _EDGE_mm, max(lip_r + _EDGE_mm + 1.0, reach - lip_r)):
        at = base - inset * out3
        at[:, 2] = scene.high_mm[2] + 5.0
        hit = scene.cast(at, np.array([0.0, 0.0, -1.0]))
        met = hit.met & (hit.outward[:, 2] > _SPAN_LEAST_cos) & still_open(lips)
        fresh = scene.seats(Hit(hit.points_mm, hit.outward, met), (lip_r,))
        lips = fresh if lips is None else either(lips, fresh)
    assert lips is not None
    backs = None
    for inset in (back_rs[0] + 1.0, back_rs[0] + 3.0, back_rs[-1] + 0.6):
        at = base - inset * out3
        at[:, 2] = scene.low_mm[2] - 5.0
        hit = scene.cast(at, np.array([0.0, 0.0, 1.0]))
        met = hit.met & (hit.outward[:, 2] < -_SPAN_LEAST_cos) & lips.sits & still_open(backs)
        fresh = scene.seats(Hit(hit.points_mm, hit.outward, met), back_rs)
        backs = fresh if backs is None else either(backs, fresh)
    assert backs is not None
    room = _room_mm(scene, base, out3, backs, lips, found.opening)
    edges = _edge_seats(scene, base + room[:, None] * out3, base, out3, backs, lips)
    sturdy = np.zeros(count)
    sits = backs.sits & lips.sits & edges.sits
    which = np.flatnonzero(sits)
    inner = (backs.points_mm[which] + lips.points_mm[which]) / 2
    sturdy[which] = scene.sturdy_ratio(inner, edges.normals[which], inside=True)
    rim = rims(scene, found.points_mm, found.outward, found.opening, edges.points_mm[:, 2])
    sturdy = np.where(rim, np.maximum(sturdy, scene.rules.rim_sturdy_ratio), sturdy)
    passes = np.where(found.opening > 0, 2 * scene.lift_mm, 5.0)  # the wire passes outside
    sits &= ~scene.blocked(edges.points_mm - 0.3 * edges.normals, -passes[:, None] * edges.normals, 1.0)
    blemish = found.ragged.copy()
    blemish[which] += np.max([scene.drawn(pads.points_mm[which]) for pads in (backs, edges, lips)], axis=0)
    return Claws(found.points_mm, found.outward, found.opening, backs, edges, lips, sturdy, blemish, sits)


def still_open(found: Seats | None) -> Bools | bool:
    """Where no pad sits yet: only there is another place tried."""
    return True if found is None else ~found.sits


def either(first: Seats, other: Seats) -> Seats:
    """The first of two seats that sits, place by place."""
    use = first.sits
    return Seats(np.where(use[:, None], first.points_mm, other.points_mm),
                 np.where(use[:, None], first.normals, other.normals), np.where(use, first.radius_mm, other.radius_mm),
                 first.sits | other.sits)


def _room_mm(scene: Scene, base: F64, out3: F64, backs: Seats, lips: Seats, opening: NDArray[np.int64]) -> F64:
    """From how far outside each place its edge is looked for (n,): within an opening, from its middle."""
    outside = 2.5 * scene.view.front.pitch_mm
    at = base + outside * out3
    at[:, 2] = (backs.points_mm[:, 2] + lips.points_mm[:, 2]) / 2
    hit = scene.cast(at, out3)
    across = np.linalg.norm(hit.points_mm - at, axis=1)
    return np.where((opening > 0) & hit.met, np.minimum(outside + across / 2, _OUTSIDE_mm), _OUTSIDE_mm)


def _edge_seats(scene: Scene, outside: F64, base: F64, out3: F64, backs: Seats, lips: Seats) -> Seats:
    """Where the wire bears on the edge itself, between back and front; looked for from `outside`."""
    seats = None
    for share in (0.5, 0.3, 0.7):
        at = outside.copy()
        at[:, 2] = backs.points_mm[:, 2] + share * (lips.points_mm[:, 2] - backs.points_mm[:, 2])
        hit = scene.cast(at, -out3)
        near = np.linalg.norm((hit.points_mm - base)[:, :2], axis=1) < 6.0
        facing = np.einsum("nk,nk->n", hit.outward, out3) > 0.6
        met = hit.met & near & facing & backs.sits & lips.sits & still_open(seats)
        fresh = scene.seats(Hit(hit.points_mm, hit.outward, met), _edge_radii(scene))
        seats = fresh if seats is None else either(seats, fresh)
        seats = either(seats, _thin_edge(scene, hit, near, out3, np.abs(lips.points_mm[:, 2] - backs.points_mm[:, 2])))
    assert seats is not None
    return seats


def _thin_edge(scene: Scene, hit: Hit, near: Bools, out3: F64, thick_mm: F64) -> Seats:
    """A wire across an edge too thin for a pad touches along a line: it sits where the edge runs straight."""
    side = np.column_stack([-out3[:, 1], out3[:, 0], np.zeros(len(out3))])
    good = hit.met & near & (thick_mm < scene.rules.thin_edge_mm)
    for step in (-LEAST_PAD_mm, LEAST_PAD_mm):
        beside = scene.cast(hit.points_mm + 3.0 * out3 + step * side, -out3)
        fell = np.einsum("nk,nk->n", beside.points_mm - hit.points_mm, out3)
        good &= beside.met & (np.abs(fell) < 0.47 * 2 * LEAST_PAD_mm)
    turn = scene.view.rotation
    radius = np.full(len(out3), LEAST_PAD_mm)
    which = np.flatnonzero(good)
    good[which] = scene.allowed(hit.points_mm[which] @ turn, radius[which])
    return Seats(hit.points_mm, -out3, radius, good)


def _edge_radii(scene: Scene) -> tuple[float, ...]:
    return tuple(sorted({scene.pad_radii_mm[0], scene.lip_radius_mm, LEAST_PAD_mm}, reverse=True))


@dataclass(frozen=True, slots=True, eq=False)
class Collar:
    """An open collar round the object at one height, stemmed at its middle behind."""

    contact: Contact
    height_mm: float
    wraps_deg: float
    sturdy: float


def collar(scene: Scene, height_mm: float, lean_deg: float) -> Collar | None:
    """Return the open collar at a height, its ends where the wall turns to the viewer; None where none lies there.

    lean_deg  how far past the widest place its ends reach: their pads look that much towards the viewer
    """
    count = 37
    centre = section_centre(scene, height_mm)
    if centre is None:
        return None
    angle = np.linspace(math.radians(-90 - 180), math.radians(-90 + 180), count)  # from the front, round by the back
    ray = np.column_stack([np.cos(angle), np.zeros(count), np.sin(angle)])
    at = centre + _FAR_mm / 10 * ray
    hit = within_handles(scene, scene.cast(at, -ray), at, -ray, centre)
    if not hit.met.all():
        return None
    level = hit.outward.copy()
    level[:, 1] = 0.0
    steep = np.linalg.norm(level, axis=1)
    if float(steep[5:-5].min()) < 0.7:
        return None
    facing = level[:, 2] / np.maximum(steep, 1e-9)  # towards the viewer
    middle = count // 2
    most = math.sin(math.radians(lean_deg))
    left = _last_facing(facing[middle::-1], most)
    right = _last_facing(facing[middle:], most)
    if left is None or right is None:
        return None
    low, high = middle - left, middle + right
    chosen = Hit(hit.points_mm[[middle, low, high]], hit.outward[[middle, low, high]], np.ones(3, dtype=bool))
    seats = scene.seats(chosen, scene.pad_radii_mm)
    if not seats.sits.all():
        return None
    third_mm = float(np.linalg.norm(np.diff(hit.points_mm[low:high + 1], axis=0), axis=1).sum()) / 3
    faces = tuple(seats.face(i, scene.bears_N(seats, i, third_mm)) for i in range(3))
    bare = scene.contact(faces, "fork")
    ring_out = unit(level[low:high + 1])
    ring = hit.points_mm[low:high + 1]
    return Collar(_with_ring(bare, ring, ring_out), height_mm, float(np.degrees(angle[high] - angle[low])),
                  float(scene.sturdy_ratio(seats.points_mm, seats.normals).min()))


def _with_ring(contact: Contact, ring_mm: F64, outward: F64) -> Contact:
    from dataclasses import replace

    from scanprep.hold.records import Ring

    return replace(contact, ring=Ring(ring_mm, outward))


def _last_facing(facing: F64, most: float) -> int | None:
    """How far from the back the wall may be followed until it looks at the viewer by more than allowed."""
    over = np.flatnonzero(facing > most)
    if len(over) == 0:
        return None
    return int(over[0]) - 1 if over[0] > 2 else None


@dataclass(frozen=True, slots=True, eq=False)
class SaddleSeats:
    """U-shaped saddles under a level shaft: each lies behind it, bears under it and lips before it."""

    back: Seats
    under: Seats
    lip: Seats
    sturdy: F64
    sits: Bools

    def contact(self, scene: Scene, index: int) -> Contact:
        """One of them; what is under is its seat."""
        length = float(abs(self.lip.points_mm[index, 2] - self.back.points_mm[index, 2]))
        seat = self.under.face(index, scene.bears_N(self.under, index, min(0.5 * length, 15.0)))
        others = (pad.face(index, scene.limit_N(pad, index)) for pad in (self.back, self.lip))
        return scene.contact((seat, *others), "fork", along=(1, 0, 2))


def saddles(scene: Scene, at_x_mm: F64) -> SaddleSeats:
    """Return the saddles under a level shaft at some places along it (n,)."""
    count = len(at_x_mm)
    zero = np.zeros(count)
    up = np.array([0.0, 1.0, 0.0])
    from_front = np.column_stack([at_x_mm, zero, zero + scene.high_mm[2] + 5.0])
    low = scene.cast(np.column_stack([at_x_mm, zero + scene.low_mm[1] - 5.0, zero]), up)
    high = scene.cast(np.column_stack([at_x_mm, zero + scene.high_mm[1] + 5.0, zero]), -up)
    height = np.where(low.met & high.met, high.points_mm[:, 1] - low.points_mm[:, 1], 0.0)
    lips = None
    for rise in scene.rules.saddle_lips_mm:
        from_front[:, 1] = low.points_mm[:, 1] + np.minimum(rise, 0.5 * height)
        hit = scene.cast(from_front, np.array([0.0, 0.0, -1.0]))
        seen = hit.met & (hit.outward[:, 2] > 0.5)
        fresh = scene.seats(Hit(hit.points_mm, hit.outward, seen), (scene.lip_radius_mm,))
        lips = fresh if lips is None else either(lips, fresh)
    assert lips is not None
    from_back = np.column_stack([at_x_mm, low.points_mm[:, 1] + 0.5 * height, zero + scene.low_mm[2] - 5.0])
    hit = scene.cast(from_back, np.array([0.0, 0.0, 1.0]))
    backs = scene.seats(Hit(hit.points_mm, hit.outward, hit.met & (hit.outward[:, 2] < -0.5)), scene.pad_radii_mm)
    middle = (lips.points_mm[:, 2] + backs.points_mm[:, 2]) / 2
    hit = scene.cast(np.column_stack([at_x_mm, zero + scene.low_mm[1] - 5.0, middle]), up)
    under = scene.seats(Hit(hit.points_mm, hit.outward, hit.met & (hit.outward[:, 1] < -0.6)), scene.pad_radii_mm)
    sits = lips.sits & backs.sits & under.sits
    which, sturdy = np.flatnonzero(sits), zero.copy()
    inner = (lips.points_mm[which] + backs.points_mm[which]) / 2
    sturdy[which] = scene.sturdy_ratio(inner, under.normals[which], inside=True)
    return SaddleSeats(backs, under, lips, sturdy, sits)


def prongs(scene: Scene, angles_deg: F64) -> Seats:
    """Return pads at places given by azimuth from the viewer and elevation about the centre of mass (n, 2)."""
    azimuth, elevation = np.radians(angles_deg[:, 0]), np.radians(angles_deg[:, 1])
    way = np.column_stack([np.sin(azimuth) * np.cos(elevation), np.sin(elevation), np.cos(azimuth) * np.cos(elevation)])
    hit = scene.cast(2.0 * scene.diagonal_mm * way, -way)
    steep = np.einsum("nk,nk->n", hit.outward, way) > 0.6
    return scene.seats(Hit(hit.points_mm, hit.outward, hit.met & steep), scene.pad_radii_mm)


_RING_PADS = 6  # tolerance: places round a ring that the statics counts; the pad itself is continuous


def support_ring(scene: Scene, height_mm: float, open_deg: float) -> Contact | None:
    """Return a ring on which the object rests at a height, stemmed behind; None where none fits.

    open_deg  on either side of the viewer's way, where it is open
    """
    centre = section_centre(scene, height_mm)
    if centre is None:
        return None
    count = 25
    least, most = 90 + open_deg, 450 - open_deg
    angle = np.linspace(math.radians(least), math.radians(most), count)  # round by the back
    ray = np.column_stack([np.cos(angle), np.zeros(count), np.sin(angle)])
    hit = scene.cast(centre + _FAR_mm / 10 * ray, -ray)
    if not hit.met.all() or float(hit.outward[:, 1].max()) > -0.25:
        return None
    places = np.rint(np.linspace(0, count - 1, 2 * _RING_PADS + 1)[1::2]).astype(int)
    places = np.r_[count // 2, places]
    seats = scene.seats(Hit(hit.points_mm[places], hit.outward[places], np.ones(len(places), dtype=bool)),
                        scene.pad_radii_mm)
    if not seats.sits[0] or int(seats.sits[1:].sum()) < _RING_PADS - 1:
        return None
    around = np.linalg.norm(np.diff(hit.points_mm, axis=0), axis=1).sum() / len(places)
    faces = tuple(seats.face(int(i), scene.bears_N(seats, int(i), float(around))) for i in np.flatnonzero(seats.sits))
    return _with_ring(scene.contact(faces, "lipped"), hit.points_mm, unit(hit.outward))
