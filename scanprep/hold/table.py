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

import numpy as np
from numpy.typing import NDArray

from scanprep.hold.access import Access
from scanprep.hold.limits import SHAKE_FACTOR
from scanprep.hold.loads import Loads
from scanprep.hold.spots import Spots
from scanprep.hold.wrench import BEARS_SHARE, F32, support, twist_table
from scanprep.vectors import F64

GENTLE = 1.5  # of the weight: the most that the search counts on from one face; trial
CARRY_SLACK, CARRY_ARM_mm = 0.03, 0.3  # asked of the normals over the weight, so that a set's neighbours hold too
MOST_LEARNT = 600  # twists handed on from one attitude to the next


@dataclass(slots=True, eq=False)
class Table:
    """The twists known for one object; grows while it is studied."""

    spots: Spots
    radius_mm: float  # half the bounding diagonal: what a turn is measured by
    frictions: tuple[float, ...]
    first: F64 = field(init=False)  # (m, 6)
    learnt: F64 = field(init=False)
    work: dict[float, F32] = field(init=False)  # friction, 0 for none -> H (m, f) of the first twists

    def __post_init__(self) -> None:
        self.first = twist_table(self.radius_mm)
        self.learnt = np.zeros((0, 6))
        self.work = {friction: self.of(self.first, friction) for friction in {0.0, *self.frictions}}

    def of(self, twists: F64, friction: float) -> F32:
        """H (m, f) of some twists."""
        return support(twists, self.spots.points_mm, self.spots.normals, friction, BEARS_SHARE * self.spots.radius_mm)

    def learn(self, twists: F64) -> F64:
        """Take in dual twists of a certificate; returns them at a common size."""
        turn = self.radius_mm / 4 * np.linalg.norm(twists[:, 3:], axis=1)
        size = np.maximum(np.linalg.norm(twists[:, :3], axis=1), turn)
        scaled = twists[size > 1e-9] / size[size > 1e-9, None]
        self.learnt = np.vstack([self.learnt, scaled])[-MOST_LEARNT:]
        return np.asarray(scaled, dtype=np.float64)


@dataclass(frozen=True, slots=True, eq=False)
class Work:
    """What each usable tip does against some twists in one attitude, over the weight."""

    twists: F64  # (m, 6)
    bare: F32  # (m, n) static limits, no friction
    rubbed: dict[float, F32]  # friction -> (m, n), limits of a shake


def first_work(table: Table, access: Access, loads: Loads) -> Work:
    """Return the work against all twists known so far."""
    first = _work(table, table.first, table.work, access, loads)
    if len(table.learnt) == 0:
        return first
    more = more_work(table, table.learnt, access, loads)
    return Work(np.vstack([first.twists, more.twists]), np.vstack([first.bare, more.bare]),
                {mu: np.vstack([rows, more.rubbed[mu]]) for mu, rows in first.rubbed.items()})


def more_work(table: Table, twists: F64, access: Access, loads: Loads) -> Work:
    """Return the work against further twists."""
    return _work(table, twists, {mu: table.of(twists, mu) for mu in table.work}, access, loads)


def _work(table: Table, twists: F64, work: dict[float, F32], access: Access, loads: Loads) -> Work:
    spots, tips = table.spots, np.flatnonzero(access.usable)
    # a light object's tips may press many times its weight, and then almost any set would do by the table: asking for
    # balance with gentle forces finds sets that stand well
    gentle = np.minimum(access.limits_N / loads.weight_N, GENTLE).astype(np.float32)
    faces = np.concatenate([np.arange(spots.first[t], spots.first[t] + spots.count[t]) for t in tips])
    starts = np.concatenate([[0], np.cumsum(spots.count[tips])[:-1]])

    def per_tip(rows: F32, factor: float) -> F32:
        return np.asarray(np.add.reduceat(rows[:, faces] * (np.float32(factor) * gentle[faces]), starts, axis=1))

    return Work(twists, per_tip(work[0.0], 1.0),
                {mu: per_tip(work[mu], SHAKE_FACTOR) for mu in {loads.friction, loads.friction_low}})


