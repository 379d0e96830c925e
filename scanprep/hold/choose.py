"""The search for tips: a table of twists scores thousands of sets, greedy starts grow them, swaps better them.

Every set must do, for each twist in the table, at least the work that its load asks for (see `wrench` and `loads`). Two
families of rows share one table: without friction (carried from below, and held by shape), and with the pad's
friction (shake, doubt of the centre, turning). What a set lacks is summed over the rows; the search grows and swaps
until nothing is lacking or no swap helps. The certificate's dual twists come back as new rows. On a mirror-symmetric
object the search first runs over pairs of opposite tips.

Body frame. Returns sets of indices into `Spots`. Used by `find`.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from scanprep.hold.access import Access
from scanprep.hold.limits import SHAKE_FACTOR
from scanprep.hold.loads import Loads
from scanprep.hold.spots import Spots
from scanprep.hold.wrench import F32, support, twist_table
from scanprep.vectors import F64

COST = 0.02  # in units of lack: a tip seen in front against a weight's worth of missing force
SWEEPS = 4


@dataclass(slots=True, eq=False)
class Table:
    """The twists met so far and what every face can do against them; grows while one object is studied."""

    twists: F64  # (m, 6)
    bare: F32  # (m, f) H without friction
    rubbed: dict[float, F32]  # friction -> (m, f)

    @classmethod
    def of(cls, spots: Spots, radius_mm: float, frictions: tuple[float, ...]) -> Table:
        """The first table of an object."""
        twists = twist_table(radius_mm)
        return cls(twists, support(twists, spots.points_mm, spots.normals, 0.0),
                   {mu: support(twists, spots.points_mm, spots.normals, mu) for mu in frictions})

    def learn(self, spots: Spots, twists: F64) -> None:
        """Add dual twists of a certificate as rows."""
        size = np.linalg.norm(twists[:, :3], axis=1, keepdims=True)
        twists = (twists / np.maximum(size, 1e-9))[size[:, 0] > 1e-6]
        self.twists = np.vstack([self.twists, twists])
        self.bare = np.vstack([self.bare, support(twists, spots.points_mm, spots.normals, 0.0)])
        self.rubbed = {mu: np.vstack([rows, support(twists, spots.points_mm, spots.normals, mu)])
                       for mu, rows in self.rubbed.items()}


@dataclass(frozen=True, slots=True, eq=False)
class Rows:
    """What each unit (a tip, or a mirrored pair) does in each row, over the weight, and what the rows ask for."""

    does: F32  # (r, n)
    asks: F32  # (r,)
    cost: F64  # (n,)
    tips: tuple[tuple[int, ...], ...]  # of each unit

    def lack(self, chosen: list[int]) -> F32:
        """What each row still asks for."""
        return np.asarray(self.asks - self.does[:, chosen].sum(1), dtype=np.float32)

    def joined(self, more: Rows) -> Rows:
        """These rows and more over the same units."""
        return Rows(np.vstack([self.does, more.does]), np.concatenate([self.asks, more.asks]), self.cost, self.tips)

    def units_of(self, tips: tuple[int, ...]) -> list[int]:
        """The units that make up a set of tips."""
        return [i for i, unit in enumerate(self.tips) if set(unit) <= set(tips)]


def rows_for(table: Table, spots: Spots, access: Access, loads: Loads, by_shape: bool, pairs: bool,
             since: int = 0) -> Rows:
    """Return the rows of one attitude, from the table's row `since` on.

    by_shape  ask also that the shape alone, without friction, stands a small shake
    pairs     over units that are their own mirror image, not over single tips
    """
    tips = np.flatnonzero(access.usable)
    twists = table.twists[since:]
    u, size = twists[:, :3], np.linalg.norm(twists[:, 3:], axis=1)
    rise = u @ access.up
    level = np.sqrt(np.maximum((u * u).sum(1) - rise * rise, 0))
    tilt = math.radians(loads.tilt_deg)
    # the worst of all ups within the tilt
    tilted = np.where(np.arctan2(level, rise) < tilt, np.hypot(level, rise),
                      math.cos(tilt) * rise + math.sin(tilt) * level)
    pushed = (np.linalg.norm(u, axis=1) > 0).astype(float)
    blocks: list[tuple[F32, F64]] = []
    carry = tilted + 0.03 * pushed
    if by_shape:
        carry = np.maximum(carry, (rise + 1.1 * loads.shape_g * pushed) / SHAKE_FACTOR)
    blocks.append((_per_tip(table.bare[since:], spots, access.limits_N / loads.weight_N, tips), carry))
    shake = SHAKE_FACTOR * access.limits_N / loads.weight_N
    arm = 1.15 * loads.torque_Nmm / loads.weight_N * size
    blocks.append((_per_tip(table.rubbed[loads.friction][since:], spots, shake, tips),
                   np.maximum(rise + loads.target_g * pushed, rise + arm)))
    off = loads.centre_radius_mm * size
    low = rise + 1.1 * loads.margin_low_g * pushed + (1 + loads.margin_low_g) * off
    blocks.append((_per_tip(table.rubbed[loads.friction_low][since:], spots, shake, tips), low))
    does = np.vstack([block[0] for block in blocks])
    asks = np.concatenate([block[1] for block in blocks]).astype(np.float32)
    wanted = asks > 0
    rows = Rows(np.ascontiguousarray(does[wanted]), asks[wanted], access.cost[tips], tuple((int(t),) for t in tips))
    return _paired(rows, spots) if pairs else rows


def _per_tip(work: F32, spots: Spots, limits: F64, tips: NDArray[np.int64]) -> F32:
    summed = np.add.reduceat(work * limits.astype(np.float32), spots.first, axis=1)
    return np.asarray(summed[:, tips], dtype=np.float32)


def _paired(rows: Rows, spots: Spots) -> Rows:
    """Return the rows over units that are their own mirror image: tips on the plane, and pairs."""
    place = {tips[0]: i for i, tips in enumerate(rows.tips)}
    single = [i for i, tips in enumerate(rows.tips) if spots.mirror[tips[0]] == tips[0]]
    pairs = [(i, place[int(spots.mirror[tips[0]])]) for i, tips in enumerate(rows.tips)
             if spots.mirror[tips[0]] > tips[0] and int(spots.mirror[tips[0]]) in place]
    a, b = [i for i, _ in pairs], [j for _, j in pairs]
    does = np.hstack([rows.does[:, single], rows.does[:, a] + rows.does[:, b]])
    cost = np.concatenate([rows.cost[single], rows.cost[a] + rows.cost[b]])
    tips = tuple(rows.tips[i] for i in single) + tuple((*rows.tips[i], *rows.tips[j]) for i, j in pairs)
    return Rows(np.ascontiguousarray(does), rows.asks, cost, tips)


@dataclass(frozen=True, slots=True)
class Found:
    """A set of tips and what it still lacks by the table."""

    tips: tuple[int, ...]
    lack: float  # worst row, in weights; <= 0: nothing
    score: float  # lower is better


def search(rows: Rows, most_tips: int, starts: int) -> list[Found]:
    """Return sets of tips, best first, from several greedy starts bettered by swaps."""
    if len(rows.tips) == 0:
        return []
    first = _total(rows, rows.asks)
    found: dict[tuple[int, ...], Found] = {}
    order = np.argsort(first)
    begun: list[int] = []
    for unit in order:
        if len(begun) == starts:
            break
        # starts that differ: not two whose work in the rows is nearly the same
        if all(_alike(rows.does[:, unit], rows.does[:, other]) < 0.9 for other in begun):
            begun.append(int(unit))
            chosen = _better(rows, _grow(rows, [int(unit)], most_tips))
            result = _judged(rows, chosen)
            found[result.tips] = result
    return sorted(found.values(), key=lambda f: f.score)


def mended(rows: Rows, tips: tuple[int, ...], most_tips: int) -> Found:
    """Return a set bettered for rows that have come in since: swaps, then a further tip, then swaps again."""
    return _judged(rows, _better(rows, _grow(rows, _swapped(rows, rows.units_of(tips)), most_tips)))


def _alike(a: F32, b: F32) -> float:
    return float(a @ b / (np.linalg.norm(a) * np.linalg.norm(b) + 1e-9))


def _total(rows: Rows, lack: F32) -> F64:
    """Summed lack over the rows after adding each unit, and the unit's visible cost."""
    active = lack > 0
    left = np.maximum(lack[active, None] - rows.does[active], 0)
    return np.asarray(left.sum(0, dtype=np.float64) / len(rows.asks) + COST * rows.cost * 0.1, dtype=np.float64)


