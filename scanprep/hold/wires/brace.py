"""A second wire behind a long arm, instead of a thicker one.

The brace is lapped on the back of the hub's plate or bar behind its arm, runs straight to a place far along the arm and
is lapped there again: the two make a slender triangle, stiff just in the plane in which an arm that reaches under an
object bends. It stays hidden wherever its arm is. Display frame, mm.
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass

import numpy as np

from scanprep.hold.places.obstacle import View
from scanprep.hold.wires.hub import HubPlan, Root
from scanprep.hold.wires.wire_ends import sight_cost
from scanprep.rules import HoldRules
from scanprep.vectors import F64

_BEHIND = np.array([0.0, 0.0, -1.0])  # exact: z is towards the viewer
_LEAST_RUN_MM = HoldRules().brace_least_run_mm


@dataclass(frozen=True, slots=True, eq=False)
class Brace:
    """A brace as bent, and where it holds its arm."""

    path_mm: F64  # (4, 3) lap on the hub, run, lap on the arm
    from_hub_mm: float  # along the arm's corners


def find_braces(view: View, plan: HubPlan, root: Root, path_mm: F64, wire_mm: float, rules: HoldRules
                ) -> list[Brace]:
    """Return the braces that an arm with this root can have, the farthest reaching first."""
    if plan.hub.kind not in ("plate", "bar"):
        return []
    back = root.start_mm + _BEHIND * (plan.hub.thickness_mm + wire_mm)
    launch = back + root.direction * root.lap_mm
    lap = rules.lap_diameters * wire_mm
    found = []
    runs = np.linalg.norm(np.diff(path_mm, axis=0), axis=1)
    for run, share in [(run, share) for run in range(len(path_mm) - 2, 0, -1) for share in (0.9, 0.6)]:
        knee = path_mm[run] + share * (path_mm[run + 1] - path_mm[run])
        if np.linalg.norm(knee - launch) < _LEAST_RUN_MM or share * runs[run] < lap:
            continue
        along = (path_mm[run + 1] - path_mm[run]) / runs[run]
        away = _BEHIND - (_BEHIND @ along) * along
        if np.linalg.norm(away) < 0.3:
            continue
        away *= wire_mm / np.linalg.norm(away)
        brace = np.array([back, launch, knee - along * lap + away, knee + away])
        if _clear(view, brace[1:], wire_mm, rules):
            found.append(Brace(brace, float(runs[:run].sum() + share * runs[run])))
    return found


def _clear(view: View, path_mm: F64, wire_mm: float, rules: HoldRules) -> bool:
    points = np.vstack([a + (b - a) * np.linspace(0, 1, 12)[:, None] for a, b in itertools.pairwise(path_mm)])
    room = view.exact_mm(points) - wire_mm / 2
    return bool(room.min() >= rules.arm_clear_mm and sight_cost(view, points).max() == 0)
