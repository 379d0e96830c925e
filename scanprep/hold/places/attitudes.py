"""The orientations in which an object may be shown, each with its reason, from evidence on the object itself.

Upright is the object's own upright, never the most probable rest. The base orientation is "upright, front to the
viewer" for what stands, "face to the viewer" for what lies flat or long; every attitude is that base turned by
Rz(roll) Rx(tilt) Ry(turn) (see `vectors`). A curator's own angles are taken exactly.

Takes the survey and the checklist's line; returns `Attitude` values, most natural first. Used by `find`.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from scanprep.brief import ObjectBrief
from scanprep.hold.records import Attitude
from scanprep.rules import HoldRules
from scanprep.scan.mesh import WorkingMesh
from scanprep.survey.records import Survey
from scanprep.survey.tops import LONG_RATIO
from scanprep.vectors import F64, hold_rotation, steady, unit

ASKED = "asked"  # name of the attitude at angles of somebody's own
MOST = 6  # tolerance: attitudes tried; each costs a search
MOST_CHOICES = 2  # tolerance: of the survey's choices that are tried besides the proposal: each costs a search
CHOICE = HoldRules().choice_natural
# how natural an attitude is: asked for or straight 1, turned or level about 0.7, leaned below that; a curator's default
# is the straight view (assumed)
THREE_QUARTER_deg = HoldRules().three_quarter_deg
LEAN_BACK_deg = -HoldRules().lean_back_deg
LEAN_FORWARD_deg = HoldRules().lean_forward_deg
SAME_deg = 2.0  # tolerance: attitudes nearer than this are one
BALL_RATIO = HoldRules().ball_size_ratio


def base_rotation(survey: Survey) -> F64:
    """Return the (3, 3) turn from scan axes to the display frame from which an object's angles are counted.

    What stands: upright, front to the viewer. What lies flat or long on its rest: its face to the viewer, and its own
    edge or end upright. Which of them it is, and what is not sure of it, the survey says.
    """
    up, front = (np.asarray(way, dtype=np.float64) for way in (survey.shown.up, survey.shown.front))
    front = unit(front - (front @ up) * up)
    return np.asarray(np.vstack([np.cross(up, front), up, front]), dtype=np.float64)


def _long(survey: Survey) -> bool:
    return survey.slenderness_ratio < LONG_RATIO


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


def asked_attitude(survey: Survey, brief: ObjectBrief, tilt_deg: float, turn_deg: float, roll_deg: float) -> Attitude:
    """Return exactly the angles that were asked for, counted from `base_rotation`."""
    start = "upright, front to the viewer" if survey.shown.kind == "upright" else "face to the viewer"
    who = f"asked for {brief.number}" if brief.number else "asked for"
    return _Maker(survey).at(ASKED, (tilt_deg, turn_deg, roll_deg), f"{who}, from {start}", 1.0)


def _one_turn(angle_deg: float) -> float:
    """An angle without its last digits; half a turn is half a turn either way round."""
    rounded = round(angle_deg, 9) + 0.0
    return 180.0 if rounded == -180.0 else rounded


class _Maker:
    """Attitudes of one object, with its base kept."""

    def __init__(self, survey: Survey) -> None:
        self.survey = survey
        self.base = base_rotation(survey)

    def at(self, name: str, angles: tuple[float, float, float], reason: str, natural: float) -> Attitude:
        """An attitude at given angles."""
        tilt, turn, roll = (_one_turn(angle) for angle in angles)
        rotation = steady(hold_rotation(tilt, turn, roll) @ self.base, 10)
        return Attitude(name, tilt, turn, roll, rotation, reason, natural)

    def showing(self, to_viewer: F64, to_top: F64) -> tuple[float, float, float]:
        """Angles that bring one scan direction to the viewer and another, made square to it, to the top."""
        z = unit(to_viewer)
        y = unit(to_top - (to_top @ z) * z)
        return angles_of(np.vstack([np.cross(y, z), y, z]) @ self.base.T)


def propose_attitudes(working: WorkingMesh, survey: Survey, brief: ObjectBrief) -> tuple[Attitude, ...]:
    """Return up to six distinct attitudes that suit the object, most natural first.

    A name or angles on the checklist's line come first; what the object suggests follows as alternatives.
    """
    maker = _Maker(survey)
    kind = survey.shown.kind
    if kind == "upright":
        proposed = _standing_attitudes(maker, 1.0)
    else:
        proposed = (_flat_attitudes(maker) if kind == "face" else _long_attitudes(maker)) + _set_up(maker)
    proposed = _with_brief(proposed + _choices(maker), maker, brief)
    return tuple(_distinct(sorted(proposed, key=lambda a: -a.natural), survey)[:MOST])


def _standing_attitudes(maker: _Maker, natural: float) -> list[Attitude]:
    survey = maker.survey
    low_and_wide = survey.size_mm[1] < 0.6 * max(survey.size_mm[0], survey.size_mm[2])
    return [
        maker.at("upright", (0, 0, 0), f"its own upright ({survey.upright.reason}), front to the viewer", natural),
        maker.at("three-quarter", (0, -THREE_QUARTER_deg, 0), "upright, turned to show a side too", 0.7 * natural),
        maker.at("leaned-forward", (LEAN_FORWARD_deg, 0, 0),
                 "leaned to show the inside" if low_and_wide else "leaned towards a viewer below",
                 (0.65 if low_and_wide else 0.55) * natural),
        # What is low and wide is looked into: leaned back it shows its underside
        maker.at("leaned-back", (LEAN_BACK_deg, 0, 0), "leaned back", (0.3 if low_and_wide else 0.5) * natural),
        maker.at("three-quarter", (0, THREE_QUARTER_deg, 0), "upright, turned the other way", 0.65 * natural),
    ]


def _flat_attitudes(maker: _Maker) -> list[Attitude]:
    long = _long(maker.survey)
    side, top, face = maker.base
    how = "long and flat: face to the viewer, length upright" if long else "flat: its face to the viewer"
    found = [maker.at("along-axis" if long else "face-on", (0, 0, 0), how, 1.0)]
    if long:
        found.append(maker.at("along-axis", (0, 0, 90), "its face to the viewer, its length level", 0.7))
    return [*found,
            maker.at("leaned-back", (LEAN_BACK_deg, 0, 0), "face-on, leaned back", 0.6),
            maker.at("face-on", maker.showing(-face, top), "its other face to the viewer", 0.5),
            maker.at("profile", maker.showing(side, top), "edge to the viewer: both faces are seen", 0.4)]


def _long_attitudes(maker: _Maker) -> list[Attitude]:
    side, top, _ = maker.base
    return [maker.at("along-axis", (0, 0, 0), "long: its length upright", 1.0),
            maker.at("along-axis", (0, 0, 90), "long: its length level", 0.7),
            maker.at("along-axis", (0, 0, 30), "long: its length aslant", 0.6),
            maker.at("profile", maker.showing(side, top), "its narrow side to the viewer", 0.5)]


def _choices(maker: _Maker) -> list[Attitude]:
    """What else it may be where the survey must ask: as natural as a turned view until somebody says."""
    names = {"upright": "upright", "face": "along-axis" if _long(maker.survey) else "face-on", "length": "along-axis"}
    return [maker.at(names[one.kind], maker.showing(np.asarray(one.front), np.asarray(one.up)),
                     f"to be chosen: {one.why}", CHOICE - 0.01 * place)
            for place, one in enumerate(maker.survey.choices[1:1 + MOST_CHOICES])]


def _set_up(maker: _Maker) -> list[Attitude]:
    """A thing that lies, shown as it lies."""
    survey = maker.survey
    up, front = np.asarray(survey.upright.up), np.asarray(survey.front)
    return [maker.at("upright", maker.showing(front, up), f"as it lies ({survey.upright.reason})", 0.35)]


def _with_brief(proposed: list[Attitude], maker: _Maker, brief: ObjectBrief) -> list[Attitude]:
    """The checklist's angles first; or the attitude it names; what was merely proposed then counts half."""
    if brief.tilt_deg is not None or brief.turn_deg is not None or brief.roll_deg is not None:
        asked = asked_attitude(maker.survey, brief, brief.tilt_deg or 0.0, brief.turn_deg or 0.0, brief.roll_deg or 0.0)
        return [asked, *(replace(a, natural=0.5 * a.natural) for a in proposed)]
    if brief.attitude is None:
        return proposed
    named = _named(proposed, maker, brief.attitude)
    return [replace(a, natural=1.0 if a is named else 0.5 * a.natural,
                    reason=f"{a.reason}; asked for by name" if a is named else a.reason)
            for a in (proposed if named in proposed else [named, *proposed])]


