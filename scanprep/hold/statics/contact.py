"""How hard an object may be shaken in its sprung tips before it shifts or turns.

From springs and weight drawn up together, the object is pushed harder and harder, each step in balance (`balance`).
Levers follow the pads as the object moves: what hangs is steadied, what stands high is not. Quasi-static: a sudden
pulse adds about a fifth.

In the display frame, N and mm, origin at the centre of mass. Pure. Used by `gates`, and to rank
whole mounts.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from scanprep.hold.statics.balance import SprungWire, State, System
from scanprep.hold.statics.wrench import ContactWrenches
from scanprep.vectors import F64, Vec3, steady, unit, vec3

_PINNED = 2  # tolerance: halvings of the step in which a case leaves its place
_RAMP = 4  # tolerance: steps in which springs and weight are drawn up
# tolerance: shakes that are tried in turn
_STEPS_g = np.concatenate([np.arange(0.1, 0.65, 0.1), np.arange(0.75, 1.51, 0.15)])  # beyond: enough said
_WAYS = np.vstack([np.eye(3), -np.eye(3)])  # exact: both ways along each axis


@dataclass(frozen=True, slots=True)
class ContactLimits:
    """What counts as kept, and what the tips are made of."""

    friction_ratio: float  # of the pads' friction that is counted on
    shift_mm: float  # of the centre of mass: more has left its place
    turn_deg: float
    settle_ratio: float  # of these: what it may move while the mount is sprung on
    pad_N_per_mm: float  # press and shear stiffness of a pad
    asked_g: float  # for the share of redraws that stand


@dataclass(frozen=True, slots=True, eq=False)
class ContactVerdict:
    """How a set of tips fares."""

    shake_g: float  # withstood in the worst of six directions, median of the redraws
    each_g: F64  # (d,) the same of every redraw; 0: not even at rest; at least this where only the middle was asked
    standing_share: float  # of the redraws that stand what is asked
    weakest: Vec3  # direction of push that is withstood least, of the middle redraw


def shake_withstood(drawn: Sequence[ContactWrenches], planned_N: F64, wires: Sequence[SprungWire], weight_N: float,
                    limits: ContactLimits, spin_axis: F64 | None = None, *, every: bool = True,
                    enough_g: float = math.inf) -> ContactVerdict:
    """Return the shake in g at which the object leaves its place.

    drawn      the set with its pads redrawn on the real surface (see `preload.redrawn`), or just the set; same faces
    planned_N  (f, 3) force of each face on the object as the mount is sprung on, in balance with the weight
    wires      every tip on exactly one
    spin_axis  (3,) axis of revolution through the centre: turning about it is not leaving the place
    every      False: redraws that outlast both the middle one and what is asked are pushed no further
    enough_g   once the middle one is known to stand this nothing is pushed further: what is said is then at least this
    """
    system = System.of(drawn, planned_N, wires, weight_N, limits.friction_ratio, limits.pad_N_per_mm)
    state = system.at_rest()
    state, kept = _drawn_up(system, limits, state)
    each = np.zeros((len(drawn), len(_WAYS)))
    if kept.any():
        enough = len(drawn) // 2 + 1 - int((~kept).sum())  # with those not even at rest: past the middle
        each[kept] = _shaken(system, limits, state.taken(kept), kept, spin_axis,
                             int(kept.sum()) if every else enough, enough_g).reshape(-1, len(_WAYS))
    worst = each.min(axis=1)
    middle = int(np.argsort(steady(worst), kind="stable")[len(worst) // 2])
    return ContactVerdict(float(np.median(worst)), worst, float((worst >= limits.asked_g).mean()),
                          vec3(_WAYS[int(np.argmin(steady(each[middle])))]))


@dataclass(frozen=True, slots=True, eq=False)
class _Leaving:
    """Cases that leave their place within one step of the push."""

    case: NDArray[np.int64]
    state: State  # at the step's beginning
    low_g: F64
    high_g: F64
    near: F64  # `gone_ratio` at the beginning
    far: F64  # at the end; inf where no balance was found

    @classmethod
    def together(cls, parts: Sequence[_Leaving]) -> _Leaving:
        state = State(*(np.concatenate([getattr(one.state, name) for one in parts])
                         for name in ("x", "rub_N", "apart_mm")))
        case, low, high, near, far = (np.concatenate([getattr(one, name) for one in parts])
                                      for name in ("case", "low_g", "high_g", "near", "far"))
        return cls(case, state, low, high, near, far)


def _drawn_up(system: System, limits: ContactLimits, state: State) -> tuple[State, NDArray[np.bool_]]:
    """Springs and weight from nothing to their own; which redraws then still lie in place."""
    solved = np.ones(len(state.x), dtype=np.bool_)
    weight = np.array([0.0, -system.weight_N, 0.0])
    for step in range(1, _RAMP + 1):
        share = step / _RAMP
        state, solved = system.balanced(state, np.broadcast_to(share * weight, (len(state.x), 3)), share)
    settled = _gone_ratio(system, limits, state, np.zeros_like(state.x[:, :6]), None) < limits.settle_ratio
    return state, solved & settled  # a step on the way that found no balance is made good by the next


def _shaken(whole: System, limits: ContactLimits, state: State, kept: NDArray[np.bool_], spin_axis: F64 | None,
            enough: int, enough_g: float) -> F64:
    """The push in g at which each case (redraws by directions) leaves the place where it lay at rest.

    A redraw that has left it in one direction is pushed no further in the others, which stand more; nor are the
    rest once `enough` have and the push is what is asked, or once the push is `enough_g` and fewer have than would
    bring the middle one below it. What is pushed no further counts as the last push, or as `enough_g`.
    """
    own = np.flatnonzero(kept).repeat(len(_WAYS))
    ways = np.tile(_WAYS, (int(kept.sum()), 1))
    one_each = np.arange(len(state.x)).repeat(len(_WAYS))
    system, now = whole.taken(own), state.taken(one_each)
    lay = now.x[:, :6].copy()
    left, found = np.arange(len(own)), np.full(len(own), _STEPS_g[-1])
    gone = np.zeros(len(state.x), dtype=np.bool_)
    before_g, before = 0.0, np.zeros(len(own))
    leaving: list[_Leaving] = []
    for push_g in _STEPS_g:
        then, solved = system.balanced(now, _pushed(system.weight_N, push_g, ways[left]), 1.0)
        far = _gone_ratio(system, limits, then, lay[left], spin_axis)
        fallen = (far >= 1.0) | ~solved
        leaving.append(_Leaving(left[fallen], now.taken(fallen), np.full(int(fallen.sum()), before_g),
                                np.full(int(fallen.sum()), push_g), before[fallen],
                                np.where(solved, far, np.inf)[fallen]))
        gone[left[fallen] // len(_WAYS)] = True
        if gone.all() or (int(gone.sum()) >= enough and push_g >= limits.asked_g):
            break
        if push_g >= enough_g and int((~kept).sum() + gone.sum()) < len(kept) / 2:
            found[left[~fallen]] = push_g
            break
        stay, now = ~gone[left // len(_WAYS)], then
        left, system, now, before, before_g = left[stay], system.taken(stay), now.taken(stay), far[stay], push_g
    last = _Leaving.together(leaving)
    if len(last.case):
        found[last.case] = _pinned_g(whole.taken(own[last.case]), limits, last, ways[last.case], lay[last.case],
                                     spin_axis)
    return found


def _pinned_g(system: System, limits: ContactLimits, leaving: _Leaving, ways: F64, lay: F64,
              spin_axis: F64 | None) -> F64:
    """The push at which cases leave their place: the step halved a few times, then a straight line."""
    now, low, high, near, far = leaving.state, leaving.low_g, leaving.high_g, leaving.near, leaving.far
    for _ in range(_PINNED):
        middle = (low + high) / 2
        then, solved = system.balanced(now, _pushed(system.weight_N, middle[:, None], ways), 1.0)
        gone = np.where(solved, _gone_ratio(system, limits, then, lay, spin_axis), np.inf)
        held = gone < 1.0
        low, near = np.where(held, middle, low), np.where(held, gone, near)
        high, far = np.where(held, high, middle), np.where(held, far, gone)
        pick = held[:, None]
        now = State(np.where(pick, then.x, now.x), np.where(pick[..., None], then.rub_N, now.rub_N),
                     np.where(pick[..., None], then.apart_mm, now.apart_mm))
    lost = ~np.isfinite(far)
    share = np.where(lost, 0.5, (1.0 - near) / np.maximum(np.where(lost, 1.0, far) - near, 1e-12))
    return np.asarray(low + np.clip(share, 0, 1) * (high - low), dtype=np.float64)


def _gone_ratio(system: System, limits: ContactLimits, state: State, lay: F64, spin_axis: F64 | None) -> F64:
    """How far each case has moved from where it lay, over what counts as kept."""
    move = state.x[:, :6] - lay
    turn = move[:, 3:] / system.arm_mm
    if spin_axis is not None:
        along = unit(spin_axis)
        turn = turn - np.outer(turn @ along, along)
    shift = np.linalg.norm(move[:, :3], axis=1) / limits.shift_mm
    turned = np.linalg.norm(turn, axis=1) / math.radians(limits.turn_deg)
    return np.asarray(np.maximum(shift, turned), dtype=np.float64)


def _pushed(weight_N: float, push_g: float | F64, ways: F64) -> F64:
    """Weight and push (c, 3), N."""
    return np.asarray(weight_N * (np.array([0.0, -1.0, 0.0]) + push_g * ways), dtype=np.float64)
