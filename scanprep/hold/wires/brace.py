"""A second wire beside a long arm, instead of a thicker one.

A plain brace is lapped on the back of the hub's plate or bar behind its arm, runs straight to a place far along the arm
and is lapped there again: the two make a slender triangle, stiff in the plane in which an arm bends that reaches down a
back. An arm that leaves to the side wants the triangle in the plate's own plane: the brace then starts elsewhere round
the plate. An arm that goes on under the object, round a corner, wants its foot doubled: from where the brace meets it,
the second wire is bent on the same paper, outside the arm, and soldered to it along its whole length, a strip on edge.
All stays hidden wherever its arm is. Display frame, mm.

        hub |====+                    hub |====+
            |##  |\\                       |##  |\\
               \\ | \\ plain                   \\ |
                \\|                             \\|=========  doubled
                 |=========                      ++=========
"""

from __future__ import annotations

import functools
import itertools
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from scanprep.hold.places.obstacle import View
from scanprep.hold.wires.hub import HubPlan, Root
from scanprep.hold.wires.wire_ends import sight_cost
from scanprep.rules import HoldRules
from scanprep.vectors import F64, cross, rotation_about

_BEHIND = np.array([0.0, 0.0, -1.0])  # exact: z is towards the viewer
_LEAST_RUN_MM = HoldRules().brace_least_run_mm
_SHARES = (0.9, 0.6)  # tolerance: tried in turn, how far along a run a brace holds
_MIDDLES = (np.arange(24) + 0.5) / 24  # tolerance: places along a run at which its showing is taken
_TURNED_DEG = (0.0, 45.0, -45.0, 80.0, -80.0)  # tolerance: tried in turn, round the plate from the arm's own lap


@dataclass(frozen=True, slots=True, eq=False)
class Brace:
    """A brace as bent, and where it holds its arm."""

    path_mm: F64  # (k, 3) lap on the hub, run, lap on the arm; where it is longer, on beside the arm
    from_hub_mm: float  # along the arm's corners, where it first holds
    to_mm: float  # along the arm's corners, where it ends

    @property
    def doubles(self) -> bool:
        """Whether the arm is doubled from where the brace meets it."""
        return self.to_mm > self.from_hub_mm + 0.01


def find_braces(view: View, plan: HubPlan, root: Root, path_mm: F64, wire_mm: float, rules: HoldRules
                ) -> list[Brace]:
    """Return the plain braces that an arm with this root can have, the farthest reaching first."""
    if plan.hub.kind not in ("plate", "bar"):
        return []
    back = root.start_mm + _BEHIND * (plan.hub.thickness_mm + wire_mm)
    found = [_plain(back, root.direction, root.lap_mm, path_mm, run, share, wire_mm, rules)
             for run in range(len(path_mm) - 2, 0, -1) for share in _SHARES]
    return [brace for brace in found if brace is not None and _clear(view, brace.path_mm, wire_mm, rules)]


def find_stiffer(view: View, plan: HubPlan, root: Root, path_mm: F64, wire_mm: float, stem_ends: int, rules: HoldRules
                 ) -> Iterator[Brace]:
    """Yield braces from elsewhere round the plate, and such as double the arm's last runs, the stiffest kinds first.

    stem_ends  corner of the path beyond which nothing is soldered: where a thinner end or the last hook begins

    Up to where it holds the arm, a brace is seen next to the object no longer than the arm's own stem is.
    """
    if plan.hub.kind not in ("plate", "bar"):
        return
    turns = _TURNED_DEG if plan.hub.kind == "plate" else (0.0,)
    level = _BEHIND * (plan.hub.thickness_mm + wire_mm)
    shown_mm = functools.cache(lambda runs: _beside_mm(view, path_mm[:runs + 1]))
    for run, share, turned in itertools.product(range(min(len(path_mm) - 2, stem_ends - 1), -1, -1), _SHARES, turns):
        turn = rotation_about((0.0, 0.0, 1.0), turned)
        start = plan.centre_mm + turn @ (root.start_mm - plan.centre_mm) + level
        brace = _plain(start, turn @ root.direction, root.lap_mm, path_mm, run, share, wire_mm, rules)
        if brace is None:
            continue
        longer = [_doubling(brace, path_mm, run, last, wire_mm) for last in range(stem_ends - 1, run, -1)] \
            if share == _SHARES[0] else []
        for one in (*longer, *((brace,) if turned else ())):
            if one is not None and _clear(view, one.path_mm, wire_mm, rules, shown_mm(run + 1)):
                yield one