@dataclass(slots=True, eq=False)
class Rows:
    """What each unit (a tip, or a mirrored pair) does in each row, and what the rows ask for. Rows may be added."""

    held: F32  # (capacity, n)
    asked: F32  # (capacity,)
    count: int
    cost: F64  # (n,)
    tips: tuple[tuple[int, ...], ...]  # of each unit
    sizes: NDArray[np.int64] = field(init=False)  # (n,) tips of each unit

    def __post_init__(self) -> None:
        self.sizes = np.array([len(tips) for tips in self.tips], dtype=np.int64)

    @property
    def does(self) -> F32:
        """(r, n) work of each unit."""
        return self.held[:self.count]

    @property
    def asks(self) -> F32:
        """(r,) what each row asks for."""
        return self.asked[:self.count]

    def lack(self, chosen: list[int]) -> F32:
        """What each row still asks for."""
        return np.asarray(self.asks - self.does[:, chosen].sum(1), dtype=np.float32)

    def add(self, does: F32, asks: F32) -> None:
        """Add rows in place; the store grows by half where it is full."""
        end = self.count + len(asks)
        if end > len(self.asked):
            room = max(end, len(self.asked) * 3 // 2)
            held, asked = np.empty((room, self.held.shape[1]), np.float32), np.empty(room, np.float32)
            held[:self.count], asked[:self.count] = self.does, self.asks
            self.held, self.asked = held, asked
        self.held[self.count:end], self.asked[self.count:end] = does, asks
        self.count = end

    def units_of(self, tips: tuple[int, ...]) -> list[int]:
        """The units that make up a set of tips."""
        return [i for i, unit in enumerate(self.tips) if set(unit) <= set(tips)]


def rows_of(work: Work, access: Access, loads: Loads, shape_g: float, units: Rows | None, spots: Spots,
            pairs: bool) -> Rows:
    """Return the rows that one attitude asks for; added to `units` where rows are there already.

    shape_g  ask also that the shape alone, without friction, stands this shake; 0: only the weight
    pairs    over units that are their own mirror image, not over single tips
    """
    tips = np.flatnonzero(access.usable)
    single, first, second = _units(tips, spots, pairs)
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
        over = does[wanted]
        over = np.hstack([over[:, single], over[:, first] + over[:, second]]) if pairs else over
        if rows is None:
            cost = access.cost[tips]
            if pairs:
                cost = np.concatenate([cost[single], cost[first] + cost[second]])
            named = [(int(tips[i]),) for i in single] + [(int(tips[i]), int(tips[j])) for i, j in zip(first, second)]
            rows = Rows(over, asks[wanted].astype(np.float32), int(wanted.sum()), cost, tuple(named))
        else:
            rows.add(over, asks[wanted].astype(np.float32))
    if rows is None:
        raise ValueError("there are always two families of rows")
    return rows


def _units(tips: NDArray[np.int64], spots: Spots, pairs: bool) -> tuple[list[int], list[int], list[int]]:
    """Places of single units, and of the two tips of each pair, among the usable tips."""
    if not pairs:
        return list(range(len(tips))), [], []
    place = {int(tip): i for i, tip in enumerate(tips)}
    single = [i for tip, i in place.items() if spots.mirror[tip] == tip]
    paired = [(i, place[int(spots.mirror[tip])]) for tip, i in place.items()
              if spots.mirror[tip] > tip and int(spots.mirror[tip]) in place]
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
        carry = np.maximum(carry, (rise + 1.1 * shape_g * pushed) / SHAKE_FACTOR)
    return np.asarray(carry)


def _shake(twists: F64, access: Access, loads: Loads) -> F64:
    """What the tips must do with friction: the shake that the search aims for, and turning at rest."""
    rise, pushed = twists[:, :3] @ access.up, np.linalg.norm(twists[:, :3], axis=1)
    turned = 1.15 * loads.torque_Nmm / loads.weight_N * np.linalg.norm(twists[:, 3:], axis=1)
    return np.asarray(rise + np.maximum(loads.target_g * pushed, turned))


def _shake_low(twists: F64, access: Access, loads: Loads) -> F64:
    """At low friction, with the centre of mass off by its doubt."""
    rise, pushed = twists[:, :3] @ access.up, np.linalg.norm(twists[:, :3], axis=1)
    off = (1 + loads.margin_low_g) * loads.centre_radius_mm * np.linalg.norm(twists[:, 3:], axis=1)
    return np.asarray(rise + 1.1 * loads.margin_low_g * pushed + off)
