"""The balance of an object in its sprung tips under a push: one contact solve, many cases at once.

The object is rigid; every wire is a spring from the hub to its stations (one or more tips on one wire move together);
a pad presses only, and rubs up to friction times that. Each step is in balance:

    object  sum of G' f  + load - eta (q - q before) = 0        q: its shift, and its turn times the pads' distance L
    wires   C^-1 (r - z) - S' f = 0                             z: the stations, r: where the free wires would be
    press   N = max(0, kn n.(S z - G q))
    rub     t = the share inside mu N of (t before + kt d(S z - G q) across n),     f = N n + t

solved by Newton's method with these laws' own tangents, all cases at once. Levers follow the pads as the
object moves: what hangs is steadied, what stands high is not. Quasi-static: a sudden pulse adds about a fifth.

In the display frame, N and mm, origin at the centre of mass. Pure. Used by `contact`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from scanprep.hold.statics.wrench import ContactWrenches
from scanprep.vectors import F64, check_shape

# tolerance: eta over the summed stiffness; smaller, stick and slip take turns; larger, collapse comes late; trial
_DAMPED = 0.003
_ITERATIONS = 10  # tolerance: of one balance
_SHORTER = np.array([0.5, 0.25, 0.125])  # tolerance: of a step that makes it worse, tried in turn
_NOTHING_N = 1e-9  # tolerance: what just bears nothing, or just sticks, must not hang on a last bit
_REST = 1e-3  # tolerance: of the weight: what a balanced step may lack
# tolerance: sine of the angle by which faces look along a direction, below which they are square to it
_ASLANT = 0.1
_STIFFEST_mm_per_N = 2e-3  # tolerance: added to a wire's own compliance: keeps the system well posed beside pads


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


@dataclass(frozen=True, slots=True, eq=False)
class State:
    """Where a batch of cases stands."""

    x: F64  # (c, 6 + 3s) object, then stations
    rub_N: F64  # (c, f, 3) friction at each face
    apart_mm: F64  # (c, f, 3) S z - G q when that friction was found

    def taken(self, which: NDArray[np.bool_] | NDArray[np.int64]) -> State:
        """Some of the cases."""
        return State(self.x[which], self.rub_N[which], self.apart_mm[which])


@dataclass(frozen=True, slots=True, eq=False)
class Touch:
    """How the faces of a batch of cases touch at some place of the unknowns; all that the balance's tangent wants."""

    force_N: F64  # (c, f, 3) of every face on the object
    rub_N: F64  # (c, f, 3) the friction in it
    apart_mm: F64  # (c, f, 3) S z - G q
    gather: F64  # (c, 6 + 3s, 3f) as in `System`, levers where the pads now bear
    give: F64  # (c, f) how much of a pad's stiffness is left across the normal
    press: F64  # (c, f) and along it beyond that
    way: F64  # (c, f, 3) the way of what slips
    led: F64  # (c, f, 3) what drives the force along that way

    def taken(self, which: NDArray[np.int64]) -> Touch:
        """Some of the cases."""
        return Touch(*(getattr(self, name)[which] for name in self.__slots__))

    def put(self, where: NDArray[np.int64], other: Touch, which: NDArray[np.int64]) -> None:
        """Take some cases' touch from another batch."""
        for name in self.__slots__:
            getattr(self, name)[where] = getattr(other, name)[which]


@dataclass(frozen=True, slots=True, eq=False)
class System:
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

    @classmethod
    def of(cls, drawn: Sequence[ContactWrenches], planned_N: F64, wires: Sequence[SprungWire], weight_N: float,
           friction_ratio: float, pad_N_per_mm: float) -> System:
        """Set up: faces as drawn, wires as sprung.

        planned_N       (f, 3) force of each face on the object as the mount is sprung on
        friction_ratio  of the pads' friction that is counted on
        pad_N_per_mm    press and shear stiffness of a pad
        """
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
        friction = friction_ratio * np.array([one.friction for one in drawn])
        stiff = pad_N_per_mm
        own = 3 * tips / float(np.trace(compliance))
        damping = _DAMPED * tips * own * stiff / (own + stiff)
        rest = _rest_mm(stations, normals, planned_N, compliance, stiff)
        seats = stations.reshape(3 * faces, -1)
        gather = np.concatenate([-np.swapaxes(moves[..., :6].reshape(len(drawn), 3 * faces, 6), 1, 2),
                                 np.broadcast_to(damping * compliance @ seats.T, (len(drawn), *seats.T.shape))], axis=1)
        along = normals[..., :, None] * normals[..., None, :]
        return cls(moves, gather, normals, along, friction, stiff, seats, rest, weight_N, arm, damping)

    def taken(self, which: NDArray[np.bool_] | NDArray[np.int64]) -> System:
        """Some of the cases."""
        return replace(self, moves=self.moves[which], gather=self.gather[which], normals=self.normals[which],
                       along=self.along[which], friction=self.friction[which], rest_mm=self.rest_mm[which])

    def at_rest(self) -> State:
        """Nothing drawn up, nothing moved."""
        cases, faces = self.normals.shape[:2]
        none = np.zeros((cases, faces, 3))
        return State(np.zeros((cases, self.moves.shape[-1])), none, none)

    def balanced(self, state: State, load_N: F64, drawn: float) -> tuple[State, NDArray[np.bool_]]:
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
        return State(x, rub, apart), size <= tolerance * 10

    def _apart_mm(self, x: F64) -> F64:
        """S z - G q of every face, (c, f, 3)."""
        cases, faces, _, unknowns = self.moves.shape
        flat = self.moves.reshape(cases, 3 * faces, unknowns) @ x[..., None]
        return np.asarray(flat.reshape(cases, faces, 3), dtype=np.float64)

    def _lack(self, x: F64, state: State, before: F64, load_N: F64, drawn: float) -> tuple[F64, Touch]:
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
        return lack, Touch(force, held, apart, gather, give, stiff * (on - share), way, led)

    def _tangent(self, touch: Touch) -> F64:
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
