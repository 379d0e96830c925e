"""Which edge of a thing shown by its face or its length is up: hung by its hole, by its shank, squared, as written.

What has a hole to hang by hangs by it; what a ring carries is on top; what has a head on a shaft has its shaft upright.
Else straight edges, the mirror plane or the smallest rectangle are level, and lines of writing. Which of two opposite
edges is up no shape tells: that is asked.
Takes what was measured (scan axes, mm); gives unit directions in the face. Used by `showing`.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from scanprep.survey.front import EDGED_SHARE, Body, squared
from scanprep.survey.pools import held_water
from scanprep.survey.records import Upright
from scanprep.survey.shape import Extents
from scanprep.survey.sides import OPENING_CELLS, Opening, Openings
from scanprep.vectors import F64, Vec3, unit

LONG_RATIO = 0.40  # tolerance: middle over largest extent below which a thing has a length; assumed
_WRITTEN_RATIO = 1.15  # tolerance: rows over columns, for lines of writing; trial: 1.2 to 3 on packages
# tolerance: of the length, how far off its middle the centre of mass lies where one end is heavier; assumed
_HEAVIER_SHARE = 0.01
# tolerance: the same of a flat thing that is not long, over its reach that way: a triangle's is 0.17; assumed
_CLEARLY_SHARE = 0.12
_TAPERS_SHARE = 0.08  # tolerance: the same of its outline drawn taut; assumed
_LEVEL_COS = 0.7  # tolerance: within 45 deg of square to its length a long thing lies
_IN_FACE_COS = 0.3  # tolerance: within 17 deg of the face: a way up that its edges can take
_SQUARE_COS = 0.985  # tolerance: within 10 deg: the same direction, measured less well
_NEAR_COS = 0.94  # tolerance: within 20 deg: an eye or a bezel beside its own mirror axis by scan noise; assumed
_RING_SHARE = 0.3  # tolerance: of the filled outline, the opening of a ring; assumed
_ROUND_SHARE = 0.8  # tolerance: of the circle round it, for an opening to be round; assumed: a square has 0.64
_CARRIED_SHARE = 0.03  # tolerance: of the outline's width, its middle off the opening's: a bezel, a stone; assumed
_EYE_SHARE = 0.25  # tolerance: of the filled outline: more open is a frame, a racket, no eye to hang by; assumed
_EYE_REACH = 0.12  # tolerance: of its length: half the width of what is surely an eye, or a key's bow; assumed
_SLIT_SHARE = 0.2  # tolerance: of the circle round it: less is a slit between teeth, no eye; assumed
_LESSER_SHARE = 0.2  # tolerance: of the largest opening: smaller is pierced work; assumed
_ON_AXIS_COS = 0.999  # tolerance: exactly upright: `_near_axis` has put it there
_PIERCED_SHARE = 0.08  # tolerance: of the length: pierced work so far off the middle is at one end; assumed
# tolerance: water in one mouth, and in each of a row, over the body's volume; its depth over its width; what the thing
# turned over may hold of it; trial: tobacco pipes 0.12 and 0.26, a telescope 0.02; a spoon is 0.2 deep
_HOLDS_SHARE, _ROW_SHARE, _DEEP_RATIO, _EITHER_SHARE = 0.06, 0.02, 0.6, 0.3
_MOUTHS = 3  # tolerance: side by side; assumed
# tolerance: of its reach from the stem: how far its middle lies at least, and where twigs are counted; how many; of its
# outline drawn taut, what is open between them; and how much thicker the stem is than most of it; assumed
_STEM_SHARE, _TWIGS_SHARES, _LEAST_TWIGS, _OPEN_CROWN_SHARE, _STEM_RATIO = 0.35, (0.7, 0.8), 5, 0.4, 3.0
_SHANK_RATIO = 0.75  # tolerance: middle over largest extent: what is as wide as long has no shank; assumed
_MOST_EYES = 3  # tolerance: a trefoil bow; more is a strainer; assumed
_END_SHARE = 0.3  # tolerance: of the reach towards it, from the middle: an eye lies further out; assumed
_EYES_SHARE = 0.6  # tolerance: of all that is open, what lies at that end; assumed
_SURE_SLENDERNESS_RATIO = 0.8  # tolerance: middle over largest extent: a hole in the end of it is for hanging; assumed


@dataclass(frozen=True, slots=True, eq=False)
class Seen:
    """What the choice of a showing needs to know of an object."""

    upright: Upright
    ups: tuple[Vec3, ...]  # other ways up that something speaks for, likeliest first
    extents: Extents
    body: Body
    faced: bool  # it has a face: see `has_face`
    mouth: Callable[[Vec3], float]  # way of looking up -> how much deeper the hollow is seen from above than from below
    round_share: Callable[[Vec3], float]  # direction -> share of the skin that is round about an axis along it
    top_end: float  # of the longest axis: above 0 where its far end is more likely up, below 0 its near end
    end_told: bool = False  # that end is no guess: a head on a shaft
    relief: Vec3 | None = None  # where the scanned side of a relief or mask looks
    shaft: Vec3 | None = None  # along the handle of a thing with a head on one
    square: bool = False  # made square: a box, a bracket
    volume_mm3: float = 0.0
    lay: Vec3 | None = None  # the way up in which it lay when it was scanned: its underside was not seen
    lighter: Callable[[F64], float] = lambda way: 0.0  # way -> how far the middle lies that way from the mass, of it
    on_feet: bool = False  # it surely stands on separate level feet: legs, wheels


def tops(up_told: Vec3 | None, face: F64, seen: Seen) -> tuple[list[F64], bool]:
    """Which edges of a thing that lies may be up when its face looks at the viewer, likeliest first; whether told."""
    if up_told is not None:
        told = np.asarray(up_told, dtype=np.float64)
        flat = told - (told @ face) * face
        if np.linalg.norm(flat) > 0.5 * np.linalg.norm(told):
            return [unit(flat)], True
    upright = np.asarray(seen.upright.up)
    if abs(float(upright @ face)) < _IN_FACE_COS and (seen.upright.sure or seen.relief is not None):
        flat = unit(upright - (upright @ face) * face)
        aside = np.cross(face, flat)
        return [flat, -flat, aside, -aside], seen.upright.sure
    first = _squared(face, seen)
    second = np.cross(face, first)
    long = seen.extents.slenderness_ratio < LONG_RATIO
    if (lay := _as_it_lay(face, second if long else None, seen)) is not None:
        aside = np.cross(face, lay)
        return [lay, aside, -aside, -lay], False
    if (hung := _hung(face, first, seen)) is not None:
        eye_up, sure = hung
        return [eye_up, -eye_up, np.cross(face, eye_up), np.cross(eye_up, face)], sure
    if (crown := _branches_up(face, first, seen)) is not None:
        return [crown, np.cross(face, crown), np.cross(crown, face), -crown], False
    if (mouth := _mouth_up(face, first, second, seen)) is not None:
        return [mouth, np.cross(face, mouth), np.cross(mouth, face), -mouth], False
    drawn = _top_of_plan(face)
    if long:
        alike = abs(seen.top_end) < _HEAVIER_SHARE
        top = drawn if alike else seen.extents.axes[0] * np.sign(seen.top_end)
        first = first if float(first @ top) >= 0 else -first
    else:
        first = _heavier_down(face, first, drawn, seen)
    second = second if float(second @ drawn) >= 0 else -second
    written = _written(face, first, seen)
    if long and seen.end_told:
        return [first, -first, second, -second], True
    if not long and written < 1 / _WRITTEN_RATIO:
        return [second, -second, first, -first], False
    if written > _WRITTEN_RATIO:
        return [first, -first, second, -second], False
    edges = [first, second, -first, -second]
    return edges + ([] if long or _is_square(face, first, seen) else _aslant(first, second)), False


def _as_it_lay(face: F64, level: F64 | None, seen: Seen) -> F64 | None:
    """The way up of what lay on an underside that the scan has not: a shoe, a horn, a boat on its keel.

    level  across a long thing, which lay unless it stood on its end
    """
    if seen.lay is None or abs(float(np.dot(seen.lay, face))) > _IN_FACE_COS:
        return None
    flat = unit(np.asarray(seen.lay) - float(np.dot(seen.lay, face)) * face)
    if level is not None and abs(float(flat @ level)) < _LEVEL_COS:
        return None  # it stood on its end
    return flat


def _heavier_down(face: F64, first: F64, drawn: F64, seen: Seen) -> F64:
    """Which end of a direction is up: the lighter and narrower one; as drawn where weight and breadth disagree.

    A plaque, a lock, a bag stand on their broad heavy end; of a frame the weight alone tells little.
    """
    lighter, narrower = seen.lighter(first), _narrower(face, first, seen)
    if abs(lighter) >= _CLEARLY_SHARE and abs(narrower) >= _TAPERS_SHARE and lighter * narrower > 0:
        return first if lighter > 0 else -first
    return first if float(first @ drawn) >= 0 else -first


def _narrower(face: F64, way: F64, seen: Seen) -> float:
    """How far the middle of its reach lies that way from the middle of its outline drawn taut, over the reach."""
    from scipy.spatial import ConvexHull

    flat = seen.body.sides.skin.vertices_mm @ np.stack([np.cross(way, face), way]).T
    ring = flat[ConvexHull(flat).vertices]
    ahead = np.roll(ring, -1, axis=0)
    area = ring[:, 0] * ahead[:, 1] - ring[:, 1] * ahead[:, 0]
    middle = float(((ring[:, 1] + ahead[:, 1]) * area).sum() / (3 * area.sum()))
    return (float(ring[:, 1].max() + ring[:, 1].min()) / 2 - middle) / max(float(np.ptp(ring[:, 1])), 1e-9)


def _is_square(face: F64, first: F64, seen: Seen) -> bool:
    """Whether straight edges, a shank or a mirror axis say what is level in a face, but for which of four is up."""
    frame = np.stack([np.cross(first, face), first, face])
    edged = seen.body.sides.edges_along(frame)[1] >= EDGED_SHARE
    return edged or _shank(face, seen) is not None or _mirror_axis(face, seen) is not None


def _shank(face: F64, seen: Seen) -> F64 | None:
    """The run of a shank that tells what is upright: of what is as wide as long (a sherd) its own mirror axis does."""
    if seen.shaft is None:
        return None
    slender = seen.extents.slenderness_ratio < _SHANK_RATIO
    return np.asarray(seen.shaft) if slender or _mirror_axis(face, seen) is None else None


def _aslant(first: F64, second: F64) -> list[F64]:
    """The ways halfway between four edges, those nearer to the first one first."""
    return [unit(a + b) for a, b in ((first, second), (first, -second), (-first, second), (-first, -second))]


def _hung(face: F64, first: F64, seen: Seen) -> tuple[F64, bool] | None:
    """The way up that an opening in the face tells, and whether it is sure: an eye to hang by, a ring's bezel."""
    frame = np.stack([np.cross(first, face), first, face])
    open_ = seen.body.sides.openings(frame)
    if not open_.each:
        return None
    if (carried := _carried(open_)) is not None:
        return _near_axis(carried @ frame[:2], first, face), False
    if (eye := _eye_up(open_, frame, seen)) is not None:
        return eye
    long = len(open_.each) > _MOST_EYES and seen.extents.slenderness_ratio < LONG_RATIO
    return _pierced_up(open_, frame, float(np.ptp(seen.body.sides.skin.vertices_mm @ frame[1]))) if long else None


