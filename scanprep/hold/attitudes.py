"""The orientations in which an object may be shown, each with its reason, from evidence on the object itself.

Upright is the object's own upright, never the most probable rest. The base orientation is "upright, front to the
viewer"; every attitude is that base turned by Rz(roll) Rx(tilt) Ry(turn) (see `vectors`). Flat things are shown
face-on, long things along their length, standing things upright; a curator's own angles are taken exactly.

Takes the survey and the checklist's line; returns `Attitude` values, most natural first. Used by `find`.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from scanprep.hold.records import Attitude
from scanprep.scan.mesh import WorkingMesh
from scanprep.survey.records import Survey
from scanprep.vectors import F64, hold_rotation, unit
from scanprep.wish import ObjectWish

FLAT = 0.45  # least over middle extent below which a thing has a face; assumed
LONG = 0.40  # middle over largest extent below which a thing has a length; assumed
MOST = 6
THREE_QUARTER_deg = 35.0  # common practice: 30-45 deg
LEAN_BACK_deg = -10.0
LEAN_FORWARD_deg = 12.0
SAME_deg = 2.0


def base_rotation(survey: Survey) -> F64:
    """Return the (3, 3) turn from scan axes to "upright, front to the viewer" in the display frame."""
    up = unit(np.asarray(survey.upright.up, dtype=np.float64))
    front = np.asarray(survey.front, dtype=np.float64)
    front = unit(front - (front @ up) * up)
    return np.asarray(np.vstack([np.cross(up, front), up, front]), dtype=np.float64)


def angles_of(turned: F64) -> tuple[float, float, float]:
    """Return (tilt, turn, roll) in degrees of a (3, 3) turn of the base, so that hold_rotation gives it back.

    With the top pointing straight at the viewer or away, turn and roll are the same movement: turn is then 0.
    """
    tilt = math.asin(float(np.clip(turned[2, 1], -1, 1)))
    if math.cos(tilt) < 1e-9:
        return math.degrees(tilt), 0.0, math.degrees(math.atan2(turned[1, 0], turned[0, 0]))
    turn = math.atan2(-turned[2, 0], turned[2, 2])
    roll = math.atan2(-turned[0, 1], turned[1, 1])
    return math.degrees(tilt), math.degrees(turn), math.degrees(roll)


def _attitude(survey: Survey, name: str, angles: tuple[float, float, float], reason: str, natural: float) -> Attitude:
    tilt, turn, roll = (round(angle, 9) + 0.0 for angle in angles)
    return Attitude(name, tilt, turn, roll, hold_rotation(tilt, turn, roll) @ base_rotation(survey), reason, natural)


def asked_attitude(survey: Survey, wish: ObjectWish, tilt_deg: float, turn_deg: float, roll_deg: float) -> Attitude:
    """Return exactly the angles that were asked for, from "upright, front to the viewer"."""
    who = f"asked for {wish.number}" if wish.number else "asked for"
    return _attitude(survey, "asked", (tilt_deg, turn_deg, roll_deg), who, 1.0)


def propose_attitudes(working: WorkingMesh, survey: Survey, wish: ObjectWish) -> tuple[Attitude, ...]:
    """Return up to six distinct attitudes that suit the object, most natural first.

    A name or angles on the checklist's line come first; what the object suggests follows as alternatives.
    """
    extents = _extents_mm(working, survey)
    flat = extents[2] < FLAT * extents[1]
    long = extents[1] < LONG * extents[0]
    stands = _stands(survey, flat, long)
    proposed: list[Attitude] = []
    if flat and not stands:
        proposed += _flat_attitudes(working, survey, long)
    elif long and not stands:
        proposed += _long_attitudes(working, survey)
    proposed += _standing_attitudes(survey, extents, natural=1.0 if stands else 0.35)
    proposed = _with_wishes(proposed, working, survey, wish)
    return tuple(_distinct(sorted(proposed, key=lambda a: -a.natural), survey)[:MOST])


def _extents_mm(working: WorkingMesh, survey: Survey) -> F64:
    """Longest, middle, shortest extent along the principal axes."""
    along = working.vertices_mm @ survey.principal_axes.T
    return np.asarray(np.ptp(along, axis=0), dtype=np.float64)


def _stands(survey: Survey, flat: bool, long: bool) -> bool:
    """Whether the object has an upright of its own: not lying on its face or along its length."""
    up = np.asarray(survey.upright.up)
    longest, _, shortest = survey.principal_axes
    if flat and abs(up @ shortest) > 0.8:
        return False
    if long and abs(up @ longest) < 0.6:
        return False
    return survey.upright.rest is not None or survey.upright.sure


def _standing_attitudes(survey: Survey, extents: F64, natural: float) -> list[Attitude]:
    why = survey.upright.reason
    low_and_wide = survey.size_mm[1] < 0.6 * max(survey.size_mm[0], survey.size_mm[2])
    return [
        _attitude(survey, "upright", (0, 0, 0), f"its own upright ({why}), front to the viewer", natural),
        _attitude(survey, "three-quarter", (0, -THREE_QUARTER_deg, 0), "upright, turned to show a side too",
                  0.8 * natural),
        _attitude(survey, "leaned-forward", (LEAN_FORWARD_deg, 0, 0),
                  "leaned to show the inside" if low_and_wide else "leaned towards a viewer below",
                  (0.75 if low_and_wide else 0.55) * natural),
        _attitude(survey, "leaned-back", (LEAN_BACK_deg, 0, 0), "leaned back", 0.5 * natural),
        _attitude(survey, "three-quarter", (0, THREE_QUARTER_deg, 0), "upright, turned the other way", 0.7 * natural),
    ]


def _aligned(survey: Survey, to_viewer: F64, to_top: F64) -> tuple[float, float, float]:
    """Angles that bring one scan direction to the viewer and another, made square to it, to the top."""
    z = unit(to_viewer)
    y = unit(to_top - (to_top @ z) * z)
    return angles_of(np.vstack([np.cross(y, z), y, z]) @ base_rotation(survey).T)


def _heavy_end_down(working: WorkingMesh, survey: Survey, axis: F64) -> F64:
    """Sign of a length: the centre of mass sits below the middle, as a hand would hold it."""
    along = (working.vertices_mm - np.asarray(survey.centre_of_mass_mm)) @ axis
    return axis if along.max() + along.min() >= 0 else -axis


def _flat_attitudes(working: WorkingMesh, survey: Survey, long: bool) -> list[Attitude]:
    longest, _, shortest = survey.principal_axes
    up, front = np.asarray(survey.upright.up), np.asarray(survey.front)
    # the face is the upper side of what lies, else the side towards the front
    lies = abs(float(shortest @ up)) > 0.5
    face = shortest * (np.sign(shortest @ (up if lies else front)) or 1.0)
    if long:
        top = _heavy_end_down(working, survey, longest)
    else:
        top = -front if lies else up
    face_on = _aligned(survey, face, top)
    side = unit(np.cross(top - (top @ face) * face, face))
    named = "along-axis" if long else "face-on"
    found = [_attitude(survey, named, face_on,
                       "long and flat: its face to the viewer, its length upright" if long
                       else "flat: its face to the viewer", 1.0)]
    if long:
        found.append(_attitude(survey, "along-axis", _aligned(survey, face, side), "its length level", 0.8))
    leaned = angles_of(hold_rotation(LEAN_BACK_deg, 0, 0) @ hold_rotation(*face_on))
    found.append(_attitude(survey, "leaned-back", leaned, "face-on, leaned back", 0.6))
    found.append(_attitude(survey, "face-on", _aligned(survey, -face, top), "its other face to the viewer", 0.5))
    found.append(_attitude(survey, "profile", _aligned(survey, side, top), "edge to the viewer: both faces are seen",
                           0.4))
    return found


def _long_attitudes(working: WorkingMesh, survey: Survey) -> list[Attitude]:
    longest, middle, shortest = survey.principal_axes
    top = _heavy_end_down(working, survey, longest)
    up, front = np.asarray(survey.upright.up), np.asarray(survey.front)
    lies = abs(float(shortest @ up)) >= abs(float(shortest @ front))
    face = shortest * (np.sign(shortest @ (up if lies else front)) or 1.0)
    side = unit(np.cross(top, face))
    aslant = angles_of(hold_rotation(0, 0, 30) @ hold_rotation(*_aligned(survey, face, top)))
    return [
        _attitude(survey, "along-axis", _aligned(survey, face, top), "long: its length upright", 1.0),
        _attitude(survey, "along-axis", _aligned(survey, face, side), "long: its length level", 0.85),
        _attitude(survey, "along-axis", aslant, "long: its length aslant", 0.6),
        _attitude(survey, "profile", _aligned(survey, middle, top), "its narrow side to the viewer", 0.5),
    ]


def _with_wishes(proposed: list[Attitude], working: WorkingMesh, survey: Survey, wish: ObjectWish) -> list[Attitude]:
    """The checklist's angles first; or the attitude it names; what was merely proposed then counts half."""
    if wish.tilt_deg is not None or wish.turn_deg is not None or wish.roll_deg is not None:
        asked = asked_attitude(survey, wish, wish.tilt_deg or 0.0, wish.turn_deg or 0.0, wish.roll_deg or 0.0)
        return [asked, *(replace(a, natural=0.5 * a.natural) for a in proposed)]
    if wish.attitude is None:
        return proposed
    named = _named(proposed, working, survey, wish.attitude)
    return [replace(a, natural=1.0 if a is named else 0.5 * a.natural,
                    reason=f"{a.reason}; asked for by name" if a is named else a.reason)
            for a in (proposed if named in proposed else [named, *proposed])]


