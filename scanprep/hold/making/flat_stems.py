"""Arms with flat stems: what keeps a heavy object far above its back bar, where wire would be too soft.

The stem is flat bar, bent the easy way in an upright plane: from the back bar up along the object's back as a string
drawn taut over it would lie; the wire's end is soldered into its drilled end.
Display frame, mm. Used by `planned`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from scanprep.hold.making.arm_layout import TOUCH_MM, RoutedArm, is_made, least_gap_mm, measured
from scanprep.hold.places.obstacle import View
from scanprep.hold.records import Contact, Thin
from scanprep.hold.wires.bends import along, tidy
from scanprep.hold.wires.flat_bar import front_stem
from scanprep.hold.wires.hub import HubPlan
from scanprep.hold.wires.wire_ends import WireEnd
from scanprep.rules import HoldRules
from scanprep.vectors import F64, taut_string

_STEP_mm = 2.0  # tolerance: between heights at which the object's back is asked for
_GAP_mm = 0.3  # tolerance: least between two arms, as of wires
_STRAIGHT = 0.3  # tolerance: how far to the side a wire's end may begin before a stem that bends the easy way only


def flat_stemmed(view: View, plan: HubPlan, contact: Contact, ends: Sequence[WireEnd], thick_mm: float, tip_mm: float,
                 laid: Sequence[RoutedArm], rules: HoldRules) -> RoutedArm | None:
    """Return an arm on a flat stem; None where no end lies straight above the back bar, or the object is in the way.

    ends      how its wire may lie at the contact
    thick_mm  of the stem
    tip_mm    of the wire
    """
    best: RoutedArm | None = None
    for end in ends:
        root = front_stem(plan, float(end.start_mm[0]), rules)
        if root is None or abs(float(end.direction[0])) > _STRAIGHT:
            continue
        launch = root.start_mm + root.lap_mm * root.direction
        if end.start_mm[1] < launch[1] + 2 * thick_mm:
            continue
        stem = _taut(view, launch, end.start_mm, thick_mm, rules)
        path = np.vstack([tidy(np.vstack([root.start_mm, stem])), end.points_mm[1:]])
        arm = replace(measured(view, contact, path, root, thick_mm, rules, len(contact.faces) * end.annealed,
                               Thin(tip_mm, len(path) - len(end.points_mm))), stem_wide_mm=rules.flat_stem_mm)
        edges = np.vstack([along(line, _STEP_mm) for line in arm.lines_mm[1:]])
        room = float(view.exact_mm(edges).min()) - thick_mm / 2
        arm = replace(arm, short_mm=max(arm.short_mm, rules.arm_clear_mm - room))
        if is_made(arm, rules) and min(arm.room_mm, room) >= -TOUCH_MM and \
                least_gap_mm([*laid, arm], plan) >= _GAP_mm and \
                (best is None or arm.short_mm < best.short_mm - TOUCH_MM):
            best = arm
    return best


def strip_stemmed(view: View, plan: HubPlan, contact: Contact, thick_mm: float, laid: Sequence[RoutedArm],
                  rules: HoldRules) -> RoutedArm | None:
    """Return a clip of strip on its flat stem, which lies behind the strip and is riveted to it; None where the clip is
    not straight above the back bar, or the object or another arm is in the way.

    thick_mm  of the stem
    """
    assert contact.ring is not None and contact.ring.strip is not None
    behind = contact.pad_thickness_mm + contact.ring.strip.thick_mm + thick_mm / 2
    middle = len(contact.ring.points_mm) // 2
    end = contact.ring.points_mm[middle] + behind * contact.ring.outward[middle]
    root = front_stem(plan, float(end[0]), rules)
    if root is None:
        return None
    launch = root.start_mm + root.lap_mm * root.direction
    if end[1] < launch[1] + 2 * thick_mm:
        return None
    path = tidy(np.vstack([root.start_mm, _taut(view, launch, end, thick_mm, rules)]))
    arm = replace(measured(view, contact, path, root, thick_mm, rules), stem_wide_mm=rules.flat_stem_mm,
                  strip=contact.ring.strip)
    edges = np.vstack([along(line, _STEP_mm) for line in arm.lines_mm[1:]])
    room = float(view.exact_mm(edges).min()) - thick_mm / 2
    arm = replace(arm, short_mm=max(arm.short_mm, min(rules.arm_clear_mm, behind - thick_mm / 2) - room))
    good = is_made(arm, rules) and min(arm.room_mm, room) >= -TOUCH_MM and least_gap_mm([*laid, arm], plan) >= _GAP_mm
    return arm if good else None


def _taut(view: View, launch_mm: F64, end_mm: F64, thick_mm: float, rules: HoldRules) -> F64:
    """Corners (k, 3) of a string drawn taut from a back bar to a wire's end, a clearance behind the object."""
    heights = np.arange(float(launch_mm[1]), float(end_mm[1]), _STEP_mm)[1:]
    x = float(end_mm[0]) + np.linspace(-0.5, 0.5, 5) * rules.flat_stem_mm
    across, up = (values.ravel() for values in np.meshgrid(x, heights))
    behind = float(view.vertices_mm[:, 2].min()) - 20.0
    places = np.column_stack([across, up, np.full(len(up), behind)])
    found = view.body.scene.cast(places @ view.rotation, np.broadcast_to(view.rotation[2], places.shape))
    back = (behind + found.distance_mm.astype(np.float64)).reshape(len(heights), -1).min(axis=1)
    back = back - rules.arm_clear_mm - thick_mm / 2 - TOUCH_MM
    met = np.isfinite(back)
    profile = np.vstack([launch_mm[[1, 2]], np.column_stack([heights, back])[met], end_mm[[1, 2]]])
    return np.array([[end_mm[0], y, z] for y, z in taut_string(profile)])
