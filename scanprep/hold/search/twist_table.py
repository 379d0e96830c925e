"""What every tip can do against every twist, and what one attitude asks of them: the rows that the search reads.

Twists are shared by all attitudes of an object; what the certificates learn in one serves the next. In each attitude
the faces' work is summed over each tip with its force limits, in two families: without friction (carried from below,
and held by shape) and with the pad's friction (shake, doubt of the centre, turning). On a mirror-symmetric object the
units are tips on the mirror plane and pairs of opposite tips.

Body frame, forces over the weight. Used by `choose` and `find`.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray

from scanprep.hold.places.access import Access
from scanprep.hold.places.spots import Spots
from scanprep.hold.statics.demand import Loads
from scanprep.hold.statics.rocking import moves
from scanprep.hold.statics.wrench import BEARS_SHARE, F32, support, twist_table
from scanprep.rules import HoldRules
from scanprep.vectors import F64

GENTLE = 1.5  # tolerance: of the weight, the most that the search counts on from one face, stricter than gates; trial
# tolerance: asked of the normals over the weight, stricter than the gates so that neighbours hold too; trial
CARRY_SLACK, CARRY_ARM_mm = 0.08, 0.6
ROCKS_SAFELY = 0.85  # tolerance: of the limit, what the search asks, so that neighbours hold too
WIRE_GAP_mm = HoldRules().pads_apart_mm
MOST_LEARNT = 600  # tolerance: twists handed on from one attitude to the next


@dataclass(slots=True, eq=False)
class TwistTable:
    """The twists known for one object; grows while it is studied."""

    spots: Spots
    radius_mm: float  # half the bounding diagonal: what a turn is measured by
    frictions: tuple[float, ...]
    first: F64 = field(init=False)  # (m, 6)
    learnt: F64 = field(init=False)
    rocks: F64 = field(init=False)  # (m, 6) ways in which sets were found to rock
    clash: NDArray[np.bool_] = field(init=False)  # (t, t) tips too near to stand side by side
    work: dict[float, F32] = field(init=False)  # friction, 0 for none -> H (m, f) of the first twists

    def __post_init__(self) -> None:
        self.first = twist_table(self.radius_mm)
        self.learnt = np.zeros((0, 6))
        self.rocks = np.zeros((0, 6))
        self.clash = _too_near(self.spots)
        self.work = {friction: self.of(self.first, friction) for friction in {0.0, *self.frictions}}

    def of(self, twists: F64, friction: float) -> F32:
        """H (m, f) of some twists."""
        return support(twists, self.spots.points_mm, self.spots.normals, friction * self.spots.rubs,
                       BEARS_SHARE * self.spots.radius_mm)

    def learn(self, twists: F64) -> F64:
        """Take in dual twists of a certificate; returns them at a common size."""
        turn = self.radius_mm / 4 * np.linalg.norm(twists[:, 3:], axis=1)
        size = np.maximum(np.linalg.norm(twists[:, :3], axis=1), turn)
        scaled = twists[size > 1e-9] / size[size > 1e-9, None]
        self.learnt = np.vstack([self.learnt, scaled])[-MOST_LEARNT:]
        return np.asarray(scaled, dtype=np.float64)


def _too_near(spots: Spots) -> NDArray[np.bool_]:
    """Which tips (t, t) have faces whose pads would not lie side by side."""
    from scipy.spatial import cKDTree

    near = np.zeros((len(spots.first), len(spots.first)), dtype=bool)
    pairs = cKDTree(spots.points_mm).query_pairs(2 * float(spots.radius_mm.max(initial=0.0)) + WIRE_GAP_mm,
                                                 output_type="ndarray")
    first, second = pairs[:, 0], pairs[:, 1]
    apart = np.linalg.norm(spots.points_mm[first] - spots.points_mm[second], axis=1)
    close = apart < spots.radius_mm[first] + spots.radius_mm[second] + WIRE_GAP_mm
    tips = spots.tip_of_face
    near[tips[first[close]], tips[second[close]]] = True
    near |= near.T
    np.fill_diagonal(near, False)
    return near


@dataclass(frozen=True, slots=True, eq=False)
class Work:
    """What each usable tip does against some twists in one attitude, over the weight."""

    twists: F64  # (m, 6)
    bare: F32  # (m, n) static limits, no friction
    rubbed: dict[float, F32]  # friction -> (m, n), limits of a shake


def first_work(table: TwistTable, access: Access, loads: Loads) -> Work:
    """Return the work against all twists known so far."""
    first = _work(table, table.first, table.work, access, loads)
    if len(table.learnt) == 0:
        return first
    more = more_work(table, table.learnt, access, loads)
    return Work(np.vstack([first.twists, more.twists]), np.vstack([first.bare, more.bare]),
                {mu: np.vstack([rows, more.rubbed[mu]]) for mu, rows in first.rubbed.items()})


def more_work(table: TwistTable, twists: F64, access: Access, loads: Loads) -> Work:
    """Return the work against further twists."""
    return _work(table, twists, {mu: table.of(twists, mu) for mu in table.work}, access, loads)


def _work(table: TwistTable, twists: F64, work: dict[float, F32], access: Access, loads: Loads) -> Work:
    spots, tips = table.spots, np.flatnonzero(access.usable)
    # a light object's tips may press many times its weight, and then almost any set would do by the table: asking for
    # balance with gentle forces finds sets that stand well
    gentle = np.minimum(access.limits_N / loads.weight_N, GENTLE).astype(np.float32)
    faces = np.concatenate([np.arange(spots.first[t], spots.first[t] + spots.count[t]) for t in tips])
    starts = np.concatenate([[0], np.cumsum(spots.count[tips])[:-1]])

    def per_tip(rows: F32, factor: float) -> F32:
        return np.asarray(np.add.reduceat(rows[:, faces] * (np.float32(factor) * gentle[faces]), starts, axis=1))

    return Work(twists, per_tip(work[0.0], 1.0),
                {mu: per_tip(work[mu], loads.shake_factor) for mu in {loads.friction, loads.friction_low}})


@dataclass(slots=True, eq=False)
class Rows:
    """What each unit (a tip, or a mirrored pair) does in each row, and what the rows ask for. Rows may be added."""

    held: F32  # (capacity, n)
    asked: F32  # (capacity,)
    count: int
    cost: F64  # (n,)
    tips: tuple[tuple[int, ...], ...]  # of each unit
    clash: NDArray[np.bool_]  # (n, n) units that cannot stand together
    sizes: NDArray[np.int64] = field(init=False)  # (n,) tips of each unit

    def __post_init__(self) -> None:
        self.sizes = np.array([len(tips) for tips in self.tips], dtype=np.int64)

    def barred(self, chosen: list[int]) -> NDArray[np.bool_]:
        """(n,) units that cannot stand beside the chosen ones."""
        return np.asarray(self.clash[chosen].any(0))

    def bar(self, tip: int) -> None:
        """Keep a tip out of every set from now on."""
        out = [i for i, tips in enumerate(self.tips) if tip in tips]
        self.clash[out] = True
        self.clash[:, out] = True

    @property
    def supplied(self) -> F32:
        """(r, n) work of each unit."""
        return self.held[:self.count]

    @property
    def required(self) -> F32:
        """(r,) what each row requires."""
        return self.asked[:self.count]

    def shortfall(self, chosen: list[int]) -> F32:
        """What each row still requires."""
        return np.asarray(self.required - self.supplied[:, chosen].sum(1), dtype=np.float32)

    def add(self, supplied: F32, required: F32) -> None:
        """Add rows in place; the store grows by half where it is full."""
        end = self.count + len(required)
        if end > len(self.asked):
            room = max(end, len(self.asked) * 3 // 2)
            held, asked = np.empty((room, self.held.shape[1]), np.float32), np.empty(room, np.float32)
            held[:self.count], asked[:self.count] = self.supplied, self.required
            self.held, self.asked = held, asked
        self.held[self.count:end], self.asked[self.count:end] = supplied, required
        self.count = end

    def units_of(self, tips: tuple[int, ...]) -> list[int]:
        """The units that make up a set of tips."""
        return [i for i, unit in enumerate(self.tips) if set(unit) <= set(tips)]


def rows_of(work: Work, access: Access, loads: Loads, shape_g: float, units: Rows | None, table: TwistTable,
            pairs: bool) -> Rows:
    """Return the rows that one attitude asks for; added to `units` where rows are there already.

    shape_g  ask also that the shape alone, without friction, stands this shake; 0: only the weight
    pairs    over units that are their own mirror image, not over single tips
    """
    tips = np.flatnonzero(access.usable)
    units_of = _units(tips, table, pairs)
    blocks = [(work.bare, _carry(work.twists, access, loads, shape_g))]
    shake = _shake(work.twists, access, loads)
    low = _shake_low(work.twists, access, loads)
    if loads.friction == loads.friction_low:
        blocks.append((work.rubbed[loads.friction], np.maximum(shake, low)))
    else:
        blocks += [(work.rubbed[loads.friction], shake), (work.rubbed[loads.friction_low], low)]
    rows = units
    for does, asks in blocks:
        wanted = asks > 0
        over = _over_units(does[wanted], units_of)
        if rows is None:
            cost = _over_units(access.cost[tips][None], units_of)[0]
            named, clash = _named(tips, units_of, table)
            rows = Rows(over, asks[wanted].astype(np.float32), int(wanted.sum()), cost, named, clash)
            add_rocks(rows, table, table.rocks, access, loads, pairs)
        else:
            rows.add(over, asks[wanted].astype(np.float32))
    if rows is None:
        raise ValueError("there are always two families of rows")
    return rows


Units = tuple[list[int], list[int], list[int]]  # places of single tips, and of the first and second of each pair


def _over_units(of_tips: NDArray[Any], units: Units) -> NDArray[Any]:
    """From columns of single tips to columns of units."""
    single, first, second = units
    return np.hstack([of_tips[:, single], of_tips[:, first] + of_tips[:, second]]) if first else of_tips[:, single]


def _named(tips: NDArray[np.int64], units: Units, table: TwistTable) -> tuple[tuple[tuple[int, ...], ...],
                                                                              NDArray[np.bool_]]:
    """Each unit's tips, and which units cannot stand together."""
    single, first, second = units
    named = [(int(tips[i]),) for i in single] + [(int(tips[i]), int(tips[j])) for i, j in zip(first, second)]
    has = np.zeros((len(named), len(table.clash)), dtype=np.float32)
    for number, own in enumerate(named):
        has[number, list(own)] = 1.0
    return tuple(named), np.asarray(has @ table.clash.astype(np.float32) @ has.T > 0.5)