def _carried(open_: Openings) -> F64 | None:
    """Where on a ring (right, up from its opening's middle) the bezel, stone or knob sits; None where it is even."""
    largest = open_.each[0]
    round_ = largest.area_mm2 > _ROUND_SHARE * np.pi * largest.reach_mm**2
    if not round_ or largest.area_mm2 < _RING_SHARE * open_.outline_mm2:
        return None
    off = open_.body_mm - largest.middle_mm
    return off if float(np.linalg.norm(off)) > _CARRIED_SHARE * float(np.sqrt(open_.outline_mm2)) else None


def _eye_up(open_: Openings, frame: F64, seen: Seen) -> tuple[F64, bool] | None:
    """The way up of what hangs by a hole near one of its ends."""
    middle = open_.body_mm
    way = open_.each[0].middle_mm - middle
    if float(np.linalg.norm(way)) < 1e-9:
        return None
    way = unit(way)
    outline = seen.body.sides.skin.vertices_mm @ frame[:2].T - middle
    least, length = _END_SHARE * float((outline @ way).max()), float(np.ptp(outline @ way))

    def at_end(one: Opening) -> bool:
        return float((one.middle_mm - middle) @ way) > least

    large = [one for one in open_.each if one.area_mm2 > _LESSER_SHARE * open_.each[0].area_mm2]
    there = [one for one in large if at_end(one)]
    area = sum(one.area_mm2 for one in there)
    if not 0 < len(there) <= _MOST_EYES or not (
            _EYES_SHARE * open_.share < area / open_.outline_mm2 < _EYE_SHARE):
        return None
    if any(one.area_mm2 < _SLIT_SHARE * np.pi * one.reach_mm**2 for one in there):
        return None
    top = _near_axis(way @ frame[:2], frame[1], frame[2])
    on_axis = abs(float(top @ frame[1])) > _ON_AXIS_COS  # a hole in one corner is for a nail
    sure = (len(there) == len(large) and open_.each[0].reach_mm < _EYE_REACH * length and on_axis
            and seen.extents.slenderness_ratio < _SURE_SLENDERNESS_RATIO)
    return top, sure


