"""A socket: a spring inside a hollow that opens below, as a bell, a thimble or a helmet hangs on a peg.

        ____________
       |  ________  |   the wire goes up inside along one wall, across under the roof, where it bears,
       | |        | |   and down the other wall; sprung apart a little it keeps itself there
       | |        | |
         |              under the rim and up behind to its stem: nothing of it is seen from the front

It hangs by what lies above its centre of mass. What would turn or nod on it is kept by an open clip or claws outside.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from scanprep.hold.families.foot_cradle import ways_of_keeping
from scanprep.hold.families.loops import as_loop
from scanprep.hold.families.records import FamilyMount
from scanprep.hold.families.scene import Hit, Scene
from scanprep.hold.records import Contact
from scanprep.vectors import F64

_CELLS = 48  # tolerance: over the longer level side, in which a hollow is sought
_TURNED_deg = (0.0, 45.0, -45.0, 90.0)  # tolerance: of the spring's plane from left to right; tried in turn
_LEGS_AT = (0.25, 0.4, 0.6)  # tolerance: of the hollow's depth, how high its walls are touched; tried in turn
_ROOF_AT = (0.0, 0.35, -0.35)  # tolerance: of its radius, where the roof bears; tried in turn
_SPRINGS = 2  # tolerance: springs tried
_CLEAR_mm = 1.0  # tolerance: between the wire and the rim under which it passes
_STEM_mm = 8.0  # tolerance: how far the wire rises behind before its stem meets it
_KEPT_BY = 2  # tolerance: ways of keeping tried, each kind of
_FACING = 0.7  # tolerance: how squarely roof and walls of a hollow look at the wire, as a cosine


@dataclass(frozen=True, slots=True, eq=False)
class Hollow:
    """A hollow that opens below: its axis, how wide it is about that and how deep."""

    at_mm: F64  # (2,) x and z of the middle of its widest place
    radius_mm: float  # of the widest circle that goes up into it
    depth_mm: float


@dataclass(frozen=True, slots=True)
class Socket:
    """A spring inside, and what keeps it from turning."""

    name: str = "socket inside a hollow"

    def suits(self, scene: Scene) -> float:
        """What is open below and wide enough for a wire to turn: deep, or at least as deep as wide, as for a peg."""
        hollow = hollow_below(scene)
        if hollow is None or not sockets(scene):
            return 0.0
        hangs = hollow.depth_mm / (scene.rules.socket_deep_ratio * float(scene.size_mm[1]))
        return float(np.clip(max(hangs, hollow.depth_mm / (2 * hollow.radius_mm)), 0.0, 1.0))

    def proposals(self, scene: Scene) -> Iterator[FamilyMount]:
        """Springs with one way of keeping after the other."""
        kept = [one for kind in ways_of_keeping(scene) for one in kind[:_KEPT_BY] if one[0]]
        for (more, why), inside in itertools.product(kept, sockets(scene)):
            yield FamilyMount(self.name, (inside, *more), f"it hangs on a spring inside it, {why}")


@lru_cache(maxsize=4)
def hollow_below(scene: Scene) -> Hollow | None:
    """Return the hollow that opens below, where a wire can turn in it; None where there is none."""
    from scipy.ndimage import distance_transform_edt

    pitch = float(max(scene.size_mm[0], scene.size_mm[2])) / _CELLS
    x = np.arange(scene.low_mm[0] - pitch / 2, scene.high_mm[0] + pitch, pitch)
    z = np.arange(scene.low_mm[2] - pitch / 2, scene.high_mm[2] + pitch, pitch)
    across, deep = np.meshgrid(x, z, indexing="ij")
    below = np.full(across.size, scene.low_mm[1] - 5.0)
    hit = scene.cast(np.column_stack([across.ravel(), below, deep.ravel()]), np.array([0.0, 1.0, 0.0]))
    rise = np.where(hit.met, hit.points_mm[:, 1] - scene.low_mm[1], 0.0).reshape(across.shape)
    inside = rise > max(scene.rules.socket_least_mm, 0.15 * float(scene.size_mm[1]))
    room = distance_transform_edt(inside) * pitch
    best = np.unravel_index(int(room.argmax()), room.shape)
    radius = float(room[best]) - pitch / 2
    if radius < 2 * scene.lift_mm or not _closed_round(scene, x[best[0]], z[best[1]], float(rise[best])):
        return None
    return Hollow(np.array([x[best[0]], z[best[1]]]), radius, float(rise[best]))


def _closed_round(scene: Scene, x_mm: float, z_mm: float, depth_mm: float) -> bool:
    """Whether walls stand round a place on all sides, so that it is a hollow and no room between legs."""
    turns = np.radians(np.arange(0, 360, 30))
    ways = np.column_stack([np.sin(turns), np.zeros(len(turns)), np.cos(turns)])
    at = np.tile([x_mm, scene.low_mm[1] + 0.3 * depth_mm, z_mm], (len(turns), 1))
    return bool(scene.cast(at, ways).met.all())


@lru_cache(maxsize=4)
def sockets(scene: Scene) -> tuple[Contact, ...]:
    """Return the springs that go up into the hollow, the likeliest first: left to right, then turned."""
    hollow = hollow_below(scene)
    if hollow is None:
        return ()
    tries = itertools.product(_TURNED_deg, _LEGS_AT, _ROOF_AT)
    found = (_spring(scene, hollow, *one) for one in tries)
    return tuple(itertools.islice((one for one in found if one is not None and scene.bends(one)), _SPRINGS))


def _spring(scene: Scene, hollow: Hollow, turned_deg: float, legs_at: float, roof_at: float) -> Contact | None:
    """A spring in an upright plane through the hollow's middle, or None where its pads do not sit."""
    turn, up, lift = math.radians(turned_deg), np.array([0.0, 1.0, 0.0]), scene.lift_mm
    across, low = np.array([math.cos(turn), 0.0, math.sin(turn)]), float(scene.low_mm[1])
    middle = np.array([hollow.at_mm[0], low, hollow.at_mm[1]])
    roof_from = middle + roof_at * hollow.radius_mm * across - 5.0 * up
    legs_from = middle + legs_at * hollow.depth_mm * up
    ways = np.array([up, -across, across])
    hit = scene.cast(np.array([roof_from, legs_from, legs_from]), ways)
    square = np.einsum("nk,nk->n", hit.outward, ways) < -_FACING
    seats = scene.seats(Hit(hit.points_mm, hit.outward, hit.met & square), scene.pad_radii_mm)
    if not seats.sits.all():
        return None
    roof = float(hit.points_mm[0, 1]) - lift
    at_roof = scene.cast(np.tile(middle + (roof - low) * up, (2, 1)), ways[1:])
    legs = (hit.points_mm[1:] - middle) @ across
    tops = np.where(at_roof.met, (at_roof.points_mm - middle) @ across, legs)
    inward = np.array([1.0, -1.0]) * lift
    legs, tops = legs + inward, np.array([max(legs[0], tops[0]), min(legs[1], tops[1])]) + inward
    under, behind = low - lift - _CLEAR_mm, float(scene.low_mm[2]) - lift - _CLEAR_mm
    left = middle + legs[0] * across
    corners = np.array([[left[0], low + _STEM_mm, behind], [left[0], under, behind], [left[0], under, left[2]],
                        *(_at(middle + top * across, roof) for top in tops),
                        _at(middle + legs[1] * across, float(legs_from[1]) - float(seats.radius_mm[2]))])
    outs = np.array([[0.0, 0, -1], -up, across, -up, -across])
    faces = (seats.face(0, scene.bears_N(seats, 0, float(tops[1] - tops[0]) / 2)),
             *(seats.face(i, scene.limit_N(seats, i)) for i in (1, 2)))
    return as_loop(scene, scene.contact(faces, "lipped"), corners, outs, corners[0])


def _at(point_mm: F64, height_mm: float) -> F64:
    return np.array([point_mm[0], height_mm, point_mm[2]])