def add_rocks(rows: Rows, table: TwistTable, twists: F64, access: Access, loads: Loads, pairs: bool) -> None:
    """Add rows that ask the tips, taken as springs, to keep the object from rocking in the ways of some twists.

    A body on springs turns by less than an angle where, for every motion with that turn, the springs store more than
    the push does: the sum of k |v|^2 over the tips, v being how each moves, exceeds the push times the shift.
    """
    if len(twists) == 0:
        return
    tips = np.flatnonzero(access.usable)
    turn, shift = np.linalg.norm(twists[:, 3:], axis=1), np.linalg.norm(twists[:, :3], axis=1)
    moved2 = (moves(table.spots.middles_mm[tips], twists)**2).sum(2)
    most = math.radians(ROCKS_SAFELY * loads.rocking_deg)
    scale = loads.spring_N_per_mm / loads.weight_N * (most / (turn * np.maximum(shift, 1e-9)))
    does = np.minimum(scale[:, None] * moved2, loads.margin_low_g).astype(np.float32)
    rows.add(_over_units(does, _units(tips, table, pairs)), np.full(len(twists), loads.margin_low_g, np.float32))


def _units(tips: NDArray[np.int64], table: TwistTable, pairs: bool) -> Units:
    """Places of single units, and of the two tips of each pair, among the usable tips."""
    if not pairs:
        return list(range(len(tips))), [], []
    place = {int(tip): i for i, tip in enumerate(tips)}
    mirror = table.spots.mirror
    single = [i for tip, i in place.items() if mirror[tip] == tip]
    paired = [(i, place[int(mirror[tip])]) for tip, i in place.items()
              if mirror[tip] > tip and int(mirror[tip]) in place and not table.clash[tip, mirror[tip]]]
    return single, [i for i, _ in paired], [j for _, j in paired]