def _named(proposed: list[Attitude], working: WorkingMesh, survey: Survey, name: str) -> Attitude:
    for candidate in [*proposed, *_flat_attitudes(working, survey, False), *_long_attitudes(working, survey),
                      *_standing_attitudes(survey, np.zeros(3), 1.0)]:
        if candidate.name == name:
            return candidate
    raise ValueError(f"{name!r} is not the name of an attitude")


def _distinct(attitudes: list[Attitude], survey: Survey) -> list[Attitude]:
    kept: list[Attitude] = []
    for attitude in attitudes:
        if not any(looks_same(attitude.rotation, other.rotation, survey) for other in kept):
            kept.append(attitude)
    return kept


def looks_same(one: F64, other: F64, survey: Survey) -> bool:
    """Whether two (3, 3) rotations show the object alike, its axis of revolution and mirror planes considered."""
    if survey.axis is not None:
        axis = unit(np.asarray(survey.axis.direction))
        angle_deg = _angle_deg(one @ axis, other @ axis)
        ends_alike = any(abs(unit(np.asarray(plane.normal)) @ axis) > 0.99 for plane in survey.mirrors)
        return min(angle_deg, 180.0 - angle_deg if ends_alike else 180.0) < SAME_deg
    between = one.T @ other
    same = [np.eye(3)]
    normals = [unit(np.asarray(plane.normal)) for plane in survey.mirrors]
    for i, first in enumerate(normals):
        for second in normals[i + 1:]:
            # two mirrors in a row are a turn that the shape does not notice
            same.append((np.eye(3) - 2 * np.outer(first, first)) @ (np.eye(3) - 2 * np.outer(second, second)))
    return any(_turn_deg(between @ turn.T) < SAME_deg for turn in same)


def _angle_deg(a: F64, b: F64) -> float:
    return math.degrees(math.acos(float(np.clip(a @ b, -1, 1))))


def _turn_deg(rotation: F64) -> float:
    return math.degrees(math.acos(float(np.clip((np.trace(rotation) - 1) / 2, -1, 1))))
