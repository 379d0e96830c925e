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

from scanprep.hold.families.hollows import Hollow, hollow_below, peg_suits
from scanprep.hold.families.keeping import claws_above, each_kept
from scanprep.hold.families.loops import as_loop
from scanprep.hold.families.records import FamilyMount
from scanprep.hold.families.scene import Hit, Scene
from scanprep.hold.records import Contact
from scanprep.vectors import F64

_TURNED_deg = (0.0, 45.0, -45.0, 90.0)  # tolerance: of the spring's plane from left to right; tried in turn
_LEGS_AT = (0.25, 0.4, 0.6)  # tolerance: of the hollow's depth, how high its walls are touched; tried in turn
_ROOF_AT = (0.0, 0.35, -0.35)  # tolerance: of its radius, where the roof bears; tried in turn
_SPRINGS = 2  # tolerance: springs tried
_CLEAR_mm = 1.0  # tolerance: between the wire and the rim under which it passes
_STEM_mm = 8.0  # tolerance: how far the wire rises behind before its stem meets it
_KEPT_BY = 2  # tolerance: ways of keeping tried, each kind of
_FACING = 0.7  # tolerance: how squarely roof and walls of a hollow look at the wire, as a cosine


@dataclass(frozen=True, slots=True)
class Socket:
    """A spring inside, and what keeps it from turning."""

    name: str = "socket inside a hollow"

    def suits(self, scene: Scene) -> float:
        """What is open below and wide enough for a wire to turn: deep, or at least as deep as wide, as for a peg."""
        return peg_suits(scene) if sockets(scene) else 0.0

    def proposals(self, scene: Scene) -> Iterator[FamilyMount]:
        """Springs with claws at both sides, which keep it from swinging and from turning; then with other ways."""
        for inside, one in itertools.chain(itertools.product(sockets(scene), claws_above(scene)),
                                           each_kept(scene, sockets(scene), _KEPT_BY)):
            yield FamilyMount(self.name, (inside, *one.wires), f"it hangs on a spring inside it, {one.why}", one.suits)


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