def _carry(twists: F64, access: Access, loads: Loads, shape_g: float) -> F64:
    """What the normals alone must do: carry the weight at the worst tilt, and stand a shake by shape."""
    u, turn = twists[:, :3], np.linalg.norm(twists[:, 3:], axis=1)
    rise, pushed = u @ access.up, np.linalg.norm(u, axis=1)
    level = np.sqrt(np.maximum(pushed**2 - rise**2, 0))
    tilt = math.radians(loads.tilt_deg)
    tilted = np.where(np.arctan2(level, rise) < tilt, pushed, math.cos(tilt) * rise + math.sin(tilt) * level)
    carry = tilted + CARRY_SLACK * pushed + CARRY_ARM_mm * turn
    if shape_g > 0:
        carry = np.maximum(carry, (rise + 1.1 * shape_g * pushed) / loads.shake_factor)
    return np.asarray(carry)


def _shake(twists: F64, access: Access, loads: Loads) -> F64:
    """What the tips must do with friction: the shake that the search aims for, and turning at rest."""
    rise, pushed = twists[:, :3] @ access.up, np.linalg.norm(twists[:, :3], axis=1)
    turned = 1.4 * loads.torque_Nmm / loads.weight_N * np.linalg.norm(twists[:, 3:], axis=1)
    return np.asarray(rise + np.maximum(loads.target_g * pushed, turned))


def _shake_low(twists: F64, access: Access, loads: Loads) -> F64:
    """At low friction, with the centre of mass off by its doubt."""
    rise, pushed = twists[:, :3] @ access.up, np.linalg.norm(twists[:, :3], axis=1)
    off = (1 + loads.margin_low_g) * loads.centre_radius_mm * np.linalg.norm(twists[:, 3:], axis=1)
    return np.asarray(rise + 1.5 * loads.margin_low_g * pushed + off)
