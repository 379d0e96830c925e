"""A bracket for the heavy few: two flat bars under the base, turned up before it, and what keeps the top.

            ( )     open clip or claws of wire, from the same back bar
        |#|     |
        |#|     |   back bar on the post, behind the centre of mass
        | |_____|_  each bar comes down behind, lies under the base on its pad
        |_________| and turns up before it as a short lip

It bears by pressure on the area that really lies on the bars, found by rays on the mesh; no tip's fixed force limits
it. Bars do not bend sideways nor twist: their planes are upright. Display frame, mm.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np

from scanprep.hold.families.keeping import ways_of_keeping
from scanprep.hold.families.records import FamilyMount
from scanprep.hold.families.scene import Bools, Hit, Scene
from scanprep.hold.families.strips import of_strip
from scanprep.hold.places.spots import LEAST_PAD_mm
from scanprep.hold.records import Contact, Face, FlatBar
from scanprep.hold.wires.flat_bar import back_bar_mm, bar_room_mm
from scanprep.units import weight_N
from scanprep.vectors import F64, steady, taut_string, unit, vec3

_PLACES = (0.32, 0.26, 0.38, 0.20)  # tolerance: of the base's width, left and right of the weight; tried in turn
_PAIRS = 2  # tolerance: pairs of bars tried
_STEP_mm = 1.5  # tolerance: between rays
_ENDS = 1 / 3  # tolerance: of the length that touches, what counts as bearing there at either end of a bar
_LEAST_LENGTH_mm = 10.0  # tolerance: of what touches a bar, from which two places of it count
_FACING = 0.35  # tolerance: how squarely what a leg or a lip touches looks at it, as a cosine; as lips of wire
_UNDER = 0.8  # tolerance: the same under the base


@dataclass(frozen=True, slots=True)
class Bracket:
    """Two flat bars and a clip, a hook or claws."""

    name: str = "bracket of flat bars"

    def suits(self, scene: Scene) -> float:
        """What is heavy and lies on two bars, its weight between what bears."""
        heavy = scene.loads.weight_N >= weight_N(1000 * scene.rules.bracket_mass_kg)
        return 1.0 if heavy and not scene.rolls and bars(scene) else 0.0

    def proposals(self, scene: Scene) -> Iterator[FamilyMount]:
        """Pairs of bars, with legs that touch the object behind and with legs that do not, each kept in every way."""
        ways = ways_of_keeping(scene)
        strips = [strip for clip in ways[0] if (strip := of_strip(scene, clip)) is not None]
        clips = [ways[0], strips]  # wire half round what is very heavy gives too much
        if scene.loads.weight_N >= weight_N(1000 * scene.rules.strip_mass_kg):
            clips.reverse()
        kinds = [kind for kind in (*clips, *ways[1:]) if kind]
        tries = sorted((place + rank, kind, place, rank) for place in range(len(bars(scene)))
                       for kind, options in enumerate(kinds) for rank in range(len(options)))
        for _, kind, place, rank in tries:
            kept = kinds[kind][rank]
            yield FamilyMount(self.name, (*bars(scene)[place], *kept.wires),
                              f"two flat bars under its base carry it, {kept.why}", kept.suits)


@lru_cache(maxsize=4)
def bars(scene: Scene) -> tuple[tuple[Contact, Contact], ...]:
    """Return pairs of bars that clear the object in the thinnest stock, the likeliest first.

    They lie alike left and right of the centre of mass, so that each bears half.
    """
    low, high = _base(scene)
    wide = 2 * float(min(-low[0], high[0]))
    stock = [size for size in scene.rules.flat_widths_mm if size <= scene.rules.flat_width_share * wide]
    if not stock:
        return ()
    found: list[tuple[Contact, Contact]] = []
    pairs = 0
    for share in _PLACES:
        level = back_bar_mm(scene.view, share * wide + stock[-1] / 2, float(scene.low_mm[1]),
                            scene.loads.centre_radius_mm, scene.rules)
        both = [(left, right) for leans in (True, False)
                for left, right in [[_bar(scene, sign * share * wide, stock[-1], level, leans=leans)
                                     for sign in (-1.0, 1.0)]] if left is not None and right is not None]
        found += both
        pairs += bool(both)
        if pairs == _PAIRS:
            break
    return tuple(found)


def _base(scene: Scene) -> tuple[F64, F64]:
    """Least and most of what lies within the base's rise of the lowest point."""
    points = scene.view.vertices_mm
    low = points[points[:, 1] < scene.low_mm[1] + scene.rules.base_rise_mm]
    return np.asarray(low.min(axis=0)), np.asarray(low.max(axis=0))


