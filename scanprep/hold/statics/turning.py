"""Whether an object may turn in its tips: what is round, and is held by tips that point at its axis, turns.

A face presses along its normal; about an axis of revolution that force has a lever only as long as it passes the axis.
Where no face has more than its pad's own pressure may wander, friction alone keeps the object from turning: a hold that
stands every shake, yet creeps round under dusting and footfall. It matters where a side was asked for, and for a ball,
which has no side at all that its tips would know. mm, display frame, origin at the centre of mass. Called by `mount`.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from scanprep.brief import ObjectBrief
from scanprep.findings import Finding, Verdict
from scanprep.hold.records import Attitude, Contact, faces_of
from scanprep.hold.statics.wrench import BEARS_SHARE
from scanprep.rules import HoldRules
from scanprep.survey.records import Survey
from scanprep.vectors import F64

_BALL = HoldRules().ball_inertia_ratio


def levers_mm(contacts: Sequence[Contact], point_mm: F64) -> F64:
    """Return the moments of unit forces along all faces' normals about a point, (f, 3) mm; seats and jaws alike."""
    faces = [face for contact in contacts for face in faces_of(contact)]
    return np.asarray(np.cross([np.asarray(face.point_mm) - point_mm for face in faces],
                               [face.normal for face in faces]), dtype=np.float64)


def turning_findings(contacts: Sequence[Contact], survey: Survey, attitude: Attitude, brief: ObjectBrief,
                     subject: str) -> list[Finding]:
    """Return a finding to look at where only friction keeps a round object from turning, and that matters; or none."""
    if survey.axis is None:
        return []
    slack = np.array([BEARS_SHARE * face.radius_mm for contact in contacts for face in faces_of(contact)])
    moments = np.linalg.eigvalsh(survey.inertia_g_mm2)
    at = attitude.rotation @ (np.asarray(survey.axis.point_mm) - np.asarray(survey.centre_of_mass_mm))
    levers = levers_mm(contacts, at)
    if moments[-1] <= _BALL * moments[0]:
        lever, about = np.linalg.norm(levers, axis=1), "about any axis"
    elif brief.front is not None or attitude.name == "asked":
        lever, about = np.abs(levers @ (attitude.rotation @ np.asarray(survey.axis.direction))), "about its axis"
    else:
        return []
    if (lever > slack).any():
        return []
    worst = int(np.argmax(lever / slack))
    return [Finding("turning", subject, Verdict.LOOK,
                    f"{subject}: only friction keeps it from turning {about} in its tips (no tip presses more than "
                    f"{lever[worst]:.1f} mm past the axis)",
                    "Mark its front out of sight and look at it at every round; set one tip in a recess, or a dab of "
                    "reversible adhesive that the conservator agrees to", float(lever[worst]), float(slack[worst]),
                    "mm")]