def _plain(back: F64, way: F64, lap_mm: float, path_mm: F64, run: int, share: float, wire_mm: float, rules: HoldRules
           ) -> Brace | None:
    """A brace lapped on the hub from `back` on, that holds one of the arm's runs; None where that makes no triangle."""
    launch = back + way * lap_mm
    lap = rules.lap_diameters * wire_mm
    runs = np.linalg.norm(np.diff(path_mm, axis=0), axis=1)
    knee = path_mm[run] + share * (path_mm[run + 1] - path_mm[run])
    if np.linalg.norm(knee - launch) < _LEAST_RUN_MM or share * runs[run] < lap + (lap_mm if run == 0 else 0.0):
        return None
    along = (path_mm[run + 1] - path_mm[run]) / runs[run]
    away = launch - knee - ((launch - knee) @ along) * along
    if np.linalg.norm(away) < wire_mm:  # it would lie in the arm
        away = _BEHIND - (_BEHIND @ along) * along
        if np.linalg.norm(away) < 0.3:
            return None
    away *= wire_mm / np.linalg.norm(away)
    at_mm = float(runs[:run].sum() + share * runs[run])
    return Brace(np.array([back, launch, knee - along * lap + away, knee + away]), at_mm, at_mm)


def _doubling(brace: Brace, path_mm: F64, run: int, last: int, wire_mm: float) -> Brace | None:
    """A brace that goes on beside the arm, round its corners, until it has covered most of another run.

    Beside every run the second wire lies as the bends carry it round: on the outside of a bend it stays outside.
    """
    steps = np.diff(path_mm, axis=0)
    runs = np.linalg.norm(steps, axis=1)
    along = steps / runs[:, None]
    knee = path_mm[run] + (brace.from_hub_mm - runs[:run].sum()) * along[run]
    aside = brace.path_mm[3] - knee
    corners = []
    for k in range(run, last):
        before, after = along[k], along[k + 1]
        axis = cross(before, after)
        if np.linalg.norm(axis) < 1e-3:
            corners.append(path_mm[k + 1] + aside)
            continue
        turned = _carried(aside, before, after, axis / np.linalg.norm(axis))
        normal = axis / np.linalg.norm(axis)
        level = (aside @ normal) * normal
        corners.append(path_mm[k + 1] + level + (aside + turned - 2 * level) / (1.0 + float(before @ after)))
        aside = turned
    if any(np.linalg.norm(corner - path_mm[run + 1 + k]) > 3 * wire_mm for k, corner in enumerate(corners)):
        return None  # a hairpin: nobody bends a second wire round that
    end = path_mm[last] + _SHARES[0] * steps[last] + aside
    return Brace(np.vstack([brace.path_mm, *corners, end]), brace.from_hub_mm,
                 float(runs[:last].sum() + _SHARES[0] * runs[last]))


def _carried(aside: F64, before: F64, after: F64, normal: F64) -> F64:
    """A way across one run, turned with the bend into the next."""
    inward = aside @ cross(normal, before)
    return np.asarray(inward * cross(normal, after) + (aside @ normal) * normal, dtype=np.float64)


def _beside_mm(view: View, path_mm: F64) -> float:
    """How much of a wire is seen next to the object."""
    runs = list(itertools.pairwise(path_mm))
    points = np.vstack([a + (b - a) * _MIDDLES[:, None] for a, b in runs])
    each = np.repeat([float(np.linalg.norm(b - a)) for a, b in runs], len(_MIDDLES)) / len(_MIDDLES)
    return float(each[view.front.sight(points)[1]].sum())


def _clear(view: View, path_mm: F64, wire_mm: float, rules: HoldRules, shown_mm: float = 0.0) -> bool:
    """Whether a brace keeps off the object and out of sight; beside its arm it may be seen next to the object too.

    shown_mm  how much of the arm's stem is seen next to the object up to where it is held: the brace may be as far
    """
    off_hub = path_mm[1:]
    points = np.vstack([a + (b - a) * np.linspace(0, 1, 12)[:, None] for a, b in itertools.pairwise(off_hub)])
    before = points[:24]  # those before it lies beside the arm
    if view.front.sight(points)[0].any() or (shown_mm == 0.0 and sight_cost(view, before).max(initial=0.0) > 0) or \
            _beside_mm(view, off_hub[:3]) > shown_mm + wire_mm:
        return False
    room = view.exact_mm(points) - wire_mm / 2
    return bool(room.min() >= rules.arm_clear_mm)