@dataclass(frozen=True, slots=True, eq=False)
class _Touch:
    """Where a flat pad touches the object: of places on a raster, those within what the pad takes up of the nearest."""

    points_mm: F64  # (n, 3) that touch
    outward: F64  # (n, 3)
    plane_mm: float  # the nearest, along the way of the rays

    def face(self, inward: F64, wide_mm: float) -> Face | None:
        """All of it as one face in its middle, as large as what touches; None where that is less than a pad."""
        radius = min(math.sqrt(self.area_mm2 / math.pi), wide_mm / 2)
        if radius < LEAST_PAD_mm:
            return None
        return Face(vec3(steady(self.points_mm.mean(axis=0), 9)), vec3(steady(inward, 10)), 0.0, radius)

    @property
    def area_mm2(self) -> float:
        return len(self.points_mm) * _STEP_mm**2


def _touch(scene: Scene, hit: Hit, way: F64, facing: float, past_mm: F64 | float) -> _Touch | None:
    """Where a flat pad that comes some way touches what rays met; None where that may not be touched.

    past_mm  how much further than a plane square to the way each place of the pad lies: a sloping pad's
    """
    met = hit.met & (np.einsum("nk,k->n", hit.outward, -way) > facing)
    if not met.any():
        return None
    along = hit.points_mm @ way - past_mm
    nearest = float(along[hit.met].min())
    touches: Bools = met & (along < nearest + 2 * scene.rules.pad_relief_mm)
    may = scene.allowed(hit.points_mm[touches] @ scene.view.rotation, np.zeros(int(touches.sum())))
    if not may.all() or not len(may):
        return None
    return _Touch(hit.points_mm[touches], hit.outward[touches], nearest)


def _raster(x_mm: float, wide_mm: float, other_mm: F64, fixed_mm: float, axis: int) -> F64:
    """Places (n, 3) over a bar's width and along another axis, all at one place of the third."""
    x = x_mm + np.linspace(-0.5, 0.5, max(3, round(wide_mm / _STEP_mm))) * wide_mm
    across, other = (values.ravel() for values in np.meshgrid(x, other_mm))
    places = np.empty((len(across), 3))
    places[:, 0], places[:, axis], places[:, 3 - axis] = across, other, fixed_mm
    return places


def _bar(scene: Scene, x_mm: float, wide_mm: float, level_mm: float, *, leans: bool) -> Contact | None:
    """One bar under the base, as the object would lie on it; None where it does not bear before and behind its weight.

    level_mm  the back bar's middle
    leans     its leg touches the object behind; else it stands off
    """
    under = _under(scene, x_mm, wide_mm)
    if under is None:
        return None
    bearing, (begins, slope) = under

    def height_mm(z_mm: float) -> float:
        return begins + slope * z_mm

    lip_mm, rise_mm = min(scene.rules.flat_lip_mm, wide_mm), scene.rules.flat_lip_high_mm
    front = height_mm(float(_base(scene)[1][2]))
    way = np.array([0.0, 0.0, 1.0])
    rises = np.arange(front + 0.3, front + rise_mm + _STEP_mm, _STEP_mm / 2)
    lip = _touch(scene, scene.cast(_raster(x_mm, lip_mm, rises, float(scene.high_mm[2]) + 5.0, 1), -way), -way, _FACING,
                 0.0)
    top, foot = level_mm + scene.rules.back_bar_mm / 2, height_mm(float(_base(scene)[0][2]))
    heights = np.arange(foot, top + _STEP_mm, _STEP_mm)
    leg = _touch(scene, scene.cast(_raster(x_mm, wide_mm, heights, float(scene.low_mm[2]) - 5.0, 1), way), way, _FACING,
                 0.0)
    if lip is None or leg is None or top - foot < scene.rules.back_bar_mm:
        return None
    faces = [*bearing, _keeps(scene, lip, lip_mm)]
    back, ahead = leg.plane_mm, -lip.plane_mm
    clears = _rearmost_mm(scene, abs(x_mm) + wide_mm / 2, level_mm) + _packed_mm(scene)
    if leans:
        faces.append(_keeps(scene, leg, wide_mm))
    else:
        back = min(back - scene.rules.hub_finger_mm, clears)
    if back > clears or any(face is None for face in faces):
        return None
    corners = np.array([[x_mm, top, back], [x_mm, height_mm(back), back], [x_mm, height_mm(ahead), ahead],
                        [x_mm, height_mm(ahead) + rise_mm, ahead]])
    contact = replace(scene.contact(tuple(face for face in faces if face is not None), "lipped"),
                      flat=FlatBar(corners, wide_mm, lip_mm))
    return contact if bar_room_mm(scene.view, contact, scene.rules.flat_thicknesses_mm[0], scene.rules) > 0 else None


