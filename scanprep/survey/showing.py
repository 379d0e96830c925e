"""How an object would be shown: what is up and what faces the viewer, with the other choices where evidence is thin.

Cans, boxes and vessels stand. A flat thing shows its face, a long thing its length. A face is told by its hollow (a
dish), by its colours (a printed box), by its detail; a flat thing's edges are squared to the panel, along its own
mirror plane or the smallest rectangle round its outline, and lines of writing say which edge is level. Which of two
opposite edges is up no shape tells: that is asked, with the choices as plain directions of which pictures can be made.
Takes what was measured (scan axes, mm); gives `Showing` values. Used by the survey; `hold.places.attitudes` turns them
into display angles.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from scanprep.survey.evidence import VESSEL_SHARE
from scanprep.survey.front import EDGED_SHARE, Body, Front, choose_front, of_two, squared
from scanprep.survey.records import Axis, MirrorPlane, Showing, Upright
from scanprep.survey.shape import Extents
from scanprep.vectors import F64, Vec3, unit, vec3

FLAT_RATIO = 0.45  # tolerance: least over middle extent below which a thing has a face; assumed
FACED_RATIO = 0.55  # tolerance: the same where both faces are alike: a banana, a blade, a lock; trial
CAN_RATIO = 0.25  # tolerance: a closed round body this high over its width is a squat can, not a disc; assumed
_SPOOL_RATIO = 0.40  # tolerance: of its width: a lower one is a pulley, a double disc, which shows its face; assumed
LONG_RATIO = 0.40  # tolerance: middle over largest extent below which a thing has a length; assumed
# tolerance: how much deeper one face may be than the other, over the height, for it to be closed; assumed
_CLOSED_SHARE = 0.05
_DISH_SHARE = 0.2  # tolerance: the same, for the deeper face to be its inside; assumed
_WRITTEN_RATIO = 1.15  # tolerance: rows over columns, for lines of writing; trial: 1.2 to 3 on packages
# tolerance: of the length, how far off its middle the centre of mass lies where one end is heavier; assumed
_HEAVIER_SHARE = 0.01
_IN_FACE_COS = 0.3  # tolerance: within 17 deg of the face: a way up that its edges can take
_SQUARE_COS = 0.985  # tolerance: within 10 deg: the same direction, measured less well
_MOST = 8  # tolerance: choices that a person can look over at once; assumed


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


@dataclass(frozen=True, slots=True)
class Shown:
    """The proposal and what must be asked."""

    showing: Showing
    choices: tuple[Showing, ...]  # the proposal first; empty where nothing is asked
    ask_up: str  # why it must be asked; "" where it need not
    ask_front: str
    standing_front: Front  # as it stands on its rest, whatever is shown


def has_face(extents: Extents, axis: Axis | None, mirrors: Sequence[MirrorPlane], mouth: float,
             waisted: Callable[[Vec3], bool]) -> bool:
    """Return whether a thing is flat enough to have a face.

    waisted  direction -> whether it is narrower in the middle than at both ends, along it: a spool stands
    mouth  of a rest on its face: how much deeper its hollow is seen from above than from below, over the height
    """
    shortest, flatness = extents.axes[2], extents.flatness_ratio
    round_across = axis is not None and abs(float(np.dot(axis.direction, shortest))) > _SQUARE_COS
    if round_across and flatness > CAN_RATIO and abs(mouth) < _CLOSED_SHARE:
        return False
    if _SPOOL_RATIO < flatness < FACED_RATIO and extents.slenderness_ratio >= LONG_RATIO and waisted(vec3(shortest)):
        return False
    if flatness < FLAT_RATIO:
        return True
    alike = any(abs(float(np.dot(plane.normal, shortest))) > _SQUARE_COS for plane in mirrors)
    return flatness < FACED_RATIO and alike


def choose_showing(up_told: Vec3 | None, front_told: Vec3 | None, seen: Seen) -> Shown:
    """Return how the object is shown, and the choices to be asked for.

    up_told, front_told  as the checklist says, scan axes
    """
    standing = choose_front(front_told, seen.upright.up, seen.body)
    if stands(seen):
        return _standing(front_told, seen, standing)
    return _lying(up_told, front_told, seen, standing)


def stands(seen: Seen) -> bool:
    """Whether the object is shown on the rest that was found: not lying on its face or along its length."""
    up = np.asarray(seen.upright.up)
    if seen.relief is not None:
        return False
    longest, _, shortest = seen.extents.axes
    long = seen.extents.slenderness_ratio < LONG_RATIO
    if seen.faced and abs(float(up @ shortest)) > 0.8:
        return False
    if long and abs(float(up @ longest)) < 0.6:
        return False
    # told which edge is up, but it cannot stand on it: a token, a spoon
    return not (seen.upright.rest is None and (seen.faced or long))


def _standing(front_told: Vec3 | None, seen: Seen, front: Front) -> Shown:
    up = seen.upright
    first = Showing(up.up, front.direction, "upright", f"{up.reason}; {front.reason}")
    choices = [first]
    if not front.sure:
        choices += [Showing(up.up, other, "upright", "another side to the viewer") for other in front.others]
    if not up.sure:
        for way in seen.ups:
            other = choose_front(front_told, way, seen.body)
            choices.append(Showing(way, other.direction, "upright", "another way up"))
            if not other.sure:
                choices += [Showing(way, side, "upright", "another way up, another side to the viewer")
                            for side in other.others[:1]]
    asked = not (up.sure and front.sure)
    return Shown(first, tuple(choices[:_MOST]) if asked else (), "" if up.sure else up.reason,
                 "" if front.sure else front.reason, front)


def _lying(up_told: Vec3 | None, front_told: Vec3 | None, seen: Seen, standing: Front) -> Shown:
    """A thing that lies on its face or along its length: the face to the viewer, and which edge of it is up."""
    face = _face(front_told, seen, standing)
    towards = np.asarray(face.direction)
    kind = "face" if seen.faced or seen.relief is not None else "length"
    tops, told = _tops(up_told, towards, seen)
    first = Showing(vec3(tops[0]), face.direction, kind, face.reason)
    turned = kind == "face" and seen.round_share(face.direction) > VESSEL_SHARE  # as good whichever edge is up
    ask_up = "" if told or (turned and seen.upright.sure) else (
        "shape does not tell which edge of it is up" if kind == "face" else "shape does not tell which end of it is up")
    choices = [first]
    if ask_up:
        choices += [Showing(vec3(top), face.direction, kind, "another edge up") for top in tops[1:]]
    if not face.sure:
        choices += [Showing(one.up, vec3(-towards), kind, "its other face to the viewer") for one in tuple(choices)]
    asked = bool(ask_up) or not face.sure
    return Shown(first, tuple(choices[:_MOST]) if asked else (), ask_up, "" if face.sure else face.reason, standing)


def _face(front_told: Vec3 | None, seen: Seen, standing: Front) -> Front:
    """Which of its two faces looks at the viewer: as told, its hollow, or the richer one."""
    shortest, up = seen.extents.axes[2], np.asarray(seen.upright.up)
    for known in (up, np.asarray(standing.direction)):  # an axis of inertia is off by irregularity; a rest is not
        if abs(float(shortest @ known)) > _SQUARE_COS:
            shortest = known * np.sign(shortest @ known)
    if front_told is not None:
        told = unit(np.asarray(front_told, dtype=np.float64))
        return Front(vec3(shortest * np.sign(shortest @ told)) if abs(float(told @ shortest)) > 0.7 else vec3(told),
                     "the checklist says so")
    if seen.relief is not None:
        return Front(seen.relief, "its scanned side to the viewer: its back was left open")
    if seen.faced:
        depth = seen.mouth(vec3(shortest))
        if abs(depth) > _DISH_SHARE:
            return Front(vec3(shortest * np.sign(depth)), "its hollow face to the viewer")
    what = "its face to the viewer" if seen.faced else "its length across the view"
    if seen.body.axis is not None and abs(float(np.dot(seen.body.axis.direction, shortest))) < 0.2:
        return choose_front(None, vec3(seen.extents.axes[0]), seen.body)  # turned work: any side of it, but for paint
    return of_two(shortest, seen.body, what, seen.extents.axes[0])


def _tops(up_told: Vec3 | None, face: F64, seen: Seen) -> tuple[list[F64], bool]:
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
    drawn = _top_of_plan(face)
    alike = abs(seen.top_end) < _HEAVIER_SHARE
    top = drawn if alike else seen.extents.axes[0] * np.sign(seen.top_end)
    first = first if float(first @ top) >= 0 else -first
    second = second if float(second @ drawn) >= 0 else -second
    sides = seen.body.sides
    written = sides.rows_over_columns(np.stack([np.cross(first, face), first, face]))
    long = seen.extents.slenderness_ratio < LONG_RATIO
    if long and seen.end_told:
        return [first, -first, second, -second], True
    if not long and written < 1 / _WRITTEN_RATIO:
        return [second, -second, first, -first], False
    return [first, -first, second, -second] if written > _WRITTEN_RATIO else [first, second, -first, -second], False


def _top_of_plan(face: F64) -> F64:
    """The direction that is up on a drawing of a face in the file's axes: y, or z; of a plan in a file with y up, -z.

    Nothing in the object tells it; it is how whoever placed the scan in its axes most likely saw it on the screen.
    """
    return np.array([0.0, 0.0, -1.0]) if abs(float(face[1])) > _SQUARE_COS else np.array([0.0, 1.0, 1.0])


def _squared(face: F64, seen: Seen) -> F64:
    """Return the direction in the face that stands upright: its mirror plane, or the longer edge of its rectangle."""
    right = unit(np.cross(seen.extents.axes[0] if abs(float(seen.extents.axes[0] @ face)) < 0.9
                          else seen.extents.axes[1], face))
    frame = np.stack([right, np.cross(face, right), face])
    if seen.body.sides.edges_along(frame)[1] < EDGED_SHARE:
        for plane in seen.body.mirrors:
            if abs(float(np.dot(plane.normal, face))) < 0.2:
                return unit(np.cross(plane.normal, face))
    return squared(seen.body.sides, frame)[0]