def _named(proposed: list[Attitude], maker: _Maker, name: str) -> Attitude:
    for candidate in [*proposed, *_flat_attitudes(maker), *_long_attitudes(maker), *_standing_attitudes(maker, 1.0),
                      *_set_up(maker)]:
        if candidate.name == name:
            return candidate
    raise ValueError(f"{name!r} is not the name of an attitude")


def _distinct(attitudes: list[Attitude], survey: Survey) -> list[Attitude]:
    kept: list[Attitude] = []
    for attitude in attitudes:
        if not any(looks_same(attitude.rotation, other.rotation, survey) for other in kept):
            kept.append(attitude)
    return kept


def _ball(survey: Survey) -> bool:
    """Whether the object is as round as a ball: as wide every way, and hardly more skin than a ball of its volume."""
    least_mm2 = math.pi ** (1 / 3) * (6 * survey.volume_mm3.best) ** (2 / 3)
    round_enough = max(survey.size_mm) < BALL_RATIO * min(survey.size_mm)
    return round_enough and survey.area_mm2 < BALL_RATIO * least_mm2


def looks_same(one: F64, other: F64, survey: Survey) -> bool:
    """Whether two (3, 3) rotations show the object alike, its axis of revolution and mirror planes considered."""
    if _ball(survey):
        return True
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
