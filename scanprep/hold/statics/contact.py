"""One contact solve: how hard an object may be shaken in its sprung tips before it shifts or turns.

The object is rigid; every wire is a spring from the hub to its stations (one or more tips on one wire move together);
a pad presses only, and rubs up to friction times that. From springs and weight drawn up together, the object is pushed
harder and harder, each step in balance:

    object  sum of G' f  + load - eta (q - q before) = 0        q: its shift, and its turn times the pads' distance L
    wires   C^-1 (r - z) - S' f = 0                             z: the stations, r: where the free wires would be
    press   N = max(0, kn n.(S z - G q))
    rub     t = the share inside mu N of (t before + kt d(S z - G q) across n),     f = N n + t

solved by Newton's method with these laws' own tangents, all cases at once. Levers follow the pads as the
object moves: what hangs is steadied, what stands high is not. Quasi-static: a sudden pulse adds about a fifth.

In the display frame, N and mm, origin at the centre of mass. Pure. Used by `gates`, and to rank
whole mounts.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from scanprep.hold.statics.wrench import ContactWrenches
from scanprep.vectors import F64, Vec3, check_shape, steady, unit, vec3

# tolerance: eta over the summed stiffness; smaller, stick and slip take turns; larger, collapse comes late; trial
_DAMPED = 0.003
_PINNED = 2  # tolerance: halvings of the step in which a case leaves its place
_RAMP = 4  # tolerance: steps in which springs and weight are drawn up
# tolerance: shakes that are tried in turn
_STEPS_g = np.concatenate([np.arange(0.1, 0.65, 0.1), np.arange(0.75, 1.51, 0.15)])  # beyond: enough said
_ITERATIONS = 10  # tolerance: of one balance
_SHORTER = np.array([0.5, 0.25, 0.125])  # tolerance: of a step that makes it worse, tried in turn
_NOTHING_N = 1e-9  # tolerance: what just bears nothing, or just sticks, must not hang on a last bit
_REST = 1e-3  # tolerance: of the weight: what a balanced step may lack
# tolerance: sine of the angle by which faces look along a direction, below which they are square to it
_ASLANT = 0.1
_STIFFEST_mm_per_N = 2e-3  # tolerance: added to a wire's own compliance: keeps the system well posed beside pads
_WAYS = np.vstack([np.eye(3), -np.eye(3)])  # exact: both ways along each axis


@dataclass(frozen=True, slots=True, eq=False)
class SprungWire:
    """A wire as its tips feel it."""

    tips: tuple[int, ...]  # numbers of the tips that it carries: one, or those along a continuous wire
    compliance_mm_per_N: F64  # (3m, 3m) symmetric: shift of each tip under a force at each, hub held fast

    def __post_init__(self) -> None:
        check_shape("compliance_mm_per_N", self.compliance_mm_per_N, (3 * len(self.tips), 3 * len(self.tips)))


def single_wires(tips: int, stiffness_N_per_mm: float) -> tuple[SprungWire, ...]:
    """Return one wire a tip, equally stiff all round: what is assumed before a mount is drawn."""
    return tuple(SprungWire((tip,), np.eye(3) / stiffness_N_per_mm) for tip in range(tips))


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
    system = _System.of(drawn, planned_N, wires, weight_N, limits)
    state = system.at_rest()
    state, kept = system.drawn_up(state)
    each = np.zeros((len(drawn), len(_WAYS)))
    if kept.any():
        enough = len(drawn) // 2 + 1 - int((~kept).sum())  # with those not even at rest: past the middle
        each[kept] = system.shaken(state.taken(kept), kept, spin_axis, int(kept.sum()) if every else enough,
                                   enough_g).reshape(-1, len(_WAYS))
    worst = each.min(axis=1)
    middle = int(np.argsort(steady(worst), kind="stable")[len(worst) // 2])
    return ContactVerdict(float(np.median(worst)), worst, float((worst >= limits.asked_g).mean()),
                          vec3(_WAYS[int(np.argmin(steady(each[middle])))]))


@dataclass(frozen=True, slots=True, eq=False)
class _State:
    """Where a batch of cases stands."""

    x: F64  # (c, 6 + 3s) object, then stations
    rub_N: F64  # (c, f, 3) friction at each face
    apart_mm: F64  # (c, f, 3) S z - G q when that friction was found

    def taken(self, which: NDArray[np.bool_] | NDArray[np.int64]) -> _State:
        return _State(self.x[which], self.rub_N[which], self.apart_mm[which])


@dataclass(frozen=True, slots=True, eq=False)
class _Touch:
    """How the faces of a batch of cases touch at some place of the unknowns; all that the balance's tangent wants."""

    force_N: F64  # (c, f, 3) of every face on the object
    rub_N: F64  # (c, f, 3) the friction in it
    apart_mm: F64  # (c, f, 3) S z - G q
    gather: F64  # (c, 6 + 3s, 3f) as in `_System`, levers where the pads now bear
    give: F64  # (c, f) how much of a pad's stiffness is left across the normal
    press: F64  # (c, f) and along it beyond that
    way: F64  # (c, f, 3) the way of what slips
    led: F64  # (c, f, 3) what drives the force along that way

    def taken(self, which: NDArray[np.int64]) -> _Touch:
        return _Touch(*(getattr(self, name)[which] for name in self.__slots__))

    def put(self, where: NDArray[np.int64], other: _Touch, which: NDArray[np.int64]) -> None:
        """Take some cases' touch from another batch."""
        for name in self.__slots__:
            getattr(self, name)[where] = getattr(other, name)[which]