def _grow(rows: Rows, chosen: list[int], most_tips: int) -> list[int]:
    count = sum(len(rows.tips[i]) for i in chosen)
    size = np.array([len(tips) for tips in rows.tips])
    lack = rows.lack(chosen)
    while lack.max() > 0 and count < most_tips:
        total = _total(rows, lack)
        total[size > most_tips - count] = np.inf
        total[chosen] = np.inf
        # a pair must earn its second tip
        best = int(np.argmin(total))
        if not np.isfinite(total[best]):
            break
        chosen = [*chosen, best]
        count += int(size[best])
        lack = rows.lack(chosen)
    return chosen


def _better(rows: Rows, chosen: list[int]) -> list[int]:
    """Swap while that helps, then drop what is not needed."""
    return _pruned(rows, _swapped(rows, chosen))


def _swapped(rows: Rows, chosen: list[int]) -> list[int]:
    """Swap one unit at a time while that lessens the lack or the cost."""
    size = np.array([len(tips) for tips in rows.tips])
    best = _score(rows, chosen)
    for _ in range(SWEEPS):
        changed = False
        for place in range(len(chosen)):
            rest = chosen[:place] + chosen[place + 1:]
            lack = rows.lack(rest)
            active = lack > 0
            left = lack[active, None] - rows.does[active]
            worst = left.max(0, initial=-np.inf) if active.any() else np.zeros(len(size))
            scores = (np.maximum(worst, 0) + np.maximum(left, 0).sum(0) / len(rows.asks)
                      + COST * (rows.cost + rows.cost[rest].sum()))
            scores[size > size[chosen[place]]] = np.inf
            scores[rest] = np.inf
            swap = int(np.argmin(scores))
            if scores[swap] < best - 1e-6:
                chosen, best, changed = [*rest, swap], float(scores[swap]), True
        if not changed:
            break
    return chosen


def _pruned(rows: Rows, chosen: list[int]) -> list[int]:
    for unit in sorted(chosen, key=lambda i: -rows.cost[i]):
        rest = [i for i in chosen if i != unit]
        if rest and rows.lack(rest).max() <= max(0.0, float(rows.lack(chosen).max())):
            chosen = rest
    return chosen


def _score(rows: Rows, chosen: list[int]) -> float:
    lack = rows.lack(chosen)
    return float(max(lack.max(), 0) + np.maximum(lack, 0).sum() / len(rows.asks) + COST * rows.cost[chosen].sum())


def _judged(rows: Rows, chosen: list[int]) -> Found:
    tips = tuple(sorted(tip for unit in chosen for tip in rows.tips[unit]))
    lack = float(rows.lack(chosen).max())
    return Found(tips, lack, max(lack, 0.0) * 10 + COST * float(rows.cost[chosen].sum()) + 0.05 * len(tips))