def _pierced_up(open_: Openings, frame: F64, length_mm: float) -> tuple[F64, bool] | None:
    """The way up of a long thing with pierced work towards one end: it hangs by that, its bowl or blade below."""
    area = np.array([one.area_mm2 for one in open_.each])
    off = np.average([one.middle_mm - open_.body_mm for one in open_.each], axis=0, weights=area)
    if abs(float(off[1])) < _PIERCED_SHARE * length_mm:
        return None
    return np.sign(off[1]) * frame[1], False


def _branches_up(face: F64, first: F64, seen: Seen) -> F64 | None:
    """The way up of what branches: a coral, an antler, a twig stands on its stem, which is its thickest part."""
    from scipy.ndimage import distance_transform_edt, label
    from scipy.spatial import ConvexHull

    frame = np.stack([np.cross(first, face), first, face])
    face_seen, start, pitch = seen.body.sides.looked(frame, OPENING_CELLS)
    hit = face_seen >= 0
    places = (start @ frame[:2].T).reshape(*hit.shape, 2)
    thick = distance_transform_edt(np.pad(hit, 1))[1:-1, 1:-1]
    stem = places[np.unravel_index(int(np.argmax(thick)), thick.shape)]
    crown = places[hit].mean(axis=0) - stem
    off = np.linalg.norm(places - stem, axis=-1)
    reach = float(off[hit].max())
    twigs = max(label(hit & (off > share * reach), np.ones((3, 3)))[1] for share in _TWIGS_SHARES)
    open_share = 1 - float(np.count_nonzero(hit)) * pitch**2 / ConvexHull(places[hit]).volume
    if (float(np.linalg.norm(crown)) < _STEM_SHARE * reach or twigs < _LEAST_TWIGS or open_share < _OPEN_CROWN_SHARE
            or float(thick.max()) < _STEM_RATIO * float(np.median(thick[hit]))):
        return None
    return unit(crown @ frame[:2])


