"""The search for tips: greedy starts grow a set row by row, swaps better it, all candidates scored at once.

Every set must do, for each twist in the table, at least the work that its load asks for (see `wrench`, `table`). What a
set lacks is summed over the rows; the search grows and swaps until nothing is lacking or no swap helps. The
certificates' dual twists come back as new rows, and the set is mended for them.

Returns sets of indices into `Spots`. Used by `find`.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from scanprep.hold.search.twist_table import Rows
from scanprep.hold.statics.wrench import F32
from scanprep.rules import HoldRules
from scanprep.vectors import F64, steady

# tolerance: in units of lack, small so that price decides only between sets that hold alike: a tip seen in front
# against a weight's worth of missing force
COST = 0.02
SWEEPS = 4  # tolerance: of exchanging single tips; each costs time
TELLING = 96  # tolerance: rows that are asked first which units are of use
LEAST_TIPS = HoldRules().least_tips

Mask = NDArray[np.bool_]


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
    first = _total(rows, rows.required)
    found: dict[tuple[int, ...], Found] = {}
    order = np.argsort(steady(first, 4), kind="stable")
    begun: list[int] = []
    for unit in order:
        if len(begun) == starts:
            break
        if rows.clash[unit, unit]:
            continue  # barred
        # starts that differ: not two whose work in the rows is nearly the same
        if all(_alike(rows.supplied[:, unit], rows.supplied[:, other]) < 0.9 for other in begun):
            begun.append(int(unit))
            chosen = _better(rows, _grow(rows, [int(unit)], most_tips))
            result = _judged(rows, chosen)
            found[result.tips] = result
    return sorted(found.values(), key=lambda f: round(f.score, 4))


def mended(rows: Rows, tips: tuple[int, ...], most_tips: int) -> Found:
    """Return a set bettered for rows that have come in since: swaps, then a further tip, then swaps again."""
    return _judged(rows, _better(rows, _grow(rows, _swapped(rows, rows.units_of(tips)), most_tips)))


def neighbours(rows: Rows, found: Found, each: int, elsewhere: bool = False) -> list[Found]:
    """Return the sets that differ from one in a single unit and lack nothing by the table, a few for each place.

    elsewhere  the new unit must stand beside the old one's place, not on it
    """
    chosen = rows.units_of(found.tips)
    near: list[Found] = []
    for place, unit in enumerate(chosen):
        rest = chosen[:place] + chosen[place + 1:]
        lack = rows.shortfall(rest)
        active = lack > 0
        worst = (lack[active, None] - rows.supplied[active]).max(0, initial=-np.inf)
        fits = (worst <= max(found.lack, 0.0)) & (rows.sizes == rows.sizes[unit])
        fits[chosen] = False
        fits &= ~rows.barred([*rest, unit] if elsewhere else rest)
        for other in np.flatnonzero(fits)[np.argsort(steady(rows.cost[fits], 4), kind="stable")][:each]:
            near.append(_judged(rows, [*rest, int(other)]))
    return near


def _alike(a: F32, b: F32) -> float:
    return float(a @ b / (np.linalg.norm(a) * np.linalg.norm(b) + 1e-9))


def _total(rows: Rows, lack: F32) -> F64:
    """Summed lack over the rows after adding each unit, and the unit's visible cost."""
    active = lack > 0
    left = np.maximum(lack[active, None] - rows.supplied[active], 0)
    return np.asarray(left.sum(0, dtype=np.float64) / len(rows.required) + COST * rows.cost * 0.1, dtype=np.float64)


def _grow(rows: Rows, chosen: list[int], most_tips: int) -> list[int]:
    count = sum(len(rows.tips[i]) for i in chosen)
    lack = rows.shortfall(chosen)
    while (lack.max() > 0 or count < LEAST_TIPS) and count < most_tips:
        total = _total(rows, lack)
        total[rows.sizes > most_tips - count] = np.inf
        total[chosen] = np.inf
        total[rows.barred(chosen)] = np.inf
        best = int(np.argmin(steady(total, 4)))
        if not np.isfinite(total[best]):
            break
        chosen = [*chosen, best]
        count += int(rows.sizes[best])
        lack = rows.shortfall(chosen)
    return chosen


def _better(rows: Rows, chosen: list[int]) -> list[int]:
    """Swap while that helps, then drop what is not needed."""
    return _pruned(rows, _swapped(rows, chosen))


def _swapped(rows: Rows, chosen: list[int]) -> list[int]:
    """Swap one unit at a time while that lessens the lack or the cost."""
    best = _score(rows, chosen)
    for _ in range(SWEEPS):
        changed = False
        for place in range(len(chosen)):
            rest = chosen[:place] + chosen[place + 1:]
            fits = rows.sizes <= rows.sizes[chosen[place]]
            fits[rest] = False
            fits &= ~rows.barred(rest)
            swap, score = _best_beside(rows, rest, fits, best)
            if score < best - 1e-4:
                chosen, best, changed = [*rest, swap], score, True
        if not changed:
            break
    return chosen


def _best_beside(rows: Rows, rest: list[int], fits: Mask, below: float) -> tuple[int, float]:
    """Which fitting unit scores least beside the rest, and its score; infinite where none scores below a bound.

    The rows that the rest lacks most tell most units to be no use; only what is left is summed over all rows.
    """
    lack = rows.shortfall(rest)
    cost = COST * (rows.cost + rows.cost[rest].sum())
    active = np.flatnonzero(lack > 0)
    units = np.flatnonzero(fits & (cost < below))
    if len(active) > TELLING:
        hardest = active[np.argpartition(lack[active], -TELLING)[-TELLING:]]
        units = units[_lacks(rows, lack, hardest, units) + cost[units] < below]
    if len(units) == 0:
        return -1, math.inf
    scores = _lacks(rows, lack, active, units) + cost[units]
    best = int(np.argmin(steady(scores, 4)))
    return int(units[best]), float(scores[best])


def _lacks(rows: Rows, lack: F32, which: NDArray[np.int64], units: NDArray[np.int64]) -> F64:
    """The worst lack and the mean lack over some rows that would be left with each of some units."""
    left = lack[which, None] - rows.supplied[which[:, None], units]
    np.maximum(left, 0, out=left)
    return np.asarray(left.max(0, initial=0.0) + left.sum(0) / len(rows.required), dtype=np.float64)


def _pruned(rows: Rows, chosen: list[int]) -> list[int]:
    for unit in sorted(chosen, key=lambda i: -round(float(rows.cost[i]), 4)):
        rest = [i for i in chosen if i != unit]
        enough = sum(len(rows.tips[i]) for i in rest) >= LEAST_TIPS
        if enough and rows.shortfall(rest).max() <= max(0.0, float(rows.shortfall(chosen).max())):
            chosen = rest
    return chosen


def _score(rows: Rows, chosen: list[int]) -> float:
    lack = rows.shortfall(chosen)
    return float(max(lack.max(), 0) + np.maximum(lack, 0).sum() / len(rows.required) + COST * rows.cost[chosen].sum())


def _judged(rows: Rows, chosen: list[int]) -> Found:
    tips = tuple(sorted(tip for unit in chosen for tip in rows.tips[unit]))
    lack = float(rows.shortfall(chosen).max())
    return Found(tips, lack, max(lack, 0.0) * 10 + COST * float(rows.cost[chosen].sum()) + 0.05 * len(tips))