@dataclass(frozen=True, slots=True, eq=False)
class _Leaving:
    """Cases that leave their place within one step of the push."""

    case: NDArray[np.int64]
    state: _State  # at the step's beginning
    low_g: F64
    high_g: F64
    near: F64  # `gone_ratio` at the beginning
    far: F64  # at the end; inf where no balance was found

    @classmethod
    def together(cls, parts: Sequence[_Leaving]) -> _Leaving:
        state = _State(*(np.concatenate([getattr(one.state, name) for one in parts])
                         for name in ("x", "rub_N", "apart_mm")))
        case, low, high, near, far = (np.concatenate([getattr(one, name) for one in parts])
                                      for name in ("case", "low_g", "high_g", "near", "far"))
        return cls(case, state, low, high, near, far)


@dataclass(frozen=True, slots=True, eq=False)
class _System:
    """One set of tips, with every redraw a case; arrays by case first."""

    moves: F64  # (c, f, 3, 6 + 3s) what each unknown adds to S z - G q
    gather: F64  # (c, 6 + 3s, 3f) what each face's force adds to the balance of each unknown, levers at rest
    normals: F64  # (c, f, 3)
    along: F64  # (c, f, 3, 3) normal x normal
    friction: F64  # (c, f)
    stiff_N_per_mm: float
    seats: F64  # (3f, 3s) which station a face rides on
    rest_mm: F64  # (c, 3s) where the free wires' ends would be
    weight_N: float
    arm_mm: float
    damping_N_per_mm: float
    limits: ContactLimits

    @classmethod
    def of(cls, drawn: Sequence[ContactWrenches], planned_N: F64, wires: Sequence[SprungWire], weight_N: float,
           limits: ContactLimits) -> _System:
        grip = drawn[0]
        tips, faces = grip.tips, len(grip.tip)
        check_shape("planned_N", planned_N, (faces, 3))
        if sorted(tip for wire in wires for tip in wire.tips) != list(range(tips)):
            raise ValueError("every tip must be on exactly one wire")
        compliance = _STIFFEST_mm_per_N * np.eye(3 * tips)
        for wire in wires:
            at = np.concatenate([np.arange(3 * tip, 3 * tip + 3) for tip in wire.tips])
            compliance[np.ix_(at, at)] += wire.compliance_mm_per_N
        stations = np.zeros((faces, 3, 3 * tips))
        for face, tip in enumerate(grip.tip):
            stations[face, :, 3 * tip:3 * tip + 3] = np.eye(3)
        points = np.array([one.points_mm for one in drawn])
        normals = np.array([one.normals for one in drawn])
        arm = float(np.sqrt(np.mean(np.sum(np.square(grip.points_mm), axis=1))))
        riding = np.broadcast_to(stations, (len(drawn), *stations.shape))
        moves = np.concatenate([-_rigid(points, arm), riding], axis=-1)
        friction = limits.friction_ratio * np.array([one.friction for one in drawn])
        stiff = limits.pad_N_per_mm
        own = 3 * tips / float(np.trace(compliance))
        damping = _DAMPED * tips * own * stiff / (own + stiff)
        rest = _rest_mm(stations, normals, planned_N, compliance, stiff)
        seats = stations.reshape(3 * faces, -1)
        gather = np.concatenate([-np.swapaxes(moves[..., :6].reshape(len(drawn), 3 * faces, 6), 1, 2),
                                 np.broadcast_to(damping * compliance @ seats.T, (len(drawn), *seats.T.shape))], axis=1)
        along = normals[..., :, None] * normals[..., None, :]
        return cls(moves, gather, normals, along, friction, stiff, seats, rest, weight_N, arm, damping, limits)

    def taken(self, which: NDArray[np.bool_] | NDArray[np.int64]) -> _System:
        return replace(self, moves=self.moves[which], gather=self.gather[which], normals=self.normals[which],
                       along=self.along[which], friction=self.friction[which], rest_mm=self.rest_mm[which])

    def at_rest(self) -> _State:
        cases, faces = self.normals.shape[:2]
        none = np.zeros((cases, faces, 3))
        return _State(np.zeros((cases, self.moves.shape[-1])), none, none)

    def drawn_up(self, state: _State) -> tuple[_State, NDArray[np.bool_]]:
        """Springs and weight from nothing to their own; which redraws then still lie in place."""
        solved = np.ones(len(state.x), dtype=np.bool_)
        weight = np.array([0.0, -self.weight_N, 0.0])
        for step in range(1, _RAMP + 1):
            share = step / _RAMP
            state, solved = self.balanced(state, np.broadcast_to(share * weight, (len(state.x), 3)), share)
        settled = self.gone_ratio(state, np.zeros_like(state.x[:, :6]), None) < self.limits.settle_ratio
        return state, solved & settled  # a step on the way that found no balance is made good by the next

    def shaken(self, state: _State, kept: NDArray[np.bool_], spin_axis: F64 | None, enough: int, enough_g: float
               ) -> F64:
        """The push in g at which each case (redraws by directions) leaves the place where it lay at rest.

        A redraw that has left it in one direction is pushed no further in the others, which stand more; nor are the
        rest once `enough` have and the push is what is asked, or once the push is `enough_g` and fewer have than would
        bring the middle one below it. What is pushed no further counts as the last push, or as `enough_g`.
        """
        own = np.flatnonzero(kept).repeat(len(_WAYS))
        ways = np.tile(_WAYS, (int(kept.sum()), 1))
        one_each = np.arange(len(state.x)).repeat(len(_WAYS))
        system, now = self.taken(own), state.taken(one_each)
        lay = now.x[:, :6].copy()
        left, found = np.arange(len(own)), np.full(len(own), _STEPS_g[-1])
        gone = np.zeros(len(state.x), dtype=np.bool_)
        before_g, before = 0.0, np.zeros(len(own))
        leaving: list[_Leaving] = []
        for push_g in _STEPS_g:
            then, solved = system.balanced(now, _pushed(self.weight_N, push_g, ways[left]), 1.0)
            far = self.gone_ratio(then, lay[left], spin_axis)
            fallen = (far >= 1.0) | ~solved
            leaving.append(_Leaving(left[fallen], now.taken(fallen), np.full(int(fallen.sum()), before_g),
                                    np.full(int(fallen.sum()), push_g), before[fallen],
                                    np.where(solved, far, np.inf)[fallen]))
            gone[left[fallen] // len(_WAYS)] = True
            if gone.all() or (int(gone.sum()) >= enough and push_g >= self.limits.asked_g):
                break
            if push_g >= enough_g and int((~kept).sum() + gone.sum()) < len(kept) / 2:
                found[left[~fallen]] = push_g
                break
            stay, now = ~gone[left // len(_WAYS)], then
            left, system, now, before, before_g = left[stay], system.taken(stay), now.taken(stay), far[stay], push_g
        last = _Leaving.together(leaving)
        if len(last.case):
            found[last.case] = self.taken(own[last.case]).pinned_g(last, ways[last.case], lay[last.case], spin_axis)
        return found

    def pinned_g(self, leaving: _Leaving, ways: F64, lay: F64, spin_axis: F64 | None) -> F64:
        """The push at which cases leave their place: the step halved a few times, then a straight line."""
        now, low, high, near, far = leaving.state, leaving.low_g, leaving.high_g, leaving.near, leaving.far
        for _ in range(_PINNED):
            middle = (low + high) / 2
            then, solved = self.balanced(now, _pushed(self.weight_N, middle[:, None], ways), 1.0)
            gone = np.where(solved, self.gone_ratio(then, lay, spin_axis), np.inf)
            held = gone < 1.0
            low, near = np.where(held, middle, low), np.where(held, gone, near)
            high, far = np.where(held, high, middle), np.where(held, far, gone)
            pick = held[:, None]
            now = _State(np.where(pick, then.x, now.x), np.where(pick[..., None], then.rub_N, now.rub_N),
                         np.where(pick[..., None], then.apart_mm, now.apart_mm))
        lost = ~np.isfinite(far)
        share = np.where(lost, 0.5, (1.0 - near) / np.maximum(np.where(lost, 1.0, far) - near, 1e-12))
        return np.asarray(low + np.clip(share, 0, 1) * (high - low), dtype=np.float64)

    def gone_ratio(self, state: _State, lay: F64, spin_axis: F64 | None) -> F64:
        """How far each case has moved from where it lay, over what counts as kept."""
        move = state.x[:, :6] - lay
        turn = move[:, 3:] / self.arm_mm
        if spin_axis is not None:
            along = unit(spin_axis)
            turn = turn - np.outer(turn @ along, along)
        shift = np.linalg.norm(move[:, :3], axis=1) / self.limits.shift_mm
        turned = np.linalg.norm(turn, axis=1) / math.radians(self.limits.turn_deg)
        return np.asarray(np.maximum(shift, turned), dtype=np.float64)

    def balanced(self, state: _State, load_N: F64, drawn: float) -> tuple[_State, NDArray[np.bool_]]:
        """The next state in balance, and which cases found one.

        load_N  (c, 3) weight and push; drawn 0..1: how far the springs are drawn up
        """
        x, before = state.x.copy(), state.x[:, :6]
        tolerance = _REST * self.weight_N
        lack, touch = self._lack(x, state, before, load_N, drawn)
        rub, apart, size = touch.rub_N.copy(), touch.apart_mm.copy(), _sizes(lack)
        open_ = np.arange(len(x))  # the cases that `touch` is about: those not yet in balance
        for _ in range(_ITERATIONS):
            still = np.flatnonzero(size[open_] > tolerance)
            if len(still) == 0:
                break
            if len(still) < len(open_):
                open_, touch = open_[still], touch.taken(still)
            some, at = (self, state) if len(open_) == len(x) else (self.taken(open_), state.taken(open_))
            was, load, now = before[open_], load_N[open_], x[open_]
            step = np.linalg.solve(some._tangent(touch), lack[open_][..., None])[..., 0]
            tried = now - step
            fresh, touch = some._lack(tried, at, was, load, drawn)
            worse = np.flatnonzero(_sizes(fresh) > size[open_])
            if len(worse):  # shorter steps, all at once: the longest that makes it no worse, else the shortest
                cases = worse.repeat(len(_SHORTER))
                shorter = now[cases] - step[cases] * np.tile(_SHORTER, len(worse))[:, None]
                again, felt = some.taken(cases)._lack(shorter, at.taken(cases), was[cases], load[cases], drawn)
                better = (_sizes(again) <= size[open_[cases]]).reshape(len(worse), -1)
                better[:, -1] = True
                pick = np.arange(0, len(cases), len(_SHORTER)) + np.argmax(better, axis=1)
                tried[worse], fresh[worse] = shorter[pick], again[pick]
                touch.put(worse, felt, pick)
            x[open_], lack[open_], size[open_] = tried, fresh, _sizes(fresh)
            rub[open_], apart[open_] = touch.rub_N, touch.apart_mm
        return _State(x, rub, apart), size <= tolerance * 10

    def _apart_mm(self, x: F64) -> F64:
        """S z - G q of every face, (c, f, 3)."""
        cases, faces, _, unknowns = self.moves.shape
        flat = self.moves.reshape(cases, 3 * faces, unknowns) @ x[..., None]
        return np.asarray(flat.reshape(cases, faces, 3), dtype=np.float64)

    def _lack(self, x: F64, state: _State, before: F64, load_N: F64, drawn: float) -> tuple[F64, _Touch]:
        """What the balance lacks (c, 6 + 3s), N; and how the faces then touch."""
        n, stiff = self.normals, self.stiff_N_per_mm
        apart = self._apart_mm(x)
        press = stiff * np.einsum("cfi,cfi->cf", n, apart)
        on = press > _NOTHING_N
        press = press * on
        rub = state.rub_N + stiff * (apart - state.apart_mm)
        rub -= np.einsum("cfi,cfi->cf", n, rub)[..., None] * n
        most, size = self.friction * press, np.sqrt(np.einsum("cfi,cfi->cf", rub, rub))
        slips = size > most + _NOTHING_N
        bare = np.maximum(size, 1e-15)
        share = np.where(slips, most / bare, 1.0)
        held = share[..., None] * rub
        force = press[..., None] * n + held
        # stick: stiff across the normal; slip: as much of it as is held, none along the way, more where pressed more
        give = stiff * share
        way = (slips / bare)[..., None] * rub
        led = (stiff * self.friction * on)[..., None] * n - give[..., None] * way

        rows, faces = n.shape[:2]
        # where a pad bears moves with the wire, away from the centre of mass: what hangs is steadied by it
        aside = (x[:, 6:] @ self.seats.T).reshape(rows, faces, 3) - x[:, None, :3]
        gather = self.gather.copy()
        gather[:, 3:6] -= _crossed(aside).reshape(rows, 3, 3 * faces) / self.arm_mm
        lack = (gather @ force.reshape(rows, 3 * faces, 1))[..., 0]
        lack[:, :3] += load_N
        lack[:, :6] -= self.damping_N_per_mm * (x[:, :6] - before)
        lack[:, 6:] += self.damping_N_per_mm * (x[:, 6:] - drawn * self.rest_mm)  # brings the wires' mm to N
        return lack, _Touch(force, held, apart, gather, give, stiff * (on - share), way, led)

    def _tangent(self, touch: _Touch) -> F64:
        """How the lack changes with each unknown (c, 6 + 3s, 6 + 3s)."""
        rows, faces, _, k = self.moves.shape
        face = touch.press[..., None, None] * self.along + touch.way[..., :, None] * touch.led[..., None, :]
        face[..., range(3), range(3)] += touch.give[..., None]
        # the force by each unknown, gathered
        slope: F64 = touch.gather @ (face @ self.moves).reshape(rows, 3 * faces, k)
        slope[:, range(6), range(6)] -= self.damping_N_per_mm
        lever = _crossed((touch.force_N.reshape(rows, 3 * faces) @ self.seats).reshape(rows, -1, 3)) / self.arm_mm
        slope[:, 3:6, :3] -= lever.sum(axis=2)
        slope[:, 3:6, 6:] += lever.reshape(rows, 3, k - 6)
        slope[:, range(6, k), range(6, k)] += self.damping_N_per_mm
        return slope


def _sizes(rows: F64) -> F64:
    return np.asarray(np.sqrt(np.einsum("ck,ck->c", rows, rows)), dtype=np.float64)


def _pushed(weight_N: float, push_g: float | F64, ways: F64) -> F64:
    """Weight and push (c, 3), N."""
    return np.asarray(weight_N * (np.array([0.0, -1.0, 0.0]) + push_g * ways), dtype=np.float64)


def _rigid(points: F64, arm_mm: float) -> F64:
    """The shift of each point (c, f, 3) by the object's shift and its turn times the arm: (c, f, 3, 6)."""
    moved = np.zeros((*points.shape, 6))
    moved[..., :3] = np.eye(3)
    x, y, z = (points[..., k] / arm_mm for k in range(3))
    moved[..., 0, 4], moved[..., 0, 5] = z, -y
    moved[..., 1, 3], moved[..., 1, 5] = -z, x
    moved[..., 2, 3], moved[..., 2, 4] = y, -x
    return moved


def _crossed(force: F64) -> F64:
    """The matrices M of forces (c, f, 3), lever x force = M lever, side by side: (c, 3, f, 3)."""
    made = np.zeros((len(force), 3, *force.shape[1:]))
    x, y, z = (force[..., k] for k in range(3))
    made[:, 0, :, 1], made[:, 0, :, 2] = z, -y
    made[:, 1, :, 0], made[:, 1, :, 2] = -z, x
    made[:, 2, :, 0], made[:, 2, :, 1] = y, -x
    return made


def _rest_mm(stations: F64, normals: F64, planned_N: F64, compliance: F64, stiff: float) -> F64:
    """Where the free wires' ends must be, (c, 3s), for the planned forces with the object where it was drawn.

    The wires give by their compliance, the pads by the planned press over their stiffness, as far as one station can
    press all its faces as planned. Where all faces of a wire look square to a direction, what they press says nothing
    of where the wire is along it: it stays where it touches.
    """
    pulled = compliance @ np.einsum("fik,fi->k", stations, planned_N)
    rest = np.empty((len(normals), len(pulled)))
    for case, n in enumerate(normals):
        rows = np.einsum("fi,fik->fk", n, stations)
        press = np.maximum(np.einsum("fi,fi->f", n, planned_N), 0.0) / stiff
        rest[case] = pulled + np.linalg.lstsq(rows, press, rcond=_ASLANT)[0]
    return rest