def _rearmost_mm(scene: Scene, half_mm: float, level_mm: float) -> float:
    """How far back the object reaches before a back bar."""
    high = scene.rules.back_bar_mm
    places = _raster(0.0, 2 * half_mm, np.linspace(-0.5, 0.5, 7) * high + level_mm, float(scene.low_mm[2]) - 5.0, 1)
    hit = scene.cast(places, np.array([0.0, 0.0, 1.0]))
    return float(hit.points_mm[hit.met, 2].min()) if hit.met.any() else math.inf


def _packed_mm(scene: Scene) -> float:
    """How far before the object's rearmost the padded side of a leg may lie, so that wires pass before the back bar."""
    rules = scene.rules
    return scene.loads.pad_thickness_mm + rules.flat_thicknesses_mm[0] - rules.wire_thickest_mm - rules.arm_clear_mm


def _under(scene: Scene, x_mm: float, wide_mm: float) -> tuple[tuple[Face, Face], tuple[float, float]] | None:
    """What lies on a bar towards its rear and its front, and the bar's height at the centre of mass and slope.

    An object lies on a straight bar where a string drawn taut beneath it touches, before and behind its weight.
    """
    low, high = _base(scene)
    up = np.array([0.0, 1.0, 0.0])
    hit = scene.cast(_raster(x_mm, wide_mm, np.arange(low[2], high[2], _STEP_mm), float(low[1]) - 5.0, 2), up)
    below = hit.points_mm[hit.met][:, [2, 1]]
    below = below[np.lexsort((below[:, 1], below[:, 0]))]
    hull = taut_string(below[np.r_[True, np.diff(below[:, 0]) > 0][:len(below)]])  # of each place the lowest
    after = int(np.searchsorted(hull[:, 0], 0.0))
    if not 0 < after < len(hull):
        return None  # its weight is not over it
    (z0, y0), (z1, y1) = hull[after - 1], hull[after]
    slope = (y1 - y0) / (z1 - z0)
    if abs(slope) > scene.rules.flat_slope_ratio:
        return None
    touch = _touch(scene, hit, up, _UNDER, slope * hit.points_mm[:, 2])
    if touch is None:
        return None
    z = touch.points_mm[:, 2]
    first, last = float(z.min()), float(z.max())
    if last - first < _LEAST_LENGTH_mm or not first < 0.0 < last:
        return None
    reach, inward = _ENDS * (last - first), unit(np.array([0.0, 1.0, -slope]))
    ends = [_Touch(touch.points_mm[part], touch.outward[part], touch.plane_mm)
            for part in (z <= first + reach, z >= last - reach)]
    rear, fore = (end.face(inward, wide_mm) for end in ends)
    if rear is None or fore is None:
        return None
    return ((replace(rear, force_limit_N=scene.bears_MPa * ends[0].area_mm2),
             replace(fore, force_limit_N=scene.bears_MPa * ends[1].area_mm2)), (touch.plane_mm, slope))


def _keeps(scene: Scene, touch: _Touch, wide_mm: float) -> Face | None:
    """What a lip or a leg touches, as a face that only keeps: a small pad where a flat one touches hardly anything."""
    inward = unit(-touch.outward.mean(axis=0))
    face = touch.face(inward, wide_mm)
    if face is not None:
        return replace(face, force_limit_N=scene.keeps_N(np.asarray(face.point_mm), inward, touch.area_mm2))
    middle = len(touch.points_mm) // 2
    one = slice(middle, middle + 1)
    seats = scene.seats(Hit(touch.points_mm[one], touch.outward[one], np.ones(1, dtype=bool)), (scene.lip_radius_mm,))
    return seats.face(0, scene.limit_N(seats, 0)) if seats.sits[0] else None