def _mouth_up(face: F64, first: F64, second: F64, seen: Seen) -> F64 | None:
    """The way up in which what lies in the view holds water in a deep mouth.

    A tobacco pipe's bowl opens upwards, its stem level; so do all pipes of a row. A narrow tube on something large (a
    telescope on its stand) tells nothing.
    """
    sides = seen.body.sides
    for way in (second, -second, first, -first):
        held = held_water(sides, way, face)
        least = (_ROW_SHARE if held.count >= _MOUTHS else _HOLDS_SHARE) * seen.volume_mm3
        if held.volume_mm3 > least and held.depth_mm > held.width_mm * _DEEP_RATIO and not (
                held_water(sides, -way, face).volume_mm3 > _EITHER_SHARE * held.volume_mm3):
            return way
    return None


def _near_axis(way: F64, first: F64, face: F64) -> F64:
    """A direction in the face, or the squared one that it lies beside."""
    for axis in (first, -first, np.cross(face, first), np.cross(first, face)):
        if float(way @ axis) > _NEAR_COS:
            return axis
    return unit(way)


def _written(face: F64, first: F64, seen: Seen) -> float:
    """How much more level than upright lines of writing run; 1 on what is not square, but its own mirror image."""
    frame = np.stack([np.cross(first, face), first, face])
    sides = seen.body.sides
    if sides.edges_along(frame)[1] < EDGED_SHARE and _mirror_axis(face, seen) is not None:
        return 1.0
    return sides.rows_over_columns(frame)


def _top_of_plan(face: F64) -> F64:
    """The direction that is up on a drawing of a face in the file's axes: y, or z; of a plan in a file with y up, -z.

    Nothing in the object tells it; it is how whoever placed the scan in its axes most likely saw it on the screen.
    """
    return np.array([0.0, 0.0, -1.0]) if abs(float(face[1])) > _SQUARE_COS else np.array([0.0, 1.0, 1.0])


def _mirror_axis(face: F64, seen: Seen) -> F64 | None:
    """The line in the face about which it is its own mirror image."""
    for plane in seen.body.mirrors:
        if abs(float(np.dot(plane.normal, face))) < 0.2:
            return unit(np.cross(plane.normal, face))
    return None


def _squared(face: F64, seen: Seen) -> F64:
    """Return the direction in the face that stands upright: straight edges, shaft, mirror plane, longer side."""
    right = unit(np.cross(seen.extents.axes[0] if abs(float(seen.extents.axes[0] @ face)) < 0.9
                          else seen.extents.axes[1], face))
    frame = np.stack([right, np.cross(face, right), face])
    if seen.body.sides.edges_along(frame)[1] < EDGED_SHARE:
        if (shank := _shank(face, seen)) is not None and float(np.linalg.norm(np.cross(shank, face))) > _NEAR_COS:
            return unit(shank - float(shank @ face) * face)
        if (axis := _mirror_axis(face, seen)) is not None:
            return axis
    return squared(seen.body.sides, frame)[0]
